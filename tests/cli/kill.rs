use crate::common::Bench;
use std::process::Stdio;
use std::time::Duration;

/// A JSON export of one long night with very many pieces, so that an import takes a while.
fn long_export() -> String {
    let mut pieces = String::new();
    // 2026-04-04T12:00:00Z and on: one second a piece, 9 hours.
    for i in 0..32_400_u32 {
        let at = |s: u32| format!("2026-04-04T{:02}:{:02}:{:02}+00:00", 12 + s / 3600, s / 60 % 60, s % 60);
        let depth = ["awake", "shallow", "deep", "dream"][(i / 600 % 4) as usize];
        if i > 0 {
            pieces.push(',');
        }
        pieces.push_str(&format!("{{\"from\":\"{}\",\"to\":\"{}\",\"depth\":\"{depth}\"}}", at(i), at(i + 1)));
    }
    format!(
        "{{\"made_by\":\"ring-a (invented)\",\"account\":\"P01\",\"sleeps\":[{{\"evening\":\"2026-04-04\",\"pieces\":[{pieces}]}}]}}"
    )
}

const DECLARATIONS: &str = "
[[participant]]
code = \"P01\"
[[device]]
name = \"ring-a\"
definition = \"ring-a\"
[[unit]]
name = \"ring-a-1\"
device = \"ring-a\"
[[night]]
participant = \"P01\"
label = \"2026-04-04\"
";

/// kill -9 at moments all over an import: the study opens, and the import is whole or absent.
#[test]
fn a_killed_import_is_whole_or_absent() {
    let bench = Bench::new();
    bench.write("long.json", long_export());
    let study = |name: &str| {
        bench.line(&format!("new {name} --zone UTC")).ends(0);
        let toml = bench.path(name).join("study.toml");
        let text = std::fs::read_to_string(&toml).unwrap();
        std::fs::write(&toml, format!("{text}{DECLARATIONS}")).unwrap();
    };
    study("whole");
    let begun = std::time::Instant::now();
    bench.line("--study whole import long.json --unit ring-a-1").ends(0);
    let takes = begun.elapsed();
    let count = |name: &str| {
        let sql = "SELECT (SELECT count(*) FROM recording), (SELECT count(*) FROM span), (SELECT count(*) FROM strip)";
        bench.run(&["--study", name, "query", sql, "--format", "csv"]).ends(0).stdout.lines().nth(1).unwrap().to_owned()
    };
    assert_eq!(count("whole"), "1,32400,1");
    let (mut absent, mut whole) = (0, 0);
    for i in 0..24_u32 {
        let name = format!("s{i}");
        study(&name);
        let words = ["--study", name.as_str(), "import", "long.json", "--unit", "ring-a-1"];
        let mut child = bench.command(&words).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(takes * i / 20 + Duration::from_millis(1));
        child.kill().unwrap();
        child.wait().unwrap();
        match count(&name).as_str() {
            "0,0,0" => absent += 1,
            "1,32400,1" => whole += 1,
            other => panic!("after a kill at {i}/20 of the import the store holds {other}"),
        }
        // The same import again completes what is absent and changes nothing of what is whole.
        bench.run(&words).ends(0);
        assert_eq!(count(&name), "1,32400,1");
        let said = bench.line(&format!("--study {name} rebuild")).ends(0).stderr;
        assert!(said.contains("the same as before"), "{said}");
    }
    assert!(absent > 0, "no kill came before the decision: the test saw nothing");
    println!("24 kills: {absent} absent, {whole} whole");
}

#[test]
fn two_imports_at_once_are_both_whole() {
    let bench = Bench::new();
    bench.write("long.json", long_export());
    bench.line("new s --zone UTC").ends(0);
    let text = std::fs::read_to_string(bench.path("s/study.toml")).unwrap();
    let second = DECLARATIONS
        .replace("P01", "P02")
        .replace("[[device]]\nname = \"ring-a\"\ndefinition = \"ring-a\"\n", "")
        .replace("ring-a-1", "ring-a-2");
    bench.write("s/study.toml", format!("{text}{DECLARATIONS}{second}"));
    let start = |unit: &str, person: &str| {
        bench
            .command(&["--study", "s", "import", "long.json", "--unit", unit, "--participant", person])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    };
    let (a, b) = (start("ring-a-1", "P01"), start("ring-a-2", "P02"));
    let (a, b) = (a.wait_with_output().unwrap(), b.wait_with_output().unwrap());
    for output in [&a, &b] {
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success() || said.contains("another counterpane is writing"), "{said}");
    }
    for (unit, person) in [("ring-a-1", "P01"), ("ring-a-2", "P02")] {
        bench.run(&["--study", "s", "import", "long.json", "--unit", unit, "--participant", person]).ends(0);
    }
    let csv = bench.run(&["--study", "s", "query", "SELECT count(*) FROM span", "--format", "csv"]).ends(0).stdout;
    assert_eq!(csv, "count(*)\n64800\n");
}
