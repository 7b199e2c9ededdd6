//! Which character separates the fields of a text, and where its header stands.

use crate::delimited::split::{Outcome, split};

/// Characters that may separate fields, in the order in which they win a tie.
const DELIMITERS: [char; 4] = ['\t', ';', ',', '|'];

/// A way to see a text as a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Candidate {
    pub(super) delimiter: char,
    /// Line of the header, from 1: the first of the longest run of lines with the same number of fields.
    pub(super) line: u64,
    pub(super) columns: Vec<String>,
    /// Lines of that run.
    rows: usize,
}

/// Returns the ways to see a text as a table of two columns or more, the likeliest first. `cut` says that the
/// text breaks off, so that its last line does not count.
pub(super) fn candidates(text: &str, cut: bool) -> Vec<Candidate> {
    let mut all: Vec<_> = DELIMITERS.iter().filter_map(|d| candidate(text, *d, cut)).collect();
    all.sort_by_key(|c| std::cmp::Reverse((c.rows, c.columns.len())));
    all
}

fn candidate(text: &str, delimiter: char, cut: bool) -> Option<Candidate> {
    let records = records(text, delimiter, cut);
    let mut best: Option<(usize, usize)> = None;
    let mut from = 0;
    while from < records.len() {
        let n = records[from].1.len();
        let rows = records[from..].iter().take_while(|r| r.1.len() == n).count();
        if n > 1 && best.is_none_or(|(_, most)| rows > most) {
            best = Some((from, rows));
        }
        from += rows;
    }
    let (first, rows) = best?;
    // One line alone is a table only when nothing else stands in the file.
    if rows == 1 && records.len() > 1 {
        return None;
    }
    let (line, columns) = records.get(first)?.clone();
    Some(Candidate { delimiter, line, columns, rows })
}

/// Splits the records of a text; blank ones are left out.
fn records(text: &str, delimiter: char, cut: bool) -> Vec<(u64, Vec<String>)> {
    let mut mark = [0; 4];
    let mark = delimiter.encode_utf8(&mut mark).as_bytes();
    let (mut rest, mut line, mut out, mut fields) = (text, 1, Vec::new(), Vec::new());
    while !rest.is_empty() && out.len() < 1000 {
        let (len, next) = match split(rest.as_bytes(), mark, !cut, &mut fields) {
            Outcome::Record { len, next } => (len, next),
            Outcome::Stray { len, next, .. } => {
                fields.clear();
                (len, next)
            }
            Outcome::More | Outcome::Open { .. } => break,
        };
        if !rest[..len].trim().is_empty() {
            let field =
                |f: &crate::delimited::split::Field| rest[f.start..f.end].replace("\"\"", "\"").trim().to_owned();
            out.push((line, fields.iter().map(field).collect()));
        }
        line += rest[..next].matches('\n').count().max(1) as u64;
        rest = &rest[next..];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str) -> String {
        let show = |c: Candidate| format!("{:?} line {}: {}", c.delimiter, c.line, c.columns.join("|"));
        candidates(text, false).into_iter().map(show).collect::<Vec<_>>().join("; ")
    }

    #[test]
    fn the_header_stands_below_a_preamble() {
        let text = "watch-a night sheet (invented)\nexported;05.04.2026\n\nclock;lasts;phase\n22:31:00;00:27:30;Light\n22:58:30;00:10:00;Deep\n";
        assert_eq!(check(text), "';' line 4: clock|lasts|phase");
    }

    #[test]
    fn decimal_commas_separate_nothing() {
        assert_eq!(
            check("onset;length;stage\n0,5;30,0;W\n30,5;30,0;R\n"),
            "';' line 1: onset|length|stage; ',' line 2: 0|5;30|0;W"
        );
    }

    #[test]
    fn a_text_without_columns_is_no_table() {
        assert_eq!(check("W\nN1\nN2\n"), "");
        assert_eq!(check("a line, with a comma\nand one without\n"), "");
        assert_eq!(check("a,b"), "',' line 1: a|b");
    }
}
