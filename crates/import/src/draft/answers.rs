//! Choices that a draft leaves open, as a person sees them, and their answers.

use super::DraftError;
use super::plan::OPEN;
use super::write::quoted;
use counterpane_model::Zone;

/// A key and what is chosen for it.
pub type Answer = (String, String);

/// A choice that the sample leaves open.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// The key that is open, such as `zone`; for the place of a value, the name of its table, such as `stage`.
    pub key: String,
    /// Lines of the text, from 1, that wait for it.
    pub lines: Vec<u64>,
    /// Why it is open.
    pub why: String,
    /// What may be chosen: what is said to choose it, and what speaks for it.
    pub options: Vec<(String, String)>,
}

/// One place that is open.
struct Place {
    key: String,
    /// The line with the open value, or the one that says so above the places of a value.
    line: usize,
    why: String,
    /// The lines of its options, each with what it writes and its note.
    options: Vec<(usize, String, String)>,
    /// It is asked where a value stands: the line of the option becomes the value.
    is_place: bool,
}

const PLACE: &str = "# choose one: take the `# ` from before it";

/// Returns the choices of a text; places that ask the same are one choice.
pub(super) fn choices(toml: &str) -> Vec<Choice> {
    let mut out: Vec<Choice> = Vec::new();
    for place in places(&lines(toml)) {
        let options: Vec<(String, String)> =
            place.options.iter().map(|(_, value, note)| (said(value), note.clone())).collect();
        let line = place.line as u64 + 1;
        // The blocks that are written again for other columns show no options of their own.
        match out.iter_mut().find(|c| c.key == place.key && (c.options == options || options.is_empty())) {
            Some(same) => same.lines.push(line),
            None => out.push(Choice { key: place.key, lines: vec![line], why: place.why, options }),
        }
    }
    out
}

/// Returns the choice between rival blocks, of which each is called by its number.
pub(super) fn of_blocks(toml: &str, options: Vec<(String, String)>) -> Choice {
    let line = toml.lines().position(|l| l == format!("shape = {OPEN}")).map_or(1, |n| n as u64 + 1);
    let why = "several kinds of row hold words for stages, and the blocks are rivals".to_owned();
    Choice { key: "block".into(), lines: vec![line], why, options }
}

/// Returns the text with answers in place of what is open.
///
/// # Errors
/// An answer is to no choice of the text, or is none of its options.
pub(super) fn answered(toml: &str, answers: &[Answer]) -> Result<String, DraftError> {
    let mut text = lines(toml);
    for (key, answer) in answers {
        let mut used = None;
        // What is answered may open another place, such as the zone of a time whose offset is not true.
        for _ in 0..text.len() {
            let Some((place, value)) = next(&text, key, answer, used.as_deref()) else { break };
            apply(&mut text, &place, &value);
            used = Some(value);
        }
        if used.is_none() {
            return Err(unknown(&text, key, answer));
        }
    }
    Ok(text.join("\n") + "\n")
}

fn lines(toml: &str) -> Vec<String> {
    toml.lines().map(str::to_owned).collect()
}

/// Returns the next open place of a key that an answer fits, and the value that it gives.
fn next(text: &[String], key: &str, answer: &str, before: Option<&str>) -> Option<(Place, String)> {
    places(text).into_iter().filter(|p| p.key == key).find_map(|place| {
        let value = match place.options.is_empty() {
            true => before.map(str::to_owned),
            false => chosen(&place, answer),
        };
        value.map(|value| (place, value))
    })
}

/// Returns what an answer writes: the option that is called so, or the only one that holds it.
fn chosen(place: &Place, answer: &str) -> Option<String> {
    let values = || place.options.iter().map(|(_, value, _)| value);
    if let Some(exact) = values().find(|v| said(v) == answer || **v == quoted(answer)) {
        return Some(if exact.contains(REGION) { return None } else { exact.clone() });
    }
    if values().any(|v| v.contains(REGION)) && Zone::named(answer).is_ok() {
        return Some(format!("{{ const = {} }}", quoted(answer)));
    }
    let holds: Vec<&String> = values().filter(|v| v.contains(answer)).collect();
    if let [one] = holds.as_slice() { Some((*one).clone()) } else { None }
}

const REGION: &str = "Region/City";

/// Returns what a person says to choose a value.
fn said(value: &str) -> String {
    if value.contains(REGION) {
        return REGION.to_owned();
    }
    let inner = value.split_once(" = ").filter(|_| !value.starts_with('{')).map_or(value, |(_, v)| v);
    let texts: Vec<&str> = inner.split('"').skip(1).step_by(2).collect();
    match texts.as_slice() {
        [] => inner.trim().to_owned(),
        several => several.last().copied().unwrap_or_default().to_owned(),
    }
}

fn places(text: &[String]) -> Vec<Place> {
    let mut out = Vec::new();
    for (n, line) in text.iter().enumerate() {
        if let Some(key) = line.strip_suffix(&format!(" = {OPEN}")).filter(|k| !k.starts_with('#') && *k != "shape") {
            out.push(of_key(text, n, key));
        } else if line == PLACE {
            out.extend(of_place(text, n));
        }
    }
    out
}

fn of_key(text: &[String], n: usize, key: &str) -> Place {
    let start = format!("#   {key} = ");
    let first = (0..n).rev().take_while(|at| text[*at].starts_with(&start)).last().unwrap_or(n);
    let option = |at: usize| {
        let (value, note) = cut(&text[at][start.len()..]);
        (at, value, note)
    };
    let why =
        first.checked_sub(1).and_then(|at| text[at].strip_prefix("# choose one: ")).unwrap_or_default().to_owned();
    Place { key: key.to_owned(), line: n, why, options: (first..n).map(option).collect(), is_place: false }
}

fn of_place(text: &[String], n: usize) -> Option<Place> {
    let table = text[..n].iter().rev().find(|l| l.starts_with('['))?;
    let key = table.trim_matches(['[', ']']).rsplit('.').next()?.to_owned();
    let why = text[..n].iter().rev().find(|l| l.starts_with("# ")).map(|l| l[2..].to_owned()).unwrap_or_default();
    let last = (n + 1..text.len()).take_while(|at| text[*at].starts_with("# ")).last()?;
    let option = |at: usize| {
        let (value, note) = cut(&text[at][2..]);
        (at, value, note)
    };
    Some(Place { key, line: n, why, options: (n + 1..=last).map(option).collect(), is_place: true })
}

fn cut(text: &str) -> (String, String) {
    let (value, note) = text.split_once("   # ").unwrap_or((text, ""));
    (value.to_owned(), note.to_owned())
}

fn apply(text: &mut Vec<String>, place: &Place, value: &str) {
    if place.is_place {
        text[place.line] = "# chosen with --choose".to_owned();
        if let Some((at, ..)) = place.options.iter().find(|(_, v, _)| v == value) {
            text[*at] = value.replacen(", up = ", "\nup = ", 1);
        }
        return;
    }
    text[place.line] = format!("{} = {value}", place.key);
    let note = place.options.iter().find(|(_, v, _)| v == value).map(|(_, _, note)| note.as_str()).unwrap_or_default();
    if let Some(at) = place.options.first().and_then(|(at, ..)| at.checked_sub(1)) {
        text[at] = text[at].replacen("# choose one: ", "# chosen with --choose: ", 1);
    }
    // A `Z` that means nothing leaves wall times, and those need a zone.
    if let Some((_, zone)) = note.split_once("; then also: zone = ") {
        let open = [
            "# choose one: local times, of which zone",
            "#   zone = \"night\"   # the zone of the night, as study.toml declares it",
            "#   zone = { const = \"Region/City\" }   # always this one; put its IANA name in",
        ];
        let mut more: Vec<String> = Vec::new();
        if zone == OPEN {
            more.extend(open.map(str::to_owned));
        }
        more.push(format!("zone = {zone}"));
        let at = place.line + 1;
        text.splice(at..at, more);
    }
}

fn unknown(text: &[String], key: &str, answer: &str) -> DraftError {
    let open = choices(&text.join("\n"));
    let options: Vec<String> =
        open.iter().flat_map(|c| c.options.iter().map(|(said, _)| format!("`{}={said}`", c.key))).collect();
    let known = if options.is_empty() { "nothing is open".into() } else { format!("open are {}", options.join(", ")) };
    DraftError::NoChoice { answer: format!("{key}={answer}"), known }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "[rows.start]\nat = \"t\"\n# choose one: nothing says so\n#   zone = \"night\"   # that of the night\n#   zone = { const = \"Region/City\" }   # always\nzone = \"choose one\"\n\n# which column\n[rows.stage]\n# choose one: take the `# ` from before it\n# at = \"a\"   # 3 rows\n# at = \"b\"\n";

    fn check(key: &str, answer: &str) -> String {
        match answered(TEXT, &[(key.to_owned(), answer.to_owned())]) {
            Ok(text) => text.lines().filter(|l| !l.starts_with('#')).collect::<Vec<_>>().join("|"),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn what_is_open_is_listed_with_what_chooses_it() {
        let found: Vec<String> = choices(TEXT)
            .iter()
            .map(|c| {
                format!(
                    "{} {:?} {}",
                    c.key,
                    c.lines,
                    c.options.iter().map(|o| o.0.as_str()).collect::<Vec<_>>().join("/")
                )
            })
            .collect();
        assert_eq!(found, ["zone [6] night/Region/City", "stage [10] a/b"]);
    }

    #[test]
    fn an_answer_takes_the_place_of_what_is_open() {
        assert_eq!(check("zone", "night"), "[rows.start]|at = \"t\"|zone = \"night\"||[rows.stage]");
        assert_eq!(
            check("zone", "Europe/Berlin"),
            "[rows.start]|at = \"t\"|zone = { const = \"Europe/Berlin\" }||[rows.stage]"
        );
        assert_eq!(check("stage", "b"), "[rows.start]|at = \"t\"|zone = \"choose one\"||[rows.stage]|at = \"b\"");
    }

    #[test]
    fn an_answer_that_fits_nothing_names_what_is_open() {
        assert_eq!(
            check("zone", "Mars"),
            "`zone=Mars` answers nothing that the sample leaves open; open are `zone=night`, `zone=Region/City`, `stage=a`, `stage=b`"
        );
    }
}
