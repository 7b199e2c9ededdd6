//! How surely an error in a typed sheet is caught: valid sheets of invented nights, an error put into each, and the real
//! reader and checks.
//!
//! `cargo test -p counterpane --test injection` measures few errors and holds them against the page;
//! `UPDATE_EXPECT=1` with the same command measures 1000 of each kind and writes docs/sheets.md.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test may panic and print"
)]

#[path = "../common/mod.rs"]
mod common;
mod dice;
mod judged;
mod measured;
mod night;
mod page;
mod phone;
mod reader;
#[path = "../../crates/counterpane/src/sheets/mod.rs"]
#[allow(dead_code, unused_imports, reason = "only the reading and the comparing of sheets are used here")]
mod sheets;
mod slip;

use common::Bench;
use judged::{Reader, Told};
use measured::{Asked, Share, measured};
use slip::Kind;

/// Seed of every night, reading and slip.
const SEED: u64 = 20_260_404;
/// Errors of each kind that the page tells of.
const MANY: u64 = 1000;
/// Errors of each kind in an ordinary run of the tests.
const FEW: u64 = 40;
/// Precisions of reading, in minutes.
const PRECISIONS: [f64; 5] = [0.0, 0.5, 1.0, 2.0, 5.0];

#[test]
fn errors_are_caught_as_surely_as_the_page_says() {
    let writes = std::env::var_os("UPDATE_EXPECT").is_some();
    let asked = Asked { seed: SEED, errors: if writes { MANY } else { FEW } };
    let rows = measured(asked, &PRECISIONS);
    let page = common::root().join("docs/sheets.md");
    let text = std::fs::read_to_string(&page).unwrap();
    println!("{}", page::table(asked.seed, asked.errors, &rows));
    if writes {
        std::fs::write(&page, page::with_table(&text, SEED, MANY, &rows)).unwrap();
    } else {
        page::assert_like(&text, SEED, MANY, &rows);
    }
    for row in &rows {
        let at = format!("precision {}", row.precision);
        assert!(row.alarms.iter().all(|a| a.percent() <= if writes { 1.0 } else { 5.0 }), "{at}: {:?}", row.alarms);
        for of in &row.kinds {
            let caught = of.claims.percent();
            assert!(row.precision > 0.0 || caught >= 95.0, "{at}, {}: {caught} % caught with totals", of.kind.words());
            assert!(
                of.claims.hits >= of.rows.hits && of.all.hits >= of.second.hits,
                "{at}: more is known, more is caught"
            );
        }
    }
}

/// The program says of a file what the measure takes it to say.
#[test]
fn the_built_program_says_the_same() {
    let bench = Bench::new();
    bench.write("s/study.toml", common::TRACED);
    let reader = Reader::new();
    let mut told = 0;
    for (stream, kind) in (1..).zip(Kind::ALL.into_iter().chain(Kind::ALL)) {
        let sheet = measured::slipped(SEED, stream, kind, if stream % 2 == 0 { 0.0 } else { 2.0 });
        let name = format!("{stream}.tsv");
        bench.write(&name, sheet.text(true));
        let run = bench.run(&["--study", "s", "import", &name, "--dry-run", "--format", "json"]);
        let printed: Vec<Told> = match run.stdout.as_str() {
            "" => continue,
            _ => Told::printed(&run.json()["files"][0]["findings"]),
        };
        let same = reader.told(&sheet, true);
        assert_eq!(printed, same, "{kind:?}: {}", sheet.text(true));
        told += printed.len();
    }
    assert!(told >= 10, "only {told} findings: the sample says nothing");
}

#[test]
fn a_share_knows_how_sure_it_is() {
    let share = Share { hits: 50, of: 100 };
    assert_eq!((share.percent(), share.error()), (50.0, 5.0));
}
