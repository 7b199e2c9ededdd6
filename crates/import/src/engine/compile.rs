//! A block with its paths turned into numbers of wanted fields.

use crate::grammar::origin::{Bound, FileFact};
use crate::grammar::rows::{CodesOrigin, Means};
use crate::grammar::{
    ClaimValue, FoldRule, LengthRead, LengthValue, OffsetRule, Order, Origin, Rows, Shape, TimeRead, TimeValue,
    ZoneRule,
};
use crate::outcome::ImportError;
use counterpane_formats::{Path, Want};
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
    FileName,
    FileStart,
}

/// A time.
pub(super) struct Time {
    pub(super) source: Source,
    pub(super) read: Vec<TimeRead>,
    pub(super) trust: bool,
    pub(super) zone: Option<ZoneSource>,
    pub(super) fold: FoldRule,
    pub(super) from: Option<Box<Time>>,
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
    pub(super) read: LengthRead,
}

/// A rule that keeps some rows.
pub(super) struct Keep {
    pub(super) source: Source,
    pub(super) texts: Vec<String>,
    pub(super) rule: String,
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
    Total { source: Source, unit: crate::grammar::claims::Unit, rounding: f64 },
    Time { time: Time, rounding: f64 },
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
}

/// Compiles a block; its fields are added to `wants`.
pub(super) fn compile(rows: &Rows, wants: &mut Vec<Want>) -> Result<Block, ImportError> {
    let mut c = Compiler { wants, keyed: rows.shape == Shape::Keyed };
    Ok(Block {
        shape: rows.shape,
        layer: rows.layer,
        order: rows.order,
        // A condition and a night speak of the row, never of the items inside it.
        keep: c.of_row(|c| rows.keep.iter().map(|k| c.keep(k)).collect::<Result<_, _>>())?,
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
    })
}

struct Compiler<'w> {
    wants: &'w mut Vec<Want>,
    keyed: bool,
}

impl Compiler<'_> {
    fn of_row<T>(&mut self, read: impl FnOnce(&mut Self) -> T) -> T {
        let keyed = std::mem::replace(&mut self.keyed, false);
        let out = read(self);
        self.keyed = keyed;
        out
    }

    fn want(&mut self, up: usize, path: &str) -> usize {
        let want = Want { up, path: path.to_owned() };
        self.wants.iter().position(|w| *w == want).unwrap_or_else(|| {
            self.wants.push(want);
            self.wants.len() - 1
        })
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
            Origin::File { file: FileFact::Name } => Source::FileName,
            Origin::File { file: FileFact::Start } => Source::FileStart,
            Origin::Join { .. } => {
                return Err(ImportError::Later { what: "a value from another member, `join`,".into() });
            }
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
        if time.read.contains(&TimeRead::Clock(crate::grammar::Clock::Half)) {
            return Err(ImportError::Later { what: "a 12-hour clock without AM or PM, `clock 12h`,".into() });
        }
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
        })
    }

    fn length(&mut self, length: &LengthValue) -> Result<Length, ImportError> {
        Ok(Length { source: self.source(&length.origin)?, read: length.read })
    }

    fn keep(&mut self, keep: &crate::grammar::Keep) -> Result<Keep, ImportError> {
        let texts = keep.texts.iter().map(|t| format!("`{t}`")).collect::<Vec<_>>().join(", ");
        let rule = format!("keep: {} is not {texts}", name_of(&keep.origin));
        Ok(Keep { source: self.source(&keep.origin)?, texts: keep.texts.clone(), rule })
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

    fn claim(&mut self, quantity: Quantity, value: &ClaimValue) -> Result<(Quantity, Claim), ImportError> {
        let step = |r: crate::grammar::Rounding| r.in_unit(quantity.unit()).unwrap_or(0.0);
        let claim = match value {
            ClaimValue::Total(total) => {
                Claim::Total { source: self.source(&total.origin)?, unit: total.unit, rounding: step(total.rounding) }
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
    }
}
