//! Files beside the file that is read, where several describe it together.

use crate::bindings::Companion;
use crate::outcome::ImportError;
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Where something stands, and its bytes.
pub(crate) type Placed<'c> = (String, Cow<'c, [u8]>);

/// Returns the bytes that answer to a name, with where they stand; `None` when no file does.
///
/// Where several files do, they are laid over each other: what the nearer one says at its top hides what the farther one
/// says there (inheritance principle, Brain Imaging Data Structure: bids-specification.readthedocs.io).
///
/// # Errors
/// One of several is not a JSON object.
pub(crate) fn of<'c>(wanted: &str, companions: &'c [Companion]) -> Result<Option<Placed<'c>>, ImportError> {
    let last = |path: &str| path.rsplit(['/', '\\']).next().unwrap_or_default().to_owned();
    let found: Vec<&Companion> = companions.iter().filter(|c| last(&c.name) == last(wanted)).collect();
    match found.as_slice() {
        [] => Ok(None),
        [one] => Ok(Some((one.place.clone(), Cow::Borrowed(&one.bytes)))),
        several => {
            let places: Vec<&str> = several.iter().map(|c| c.place.as_str()).collect();
            Ok(Some((places.join(" over "), Cow::Owned(laid_over(several)?))))
        }
    }
}

fn laid_over(nearest_first: &[&Companion]) -> Result<Vec<u8>, ImportError> {
    let mut top: BTreeMap<String, Box<RawValue>> = BTreeMap::new();
    for companion in nearest_first.iter().rev() {
        let text = companion.bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&companion.bytes);
        let said: BTreeMap<String, Box<RawValue>> =
            serde_json::from_slice(text).map_err(|problem| refused(companion, &problem))?;
        top.extend(said);
    }
    serde_json::to_vec(&top).map_err(|problem| match nearest_first.first() {
        Some(companion) => refused(companion, &problem),
        None => ImportError::Later { what: "a description without a file".into() },
    })
}

fn refused(companion: &Companion, problem: &serde_json::Error) -> ImportError {
    ImportError::Description { place: companion.place.clone(), problem: problem.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(texts: &[&str]) -> String {
        let companion = |(n, text): (usize, &&str)| Companion {
            name: "a.json".into(),
            place: format!("{n}.json"),
            bytes: text.as_bytes().to_vec(),
        };
        let all: Vec<Companion> = texts.iter().enumerate().map(companion).collect();
        match of("dir/a.json", &all) {
            Ok(None) => "nothing".into(),
            Ok(Some((place, bytes))) => format!("{place}: {}", String::from_utf8_lossy(&bytes)),
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn the_nearer_file_hides_what_the_farther_one_says_at_its_top() {
        assert_eq!(check(&[]), "nothing");
        assert_eq!(check(&["{\"a\": 1}"]), "0.json: {\"a\": 1}");
        assert_eq!(
            check(&["{\"a\":{\"x\":1}}", "{\"a\":{\"y\":2},\"b\":3}"]),
            "0.json over 1.json: {\"a\":{\"x\":1},\"b\":3}"
        );
    }

    #[test]
    fn what_is_no_object_is_named() {
        let said = check(&["{}", "[1]"]);
        assert!(said.starts_with("1.json, which describes the file, is no JSON object: invalid type"), "{said}");
    }
}
