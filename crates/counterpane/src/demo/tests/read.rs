//! Small readers of the demo's formats, written from their descriptions and not from the writers.

use super::super::{DemoFile, lord_howe};
use counterpane_model::{Fold, Instant, Locator, Mark, Span, Zone};
use serde_json::Value;

/// One recording: night and spans.
pub(super) struct Read {
    pub(super) evening: String,
    pub(super) spans: Vec<Span>,
}

fn zone() -> Zone {
    Zone::named(lord_howe::ZONE).unwrap()
}

fn span(start: Instant, end: Instant, label: &str, map: &[(&str, &str)]) -> Span {
    let (_, mark) = map.iter().find(|(word, _)| *word == label).unwrap_or_else(|| panic!("no mark for `{label}`"));
    let mark: Mark = mark.parse().unwrap();
    Span { start, end, mark, label: label.into(), locator: Locator::Text { line: 1, column: 1 } }
}

/// The evening in the name of a file such as `watch-a/P01_2026-04-03.csv`.
fn evening_of(file: &DemoFile) -> String {
    file.path.split_once('_').unwrap().1[..10].to_owned()
}

/// Reads times of day in order, from the given evening on.
struct InOrder {
    date: jiff::civil::Date,
    above: Option<Instant>,
}

impl InOrder {
    fn new(evening: &str) -> InOrder {
        InOrder { date: evening.parse().unwrap(), above: None }
    }

    fn next(&mut self, clock: &str) -> Instant {
        let time: jiff::civil::Time = clock.parse().unwrap();
        // Past midnight as soon as the clock falls by more than the half hour that came twice.
        let midnight = self.above.is_some_and(|a| {
            let wall = zone().wall_of(a);
            wall.date() == self.date && time.hour() + 12 < wall.hour()
        });
        if midnight {
            self.date = self.date.tomorrow().unwrap();
        }
        let fold = self.above.map_or(Fold::Error, Fold::After);
        let at = zone().instant_of(self.date.to_datetime(time), fold).unwrap();
        assert!(self.above.is_none_or(|a| a < at), "rows are in order of time: {clock}");
        self.above = Some(at);
        at
    }
}

pub(super) fn ring_a(file: &DemoFile) -> Vec<Read> {
    let json: Value = serde_json::from_slice(&file.bytes).unwrap();
    assert_eq!(json["made_by"], "ring-a (invented)");
    assert_eq!(format!("ring-a/{}.json", json["account"].as_str().unwrap()), file.path);
    let map = [("awake", "W"), ("shallow", "Light"), ("deep", "N3"), ("dream", "R")];
    let at = |v: &Value| {
        let time: jiff::Timestamp = v.as_str().unwrap().parse().unwrap();
        let at = Instant(time.as_millisecond());
        assert_eq!(v.as_str(), Some(zone().text_of(at).as_str()), "the offset is the one of the zone");
        at
    };
    let piece = |p: &Value| span(at(&p["from"]), at(&p["to"]), p["depth"].as_str().unwrap(), &map);
    let read = |sleep: &Value| Read {
        evening: sleep["evening"].as_str().unwrap().into(),
        spans: sleep["pieces"].as_array().unwrap().iter().map(piece).collect(),
    };
    json["sleeps"].as_array().unwrap().iter().map(read).collect()
}

pub(super) fn ring_b(file: &DemoFile) -> Vec<Read> {
    let json: Value = serde_json::from_slice(&file.bytes).unwrap();
    assert_eq!(json["maker"], "ring-b (invented)");
    let map = [("a", "W"), ("l", "Light"), ("d", "N3"), ("r", "R")];
    let read = |rest: &Value| {
        let zone = Zone::named(rest["tz"].as_str().unwrap()).unwrap();
        let begins = rest["begins"].as_str().unwrap();
        let start = zone.instant_of(begins.parse().unwrap(), Fold::Error).unwrap();
        let every = rest["every_s"].as_i64().unwrap() * 1000;
        let letters = rest["letters"].as_str().unwrap();
        let at = |i: usize| Instant(start.0 + i as i64 * every);
        let spoken = letters.char_indices().filter(|(_, l)| *l != '-');
        let spans = spoken.map(|(i, l)| span(at(i), at(i + 1), &l.to_string(), &map)).collect();
        Read { evening: begins[..10].into(), spans }
    };
    json["rests"].as_array().unwrap().iter().map(read).collect()
}

pub(super) fn watch_a(file: &DemoFile) -> Vec<Read> {
    let text = std::str::from_utf8(&file.bytes).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines[0], "watch-a night sheet (invented)");
    assert!(lines[1].starts_with("exported;0"), "{}", lines[1]);
    assert_eq!(lines[2..4], ["", "clock;lasts;phase"]);
    let map = [("Awake", "W"), ("Light", "Light"), ("Deep", "N3"), ("Dream", "R"), ("Drowsy", "Light")];
    let mut order = InOrder::new(&evening_of(file));
    let row = |line: &&str| {
        let [clock, lasts, phase] = line.split(';').collect::<Vec<_>>().try_into().unwrap();
        let start = order.next(clock);
        let parts: Vec<i64> = lasts.split(':').map(|p| p.parse().unwrap()).collect();
        span(start, Instant(start.0 + (parts[0] * 3600 + parts[1] * 60 + parts[2]) * 1000), phase, &map)
    };
    vec![Read { evening: evening_of(file), spans: lines[4..].iter().map(row).collect() }]
}

pub(super) fn band_a(file: &DemoFile) -> Vec<Read> {
    let text = std::str::from_utf8(&file.bytes).unwrap();
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("clock\tstage"));
    let mut order = InOrder::new(&evening_of(file));
    let rows: Vec<(Instant, &str)> = lines
        .map(|line| {
            let (clock, word) = line.split_once('\t').unwrap();
            assert_eq!(clock.len(), 5, "whole minutes: {clock}");
            (order.next(clock), word)
        })
        .collect();
    assert_eq!(rows.last().map(|r| r.1), Some("end"));
    let map = [("wake", "W"), ("light", "Light"), ("deep", "N3"), ("rem", "R")];
    let spans = rows.windows(2).map(|w| span(w[0].0, w[1].0, w[0].1, &map)).collect();
    vec![Read { evening: evening_of(file), spans }]
}

pub(super) fn patch_z(file: &DemoFile) -> Vec<Read> {
    let text = std::str::from_utf8(&file.bytes).unwrap();
    let rows: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(rows.last().map(|r| r["asleep"].clone()), Some(Value::Null));
    let map = [("true", "Asleep"), ("false", "W")];
    let at = |row: &Value| Instant(row["t"].as_i64().unwrap());
    let spans = rows.windows(2).map(|w| span(at(&w[0]), at(&w[1]), &w[0]["asleep"].to_string(), &map)).collect();
    vec![Read { evening: evening_of(file), spans }]
}

/// A value of an attribute in a line of XML.
fn attribute<'l>(line: &'l str, name: &str) -> &'l str {
    let from = line.find(&format!(" {name}=\"")).unwrap_or_else(|| panic!("no {name}: {line}")) + name.len() + 3;
    line[from..].split_once('"').unwrap().0
}

/// Puts rows into nights: a row belongs to the evening of its date, from noon to noon.
fn nights(spans: Vec<Span>) -> Vec<Read> {
    let evening = |s: &Span| lord_howe::date(Instant(s.start.0 - 12 * 3_600_000));
    let of_night = spans.chunk_by(|a, b| evening(a) == evening(b));
    of_night.map(|night| Read { evening: evening(&night[0]), spans: night.to_vec() }).collect()
}

pub(super) fn ring_c(file: &DemoFile) -> Vec<Read> {
    let text = std::str::from_utf8(&file.bytes).unwrap();
    assert!(text.ends_with("</pocket-dump>\n"));
    assert!(text.contains(" topic=\"rest\" teller=\"phone\" "), "the phone guesses too");
    let map = [("up", "W"), ("calm", "Light"), ("still", "N3"), ("vivid", "R")];
    let at = |time: &str| Instant(time.parse::<jiff::Timestamp>().unwrap().as_millisecond());
    let own = text.lines().filter(|l| l.contains(" teller=\"ring-c\" "));
    let row = |l: &str| span(at(attribute(l, "since")), at(attribute(l, "till")), attribute(l, "tells"), &map);
    nights(own.map(row).collect())
}

/// Returns the text of a member of an archive.
pub(super) fn member(file: &DemoFile, name: &str) -> String {
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(&file.bytes)).unwrap();
    std::io::read_to_string(zip.by_name(name).unwrap()).unwrap()
}

pub(super) fn band_b(file: &DemoFile) -> Vec<Read> {
    let json = |name: &str| serde_json::from_str::<Value>(&member(file, name)).unwrap();
    let zip = zip::ZipArchive::new(std::io::Cursor::new(&file.bytes)).unwrap();
    let map = [("awake", "W"), ("light", "Light"), ("deep", "N3"), ("dreams", "R")];
    let index = json("index.json");
    let listed = index["days"].as_array().unwrap().clone();
    let there = listed.into_iter().map(|day| (format!("days/{}.json", day["evening"].as_str().unwrap()), day));
    let there = there.filter(|(name, _)| zip.index_for_name(name).is_some());
    let read = |(name, day): (String, Value)| {
        let of_day = json(&name);
        assert_eq!(of_day["day"], day["id"]);
        let began = zone().instant_of(day["began"].as_str().unwrap().parse().unwrap(), Fold::Error).unwrap();
        let ms = |v: &Value| (v.as_f64().unwrap() * 60_000.0) as i64;
        let row = |b: &Value| {
            let start = Instant(began.0 + ms(&b["minute"]));
            span(start, Instant(start.0 + ms(&b["minutes"])), b["state"].as_str().unwrap(), &map)
        };
        let spans = of_day["blocks"].as_array().unwrap().iter().map(row).collect();
        Read { evening: day["evening"].as_str().unwrap().into(), spans }
    };
    there.map(read).collect()
}

/// A row of the patch's workbook.
pub(super) struct PatchRow {
    serial: f64,
    lasted_days: f64,
    pub(super) worn_days: f64,
    phase: String,
}

/// Reads the rows under the header of the patch's workbook.
pub(super) fn rows(file: &DemoFile) -> Vec<PatchRow> {
    let shared = member(file, "xl/sharedStrings.xml");
    let words: Vec<&str> = shared.split("<t>").skip(1).map(|t| t.split_once("</t>").unwrap().0).collect();
    let sheet = member(file, "xl/worksheets/sheet1.xml");
    let rows =
        sheet.split("<row r=\"").skip(1).filter(|row| row.split_once('"').unwrap().0.parse::<u32>().unwrap() > 3);
    let read = |row: &str| {
        let values: Vec<&str> = row.split("<v>").skip(1).map(|v| v.split_once("</v>").unwrap().0).collect();
        let number = |i: usize| values[i].parse::<f64>().unwrap();
        let phase = words[values[3].parse::<usize>().unwrap()].to_owned();
        PatchRow { serial: number(0), lasted_days: number(1), worn_days: number(2), phase }
    };
    rows.map(read).collect()
}

pub(super) fn patch_a(file: &DemoFile) -> Vec<Read> {
    let map = [("awake", "W"), ("even", "Light"), ("heavy", "N3"), ("lively", "R")];
    let ms = |days: f64| (days * 86_400_000.0).round() as i64;
    let mut above: Option<Instant> = None;
    let row = |row: PatchRow| {
        let wall = jiff::civil::date(1899, 12, 30).at(0, 0, 0, 0) + jiff::SignedDuration::from_millis(ms(row.serial));
        let start = zone().instant_of(wall, above.map_or(Fold::Error, Fold::After)).unwrap();
        assert!(above.is_none_or(|a| a < start), "rows are in order of time: {wall}");
        above = Some(start);
        span(start, Instant(start.0 + ms(row.lasted_days)), &row.phase, &map)
    };
    nights(rows(file).into_iter().map(row).collect())
}

/// What an EDF+ file of annotations says: fields of the header, and onset, duration and text of each.
pub(super) struct Edf {
    pub(super) patient: String,
    pub(super) recording: String,
    pub(super) start: String,
    pub(super) annotations: Vec<(i64, Option<i64>, String)>,
}

pub(super) fn edf(file: &DemoFile) -> Edf {
    let bytes = &file.bytes;
    let field = |from: usize, width: usize| {
        let text = std::str::from_utf8(&bytes[from..from + width]).unwrap();
        assert!(text.bytes().all(|b| (32..127).contains(&b)), "the header is printable: {text:?}");
        text.trim_end().to_owned()
    };
    assert_eq!([field(0, 8), field(192, 44), field(256, 16)], ["0", "EDF+C", "EDF Annotations"]);
    assert_eq!([field(184, 8), field(244, 8), field(252, 4)], ["512", "0", "1"]);
    let (records, samples): (usize, usize) = (field(236, 8).parse().unwrap(), field(472, 8).parse().unwrap());
    assert_eq!(bytes.len(), 512 + records * samples * 2);
    let mut annotations = Vec::new();
    for record in bytes[512..].chunks(samples * 2) {
        let text = std::str::from_utf8(record).unwrap();
        let mut lists = text.split('\0').filter(|list| !list.is_empty());
        assert_eq!(lists.next(), Some("+0\x14\x14"), "a record begins with its time");
        for list in lists {
            let (time, texts) = list.split_once('\x14').unwrap();
            let (onset, duration) = time.split_once('\x15').map_or((time, None), |(o, d)| (o, Some(d)));
            let seconds = onset.strip_prefix('+').unwrap().parse().unwrap();
            let text = texts.strip_suffix('\x14').unwrap().to_owned();
            annotations.push((seconds, duration.map(|d| d.parse().unwrap()), text));
        }
    }
    let start = format!("{} {}", field(168, 8), field(176, 8));
    Edf { patient: field(8, 80), recording: field(88, 80), start, annotations }
}
