//! A request, made ready: every path read, every level known, before the first byte is looked at.

use crate::path::{Path, Step, push_steps};
use crate::{FormatError, Request, Want};

/// Where a field is to be found.
#[derive(Clone, Debug)]
pub(super) enum Field {
    /// Below the node that stands `depth` steps down the walk.
    Inside { depth: usize, steps: Vec<Step> },
    /// The name of the nearest member that a wildcard chose, at or above that node.
    Key { depth: usize },
    /// A value of the document outside the rows, by number.
    Outside(usize),
}

/// A value that stands outside the rows and is kept while the rows are read.
#[derive(Clone, Debug)]
pub(super) struct Outside {
    /// As it was asked for.
    pub(super) text: String,
    /// Steps from the root.
    pub(super) steps: Vec<Step>,
    /// Length of the beginning, up to its last wildcard, that it shares with the way to the rows: the
    /// value holds for the rows below that part of the document.
    pub(super) scope: usize,
}

/// A request made ready.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    /// Way from the root to the elements, as it was asked for.
    pub(super) each: String,
    /// The same way in steps; these are followed while the file streams by.
    pub(super) stream: Vec<Step>,
    /// Way from there to the rows, followed in memory.
    pub(super) walk: Vec<Step>,
    pub(super) fields: Vec<Field>,
    pub(super) outside: Vec<Outside>,
}

impl Plan {
    /// Prepares a request. With `lines`, each document is one line and is held in memory whole, so
    /// that nothing is followed while streaming.
    pub(super) fn new(request: &Request, lines: bool) -> Result<Plan, FormatError> {
        let each = if request.each.is_empty() { "$" } else { &request.each };
        let path = Path::parse(each)?;
        if !path.from_root {
            return refuse(
                each,
                "the part of a JSON document that holds the rows begins with `$`, such as `$.nights[*]`",
            );
        }
        let nest = nest(request.nest.as_deref())?;
        let mut whole = path.steps.clone();
        whole.extend(nest.iter().cloned());
        let element = path.steps.len();
        let mut plan = if lines {
            Plan {
                each: each.to_owned(),
                stream: Vec::new(),
                walk: whole.clone(),
                fields: Vec::new(),
                outside: Vec::new(),
            }
        } else {
            Plan { each: each.to_owned(), stream: path.steps, walk: nest, fields: Vec::new(), outside: Vec::new() }
        };
        for want in &request.wants {
            let field = plan.field(want, &whole, element)?;
            plan.fields.push(field);
        }
        Ok(plan)
    }

    /// Steps of the whole way that are followed while streaming, and not in memory.
    fn streamed(&self) -> usize {
        self.stream.len()
    }

    fn field(&mut self, want: &Want, whole: &[Step], element: usize) -> Result<Field, FormatError> {
        if want.path.starts_with('$') {
            return self.root_field(want, whole, element);
        }
        let levels = levels(whole, element);
        let Some(depth) = levels.get(want.up) else {
            let why = format!(
                "it is {} levels above the row and there are only {}; write `$.…` for a value further up",
                want.up,
                levels.len() - 1
            );
            return Err(FormatError::Request { what: want.path.clone(), why });
        };
        let depth = depth - self.streamed();
        if want.path == "@key" {
            return Ok(Field::Key { depth });
        }
        let path = Path::parse(&want.path)?;
        if path.is_wild() {
            return refuse(&want.path, "a field is one value; use `nest` for a list of rows inside the row");
        }
        Ok(Field::Inside { depth, steps: path.steps })
    }

    fn root_field(&mut self, want: &Want, whole: &[Step], element: usize) -> Result<Field, FormatError> {
        let path = Path::parse(&want.path)?;
        if want.up > 0 {
            return refuse(&want.path, "a path from the root has no levels above it; leave out `up`");
        }
        let shared = path.steps.iter().zip(whole).take_while(|(a, b)| a == b).count();
        let (above, below) = path.steps.split_at(shared);
        if below.iter().any(Step::is_wild) {
            let mut way = "$".to_owned();
            push_steps(&mut way, whole);
            return refuse(&want.path, &format!("its wildcards must be those of the way to the rows, `{way}`"));
        }
        if shared >= element {
            return Ok(Field::Inside { depth: shared - self.streamed(), steps: below.to_vec() });
        }
        match below.first() {
            None => return refuse(&want.path, "this part holds the rows themselves"),
            Some(_) if whole[shared].is_wild() => {
                return refuse(&want.path, "it leads into one of the rows; the rows are read one at a time");
            }
            Some(_) => {}
        }
        if self.streamed() == 0 {
            return Ok(Field::Inside { depth: shared, steps: below.to_vec() });
        }
        let scope = above.iter().rposition(Step::is_wild).map_or(0, |at| at + 1);
        self.outside.push(Outside { text: want.path.clone(), steps: path.steps.clone(), scope });
        Ok(Field::Outside(self.outside.len() - 1))
    }
}

/// Returns how many steps from the root each level stands, the row first, the element last.
///
/// A level is an object on the way from the element to the row: for `days[*].blocks[*]`, the day and then
/// the element; for `a.b[*]`, `a` and then the element. Lists are no levels.
fn levels(whole: &[Step], element: usize) -> Vec<usize> {
    let above =
        (element..whole.len()).rev().filter(|d| *d == element || matches!(whole[*d], Step::Name(_) | Step::Members));
    std::iter::once(whole.len()).chain(above).collect()
}

fn nest(text: Option<&str>) -> Result<Vec<Step>, FormatError> {
    let Some(text) = text else { return Ok(Vec::new()) };
    let path = Path::parse(text)?;
    if path.from_root {
        return refuse(text, "`nest` begins inside a row, such as `blocks[*]`");
    }
    if !path.is_wild() {
        return refuse(text, "`nest` leads to a list of rows, such as `blocks[*]`");
    }
    Ok(path.steps)
}

fn refuse<T>(what: &str, why: &str) -> Result<T, FormatError> {
    Err(FormatError::Request { what: what.to_owned(), why: why.to_owned() })
}
