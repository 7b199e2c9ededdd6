//! Members, patterns, archives in archives, folders, and archives that are made to do harm.

use super::{FolderFile, members, read_folder};
use crate::testing::request;
use crate::{Event, Flow, Format, Limits, Request};
use expect_test::{Expect, expect};
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        writer.start_file(*name, options).unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

fn asking(member: &str, wants: &str) -> Request {
    Request { member: Some(member.into()), inner: Some(Format::Csv), ..request("", "", wants) }
}

fn check(bytes: &[u8], member: &str, wants: &str, expected: Expect) {
    expected.assert_eq(&crate::testing::check(Format::Zip, bytes, &asking(member, wants)));
}

fn account() -> Vec<u8> {
    zip(&[
        ("days/2.csv", b"clock,stage\n23:10,deep\n"),
        ("days/10.csv", b"clock,stage\n22:47,light\n22:58\n"),
        ("days/notes.txt", b"x"),
        ("read.me", b"x"),
        ("more/days/3.csv", b"clock,stage\n01:00,awake\n"),
    ])
}

#[test]
fn members_are_read_in_the_order_of_their_names() {
    check(
        &account(),
        "days/*.csv",
        "clock, stage",
        expect![[r#"
            member: days/10.csv
            columns: clock | stage
            member "days/10.csv" line 2:1: `22:47`, `light` (member "days/10.csv" line 2:7)
            member "days/10.csv" line 3:1: unreadable `22:58`: this line has 1 field and the header has 2
            member: days/2.csv
            columns: clock | stage
            member "days/2.csv" line 2:1: `23:10`, `deep` (member "days/2.csv" line 2:7)
        "#]],
    );
}

#[test]
fn a_star_stays_within_one_folder() {
    let rows = |member: &str| {
        let out = crate::testing::check(Format::Zip, &account(), &asking(member, "clock"));
        out.lines().filter(|l| l.starts_with("member: ")).count()
    };
    assert_eq!(rows("*/*.csv"), 2);
    assert_eq!(rows("*/*/*.csv"), 1);
    assert_eq!(rows("days/1*.csv"), 1);
    assert_eq!(rows("d*y*/*2.*"), 1);
    assert_eq!(rows("days/2.csv"), 1);
}

#[test]
fn a_path_that_leads_nowhere_names_what_there_is() {
    check(
        &account(),
        "*.csv",
        "clock",
        expect![[r#"
        error: `*.csv` cannot be asked of this format: no member has this name; there are `days/10.csv`, `days/2.csv`, `days/notes.txt`, `more/days/3.csv`, `read.me`
    "#]],
    );
    let no_member = request("", "", "clock");
    assert_eq!(
        crate::testing::check(Format::Zip, &account(), &no_member),
        "error: `member` cannot be asked of this format: say which members hold the rows, such as `days/*.csv`\n"
    );
}

#[test]
fn an_archive_in_an_archive_is_a_part_of_the_path() {
    let outer = zip(&[("all.ZIP", &account())]);
    check(
        &outer,
        "*.ZIP/days/2.csv",
        "stage",
        expect![[r#"
        member: all.ZIP/days/2.csv
        columns: clock | stage
        member "all.ZIP/days/2.csv" line 2:1: `deep` (member "all.ZIP/days/2.csv" line 2:7)
    "#]],
    );
    let deep = zip(&[("d.zip", &zip(&[("c.zip", &zip(&[("b.zip", &outer)]))]))]);
    check(
        &deep,
        "d.zip/c.zip/b.zip/all.ZIP/days/2.csv",
        "stage",
        expect![[r#"
        error: an archive `d.zip/c.zip/b.zip` inside 3 archives is more than the limit of 2 (nesting)
    "#]],
    );
}

#[test]
fn what_is_wrong_in_a_member_names_the_member() {
    let bytes = zip(&[("a.csv", b"clock\n22:47\n"), ("b.csv", b"\xff\xfe"), ("c.csv", b"clock\n\"x\n")]);
    check(
        &bytes,
        "*.csv",
        "clock",
        expect![[r#"
        member: a.csv
        columns: clock
        member "a.csv" line 2:1: `22:47`
        error: member `b.csv`: the file is empty
    "#]],
    );
    check(
        &bytes,
        "c.csv",
        "clock",
        expect![[r#"
        member: c.csv
        columns: clock
        error: member `c.csv`: a quote is opened here and never closed (line 2:1)
    "#]],
    );
}

#[test]
fn reading_ends_when_the_caller_has_enough() {
    let mut events = 0;
    let result = crate::read(Format::Zip, &mut account().as_slice(), &asking("days/*.csv", "clock"), &mut |_| {
        events += 1;
        if events == 2 { Flow::Stop } else { Flow::Continue }
    });
    assert!(result.is_ok() && events == 2);
}

#[test]
fn rows_of_all_members_count_together() {
    let limits = Limits { rows: 2, ..Limits::default() };
    let request = Request { limits, ..asking("days/*.csv", "clock") };
    let out = crate::testing::check(Format::Zip, &account(), &request);
    assert_eq!(out.lines().last(), Some("error: row 3 is more than the limit of 2 (rows)"));
}

#[test]
fn members_are_listed_with_their_sizes() {
    let list = members(Cursor::new(zip(&[("b/", b""), ("b/x", &[0; 1000]), ("a", b"12")])), Limits::default()).unwrap();
    let names: Vec<_> = list.iter().map(|m| (m.name.as_str(), m.bytes, m.compressed < 20)).collect();
    assert_eq!(names, [("a", 2, true), ("b/x", 1000, true)]);
}

#[test]
fn a_folder_reads_like_an_archive() {
    let pack = zip(&[("n.csv", b"clock\n4\n")]);
    let files: [(&str, &[u8]); 4] =
        [("days/2.csv", b"clock\n2\n"), ("days/10.csv", b"clock\n1\n"), ("x.csv", b""), ("days/p.zip", &pack)];
    let asked = |member: &str| {
        let open = |bytes: &'static [u8]| move || Ok(Box::new(bytes) as Box<dyn Read>);
        let mut files: Vec<FolderFile<'_>> = files
            .iter()
            .map(|(name, bytes)| FolderFile { name: (*name).into(), open: Box::new(open(bytes.to_vec().leak())) })
            .collect();
        let mut out = String::new();
        let result = read_folder(&mut files, &asking(member, "clock"), &mut |event| {
            if let Event::Row(row) = event {
                out += &format!("{}: {}\n", row.locator(), row.line());
            }
            Flow::Continue
        });
        out + &result.err().map(|e| e.to_string()).unwrap_or_default()
    };
    assert_eq!(asked("days/*.csv"), "member \"days/10.csv\" line 2:1: 1\nmember \"days/2.csv\" line 2:1: 2\n");
    assert_eq!(asked("days/p.zip/*"), "member \"days/p.zip/n.csv\" line 2:1: 4\n");
    assert!(
        asked("y").starts_with("`y` cannot be asked of this format: no member has this name; there are `days/10.csv`")
    );
}

/// Returns how reading every CSV file of an archive ended.
fn error(bytes: &[u8]) -> String {
    let out = crate::testing::check(Format::Zip, bytes, &asking("*.csv", "clock"));
    out.lines().last().unwrap_or_default().trim_start_matches("error: ").to_owned()
}

/// Returns the place of the n-th header of a kind: `b"PK\x01\x02"` of the list, `b"PK\x03\x04"` before a member.
fn header(bytes: &[u8], kind: &[u8], n: usize) -> usize {
    bytes.windows(4).enumerate().filter(|(_, w)| *w == kind).nth(n).unwrap().0
}

#[test]
fn names_that_lead_out_are_refused() {
    for name in ["../../a.csv", "/etc/a.csv", "b/../../a.csv", "C:/a.csv", "..\\a.csv", "b/../a.csv"] {
        let out = error(&zip(&[(name, b"clock\n1\n")]));
        assert!(out.contains("leads out of the archive"), "{name}: {out}");
    }
}

#[test]
fn an_encrypted_member_is_explained() {
    let mut bytes = zip(&[("a.csv", b"clock\n1\n")]);
    for (kind, flags) in [(b"PK\x01\x02", 8), (b"PK\x03\x04", 6)] {
        let at = header(&bytes, kind, 0) + flags;
        bytes[at] |= 1;
    }
    assert_eq!(
        error(&bytes),
        "member `a.csv`: the member `a.csv` is locked with a password; open it, save a copy without one, and import that"
    );
}

#[test]
fn entries_that_share_bytes_are_refused() {
    let mut bytes = zip(&[("a.csv", b"clock\n1\n"), ("b.csv", b"clock\n1\n")]);
    let second = header(&bytes, b"PK\x01\x02", 1);
    bytes[second + 42..second + 46].fill(0);
    assert!(error(&bytes).contains("some of its members share bytes"), "{}", error(&bytes));
}

#[test]
fn two_members_of_one_name_are_refused() {
    let mut bytes = zip(&[("a.csv", b"clock\n1\n"), ("b.csv", b"clock\n1\n")]);
    for kind in [b"PK\x01\x02", b"PK\x03\x04"] {
        let at = header(&bytes, kind, 1);
        let name = bytes[at..].windows(5).position(|w| w == b"b.csv").unwrap() + at;
        bytes[name] = b'a';
    }
    assert!(error(&bytes).contains("two of its members have one name"), "{}", error(&bytes));
}

#[test]
fn a_header_that_contradicts_the_list_is_refused() {
    let mut bytes = zip(&[("a.csv", b"clock\n1\n")]);
    let name = header(&bytes, b"PK\x03\x04", 0) + 30;
    bytes[name] = b'b';
    assert!(error(&bytes).starts_with("member `a.csv`: this is not an archive (ZIP): a.csv: "), "{}", error(&bytes));
}

#[test]
fn a_member_that_lies_about_its_size_is_stopped() {
    let long = ["clock\n".to_owned(), "22:47\n".repeat(100_000)].concat();
    let mut bytes = zip(&[("a.csv", long.as_bytes())]);
    for (kind, size) in [(b"PK\x01\x02", 24), (b"PK\x03\x04", 22)] {
        let at = header(&bytes, kind, 0) + size;
        bytes[at..at + 4].copy_from_slice(&100_u32.to_le_bytes());
    }
    let out = error(&bytes);
    assert!(out.starts_with("member `a.csv`: this is not an archive (ZIP) that can be trusted: "), "{out}");
}

#[test]
fn damaged_bytes_are_told_and_cut_archives_are_none() {
    let long: String = (0..1000).map(|n| format!("{}\n", n * 7919)).collect();
    let whole = zip(&[("a.csv", ["clock\n", &long].concat().as_bytes())]);
    let mut bytes = whole.clone();
    bytes[1000] ^= 0x55;
    assert!(error(&bytes).contains("its bytes are damaged"), "{}", error(&bytes));
    assert!(error(&whole[..whole.len() - 30]).starts_with("this is not an archive (ZIP): it: "));
    assert_eq!(error(b""), "the file is empty");
    assert!(error(b"clock\n").starts_with("this is not an archive (ZIP): it: "), "{}", error(b"clock\n"));
}

#[test]
fn a_gigabyte_in_a_megabyte_is_refused_at_once_whatever_it_says() {
    let start = std::time::Instant::now();
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    writer.start_file("a.csv", SimpleFileOptions::default()).unwrap();
    std::io::copy(&mut b"clock\n".chain(std::io::repeat(b'0').take(1 << 30)), &mut writer).unwrap();
    let mut bytes = writer.finish().unwrap().into_inner();
    assert!(bytes.len() < 2 << 20);
    let built = start.elapsed();
    let out = error(&bytes);
    assert!(out.contains("so that its ratio is more than the limit of 400 (ratio)"), "{out}");
    for (kind, size) in [(b"PK\x01\x02", 24), (b"PK\x03\x04", 22)] {
        let at = header(&bytes, kind, 0) + size;
        bytes[at..at + 4].copy_from_slice(&100_u32.to_le_bytes());
    }
    let out = error(&bytes);
    assert!(out.contains("that can be trusted"), "{out}");
    assert!((start.elapsed() - built).as_secs() < 10);
}

#[test]
fn too_many_members_are_refused_before_they_are_listed() {
    let names: Vec<String> = (0..50).map(|n| format!("{n}.csv")).collect();
    let files: Vec<(&str, &[u8])> = names.iter().map(|n| (n.as_str(), &b"clock\n"[..])).collect();
    let limits = Limits { members: 49, ..Limits::default() };
    let error = members(Cursor::new(zip(&files)), limits).unwrap_err().to_string();
    assert_eq!(error, "an archive of 50 members is more than the limit of 49 (members)");
}
