//! Limits of the readers: as usual, as study.toml says, or as the command line says.

use anyhow::{Context as _, bail};
use counterpane_formats::limits::LimitFacts;
use counterpane_formats::{FormatError, Limits, limits::LIMITS};
use counterpane_import::ImportError;
use counterpane_store::Study;
use counterpane_store::config::LimitConfig;
use std::collections::BTreeMap;

/// Returns the limits that hold for an import: what the command line says goes above what study.toml says.
///
/// # Errors
/// A limit does not exist, or cannot have that value.
pub(super) fn limits_for(study: &Study, said: &[String]) -> anyhow::Result<Limits> {
    let mut limits = Limits::default();
    for (name, value) in &study.config().limits {
        let here = || "[limits] of study.toml".to_owned();
        let value = match value {
            LimitConfig::Number(n) => *n,
            LimitConfig::Text(text) => number(text).with_context(here)?,
        };
        limits.set(name, value).with_context(here)?;
    }
    for text in said {
        let here = || format!("--limit {text}");
        let Some((name, value)) = text.split_once('=') else {
            bail!("--limit {text}: write NAME=VALUE, such as --limit rows=2000000")
        };
        limits.set(name.trim(), number(value).with_context(here)?).with_context(here)?;
    }
    Ok(limits)
}

/// Returns the limits that are not as usual: what a decision keeps.
pub(super) fn changed(limits: &Limits) -> BTreeMap<String, u64> {
    let usual = Limits::default();
    let is_changed = |f: &&LimitFacts| f.value(limits) != f.value(&usual);
    LIMITS.iter().filter(is_changed).map(|f| (f.name.to_owned(), f.value(limits))).collect()
}

/// Returns the limits that an earlier import had.
pub(super) fn kept(changed: &BTreeMap<String, u64>) -> anyhow::Result<Limits> {
    let mut limits = Limits::default();
    for (name, value) in changed {
        limits.set(name, *value)?;
    }
    Ok(limits)
}

/// Adds to an error over a limit how to raise it.
pub(crate) fn explained(error: anyhow::Error) -> anyhow::Error {
    let of = |cause: &(dyn std::error::Error + 'static)| match cause.downcast_ref::<ImportError>() {
        Some(error) => error.limit(),
        None => cause.downcast_ref::<FormatError>().and_then(FormatError::limit),
    };
    match error.chain().find_map(of) {
        Some((name, value)) => anyhow::anyhow!("{}{}", crate::output::chain(&error), how_to_raise(name, value)),
        None => error,
    }
}

/// Says how a limit is raised, behind a sentence that names it.
pub(crate) fn how_to_raise(name: &str, value: u64) -> String {
    match LimitFacts::of(name) {
        Some(facts) if value >= facts.most => {
            format!("; `{name}` cannot be raised further: what goes beyond it is not read")
        }
        Some(facts) => {
            let double = value.saturating_mul(2).min(facts.most);
            format!(
                "\nif the file is as it should be, raise the limit: --limit {name}={}, or in study.toml under [limits]",
                if facts.is_bytes { size_text(double) } else { double.to_string() }
            )
        }
        None => String::new(),
    }
}

/// Units of sizes, largest first.
const UNITS: [(&str, u64); 3] = [("GiB", 1 << 30), ("MiB", 1 << 20), ("KiB", 1 << 10)];

/// Returns a number of bytes with the largest unit that is exact.
pub(crate) fn size_text(bytes: u64) -> String {
    match UNITS.iter().find(|(_, size)| bytes >= *size && bytes.is_multiple_of(*size)) {
        Some((unit, size)) => format!("{}{unit}", bytes / size),
        None => bytes.to_string(),
    }
}

/// Reads `2000000`, `2_000_000` or `128 MiB`.
fn number(text: &str) -> anyhow::Result<u64> {
    let text = text.trim();
    let unit = UNITS.iter().find(|(unit, _)| text.ends_with(unit));
    let (digits, size) = unit.map_or((text, 1), |(unit, size)| (text.trim_end_matches(unit), *size));
    let value = digits.trim().replace('_', "").parse::<u64>().ok().and_then(|n| n.checked_mul(size));
    value.with_context(|| format!("`{text}` is no whole number; write 2000000, or a size such as 128MiB"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_sizes_are_read() {
        let read = |text: &str| number(text).map_err(|e| e.to_string());
        assert_eq!(read("2_000"), Ok(2000));
        assert_eq!(read(" 3 MiB"), Ok(3 << 20));
        assert_eq!(size_text(3 << 20), "3MiB");
        assert_eq!(size_text(1500), "1500");
        assert!(read("-1").is_err() && read("1.5GiB").is_err() && read("99999999999GiB").is_err());
    }

    #[test]
    fn an_error_over_a_limit_says_how_to_raise_it() {
        let error = FormatError::Limit { what: "row 6".into(), name: "rows", limit: 5 };
        let said = explained(ImportError::from(error).into()).to_string();
        assert_eq!(
            said,
            "row 6 is more than the limit of 5 (rows)\nif the file is as it should be, raise the limit: --limit rows=10, or in study.toml under [limits]"
        );
        assert!(how_to_raise("depth", 120).contains("cannot be raised"));
    }
}
