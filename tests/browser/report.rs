use crate::common::Bench;
use crate::script;

#[test]
fn the_report_answers_and_asks_nothing_of_the_network() {
    let bench = Bench::new();
    bench.line("demo d --dump-mb 1").ends(0);
    script("check_report.py", &[bench.path("d/report.html").as_os_str()]);
}
