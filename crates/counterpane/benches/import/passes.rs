//! The passes over a file, each in a process of its own, so that its peak of memory is its own.

use crate::files::CASES;
use counterpane_formats::Limits;
use counterpane_import::{Bindings, Definition, import};
use counterpane_model::{Night, NightKind, Zone};
use quick_xml::events::Event;
use std::fs::File;
use std::hint::black_box;
use std::io::{BufRead, BufReader};
use std::time::Instant;

/// What a bare parser reads from a file at a time.
const ROOM: usize = 256 << 10;

/// Does one pass, and prints seconds, peak KiB and how much was kept.
pub(crate) fn child(pass: &str, case: &str, path: &str) -> anyhow::Result<()> {
    let case = CASES.iter().find(|c| c.name == case).ok_or_else(|| anyhow::anyhow!("no case `{case}`"))?;
    let begun = Instant::now();
    let kept = match pass {
        "mapped" => mapped(case.definition, path)?,
        _ => bare(case.ending, BufReader::with_capacity(ROOM, File::open(path)?))?,
    };
    println!("{} {} {kept}", begun.elapsed().as_secs_f64(), peak_kib());
    Ok(())
}

/// Reads and maps as an import does when the original is kept already; one night is declared, the rest is told and left.
fn mapped(definition: &str, path: &str) -> anyhow::Result<u64> {
    let definition = Definition::parse("bench", definition).map_err(|e| anyhow::anyhow!("{e}"))?;
    let zone = Zone::named("UTC")?;
    let window = counterpane_store::config::noon_to_noon("2001-01-04", &zone);
    let night = Night {
        participant: "P01".into(),
        label: "2001-01-04".into(),
        kind: NightKind::Night,
        zone: "UTC".into(),
        window: window.ok_or_else(|| anyhow::anyhow!("the label is a date"))?,
        lights: counterpane_model::Lights::default(),
    };
    let bindings = Bindings {
        file: "bench".into(),
        participant: "P01".into(),
        nights: vec![night],
        study_zone: Some(zone),
        ..Bindings::default()
    };
    let outcome = import(&definition, &mut BufReader::new(File::open(path)?), &bindings, Limits::default())?;
    anyhow::ensure!(outcome.tally.faulty == 0 && outcome.tally.sum() == outcome.tally.rows, "{:?}", outcome.tally);
    Ok(outcome.tally.spans)
}

/// The parser alone: it looks at every event, document or record, and keeps nothing.
fn bare(ending: &str, input: impl BufRead) -> anyhow::Result<u64> {
    Ok(match ending {
        "xml" => elements(input)?,
        "json" => {
            let mut read = serde_json::Deserializer::from_reader(input);
            let _: serde::de::IgnoredAny = serde::Deserialize::deserialize(&mut read)?;
            1
        }
        "jsonl" => {
            let mut n = 0;
            for document in serde_json::Deserializer::from_reader(input).into_iter::<serde::de::IgnoredAny>() {
                document?;
                n += 1;
            }
            n
        }
        _ => {
            let mut reader = csv::ReaderBuilder::new().from_reader(input);
            let (mut record, mut n) = (csv::ByteRecord::new(), 0);
            while reader.read_byte_record(&mut record)? {
                n += black_box(&record).len() as u64;
            }
            n
        }
    })
}

fn elements(input: impl BufRead) -> anyhow::Result<u64> {
    let mut reader = quick_xml::Reader::from_reader(input);
    let (mut buffer, mut n) = (Vec::new(), 0);
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer)? {
            Event::Eof => return Ok(n),
            event => n += u64::from(matches!(black_box(event), Event::Start(_) | Event::Empty(_))),
        }
    }
}

/// The most memory that this process had, in KiB, and 0 where the machine does not tell.
fn peak_kib() -> u64 {
    crate::peak_of("self").unwrap_or(0)
}
