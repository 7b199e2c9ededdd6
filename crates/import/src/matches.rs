//! Whether a file is of the kind that a definition is for.

use crate::definition::Definition;
use crate::grammar::{FormatWord, Matching, Word};
use counterpane_formats::sniff::Sniff;

/// How a file fits a definition.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Match {
    /// Every required fact holds.
    pub fits: bool,
    /// What holds, each a part of a sentence, such as ``it has `$.sleeps` ``: of several definitions that fit, the one
    /// with the most facts is the most specific.
    pub held: Vec<String>,
    /// What does not, such as ``it lacks `$.sleeps` ``.
    pub failed: Vec<String>,
}

impl Definition {
    /// Says whether a file, as its beginning looks, is of the kind that this definition is for.
    #[must_use]
    pub fn matches(&self, sniff: &Sniff) -> Match {
        let grammar = self.grammar();
        let mut facts = vec![format(&grammar.matching, sniff)];
        facts.extend(grammar.matching.has.iter().map(|name| has(name, sniff)));
        facts.extend(grammar.matching.says.iter().map(|(path, text)| says(path, text, sniff)));
        facts.extend(grammar.matching.line.iter().map(|text| line(text, sniff)));
        facts.extend(grammar.matching.root.iter().map(|name| root(name, sniff)));
        facts.extend(delimiter(self, sniff));
        facts.extend(words(self, sniff));
        facts.extend(grammar.matching.members.iter().map(|pattern| member(pattern, sniff)));
        let (held, failed): (Vec<Fact>, Vec<Fact>) = facts.into_iter().partition(|(holds, _)| *holds);
        let words = |facts: Vec<Fact>| facts.into_iter().map(|(_, says)| says).collect();
        Match { fits: failed.is_empty(), held: words(held), failed: words(failed) }
    }
}

type Fact = (bool, String);

fn format(matching: &Matching, sniff: &Sniff) -> Fact {
    let word = FormatWord::WORDS.iter().find(|(_, f)| *f == matching.format).map_or("", |(word, _)| word);
    let format = matching.format.format();
    // Nearly every file could be plain text: that alone says nothing unless it is the likeliest.
    let holds = match matching.format {
        FormatWord::Text => sniff.formats.first() == Some(&format),
        _ => sniff.formats.contains(&format),
    };
    match holds {
        true => (true, format!("it looks like {word}")),
        false => (false, format!("it does not look like {word}: it is {}", sniff.sentence)),
    }
}

fn has(name: &str, sniff: &Sniff) -> Fact {
    match sniff.has(name) {
        true => (true, format!("it has `{name}`")),
        false => (false, format!("it lacks `{name}`")),
    }
}

fn says(path: &str, text: &str, sniff: &Sniff) -> Fact {
    match sniff.says(path, text) {
        true => (true, format!("`{path}` says `{text}`")),
        false if sniff.has(path) => (false, format!("`{path}` does not say `{text}` at the beginning of the file")),
        false => (false, format!("it lacks `{path}`, which should say `{text}`")),
    }
}

/// An archive has a member, if one fits; `*` stays within one folder.
fn member(pattern: &str, sniff: &Sniff) -> Fact {
    match sniff.members.iter().any(|name| fits_pattern(pattern, name)) {
        true => (true, format!("it has a member `{pattern}`")),
        false => (false, format!("it has no member `{pattern}`")),
    }
}

/// Says whether a name fits a pattern, part by part between slashes; `*` stands for any text within a part.
#[must_use]
pub fn fits_pattern(pattern: &str, name: &str) -> bool {
    let (pattern, name): (Vec<&str>, Vec<&str>) = (pattern.split('/').collect(), name.split('/').collect());
    pattern.len() == name.len() && pattern.iter().zip(name).all(|(p, n)| part_fits(p, n))
}

/// Says whether a name is its pattern, in which every `*` stands for any text.
fn part_fits(pattern: &str, name: &str) -> bool {
    let Some((front, rest)) = pattern.split_once('*') else { return pattern == name };
    let Some(name) = name.strip_prefix(front) else { return false };
    name.char_indices().map(|(at, _)| at).chain([name.len()]).any(|at| part_fits(rest, &name[at..]))
}

fn line(text: &str, sniff: &Sniff) -> Fact {
    match sniff.lines.iter().any(|l| l.contains(text)) {
        true => (true, format!("a line holds `{text}`")),
        false => (false, format!("no line at the beginning holds `{text}`")),
    }
}

fn root(name: &str, sniff: &Sniff) -> Fact {
    match sniff.root.as_deref() == Some(name) {
        true => (true, format!("its root element is `{name}`")),
        false => (false, format!("its root element is not `{name}`")),
    }
}

/// A table of several columns is split at the declared character or not read at all.
fn delimiter(definition: &Definition, sniff: &Sniff) -> Option<Fact> {
    let grammar = definition.grammar();
    if grammar.matching.format != FormatWord::Csv || grammar.matching.has.len() < 2 {
        return None;
    }
    let mark = grammar.text.as_ref().and_then(|t| t.delimiter).unwrap_or(',');
    let name = if mark == '\t' { "tabs".to_owned() } else { format!("`{mark}`") };
    Some(match sniff.delimiters.contains(&mark) {
        true => (true, format!("its fields are separated by {name}")),
        false => (false, format!("its fields are not separated by {name}")),
    })
}

/// A list of codes has no name in it; that its lines are the words of `[stages]` is what tells it.
fn words(definition: &Definition, sniff: &Sniff) -> Option<Fact> {
    let grammar = definition.grammar();
    if grammar.matching.format != FormatWord::Text {
        return None;
    }
    let lines: Vec<&str> = sniff.lines.iter().map(|l| l.trim()).filter(|l| !l.is_empty()).collect();
    let known = lines.iter().filter(|l| grammar.stages.contains_key(**l)).count();
    let message = format!("{known} of its first {} lines are words of [stages]", lines.len());
    Some((!lines.is_empty() && known * 2 >= lines.len(), message))
}
