//! The page of one kind of finding.

use counterpane_model::{Accepted, Kind, Severity};

/// The page of a kind of finding in whole sentences, for whatever lays it out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Page {
    /// What was found.
    pub title: String,
    /// What its severity means.
    pub severity: &'static str,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub help: String,
    /// What is computed when it is accepted, or why it cannot be.
    pub accepted: String,
}

/// Returns the page of a kind of finding.
#[must_use]
pub fn page_of(kind: &Kind) -> Page {
    let accepted = match kind.accepted {
        Accepted::Then(what) => format!("It can be accepted with a reason (`counterpane accept`). Then {what}."),
        Accepted::Never(why) => format!("It cannot be accepted: {why}."),
        Accepted::NotNeeded => "Nothing is held back for it, so there is nothing to accept.".into(),
    };
    Page {
        title: ended(kind.title),
        severity: meaning(kind.severity),
        why: ended(kind.why),
        help: ended(kind.help),
        accepted,
    }
}

/// Returns the catalogue section of a kind of finding in Markdown, ending in a line end.
///
/// The heading is the code, so that it is the anchor of the section too. All of them together are
/// `docs/findings.md`.
#[must_use]
pub fn catalogue_entry(kind: &Kind) -> String {
    let Page { title, severity: meaning, why, help, accepted } = page_of(kind);
    let Kind { code, severity, example, .. } = kind;
    format!(
        "## {code}\n\n{title}\n\n\
         **Severity:** {severity}. {meaning}\n\n\
         **Why it matters.** {why}\n\n\
         **Example.**\n\n```text\n{example}\n```\n\n\
         **What to do.** {help}\n\n\
         **When it is accepted.** {accepted}\n",
    )
}

/// Returns what a severity means, in one sentence.
#[must_use]
pub fn meaning(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "A number computed from this would be wrong, so it is held out of comparisons.",
        Severity::Warning => "The numbers stand, but the report must say so.",
        Severity::Info => "Unusual; no number is affected.",
    }
}

fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// Returns the text with a full stop at its end: messages carry none, paragraphs do.
fn ended(text: &str) -> String {
    let text = capitalised(text);
    if text.ends_with(['.', '!', '?']) { text } else { text + "." }
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;

    #[test]
    fn a_section_says_what_why_and_what_next() {
        let kind = Kind {
            code: "spans-overlap",
            severity: Severity::Error,
            title: "two spans overlap",
            why: "An overlap counts twice.",
            example: "error[spans-overlap]: both",
            help: "look at it with `counterpane show`",
            accepted: Accepted::Then("the overlap is unscored"),
        };
        expect![[r#"
            ## spans-overlap

            Two spans overlap.

            **Severity:** error. A number computed from this would be wrong, so it is held out of comparisons.

            **Why it matters.** An overlap counts twice.

            **Example.**

            ```text
            error[spans-overlap]: both
            ```

            **What to do.** Look at it with `counterpane show`.

            **When it is accepted.** It can be accepted with a reason (`counterpane accept`). Then the overlap is unscored.
        "#]]
        .assert_eq(&catalogue_entry(&kind));
        let never = Kind { accepted: Accepted::Never("there is no time to compute with"), ..kind };
        assert!(catalogue_entry(&never).ends_with("It cannot be accepted: there is no time to compute with.\n"));
    }
}
