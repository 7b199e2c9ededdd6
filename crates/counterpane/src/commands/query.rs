//! `query SQL`: any question to the store, reading only.

use crate::cli::Cli;
use crate::opening;
use crate::output::{self, Ended, Out, clean, table};
use crate::wording::{count, count_of};
use counterpane_store::{Answer, SqlValue};
use schemars::JsonSchema;
use serde::Serialize;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::time::Duration;

#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// One SELECT; the tables and views are described in schemas/store.sql
    #[arg(value_name = "SQL")]
    sql: String,
    /// How to print
    #[arg(long, value_enum, default_value = "text")]
    format: QueryShape,
    /// How many rows at most
    #[arg(long, value_name = "N", default_value_t = 1_000_000)]
    most: usize,
    /// Put a ' before texts that a spreadsheet would run as a formula, in CSV
    #[arg(long)]
    quote_formulas: bool,
    /// After how many seconds the statement is stopped
    #[arg(long, value_name = "N", default_value_t = 60)]
    seconds: u64,
}

/// How rows are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum QueryShape {
    /// A table for people
    Text,
    /// CSV with a header line; an empty field is NULL
    Csv,
    /// JSON with a schema in schemas/
    Json,
}

/// What `query --format json` prints.
#[derive(Debug, Serialize, JsonSchema)]
pub(crate) struct Printed {
    /// Version of this form: 1.
    version: u32,
    /// Names of the columns.
    columns: Vec<String>,
    /// Rows, each as long as `columns`; bytes stand as hexadecimal text.
    rows: Vec<Vec<serde_json::Value>>,
    /// Whether there were more rows than were asked for.
    cut: bool,
}

pub(crate) fn run(cli: &Cli, args: &Args, out: &mut Out) -> anyhow::Result<Ended> {
    let mut study = opening::to_read(cli)?;
    let watch = Watch::new(Duration::from_secs(args.seconds));
    let answer = study.query(&args.sql, args.most);
    drop(watch);
    let answer = answer?;
    match args.format {
        QueryShape::Json => out.json(&printed(&answer))?,
        QueryShape::Csv => {
            out.data(csv(&answer, args.quote_formulas)?.as_bytes())?;
            let formulas = answer.rows.iter().flatten().filter(|v| is_formula(v)).count() as u64;
            if formulas > 0 && !args.quote_formulas {
                out.say(format_args!(
                    "{} with =, +, - or @: a spreadsheet may run that as a formula; open the file as text, or use --quote-formulas",
                    count_of(formulas, "text begins", "texts begin")
                ))?;
            }
        }
        QueryShape::Text => {
            let head: Vec<&str> = answer.columns.iter().map(String::as_str).collect();
            let rows: Vec<Vec<String>> = answer.rows.iter().map(|r| r.iter().map(text).collect()).collect();
            let number = |i: &usize| {
                !answer.rows.is_empty()
                    && answer
                        .rows
                        .iter()
                        .all(|r| matches!(r[*i], SqlValue::Integer(_) | SqlValue::Real(_) | SqlValue::Null))
            };
            let right: Vec<usize> = (0..head.len()).filter(number).collect();
            out.raw(&laid_out(&head, &right, &rows, out.width()))?;
        }
    }
    if answer.cut && answer.rows.len() < args.most {
        out.say("the answer is longer than `query` gives and was cut; ask for less, for one participant or night")?;
    } else if answer.cut {
        out.say(format_args!("there are more rows than {}; raise --most", args.most))?;
    }
    Ok(Ended::Fine)
}

/// Ends the program when a statement takes too long. SQLite asks whether to go on between its steps, and one
/// comparison with a pattern may be a step of years; nothing is lost, because a query only reads.
struct Watch {
    done: Option<Sender<()>>,
}

impl Watch {
    fn new(most: Duration) -> Watch {
        let (done, waits) = channel();
        std::thread::spawn(move || {
            if waits.recv_timeout(most) == Err(RecvTimeoutError::Timeout) {
                let seconds = most.as_secs();
                output::error(&anyhow::anyhow!(
                    "the statement was stopped after {}; ask for less, for one participant or night, or give it more --seconds",
                    count(seconds, "second")
                ));
                std::process::exit(2);
            }
        });
        Watch { done: Some(done) }
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        // The thread ends when its sender is gone.
        self.done.take();
    }
}

/// Returns rows as a table, or, where the table would be wider than the terminal, as a block for each row
/// with one column a line.
fn laid_out(head: &[&str], right: &[usize], rows: &[Vec<String>], width: usize) -> String {
    let widest = |i: usize| {
        let cells = rows.iter().take(1000).map(|r| r[i].chars().count());
        cells.chain([head[i].chars().count()]).max().unwrap_or(0) + 2
    };
    if (0..head.len()).map(widest).sum::<usize>() <= width || rows.is_empty() {
        return table(head, right, rows, width);
    }
    // A column without a name of its own is called by its whole expression, which may be long.
    let name = head.iter().map(|h| h.chars().count()).max().unwrap_or(0).min(40);
    let mut out = String::new();
    for row in rows {
        for (column, value) in head.iter().zip(row) {
            out.push_str(&format!("{:<name$}  {}\n", clean(column), clean(value)));
        }
        out.push('\n');
    }
    out
}

fn printed(answer: &Answer) -> Printed {
    let value = |v: &SqlValue| match v {
        SqlValue::Null => serde_json::Value::Null,
        SqlValue::Integer(i) => (*i).into(),
        SqlValue::Real(x) => (*x).into(),
        SqlValue::Text(t) => t.clone().into(),
        SqlValue::Blob(_) => text(v).into(),
    };
    let rows = answer.rows.iter().map(|r| r.iter().map(value).collect()).collect();
    Printed { version: 1, columns: answer.columns.clone(), rows, cut: answer.cut }
}

/// Returns the answer as CSV. Texts stand as they are, because programs read them back and keys are compared,
/// unless a ' is asked for before those that a spreadsheet would run.
fn csv(answer: &Answer, quote_formulas: bool) -> anyhow::Result<String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&answer.columns)?;
    for row in &answer.rows {
        writer.write_record(row.iter().map(|v| match v {
            SqlValue::Null => String::new(),
            v if quote_formulas && is_formula(v) => format!("'{}", text(v)),
            v => text(v),
        }))?;
    }
    Ok(String::from_utf8(writer.into_inner()?)?)
}

/// Says whether a spreadsheet may take this for a formula (OWASP, CSV injection; from memory).
fn is_formula(value: &SqlValue) -> bool {
    matches!(value, SqlValue::Text(t) if t.starts_with(['=', '+', '-', '@', '\t', '\r']))
}

fn text(value: &SqlValue) -> String {
    match value {
        SqlValue::Null => "-".into(),
        SqlValue::Integer(i) => i.to_string(),
        SqlValue::Real(x) => x.to_string(),
        SqlValue::Text(t) => t.clone(),
        SqlValue::Blob(b) => b.iter().map(|b| format!("{b:02x}")).collect(),
    }
}
