//! Where a recording comes from: file, definition, decision, and what was decided about it since.

use crate::importing::local_stretch;
use crate::wording::apart_words;
use counterpane_formats::{Limits, TextOptions, quote};
use counterpane_model::{Cell, Decided, Instant, Locator, Zone};
use counterpane_store::{Picture, Settles, Stored, Study};
use std::collections::BTreeMap;

/// A recording and everything that made it what it is.
pub(crate) struct Origin {
    /// Unit or scorer.
    pub(crate) name: String,
    /// Key of the recording.
    pub(crate) key: String,
    /// Name of the file as it was received.
    pub(crate) file: String,
    /// SHA-256 of the original.
    pub(crate) original: String,
    /// SHA-256 of the file as it was received, where something was blanked on the way in.
    pub(crate) received: Option<String>,
    /// Id of the definition.
    pub(crate) definition: String,
    /// SHA-256 of the definition's text.
    pub(crate) definition_sha256: String,
    /// Number of the decision that brought it in.
    pub(crate) decision: u64,
    /// When that was decided.
    pub(crate) at: String,
    /// By whom.
    pub(crate) by: String,
    /// How its times were known.
    pub(crate) time_basis: &'static str,
    /// What was decided about it since: a number and a sentence each.
    pub(crate) since: Vec<Since>,
    /// Pictures that its rows were read from, which are kept: name, SHA-256 as kept and as received where it was blanked.
    pub(crate) pictures: Vec<Picture>,
    /// The two readings that it follows from, where it is a settled sheet.
    pub(crate) settles: Option<Settles>,
    /// Why the original could not be read, where it could not.
    pub(crate) unread: Option<String>,
    rows: BTreeMap<usize, SpanRow>,
}

/// What an exclusion is called.
const LEFT_OUT: &str = "left out";

/// A decision about a recording.
pub(crate) struct Since {
    /// Its number.
    pub(crate) decision: u64,
    /// The stretch that it speaks of.
    pub(crate) stretch: Option<(Instant, Instant)>,
    /// `left out` or `clock corrected`.
    pub(crate) what: &'static str,
    /// Why.
    pub(crate) reason: String,
}

/// A span and what stands in the file there.
pub(crate) struct SpanRow {
    pub(crate) start: Instant,
    pub(crate) end: Instant,
    /// What it means.
    pub(crate) cell: Cell,
    /// The source's own word.
    pub(crate) label: String,
    pub(crate) locator: Locator,
    /// The line of the original.
    pub(crate) quote: Option<String>,
}

impl Origin {
    pub(crate) fn new(study: &Study, stored: &Stored, decided: &Decided, spans: &[usize]) -> anyhow::Result<Origin> {
        let recording = &stored.recording;
        let corrected = decided.on_corrected_clock(recording);
        let shown = corrected.as_ref().unwrap_or(recording);
        let index = usize::try_from(stored.decision).ok().and_then(|n| n.checked_sub(1));
        let decision = index.and_then(|i| study.decisions().get(i));
        let import = study.import_of(stored.decision);
        let of_spans = spans.iter().filter_map(|i| shown.spans.get(*i));
        let places: Vec<(Locator, &str)> = of_spans.map(|s| (s.locator.clone(), s.label.as_str())).collect();
        let (quotes, unread) = match quotes(study, stored, &places) {
            Ok(quotes) => (quotes, None),
            Err(e) => (vec![None; places.len()], Some(crate::output::chain(&e))),
        };
        let rows = spans.iter().zip(quotes).filter_map(|(i, quote)| {
            let span = shown.spans.get(*i)?;
            let (label, locator) = (span.label.clone(), span.locator.clone());
            Some((*i, SpanRow { start: span.start, end: span.end, cell: span.mark.into(), label, locator, quote }))
        });
        Ok(Origin {
            name: recording.source.piece().to_owned(),
            key: recording.key.clone(),
            file: recording.file.clone(),
            original: stored.original.clone(),
            received: study.received_as(stored.decision).map(|b| b.received.clone()),
            definition: stored.definition.clone(),
            definition_sha256: stored.definition_sha256.clone(),
            decision: stored.decision,
            at: decision.map(|d| d.at.clone()).unwrap_or_default(),
            by: decision.map(|d| d.by.clone()).unwrap_or_default(),
            time_basis: recording.time_basis.code(),
            since: since(stored, decided),
            pictures: import.map(|a| a.pictures.clone()).unwrap_or_default(),
            settles: import.and_then(|a| a.settles.clone()),
            unread,
            rows: rows.collect(),
        })
    }

    /// Returns a span by its index in the recording.
    pub(crate) fn row(&self, span: usize) -> Option<&SpanRow> {
        self.rows.get(&span)
    }

    /// Returns those of some spans that say what an epoch was given; all of them where none does, as where two spans
    /// disagree.
    pub(crate) fn deciding(&self, spans: &[usize], cell: Cell) -> Vec<usize> {
        let says = |i: &usize| self.row(*i).is_some_and(|row| row.cell == cell);
        let deciding: Vec<usize> = spans.iter().copied().filter(|i| says(i)).collect();
        if deciding.is_empty() { spans.to_vec() } else { deciding }
    }

    /// Returns the decisions that leave out something of `[from, until)`.
    pub(crate) fn left_out_within(&self, from: Instant, until: Instant) -> Vec<u64> {
        let touches = |s: &&Since| s.stretch.is_none_or(|(a, b)| a < until && b > from);
        self.since.iter().filter(|s| s.what == LEFT_OUT).filter(touches).map(|s| s.decision).collect()
    }

    /// Returns all of it as lines for people.
    pub(crate) fn lines(&self, zone: &Zone) -> Vec<String> {
        // The first digits name one file as well as all of them; JSON gives all.
        let part = |sha: &str, n| sha.get(..n).unwrap_or_default().to_owned();
        let blanked = |received: Option<&String>| {
            received.map(|sha| format!(", blanked; received as {}…", part(sha, 12))).unwrap_or_default()
        };
        let received = blanked(self.received.as_ref());
        let shelf = |sha: &str| format!("originals/{}/{}…", part(sha, 2), part(sha, 12));
        let mut out = vec![
            format!("{}: {}", self.key, self.file),
            format!("  original    {}{received}", shelf(&self.original)),
            format!("  definition  {}, kept as {}", self.definition, shelf(&self.definition_sha256)),
            format!("  decision    {}, {}, by {}", self.decision, self.at, self.by),
            format!("  times       {}", self.time_basis),
        ];
        for p in &self.pictures {
            let received = blanked(p.blanked.as_ref().map(|b| &b.received));
            out.push(format!("  picture     {}, {}{received}", p.file, shelf(&p.sha256)));
        }
        if let Some(s) = &self.settles {
            for reading in [&s.first, &s.second] {
                out.push(format!("  reading     {}, {}", reading.file, shelf(&reading.sha256)));
            }
            out.push(format!("  the two readings told {} differently", apart_words(s)));
        }
        for since in &self.since {
            let stretch = since
                .stretch
                .map_or_else(String::new, |(from, until)| format!(" {}", local_stretch(zone.name(), from, until)));
            out.push(format!("  {}{stretch}, decision {}: {}", since.what, since.decision, since.reason));
        }
        if let Some(why) = &self.unread {
            out.push(format!("  its lines cannot be shown: {why}"));
        }
        out
    }
}

fn since(stored: &Stored, decided: &Decided) -> Vec<Since> {
    let source = &stored.recording.source;
    let excluded = decided.exclusions.iter().filter(|e| e.concerns(source));
    let mut out: Vec<Since> = excluded
        .map(|e| Since { decision: e.decision, stretch: e.stretch, what: LEFT_OUT, reason: e.reason.clone() })
        .collect();
    if let Some(clock) = decided.clock_of(source) {
        let what = "clock corrected";
        out.push(Since { decision: clock.decision, stretch: None, what, reason: clock.reason.clone() });
    }
    out.sort_by_key(|s| s.decision);
    out
}

/// Reads what stands at some places of the original, after proving that it is what it was.
fn quotes(study: &Study, stored: &Stored, places: &[(Locator, &str)]) -> anyhow::Result<Vec<Option<String>>> {
    use std::io::Read as _;
    let mut definition = String::new();
    let name = format!("the definition {}", stored.definition);
    study.originals().open(&stored.definition_sha256, &name)?.read_to_string(&mut definition)?;
    let table: toml::Table = toml::from_str(&definition).unwrap_or_default();
    let encoding = table.get("text").and_then(|t| t.get("encoding")).and_then(|e| e.as_str()).map(str::to_owned);
    let text = TextOptions { encoding, ..TextOptions::default() };
    let file = study.originals().open(&stored.original, &stored.recording.file)?;
    let again = || {
        use std::io::Seek as _;
        let mut file = file.try_clone()?;
        file.rewind()?;
        Ok(std::io::BufReader::new(file))
    };
    Ok(quote(again, places, &text, Limits::default())?)
}
