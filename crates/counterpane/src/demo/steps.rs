//! What the demo does with its raw files: the commands that a reviewer would type.

use super::facts;
use counterpane_import::shipped;

/// One step, and the sentence that is printed before it.
pub(crate) struct Step {
    /// Why it is done.
    pub(crate) why: &'static str,
    /// What is done.
    pub(crate) act: Do,
}

/// What a step does. `{raw}`, `{study}` and `{dir}` stand for the folders of the demo.
pub(crate) enum Do {
    /// Runs a command of this program.
    Command {
        /// The words after `counterpane`.
        words: Vec<String>,
        /// Whether it finds open errors.
        faulty: bool,
    },
    /// Writes a file of the study.
    Write {
        /// Path in the study.
        path: &'static str,
        /// Its text.
        text: String,
    },
    /// Adds text to the end of a file of the study.
    Append {
        /// Path in the study.
        path: &'static str,
        /// The text.
        text: String,
    },
}

pub(super) const DEVICES: [&str; 9] =
    ["band-a", "band-b", "mat-a", "patch-a", "patch-z", "ring-a", "ring-b", "ring-c", "watch-a"];
const LABELS: [&str; 3] = ["2026-04-03", "2026-04-04", "2026-04-05"];

/// Returns the steps in order.
pub(crate) fn steps() -> Vec<Step> {
    let mut steps = vec![
        Step {
            why: "First an empty study, in the zone of the bedrooms:",
            act: Do::Command {
                words: ["new", "{study}", "--zone", "Australia/Lord_Howe", "--name", "Demo study (invented)"]
                    .map(str::to_owned)
                    .to_vec(),
                faulty: false,
            },
        },
        Step {
            why: "Then who and what is in it: two people, nine devices, one scorer, six nights, and the protocol:",
            act: Do::Append { path: "study.toml", text: declarations() },
        },
    ];
    steps.extend(imports());
    steps.extend(endings());
    steps
}

fn command(why: &'static str, words: &str, faulty: bool) -> Step {
    Step { why, act: Do::Command { words: words.split_whitespace().map(str::to_owned).collect(), faulty } }
}

fn imports() -> Vec<Step> {
    let mut steps = Vec::new();
    for (who, unit) in [("P01", "1"), ("P02", "2")] {
        let psg = LABELS.map(|l| format!("{{raw}}/psg/{who}_{l}.edf")).join(" ");
        let overlap = who == "P01";
        steps.push(command(
            "The reference comes as EDF+ annotations, with lights off and on:",
            &format!("import {psg} --scorer S1 --participant {who}"),
            false,
        ));
        steps.push(command(
            if overlap {
                "ring-a gives one JSON for all nights; in one of them two pieces overlap, which is an error:"
            } else {
                "The same device on the other finger of the other person:"
            },
            &format!("import {{raw}}/ring-a/{who}.json --unit ring-a-{unit}"),
            overlap,
        ));
        for (why, device) in [
            ("ring-b gives one letter for each two minutes, and its clock is 4 minutes late:", "ring-b"),
            ("mat-a gives totals only; they enter the minutes tables and never a matrix:", "mat-a"),
        ] {
            steps.push(command(why, &format!("import {{raw}}/{device}/{who}.json --unit {device}-{unit}"), false));
        }
        for label in LABELS {
            let unmapped = (who, label) == ("P02", "2026-04-05");
            let why = if unmapped {
                "In the last sheet of watch-a stands a word that nobody has explained, which is an error:"
            } else {
                "watch-a gives times of day without a date, so the night is named:"
            };
            let words = format!("import {{raw}}/watch-a/{who}_{label}.csv --unit watch-a-{unit} --night {label}");
            steps.push(command(why, &words, unmapped));
            let words =
                format!("import {{raw}}/band-a/{who}_{label}.tsv --unit band-a-{unit} --night {label} --precision 1");
            steps.push(command("band-a shows its stages on a screen only; somebody typed them:", &words, false));
        }
        let patch = LABELS.map(|l| format!("{{raw}}/patch-z/{who}_{l}.jsonl")).join(" ");
        let words = format!("import {patch} --unit patch-z-{unit}");
        steps.push(command("patch-z knows only sleep and wake:", &words, false));
        steps.extend(bigger_files(who, unit));
    }
    steps
}

/// A workbook, an archive and a dump.
fn bigger_files(who: &str, unit: &str) -> Vec<Step> {
    let import = |why, device: &str, ending: &str| {
        command(why, &format!("import {{raw}}/{device}/{who}.{ending} --unit {device}-{unit}"), false)
    };
    vec![
        import("patch-a gives a workbook of day numbers, and its clock is 3 minutes slow:", "patch-a", "xlsx"),
        import(
            if who == "P02" {
                "In this archive of band-b one day's file is not there; its night stays missing:"
            } else {
                "band-b gives an archive: a file for each day, and an index that says when each began:"
            },
            "band-b",
            "zip",
        ),
        import(
            if who == "P01" {
                "ring-c is told of in a dump of a whole phone, which guesses too; only the ring is read:"
            } else {
                "The second phone is new, and its dump is small:"
            },
            "ring-c",
            "xml",
        ),
    ]
}

fn endings() -> Vec<Step> {
    let night = "P02/2026-04-05";
    let mut steps = vec![
        command("Nothing is computed while errors are open:", &format!("compare {night} --device watch-a"), true),
        Step {
            why: "The maker of watch-a (invented) says that its `Drowsy` is light sleep. The study gets a definition of its own:",
            act: Do::Write { path: "importers/watch-a/importer.toml", text: mended_watch() },
        },
        command(
            "and the same original is read again by it:",
            "import {raw}/watch-a/P02_2026-04-05.csv --unit watch-a-2 --night 2026-04-05",
            false,
        ),
        decided(
            "The overlap of ring-a is accepted, with the reason:",
            &["accept", "spans-overlap", "P01/2026-04-05", "--source", "ring-a"],
            "six minutes that the export gives twice; unscored is the honest reading",
        ),
    ];
    steps.extend(decisions());
    steps.extend([
        command("What is there now:", "nights", false),
        command("What the checks still say (no error is open):", "check --format concise", false),
        command("The night over the half-hour change of the clock:", "show P01/2026-04-04", false),
        command("Devices against the reference:", "compare", false),
        command("And the report:", "report --invented -o {dir}/report.html", false),
    ]);
    steps
}

/// What a reviewer knows and no file says: each goes into the log with its author and reason.
fn decisions() -> Vec<Step> {
    let night = "P01/2026-04-03";
    let reading = format!("clock add {night} patch-a --shown 22:10:00 --true 22:13:00 --author demo");
    let note = format!("note {night} out-of-bed --at 02:06 --until 02:12 --author demo");
    vec![
        command("On the first evening somebody held the cradle of patch-a beside a true clock:", &reading, false),
        decided(
            "so its clock is corrected for that night; every number is then given on both clocks:",
            &["clock", "set", night, "patch-a", "--as-seen"],
            "seen on that evening; nobody looked on the others",
        ),
        command("That night P01 got up, and said so:", &note, false),
        decided(
            "and watch-a lay on its charger while it went on telling of sleep, which is left out:",
            &["exclude", night, "--source", "watch-a", "--from", "02:50", "--until", "03:30", "--looked", "before"],
            "on the charger, as P01 said in the morning",
        ),
    ]
}

/// A decision of the demo's author, with its reason.
fn decided(why: &'static str, words: &[&str], reason: &str) -> Step {
    let more = ["--reason", reason, "--author", "demo"];
    let words = words.iter().chain(&more).map(|w| (*w).to_owned()).collect();
    Step { why, act: Do::Command { words, faulty: false } }
}

/// The shipped definition with one label more.
fn mended_watch() -> String {
    let text = shipped().iter().find(|(id, _)| *id == "watch-a").map(|(_, text)| *text).unwrap_or_default();
    format!(
        "# The study's own: as shipped, and `Drowsy` is light sleep (said by the maker; invented, as all of this).\n{}",
        text.replace("[stages]\n", "[stages]\nDrowsy = \"Light\"\n")
    )
}

fn declarations() -> String {
    let mut out = String::from("\n# Everything below is invented.\n");
    for code in super::PARTICIPANTS {
        out.push_str(&format!("\n[[participant]]\ncode = \"{code}\"\n"));
    }
    out.push_str("\n[[scorer]]\ncode = \"S1\"\nscored_by = \"human\"\ndefinition = \"edf-stages\"\n");
    for device in DEVICES {
        let definition = if device == "band-a" { "typed-table" } else { device };
        out.push_str(&format!("\n[[device]]\nname = \"{device}\"\ndefinition = \"{definition}\"\n"));
        out.push_str(&facts::lines(device));
        for (i, code) in super::PARTICIPANTS.iter().enumerate() {
            let n = i + 1;
            out.push_str(&format!(
                "\n[[unit]]\nname = \"{device}-{n}\"\ndevice = \"{device}\"\nparticipant = \"{code}\"\n"
            ));
        }
    }
    for code in super::PARTICIPANTS {
        for label in LABELS {
            out.push_str(&format!("\n[[night]]\nparticipant = \"{code}\"\nlabel = \"{label}\"\n"));
        }
    }
    out.push_str(&facts::wearings(&super::PARTICIPANTS, &LABELS));
    out.push_str(PROTOCOL);
    out
}

/// What the demo's study lays down before anybody looks.
const PROTOCOL: &str = "
# Laid down before results are seen: the decision log notes it with the first import.
[protocol]
primary = \"kappa\"
window = \"lights\"
missing = \"left-out\"
export = \"first\"
flag_unscored = 5
exclude_unscored = 20
";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mended_definition_has_the_label_more() {
        assert!(mended_watch().contains("[stages]\nDrowsy = \"Light\"\n"));
    }
}
