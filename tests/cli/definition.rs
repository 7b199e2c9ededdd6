use crate::common::{Bench, copy_folder, root};

#[test]
fn every_shipped_definition_passes_its_trial() {
    let bench = Bench::new();
    let importers = root().join("importers");
    let run = bench.run(&["definition", "test", &importers.to_string_lossy()]).ends(0);
    assert!(run.stderr.contains(" 0 failed"), "{}", run.stderr);
    assert!(run.stdout.contains("ring-a/two-nights.json\n  golden as expected; rows 6 = spans 6"), "{}", run.stdout);
    assert!(run.stdout.contains("led back to the word there"), "{}", run.stdout);
}

#[test]
fn a_broken_golden_fails_and_shows_the_line() {
    let bench = Bench::new();
    copy_folder(&root().join("importers/ring-a"), &bench.path("ring-a"));
    let golden = bench.path("ring-a/samples/two-nights.expected");
    let text = std::fs::read_to_string(&golden).unwrap();
    std::fs::write(&golden, text.replacen("  W  ", "  R  ", 1).replacen("  W ", "  R ", 1)).unwrap();
    let run = bench.line("definition test ring-a").ends(1);
    assert!(run.stdout.contains("failed: the golden differs at line"), "{}", run.stdout);
    assert!(run.stderr.contains(", 1 failed"), "{}", run.stderr);
}

#[test]
fn a_definition_that_points_at_the_wrong_place_or_misreads_fails() {
    let bench = Bench::new();
    copy_folder(&root().join("importers/ring-a"), &bench.path("ring-a"));
    let toml = bench.path("ring-a/importer.toml");
    let text = std::fs::read_to_string(&toml).unwrap();
    std::fs::write(
        &toml,
        text.replace("awake = \"W\"", "awake = \"R\"").replace("\"awake\" = \"W\"", "\"awake\" = \"R\""),
    )
    .unwrap();
    bench.line("definition test ring-a").ends(1);
    std::fs::write(&toml, text.replace("[stages]", "[stagse]")).unwrap();
    let said = bench.line("definition test ring-a").ends(2).stderr;
    assert!(said.contains("stagse") && said.contains("importer.toml:"), "{said}");
}

#[test]
fn a_folder_without_definitions_or_samples_is_answered_with_what_is_missing() {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("empty")).unwrap();
    assert!(bench.line("definition test empty").ends(2).stderr.contains("holds no importer.toml"));
    copy_folder(&root().join("importers/ring-a"), &bench.path("a"));
    std::fs::remove_file(bench.path("a/samples/two-nights.toml")).unwrap();
    let said = bench.line("definition test a").ends(2).stderr;
    assert!(said.contains("write what the command line would say of the sample"), "{said}");
}
