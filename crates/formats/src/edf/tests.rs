//! Annotations of EDF+ and BDF+ that a small writer makes, read back.

use super::writer::File;
use crate::testing::request;
use crate::{Format, Limits, Request};
use expect_test::{Expect, expect};
use proptest::prelude::*;

const ALL: &str = "onset, duration, text, channel, record";

fn check(file: &File, expected: Expect) {
    expected.assert_eq(&read(&file.write(), "", ALL));
}

fn read(bytes: &[u8], each: &str, wants: &str) -> String {
    crate::testing::check(Format::Edf, bytes, &request(each, "", wants))
}

#[test]
fn an_annotation_is_a_row_and_timekeeping_is_not() {
    check(
        &File::default(),
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +30: 30, 30, `Sleep stage 2`, nothing, 0
    "#]],
    );
    assert!(read(&File::default().write(), "", "").ends_with("record 0 onset +30: +30 30 Sleep stage 2\n"));
}

#[test]
fn onsets_count_from_the_start_of_the_header_even_when_the_samples_begin_later() {
    let lists =
        vec![vec![b"+0.25\x14\x14\0+0.25\x14Recording starts\x14\0+30.250\x1530\x14Sleep stage W\x14\0".to_vec()]];
    check(
        &File { lists, ..File::default() },
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +0.25: 0.25, nothing, `Recording starts`, nothing, 0
        record 0 onset +30.250: 30.250, 30, `Sleep stage W`, nothing, 0
    "#]],
    );
}

#[test]
fn signals_beside_the_annotations_are_passed_over() {
    let signals = vec![("EEG C4-A1", 256), ("EDF Annotations", 30), ("EOG", 7), ("EDF Annotations", 30)];
    let lists = vec![
        vec![b"+0\x14\x14\0+1\x14a\x14\0".to_vec(), b"-2.5\x14b@@EOG\x14\0".to_vec()],
        vec![b"+40\x14\x14\0".to_vec(), b"+41\x14\xc3\xa4\x14c\x14\0".to_vec()],
    ];
    let file = File { kind: "EDF+D", records: "2".into(), signals, lists, ..File::default() };
    check(
        &file,
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +1: 1, nothing, `a`, nothing, 0
        record 0 onset -2.5: -2.5, nothing, `b`, `EOG`, 0
        record 1 onset +41: 41, nothing, `ä`, nothing, 1
        record 1 onset +41: 41, nothing, `c`, nothing, 1
    "#]],
    );
    let second = read(&file.write(), "#2", "text");
    assert_eq!(second.lines().count(), 4, "{second}");
    assert_eq!(
        read(&file.write(), "#3", "text"),
        "error: `#3` cannot be asked of this format: leave it out to read all annotations, or write `#1` to `#2` for one of the signals `EDF Annotations`\n"
    );
}

#[test]
fn bdf_has_samples_of_three_bytes() {
    let signals = vec![("Cz", 5), ("BDF Annotations", 20)];
    let lists = vec![vec![b"+0\x14\x14\0+1\x14a\x14\0".to_vec()]];
    check(
        &File { bdf: true, kind: "BDF+C", signals, lists, ..File::default() },
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +1: 1, nothing, `a`, nothing, 0
    "#]],
    );
}

#[test]
fn an_unknown_number_of_records_is_read_to_the_end() {
    let file = File { records: "-1".into(), lists: vec![File::default().lists[0].clone(); 2], ..File::default() };
    assert_eq!(read(&file.write(), "", "record").lines().count(), 3);
    let bytes = file.write();
    expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +30: 0
        error: the header announces records up to the end of the file of 120 bytes and the file breaks off after 117 bytes of record 1 (record 1 onset +0)
    "#]]
    .assert_eq(&read(&bytes[..bytes.len() - 3], "", "record"));
}

#[test]
fn a_header_that_lies_is_found_out() {
    check(
        &File { records: "3".into(), ..File::default() },
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +30: 30, 30, `Sleep stage 2`, nothing, 0
        error: the header announces 3 records of 120 bytes and the file breaks off after 0 bytes of record 1 (record 1 onset +0)
    "#]],
    );
    check(
        &File { lists: vec![File::default().lists[0].clone(); 3], ..File::default() },
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +30: 30, 30, `Sleep stage 2`, nothing, 0
        record 1 onset +0: unreadable ``: the header announces 1 record, and behind the last of them stand 240 bytes, which are not read
    "#]],
    );
    let mut bytes = File::default().write();
    bytes[184..192].copy_from_slice(b"768     ");
    assert_eq!(
        read(&bytes, "", ""),
        "error: the header says that it has 768 bytes, and with 1 signal it needs 512 (record 0 onset +0)\n"
    );
    bytes[184..192].copy_from_slice(b"512     ");
    bytes[236..244].copy_from_slice(b"many    ");
    assert_eq!(
        read(&bytes, "", ""),
        "error: the header's number of data records is `many` and not a number (record 0 onset +0)\n"
    );
    assert_eq!(
        read(&bytes[..300], "", ""),
        "error: the header's number of data records is `many` and not a number (record 0 onset +0)\n"
    );
}

#[test]
fn a_recording_without_annotations_is_explained() {
    let file = File { kind: "", signals: vec![("EEG C4-A1", 4)], lists: vec![vec![]], ..File::default() };
    check(
        &file,
        expect![[r#"
        error: this is not EDF+ or BDF+ with annotations: plain EDF, which has no annotations; its signals are `EEG C4-A1`; stages that the lab scored are in another file
    "#]],
    );
    assert_eq!(
        read(b"clock,stage\n22:47,light\n", "", ""),
        "error: this is not EDF+ or BDF+: it begins with `clock,stage 22:47,light` and not with the version `0`\n"
    );
    assert_eq!(read(b"", "", ""), "error: the file is empty\n");
}

#[test]
fn fields_that_identify_a_person_are_named_without_their_values() {
    let file = File {
        patient: "MCH-0234567 F 02-MAY-1951 Invented_Name".into(),
        recording: "Startdate 04-APR-2026 PSG-1 NN Device".into(),
        ..File::default()
    };
    check(
        &file,
        expect![[r#"
        identity: patient code, patient sex, patient birthdate, patient name, recording code, technician
        start: 2026-04-04T22:30:15
        record 0 onset +30: 30, 30, `Sleep stage 2`, nothing, 0
    "#]],
    );
    let file = File { patient: "Invented Name".into(), recording: "by hand".into(), ..File::default() };
    assert!(
        read(&file.write(), "", "").starts_with("identity: patient field (free text), recording field (free text)\n")
    );
}

#[test]
fn dates_that_differ_are_told_before_the_first_row() {
    check(
        &File { date: "05.04.26", ..File::default() },
        expect![[r#"
        start: 2026-04-04T22:30:15
        record 0 onset +0: unreadable `05.04.26 22.30.15 Startdate 04-APR-2026`: the header's start date `05.04.26` is not the date `04-APR-2026` of its recording field; the latter is used
        record 0 onset +30: 30, 30, `Sleep stage 2`, nothing, 0
    "#]],
    );
}

#[test]
fn limits_end_the_reading() {
    let lists = vec![vec![b"+0\x14\x14a\x14b\x14\0".to_vec()]];
    let bytes = File { lists, ..File::default() }.write();
    let limits = |limits| crate::testing::check(Format::Edf, &bytes, &Request { limits, ..request("", "", "") });
    assert!(
        limits(Limits { rows: 1, ..Limits::default() }).ends_with("error: row 2 is more than the limit of 1 (rows)\n")
    );
    assert!(
        limits(Limits { row_bytes: 9, ..Limits::default() })
            .ends_with("error: a record of 120 bytes is more than the limit of 9 (row_bytes)\n")
    );
    assert!(
        limits(Limits { bytes: 600, ..Limits::default() })
            .ends_with("error: a file of 632 bytes or more is more than the limit of 600 (bytes)\n")
    );
}

proptest! {
    #[test]
    fn what_was_written_is_read_back(
        annotations in proptest::collection::vec(("[+-][0-9]{1,5}(\\.[0-9]{1,4})?", proptest::option::of("[0-9]{1,4}(\\.[0-9])?"), "[a-zä ?]{1,12}", proptest::option::of("[A-Z0-9 -]{1,8}")), 1..5),
        bdf: bool,
        records in 1usize..4,
        other in 0usize..9,
    ) {
        let mut list = b"+0\x14\x14\0".to_vec();
        let mut expected = Vec::new();
        for (onset, duration, text, channel) in &annotations {
            list.extend(onset.as_bytes());
            list.extend(duration.iter().flat_map(|d| [b"\x15", d.as_bytes()].concat()));
            let text_channel = channel.as_ref().map_or(text.clone(), |c| format!("{text}@@{c}"));
            list.extend([b"\x14", text_channel.as_bytes(), b"\x14\0"].concat());
            let duration = duration.as_ref().map(|d| format!(" {d}")).unwrap_or_default();
            expected.push(format!("{onset}{duration} {text_channel}"));
        }
        let label = if bdf { "BDF Annotations" } else { "EDF Annotations" };
        let file = File {
            bdf,
            signals: vec![("EEG", other), (label, 200)],
            records: records.to_string(),
            lists: vec![vec![list]; records],
            ..File::default()
        };
        let mut lines = Vec::new();
        crate::read(Format::Edf, &mut file.write().as_slice(), &Request::default(), &mut |event| {
            if let crate::Event::Row(row) = event {
                lines.push(row.line());
            }
            crate::Flow::Continue
        }).unwrap();
        prop_assert_eq!(lines, vec![expected; records].concat());
    }
}
