//! The parent: keeps a child for many rows, stops it when it takes too long, and starts another.

use super::{FILTER_COMMAND, OUTPUT, SECONDS, TRIES, VALUES};
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, sync_channel};
use std::time::Duration;

/// What a filter made of a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Filtered {
    /// The values that it gave, as JSON.
    Values(Vec<String>),
    /// Why it gave none.
    Failed(String),
}

/// A filter and the child that runs it.
pub(crate) struct Runner {
    text: String,
    child: Option<Running>,
    broken: u32,
}

struct Running {
    child: Child,
    input: ChildStdin,
    lines: Receiver<std::io::Result<String>>,
}

/// Why a line did not come.
enum Lost {
    Late,
    Gone,
}

impl Runner {
    pub(crate) fn new(text: &str) -> Runner {
        Runner { text: text.to_owned(), child: None, broken: 0 }
    }

    /// Runs the filter over one row, given as JSON on one line.
    ///
    /// # Errors
    /// The child cannot be started at all.
    pub(crate) fn run(&mut self, row: &str) -> std::io::Result<Filtered> {
        if self.broken >= TRIES {
            return Ok(Filtered::Failed(format!("the filter broke at {TRIES} rows above and is not tried any more")));
        }
        let mut running = match self.child.take() {
            Some(running) => running,
            None => match Running::start(&self.text)? {
                Ok(running) => running,
                Err(why) => return Ok(Filtered::Failed(why)),
            },
        };
        match running.ask(row) {
            Ok(answer) => {
                self.child = Some(running);
                Ok(answer)
            }
            Err(lost) => {
                running.stop();
                self.broken += 1;
                let why = match lost {
                    Lost::Late => format!("the filter took more than {SECONDS} s and was stopped"),
                    Lost::Gone => "the filter ran out of memory or stack and was stopped".to_owned(),
                };
                Ok(Filtered::Failed(why))
            }
        }
    }
}

impl Drop for Runner {
    fn drop(&mut self) {
        self.child.iter_mut().for_each(Running::stop);
    }
}

impl Running {
    /// Starts a child; the inner error is what the child says of the filter.
    fn start(text: &str) -> std::io::Result<Result<Running, String>> {
        let mut child = Command::new(std::env::current_exe()?)
            .arg(FILTER_COMMAND)
            .env_clear()
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let gone = || std::io::Error::other("the child process has no pipes");
        let (input, output) = (child.stdin.take().ok_or_else(gone)?, child.stdout.take().ok_or_else(gone)?);
        let (sender, lines) = sync_channel(64);
        std::thread::spawn(move || {
            let mut output = BufReader::new(output);
            loop {
                let line = bounded_line(&mut output);
                let last = !matches!(line, Ok(Some(_)));
                if line.transpose().is_some_and(|line| sender.send(line).is_err()) || last {
                    return;
                }
            }
        });
        let mut running = Running { child, input, lines };
        let sent = writeln!(running.input, "{}", serde_json::to_string(text)?).and_then(|()| running.input.flush());
        match sent.map_err(|_| Lost::Gone).and_then(|()| running.line()) {
            Ok(line) if line == "ok" => Ok(Ok(running)),
            Ok(line) => {
                running.stop();
                Ok(Err(refusal(&line)))
            }
            Err(_) => {
                running.stop();
                Err(std::io::Error::other("the child process for filters does not answer"))
            }
        }
    }

    fn ask(&mut self, row: &str) -> Result<Filtered, Lost> {
        writeln!(self.input, "{row}").and_then(|()| self.input.flush()).map_err(|_| Lost::Gone)?;
        let mut values = Vec::new();
        loop {
            let line = self.line()?;
            match line.split_at_checked(2) {
                Some(("= ", value)) if values.len() < VALUES => values.push(value.to_owned()),
                _ if line == "." => return Ok(Filtered::Values(values)),
                _ => return Ok(Filtered::Failed(refusal(&line))),
            }
        }
    }

    /// Waits for a line. The child answers a row at once when it is done, so the wait is the time of the row.
    fn line(&mut self) -> Result<String, Lost> {
        match self.lines.recv_timeout(Duration::from_secs(SECONDS)) {
            Ok(line) => line.map_err(|_| Lost::Gone),
            Err(RecvTimeoutError::Timeout) => Err(Lost::Late),
            Err(RecvTimeoutError::Disconnected) => Err(Lost::Gone),
        }
    }

    fn stop(&mut self) {
        // It may be gone already; either way nothing is left to do but to take its place in the process table back.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Reads a line of at most the limit; `None` at the end.
fn bounded_line(output: &mut impl BufRead) -> std::io::Result<Option<String>> {
    let mut line = Vec::new();
    let most = OUTPUT as u64 + 16;
    if output.by_ref().take(most).read_until(b'\n', &mut line)? == 0 {
        return Ok(None);
    }
    if line.pop() != Some(b'\n') {
        return Err(std::io::Error::other("a line without an end"));
    }
    String::from_utf8(line).map(Some).map_err(std::io::Error::other)
}

fn refusal(line: &str) -> String {
    let why = line.strip_prefix("! ").and_then(|text| serde_json::from_str(text).ok());
    why.unwrap_or_else(|| "the child process for filters gave no answer that can be read".to_owned())
}
