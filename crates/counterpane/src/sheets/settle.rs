//! What two readings differ in, what the reviewer decided of it, and the sheet that follows.

use super::apart::{Apart, apart};
use super::pair::{Pair, align, lines, minutes_between, on_the_same_day};
use super::{Form, Precision, Sheet};
use anyhow::bail;
use std::fmt::Write as _;

/// Two readings beside each other.
#[derive(Debug)]
pub(crate) struct Both {
    /// What the rows of both are.
    form: Form,
    /// The lines of the settled sheet, in order: kind, and what stands there or what is to be decided.
    lines: Vec<(&'static str, Line)>,
    /// Rows of the alignment.
    pub(crate) rows: usize,
    /// How many of them differ.
    pub(crate) rows_differing: usize,
    /// Minutes up to which times do not differ.
    pub(crate) within: f64,
    /// Minutes that the two tell differently.
    pub(crate) apart: Apart,
}

/// Something that two readings say differently.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Difference<'a> {
    /// The kind of line of a sheet: `head`, `shown`, `change` or `epochs`.
    pub(crate) kind: &'static str,
    /// What the first says there.
    pub(crate) first: &'a str,
    /// What the second says there.
    pub(crate) second: &'a str,
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

/// Lays two readings of one picture, or of one printed list, beside each other.
///
/// # Errors
/// They are not of the same form, night and unit or scorer; a time or a precision cannot be read.
pub(crate) fn both(first: &Sheet, second: &Sheet) -> anyhow::Result<Both> {
    let form = first.form;
    if second.form != form {
        bail!("one of the two is a sheet of changes and the other one of epochs; compare two readings of one source");
    }
    for field in form.whose() {
        let [one, other] = [first, second].map(|s| s.field(field).unwrap_or_default());
        if one != other {
            bail!(
                "the first sheet is of the {field} `{one}` and the second of `{other}`; compare two readings of one picture or list"
            );
        }
    }
    let within = precision(first)? + precision(second)?;
    let one = lines(first)?;
    let other = on_the_same_day(lines(second)?, &one);
    let apart = apart(&one, &other);
    let mut out = Both { form, lines: told(first, second), rows: 0, rows_differing: 0, within, apart };
    for pair in align(&one, &other) {
        out.rows += 1;
        let differs = differs(pair, within);
        out.rows_differing += usize::from(differs);
        let [first, second] =
            [pair.0, pair.1].map(|l| l.map_or(NOTHING.to_owned(), |l| format!("{} {}", l.typed.at, l.stage)));
        // Within the precision neither is better: the first stands.
        out.lines.push((form.row(), if differs { Line::Differs { first, second } } else { Line::Same(first) }));
    }
    Ok(out)
}

/// Returns what the two say beside their rows: fields of the head that were read off the source, and totals.
fn told(first: &Sheet, second: &Sheet) -> Vec<(&'static str, Line)> {
    let form = first.form;
    let head = form.of_source().iter().map(|name| ("head", *name));
    let totals = form.shown().iter().map(|(name, _)| ("shown", *name));
    let said = |sheet: &Sheet, kind: &str, name: &str| match kind {
        "head" => sheet.field(name).map(str::to_owned),
        _ => sheet.shown.iter().find(|(n, _)| n == name).map(|(_, value)| value.clone()),
    };
    let lines = head.chain(totals).filter_map(|(kind, name)| {
        let [one, other] = [first, second].map(|s| said(s, kind, name).map(|value| format!("{name} {value}")));
        match (one, other) {
            (None, None) => None,
            (Some(one), Some(other)) if one == other => Some((kind, Line::Same(one))),
            (one, other) => {
                let text = |of: Option<String>| of.unwrap_or(NOTHING.to_owned());
                Some((kind, Line::Differs { first: text(one), second: text(other) }))
            }
        }
    });
    lines.collect()
}

/// Returns where a line stands and what it says; a time may have a blank before `pm`, and a name too.
fn parts<'t>(form: Form, kind: &str, text: &'t str) -> Option<(&'t str, &'t str)> {
    if text == NOTHING {
        return None;
    }
    let named = |name: &&str| text.starts_with(&format!("{name} "));
    let name = match kind {
        "head" => form.of_source().iter().copied().find(named)?,
        "shown" => form.shown().iter().map(|(name, _)| *name).find(named)?,
        _ => return text.rsplit_once(' ').filter(|(at, is)| !at.is_empty() && !is.is_empty()),
    };
    Some((text.get(..name.len())?, text.get(name.len() + 1..)?))
}

/// Says whether a text of the reviewer can stand in the settled sheet.
fn can_stand(form: Form, kind: &str, text: &str) -> bool {
    parts(form, kind, text).is_some_and(|(at, _)| match (kind, form) {
        ("head" | "shown", _) => true,
        (_, Form::Changes) => counterpane_import::clock_as_typed(at).is_some(),
        (_, Form::Epochs) => counterpane_import::epochs_as_typed(at).is_some(),
    })
}

fn precision(sheet: &Sheet) -> anyhow::Result<f64> {
    Ok(sheet.precision()?.map_or(0.0, Precision::minutes))
}

fn differs((first, second): Pair<'_>, within: f64) -> bool {
    let (Some(a), Some(b)) = (first, second) else { return true };
    a.stage != b.stage || a.ends != b.ends || minutes_between(a.begins, b.begins) > within + 1e-9
}

impl Both {
    /// Returns what the two say of each difference.
    pub(crate) fn differences(&self) -> Vec<Difference<'_>> {
        let differing = self.lines.iter().filter_map(|(kind, line)| match line {
            Line::Differs { first, second } => Some(Difference { kind, first, second }),
            Line::Same(_) => None,
        });
        differing.collect()
    }

    /// Returns the file in which the reviewer decides: neither reading is chosen beforehand.
    pub(crate) fn questions(&self) -> String {
        let example = self.form.example().join(" ");
        let mut out = format!(
            "# take: first, second, none (no such row), or the row itself, such as {example}; reason: in words.\n\
             difference\tfirst\tsecond\ttake\treason\n",
        );
        for (number, d) in (1..).zip(self.differences()) {
            let _ = writeln!(out, "{number}\t{}\t{}\t\t", d.first, d.second);
        }
        out
    }

    /// Returns what was decided of each difference; empty texts where nothing was.
    ///
    /// # Errors
    /// The file is not about these two readings, or decides what cannot be meant.
    pub(crate) fn answers(&self, text: &str) -> anyhow::Result<Vec<Settled>> {
        let differences = self.differences();
        let mut out = vec![Settled::default(); differences.len()];
        let lines = text.lines().enumerate().filter(|(_, l)| !l.starts_with('#') && !l.trim().is_empty());
        for (at, line) in lines.skip(1) {
            let at = at + 1;
            let fields: Vec<&str> = line.split('\t').map(str::trim).collect();
            let [number, first, second, ..] = fields.as_slice() else {
                bail!("line {at} has fewer than three fields; a tab stands between fields")
            };
            let index = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
            let known = index.and_then(|i| differences.get(i)).filter(|d| (d.first, d.second) == (*first, *second));
            let Some((place, known)) = index.and_then(|i| out.get_mut(i)).zip(known) else {
                bail!(
                    "line {at} is about a difference that these two sheets do not have; write the file anew under another name"
                )
            };
            let field = |n: usize| fields.get(n).copied().unwrap_or_default().to_owned();
            let settled = Settled { take: field(3), reason: field(4) };
            let word = ["", "first", "second", "none"].contains(&settled.take.as_str());
            if !word && !can_stand(self.form, known.kind, &settled.take) {
                let example = self.form.example().join(" ");
                bail!("line {at}: `{}` is not first, second, none, or a row such as {example}", settled.take);
            }
            *place = settled;
        }
        Ok(out)
    }

    /// Returns the settled sheet, or `None` while a difference is not settled with a reason.
    pub(crate) fn sheet(&self, head: &[(&str, String)], answers: &[Settled]) -> Option<String> {
        let mut out = format!("line\tat\tis\nsheet\tform\t{}\n", self.form.code());
        for (field, value) in head.iter().filter(|(_, value)| !value.is_empty()) {
            let _ = writeln!(out, "head\t{field}\t{value}");
        }
        let mut answers = answers.iter();
        for (kind, line) in &self.lines {
            let text = match line {
                Line::Same(text) => text.clone(),
                Line::Differs { first, second } => {
                    let answer = answers.next().filter(|a| a.is_whole())?;
                    let _ = writeln!(out, "# first: {first}; second: {second}; {}", answer.reason);
                    match answer.take.as_str() {
                        "first" => first.clone(),
                        "second" => second.clone(),
                        "none" => NOTHING.to_owned(),
                        row => row.to_owned(),
                    }
                }
            };
            if let Some((at, is)) = parts(self.form, kind, &text) {
                let _ = writeln!(out, "{kind}\t{at}\t{is}");
            }
        }
        Some(out)
    }
}

impl Settled {
    /// Says whether it is decided, with a reason.
    pub(crate) fn is_whole(&self) -> bool {
        !self.take.is_empty() && !self.reason.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_taken_apart_where_its_name_or_its_time_ends() {
        let check = |kind, text| parts(Form::Changes, kind, text);
        assert_eq!(check("change", "11:47 pm light"), Some(("11:47 pm", "light")));
        assert_eq!(check("shown", "time in bed 7:05"), Some(("time in bed", "7:05")));
        assert_eq!(check("shown", "start 11:47 pm"), Some(("start", "11:47 pm")));
        assert_eq!(check("change", NOTHING), None);
        let at = "2026-04-03 22:30:00";
        assert_eq!(parts(Form::Epochs, "head", &format!("epoch 1 {at}")), Some(("epoch 1", at)));
    }

    #[test]
    fn a_row_of_ones_own_must_be_one_that_the_sheet_can_hold() {
        assert!(can_stand(Form::Changes, "change", "23.47 light") && !can_stand(Form::Changes, "change", "1-43 light"));
        assert!(can_stand(Form::Epochs, "epochs", "44 N1") && !can_stand(Form::Epochs, "epochs", "44"));
        assert!(can_stand(Form::Changes, "shown", "deep 1:10") && !can_stand(Form::Changes, "shown", "dep 1:10"));
    }
}
