use crate::common::{Bench, root};
use crate::import::{import, study};

const NIGHT: &str = r#"[{"window":["2026-04-03T22:30:00+11:00","2026-04-03T23:00:00+11:00"],"word":"w"},
{"window":["2026-04-03T23:00:00+11:00"],"word":"w"}]"#;

fn definition(filter: &str) -> String {
    format!(
        "version = 1\ntitle = \"t\"\n[match]\nformat = \"json\"\n[[rows]]\neach = \"$[*]\"\nfilter = '''{filter}'''\nshape = \"interval\"\nstart = {{ at = \"from\", read = \"rfc3339\", offset = \"trust\" }}\nend = {{ at = \"to\", read = \"rfc3339\", offset = \"trust\" }}\nstage = {{ at = \"word\" }}\n[stages]\n\"w\" = \"W\"\n"
    )
}

fn said(filter: &str) -> crate::common::Run {
    let bench = Bench::new();
    study(&bench, "Australia/Lord_Howe");
    bench.write("s/importers/mine/importer.toml", definition(filter));
    bench.write("night.json", NIGHT);
    import(&bench, "night.json --definition mine --unit ring-a-1 --participant P01 --dry-run")
}

#[test]
fn a_filter_runs_in_a_process_of_the_same_binary() {
    let run = said("{from: .window[0], to: (.window[1] // error(\"no end\")), word}").ends(1);
    assert!(run.stdout.contains("would store P01/2026-04-03: 1 span"), "{}", run.stdout);
    assert!(run.stdout.contains("error[filter-failed]: \"no end\", in"), "{}", run.stdout);
}

#[test]
fn a_filter_sees_no_environment_and_no_clock() {
    for outside in ["env", "now", "$ENV", "input"] {
        let run = said(&format!("{{from: ({outside} | tostring), to: 1, word}}")).ends(2);
        assert!(run.stderr.contains(&format!("`{outside}` is not a ")), "{}", run.stderr);
    }
}

#[test]
fn the_command_for_it_is_not_shown() {
    let bench = Bench::new();
    assert!(!bench.line("--help").ends(0).stdout.contains("__filter"));
    assert!(!std::fs::read_to_string(root().join("docs/cli.md")).unwrap().contains("__filter"));
}
