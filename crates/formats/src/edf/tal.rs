//! Time-stamped annotation lists (TALs) of one record of one annotation signal.
//!
//! A TAL is `onset [0x15 duration] 0x14 text 0x14 … 0x14 0x00`, the onset always signed; unused bytes at the
//! end are zero (EDF+ specification, 2.2.2).

/// One annotation, as it stands in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Annotation<'a> {
    /// With its sign.
    pub(super) onset: &'a str,
    pub(super) duration: Option<&'a str>,
    pub(super) text: &'a str,
    pub(super) channel: Option<&'a str>,
}

/// What stands in a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Found<'a> {
    Annotation(Annotation<'a>),
    /// An annotation or a whole list that cannot be read.
    Unreadable {
        onset: String,
        line: String,
        problem: String,
    },
}

/// Reads the annotations of one record, in order.
pub(super) fn read(bytes: &[u8]) -> Vec<Found<'_>> {
    let mut out = Vec::new();
    let mut rest = bytes;
    loop {
        let zeros = rest.iter().take_while(|b| **b == 0).count();
        rest = &rest[zeros..];
        if rest.is_empty() {
            return out;
        }
        let end = rest.iter().position(|b| *b == 0).unwrap_or(rest.len());
        list(&rest[..end], &mut out);
        rest = &rest[end..];
    }
}

fn list<'a>(list: &'a [u8], out: &mut Vec<Found<'a>>) {
    let mut parts = list.split(|b| *b == 0x14);
    let stamp = parts.next().unwrap_or_default();
    let (onset, duration) = match stamp.iter().position(|b| *b == 0x15) {
        Some(at) => (&stamp[..at], Some(&stamp[at + 1..])),
        None => (stamp, None),
    };
    let Some(onset) = seconds(onset, true) else {
        let problem = "an annotation begins with its onset in seconds and a sign, such as `+30`".to_owned();
        return out.push(Found::Unreadable { onset: "+0".to_owned(), line: shown(list), problem });
    };
    let unreadable =
        |problem: &str| Found::Unreadable { onset: onset.to_owned(), line: shown(list), problem: problem.to_owned() };
    let duration = match duration.map(|d| seconds(d, false)) {
        Some(None) => return out.push(unreadable("its duration is not a number of seconds")),
        Some(some) => some,
        None => None,
    };
    let texts: Vec<_> = parts.collect();
    // Every text ends with 0x14, so that the last part is empty when the list is whole.
    let Some((last, texts)) = texts.split_last() else {
        return out.push(unreadable("it has no text, and breaks off after its onset"));
    };
    for text in texts {
        match std::str::from_utf8(text) {
            // An empty text without a length only keeps time.
            Ok("") if duration.is_none() => {}
            Ok(text) => out.push(Found::Annotation(annotation(onset, duration, text))),
            Err(_) => out.push(unreadable("its text is not UTF-8, as EDF+ demands")),
        }
    }
    if !last.is_empty() {
        out.push(unreadable("its text breaks off at the end of the record"));
    }
}

fn annotation<'a>(onset: &'a str, duration: Option<&'a str>, text: &'a str) -> Annotation<'a> {
    match text.rsplit_once("@@") {
        Some((text, channel)) => Annotation { onset, duration, text, channel: Some(channel) },
        None => Annotation { onset, duration, text, channel: None },
    }
}

/// Returns digits with at most one point between them, after a sign where there must be one.
fn seconds(bytes: &[u8], signed: bool) -> Option<&str> {
    let digits = match bytes {
        [b'+' | b'-', digits @ ..] if signed => digits,
        digits if !signed => digits,
        _ => return None,
    };
    let (whole, fraction) = match digits.iter().position(|b| *b == b'.') {
        Some(at) => (&digits[..at], Some(&digits[at + 1..])),
        None => (digits, None),
    };
    let ok = |part: &[u8]| !part.is_empty() && part.iter().all(u8::is_ascii_digit);
    (ok(whole) && fraction.is_none_or(ok)).then(|| std::str::from_utf8(bytes).ok()).flatten()
}

/// Returns a list with its marks made visible: blanks for 0x14 and 0x15.
fn shown(list: &[u8]) -> String {
    let text = String::from_utf8_lossy(&list[..list.len().min(400)]);
    text.replace(['\u{14}', '\u{15}'], " ").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(bytes: &[u8]) -> Vec<String> {
        let show = |found: Found<'_>| match found {
            Found::Annotation(Annotation { onset, duration, text, channel }) => {
                format!("{onset} for {} `{text}` on {}", duration.unwrap_or("-"), channel.unwrap_or("-"))
            }
            Found::Unreadable { onset, line, problem } => format!("{onset} `{line}`: {problem}"),
        };
        read(bytes).into_iter().map(show).collect()
    }

    #[test]
    fn a_list_gives_an_annotation_for_each_text() {
        assert_eq!(
            check(b"+0\x14\x14\0+30.5\x1530\x14Sleep stage 2\x14\0-5\x14a\x14b@@EEG C4-A1\x14\0\0\0"),
            ["+30.5 for 30 `Sleep stage 2` on -", "-5 for - `a` on -", "-5 for - `b` on EEG C4-A1"]
        );
    }

    #[test]
    fn a_timekeeping_list_may_carry_texts() {
        assert_eq!(check(b"+0\x14\x14Recording starts\x14\0"), ["+0 for - `Recording starts` on -"]);
        assert_eq!(check(b"+567\x14\x14\0\0\0"), [""; 0]);
    }

    #[test]
    fn what_breaks_the_rules_is_told() {
        assert_eq!(
            check(b"30\x14a\x14\0"),
            ["+0 `30 a`: an annotation begins with its onset in seconds and a sign, such as `+30`"]
        );
        assert_eq!(check(b"+3\x15x\x14a\x14\0"), ["+3 `+3 x a`: its duration is not a number of seconds"]);
        assert_eq!(check(b"+3\x14\xe4\x14\0"), ["+3 `+3 \u{fffd}`: its text is not UTF-8, as EDF+ demands"]);
        assert_eq!(
            check(b"+3\x14a\x14Sleep st"),
            ["+3 for - `a` on -", "+3 `+3 a Sleep st`: its text breaks off at the end of the record"]
        );
        assert_eq!(check(b"+3"), ["+3 `+3`: it has no text, and breaks off after its onset"]);
    }

    proptest! {
        #[test]
        fn no_bytes_make_it_panic(bytes in proptest::collection::vec(prop_oneof![Just(0), Just(0x14), Just(0x15), Just(b'+'), Just(b'1'), any::<u8>()], 0..60)) {
            let _ = read(&bytes);
        }
    }
}
