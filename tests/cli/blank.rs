//! `--blank-identity`: what identifies a person is gone from everything that the study keeps.

use crate::common::{Bench, root};
use crate::import::{import, study};
use std::path::Path;

const NAME: &[u8] = b"An_Invented_Name";

/// The sample night of a laboratory, with a person's name in its header.
fn named_night() -> Vec<u8> {
    let mut bytes = std::fs::read(root().join("importers/edf-stages/samples/newer-rules.edf")).unwrap();
    let field = |text: &str| format!("{text:<80}").into_bytes();
    bytes[8..88].copy_from_slice(&field("PSG-7 F 02-MAY-1951 An_Invented_Name"));
    let date: String = String::from_utf8_lossy(&bytes[88..168]).split_whitespace().nth(1).unwrap().to_owned();
    bytes[88..168].copy_from_slice(&field(&format!("Startdate {date} R-99 An_Invented_Name box")));
    bytes
}

fn holds(path: &Path, words: &[u8]) -> bool {
    let entries = std::fs::read_dir(path).unwrap().map(|e| e.unwrap().path());
    entries.into_iter().any(|p| {
        if p.is_dir() { holds(&p, words) } else { std::fs::read(&p).unwrap().windows(words.len()).any(|w| w == words) }
    })
}

fn bench() -> Bench {
    let bench = Bench::new();
    study(&bench, "Europe/Berlin");
    bench.write("psg.edf", named_night());
    bench
}

#[test]
fn a_header_is_blanked_on_the_way_in_and_both_hashes_are_on_record() {
    let bench = bench();
    let words = "psg.edf --scorer S1 --new-nights";
    let run = import(&bench, &format!("{words} --blank-identity --format json")).ends(0).json();
    let file = &run["files"][0];
    let (kept, received) = (file["sha256"].as_str().unwrap(), file["received_sha256"].as_str().unwrap());
    assert_ne!(kept, received);
    assert_eq!(file["blanked"].as_array().unwrap().len(), 6, "{file}");
    assert!(!holds(&bench.path("s"), NAME), "the name is nowhere in the study");
    assert!(bench.path("s/originals").join(&kept[..2]).join(kept).is_file());
    let rows = bench.run(&["--study", "s", "query", "SELECT original, received FROM blanked", "--format", "csv"]);
    assert_eq!(rows.ends(0).stdout, format!("original,received\n{kept},{received}\n"));
    // The same file again is no other file, with the option or as the copy that is kept.
    let again = import(&bench, &format!("{words} --blank-identity")).ends(0);
    assert!(again.stderr.contains("nothing to do"), "{}", again.stderr);
    let copy = std::fs::read(bench.path("s/originals").join(&kept[..2]).join(kept)).unwrap();
    bench.write("copy.edf", copy);
    assert!(import(&bench, "copy.edf --scorer S1").ends(0).stderr.contains("nothing to do"));
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    bench.line("--study s verify --full").ends(0);
    let night = file["recordings"][0]["night"].as_str().unwrap();
    let history = bench.line(&format!("--study s show {night} --history --format json")).ends(0).json();
    assert_eq!(history["history"]["recordings"][0]["received"], received);
    let said = bench.line(&format!("--study s lineage {night} S1 W")).ends(0).stdout;
    assert!(said.contains(&format!("blanked; received as {}…", &received[..12])), "{said}");
}

#[test]
fn without_the_option_the_file_is_kept_as_it_is_and_the_option_is_named() {
    let bench = bench();
    let said = import(&bench, "psg.edf --scorer S1 --new-nights").ends(0).stderr;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("--blank-identity blanks it on the way in") && !said.contains("Invented"), "{said}");
    assert!(holds(&bench.path("s/originals"), NAME));
}

#[test]
fn a_study_may_blank_everything_that_comes_in() {
    let bench = bench();
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", text.replacen("version = 1", "version = 1\nblank_identity = true", 1));
    bench.write("list.toml", "version = 1\n[[file]]\npath = \"psg.edf\"\nscorer = \"S1\"\nnew_nights = true\n");
    bench.line("--study s load list.toml").ends(0);
    assert!(!holds(&bench.path("s"), NAME));
    // What has no such fields is kept as it is.
    bench
        .write("ring.json", crate::import::ring(&[("2026-04-03T22:00:00+02:00", "2026-04-04T06:00:00+02:00", "deep")]));
    let run = import(&bench, "ring.json --unit ring-a-1 --format json").ends(0).json();
    assert!(run["files"][0]["received_sha256"].is_null());
}

#[test]
fn a_picture_of_a_clock_is_kept_without_place_and_camera() {
    let bench = bench();
    let chunk = |name: &[u8], data: &[u8]| {
        [&u32::try_from(data.len()).unwrap().to_be_bytes()[..], name, data, &[0; 4]].concat()
    };
    let drawn = [chunk(b"IHDR", &[0; 13]), chunk(b"IDAT", b"pixels"), chunk(b"IEND", b"")];
    let [head, pixels, end] = &drawn;
    let picture = [&b"\x89PNG\r\n\x1a\n"[..], head, &chunk(b"tEXt", NAME), pixels, end].concat();
    bench.write("phone.png", &picture);
    bench.write("phone.heic", [&[0, 0, 0, 24][..], b"ftypheic", NAME].concat());
    let add = |picture: &str| {
        let words = ["--study", "s", "--author", "me", "clock", "add", "2026-04-03", "ring-a", "--shown", "22:03:10"];
        bench.run(&[&words[..], &["--true", "22:00:05", "--blank-identity", "--picture", picture]].concat())
    };
    let refused = add("phone.heic").ends(2).stderr;
    assert!(refused.contains("only JPEG and PNG pictures can be blanked"), "{refused}");
    assert!(add("phone.png").ends(0).stderr.contains("the picture is kept without tEXt (texts)"));
    assert!(!holds(&bench.path("s"), NAME));
    assert!(holds(&bench.path("s/originals"), b"pixels"));
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    bench.line("--study s verify --full").ends(0);
}

#[test]
fn a_picture_that_breaks_off_is_refused_and_nothing_is_kept() {
    let bench = bench();
    bench.write("phone.png", b"\x89PNG\r\n\x1a\nhalf a picture of An_Invented_Name");
    let words = ["--study", "s", "--author", "me", "clock", "add", "2026-04-03", "ring-a", "--shown", "22:03:10"];
    let run = bench.run(&[&words[..], &["--true", "22:00:05", "--blank-identity", "--picture", "phone.png"]].concat());
    let said = run.ends(2).stderr;
    assert!(said.contains("phone.png") && said.contains("it cannot be blanked"), "{said}");
    assert!(!holds(&bench.path("s"), NAME));
}

/// What was said, on one line.
fn said(run: &crate::common::Run) -> String {
    format!("{} {}", run.stdout, run.stderr).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn what_was_blanked_once_is_blanked_again_when_nobody_says_so() {
    let bench = bench();
    let run = import(&bench, "psg.edf --scorer S1 --new-nights --blank-identity --format json").ends(0).json();
    let (kept, received) = (run["files"][0]["sha256"].as_str().unwrap(), run["files"][0]["received_sha256"].as_str());
    let again = said(&import(&bench, "psg.edf --scorer S1").ends(0));
    assert!(again.contains("nothing to do") && !holds(&bench.path("s"), NAME), "{again}");
    // A copy that was lost is named with both hashes, and comes back from the received file, blanked.
    std::fs::remove_file(bench.path("s/originals").join(&kept[..2]).join(kept)).unwrap();
    let lost = said(&bench.line("--study s verify").ends(1));
    assert!(
        lost.contains(kept) && lost.contains(&format!("as received its SHA-256 was {}", received.unwrap())),
        "{lost}"
    );
    assert!(said(&import(&bench, "psg.edf --scorer S1").ends(0)).contains("is whole again"));
    assert!(!holds(&bench.path("s"), NAME));
    let proof = said(&bench.line("--study s verify --full").ends(0));
    assert!(proof.contains("1 file as blanked on the way in"), "{proof}");
    // Whoever wants it whole says so, and who blanks it after that is told of the copy that stays.
    import(&bench, "psg.edf --scorer S1 --blank-identity=false").ends(0);
    assert!(holds(&bench.path("s/originals"), NAME));
    let told = said(&import(&bench, "psg.edf --scorer S1 --blank-identity").ends(0));
    assert!(told.contains("decision 2 keeps this file as it was received"), "{told}");
}

#[test]
fn where_nothing_was_to_blank_the_output_says_so() {
    let bench = bench();
    let sample = std::fs::read(root().join("importers/edf-stages/samples/newer-rules.edf")).unwrap();
    let mut clean = named_night();
    clean[8..88].copy_from_slice(format!("{:<80}", "X X X X").as_bytes());
    clean[88..168].copy_from_slice(format!("{:<80}", "Startdate X X X box").as_bytes());
    assert_eq!(clean.len(), sample.len());
    bench.write("clean.edf", clean);
    let told = said(&import(&bench, "clean.edf --scorer S1 --new-nights --blank-identity").ends(0));
    assert!(told.contains("nothing was to blank: its header names nobody"), "{told}");
    bench
        .write("ring.json", crate::import::ring(&[("2026-04-03T22:00:00+02:00", "2026-04-04T06:00:00+02:00", "deep")]));
    let told = said(&import(&bench, "ring.json --unit ring-a-1 --blank-identity").ends(0));
    assert!(told.contains("nothing was blanked: that reaches the header of EDF"), "{told}");
}

#[test]
fn a_list_of_files_says_it_for_a_file_and_the_sum_counts() {
    let bench = bench();
    bench.write("list.csv", "path,scorer,new_nights,blank_identity\npsg.edf,S1,true,\n");
    let told = said(&bench.line("--study s load list.csv --dry-run").ends(0));
    assert!(told.contains("1 file with a person named in the header") && !told.contains("Invented"), "{told}");
    bench.write("list.csv", "path,scorer,new_nights,blank_identity\npsg.edf,S1,true,true\n");
    let told = said(&bench.line("--study s load list.csv").ends(0));
    assert!(told.contains("1 file blanked on the way in"), "{told}");
    assert!(!holds(&bench.path("s"), NAME));
}
