//! One row of a tree-shaped format, held in memory.

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
