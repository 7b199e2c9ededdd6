//! What two readings differ in, what the reviewer decided of it, and the sheet that follows.

use super::pair::{Pair, align, changes};
use super::{Form, Precision, Sheet};
use anyhow::bail;
use std::fmt::Write as _;

/// Two readings beside each other.
#[derive(Debug)]
pub(crate) struct Both {
    /// The lines of the settled sheet, in order: kind, and what stands there or what is to be decided.
    lines: Vec<(&'static str, Line)>,
    /// Rows of the alignment.
    pub(crate) rows: usize,
    /// How many of them differ.
    pub(crate) rows_differing: usize,
    /// Minutes up to which times do not differ.
    pub(crate) within: f64,
}

#[derive(Debug)]
enum Line {
    Same(String),
    Differs { first: String, second: String },
}

/// What the reviewer decided of one difference.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Settled {
    /// `first`, `second`, `none`, or a line of its own.
    pub(crate) take: String,
    /// Why.
    pub(crate) reason: String,
}

/// Stands where a reading has no such row.
const NOTHING: &str = "(no row)";

/// Lays two readings of one picture beside each other.
///
/// # Errors
/// They are not of the same night and unit, a time or a precision cannot be read.
pub(crate) fn both(first: &Sheet, second: &Sheet) -> anyhow::Result<Both> {
    if (first.form, second.form) != (Form::Changes, Form::Changes) {
        bail!("only sheets of changes are compared; a printed list is not read off a picture");
    }
    for field in ["unit", "participant", "night", "zone"] {
        let [one, other] = [first, second].map(|s| s.field(field).unwrap_or_default());
        if one != other {
            bail!(
                "the first sheet is of the {field} `{one}` and the second of `{other}`; compare two readings of one picture"
            );
        }
    }
    let within = precision(first)? + precision(second)?;
    let mut out = Both { lines: Vec::new(), rows: 0, rows_differing: 0, within };
    let names = first.shown.iter().chain(second.shown.iter().filter(|(n, _)| first.shown.iter().all(|(f, _)| f != n)));
    for (name, _) in names {
        let [one, other] = [first, second].map(|s| {
            s.shown.iter().find(|(n, _)| n == name).map_or(NOTHING.to_owned(), |(_, value)| format!("{name} {value}"))
        });
        let line = if one == other { Line::Same(one) } else { Line::Differs { first: one, second: other } };
        out.lines.push(("shown", line));
    }
    let (one, other) = (changes(first)?, changes(second)?);
    for pair in align(&one, &other) {
        out.rows += 1;
        let differs = differs(pair, within);
        out.rows_differing += usize::from(differs);
        let [first, second] =
            [pair.0, pair.1].map(|c| c.map_or(NOTHING.to_owned(), |c| format!("{} {}", c.typed.at, c.stage)));
        // Within the precision neither is better: the first stands.
        out.lines.push(("change", if differs { Line::Differs { first, second } } else { Line::Same(first) }));
    }
    Ok(out)
}

/// Returns where a line stands and what it says; a time may have a blank before `pm`, and a total's name too.
fn parts<'t>(kind: &str, text: &'t str) -> Option<(&'t str, &'t str)> {
    if text == NOTHING {
        return None;
    }
    if kind == "change" {
        return text.rsplit_once(' ');
    }
    let name =
        Form::Changes.shown().iter().map(|(name, _)| *name).find(|name| text.starts_with(&format!("{name} ")))?;
    Some((text.get(..name.len())?, text.get(name.len() + 1..)?))
}

fn precision(sheet: &Sheet) -> anyhow::Result<f64> {
    Ok(sheet.precision()?.map_or(0.0, Precision::minutes))
}

fn differs((first, second): Pair<'_>, within: f64) -> bool {
    let (Some(a), Some(b)) = (first, second) else { return true };
    #[expect(clippy::cast_precision_loss, reason = "a night has far fewer than 2^52 seconds")]
    let minutes = (a.seconds - b.seconds).abs() as f64 / 60.0;
    a.stage != b.stage || minutes > within + 1e-9
}

impl Both {
    /// Returns what the two say of each difference.
    pub(crate) fn differences(&self) -> Vec<(&str, &str)> {
        let differing = self.lines.iter().filter_map(|(_, line)| match line {
            Line::Differs { first, second } => Some((first.as_str(), second.as_str())),
            Line::Same(_) => None,
        });
        differing.collect()
    }

    /// Returns the file in which the reviewer decides: neither reading is chosen beforehand.
    pub(crate) fn questions(&self) -> String {
        let mut out = String::from(
            "# take: first, second, none (no such row), or the row itself, such as 23:49 light; reason: in words.\n\
             difference\tfirst\tsecond\ttake\treason\n",
        );
        for (number, (first, second)) in (1..).zip(self.differences()) {
            let _ = writeln!(out, "{number}\t{first}\t{second}\t\t");
        }
        out
    }

    /// Returns what was decided of each difference; empty texts where nothing was.
    ///
    /// # Errors
    /// The file is not about these two readings, or decides what cannot be meant.
    pub(crate) fn answers(&self, text: &str) -> anyhow::Result<Vec<Settled>> {
        let mut out = vec![Settled::default(); self.differences().len()];
        let lines = text.lines().enumerate().filter(|(_, l)| !l.starts_with('#') && !l.trim().is_empty());
        for (at, line) in lines.skip(1) {
            let at = at + 1;
            let fields: Vec<&str> = line.split('\t').map(str::trim).collect();
            let (number, first, second) = match fields.as_slice() {
                [number, first, second, ..] => (number.parse::<usize>().unwrap_or(0), *first, *second),
                _ => bail!("line {at} has fewer than three fields; a tab stands between fields"),
            };
            let known = number.checked_sub(1).and_then(|n| self.differences().get(n).copied());
            if known != Some((first, second)) {
                bail!(
                    "line {at} is about a difference that these two sheets do not have; write the file anew under another name"
                );
            }
            let field = |n: usize| fields.get(n).copied().unwrap_or_default().to_owned();
            let settled = Settled { take: field(3), reason: field(4) };
            let row = |t: &str| t.split_once(' ').is_some_and(|(a, b)| !a.is_empty() && !b.is_empty());
            if !settled.take.is_empty()
                && !["first", "second", "none"].contains(&settled.take.as_str())
                && !row(&settled.take)
            {
                bail!("line {at}: `{}` is not first, second, none, or a row such as 23:49 light", settled.take);
            }
            if let Some(place) = out.get_mut(number - 1) {
                *place = settled;
            }
        }
        Ok(out)
    }

    /// Returns the settled sheet, or `None` while a difference is not settled with a reason.
    pub(crate) fn sheet(&self, head: &[(&str, String)], answers: &[Settled]) -> Option<String> {
        let mut out = format!("line\tat\tis\nsheet\tform\t{}\n", Form::Changes.code());
        for (field, value) in head {
            let _ = writeln!(out, "head\t{field}\t{value}");
        }
        let mut answers = answers.iter();
        for (kind, line) in &self.lines {
            let text = match line {
                Line::Same(text) => text.clone(),
                Line::Differs { first, second } => {
                    let answer = answers.next().filter(|a| !a.take.is_empty() && !a.reason.is_empty())?;
                    let _ = writeln!(out, "# first: {first}; second: {second}; {}", answer.reason);
                    match answer.take.as_str() {
                        "first" => first.clone(),
                        "second" => second.clone(),
                        "none" => NOTHING.to_owned(),
                        row => row.to_owned(),
                    }
                }
            };
            if let Some((at, is)) = parts(kind, &text) {
                let _ = writeln!(out, "{kind}\t{at}\t{is}");
            }
        }
        Some(out)
    }
}

#[cfg(test)]
mod tests {
    use super::parts;

    #[test]
    fn a_line_is_taken_apart_where_its_name_or_its_time_ends() {
        assert_eq!(parts("change", "11:47 pm light"), Some(("11:47 pm", "light")));
        assert_eq!(parts("shown", "time in bed 7:05"), Some(("time in bed", "7:05")));
        assert_eq!(parts("shown", "start 11:47 pm"), Some(("start", "11:47 pm")));
        assert_eq!(parts("change", super::NOTHING), None);
    }
}
