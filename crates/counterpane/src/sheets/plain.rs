//! A blank sheet as plain text.

use super::Blank;
use std::fmt::Write as _;

/// Returns a blank sheet; the rows are for the reader to add below.
pub(crate) fn plain(blank: &Blank) -> String {
    let form = blank.form;
    let mut out = format!("line\tat\tis\nsheet\tform\t{}\n", form.code());
    let _ = writeln!(out, "# A tab stands between the three. A line that begins with # is passed over.");
    for (name, means) in form.head() {
        let _ = writeln!(out, "# {name}: {means}\nhead\t{name}\t{}", flat(blank.value(name)));
    }
    if !form.shown().is_empty() {
        let _ = writeln!(out, "# What the screen shows: take the # away where it does.");
    }
    for (name, means) in form.shown() {
        let _ = writeln!(out, "# shown\t{name}\t({means})");
    }
    let [at, is] = form.example();
    let _ = writeln!(out, "# {}\n# Stages: {}.", form.how(), form.stages().join(", "));
    let _ = writeln!(out, "# {}\t{at}\t{is}", form.row());
    out
}

/// No value can end its line or begin another field.
fn flat(text: &str) -> String {
    text.split(['\t', '\r', '\n']).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheets::Form;

    #[test]
    fn a_blank_sheet_has_three_fields_on_each_line_that_is_read() {
        for form in [Form::Changes, Form::Epochs] {
            let known = std::collections::BTreeMap::from([("night", "a\tb\nc".to_owned())]);
            let text = plain(&Blank { form, known });
            for line in text.lines().filter(|l| !l.starts_with('#')) {
                assert_eq!(line.matches('\t').count(), 2, "{line}");
            }
            assert!(text.contains("\nhead\tnight\ta b c\n"), "{text}");
            assert!(!text.lines().any(|l| l.starts_with(form.row())), "the example is not read");
        }
    }
}
