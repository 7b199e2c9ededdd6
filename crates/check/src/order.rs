//! The order of findings: severity, recording, place.

use counterpane_model::Finding;
use std::cmp::Ordering;

/// Sorts findings: errors first, then by recording, then by place as a person counts, so that
/// `$.pieces[9]` comes before `$.pieces[10]`; what is equal keeps its order.
pub(crate) fn sort(findings: &mut [Finding]) {
    findings.sort_by(|a, b| {
        let place = |f: &Finding| f.place.as_ref().map(|p| (p.file.clone(), p.locator.to_string()));
        a.severity.cmp(&b.severity).then_with(|| a.recording.cmp(&b.recording)).then_with(|| {
            match (place(a), place(b)) {
                (Some((file_a, at_a)), Some((file_b, at_b))) => {
                    file_a.cmp(&file_b).then_with(|| as_counted(&at_a, &at_b))
                }
                (a, b) => a.is_some().cmp(&b.is_some()),
            }
        })
    });
}

/// Compares two texts by character, but runs of digits by their number.
fn as_counted(a: &str, b: &str) -> Ordering {
    let (mut a, mut b) = (a, b);
    loop {
        let (digits_a, digits_b) = (leading_digits(a), leading_digits(b));
        if digits_a.is_empty() || digits_b.is_empty() {
            match (a.chars().next(), b.chars().next()) {
                (Some(x), Some(y)) if x == y => (a, b) = (&a[x.len_utf8()..], &b[y.len_utf8()..]),
                (x, y) => return x.cmp(&y),
            }
        } else {
            let number = |digits: &str| digits.trim_start_matches('0').to_owned();
            let (x, y) = (number(digits_a), number(digits_b));
            // Not parsed: a number of any length is compared.
            match x.len().cmp(&y.len()).then_with(|| x.cmp(&y)) {
                Ordering::Equal => (a, b) = (&a[digits_a.len()..], &b[digits_b.len()..]),
                other => return other,
            }
        }
    }
}

fn leading_digits(text: &str) -> &str {
    &text[..text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len())]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(words: &str) -> String {
        let mut words: Vec<&str> = words.split(' ').collect();
        words.sort_by(|a, b| as_counted(a, b));
        words.join(" ")
    }

    #[test]
    fn places_are_ordered_as_a_person_counts() {
        assert_eq!(check("$.x[10] $.x[9] $.x[9].to"), "$.x[9] $.x[9].to $.x[10]");
        assert_eq!(check("line:10 line:2 line:02 line"), "line line:2 line:02 line:10");
        assert_eq!(check("é 2 10 99999999999999999999999 b"), "2 10 99999999999999999999999 b é");
    }
}
