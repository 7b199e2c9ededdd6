//! A hypnogram for a terminal, legible without colour.
//!
//! Each source has a lane for each stage that it uses, in the order of the lanes on paper. A stage is
//! told by its lane, by the letter at the start of each of its runs, and by its own kind of line.

use crate::draw::text::clean;
use crate::draw::time::{Tick, offset_text, ticks};
use crate::words;
use counterpane_model::{Cell, EPOCH_MS, Instant, Stage, Zone};

/// Width of the names of lanes.
const GUTTER: usize = 9;

/// Returns hypnograms of several sources under each other on one axis of local time, each line ended
/// by a line feed.
///
/// `rows` holds the name of each source and what it says of each epoch from `start` on. `width` is the
/// number of columns (at least 40 are used). Each column shows what covers most of its time, on a tie
/// what comes first; a stage that covers no column has no lane, and a line below the axis names it. `marks`
/// are letters that stand at an instant in a lane of their own above the axis; where two fall on one column,
/// the first is drawn. With `colour`, ANSI colours are added; without them nothing is lost.
#[must_use]
pub fn hypnogram_text(
    rows: &[(&str, &[Cell])],
    marks: &[(Instant, char)],
    start: Instant,
    zone: &Zone,
    width: usize,
    colour: bool,
) -> String {
    let n = rows.iter().map(|r| r.1.len()).max().unwrap_or(0);
    if n == 0 {
        return "no epochs to show\n".to_owned();
    }
    let width = width.max(40);
    let columns = (width - GUTTER).min(n);
    let page = Page { start, zone, n, width, columns, colour };
    let mut out = String::new();
    for (index, (label, cells)) in rows.iter().enumerate() {
        if index > 0 {
            out.push('\n');
        }
        page.source(&mut out, label, cells);
    }
    page.marks(&mut out, marks);
    page.axis(&mut out, &page.unseen(rows));
    out
}

struct Page<'a> {
    start: Instant,
    zone: &'a Zone,
    n: usize,
    width: usize,
    columns: usize,
    colour: bool,
}

impl Page<'_> {
    fn source(&self, out: &mut String, label: &str, cells: &[Cell]) {
        let room = self.width;
        let label: String = clean(label).chars().take(room).collect();
        out.push_str(&self.paint("1", &label));
        out.push('\n');
        let shown: Vec<Cell> = (0..self.columns).map(|c| self.majority(cells, c)).collect();
        for kind in lanes(&shown) {
            let name = lane_name(kind);
            let line = self.lane(&shown, kind);
            out.push_str(&format!("{name:>7} \u{2502}{line}"));
            while out.ends_with(' ') {
                out.pop();
            }
            out.push('\n');
        }
    }

    /// Names the stages of each source that cover no column, such as `N1 of S1`: they have no lane.
    fn unseen(&self, rows: &[(&str, &[Cell])]) -> Vec<String> {
        let of = |(label, cells): &(&str, &[Cell])| {
            let shown: Vec<Cell> = (0..self.columns).map(|c| self.majority(cells, c)).collect();
            let hidden = |kind: &Cell| *kind != Cell::Missing && cells.contains(kind) && !lanes(&shown).contains(kind);
            let names: Vec<&str> = Cell::all().into_iter().filter(hidden).map(unseen_name).collect();
            (!names.is_empty()).then(|| format!("{} of {}", names.join(", "), clean(label)))
        };
        rows.iter().filter_map(of).collect()
    }

    /// What covers most of a column; epochs after the last cell are missing.
    fn majority(&self, cells: &[Cell], column: usize) -> Cell {
        let from = column * self.n / self.columns;
        let until = ((column + 1) * self.n / self.columns).max(from + 1);
        let at = |e: usize| cells.get(e).copied().unwrap_or(Cell::Missing);
        let mut best = (at(from), 0);
        for epoch in from..until {
            let n = (from..until).filter(|e| at(*e) == at(epoch)).count();
            if n > best.1 {
                best = (at(epoch), n);
            }
        }
        best.0
    }

    fn lane(&self, shown: &[Cell], kind: Cell) -> String {
        let mut out = String::new();
        let mut column = 0;
        while let Some(cell) = shown.get(column) {
            let length = shown.iter().skip(column).take_while(|c| *c == cell).count();
            if *cell == kind {
                let line: String = std::iter::repeat_n(line_of(kind), length - 1).collect();
                out.push_str(&self.paint(colour_of(kind), &format!("{}{line}", letter(kind))));
            } else {
                out.push_str(&" ".repeat(length));
            }
            column += length;
        }
        out
    }

    /// The column of an instant, if it is on the page.
    fn column(&self, at: Instant) -> Option<usize> {
        let epochs = usize::try_from(at.ms_since(self.start).checked_div(EPOCH_MS)?).ok()?;
        Some(epochs * self.columns / self.n).filter(|c| *c < self.columns)
    }

    fn marks(&self, out: &mut String, marks: &[(Instant, char)]) {
        let mut line = vec![' '; self.columns];
        for (at, letter) in marks.iter().rev() {
            if let Some(column) = self.column(*at) {
                set(&mut line, column, *letter);
            }
        }
        let line: String = line.into_iter().collect();
        if !line.trim().is_empty() {
            out.push_str(&format!("\n{:>7} \u{2502}{}\n", "noted", line.trim_end()));
        }
    }

    fn axis(&self, out: &mut String, unseen: &[String]) {
        let end = Instant(self.start.0 + i64::try_from(self.n).unwrap_or(0) * EPOCH_MS);
        let hours = self.n as f64 / 120.0;
        let per_hour = self.columns as f64 / hours;
        let step = [1, 2, 3, 4, 6, 12].into_iter().find(|s| per_hour * f64::from(*s) >= 7.0).unwrap_or(24_i32);
        let mut rule = vec!['\u{2500}'; self.columns];
        let mut words = vec![' '; GUTTER + self.columns];
        let (mut changes, mut marks) = (Vec::new(), Vec::new());
        let mut free = 0;
        for tick in ticks(self.zone, self.start, end, i64::from(step)) {
            match tick {
                Tick::Hour { at, text } => {
                    let Some(column) = self.column(at) else { continue };
                    set(&mut rule, column, '\u{252c}');
                    let first = (GUTTER + column).saturating_sub(2);
                    // Around a change two whole hours can stand too close: the first keeps its label. At the
                    // right edge a label is left out rather than cut.
                    if first >= free && first + text.len() <= words.len() {
                        for (i, c) in text.chars().enumerate() {
                            set(&mut words, first + i, c);
                        }
                        free = first + 6;
                    }
                }
                Tick::Change { at, before, after } => {
                    // A change at the very end has no epoch after it.
                    let Some(column) = self.column(at) else { continue };
                    marks.push(column);
                    changes.push(self.change_words(at, &before, &after));
                }
            }
        }
        // Last: a clock that changes by whole hours shows a whole hour at that very instant.
        for column in marks {
            set(&mut rule, column, '\u{256a}');
        }
        let rule: String = rule.into_iter().collect();
        out.push_str(&format!("{}\u{2514}{}\n", " ".repeat(GUTTER - 1), rule.trim_end()));
        let words: String = words.into_iter().collect();
        out.push_str(&format!("{}\n", words.trim_end()));
        self.foot(out, &changes, unseen);
    }

    fn change_words(&self, at: Instant, before: &str, after: &str) -> String {
        let wall = self.zone.clock_of(at);
        format!("\u{256a} the clock changes from UTC{before} to UTC{after}; from there on it shows {wall}")
    }

    /// The words below the axis have the width of the page, not that of the few columns of a short night.
    fn foot(&self, out: &mut String, changes: &[String], unseen: &[String]) {
        let seconds = self.n as f64 / self.columns as f64 * 30.0;
        let column = if seconds < 60.0 { format!("{seconds:.0} s") } else { words::minutes(seconds / 60.0) };
        let offset = offset_text(self.zone.offset_at(self.start));
        let (pad, room) =
            if self.width < 60 { (String::new(), self.width) } else { (" ".repeat(GUTTER), self.width - GUTTER) };
        let last = format!("{}, UTC{offset} at the start; one column is {column}", self.zone.name());
        let unseen =
            (!unseen.is_empty()).then(|| format!("shorter stretches are not seen here: {}", unseen.join("; ")));
        for words in changes.iter().chain([&last]).chain(&unseen) {
            for line in wrapped(words, room) {
                out.push_str(&format!("{pad}{line}\n"));
            }
        }
    }

    fn paint(&self, code: &str, text: &str) -> String {
        if self.colour { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }
}

/// Breaks words into lines of at most `room` characters at their blanks; only a word that is longer by
/// itself is broken.
fn wrapped(words: &str, room: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let long =
        |word: &str| word.chars().collect::<Vec<_>>().chunks(room).map(|c| c.iter().collect()).collect::<Vec<String>>();
    for word in words.split(' ').flat_map(long) {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= room => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

fn set(line: &mut [char], at: usize, to: char) {
    if let Some(place) = line.get_mut(at) {
        *place = to;
    }
}

/// The lanes of a source: W always, then the stages it uses from the top, then what is no stage.
fn lanes(shown: &[Cell]) -> Vec<Cell> {
    use Stage::{Asleep, Light, N1, N2, N3, Nrem, R, W};
    let stages = [W, R, Asleep, Nrem, Light, N1, N2, N3].map(Cell::Stage);
    let all = stages.into_iter().chain([Cell::Unscored, Cell::Off, Cell::Missing]);
    all.filter(|kind| *kind == Cell::Stage(W) || shown.contains(kind)).collect()
}

/// The name of a lane where there is room for it.
fn unseen_name(kind: Cell) -> &'static str {
    if kind == Cell::Unscored { "not scored" } else { lane_name(kind) }
}

fn lane_name(kind: Cell) -> &'static str {
    match kind {
        Cell::Stage(Stage::W) => "wake",
        Cell::Stage(Stage::R) => "REM",
        Cell::Stage(Stage::Light) => "light",
        Cell::Stage(Stage::Asleep) => "asleep",
        Cell::Unscored => "no score",
        other => other.code(),
    }
}

fn letter(kind: Cell) -> char {
    if kind == Cell::Missing { '\u{b7}' } else { kind.letter() }
}

fn line_of(kind: Cell) -> char {
    match kind {
        Cell::Stage(Stage::W) => '\u{2501}',
        Cell::Stage(Stage::R) => '\u{2550}',
        Cell::Stage(Stage::N1) => '\u{254c}',
        Cell::Stage(Stage::N2 | Stage::Light | Stage::Nrem | Stage::Asleep) => '\u{2500}',
        Cell::Stage(Stage::N3) => '\u{2584}',
        Cell::Unscored => '?',
        Cell::Off => 'o',
        Cell::Missing => '\u{b7}',
    }
}

/// Colours of the sixteen that every terminal has, so that its own theme keeps them readable.
fn colour_of(kind: Cell) -> &'static str {
    match kind {
        Cell::Stage(Stage::W) => "33",
        Cell::Stage(Stage::R) => "35",
        Cell::Stage(Stage::N1 | Stage::N2 | Stage::Light) => "36",
        Cell::Stage(Stage::N3) => "34",
        Cell::Stage(Stage::Nrem | Stage::Asleep) => "32",
        Cell::Unscored | Cell::Off | Cell::Missing => "2",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::{Expect, expect};

    /// Cells from text such as `4W 20L`: letters of [`Cell::letter`], each with its number of epochs.
    fn cells(text: &str) -> Vec<Cell> {
        let mut out = Vec::new();
        for word in text.split_whitespace() {
            let (n, letter) = word.split_at(word.len() - 1);
            let cell = Cell::all().into_iter().find(|c| letter.starts_with(c.letter())).unwrap();
            out.extend(std::iter::repeat_n(cell, n.parse::<usize>().unwrap()));
        }
        out
    }

    fn check(rows: &[(&str, &str)], zone: &str, start: i64, width: usize, said: Expect) {
        let rows: Vec<(&str, Vec<Cell>)> = rows.iter().map(|(label, text)| (*label, cells(text))).collect();
        let rows: Vec<(&str, &[Cell])> = rows.iter().map(|(label, cells)| (*label, cells.as_slice())).collect();
        said.assert_eq(&hypnogram_text(&rows, &[], Instant(start), &Zone::named(zone).unwrap(), width, false));
    }

    #[test]
    fn what_was_noted_stands_below_the_lanes_and_off_the_page_nowhere() {
        let zone = Zone::named("UTC").unwrap();
        let night = [Cell::Stage(Stage::W); 40];
        let marks = [(Instant(0), 'a'), (Instant(30_000 * 39), 'b'), (Instant(-30_000), 'c')];
        let text = hypnogram_text(&[("s", &night)], &marks, Instant(0), &zone, 80, false);
        let line = text.lines().find(|l| l.contains("noted")).unwrap();
        assert_eq!(line, format!("  noted \u{2502}a{}b", " ".repeat(38)));
        assert!(!hypnogram_text(&[("s", &night)], &[], Instant(0), &zone, 80, false).contains("noted"));
    }

    #[test]
    fn sources_stand_under_each_other_on_one_axis() {
        check(
            &[("scorer A (reference)", "20W 201 1002 503 5? 65R"), ("ring-a", "30W 130L 60N 40.")],
            "Europe/Berlin",
            1_775_246_400_000,
            60,
            expect![[r#"
                scorer A (reference)
                   wake │W━━━
                    REM │                                      R════════════
                     N1 │    1╌╌╌
                     N2 │        2───────────────────
                     N3 │                            3▄▄▄▄▄▄▄▄
                no score │                                     ?

                ring-a
                   wake │W━━━━━
                   NREM │                               N───────────
                  light │      L────────────────────────
                missing │                                           ········
                        └┬──────────────────────┬───────────────────────┬───
                       22:00                  23:00                   00:00
                         Europe/Berlin, UTC+02:00 at the start; one column
                         is 2.5 min
            "#]],
        );
    }

    #[test]
    fn a_clock_set_back_in_the_night_is_shown_on_the_axis() {
        check(
            &[("mat-a", "60W 300A 20o 100A")],
            "Australia/Lord_Howe",
            1_775_307_600_000,
            80,
            expect![[r#"
            mat-a
               wake │W━━━━━━━━
             asleep │         A───────────────────────────────────────────   A──────────────
                off │                                                     ooo
                    └┬────────────────┬─────────────────╪────────┬─────────────────┬────────
                   00:00            01:00                      02:00             03:00
                     ╪ the clock changes from UTC+11:00 to UTC+10:30; from there on it shows
                     01:30
                     Australia/Lord_Howe, UTC+11:00 at the start; one column is 3.4 min
        "#]],
        );
    }

    #[test]
    fn a_change_by_a_whole_hour_keeps_its_mark() {
        // From 00:00 on 2026-03-29 and from the first 02:00 on 2026-10-25.
        check(
            &[("mat-a", "60W 300A")],
            "Europe/Berlin",
            1_774_738_800_000,
            69,
            expect![[r#"
                mat-a
                   wake │W━━━━━━━━━
                 asleep │          A─────────────────────────────────────────────────
                        └┬───────────────────┬───────────────────╪───────────────────
                       00:00               01:00               03:00
                         ╪ the clock changes from UTC+01:00 to UTC+02:00; from there
                         on it shows 03:00
                         Europe/Berlin, UTC+01:00 at the start; one column is 3 min
            "#]],
        );
        check(
            &[("mat-a", "60W 300A")],
            "Europe/Berlin",
            1_792_886_400_000,
            69,
            expect![[r#"
                mat-a
                   wake │W━━━━━━━━━
                 asleep │          A─────────────────────────────────────────────────
                        └┬───────────────────╪───────────────────┬───────────────────
                       02:00               02:00               03:00
                         ╪ the clock changes from UTC+02:00 to UTC+01:00; from there
                         on it shows 02:00
                         Europe/Berlin, UTC+02:00 at the start; one column is 3 min
            "#]],
        );
    }

    #[test]
    fn a_few_epochs_on_a_narrow_screen_break_no_word() {
        check(
            &[("scorer with a name", "3W 5A")],
            "Europe/Berlin",
            1_774_738_800_000,
            40,
            expect![[r#"
            scorer with a name
               wake │W━━
             asleep │   A────
                    └┬───────
                   00:00
            Europe/Berlin, UTC+01:00 at the start;
            one column is 30 s
        "#]],
        );
        check(
            &[("scorer with a name", "3W 50A")],
            "America/Argentina/ComodRivadavia",
            1_774_738_800_000,
            80,
            expect![[r#"
                scorer with a name
                   wake │W━━
                 asleep │   A─────────────────────────────────────────────────
                        └┬────────────────────────────────────────────────────
                       20:00
                         America/Argentina/ComodRivadavia, UTC−03:00 at the start; one column is
                         30 s
            "#]],
        );
    }

    #[test]
    fn a_stage_too_short_for_a_column_is_named() {
        check(
            &[("S1", "400W 11 4102 2R 3?"), ("ring-a", "400W 420L")],
            "UTC",
            0,
            50,
            expect![[r#"
                S1
                   wake │W━━━━━━━━━━━━━━━━━━━
                     N2 │                    2────────────────────

                ring-a
                   wake │W━━━━━━━━━━━━━━━━━━━
                  light │                    L────────────────────
                        └┬───────────┬───────────┬───────────┬────
                       00:00       02:00       04:00       06:00
                UTC, UTC+00:00 at the start; one column is 10 min
                shorter stretches are not seen here: N1, REM, not
                scored of S1
            "#]],
        );
    }

    #[test]
    fn a_label_cannot_steer_the_terminal() {
        let zone = Zone::named("UTC").unwrap();
        let text = hypnogram_text(&[("a\u{1b}[2Jb\u{7}", &[Cell::Missing])], &[], Instant(0), &zone, 80, false);
        assert!(!text.contains('\u{1b}') && !text.contains('\u{7}'), "{text:?}");
    }

    #[test]
    fn colour_adds_and_never_replaces() {
        let zone = Zone::named("UTC").unwrap();
        let night = cells("5W 20L 9R");
        let plain = hypnogram_text(&[("a", &night)], &[], Instant(0), &zone, 80, false);
        let mut painted = hypnogram_text(&[("a", &night)], &[], Instant(0), &zone, 80, true);
        assert!(painted.contains("\u{1b}[33m"));
        for code in ["0", "1", "2", "33", "34", "35", "36", "32"] {
            painted = painted.replace(&format!("\u{1b}[{code}m"), "");
        }
        assert_eq!(painted, plain);
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        let zone = Zone::named("Asia/Kathmandu").unwrap();
        let night = cells("100W 860L");
        for width in [40, 80, 133] {
            let text = hypnogram_text(&[(&"long ".repeat(60), &night)], &[], Instant(0), &zone, width, false);
            let widest = text.lines().map(|l| l.chars().count()).max();
            assert!(widest <= Some(width), "{widest:?} of {width}:\n{text}");
        }
    }

    #[test]
    fn nothing_is_said_plainly() {
        check(
            &[],
            "UTC",
            0,
            80,
            expect![[r#"
            no epochs to show
        "#]],
        );
    }
}
