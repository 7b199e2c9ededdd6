//! XML beside a bare pass of quick-xml, and the memory that a large document takes.
//!
//! Run with `cargo bench -p counterpane-formats --bench more`. The two take turns, and of each the fastest run
//! counts, because whatever else the machine does can only make a run slower. The document holds a record a line, one in a
//! hundred of which is of the kind that is asked for. `large` reads a document that is made while it is read,
//! so that nothing but the reader takes memory.

#![allow(clippy::print_stdout, reason = "the table is what a run is for")]

use counterpane_formats::{Event, Flow, Format, Request, Value, Want, read};
use quick_xml::events::Event as Xml;
use std::fmt::Write as _;
use std::hint::black_box;
use std::io::{BufReader, Read};
use std::time::{Duration, Instant};

/// Bytes of the document that is timed, about.
const SIZE: usize = 64 << 20;

/// Bytes of the document that is made while it is read.
const LARGE: u64 = 4 << 30;

struct Input<'a>(&'a [u8]);

impl Read for Input<'_> {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        let n = self.0.len().min(room.len());
        room[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        Ok(n)
    }
}

/// Writes records; one in a hundred is of the kind `sleep`.
fn records(out: &mut String, bytes: usize, nested: bool) {
    let mut n = 0;
    while out.len() < bytes {
        let kind = if n % 100 == 0 { "sleep" } else { "steps" };
        let (minute, value) = (n % 60, n % 977);
        let _ = match nested {
            false => writeln!(
                out,
                r#" <Record kind="{kind}" maker="ring-a (invented)" from="2026-04-04 22:{minute:02}:00 +1100" to="2026-04-04 23:{minute:02}:30 +1100" value="{value}"/>"#
            ),
            true => writeln!(
                out,
                "<Item><kind>{kind}</kind><from>2026-04-04 22:{minute:02}:00 +1100</from><value unit=\"count\">{value}</value></Item>"
            ),
        };
        n += 1;
    }
}

fn document(nested: bool) -> Vec<u8> {
    let mut out = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<Export locale=\"en_AU\">\n".to_owned();
    records(&mut out, SIZE, nested);
    out.push_str("</Export>\n");
    out.into_bytes()
}

fn ours(input: &mut dyn Read, each: &str, wants: &[&str]) -> usize {
    let wants = wants.iter().map(|p| Want { up: 0, path: (*p).to_owned() }).collect();
    let request = Request { each: each.to_owned(), wants, ..Request::default() };
    let mut kept = 0;
    let result = read(Format::Xml, input, &request, &mut |event| {
        if let Event::Row(row) = event
            && matches!(row.value(0), Some(Value::Text(kind)) if kind == "sleep")
        {
            kept += (1..request.wants.len()).filter(|want| row.value(*want).is_some()).count();
            black_box(row.locator());
        }
        Flow::Continue
    });
    assert!(result.is_ok());
    kept
}

fn bare(bytes: &[u8]) -> usize {
    let mut reader = quick_xml::Reader::from_reader(BufReader::with_capacity(256 << 10, Input(bytes)));
    let (mut buffer, mut n) = (Vec::new(), 0);
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Xml::Eof) | Err(_) => return n,
            Ok(event) => n += usize::from(matches!(black_box(event), Xml::Start(_) | Xml::Empty(_))),
        }
    }
}

/// Repeats a piece of a document.
struct Endless {
    begin: Vec<u8>,
    piece: Vec<u8>,
    at: usize,
    left: u64,
}

impl Read for Endless {
    fn read(&mut self, room: &mut [u8]) -> std::io::Result<usize> {
        if self.left == 0 {
            return Ok(0);
        }
        let part = if self.begin.is_empty() { &self.piece[self.at..] } else { &self.begin[..] };
        let n = part.len().min(room.len());
        room[..n].copy_from_slice(&part[..n]);
        if self.begin.is_empty() {
            self.at = (self.at + n) % self.piece.len();
            if self.at == 0 {
                self.left -= 1;
                if self.left == 0 {
                    self.piece = Vec::new();
                }
            }
        } else {
            self.begin.drain(..n);
        }
        Ok(n)
    }
}

fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?.trim().trim_end_matches(" kB").trim().parse().ok()
}

fn large() {
    let mut piece = String::new();
    records(&mut piece, 1 << 20, false);
    let left = LARGE / piece.len() as u64;
    let mut input =
        Endless { begin: b"<Export>".to_vec(), piece: piece.into_bytes(), at: 0, left }.chain("</Export>".as_bytes());
    let start = Instant::now();
    let kept = ours(&mut input, "Record[@kind='sleep']", &["@kind", "@from", "@to"]);
    let (seconds, peak) = (start.elapsed().as_secs_f64(), peak_kib());
    let peak = peak.map_or("unknown".to_owned(), |kib| format!("{:.0} MB", kib as f64 / 1024.0));
    println!("{LARGE} bytes in {seconds:.1} s, {kept} values kept, peak memory of the process {peak}");
}

fn main() {
    // `cargo bench --bench more -- row` times the documents with `row` in their name only.
    let only = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    if only.is_none() {
        large();
    }
    println!("| document | reader, MB/s | bare quick-xml, MB/s | ratio |\n| --- | --- | --- | --- |");
    let cases = [
        ("attributes, a condition", false, "Record[@kind='sleep']", ["@kind", "@from", "@to"]),
        ("attributes, every record a row", false, "Record", ["@kind", "@from", "@to"]),
        ("nothing related", false, "Night/Stage", ["@kind", "@from", "@to"]),
        ("child texts, every item a row", true, "Item", ["kind", "from", "value"]),
        ("child texts, nothing related", true, "Night/Stage", ["kind", "from", "value"]),
    ];
    for (name, nested, each, wants) in cases {
        if only.as_ref().is_some_and(|only| !name.contains(only.as_str())) {
            continue;
        }
        let bytes = document(nested);
        let (mut mine, mut theirs) = (Vec::new(), Vec::new());
        for _ in 0..15 {
            let start = Instant::now();
            black_box(ours(&mut Input(&bytes), each, &wants));
            mine.push(start.elapsed());
            let start = Instant::now();
            black_box(bare(&bytes));
            theirs.push(start.elapsed());
        }
        mine.sort();
        theirs.sort();
        let speed = |time: Duration| bytes.len() as f64 / 1e6 / time.as_secs_f64();
        let (mine, theirs) = (speed(mine[0]), speed(theirs[0]));
        println!("| {name} | {mine:.0} | {theirs:.0} | {:.2} |", mine / theirs);
    }
}
