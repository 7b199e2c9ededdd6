//! A definition before it is written: each key with its value and why, or with rivals.

use super::tables::Via;
use super::times::Says;
use std::collections::BTreeMap;

/// What a value is set to until a person has chosen; no key of the language takes it.
pub(super) const OPEN: &str = "\"choose one\"";

/// A key's value: decided where there is one option, open where there are several.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Pick {
    /// The options, as TOML writes them, each with what speaks for it.
    pub(super) options: Vec<(String, String)>,
    /// Why it was decided so, or why it cannot be decided.
    pub(super) why: String,
}

impl Pick {
    /// Returns a decided value.
    pub(super) fn one(value: impl Into<String>, why: impl Into<String>) -> Pick {
        Pick { options: vec![(value.into(), String::new())], why: why.into() }
    }

    /// Returns an open choice.
    pub(super) fn open(options: Vec<(String, String)>, why: impl Into<String>) -> Pick {
        Pick { options, why: why.into() }
    }

    pub(super) fn is_open(&self) -> bool {
        self.options.len() > 1
    }
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Origin {
    At {
        at: Vec<String>,
        up: usize,
    },
    Key,
    Const(String),
    Bound(&'static str),
    FileStart,
    /// It stands neither in the row nor above it.
    Via(Via),
    /// Which of several fields it is could not be decided.
    Open(Vec<(Origin, String)>),
}

impl Origin {
    /// Returns the highest level above the row that it needs.
    pub(super) fn up(&self) -> usize {
        match self {
            Origin::At { up, .. } => *up,
            Origin::Open(options) => options.iter().map(|(o, _)| o.up()).max().unwrap_or(0),
            _ => 0,
        }
    }
}

/// A time.
#[derive(Clone, Debug)]
pub(super) struct Time {
    pub(super) origin: Origin,
    /// What it is and on what evidence.
    pub(super) why: String,
    pub(super) read: Option<Pick>,
    pub(super) offset: Option<Pick>,
    pub(super) zone: Option<Zone>,
    pub(super) fold: Option<Pick>,
    pub(super) from: Option<Box<Time>>,
}

/// A zone, and the level above the row that it needs.
#[derive(Clone, Debug)]
pub(super) struct Zone {
    pub(super) pick: Pick,
    pub(super) up: usize,
}

impl Time {
    pub(super) fn up(&self) -> usize {
        let zone = self.zone.as_ref().map_or(0, |z| z.up);
        self.origin.up().max(zone).max(self.from.as_ref().map_or(0, |f| f.up()))
    }
}

/// A length of time.
#[derive(Clone, Debug)]
pub(super) struct Length {
    pub(super) origin: Origin,
    pub(super) why: String,
    pub(super) read: Pick,
}

/// The night that a row names.
#[derive(Clone, Debug)]
pub(super) struct Night {
    pub(super) origin: Origin,
    pub(super) why: String,
    pub(super) means: Pick,
    pub(super) read: Option<Pick>,
}

/// Codes.
#[derive(Clone, Debug)]
pub(super) struct Codes {
    pub(super) why: String,
    /// A field, or the first and the last column.
    pub(super) at: Result<Origin, (String, String)>,
    pub(super) split: Option<String>,
}

/// A total that may be a claim.
#[derive(Clone, Debug)]
pub(super) struct Total {
    pub(super) origin: Origin,
    pub(super) unit: &'static str,
    pub(super) rounding: String,
    /// Rows and values, in words.
    pub(super) note: String,
    /// What its name plainly says, as the name of a claim.
    pub(super) perhaps: Option<String>,
}

/// A word of the source.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Use {
    pub(super) rows: usize,
    pub(super) seconds: Option<f64>,
    pub(super) perhaps: Option<&'static str>,
}

/// When rows begin and end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    /// They are instants, not wall times.
    pub(super) instants: bool,
    pub(super) from: f64,
    pub(super) until: f64,
    /// How long they last together.
    pub(super) sum: f64,
}

impl Extent {
    /// Returns the extent of rows that stand at known times.
    pub(super) fn of(says: &Says, starts: &[Option<f64>], ends: &[Option<f64>]) -> Option<Extent> {
        let instants = matches!(says, Says::Epoch | Says::Offset { .. });
        if !instants && *says != Says::Wall {
            return None;
        }
        let rows = starts.iter().zip(ends).filter_map(|(s, e)| Some(((*s)?, (*e)?)));
        let none = Extent { instants, from: f64::INFINITY, until: f64::NEG_INFINITY, sum: 0.0 };
        let add = |all: Extent, (s, e): (f64, f64)| Extent {
            from: all.from.min(s),
            until: all.until.max(e),
            sum: all.sum + (e - s).max(0.0),
            ..all
        };
        Some(rows.fold(none, add)).filter(|e| e.sum > 0.0)
    }
}

/// A block of rows.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    /// Number of its table.
    pub(super) table: usize,
    pub(super) shape: &'static str,
    pub(super) why: String,
    pub(super) order: Option<String>,
    /// The layer it stands on; the higher wins.
    pub(super) layer: usize,
    /// Which rows are kept, where that is asked.
    pub(super) keep: Option<Pick>,
    /// Every word of the list that its layers share; another one is an error.
    pub(super) guard: Vec<String>,
    /// Blocks of other layers that go with it.
    pub(super) with: Vec<Block>,
    /// When its rows begin and end, and how long they last together, in seconds.
    pub(super) extent: Option<Extent>,
    pub(super) night: Option<Night>,
    pub(super) start: Option<Time>,
    pub(super) end: Option<Time>,
    pub(super) length: Option<Length>,
    pub(super) stage: Option<(Origin, String)>,
    pub(super) codes: Option<Codes>,
    pub(super) epoch: Option<Length>,
    pub(super) lists: Option<String>,
    pub(super) totals: Vec<Total>,
    pub(super) words: BTreeMap<String, Use>,
    /// Paths that a file of this kind has.
    pub(super) has: Vec<String>,
    /// How good a candidate it is: the higher, the better.
    pub(super) rank: Rank,
    /// What the command line must give.
    pub(super) needs: Vec<&'static str>,
}

/// What makes one candidate better than another, most important first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Rank {
    /// Distinct words that are unmistakable, or enough of them to be sure.
    pub(super) known: usize,
    /// The rows follow each other without a gap.
    pub(super) close: bool,
    /// How much the shape says of a row: an end outranks a length, a length a change.
    pub(super) shape: u8,
    pub(super) rows: usize,
    /// How well its times are known: an offset outranks a wall time.
    pub(super) time: u8,
}

impl Block {
    /// Returns it and the blocks that go with it, the lowest layer first.
    pub(super) fn all(&self) -> Vec<&Block> {
        let mut all: Vec<&Block> = self.with.iter().chain([self]).collect();
        all.sort_by_key(|b| b.layer);
        all
    }

    /// Returns the highest level above the row that it needs.
    pub(super) fn up(&self) -> usize {
        let times = [&self.start, &self.end].into_iter().flatten().map(Time::up);
        let lengths = [&self.length, &self.epoch].into_iter().flatten().map(|l| l.origin.up());
        let codes = self.codes.iter().filter_map(|c| c.at.as_ref().ok()).map(Origin::up);
        let rest = self.night.iter().map(|n| n.origin.up()).chain(self.stage.iter().map(|(o, _)| o.up()));
        let totals = self.totals.iter().map(|t| t.origin.up());
        times.chain(lengths).chain(codes).chain(rest).chain(totals).max().unwrap_or(0)
    }
}
