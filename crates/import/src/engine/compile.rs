//! A block with its paths turned into numbers of wanted fields.

use super::joins::{JoinKey, Joined, There};
use super::layered::Slot;
use crate::grammar::claims::UnitRule;
use crate::grammar::origin::{Bound, Edge, FileFact, Missing};
use crate::grammar::rows::{CodesOrigin, Means, Otherwise};
use crate::grammar::{
    ClaimValue, FoldRule, FormatWord, LengthRead, LengthValue, OffsetRule, Order, Origin, Rows, Shape, TimeRead,
    TimeValue, ZoneRule,
};
use crate::outcome::ImportError;
use counterpane_formats::{Path, Request, Want};
use counterpane_model::{Quantity, Zone};

/// A field of the row, or of the item inside the row.
pub(super) enum Field {
    /// A wanted field of the reader.
    Want(usize),
    /// A path inside the item (shape `keyed`).
    Item(Path),
}

/// Where a value comes from.
pub(super) enum Source {
    Fields(Vec<Field>),
    Key,
    Text(String),
    Bound(Bound),
    /// The file's name, or the part of it where the pattern has its `*`.
    FileName(Option<String>),
    FileStart,
    Join(Box<Joined>),
}

/// A time.
pub(super) struct Time {
    pub(super) source: Source,
    pub(super) read: Vec<TimeRead>,
    pub(super) trust: bool,
    pub(super) zone: Option<ZoneSource>,
    pub(super) fold: FoldRule,
    pub(super) from: Option<Box<Time>>,
    /// Where the source names the unit of a count.
    pub(super) unit: Option<Source>,
}

/// Where the zone of a wall time comes from.
pub(super) enum ZoneSource {
    Night,
    Named(Zone),
    Field(Source),
}

/// A length of time.
pub(super) struct Length {
    pub(super) source: Source,
    pub(super) read: LengthUnit,
}

/// How a length is written.
pub(super) enum LengthUnit {
    Is(LengthRead),
    /// A number whose unit the source names.
    Of(Source),
}

/// A rule that keeps some rows.
pub(super) struct Keep {
    pub(super) source: Source,
    pub(super) test: Test,
    pub(super) rule: String,
    /// A row that does not pass is an error.
    pub(super) error: bool,
}

/// What a field must be.
pub(super) enum Test {
    In(Vec<String>),
    There(bool),
}

/// The night that a row names.
pub(super) struct Night {
    pub(super) source: Source,
    pub(super) means: Means,
    pub(super) pattern: String,
}

/// Codes of a row.
pub(super) struct Codes {
    pub(super) source: CodesSource,
    pub(super) split: Option<String>,
}

/// Where codes stand.
pub(super) enum CodesSource {
    Value(Source),
    Columns(Vec<usize>),
}

/// A claim.
pub(super) enum Claim {
    Total { source: Source, unit: TotalUnit, rounding: f64 },
    Time { time: Time, rounding: f64 },
    Edge { edge: Edge, rounding: f64 },
}

/// The unit of a total.
pub(super) enum TotalUnit {
    Is(crate::grammar::claims::Unit),
    Of(Source),
}

/// A block, ready to be obeyed.
pub(super) struct Block {
    pub(super) shape: Shape,
    pub(super) layer: i32,
    pub(super) order: Order,
    pub(super) keep: Vec<Keep>,
    pub(super) night: Option<Night>,
    pub(super) start: Option<Time>,
    pub(super) end: Option<Time>,
    pub(super) length: Option<Length>,
    pub(super) stage: Option<Source>,
    pub(super) codes: Option<Codes>,
    pub(super) epoch: Option<Length>,
    pub(super) note: Option<Source>,
    pub(super) lists: Option<usize>,
    pub(super) claims: Vec<(Quantity, Claim)>,
    /// The field that names the total of a row, and the name of each of `claims`.
    pub(super) names: Option<(Source, Vec<String>)>,
    /// Any two of `start`, `end` and `length` make the third.
    pub(super) any_two: bool,
    /// JSON inside a cell.
    pub(super) cell: Option<Cell>,
    pub(super) filter: Option<Filter>,
}

/// JSON inside a cell of the row.
pub(super) struct Cell {
    /// The column.
    pub(super) want: usize,
    /// What is asked of the JSON.
    pub(super) request: Request,
    /// The fields of the rows inside: of the JSON, or of the row that has the cell.
    pub(super) slots: Vec<Slot<usize>>,
}

/// A filter over the row.
pub(super) struct Filter {
    pub(super) text: String,
    /// What the filter sees: names and wanted fields; one field without a name is the whole row.
    pub(super) sees: Vec<(Option<String>, usize)>,
    /// The fields of what it gives, or of what stands above the row.
    pub(super) slots: Vec<Slot<Path>>,
}

/// Compiles a block; its fields are added to the wants of `request`, its joins to `joins`.
///
/// `columns` are those of the table, where they had to be looked up for a filter that sees the whole row.
pub(super) fn compile(
    rows: &Rows,
    format: FormatWord,
    request: &mut Request,
    joins: &mut Vec<JoinKey>,
    columns: &[String],
) -> Result<Block, ImportError> {
    let keyed = rows.shape == Shape::Keyed;
    let mut c = Compiler {
        wants: &mut request.wants,
        keyed,
        cell: None,
        filter: None,
        filtering: false,
        joins,
        format,
        levels: 0,
    };
    if let Some(column) = &rows.cell {
        let want = c.of_row(|c| c.want(0, column));
        c.levels = rows.nest.as_deref().map_or(0, |nest| nest.matches("[*]").count().max(1));
        let inside =
            Request { each: "$".into(), nest: rows.nest.clone(), limits: request.limits, ..Request::default() };
        c.cell = Some(Cell { want, request: inside, slots: Vec::new() });
    }
    // A condition speaks of the row as the source has it, never of the items inside it or of what a filter makes.
    let keep = c.of_row(|c| rows.keep.iter().map(|k| c.keep(k)).collect::<Result<_, _>>())?;
    if let Some(filter) = &rows.filter {
        let sees = c.of_row(|c| c.sees(filter, columns));
        c.filter = Some(Filter { text: filter.jq.clone(), sees, slots: Vec::new() });
        c.filtering = true;
    }
    let block = Block {
        shape: rows.shape,
        layer: rows.layer,
        order: rows.order,
        any_two: rows.any_two(),
        keep,
        night: c.of_row(|c| rows.night.as_ref().map(|n| c.night(n)).transpose())?,
        lists: c.of_row(|c| rows.lists.as_ref().map(|l| c.one_field(l)).transpose())?,
        start: rows.start.as_ref().map(|t| c.time(t)).transpose()?,
        end: rows.end.as_ref().map(|t| c.time(t)).transpose()?,
        length: rows.length.as_ref().map(|l| c.length(l)).transpose()?,
        stage: rows.stage.as_ref().map(|o| c.source(o)).transpose()?,
        codes: rows.codes.as_ref().map(|k| c.codes(k)).transpose()?,
        epoch: rows.epoch.as_ref().map(|l| c.length(l)).transpose()?,
        note: rows.note.as_ref().map(|o| c.source(o)).transpose()?,
        claims: rows
            .claims
            .iter()
            .filter_map(|(q, v)| Some((q.parse().ok()?, v)))
            .map(|(q, v)| c.claim(q, v))
            .collect::<Result<_, _>>()?,
        names: c.names(rows)?,
        cell: None,
        filter: None,
    };
    let (cell, filter) = (c.cell.take(), c.filter.take());
    Ok(Block { cell, filter, ..block })
}

struct Compiler<'w> {
    wants: &'w mut Vec<Want>,
    keyed: bool,
    cell: Option<Cell>,
    filter: Option<Filter>,
    /// Fields are those of what the filter gives.
    filtering: bool,
    joins: &'w mut Vec<JoinKey>,
    format: FormatWord,
    /// Levels of the JSON inside a cell; above them stands the row that has the cell.
    levels: usize,
}

impl Compiler<'_> {
    fn of_row<T>(&mut self, read: impl FnOnce(&mut Self) -> T) -> T {
        let keyed = std::mem::replace(&mut self.keyed, false);
        let out = read(self);
        self.keyed = keyed;
        out
    }

    /// Returns the number of a field of the rows that the shapes see.
    fn want(&mut self, up: usize, path: &str) -> usize {
        if !self.filtering {
            return self.under(up, path);
        }
        let slot = match up {
            0 => Slot::Inner(Path::parse(path).unwrap_or_default()),
            up => Slot::Outer(self.under(up, path)),
        };
        self.filter.as_mut().map_or(0, |f| place(&mut f.slots, slot))
    }

    /// Returns the number of a field of the rows that a filter sees.
    fn under(&mut self, up: usize, path: &str) -> usize {
        let levels = self.levels;
        let Some(cell) = &mut self.cell else {
            return place(self.wants, Want { up, path: path.to_owned() });
        };
        let slot = if up > levels {
            Slot::Outer(place(self.wants, Want { up: up - levels - 1, path: path.to_owned() }))
        } else {
            Slot::Inner(place(&mut cell.request.wants, Want { up, path: path.to_owned() }))
        };
        place(&mut cell.slots, slot)
    }

    /// Returns what a filter sees of a row.
    fn sees(&mut self, filter: &crate::grammar::Filter, columns: &[String]) -> Vec<(Option<String>, usize)> {
        if !filter.take.is_empty() {
            return filter.take.iter().map(|path| (Some(path.clone()), self.want(0, path))).collect();
        }
        match self.format {
            _ if self.cell.is_some() => vec![(None, self.want(0, "@"))],
            FormatWord::Json | FormatWord::Jsonl => vec![(None, self.want(0, "@"))],
            FormatWord::Csv | FormatWord::Sheet => {
                let twice = |n: usize| columns[..n].contains(&columns[n]);
                let name = |n: usize| if twice(n) { format!("{} #{}", columns[n], n + 1) } else { columns[n].clone() };
                (0..columns.len()).map(|n| (Some(name(n)), self.want(0, &format!("#{}", n + 1)))).collect()
            }
            FormatWord::Edf => ["onset", "duration", "text", "channel", "record"]
                .map(|field| (Some(field.to_owned()), self.want(0, field)))
                .into(),
            FormatWord::Text => vec![(Some("line".into()), self.want(0, "line"))],
            FormatWord::Xml | FormatWord::Zip => Vec::new(),
        }
    }

    fn field(&mut self, up: usize, path: &str) -> Field {
        match (self.keyed, up) {
            (true, 0) => Field::Item(Path::parse(path).unwrap_or_default()),
            (true, up) => Field::Want(self.want(up - 1, path)),
            (false, up) => Field::Want(self.want(up, path)),
        }
    }

    fn source(&mut self, origin: &Origin) -> Result<Source, ImportError> {
        Ok(match origin {
            Origin::At { at, up } => Source::Fields(at.0.iter().map(|path| self.field(*up, path)).collect()),
            Origin::Key { .. } => Source::Key,
            Origin::Const { text } => Source::Text(text.clone()),
            Origin::Bound { bound } => Source::Bound(*bound),
            Origin::File { file: FileFact::Name, pattern } => Source::FileName(pattern.clone()),
            Origin::File { file: FileFact::Start, .. } => Source::FileStart,
            Origin::Join { join, each, on, at, missing, .. } => {
                let there = match &on[1] {
                    Origin::File { pattern, .. } => There::Name(pattern.clone()),
                    Origin::At { at, .. } => There::Field(at.0.first().cloned().unwrap_or_default()),
                    _ => return Err(ImportError::Later { what: "this key of a join".into() }),
                };
                let key = JoinKey { part: join.clone(), each: each.clone(), there, at: at.clone() };
                let here = self.source(&on[0])?;
                let own = *missing == Some(Missing::Own);
                Source::Join(Box::new(Joined { here, table: place(self.joins, key), own }))
            }
            // The parser lets it stand in claims only, which are read by their own way.
            Origin::Row { .. } => return Err(ImportError::Later { what: "an edge of the row outside claims".into() }),
        })
    }

    fn one_field(&mut self, origin: &Origin) -> Result<usize, ImportError> {
        match self.source(origin)? {
            Source::Fields(fields) => match fields.as_slice() {
                [Field::Want(want)] => Ok(*want),
                _ => Err(ImportError::Later { what: "`lists` from several fields".into() }),
            },
            _ => Err(ImportError::Later { what: "`lists` from anything but `at`".into() }),
        }
    }

    fn time(&mut self, time: &TimeValue) -> Result<Time, ImportError> {
        let zone = match &time.zone {
            None => None,
            Some(ZoneRule::Night) => Some(ZoneSource::Night),
            Some(ZoneRule::Of(Origin::Const { text })) => Zone::named(text).ok().map(ZoneSource::Named),
            Some(ZoneRule::Of(origin)) => Some(ZoneSource::Field(self.source(origin)?)),
        };
        Ok(Time {
            source: self.source(&time.origin)?,
            read: time.read.clone(),
            trust: time.offset == Some(OffsetRule::Trust),
            zone,
            fold: time.fold.unwrap_or(FoldRule::Error),
            from: time.from.as_deref().map(|f| self.time(f)).transpose()?.map(Box::new),
            unit: time.unit.as_ref().map(|o| self.source(o)).transpose()?,
        })
    }

    fn length(&mut self, length: &LengthValue) -> Result<Length, ImportError> {
        let source = self.source(&length.origin)?;
        let read = match (length.read, &length.unit) {
            (Some(read), _) => LengthUnit::Is(read),
            (None, Some(unit)) => LengthUnit::Of(self.source(unit)?),
            (None, None) => LengthUnit::Is(LengthRead::Seconds),
        };
        Ok(Length { source, read })
    }

    fn keep(&mut self, keep: &crate::grammar::Keep) -> Result<Keep, ImportError> {
        let name = name_of(&keep.origin);
        let (test, rule) = match (&keep.texts, keep.there) {
            (Some(texts), _) => {
                let all = texts.iter().map(|t| format!("`{t}`")).collect::<Vec<_>>().join(", ");
                (Test::In(texts.clone()), format!("keep: {name} is not {all}"))
            }
            (None, Some(false)) => (Test::There(false), format!("keep: {name} is there")),
            (None, _) => (Test::There(true), format!("keep: {name} is not there")),
        };
        Ok(Keep { source: self.source(&keep.origin)?, test, rule, error: keep.otherwise == Some(Otherwise::Error) })
    }

    fn night(&mut self, night: &crate::grammar::Night) -> Result<Night, ImportError> {
        let pattern = night.read.clone().unwrap_or_else(|| "%Y-%m-%d".into());
        Ok(Night { source: self.source(&night.origin)?, means: night.means, pattern })
    }

    fn codes(&mut self, codes: &crate::grammar::Codes) -> Result<Codes, ImportError> {
        let number = |t: &str| t.trim_start_matches('#').parse().unwrap_or(0);
        let source = match &codes.origin {
            CodesOrigin::Value(origin) => CodesSource::Value(self.source(origin)?),
            CodesOrigin::Columns { first, last } => {
                let columns: std::ops::RangeInclusive<usize> = number(first)..=number(last);
                CodesSource::Columns(columns.map(|n| self.want(0, &format!("#{n}"))).collect())
            }
        };
        Ok(Codes { source, split: codes.split.clone() })
    }

    fn names(&mut self, rows: &Rows) -> Result<Option<(Source, Vec<String>)>, ImportError> {
        let Some(name) = &rows.name else { return Ok(None) };
        let known = rows.claims.iter().filter(|(q, _)| q.parse::<Quantity>().is_ok());
        let names = known.map(|(_, v)| v.named().unwrap_or_default().to_owned()).collect();
        Ok(Some((self.source(name)?, names)))
    }

    fn claim(&mut self, quantity: Quantity, value: &ClaimValue) -> Result<(Quantity, Claim), ImportError> {
        let step = |r: crate::grammar::Rounding| r.in_unit(quantity.unit()).unwrap_or(0.0);
        let claim = match value {
            ClaimValue::Total(total) => {
                let unit = match &total.unit {
                    UnitRule::Is(unit) => TotalUnit::Is(*unit),
                    UnitRule::Of(origin) => TotalUnit::Of(self.source(origin)?),
                };
                Claim::Total { source: self.source(&total.origin)?, unit, rounding: step(total.rounding) }
            }
            ClaimValue::Time(claim) if matches!(claim.time.origin, Origin::Row { .. }) => {
                let edge = if let Origin::Row { row } = claim.time.origin { row } else { Edge::Start };
                Claim::Edge { edge, rounding: step(claim.rounding) }
            }
            ClaimValue::Time(claim) => Claim::Time { time: self.time(&claim.time)?, rounding: step(claim.rounding) },
        };
        Ok((quantity, claim))
    }
}

/// Returns what a rule calls a value.
fn name_of(origin: &Origin) -> String {
    match origin {
        Origin::At { at, .. } => format!("`{}`", at.0.join(" ")),
        Origin::Key { .. } => "the key".into(),
        Origin::File { .. } => "the file's name".into(),
        Origin::Const { text } => format!("`{text}`"),
        Origin::Bound { bound } => format!("`{}`", bound.option()),
        Origin::Join { join, .. } => format!("`{join}`"),
        Origin::Row { .. } => "the row".into(),
    }
}

/// Returns the number of a thing in a list, to which it is added if it is not there.
fn place<T: PartialEq>(list: &mut Vec<T>, thing: T) -> usize {
    list.iter().position(|t| *t == thing).unwrap_or_else(|| {
        list.push(thing);
        list.len() - 1
    })
}
