//! The picture that a sheet was read from is the source of record: it is kept, shown and proved.

use crate::common::{Bench, png};
use crate::sheets::{filled, two_readings};

/// A study, and a sheet whose head names a picture.
fn bench(picture: &str) -> (Bench, String) {
    let bench = Bench::new();
    let sheet = filled(&bench).replace("head\tpicture\t", &format!("head\tpicture\t{picture}"));
    bench.write("one.tsv", &sheet);
    (bench, sheet)
}

fn rows(bench: &Bench, sql: &str) -> String {
    bench.run(&["--study", "s", "query", sql, "--format", "csv"]).ends(0).stdout
}

/// What was said, on one line.
fn said(run: &crate::common::Run) -> String {
    format!("{} {}", run.stdout, run.stderr).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_picture_beside_the_sheet_is_kept_followed_and_proved() {
    let (bench, _) = bench("evening.png, morning.png");
    bench.write("evening.png", png(3, None));
    bench.write("morning.png", png(4, None));
    let told = said(&bench.line("--study s import one.tsv").ends(0));
    assert!(told.contains("keeps evening.png and morning.png as the source of its rows"), "{told}");
    assert_eq!(rows(&bench, "SELECT file FROM picture ORDER BY seq"), "file\nevening.png\nmorning.png\n");
    let lineage = said(&bench.line("--study s lineage 2026-04-03 ring-a").ends(0));
    assert!(lineage.contains("picture evening.png, originals/"), "{lineage}");
    let lineage = bench.line("--study s lineage 2026-04-03 ring-a --format json").ends(0).json();
    let kept = &lineage["device"]["read_from"][1];
    assert_eq!([&kept["kind"], &kept["file"]], ["picture", "morning.png"]);
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    bench.line("--study s verify --full").ends(0);
    // The same again is no other import, even where the pictures are gone.
    std::fs::remove_file(bench.path("evening.png")).unwrap();
    assert!(said(&bench.line("--study s import one.tsv").ends(0)).contains("nothing to do"));
    // A picture that is lost is named, and comes back with the sheet.
    let sha = kept["sha256"].as_str().unwrap();
    std::fs::remove_file(bench.path("s/originals").join(&sha[..2]).join(sha)).unwrap();
    assert!(said(&bench.line("--study s verify").ends(1)).contains("the file is not there: it was morning.png"));
    assert!(said(&bench.line("--study s import one.tsv").ends(0)).contains("is whole again"));
    bench.line("--study s verify").ends(0);
}

#[test]
fn a_picture_that_lies_elsewhere_is_named_or_looked_for_in_the_folder_of_the_study() {
    let (bench, _) = bench("shot.png");
    bench.write("elsewhere/shot.png", png(3, None));
    let told = said(&bench.line("--study s import one.tsv").ends(0));
    assert!(told.contains("note: its head names shot.png, not found beside it"), "{told}");
    // With its picture it is the same rows, read anew.
    let run = bench.line("--study s import one.tsv --picture elsewhere/shot.png --format json").ends(0).json();
    assert_eq!(run["files"][0]["pictures"][0]["file"], "shot.png");
    assert_eq!(run["files"][0]["recordings"][0]["key"], "P01/2026-04-03/ring-a-1#2");
    assert!(said(&bench.line("--study s import one.tsv").ends(0)).contains("nothing to do"));
    let toml = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    bench.write("s/study.toml", toml.replacen("version = 1", "version = 1\npictures = \"../elsewhere\"", 1));
    bench.line("--study s --author me withdraw 2 --reason again").ends(0);
    let run = bench.line("--study s import one.tsv --format json").ends(0).json();
    assert_eq!(run["files"][0]["pictures"][0]["file"], "shot.png");
    // A head names files and leads nowhere else.
    let sheet = std::fs::read_to_string(bench.path("one.tsv")).unwrap();
    bench.write("two.tsv", sheet.replace("picture\tshot.png", "picture\t../elsewhere/shot.png"));
    let run = bench.line("--study s import two.tsv --dry-run --format json").ends(0).json();
    assert_eq!(run["files"][0]["pictures_missing"][0], "../elsewhere/shot.png");
}

#[test]
fn a_list_of_files_names_pictures_too() {
    let (bench, sheet) = bench("lost.png");
    bench.write("in/one.tsv", sheet);
    bench.write("in/shots/a.png", png(3, Some("Author")));
    bench.write("in/list.csv", "path\none.tsv\n");
    let told = said(&bench.line("--study s load in/list.csv --dry-run").ends(0));
    assert!(told.contains("1 file with pictures or readings that were not found: in/one.tsv: lost.png"), "{told}");
    bench.write("in/shots/b.png", png(4, None));
    bench.write("in/list.csv", "path,picture\none.tsv,\"shots/a.png, shots/b.png\"\n");
    let told = said(&bench.line("--study s load in/list.csv").ends(0));
    assert!(told.contains("1 picture with metadata that tell a place") && !told.contains("not found"), "{told}");
    assert_eq!(rows(&bench, "SELECT count(*) FROM picture"), "count(*)\n2\n");
    bench.write("in/list.toml", "version = 1\n[[file]]\npath = \"one.tsv\"\npicture = [\"shots/a.png\"]\n");
    assert!(said(&bench.line("--study s load in/list.toml").ends(0)).contains("1 imported before"));
}

#[test]
fn what_the_metadata_of_a_picture_tell_is_said_and_can_be_blanked() {
    let (bench, _) = bench("shot.png");
    bench.write("shot.png", png(3, Some("Author")));
    let told = said(&bench.line("--study s import one.tsv --dry-run").ends(0));
    assert!(told.contains("the metadata of shot.png tell a person, which the copy in originals/ keeps"), "{told}");
    assert!(!told.contains("invented"), "never with what: {told}");
    let run = bench.line("--study s import one.tsv --blank-identity --format json").ends(0).json();
    let picture = &run["files"][0]["pictures"][0];
    assert_eq!([&picture["tells"][0], &picture["blanked"][0]], ["a person", "tEXt (texts)"]);
    assert_eq!(rows(&bench, "SELECT fields FROM blanked"), "fields\n\"[\"\"tEXt (texts)\"\"]\"\n");
    let kept = std::fs::read_dir(bench.path("s/originals"))
        .unwrap()
        .flat_map(|d| std::fs::read_dir(d.unwrap().path()).unwrap());
    assert!(kept.into_iter().all(|f| !std::fs::read(f.unwrap().path()).unwrap().windows(6).any(|w| w == b"Author")));
    // What was blanked once is blanked again.
    assert!(said(&bench.line("--study s import one.tsv").ends(0)).contains("nothing to do"));
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    bench.line("--study s verify --full").ends(0);
}

#[test]
fn what_is_no_whole_picture_is_refused_and_nothing_is_kept() {
    let (bench, _) = bench("shot.png");
    let whole = png(3, None);
    bench.write("shot.png", &whole[..whole.len() - 6]);
    let told = bench.line("--study s import one.tsv").ends(2).stderr;
    assert!(told.contains("shot.png") && told.contains("the picture breaks off"), "{told}");
    bench.write("shot.gif", "GIF89a");
    let told = bench.line("--study s import one.tsv --picture shot.gif").ends(2).stderr;
    assert!(told.contains("only PNG and JPEG pictures are kept"), "{told}");
    let told = bench.line("--study s import one.tsv --picture none.png").ends(2).stderr;
    assert!(told.contains("none.png: there is no such file"), "{told}");
    let told = bench.line("--study s import one.tsv one.tsv --picture shot.png").ends(2).stderr;
    assert!(told.contains("--picture belongs to one file"), "{told}");
    assert!(!bench.path("s/originals").exists() || std::fs::read_dir(bench.path("s/originals")).unwrap().count() == 0);
}

/// Two readings and the sheet that was settled from them.
fn settled() -> Bench {
    let bench = Bench::new();
    two_readings(&bench);
    let compare = "--study s sheet compare first.tsv second.tsv --settle settle.tsv -o settled.tsv";
    bench.line(compare).ends(1);
    let asked = std::fs::read_to_string(bench.path("settle.tsv")).unwrap();
    bench.write("settle.tsv", asked.replace("\t\t\n", "\tfirst\tread again\n"));
    bench.line(compare).ends(0);
    bench
}

#[test]
fn both_readings_are_kept_with_the_settled_sheet_and_how_far_they_were_apart() {
    let bench = settled();
    let told = said(&bench.line("--study s import settled.tsv").ends(0));
    assert!(
        told.contains("settled from first.tsv and second.tsv, which are kept: the two told 3 of 5 rows (60.0 %) and 436.0 of 475.0 min (91.8 %) differently"),
        "{told}"
    );
    let numbers = "SELECT rows, rows_differing, within_ms, seconds, seconds_differing FROM settlement";
    assert_eq!(rows(&bench, numbers).lines().last(), Some("5,3,120000,28500,26160"));
    let lineage = said(&bench.line("--study s lineage 2026-04-03 ring-a").ends(0));
    assert!(lineage.contains("reading second.tsv, originals/") && lineage.contains("told 3 of 5 rows"), "{lineage}");
    // From now on the study has the readings itself.
    std::fs::create_dir(bench.path("moved")).unwrap();
    std::fs::rename(bench.path("settled.tsv"), bench.path("moved/settled.tsv")).unwrap();
    assert!(said(&bench.line("--study s import moved/settled.tsv").ends(0)).contains("nothing to do"));
    assert!(bench.line("--study s rebuild").ends(0).stderr.contains("the same as before"));
    bench.line("--study s verify --full").ends(0);
}

#[test]
fn a_settled_sheet_without_its_readings_says_what_is_not_known() {
    let bench = settled();
    bench.write("second.tsv", "changed since");
    let told = said(&bench.line("--study s import settled.tsv").ends(0));
    assert!(told.contains("note: it was settled from second.tsv, not found beside it"), "{told}");
    assert_eq!(rows(&bench, "SELECT count(*) FROM settlement"), "count(*)\n0\n");
}

#[test]
fn rows_about_pictures_and_readings_that_were_changed_are_named() {
    for change in [
        "UPDATE picture SET file = 'other.png'",
        "DELETE FROM picture",
        "UPDATE settlement SET rows_differing = 0",
        "DELETE FROM settlement",
    ] {
        let bench = settled();
        bench.write("shot.png", png(3, None));
        bench.line("--study s import settled.tsv --picture shot.png").ends(0);
        rusqlite::Connection::open(bench.path("s/study.db")).unwrap().execute_batch(change).unwrap();
        let told = said(&bench.line("--study s verify").ends(1));
        assert!(told.contains("its pictures, or the readings that it settles, are other ones"), "{change}: {told}");
        let told = said(&bench.line("--study s verify --full").ends(1));
        assert!(told.contains("decision 1"), "{change}: {told}");
        bench.line("--study s rebuild").ends(0);
        bench.line("--study s verify --full").ends(0);
    }
}

/// A study with a reference, and a sheet with its picture.
pub(crate) fn reported(bench: &Bench) {
    let sheet = filled(bench).replace("head\tpicture\t", "head\tpicture\tshot.png");
    bench.write("one.tsv", sheet);
    bench.write("shot.png", png(90, None));
    bench.line("--study s sheet new 2026-04-03 --scorer S1 -o list.tsv").ends(0);
    let list = std::fs::read_to_string(bench.path("list.tsv")).unwrap();
    let list = list.replace("head\tepoch 1\t", "head\tepoch 1\t2026-04-03 22:10:00");
    bench.write("list.tsv", format!("{list}epochs\t1-43\tW\nepochs\t44-600\tN2\nepochs\t601-900\tR\n"));
    bench.line("--study s import one.tsv").ends(0);
    bench.line("--study s import list.tsv").ends(0);
}

#[test]
fn a_report_shows_pictures_only_when_it_is_asked_to() {
    let bench = Bench::new();
    reported(&bench);
    bench.line("--study s report --window scored -o plain.html").ends(0);
    let plain = std::fs::read_to_string(bench.path("plain.html")).unwrap();
    assert!(!plain.contains("img-src") && !plain.contains("<img"), "no picture without the option");
    assert!(plain.contains("1 picture is kept and not shown here: counterpane report --pictures shows each"));
    let said = bench.line("--study s report --window scored --pictures -o shown.html").ends(0).stderr;
    assert!(said.contains("with 1 picture; look at each before you publish the page"), "{said}");
    let shown = std::fs::read_to_string(bench.path("shown.html")).unwrap();
    assert!(shown.contains("img-src data:;") && shown.contains("<img src=\"data:image/png;base64,iVBORw0KGgo"));
    assert!(shown.contains("alt=\"The picture shot.png, off which ring-a-1, P01/2026-04-03 was read\""));
    assert!(!shown.contains("not shown here"));
    assert!(shown.contains("What was read off a picture or a list") && shown.contains("no second reading is kept"));
}
