//! The scored polysomnogram as a file of annotations only.
//!
//! Source: EDF+ specification (edfplus.info/specs), standard texts included. A file without signals
//! has a record duration of 0, and then every record says that it starts at +0.

use super::lord_howe;
use super::night::TrueNight;
use counterpane_model::{EPOCH_MS, Stage};

const RECORD_SAMPLES: usize = 512;
const RECORD_BYTES: usize = RECORD_SAMPLES * 2;
const TIMEKEEPING: &[u8] = b"+0\x14\x14\0";
const MONTHS: [&str; 12] = ["JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC"];

/// Returns the EDF+ file of a night: one annotation for each epoch, and lights off and on. Onsets are
/// elapsed seconds, so a clock that is set back during the night loses nothing.
pub(crate) fn file(night: &TrueNight) -> Vec<u8> {
    let records = records(&annotations(night));
    let mut bytes = header(night, records.len() / RECORD_BYTES).into_bytes();
    bytes.extend(records);
    bytes
}

fn header(night: &TrueNight, n_records: usize) -> String {
    let date = lord_howe::date(night.start);
    let [year, month, day] = [&date[..4], &date[5..7], &date[8..]];
    let month_name = month.parse::<usize>().ok().and_then(|m| MONTHS.get(m.saturating_sub(1))).unwrap_or(&"X");
    let fields = [
        (8, "0".into()),
        (80, format!("{} X X X", night.participant)),
        (80, format!("Startdate {day}-{month_name}-{year} X X counterpane_demo_invented")),
        (8, format!("{day}.{month}.{}", &year[2..])),
        (8, lord_howe::clock(night.start).replace(':', ".")),
        (8, "512".into()), // bytes of this header: 256, and 256 for its one signal
        (44, "EDF+C".into()),
        (8, n_records.to_string()),
        (8, "0".into()),
        (4, "1".into()),
        (16, "EDF Annotations".into()),
        (80, String::new()), // transducer
        (8, String::new()),  // dimension
        (8, "-1".into()),
        (8, "1".into()),
        (8, "-32768".into()),
        (8, "32767".into()),
        (80, String::new()), // prefilter
        (8, RECORD_SAMPLES.to_string()),
        (32, String::new()),
    ];
    fields.iter().map(|(width, text): &(usize, String)| format!("{text:width$}")).collect()
}

/// Returns the annotation lists in order of time, each with the zero byte that ends it.
fn annotations(night: &TrueNight) -> Vec<String> {
    let seconds = |epoch: usize| epoch as i64 * EPOCH_MS / 1000;
    let event = |epoch, text: &str| format!("+{}\x14{text}\x14\0", seconds(epoch));
    let mut out = Vec::new();
    for (epoch, stage) in night.stages.iter().enumerate() {
        if epoch == night.lights_off {
            out.push(event(epoch, "Lights off"));
        }
        if epoch == night.lights_on {
            out.push(event(epoch, "Lights on"));
        }
        let word = if epoch == night.unscored { "?" } else { word(*stage) };
        out.push(format!("+{}\x15{}\x14Sleep stage {word}\x14\0", seconds(epoch), EPOCH_MS / 1000));
    }
    out
}

fn word(stage: Stage) -> &'static str {
    match stage {
        Stage::W => "W",
        Stage::N1 => "N1",
        Stage::N2 | Stage::Light => "N2",
        Stage::N3 => "N3",
        Stage::R => "R",
        Stage::Nrem => "N",
        Stage::Asleep => "?",
    }
}

/// Packs annotation lists into records of equal length: a list never crosses the end of a record.
fn records(annotations: &[String]) -> Vec<u8> {
    let mut bytes = TIMEKEEPING.to_vec();
    for list in annotations {
        let full = bytes.len().div_ceil(RECORD_BYTES) * RECORD_BYTES;
        if bytes.len() + list.len() > full {
            bytes.resize(full, 0);
            bytes.extend(TIMEKEEPING);
        }
        bytes.extend(list.as_bytes());
    }
    bytes.resize(bytes.len().div_ceil(RECORD_BYTES) * RECORD_BYTES, 0);
    bytes
}
