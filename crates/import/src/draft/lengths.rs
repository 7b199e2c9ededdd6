//! The ways in which the texts of a column can be lengths of time.

use super::tables::Cell;
use super::times::{nearly_all, number};

/// One way to read a column of lengths.
#[derive(Clone, Debug)]
pub(super) struct Length {
    /// As a definition writes it.
    pub(super) read: &'static str,
    /// Seconds, one for each row.
    pub(super) seconds: Vec<Option<f64>>,
    pub(super) present: usize,
    pub(super) count: usize,
}

impl Length {
    /// What a spreadsheet itself holds as a length is read as that, and not by its text.
    pub(super) fn held(self, native: bool) -> Length {
        if native && self.read == "h:mm:ss" { Length { read: "cell", ..self } } else { self }
    }
}

/// Returns every way to read a column as lengths.
pub(super) fn lengths(cells: &[Cell], comma: bool) -> Vec<Length> {
    let texts: Vec<Option<&str>> = cells.iter().map(|c| c.text().map(str::trim)).collect();
    let units: [(&'static str, f64); 5] = [("s", 1.0), ("min", 60.0), ("ms", 0.001), ("h", 3600.0), ("days", 86_400.0)];
    let mut out: Vec<Length> =
        units.into_iter().map(|(read, unit)| length(read, &texts, |t| number(t, comma).map(|n| n * unit))).collect();
    out.push(length("h:mm:ss", &texts, |t| parts(t, &[3600.0, 60.0, 1.0], comma)));
    out.push(length("h:mm", &texts, |t| parts(t, &[3600.0, 60.0], comma)));
    out.push(length("mm:ss", &texts, |t| parts(t, &[60.0, 1.0], comma)));
    out.push(length("iso", &texts, |t| {
        t.starts_with('P').then(|| t.parse::<jiff::SignedDuration>().ok().map(|d| d.as_secs_f64()))?
    }));
    out.push(length("h m s", &texts, |t| crate::engine::worded(t, comma)));
    // A length of nothing in every row is no length.
    out.retain(|l| nearly_all(&l.seconds, l.present) && l.seconds.iter().flatten().any(|s| *s > 0.0));
    out
}

fn length(read: &'static str, texts: &[Option<&str>], by: impl Fn(&str) -> Option<f64>) -> Length {
    let seconds: Vec<Option<f64>> = texts.iter().map(|t| t.and_then(&by).filter(|s| *s >= 0.0)).collect();
    let count = seconds.iter().flatten().count();
    Length { read, seconds, present: texts.iter().flatten().count(), count }
}

fn parts(text: &str, units: &[f64], comma: bool) -> Option<f64> {
    let texts: Vec<&str> = text.split(':').collect();
    let value = |(at, text): (usize, &&str)| {
        number(text, comma).filter(|v| text.starts_with(|c: char| c.is_ascii_digit()) && (at == 0 || *v < 60.0))
    };
    let values: Vec<f64> = texts.iter().enumerate().map(value).collect::<Option<_>>()?;
    (values.len() == units.len()).then(|| values.iter().zip(units).map(|(v, u)| v * u).sum())
}

/// Returns the unit that a field's own name says, where it says exactly one.
pub(super) fn unit_in_name(name: &str) -> Option<&'static str> {
    // `everySec` and `length_ms` name their unit, `minimum` does not.
    let mut spaced = String::new();
    let mut lower_before = false;
    for c in name.chars() {
        if c.is_uppercase() && lower_before {
            spaced.push(' ');
        }
        lower_before = c.is_lowercase();
        spaced.extend(c.to_lowercase());
    }
    let lower = name.to_lowercase();
    let words = spaced.split(|c: char| !c.is_alphanumeric()).chain(lower.split(|c: char| !c.is_alphanumeric()));
    let mut found: Vec<&'static str> = words
        .filter_map(|w| match w {
            "s" | "sec" | "secs" | "second" | "seconds" => Some("s"),
            "min" | "mins" | "minute" | "minutes" => Some("min"),
            "ms" | "msec" | "millis" | "milliseconds" => Some("ms"),
            "h" | "hour" | "hours" => Some("h"),
            _ => None,
        })
        .collect();
    found.dedup();
    match found.as_slice() {
        [one] => Some(one),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str) -> String {
        lengths(&[Cell::Text(text.into())], false).iter().map(|l| l.read).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_length_is_read_in_every_way_that_it_may_be_meant() {
        assert_eq!(check("30"), "s min ms h days");
        assert_eq!(check("0:27:30"), "h:mm:ss");
        assert_eq!(check("7:05"), "h:mm mm:ss");
        assert_eq!(check("PT27M"), "iso");
        assert_eq!(check("1h 05m"), "h m s");
        assert_eq!(check("light"), "");
    }

    #[test]
    fn a_name_may_say_the_unit() {
        assert_eq!(unit_in_name("every_s"), Some("s"));
        assert_eq!(unit_in_name("Length (min)"), Some("min"));
        assert_eq!(unit_in_name("lengthMs"), Some("ms"));
        assert_eq!(unit_in_name("minimum"), None);
        assert_eq!(unit_in_name("h_or_min"), None);
    }
}
