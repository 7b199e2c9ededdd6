use crate::common::{Bench, png};
use crate::{browser, script};

#[test]
fn the_report_answers_and_asks_nothing_of_the_network() {
    let Some(python) = browser() else { return };
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    script(&python, "check_report.py", &[bench.path("d/report.html").as_os_str()]);
}

#[test]
fn a_report_with_pictures_shows_each_of_them() {
    let Some(python) = browser() else { return };
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    for (name, width) in [("first.png", 90), ("second.png", 250)] {
        bench.write(name, png(width, None));
    }
    let sheet = "d/raw/band-a/P01_2026-04-04.tsv --unit band-a-1 --night 2026-04-04 --precision 1";
    bench.line(&format!("--study d/study import {sheet} --picture first.png --picture second.png")).ends(0);
    bench.line("--study d/study report --pictures -o shown.html").ends(0);
    let pictures = [bench.path("shown.html").into_os_string(), "--pictures".into(), "2".into()];
    script(&python, "check_report.py", &pictures.each_ref().map(|w| w.as_os_str()));
}
