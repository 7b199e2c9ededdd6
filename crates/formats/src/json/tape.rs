//! One value of JSON as a flat list of tokens over its own text.
//!
//! A row is looked at, and mostly let go, without one allocation: names and texts stay in the file's
//! own bytes, and a tree of [`Node`] is made only of a list or object that somebody asks for.

use super::scan::{Out, Word};
use crate::Node;
use crate::path::Step;
use std::borrow::Cow;

/// Kind of a token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Null,
    True,
    False,
    Number,
    /// A text or a name without escapes.
    Plain,
    /// A text or a name with escapes.
    Escaped,
    List,
    /// Names and values take turns in it.
    Map,
}

/// A token: where it stands in the text, and which token comes after all that it holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Token {
    pub(super) kind: Kind,
    start: u32,
    end: u32,
    next: u32,
}

/// Tokens of one value; the first one is the value itself.
#[derive(Default, Debug)]
pub(super) struct Tape {
    tokens: Vec<Token>,
    open: Vec<u32>,
}

/// Rows longer than this cannot be pointed into; the limit of a row is far lower by default.
pub(super) const LONGEST: usize = u32::MAX as usize;

impl Tape {
    pub(super) fn clear(&mut self) {
        self.tokens.clear();
        self.open.clear();
    }

    fn push(&mut self, kind: Kind, start: usize, end: usize) {
        let next = self.tokens.len() as u32 + 1;
        self.tokens.push(Token { kind, start: start as u32, end: end as u32, next });
    }

    pub(super) fn kind(&self, at: usize) -> Kind {
        self.tokens.get(at).map_or(Kind::Null, |t| t.kind)
    }

    /// Returns the token's own text: of a text without quotes, of a list or object with brackets.
    pub(super) fn raw<'t>(&self, at: usize, text: &'t str) -> &'t str {
        self.tokens.get(at).and_then(|t| text.get(t.start as usize..t.end as usize)).unwrap_or("")
    }

    /// Returns a text or name as it is meant.
    pub(super) fn text<'t>(&self, at: usize, text: &'t str) -> Cow<'t, str> {
        let raw = self.raw(at, text);
        if self.kind(at) == Kind::Escaped { Cow::Owned(unescape(raw)) } else { Cow::Borrowed(raw) }
    }

    /// Returns the items of a list, or the values of an object with the token of their name.
    pub(super) fn children(&self, at: usize) -> Children<'_> {
        let kind = self.kind(at);
        let holds = matches!(kind, Kind::List | Kind::Map);
        let end = if holds { self.tokens[at].next as usize } else { at };
        Children { tape: self, at: at + 1, end, named: kind == Kind::Map }
    }

    /// Follows steps without wildcards.
    pub(super) fn follow(&self, from: usize, steps: &[Step], text: &str) -> Option<usize> {
        let mut at = from;
        for step in steps {
            at = self.step(at, step, text)?;
        }
        Some(at)
    }

    pub(super) fn step(&self, at: usize, step: &Step, text: &str) -> Option<usize> {
        match (step, self.kind(at)) {
            (Step::Name(name), Kind::Map) => {
                self.children(at).find(|c| c.name.is_some_and(|n| self.is_name(n, name, text))).map(|c| c.value)
            }
            (Step::Index(index), Kind::List) => self.children(at).nth(*index).map(|c| c.value),
            _ => None,
        }
    }

    fn is_name(&self, at: usize, name: &str, text: &str) -> bool {
        match self.kind(at) {
            Kind::Plain => self.raw(at, text) == name,
            _ => self.text(at, text) == name,
        }
    }

    /// Returns the token of a name that stands twice in one object.
    pub(super) fn doubled(&self, text: &str) -> Option<(usize, usize)> {
        let mut names = Vec::new();
        for at in 0..self.tokens.len() {
            if self.tokens[at].kind != Kind::Map {
                continue;
            }
            names.clear();
            names.extend(self.children(at).filter_map(|c| c.name));
            if let Some(name) = self.doubled_of(&mut names, text) {
                return Some((at, name));
            }
        }
        None
    }

    fn doubled_of(&self, names: &mut [usize], text: &str) -> Option<usize> {
        let plain = names.iter().all(|n| self.tokens[*n].kind == Kind::Plain);
        if plain && names.len() <= 16 {
            let twice = |n: usize| names[..n].iter().any(|m| self.raw(*m, text) == self.raw(names[n], text));
            return (1..names.len()).find(|n| twice(*n)).map(|n| names[n]);
        }
        names.sort_by(|a, b| self.text(*a, text).cmp(&self.text(*b, text)));
        names.windows(2).find(|w| self.text(w[0], text) == self.text(w[1], text)).map(|w| w[0].max(w[1]))
    }

    /// Returns the steps from the first token to another one, as a normalized path.
    pub(super) fn push_path(&self, to: usize, text: &str, out: &mut String) {
        let mut at = 0;
        while at != to {
            let inside = |c: &(usize, Child)| c.1.value <= to && to < self.tokens[c.1.value].next as usize;
            let Some((index, child)) = self.children(at).enumerate().find(inside) else { return };
            match child.name {
                Some(name) => crate::path::push_name(out, &self.text(name, text)),
                None => crate::path::push_index(out, index as u64),
            }
            at = child.value;
        }
    }

    /// Returns where a token begins in the text.
    pub(super) fn start(&self, at: usize) -> usize {
        self.tokens.get(at).map_or(0, |t| t.start as usize)
    }

    /// Returns the value as a tree.
    pub(super) fn node(&self, at: usize, text: &str) -> Node {
        match self.kind(at) {
            Kind::Null => Node::Null,
            Kind::True => Node::Bool(true),
            Kind::False => Node::Bool(false),
            Kind::Number => Node::Number(self.raw(at, text).to_owned()),
            Kind::Plain | Kind::Escaped => Node::Text(self.text(at, text).into_owned()),
            Kind::List => Node::List(self.children(at).map(|c| self.node(c.value, text)).collect()),
            Kind::Map => Node::Map(
                self.children(at)
                    .map(|c| {
                        (c.name.map_or(String::new(), |n| self.text(n, text).into_owned()), self.node(c.value, text))
                    })
                    .collect(),
            ),
        }
    }
}

impl Out for Tape {
    fn open(&mut self, list: bool, at: usize) {
        self.open.push(self.tokens.len() as u32);
        self.push(if list { Kind::List } else { Kind::Map }, at, at);
    }
    fn close(&mut self, end: usize) {
        let next = self.tokens.len() as u32;
        if let Some(token) = self.open.pop().and_then(|at| self.tokens.get_mut(at as usize)) {
            token.end = end as u32;
            token.next = next;
        }
    }
    fn text(&mut self, start: usize, end: usize, escaped: bool) {
        self.push(if escaped { Kind::Escaped } else { Kind::Plain }, start, end);
    }
    fn number(&mut self, start: usize, end: usize) {
        self.push(Kind::Number, start, end);
    }
    fn word(&mut self, word: Word, start: usize, end: usize) {
        let kind = match word {
            Word::Null => Kind::Null,
            Word::True => Kind::True,
            Word::False => Kind::False,
        };
        self.push(kind, start, end);
    }
}

/// A value inside a list or object.
#[derive(Clone, Copy, Debug)]
pub(super) struct Child {
    /// Token of its name, in an object.
    pub(super) name: Option<usize>,
    /// Its own token.
    pub(super) value: usize,
}

/// The values inside a list or object, in order.
pub(super) struct Children<'t> {
    tape: &'t Tape,
    at: usize,
    end: usize,
    named: bool,
}

impl Iterator for Children<'_> {
    type Item = Child;

    #[inline]
    fn next(&mut self) -> Option<Child> {
        if self.at >= self.end {
            return None;
        }
        let (name, value) = if self.named { (Some(self.at), self.at + 1) } else { (None, self.at) };
        self.at = self.tape.tokens.get(value)?.next as usize;
        Some(Child { name, value })
    }
}

/// Returns a text whose escapes the scanner has checked, as it is meant.
pub(super) fn unescape(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    let mut rest = raw;
    while let Some(at) = rest.find('\\') {
        out.push_str(&rest[..at]);
        let (c, len) = escape(&rest[at..]);
        out.push(c);
        rest = rest.get(at + len..).unwrap_or("");
    }
    out.push_str(rest);
    out
}

fn escape(text: &str) -> (char, usize) {
    let hex = |at: usize| text.get(at..at + 4).and_then(|d| u32::from_str_radix(d, 16).ok()).unwrap_or(0xFFFD);
    match text.as_bytes().get(1) {
        Some(b'n') => ('\n', 2),
        Some(b't') => ('\t', 2),
        Some(b'r') => ('\r', 2),
        Some(b'b') => ('\u{8}', 2),
        Some(b'f') => ('\u{c}', 2),
        Some(b'u') => match hex(2) {
            high @ 0xD800..=0xDBFF => {
                let code = 0x10000 + ((high - 0xD800) << 10) + (hex(8).wrapping_sub(0xDC00) & 0x3FF);
                (char::from_u32(code).unwrap_or('\u{fffd}'), 12)
            }
            code => (char::from_u32(code).unwrap_or('\u{fffd}'), 6),
        },
        Some(other) => (*other as char, 2),
        None => ('\\', 1),
    }
}

#[cfg(test)]
mod tests {
    use super::super::scan::Scanner;
    use super::*;
    use proptest::prelude::*;

    fn tape(text: &str) -> Tape {
        let mut tape = Tape::default();
        let mut scanner = Scanner::new(text.as_bytes(), 120);
        scanner.pin();
        assert!(scanner.value(&mut tape).is_ok(), "{text}");
        tape
    }

    #[test]
    fn a_name_that_stands_twice_is_found_however_it_is_written() {
        let check = |text: &str| tape(text).doubled(text).map(|(_, n)| tape(text).raw(n, text).to_owned());
        assert_eq!(check(r#"{"a":1,"b":{"a":2}}"#), None);
        assert_eq!(check(r#"[{"a":1,"b":2,"a":3}]"#).as_deref(), Some("a"));
        assert_eq!(check(r#"{"a":1,"\u0061":3}"#).as_deref(), Some(r"\u0061"));
        let many: Vec<_> = (0..30).map(|n| format!("\"k{}\":0", n % 29)).collect();
        assert_eq!(check(&format!("{{{}}}", many.join(","))).as_deref(), Some("k0"));
    }

    #[test]
    fn a_path_leads_to_a_token_and_back() {
        let text = r#"{"a":[{"odd name":[1,2]}],"b":3}"#;
        let tape = tape(text);
        let steps = crate::path::Path::parse("a[0][\"odd name\"][1]").unwrap().steps;
        let at = tape.follow(0, &steps, text).unwrap();
        assert_eq!(tape.raw(at, text), "2");
        let mut path = "$".to_owned();
        tape.push_path(at, text, &mut path);
        assert_eq!(path, "$.a[0]['odd name'][1]");
    }

    proptest! {
        #[test]
        fn a_text_reads_back(text: String) {
            let written = serde_json::to_string(&text).unwrap();
            prop_assert_eq!(tape(&written).node(0, &written), Node::Text(text));
        }

        #[test]
        fn every_character_can_be_escaped(c: char) {
            let mut units = [0; 2];
            let written: String = c.encode_utf16(&mut units).iter().map(|u| format!("\\u{u:04X}")).collect();
            let written = format!("\"{written}\"");
            prop_assert_eq!(tape(&written).node(0, &written), Node::Text(c.to_string()));
        }
    }
}
