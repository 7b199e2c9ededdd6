//! The language of filters: jq, with the functions that are listed here and no others.

use super::TEXT;
use jaq_core::load::{Arena, Error, File, Loader, lex};
use jaq_core::{Compiler, data};
use jaq_json::Val;
use std::ops::Range;

/// Data of a run: the functions, and no inputs but the row.
pub(super) type Data = data::JustLut<Val>;

/// A filter that can be run.
pub(super) type Compiled = jaq_core::Filter<Data>;

/// Native functions of the standard library. Left out on purpose: the clock, the environment, further inputs, files,
/// messages, and conversions of time, which belong to the definition.
const NATIVE: &[&str] = &[
    "ascii_downcase",
    "ascii_upcase",
    "bsearch",
    "ceil",
    "contains",
    "endswith",
    "explode",
    "floor",
    "fromjson",
    "group_by",
    "has",
    "implode",
    "indices",
    "key_values",
    "keys_unsorted",
    "length",
    "ltrim",
    "ltrimstr",
    "matches",
    "max_by_or_empty",
    "min_by_or_empty",
    "reverse",
    "round",
    "rtrim",
    "rtrimstr",
    "sort",
    "sort_by",
    "split_",
    "split_matches",
    "startswith",
    "tojson",
    "trim",
    "utf8bytelength",
];

/// Functions that the libraries write in the language itself.
const DEFINED: &[&str] = &[
    "@json",
    "@text",
    "abs",
    "add",
    "arrays",
    "booleans",
    "capture",
    "capture_of_match",
    "flatten",
    "gsub",
    "in",
    "index",
    "infinite",
    "inside",
    "isarray",
    "isboolean",
    "isfinite",
    "isinfinite",
    "isnan",
    "isnormal",
    "isnumber",
    "isobject",
    "isstring",
    "iterables",
    "keys",
    "match",
    "max",
    "max_by",
    "min",
    "min_by",
    "nan",
    "null",
    "nulls",
    "numbers",
    "objects",
    "pick",
    "rindex",
    "scalars",
    "scan",
    "scan_",
    "split",
    "splits",
    "strings",
    "sub",
    "test",
    "toboolean",
    "tonumber",
    "totype",
    "transpose",
    "type",
    "unique",
    "unique_by",
    "values",
];

/// What is wrong with a filter's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Wrong {
    /// One sentence without a full stop.
    pub(crate) message: String,
    /// Bytes of the text that it speaks of, where they are known.
    pub(crate) span: Option<Range<usize>>,
    /// What to do next.
    pub(crate) help: String,
}

/// Bytes of stack for reading a filter: a text of 4096 bytes cannot nest deeper than this holds.
const STACK: usize = 256 << 20;

/// Reads a filter's text without running it.
pub(crate) fn check(text: &str) -> Result<(), Wrong> {
    let own = text.to_owned();
    let reader = std::thread::Builder::new().stack_size(STACK).spawn(move || compile(&own).map(|_| ()));
    let unread = || wrong("the filter cannot be read".into(), None);
    reader.map_err(|_| unread())?.join().unwrap_or_else(|_| Err(unread()))
}

/// Reads a filter's text.
pub(super) fn compile(text: &str) -> Result<Compiled, Wrong> {
    if text.len() > TEXT {
        return Err(wrong(format!("the filter has {} bytes; at most {TEXT} are read", text.len()), None));
    }
    let defs = jaq_std::defs().chain(jaq_json::defs()).filter(|d| DEFINED.contains(&d.name));
    let funs = jaq_std::funs().chain(jaq_json::funs()).filter(|(name, ..)| NATIVE.contains(name));
    let arena = Arena::default();
    let loader = Loader::new(jaq_core::defs().chain(defs));
    let modules = loader.load(&arena, File { code: text, path: () }).map_err(|errors| unread(text, errors))?;
    let compiler = Compiler::default().with_funs(jaq_core::funs().chain(funs));
    compiler.compile(modules).map_err(|errors| {
        let first = errors.into_iter().flat_map(|(_, errors)| errors).next();
        let Some((name, what)) = first else { return wrong("the filter cannot be read".into(), None) };
        let what = if what.as_str() == "filter" { "function" } else { what.as_str() };
        wrong(format!("`{name}` is not a {what} that filters have"), span_of(text, name))
    })
}

fn unread(text: &str, errors: jaq_core::load::Errors<&str, ()>) -> Wrong {
    let cannot = || wrong("the filter cannot be read".into(), None);
    match errors.into_iter().next().map(|(_, error)| error) {
        Some(Error::Io(_)) => wrong("a filter cannot take in another file".into(), None),
        Some(Error::Lex(errors)) => errors.into_iter().next().map_or_else(cannot, |(expected, found)| {
            let (message, part) = match expected {
                lex::Expect::Delim(open) => {
                    (format!("the filter ends before `{}` is closed", first_token(open)), first_token(open))
                }
                other => (format!("the filter cannot be read here: {} expected", other.as_str()), first_token(found)),
            };
            wrong(message, span_of(text, part))
        }),
        Some(Error::Parse(errors)) => errors.into_iter().next().map_or_else(cannot, |(expected, found)| {
            let message = format!("the filter cannot be read here: {} expected", expected.as_str());
            wrong(message, span_of(text, found))
        }),
        None => cannot(),
    }
}

/// Returns the first character of what could not be read.
fn first_token(found: &str) -> &str {
    found.chars().next().map_or(found, |c| &found[..c.len_utf8()])
}

/// Returns where a part of the text stands; the end of the text for an empty part.
fn span_of(text: &str, part: &str) -> Option<Range<usize>> {
    if part.is_empty() {
        return Some(text.len()..text.len());
    }
    let start =
        (part.as_ptr() as usize).checked_sub(text.as_ptr() as usize).filter(|at| at + part.len() <= text.len())?;
    Some(start..start + part.len())
}

fn wrong(message: String, span: Option<Range<usize>>) -> Wrong {
    let help = "a filter is written in the language of jq, without clock, environment, files and further inputs; see docs/definitions.md";
    Wrong { message, span, help: help.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn says(text: &str) -> String {
        match check(text) {
            Ok(()) => "sound".into(),
            Err(wrong) => format!("{} {:?}", wrong.message, wrong.span.map(|s| &text[s])),
        }
    }

    #[test]
    fn the_language_is_there() {
        let sound = r#"(.a | split("-") | map(tonumber)) as [$h, $m] | {at: "\($h):\($m)", b: [.b[] | select(.k == "x") | .v] | add} | if .b then . else empty end"#;
        assert_eq!(says(sound), "sound");
        assert_eq!(says(r#".a | test("^[a-z]+$"), (capture("(?<n>[0-9]+)") | .n), sub("a"; "b")"#), "sound");
        assert_eq!(says("to_entries | from_entries | with_entries(.) | keys | unique | flatten | min | max"), "sound");
    }

    #[test]
    fn what_reaches_outside_is_not_there() {
        for name in
            ["env", "now", "input", "inputs", "localtime", "halt", "debug", "stderr", "input_filename", "mktime"]
        {
            assert_eq!(says(name), format!("`{name}` is not a function that filters have Some({name:?})"));
        }
        assert_eq!(says("$ENV.HOME"), "`$ENV` is not a variable that filters have Some(\"$ENV\")");
        assert_eq!(says("include \"x\"; ."), "a filter cannot take in another file None");
    }

    #[test]
    fn a_slip_is_found_where_it_is() {
        assert_eq!(says(".a | (.b"), "the filter ends before `(` is closed Some(\"(\")");
        assert_eq!(says(".a |"), "the filter cannot be read here: term expected Some(\"\")");
        assert_eq!(says(".a & .b"), "the filter cannot be read here: token expected Some(\"&\")");
        assert!(says(&"[".repeat(4096)).starts_with("the filter ends before"));
        assert!(says(&"-".repeat(4096)).starts_with("the filter cannot be read here"));
        assert!(says(&".".repeat(9999)).starts_with("the filter has 9999 bytes"));
    }
}
