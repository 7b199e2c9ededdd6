//! Documents and schemas that are made from the code, and the test that refuses stale ones.
//!
//! `UPDATE_EXPECT=1 cargo test --locked -p counterpane generated` writes them.

use crate::cli::Cli;
use crate::commands::{agree, check, clock, explain, import, lineage, nights, plan, query, sheet, show, verify};
use clap::CommandFactory as _;
use counterpane_model::Severity;
use expect_test::expect_file;
use schemars::JsonSchema;
use std::fmt::Write as _;

fn schema<T: JsonSchema>() -> String {
    let schema = schemars::generate::SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<T>();
    format!("{}\n", serde_json::to_string_pretty(&schema).unwrap())
}

#[test]
fn schemas_of_json_answers_are_up_to_date() {
    expect_file!["../../../schemas/agree.schema.json"].assert_eq(&schema::<agree::Answer>());
    expect_file!["../../../schemas/check.schema.json"].assert_eq(&schema::<check::Answer>());
    expect_file!["../../../schemas/clock.schema.json"].assert_eq(&schema::<clock::Answer>());
    expect_file!["../../../schemas/compare.schema.json"]
        .assert_eq(&schema::<counterpane_compare::json::ComparisonJson>());
    expect_file!["../../../schemas/import.schema.json"].assert_eq(&schema::<import::Answer>());
    expect_file!["../../../schemas/lineage.schema.json"].assert_eq(&schema::<lineage::answer::Answer>());
    expect_file!["../../../schemas/nights.schema.json"].assert_eq(&schema::<nights::Answer>());
    expect_file!["../../../schemas/plan.schema.json"].assert_eq(&schema::<plan::Answer>());
    expect_file!["../../../schemas/query.schema.json"].assert_eq(&schema::<query::Printed>());
    expect_file!["../../../schemas/sheet-compare.schema.json"].assert_eq(&schema::<sheet::compare::Answer>());
    expect_file!["../../../schemas/show.schema.json"].assert_eq(&schema::<show::Answer>());
    expect_file!["../../../schemas/verify.schema.json"].assert_eq(&schema::<verify::answer::Answer>());
}

#[test]
fn the_catalogue_of_findings_is_up_to_date() {
    expect_file!["../../../docs/findings.md"].assert_eq(&findings_page());
}

#[test]
fn every_code_is_used_once() {
    let mut codes: Vec<&str> = explain::kinds().iter().map(|k| k.code).collect();
    let n = codes.len();
    codes.dedup();
    assert_eq!(codes.len(), n, "a code belongs to one kind of finding, in import or in check");
}

#[test]
fn the_page_of_limits_is_up_to_date() {
    expect_file!["../../../docs/limits.md"].assert_eq(&limits_page());
}

#[test]
fn the_page_of_commands_is_up_to_date() {
    expect_file!["../../../docs/cli.md"].assert_eq(&cli_page());
}

fn findings_page() -> String {
    let mut out = String::from(
        "# Findings\n\n<!-- Made from the code; see DEVELOPERS.md. Do not edit. -->\n\n\
         What counterpane finds in files and nights. `counterpane explain CODE` prints one of these sections.\n\n\
         | severity | meaning |\n| --- | --- |\n\
         | error | a number computed from this would be wrong; comparisons stop until it is mended, accepted or left out |\n\
         | warning | the numbers stand, but the report says so |\n\
         | info | unusual |\n\n",
    );
    for severity in [Severity::Error, Severity::Warning, Severity::Info] {
        let of: Vec<String> = explain::kinds()
            .iter()
            .filter(|k| k.severity == severity)
            .map(|k| format!("[`{}`](#{})", k.code, k.code))
            .collect();
        let _ = writeln!(out, "- {}: {}", severity.code(), of.join(", "));
    }
    for kind in explain::kinds() {
        let _ = write!(out, "\n{}", counterpane_check::catalogue_entry(kind));
    }
    out
}

fn limits_page() -> String {
    use counterpane_formats::{Limits, limits::LIMITS};
    let mut out = String::from(
        "# Limits\n\n<!-- Made from the code; see DEVELOPERS.md. Do not edit. -->\n\n\
         A file that is broken, or made to do harm, must not use up the machine: so every reader has limits. They are far \
         beyond what honest files need. A file that goes beyond one is not read, nothing of it is stored, and the message \
         names the limit.\n\n\
         | limit | bounds | usual | largest |\n| --- | --- | --- | --- |\n",
    );
    for facts in LIMITS {
        let shown = |n: u64| if facts.is_bytes { crate::importing::size_text(n) } else { n.to_string() };
        let usual = shown(facts.value(&Limits::default()));
        let _ = writeln!(out, "| `{}` | {} | {usual} | {} |", facts.name, facts.bounds, shown(facts.most));
    }
    out.push_str(
        "\nFor one import: `counterpane import FILE --limit rows=2000000000 --limit row_bytes=128MiB` (`load` has it too). \
         For all of a study, in `study.toml`:\n\n\
         ```toml\n[limits]\nrows = 2_000_000_000\nrow_bytes = \"128 MiB\"\n```\n\n\
         A limit can be lowered in the same way. What was not as usual is kept with the import in `decisions.jsonl`, and \
         `rebuild` reads with the same limits. A limit changes what can be read, never what is read: the same file imported \
         again with another limit is the same import.\n",
    );
    out
}

fn cli_page() -> String {
    let mut command = Cli::command().term_width(96);
    command.build();
    let mut out = String::from(
        "# Commands\n\n<!-- Made from the code; see DEVELOPERS.md. Do not edit. -->\n\n\
         Data goes to stdout, talk to stderr. Exit status: 0 fine; 1 errors are open, or a difference was found; \
         2 the command could not run.\n\n",
    );
    section(&mut out, &mut command, 2);
    out
}

fn section(out: &mut String, command: &mut clap::Command, level: usize) {
    let name = command.get_bin_name().unwrap_or("counterpane").to_owned();
    let help = command.render_long_help().to_string();
    let help: String = help.lines().map(|l| format!("{}\n", l.trim_end())).collect();
    let _ = write!(out, "{} {name}\n\n```text\n{}```\n\n", "#".repeat(level), help);
    let shown = command.get_subcommands().filter(|c| !c.is_hide_set());
    let names: Vec<String> = shown.map(|c| c.get_name().to_owned()).collect();
    for name in names {
        if let Some(sub) = command.find_subcommand_mut(&name) {
            section(out, sub, 3);
        }
    }
}
