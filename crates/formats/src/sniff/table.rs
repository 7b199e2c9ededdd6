//! Which character separates the fields of a text, and where its header stands.

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

/// Returns the records of a text with the line at which each begins; blank ones are left out.
fn records(text: &str, delimiter: char, cut: bool) -> Vec<(u64, Vec<String>)> {
    let mut table = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(delimiter).unwrap_or(b','))
        .from_reader(text.as_bytes());
    let mut out = Vec::new();
    for record in table.records().map_while(Result::ok).take(1000) {
        if record.iter().any(|field| !field.trim().is_empty()) {
            out.push((line_of(&record, text), record.iter().map(|field| field.trim().to_owned()).collect()));
        }
    }
    if cut && !text.ends_with(['\n', '\r']) && out.len() < 1000 {
        out.pop();
    }
    out
}

/// Returns the line of a record; its position is that of blank lines above it.
fn line_of(record: &csv::StringRecord, text: &str) -> u64 {
    let Some(position) = record.position() else { return 1 };
    let above = text.bytes().skip(position.byte() as usize).take_while(|b| matches!(b, b'\r' | b'\n'));
    position.line() + above.filter(|b| *b == b'\n').count() as u64
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
