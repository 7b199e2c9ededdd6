//! What the figures of a page have in common is written once: looks as classes, patterns, descriptions and equal
//! marks by reference.
//!
//! Every figure is drawn as if it stood alone, and a report of many devices repeats the same looks thousands of
//! times. Here the figures of a finished page are gone through; what is seen and what is read aloud stays as it was.
//!
//! **Invariant.** Only what [`crate::draw::Canvas`] wrote is read: an element begins on a line of its own, values
//! stand in double quotes, and texts are escaped, so no name of a device can look like a mark.

use std::collections::HashMap;
use std::fmt::Write as _;

/// Attributes that say how a mark looks and not where it is; each is a property of CSS too.
const LOOKS: [&str; 9] = [
    "fill",
    "fill-opacity",
    "font-family",
    "font-size",
    "font-weight",
    "stroke",
    "stroke-dasharray",
    "stroke-width",
    "text-anchor",
];

/// A mark that is shorter is not worth a reference.
const WORTH: usize = 40;

/// Returns the page with its figures shortened; the rules of their classes stand at the end of its style, and their
/// patterns at the beginning of its body.
pub(crate) fn once(page: &str) -> String {
    let mut said = Said::default();
    let mut parts: Vec<(&str, Vec<String>)> = Vec::new();
    let mut rest = page;
    while let Some((from, until)) = figure(rest) {
        parts.push((&rest[..from], said.figure(&rest[from..until])));
        rest = &rest[until..];
    }
    let mut out = String::with_capacity(page.len());
    let mut marks = Marks::of(&parts);
    for (before, lines) in &parts {
        out.push_str(before);
        for (i, line) in lines.iter().enumerate() {
            out.push_str(if i > 0 { "\n" } else { "" });
            marks.write(line, &mut out);
        }
    }
    out.push_str(rest);
    out.replacen("</style>", &format!("{}</style>", said.rules), 1).replacen(
        "<body>",
        &format!("<body>\n{}", said.patterns()),
        1,
    )
}

/// Returns where the next figure begins and ends.
fn figure(text: &str) -> Option<(usize, usize)> {
    let from = text.find("<svg ")?;
    let end = "</svg>";
    Some((from, from + text[from..].find(end)? + end.len()))
}

/// What was said before, by what it says.
#[derive(Default)]
struct Said {
    classes: HashMap<String, usize>,
    rules: String,
    /// Pattern without its name, and its number.
    patterns: HashMap<String, usize>,
    all_patterns: String,
    /// Number of the pattern of a name that one figure uses.
    names: HashMap<String, usize>,
    /// Name of the element that holds a description.
    descriptions: HashMap<String, String>,
}

impl Said {
    /// Returns the lines of a figure, without what was said before.
    fn figure(&mut self, svg: &str) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for line in svg.lines() {
            if let Some(pattern) = line.strip_prefix("<pattern id=\"") {
                self.pattern(pattern);
            } else if let Some(described) = line.strip_prefix("<desc id=\"").and_then(|d| self.described(d)) {
                if let (Some(first), (own, same)) = (lines.first_mut(), described) {
                    *first = first.replace(&format!(" {own}\""), &format!(" {same}\""));
                }
            } else if line != "<defs>" && line != "</defs>" {
                let worn = self.worn(line);
                lines.push(worn);
            }
        }
        lines
    }

    fn pattern(&mut self, pattern: &str) {
        let Some((name, look)) = pattern.split_once('"') else { return };
        let next = self.patterns.len() + 1;
        let number = *self.patterns.entry(look.to_owned()).or_insert_with(|| {
            let _ = writeln!(self.all_patterns, "<pattern id=\"p{next}\"{look}");
            next
        });
        self.names.insert(name.to_owned(), number);
    }

    /// Returns the name of a description and of the earlier one that says the same.
    fn described(&mut self, description: &str) -> Option<(String, String)> {
        let (own, text) = description.split_once('"')?;
        if let Some(same) = self.descriptions.get(text) {
            return Some((own.to_owned(), same.clone()));
        }
        self.descriptions.insert(text.to_owned(), own.to_owned());
        None
    }

    /// A picture of no size, and not hidden: a pattern in what is hidden is not drawn anywhere.
    fn patterns(&self) -> String {
        let all = &self.all_patterns;
        if all.is_empty() {
            return String::new();
        }
        format!("<svg width=\"0\" height=\"0\" class=\"patterns\" aria-hidden=\"true\"><defs>\n{all}</defs></svg>")
    }

    /// Returns a line whose marks wear classes.
    fn worn(&mut self, line: &str) -> String {
        let mut out = String::with_capacity(line.len());
        let mut rest = line;
        while let Some((before, tag, after)) = next_tag(rest) {
            out.push_str(before);
            self.tag(tag, &mut out);
            rest = after;
        }
        out.push_str(rest);
        out
    }

    /// Writes the inside of a start tag, its looks as a class.
    fn tag(&mut self, tag: &str, out: &mut String) {
        let (name, mut rest) = tag.split_once(' ').unwrap_or((tag, ""));
        out.push_str(name);
        let mut look = String::new();
        while let Some((key, value, after)) = attribute(rest) {
            if LOOKS.contains(&key) {
                let unit = if key == "font-size" { "px" } else { "" };
                let _ = write!(look, "{key}:{}{unit};", self.paint(value));
            } else {
                let _ = write!(out, " {key}=\"{value}\"");
            }
            rest = after;
        }
        if !look.is_empty() {
            let _ = write!(out, " class=\"q{}\"", self.class(look.trim_end_matches(';')));
        }
        out.push_str(rest);
    }

    fn paint(&self, value: &str) -> String {
        let name = value.strip_prefix("url(#").and_then(|v| v.strip_suffix(')'));
        name.and_then(|n| self.names.get(n)).map_or_else(|| value.to_owned(), |n| format!("url(#p{n})"))
    }

    fn class(&mut self, look: &str) -> usize {
        let next = self.classes.len() + 1;
        *self.classes.entry(look.to_owned()).or_insert_with(|| {
            let _ = writeln!(self.rules, ".q{next}{{{look}}}");
            next
        })
    }
}

/// Returns what stands before the next start tag, the tag's inside, and what begins with its `>`.
fn next_tag(text: &str) -> Option<(&str, &str, &str)> {
    let from = text.match_indices('<').map(|(i, _)| i + 1).find(|i| !text[*i..].starts_with('/'))?;
    let until = from + text[from..].find('>')?;
    Some((&text[..from], &text[from..until], &text[until..]))
}

/// Returns name and value of the first attribute, and what comes after it.
fn attribute(text: &str) -> Option<(&str, &str, &str)> {
    let (key, rest) = text.split_once("=\"")?;
    let (value, after) = rest.split_once('"')?;
    Some((key.trim_start(), value, after))
}

/// Marks that stand on the page more than once; the first one stays where it is and gets a name.
struct Marks<'a> {
    counts: HashMap<&'a str, usize>,
    names: HashMap<&'a str, usize>,
}

impl<'a> Marks<'a> {
    fn of(parts: &'a [(&str, Vec<String>)]) -> Marks<'a> {
        let mut counts = HashMap::new();
        for line in parts.iter().flat_map(|(_, lines)| lines).filter(|l| is_worth(l)) {
            *counts.entry(line.as_str()).or_insert(0) += 1;
        }
        counts.retain(|_, n| *n > 1);
        Marks { counts, names: HashMap::new() }
    }

    fn write(&mut self, line: &'a str, out: &mut String) {
        if !self.counts.contains_key(line) {
            out.push_str(line);
        } else if let Some(name) = self.names.get(line) {
            let _ = write!(out, "<use href=\"#u{name}\"/>");
        } else {
            let name = self.names.len() + 1;
            self.names.insert(line, name);
            let (tag, rest) = line.split_once(' ').unwrap_or((line, ""));
            let _ = write!(out, "{tag} id=\"u{name}\" {rest}");
        }
    }
}

/// A mark, or a group of marks in one line, that says nothing of its own to those who cannot see it.
fn is_worth(line: &str) -> bool {
    let whole = (line.starts_with("<g ") && line.ends_with("</g>"))
        || ((line.starts_with("<path ") || line.starts_with("<rect ")) && line.ends_with("/>"));
    line.len() >= WORTH && whole && !line.contains("<title") && !line.contains(" id=\"")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(inside: &str, said: &str) {
        let page = format!("<style></style>\n<body>{inside}</body>");
        assert_eq!(once(&page), said);
    }

    #[test]
    fn a_look_is_a_class_and_the_same_look_the_same_class() {
        check(
            "<svg id=\"a\">\n<path d=\"M0 0\" fill=\"none\"/>\n<text x=\"1\" font-size=\"10\">a</text><rect fill=\"none\"/>\n</svg>",
            "<style>.q1{fill:none}\n.q2{font-size:10px}\n</style>\n<body>\n<svg id=\"a\">\n\
             <path d=\"M0 0\" class=\"q1\"/>\n<text x=\"1\" class=\"q2\">a</text><rect class=\"q1\"/>\n</svg></body>",
        );
    }

    #[test]
    fn patterns_that_are_alike_are_one() {
        let figure = |id: &str| {
            format!(
                "<svg id=\"{id}\">\n<defs>\n<pattern id=\"{id}-n\" width=\"4\"></pattern>\n</defs>\n<g fill=\"url(#{id}-n)\"></g>\n</svg>"
            )
        };
        check(
            &format!("{}{}", figure("a"), figure("b")),
            "<style>.q1{fill:url(#p1)}\n</style>\n<body>\n<svg width=\"0\" height=\"0\" class=\"patterns\" aria-hidden=\"true\"><defs>\n\
             <pattern id=\"p1\" width=\"4\"></pattern>\n</defs></svg><svg id=\"a\">\n<g class=\"q1\"></g>\n</svg>\
             <svg id=\"b\">\n<g class=\"q1\"></g>\n</svg></body>",
        );
    }

    #[test]
    fn a_long_mark_that_comes_again_is_a_reference_and_a_short_one_is_not() {
        let long = "<path d=\"M60 137h55v40h-55zM119 137h55v40h-55z\"/>";
        check(
            &format!("<svg id=\"a\">\n{long}\n<path d=\"M0 0\"/>\n{long}\n<path d=\"M0 0\"/>\n</svg>"),
            "<style></style>\n<body>\n<svg id=\"a\">\n<path id=\"u1\" d=\"M60 137h55v40h-55zM119 137h55v40h-55z\"/>\n\
             <path d=\"M0 0\"/>\n<use href=\"#u1\"/>\n<path d=\"M0 0\"/>\n</svg></body>",
        );
    }

    #[test]
    fn a_description_that_was_given_is_pointed_to() {
        let figure =
            |id: &str| format!("<svg aria-labelledby=\"{id}-t {id}-d\">\n<desc id=\"{id}-d\">W 3 min</desc>\n</svg>");
        check(
            &format!("{}{}", figure("w"), figure("n")),
            "<style></style>\n<body>\n<svg aria-labelledby=\"w-t w-d\">\n<desc id=\"w-d\">W 3 min</desc>\n</svg>\
             <svg aria-labelledby=\"n-t w-d\">\n</svg></body>",
        );
    }

    #[test]
    fn what_a_name_says_is_no_mark() {
        check(
            "<svg id=\"a\">\n<text x=\"1\" fill=\"a\">&lt;g fill=&quot;x&quot;&gt; fill=</text>\n</svg>",
            "<style>.q1{fill:a}\n</style>\n<body>\n<svg id=\"a\">\n<text x=\"1\" class=\"q1\">&lt;g fill=&quot;x&quot;&gt; fill=</text>\n</svg></body>",
        );
    }
}
