//! The epochs of a night as a comparison lays them, and which spans decided each.

use super::Wanted;
use counterpane_compare::{Protocol, Window, compare_night};
use counterpane_model::grid::project;
use counterpane_model::{Cell, Decided, Grid, Night, Recording, Zone};
use counterpane_store::Stored;

/// A device and a reference on the epochs that the comparison uses.
pub(crate) struct Laid {
    /// The epochs.
    pub(crate) grid: Grid,
    /// Which window they fill: `lights` or `scored`; `None` where nothing is compared, and they are those of the device.
    pub(crate) window: Option<&'static str>,
    /// The scheme of the matrix, where there is one.
    pub(crate) scheme: Option<&'static str>,
    /// Why nothing is compared.
    pub(crate) not_compared: Option<String>,
    device: Vec<Cell>,
    reference: Vec<Cell>,
    /// Which epochs are in the matrix.
    counted: Vec<bool>,
    /// Both as corrected clocks have them.
    recordings: (Recording, Option<Recording>),
}

/// Epochs in a row of which the same is to be said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Run {
    /// The first epoch, from 0.
    pub(crate) first: usize,
    /// The last epoch.
    pub(crate) last: usize,
    /// What the device says in them.
    pub(crate) device: Cell,
    /// What the reference says in them.
    pub(crate) reference: Option<Cell>,
    /// Whether they are in the matrix.
    pub(crate) counted: bool,
    /// The spans of the device that lie in them, by index.
    pub(crate) device_spans: Vec<usize>,
    /// The spans of the reference.
    pub(crate) reference_spans: Vec<usize>,
}

impl Laid {
    pub(crate) fn new(night: &Night, device: &Stored, reference: Option<&Stored>, decided: &Decided) -> Laid {
        let recordings = (decided.clocked(&device.recording), reference.map(|r| decided.clocked(&r.recording)));
        let protocol = Protocol { scheme: None, window: Window::Lights };
        let compared = reference.map(|r| compare_night(night, &r.recording, &[&device.recording], decided, &protocol));
        let (grid, window, scheme, not_compared, counted) = match &compared {
            Some(Ok(night)) => {
                let grid = Grid { start: night.start, n: night.reference.len() };
                let beside = night.devices.first();
                let scheme = beside.and_then(|d| d.agreement.as_ref()).map(|a| a.scheme);
                let why = match (beside, night.left_out.first()) {
                    (Some(d), _) => d.not_compared.clone(),
                    (None, Some(out)) => {
                        Some(format!("decision {} leaves it out: {}", out.exclusion.decision, out.exclusion.reason))
                    }
                    (None, None) => None,
                };
                let mut counted: Vec<bool> = (0..grid.n)
                    .map(|i| {
                        let says = |cells: &[Cell]| cells.get(i).is_some_and(|c| c.stage().is_some());
                        scheme.is_some() && says(&night.reference) && beside.is_some_and(|d| says(&d.cells))
                    })
                    .collect();
                for (from, until) in night.excluded.iter().chain(beside.iter().flat_map(|d| &d.excluded)) {
                    if let Some(epochs) = counted.get_mut(grid.within(*from, *until)) {
                        epochs.fill(false);
                    }
                }
                (grid, Some(night.window_name), scheme.map(|s| s.code()), why, counted)
            }
            other => {
                let why = match other {
                    Some(Err(why)) => why.to_string(),
                    _ => "the night has no other reference beside it".to_owned(),
                };
                let grid = recordings.0.bounds().map_or(Grid { start: night.window.0, n: 0 }, |(from, until)| {
                    let anchor = recordings.1.as_ref().and_then(Recording::bounds).map_or(from, |b| b.0);
                    Grid::covering(anchor, from, until)
                });
                // A span may claim years; a night of two days is more than any.
                let grid = Grid { n: grid.n.min(5760), ..grid };
                (grid, None, None, Some(why), vec![false; grid.n])
            }
        };
        let lay = |r: &Recording| project(&r.spans, grid);
        Laid {
            device: lay(&recordings.0),
            reference: recordings.1.as_ref().map(lay).unwrap_or_default(),
            grid,
            window,
            scheme,
            not_compared,
            counted,
            recordings,
        }
    }

    /// Returns the epochs in which both say what is wanted.
    pub(crate) fn matching(&self, device: Option<&Wanted>, reference: Option<&Wanted>) -> Vec<usize> {
        let fits = |wanted: Option<&Wanted>, cells: &[Cell], i: usize| {
            wanted.is_none_or(|w| cells.get(i).is_some_and(|c| w.fits(*c)))
        };
        (0..self.grid.n).filter(|i| fits(device, &self.device, *i) && fits(reference, &self.reference, *i)).collect()
    }

    /// Says whether an epoch begins in a minute `HH:MM` of the local clock.
    pub(crate) fn covers_minute(&self, epoch: usize, zone: &Zone, minute: &str) -> bool {
        // An epoch that begins before the minute may reach into it.
        [self.grid.at(epoch), self.grid.at(epoch + 1)].iter().enumerate().any(|(i, at)| {
            let at = if i == 0 { *at } else { counterpane_model::Instant(at.0 - 1) };
            zone.wall_of(at).strftime("%H:%M").to_string() == minute
        })
    }

    /// Says whether an epoch is in the matrix.
    pub(crate) fn counts(&self, epoch: usize) -> bool {
        self.counted.get(epoch).copied().unwrap_or(false)
    }

    /// Returns what the reference says in some epochs, the most frequent first.
    pub(crate) fn beside(&self, epochs: &[usize]) -> Vec<(Cell, usize)> {
        let mut out: Vec<(Cell, usize)> = Vec::new();
        for cell in epochs.iter().filter_map(|i| self.reference.get(*i)) {
            match out.iter_mut().find(|(c, _)| c == cell) {
                Some((_, n)) => *n += 1,
                None => out.push((*cell, 1)),
            }
        }
        out.sort_by_key(|(cell, n)| (std::cmp::Reverse(*n), *cell));
        out
    }

    /// Gathers epochs that follow each other and say the same.
    pub(crate) fn runs(&self, epochs: &[usize]) -> Vec<Run> {
        let mut out: Vec<Run> = Vec::new();
        for i in epochs {
            let run = self.run(*i);
            match out.last_mut() {
                Some(last)
                    if last.last + 1 == *i
                        && (last.device, last.reference, last.counted) == (run.device, run.reference, run.counted) =>
                {
                    last.last = *i;
                    add(&mut last.device_spans, &run.device_spans);
                    add(&mut last.reference_spans, &run.reference_spans);
                }
                _ => out.push(run),
            }
        }
        out
    }

    fn run(&self, i: usize) -> Run {
        let inside = |r: &Recording| {
            let (from, until) = (self.grid.at(i), self.grid.at(i + 1));
            let spans = r.spans.iter().enumerate();
            spans.filter(|(_, s)| s.start < until && s.end > from && s.length_ms() > 0).map(|(n, _)| n).collect()
        };
        Run {
            first: i,
            last: i,
            device: self.device.get(i).copied().unwrap_or(Cell::Missing),
            reference: self.reference.get(i).copied(),
            counted: self.counts(i),
            device_spans: inside(&self.recordings.0),
            reference_spans: self.recordings.1.as_ref().map(inside).unwrap_or_default(),
        }
    }

    /// Says how many epochs are in the matrix, or why there is none.
    pub(crate) fn in_words(&self, counted: usize) -> String {
        match (self.scheme, self.window, &self.not_compared) {
            (Some(scheme), Some(window), _) => format!(
                "{counted} of them count in the matrix of `compare` (scheme {scheme}, window {window}, {} epochs)",
                self.grid.n
            ),
            (_, _, Some(why)) => format!("no matrix: {why}"),
            _ => "no matrix".to_owned(),
        }
    }
}

fn add(spans: &mut Vec<usize>, more: &[usize]) {
    let new: Vec<usize> = more.iter().filter(|s| !spans.contains(s)).copied().collect();
    spans.extend(new);
}
