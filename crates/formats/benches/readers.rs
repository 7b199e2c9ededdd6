//! Each reader, and beside it the bare parser over the same bytes from the same kind of input.
//!
//! Run with `cargo bench -p counterpane-formats`; the ratios are printed at the end and kept in
//! `docs/benchmarks.md`. One row in a hundred is kept by the caller, as when a definition takes one kind of
//! row out of an export that holds many.

#![allow(missing_docs, reason = "criterion writes the functions")]
#![allow(clippy::print_stdout, reason = "the table of ratios is what a run is for")]

use counterpane_formats::{Event, Flow, Format, Request, TextOptions, Value, Want, read};
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use std::fmt::Write as _;
use std::hint::black_box;
use std::io::{BufRead as _, BufReader, Read};
use std::time::{Duration, Instant};

/// Bytes of each generated file, about.
const SIZE: usize = 16 << 20;

/// Hides that the input is a slice: readers get files, pipes and members of archives.
struct Input<'a>(&'a [u8]);

impl Read for Input<'_> {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let n = self.0.len().min(room.len());
        room[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        Ok(n)
    }
}

fn kind(n: usize) -> &'static str {
    if n.is_multiple_of(100) { "sleep" } else { "steps" }
}

fn object(n: usize) -> String {
    format!(
        r#"{{"kind":"{}","from":"2026-04-04T22:{:02}:00+11:00","to":"2026-04-04T23:{:02}:30+11:00","depth":"shallow","n":{n},"value":{}.5}}"#,
        kind(n),
        n % 60,
        n % 60,
        n % 977
    )
}

fn json() -> Vec<u8> {
    let mut out = "{\"device\": \"ring-a (invented)\", \"rows\": [\n".to_owned();
    let mut n = 0;
    while out.len() < SIZE {
        let _ = write!(out, "{}{}", if n > 0 { ",\n" } else { "" }, object(n));
        n += 1;
    }
    out.push_str("\n]}");
    out.into_bytes()
}

fn lines(line: impl Fn(usize) -> String, header: &str) -> Vec<u8> {
    let mut out = header.to_owned();
    let mut n = 0;
    while out.len() < SIZE {
        out.push_str(&line(n));
        out.push('\n');
        n += 1;
    }
    out.into_bytes()
}

fn table() -> Vec<u8> {
    let row = |n: usize| {
        format!(
            "{},2026-04-04T22:{:02}:00+11:00,2026-04-04T23:{:02}:30+11:00,shallow,{n},{}.5",
            kind(n),
            n % 60,
            n % 60,
            n % 977
        )
    };
    lines(row, "kind,from,to,depth,n,value\n")
}

fn edf() -> Vec<u8> {
    let mut out = Vec::new();
    let records = SIZE / 1024;
    let mut put = |text: &str, len: usize| {
        let mut field = text.as_bytes().to_vec();
        field.resize(len, b' ');
        out.extend(field);
    };
    let count = records.to_string();
    let fields = [
        ("0", 8),
        ("X X X X", 80),
        ("Startdate 04-APR-2026 X X X", 80),
        ("04.04.26", 8),
        ("22.30.15", 8),
        ("512", 8),
        ("EDF+C", 44),
        (count.as_str(), 8),
        ("0", 8),
        ("1", 4),
        ("EDF Annotations", 16),
        ("", 200),
        ("512", 8),
        ("", 32),
    ];
    for (text, len) in fields {
        put(text, len);
    }
    for record in 0..records {
        let mut list = format!("+{}\x14\x14\0", record * 1200).into_bytes();
        for n in 0..40 {
            list.extend(format!("+{}\x1530\x14Sleep stage 2\x14\0", record * 1200 + n * 30).into_bytes());
        }
        list.truncate(1023);
        list.resize(1024, 0);
        out.extend(list);
    }
    out
}

/// Reads with our reader; keeps the rows whose first field is `sleep`.
fn ours(format: Format, bytes: &[u8], request: &Request) -> usize {
    let mut kept = 0;
    let result = read(format, &mut Input(bytes), request, &mut |event| {
        if let Event::Row(row) = event {
            let keep = matches!(row.value(0), Some(Value::Text(kind)) if kind == "sleep");
            if keep {
                kept += (1..request.wants.len()).filter(|want| row.value(*want).is_some()).count();
                black_box(row.locator());
            }
        }
        Flow::Continue
    });
    assert!(result.is_ok());
    kept
}

fn bare(format: Format, bytes: &[u8]) -> usize {
    match format {
        Format::Json => {
            let mut read = serde_json::Deserializer::from_reader(BufReader::with_capacity(256 << 10, Input(bytes)));
            let value: Result<serde::de::IgnoredAny, _> = serde::Deserialize::deserialize(&mut read);
            usize::from(value.is_ok())
        }
        Format::Jsonl => {
            let read = serde_json::Deserializer::from_reader(BufReader::with_capacity(256 << 10, Input(bytes)));
            read.into_iter::<serde::de::IgnoredAny>().filter(Result::is_ok).count()
        }
        Format::Csv => {
            let mut reader = csv::ReaderBuilder::new().buffer_capacity(256 << 10).from_reader(Input(bytes));
            let (mut record, mut n) = (csv::ByteRecord::new(), 0);
            while reader.read_byte_record(&mut record).unwrap_or(false) {
                n += record.len();
            }
            n
        }
        Format::Text => {
            let mut text = String::new();
            let _ = BufReader::with_capacity(256 << 10, Input(bytes)).read_to_string(&mut text);
            text.lines().filter(|l| !l.is_empty()).count()
        }
        _ => {
            let mut input = BufReader::with_capacity(256 << 10, Input(bytes));
            let mut n = 0;
            while let Ok(part) = input.fill_buf() {
                if part.is_empty() {
                    break;
                }
                let len = part.len();
                n += part.iter().filter(|b| **b == 0x14).count();
                input.consume(len);
            }
            n
        }
    }
}

fn request(each: &str, wants: &[&str]) -> Request {
    Request {
        each: each.to_owned(),
        wants: wants.iter().map(|p| Want { up: 0, path: (*p).to_owned() }).collect(),
        text: TextOptions::default(),
        ..Request::default()
    }
}

fn cases() -> Vec<(&'static str, Format, Vec<u8>, Request)> {
    let fields = ["kind", "from", "to", "depth"];
    vec![
        ("csv", Format::Csv, table(), request("", &fields)),
        ("edf", Format::Edf, edf(), request("", &["text", "onset", "duration"])),
        ("json", Format::Json, json(), request("$.rows[*]", &fields)),
        // All of it is passed over: the rows stand in another part of the document.
        ("json, no rows", Format::Json, json(), request("$.nights[*]", &fields)),
        ("jsonl", Format::Jsonl, lines(object, ""), request("", &fields)),
        (
            "text",
            Format::Text,
            lines(|n| format!("22:{:02} {}", n % 60, kind(n)), ""),
            request("", &["word 2", "line"]),
        ),
    ]
}

fn readers(criterion: &mut Criterion) {
    for (name, format, bytes, request) in cases() {
        let mut group = criterion.benchmark_group(name);
        group.throughput(Throughput::Bytes(bytes.len() as u64)).sample_size(10);
        group.measurement_time(Duration::from_secs(3)).warm_up_time(Duration::from_millis(500));
        group.bench_function("reader", |b| b.iter(|| ours(format, black_box(&bytes), &request)));
        group.bench_function("bare", |b| b.iter(|| bare(format, black_box(&bytes))));
        group.finish();
    }
}

/// Prints the ratios of one run, the two taking turns so that a busy machine slows both.
fn ratios(_: &mut Criterion) {
    println!("| format | reader, MB/s | bare parser, MB/s | ratio |\n| --- | --- | --- | --- |");
    for (name, format, bytes, request) in cases() {
        let (mut mine, mut theirs) = (Vec::new(), Vec::new());
        for _ in 0..9 {
            let start = Instant::now();
            black_box(ours(format, black_box(&bytes), &request));
            mine.push(start.elapsed());
            let start = Instant::now();
            black_box(bare(format, black_box(&bytes)));
            theirs.push(start.elapsed());
        }
        mine.sort();
        theirs.sort();
        let speed = |time: Duration| bytes.len() as f64 / 1e6 / time.as_secs_f64();
        let (mine, theirs) = (speed(mine[4]), speed(theirs[4]));
        println!("| {name} | {mine:.0} | {theirs:.0} | {:.2} |", mine / theirs);
    }
}

criterion_group!(benches, readers, ratios);
criterion_main!(benches);
