//! Which definition fits a file, and what to say when none does, or several do.

use crate::definitions;
use crate::importing::how_to_raise;
use crate::wording::{and, count};
use anyhow::{Context as _, bail};
use counterpane_formats::Sniff;
use counterpane_import::{Definition, Match};
use std::fmt::Write as _;
use std::path::Path;

/// The definition that fits a file best.
#[derive(Debug)]
pub(crate) struct Recognised {
    /// The definition.
    pub(crate) definition: Definition,
    /// The facts that hold, each a part of a sentence.
    pub(crate) facts: Vec<String>,
    /// Ids of other definitions that fit with fewer facts.
    pub(crate) others: Vec<String>,
}

/// Returns the definition that fits a file best: the one with the most facts that hold.
///
/// # Errors
/// None fits, or several fit equally well: the message says what the file looks like, which come nearest, and what to do.
pub(crate) fn recognised(study: &Path, path: &Path, look: &Sniff) -> anyhow::Result<Recognised> {
    let mut all: Vec<(Match, Definition)> = Vec::new();
    for text in definitions::all(Some(study))?.values() {
        let definition = text.parse().with_context(|| {
            format!("the definition `{}` has a mistake: mend it, or name another one with --definition", text.id)
        })?;
        all.push((definition.matches(look), definition));
    }
    let (mut fitting, near): (Vec<_>, Vec<_>) = all.into_iter().partition(|(m, _)| m.fits);
    let most = fitting.iter().map(|(m, _)| m.held.len()).max().unwrap_or(0);
    let (mut best, others): (Vec<_>, Vec<_>) = fitting.drain(..).partition(|(m, _)| m.held.len() == most);
    match best.len() {
        0 => bail!("{}", nothing_fits(path, look, near)),
        1 => {
            let (found, definition) = best.remove(0);
            let others = others.into_iter().map(|(_, d)| d.id().to_owned()).collect();
            Ok(Recognised { definition, facts: found.held, others })
        }
        _ => bail!("{}", several_fit(&best)),
    }
}

/// Definitions that are named when none fits.
const NEAREST: usize = 3;

fn nothing_fits(path: &Path, look: &Sniff, mut near: Vec<(Match, Definition)>) -> String {
    let limit = look.limit.map(|(name, value)| how_to_raise(name, value)).unwrap_or_default();
    let mut out = format!("no definition fits: the file looks like {}{limit}", look.sentence);
    // One of another format is not near, and neither is one that has only the format in common.
    let of_format = |m: &Match| m.held.iter().any(|fact| fact.starts_with("it looks like"));
    near.retain(|(m, _)| of_format(m) && (m.held.len() > 1 || m.failed.len() == 1));
    near.sort_by_key(|(m, d)| (m.failed.len(), std::cmp::Reverse(m.held.len()), d.id().to_owned()));
    for (found, definition) in near.iter().take(NEAREST) {
        let facts = found.held.len() + found.failed.len();
        let _ = write!(
            out,
            "\n  near: `{}`, {} of {}, but {}",
            definition.id(),
            found.held.len(),
            count(facts as u64, "fact"),
            failed(&found.failed)
        );
    }
    if look.formats.is_empty() {
        return out;
    }
    let _ = write!(
        out,
        "\nnext: let a definition be proposed from it, with\n$ counterpane definition draft {}\nor name one with --definition (`counterpane definition list`)",
        typed(path)
    );
    out
}

/// Returns what does not hold as one part of a sentence; what is lacking is named in a row.
fn failed(facts: &[String]) -> String {
    let mut out: Vec<String> = Vec::new();
    for fact in facts {
        let lacks = fact.strip_prefix("it lacks ").filter(|_| out.last().is_some_and(|l| l.starts_with("it lacks ")));
        match (lacks, out.last_mut()) {
            (Some(name), Some(last)) => {
                last.push_str(", ");
                last.push_str(name);
            }
            _ => out.push(fact.clone()),
        }
    }
    and(&out)
}

fn several_fit(best: &[(Match, Definition)]) -> String {
    let ids: Vec<&str> = best.iter().map(|(_, d)| d.id()).collect();
    let mut out = format!("the definitions {} fit equally well", and(&ids));
    for (found, definition) in best {
        let _ = write!(out, "\n  `{}`: {}", definition.id(), and(&found.held));
    }
    let first = ids.first().copied().unwrap_or_default();
    let _ = write!(
        out,
        "\nnext: name one with --definition {first}, or for always with definition = \"{first}\" at the device in study.toml"
    );
    out
}

/// Returns a path as it is typed in a shell.
fn typed(path: &Path) -> String {
    let text = path.display().to_string();
    let plain = |c: char| c.is_alphanumeric() || "/._-+=:@%,".contains(c);
    if text.chars().all(plain) { text } else { format!("'{}'", text.replace('\'', "'\\''")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_with_blanks_is_quoted() {
        assert_eq!(typed(Path::new("in/a.csv")), "in/a.csv");
        assert_eq!(typed(Path::new("my night's.csv")), "'my night'\\''s.csv'");
    }
}
