//! The child: reads rows, one a line, and writes what the filter gives for each.
//!
//! The first line is the filter's text as a JSON text, and is answered by `ok` or by `! "why not"`. Then each line is a
//! row as JSON; the answer is `= VALUE` for every value that the filter gives, and then `.`, or `! "why not"`.

use super::language::{Compiled, Data, compile};
use super::{MEMORY, OUTPUT, VALUES};
use jaq_core::{Ctx, Vars, unwrap_valr};
use std::io::{BufRead, Write};
use std::sync::mpsc::SyncSender;

/// Bytes of stack that a filter may use.
const STACK: usize = 64 << 20;

/// Serves filters until the input ends: what the hidden command does.
///
/// The filter runs in a thread with a stack of its own; the output is written by the thread that calls, because it may
/// hold the lock of standard output.
///
/// # Errors
/// The limits cannot be set, or the parent is gone.
pub fn run_filter(input: impl BufRead + Send, mut output: impl Write) -> std::io::Result<()> {
    limit()?;
    let (answers, written) = std::sync::mpsc::sync_channel::<Vec<u8>>(0);
    std::thread::scope(|scope| {
        let serving =
            std::thread::Builder::new().stack_size(STACK).spawn_scoped(scope, move || serve(input, &answers))?;
        for answer in written {
            output.write_all(&answer)?;
            output.flush()?;
        }
        serving.join().unwrap_or_else(|_| Err(std::io::Error::other("the filter broke off")))
    })
}

/// Sets limits on this process; they hold for good.
#[cfg(unix)]
fn limit() -> std::io::Result<()> {
    use rlimit::Resource;
    Resource::AS.set(MEMORY, MEMORY)?;
    Resource::CORE.set(0, 0)
}

/// Elsewhere only time and output are limited.
#[cfg(not(unix))]
fn limit() -> std::io::Result<()> {
    let _ = MEMORY;
    Ok(())
}

fn serve(mut input: impl BufRead, answers: &SyncSender<Vec<u8>>) -> std::io::Result<()> {
    let gone = |_| std::io::Error::from(std::io::ErrorKind::BrokenPipe);
    let mut line = String::new();
    input.read_line(&mut line)?;
    let text: String = serde_json::from_str(&line)?;
    let filter = match compile(&text) {
        Ok(filter) => filter,
        Err(wrong) => return answers.send(refusal(&wrong.message)).map_err(gone),
    };
    answers.send(b"ok\n".to_vec()).map_err(gone)?;
    loop {
        line.clear();
        if input.read_line(&mut line)? == 0 {
            return Ok(());
        }
        let answer = answer(&filter, line.trim_end()).unwrap_or_else(|why| refusal(&why));
        answers.send(answer).map_err(gone)?;
    }
}

/// Returns the values of one row, a line each, and the line that ends them.
fn answer(filter: &Compiled, row: &str) -> Result<Vec<u8>, String> {
    let row = jaq_json::read::parse_single(row.as_bytes()).map_err(|e| format!("the row is not JSON: {e}"))?;
    let ctx = Ctx::<Data>::new(&filter.lut, Vars::new([]));
    let mut out = Vec::new();
    for (n, value) in filter.id.run((ctx, row)).map(unwrap_valr).enumerate() {
        let value = value.map_err(|e| e.to_string())?.to_string();
        if n == VALUES {
            return Err(format!("the filter gives more than {VALUES} values for one row"));
        }
        if out.len() + value.len() > OUTPUT {
            return Err(format!("the filter gives more than {} MiB for one row", OUTPUT >> 20));
        }
        out.extend_from_slice(b"= ");
        out.extend_from_slice(value.as_bytes());
        out.push(b'\n');
    }
    out.extend_from_slice(b".\n");
    Ok(out)
}

fn refusal(why: &str) -> Vec<u8> {
    format!("! {}\n", serde_json::Value::String(why.to_owned())).into_bytes()
}
