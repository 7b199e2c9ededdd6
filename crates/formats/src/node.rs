//! One row of a tree-shaped format, held in memory.

use crate::path::{Path, Step};
use std::fmt;

/// A value of JSON, or of another tree-shaped format, in the order of the source.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// Nothing.
    Null,
    /// True or false.
    Bool(bool),
    /// A number, as text that reads back to the same number.
    Number(String),
    /// A text.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// Named values in the order of the source; a name that stands twice is refused by the reader.
    Map(Vec<(String, Node)>),
}

impl Node {
    /// Returns the value at a path such as `a.b[0]`, or `None` when there is none, when the path has
    /// a wildcard or when it is not a path ([`Path::parse`] says why).
    ///
    /// ```
    /// use counterpane_formats::Node;
    /// let row = Node::Map(vec![("codes".into(), Node::List(vec![Node::Text("w".into())]))]);
    /// assert_eq!(row.get("codes[0]"), Some(&Node::Text("w".into())));
    /// ```
    #[must_use]
    pub fn get(&self, path: &str) -> Option<&Node> {
        self.follow(&Path::parse(path).ok()?.steps)
    }

    /// Returns the value that steps without wildcards lead to.
    #[must_use]
    pub fn follow(&self, steps: &[Step]) -> Option<&Node> {
        steps.iter().try_fold(self, |node, step| match (node, step) {
            (Node::Map(members), Step::Name(name)) => members.iter().find(|(n, _)| n == name).map(|(_, v)| v),
            (Node::List(items), Step::Index(index)) => items.get(*index),
            _ => None,
        })
    }

    /// Returns the JSON text on one line, of at most 200 characters, with an ellipsis when cut.
    #[must_use]
    pub fn line(&self) -> String {
        crate::shorten::line(&self.to_string())
    }
}

impl fmt::Display for Node {
    /// Writes JSON on one line, without blanks.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Node::Null => f.write_str("null"),
            Node::Bool(value) => write!(f, "{value}"),
            Node::Number(text) => f.write_str(text),
            Node::Text(text) => quote(text, f),
            Node::List(items) => {
                f.write_str("[")?;
                for (n, item) in items.iter().enumerate() {
                    write!(f, "{}{item}", if n > 0 { "," } else { "" })?;
                }
                f.write_str("]")
            }
            Node::Map(members) => {
                f.write_str("{")?;
                for (n, (name, value)) in members.iter().enumerate() {
                    f.write_str(if n > 0 { "," } else { "" })?;
                    quote(name, f)?;
                    write!(f, ":{value}")?;
                }
                f.write_str("}")
            }
        }
    }
}

fn quote(text: &str, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    f.write_str(&serde_json::to_string(text).map_err(|_| fmt::Error)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn night() -> Node {
        let codes = Node::List(vec![Node::Number("1.50".into()), Node::Null, Node::Bool(true)]);
        Node::Map(vec![("odd \"name\"".into(), codes), ("b".into(), Node::Text("ä\n".into()))])
    }

    #[test]
    fn a_node_reads_as_json_with_its_numbers_as_written() {
        assert_eq!(night().to_string(), r#"{"odd \"name\"":[1.50,null,true],"b":"ä\n"}"#);
    }

    #[test]
    fn a_path_leads_to_a_value_or_to_nothing() {
        assert_eq!(night().get("[\"odd \\\"name\\\"\"][2]"), Some(&Node::Bool(true)));
        assert_eq!(night().get("b"), Some(&Node::Text("ä\n".into())));
        assert_eq!(night().get("@"), Some(&night()));
        assert_eq!(night().get("b.c"), None);
        assert_eq!(night().get("a[?]"), None);
    }

    #[test]
    fn a_long_node_is_cut() {
        let line = Node::List(vec![night(); 30]).line();
        assert_eq!((line.chars().count(), line.ends_with('…')), (200, true));
    }
}
