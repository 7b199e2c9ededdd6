//! What stands at a place of a file, for people who follow a number back to it.

use crate::path::push_steps;
use crate::{
    Event, Flow, Format, FormatError, Limits, Node, Path, Request, Row, Step, TextOptions, Value, Want, read, shorten,
};
use counterpane_model::Locator;
use std::collections::BTreeMap;

/// Where one file, or one member of an archive, is to be read, and by which reader.
type Part = (Option<String>, &'static str, String);

/// Returns what stands at each of these places, in their order: a line of a text, the part of a JSON document around
/// the value, the row of a sheet, an annotation; on one line of at most 200 characters. `None` where the file has no
/// such place or cannot be read that far: this is for showing, and says nothing about the file's faults.
///
/// With each place comes a word that is expected there: where several rows stand at one place, as annotations at one
/// onset do, the one with the word is taken, else the first.
///
/// `again` gives the file from its beginning; it is asked once for each part of the file in which places lie.
///
/// # Errors
/// The file cannot be opened.
pub fn quote<R: std::io::Read>(
    mut again: impl FnMut() -> std::io::Result<R>,
    places: &[(Locator, &str)],
    text: &TextOptions,
    limits: Limits,
) -> Result<Vec<Option<String>>, FormatError> {
    let mut parts: BTreeMap<Part, Vec<usize>> = BTreeMap::new();
    for (i, (place, _)) in places.iter().enumerate() {
        parts.entry(part_of(place)).or_default().push(i);
    }
    let mut out: Vec<Option<String>> = vec![None; places.len()];
    let settled = |i: &usize, out: &[Option<String>]| out[*i].as_ref().is_some_and(|line| line.contains(places[*i].1));
    for ((member, reader, each), wanted) in parts {
        let format = match reader {
            "edf" => Format::Edf,
            "json" => Format::Json,
            "jsonl" => Format::Jsonl,
            "sheet" => Format::Sheet,
            "xml" => Format::Xml,
            _ => Format::Text,
        };
        let whole = Want { up: 0, path: "@".into() };
        let request = Request {
            each: if format == Format::Jsonl { "$".into() } else { each },
            wants: if matches!(format, Format::Json | Format::Jsonl) { vec![whole] } else { Vec::new() },
            inner: member.as_ref().map(|_| format),
            text: TextOptions { encoding: text.encoding.clone(), ..TextOptions::default() },
            limits,
            member,
            ..Request::default()
        };
        let outer = if request.member.is_some() { Format::Zip } else { format };
        let mut sink = |event: Event<'_>| {
            if let Event::Row(row) = event {
                for i in &wanted {
                    if settled(i, &out) {
                        continue;
                    }
                    if let Some(line) = said(row, inner(&places[*i].0))
                        && (out[*i].is_none() || line.contains(places[*i].1))
                    {
                        out[*i] = Some(line);
                    }
                }
            }
            if wanted.iter().all(|i| settled(i, &out)) { Flow::Stop } else { Flow::Continue }
        };
        // What was found before a fault stays found.
        let _ = read(outer, &mut again()?, &request, &mut sink);
    }
    Ok(out)
}

/// Takes the member of an archive and the number of an item off a place.
fn inner(place: &Locator) -> &Locator {
    match place {
        Locator::Member { inner: at, .. } | Locator::Item { of: at, .. } | Locator::Items { of: at, .. } => inner(at),
        place => place,
    }
}

fn part_of(place: &Locator) -> Part {
    match place {
        Locator::Member { member, inner } => (Some(member.clone()), part_of(inner).1, part_of(inner).2),
        Locator::Item { of, .. } | Locator::Items { of, .. } => part_of(of),
        Locator::Text { .. } => (None, "text", String::new()),
        // Elements of that name, wherever they stand: the line tells which.
        Locator::Xml { path, .. } => {
            let element = path.split('/').rfind(|step| !step.starts_with('@') && !step.ends_with("()"));
            (None, "xml", format!("//{}", element.unwrap_or(path)))
        }
        Locator::Json { path } => (None, "json", rows_like(path)),
        Locator::JsonLine { .. } => (None, "jsonl", String::new()),
        Locator::Record { .. } => (None, "edf", String::new()),
        Locator::Cell { sheet, .. } => (None, "sheet", sheet.clone()),
    }
}

/// Returns what a row says at a place, or `None` when the place is not in this row.
fn said(row: &dyn Row, place: &Locator) -> Option<String> {
    let digits = |cell: &str| cell.trim_start_matches(|c: char| c.is_ascii_alphabetic()).to_owned();
    match (inner(&row.locator()), place) {
        (Locator::Text { line, .. }, Locator::Text { line: wanted, .. })
        | (Locator::Xml { line, .. }, Locator::Xml { line: wanted, .. }) => (line == wanted).then(|| row.line()),
        (Locator::Json { path: at }, Locator::Json { path }) => {
            let (of, inside) = split(path)?;
            (*at == written(&of)).then(|| around(row, &inside)).flatten()
        }
        (Locator::JsonLine { row: n, .. }, Locator::JsonLine { row: wanted, path }) => {
            (n == wanted).then(|| around(row, &Path::parse(path).ok()?.steps)).flatten()
        }
        (Locator::Record { record, onset }, Locator::Record { record: wanted, onset: at }) => {
            (record == wanted && onset == at).then(|| row.line())
        }
        (Locator::Cell { cell, .. }, Locator::Cell { cell: wanted, .. }) => {
            (digits(cell) == digits(wanted)).then(|| row.line())
        }
        _ => None,
    }
}

/// Returns the path of the row that a path leads into, which is the last item of a list that it passes, else the
/// document; and the steps from there. So a file of any size is passed over in small pieces.
fn split(path: &str) -> Option<(Vec<Step>, Vec<Step>)> {
    let mut steps = Path::parse(path).ok()?.steps;
    let row = steps.iter().rposition(|s| matches!(s, Step::Index(_))).map_or(0, |i| i + 1);
    let inside = steps.split_off(row);
    Some((steps, inside))
}

fn written(steps: &[Step]) -> String {
    let mut out = "$".to_owned();
    push_steps(&mut out, steps);
    out
}

/// Returns the path of all rows like that of a path: every item of each list.
fn rows_like(path: &str) -> String {
    let (row, _) = split(path).unwrap_or_default();
    let every = |step| if matches!(step, Step::Index(_)) { Step::Items } else { step };
    written(&row.into_iter().map(every).collect::<Vec<_>>())
}

/// Returns the value that steps lead to inside a row; of a value that holds no others, the object that it stands in.
fn around(row: &dyn Row, steps: &[Step]) -> Option<String> {
    let whole = match row.value(0)? {
        Value::List(items) => Node::List(items.to_vec()),
        Value::Map(members) => Node::Map(members.to_vec()),
        _ => return Some(row.line()),
    };
    let found = whole.follow(steps)?;
    let above = steps.split_last().and_then(|(_, above)| whole.follow(above));
    let shown = match (found, above) {
        (Node::List(_) | Node::Map(_), _) | (_, None) => found,
        (_, Some(Node::List(_))) => found,
        (_, Some(above)) => above,
    };
    Some(shorten::line(&shown.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(file: &str, place: &str) -> Option<String> {
        with_word(file, place, "")
    }

    fn with_word(file: &str, place: &str, word: &str) -> Option<String> {
        let places = [(place.parse().unwrap(), word)];
        let found = quote(|| Ok(file.as_bytes()), &places, &TextOptions::default(), Limits::default()).unwrap();
        found.into_iter().next().unwrap()
    }

    #[test]
    fn a_line_of_a_text_is_shown_whole() {
        assert_eq!(check("a;b\n1;deep\n", "line 2:3").as_deref(), Some("1;deep"));
        assert_eq!(check("a;b\n1;deep\n", "line 3:1"), None);
    }

    #[test]
    fn a_value_of_json_is_shown_with_its_neighbours() {
        let file = r#"{"sleeps":[{"pieces":[{"at":1,"depth":"deep"}],"codes":["a","b"],"letters":"ab"}]}"#;
        assert_eq!(check(file, "$.sleeps[0].pieces[0].depth").as_deref(), Some(r#"{"at":1,"depth":"deep"}"#));
        assert_eq!(check(file, "$.sleeps[0].pieces[0]").as_deref(), Some(r#"{"at":1,"depth":"deep"}"#));
        assert_eq!(check(file, "item 2 of $.sleeps[0].codes").as_deref(), Some(r#"["a","b"]"#));
        assert_eq!(check(file, "items 1 to 2 of $.sleeps[0].codes").as_deref(), Some(r#"["a","b"]"#));
        assert_eq!(check(file, "$.sleeps[1].pieces[0]"), None);
    }

    #[test]
    fn a_row_of_a_path_is_the_last_item_that_it_passes() {
        assert_eq!(rows_like("$.a[0].b[12].c.d"), "$.a[*].b[*]");
        assert_eq!(rows_like("$.a['x[1].y']"), "$");
        assert_eq!(rows_like("$.a['x'][3]"), "$.a.x[*]");
        let file = r#"{"a":{"x '1'.y":[{"b":1},{"b":2,"c":3}]}}"#;
        assert_eq!(check(file, r"$.a['x \'1\'.y'][1].b").as_deref(), Some(r#"{"b":2,"c":3}"#));
    }

    #[test]
    fn a_line_of_json_lines_and_of_xml_is_found() {
        assert_eq!(check("{\"a\":1}\n{\"a\":2}\n", "row 2 $.a").as_deref(), Some(r#"{"a":2}"#));
        assert_eq!(check("<x>\n <y z='1'/>\n</x>\n", "xml line 2 y/@z").as_deref(), Some("<y z='1'/>"));
        assert_eq!(check("<x>\n <y><z>1</z></y>\n</x>\n", "xml line 2 y/z").as_deref(), Some("<z>1</z>"));
    }

    #[test]
    fn of_several_rows_at_one_place_the_one_with_the_word_is_taken() {
        let file = "<x>\n <y z='1'/><y z='2'/>\n</x>\n";
        assert_eq!(with_word(file, "xml line 2 y/@z", "2").as_deref(), Some("<y z='2'/>"));
        assert_eq!(with_word(file, "xml line 2 y/@z", "3").as_deref(), Some("<y z='1'/>"));
    }

    #[test]
    fn what_cannot_be_read_is_not_shown() {
        assert_eq!(check("no json", "$.a"), None);
        assert_eq!(check("no archive", "member \"a.csv\" line 1:1"), None);
    }
}
