//! The child: reads rows, one a line, and writes what the filter gives for each.
//!
//! The first line is the filter's text as a JSON text, and is answered by `ok` or by `! "why not"`. Then each line is a
//! row as JSON; the answer is `= VALUE` for every value that the filter gives, and then `.`, or `! "why not"`.

use super::language::{Compiled, Data, compile};
use super::{MEMORY, OUTPUT, VALUES};
use jaq_core::{Ctx, Vars, unwrap_valr};
use std::io::{BufRead, Write};

/// Bytes of stack that a filter may use.
const STACK: usize = 64 << 20;

/// Serves filters until the input ends: what the hidden command does.
///
/// # Errors
/// The limits cannot be set, or the parent is gone.
pub fn run_filter(input: impl BufRead + Send + 'static, output: impl Write + Send + 'static) -> std::io::Result<()> {
    limit()?;
    let serving = std::thread::Builder::new().stack_size(STACK).spawn(move || serve(input, output))?;
    serving.join().unwrap_or_else(|_| Err(std::io::Error::other("the filter broke off")))
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

fn serve(mut input: impl BufRead, mut output: impl Write) -> std::io::Result<()> {
    let mut line = String::new();
    input.read_line(&mut line)?;
    let text: String = serde_json::from_str(&line)?;
    let filter = match compile(&text) {
        Ok(filter) => filter,
        Err(wrong) => return refuse(&mut output, &wrong.message),
    };
    writeln!(output, "ok")?;
    output.flush()?;
    loop {
        line.clear();
        if input.read_line(&mut line)? == 0 {
            return Ok(());
        }
        match answer(&filter, line.trim_end()) {
            Ok(values) => {
                output.write_all(&values)?;
                writeln!(output, ".")?;
                output.flush()?;
            }
            Err(why) => refuse(&mut output, &why)?,
        }
    }
}

/// Returns the values of one row, a line each.
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
    Ok(out)
}

fn refuse(output: &mut impl Write, why: &str) -> std::io::Result<()> {
    writeln!(output, "! {}", serde_json::to_string(why)?)?;
    output.flush()
}
