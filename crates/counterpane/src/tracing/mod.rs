//! The page of `sheet trace`: one HTML file that needs nothing else and asks nothing of any network.
//!
//! Its parts are files of this folder, put together here. The policy of the page names the hashes of its own
//! style and script, so that a browser runs nothing else in it.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use counterpane_report::draw::Theme;
use serde::Serialize;
use sha2::{Digest as _, Sha256};

use crate::commands::new::TOOL;

/// What the page knows before anybody types; an empty text is a field that the reader fills in.
#[derive(Debug, Default, Serialize)]
pub(crate) struct Known {
    /// Unit whose screen it is.
    pub(crate) unit: String,
    /// Label of the night.
    pub(crate) night: String,
    /// The participant's code.
    pub(crate) participant: String,
    /// IANA zone of the night.
    pub(crate) zone: String,
    /// Who reads the picture.
    pub(crate) reader: String,
    /// `1`, or `2` for a second, blind reading.
    pub(crate) pass: String,
    /// How the wall clock runs in that night, where the night is known.
    pub(crate) clock: Option<Clock>,
}

/// How the wall clock runs in the window of a night.
#[derive(Debug, Serialize)]
pub(crate) struct Clock {
    /// Local minute of the day at the start of the window.
    pub(crate) begins: f64,
    /// Changes of the clock: minute since the start of the window, and offset against the start in minutes.
    pub(crate) shifts: Vec<(f64, f64)>,
}

/// The parts of the script, alphabetically but for the last, which starts the page.
const SCRIPTS: &[(&str, &str)] = &[
    ("act.js", include_str!("act.js")),
    ("changes.js", include_str!("changes.js")),
    ("clock.js", include_str!("clock.js")),
    ("grow.js", include_str!("grow.js")),
    ("keep.js", include_str!("keep.js")),
    ("keys.js", include_str!("keys.js")),
    ("open.js", include_str!("open.js")),
    ("pixels.js", include_str!("pixels.js")),
    ("propose.js", include_str!("propose.js")),
    ("scale.js", include_str!("scale.js")),
    ("sheet.js", include_str!("sheet.js")),
    ("stages.js", include_str!("stages.js")),
    ("state.js", include_str!("state.js")),
    ("tables.js", include_str!("tables.js")),
    ("tools.js", include_str!("tools.js")),
    ("totals.js", include_str!("totals.js")),
    ("view.js", include_str!("view.js")),
    ("start.js", include_str!("start.js")),
];

/// Returns the page; the same argument gives the same bytes.
///
/// # Errors
/// None that can happen: texts and numbers are always JSON.
pub(crate) fn page(known: &Known) -> anyhow::Result<String> {
    let (style, script) = (style(), script());
    let policy = format!(
        "default-src 'none'; style-src '{}'; script-src '{}'; img-src blob: data:; base-uri 'none'; form-action 'none'",
        hash(&style),
        hash(&script)
    );
    // Inside a script element only `<` could end it.
    let known = serde_json::to_string(known)?.replace('<', "\\u003c");
    // The reader's words come last: no mark in them is taken for a place to be filled.
    Ok(include_str!("page.html")
        .replace("/*policy*/", &policy)
        .replace("/*tool*/", TOOL)
        .replace("/*style*/", &style)
        .replace("/*script*/", &script)
        .replace("/*known*/", &known))
}

/// The inks are those of the report, by day and by night.
fn style() -> String {
    let (light, dark) = (Theme::Light.properties(), Theme::Dark.properties());
    include_str!("style.css").replace("/*light*/", &light).replace("/*dark*/", &dark)
}

fn script() -> String {
    let parts: String = SCRIPTS.iter().map(|(_, text)| *text).collect();
    format!("(function () {{\n'use strict';\n{parts}}}());\n")
}

/// Returns a source expression of Content Security Policy Level 3, section 2.3.1.
fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_script_of_the_folder_is_listed() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/tracing");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|n| n.ends_with(".js") && n != "start.js")
            .collect();
        files.sort_unstable();
        files.push("start.js".into());
        let listed: Vec<&str> = SCRIPTS.iter().map(|s| s.0).collect();
        assert_eq!(listed, files, "list every .js of src/tracing in SCRIPTS, alphabetically, start.js last");
    }

    #[test]
    fn a_hash_is_written_as_the_policy_wants_it() {
        // The digest of nothing: FIPS 180-4; coded as RFC 4648, section 4, says.
        assert_eq!(hash(""), "sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=");
    }

    #[test]
    fn a_name_cannot_leave_its_place() {
        let known = Known { unit: "</script><b>/*script*/".into(), ..Known::default() };
        let written = page(&known).unwrap();
        assert!(written.contains(r#""unit":"\u003c/script>\u003cb>/*script*/""#));
        assert_eq!(written.matches("</script>").count(), 2);
    }

    #[test]
    fn the_page_fetches_nothing() {
        let written = page(&Known::default()).unwrap();
        for way in ["http://", "https://", "fetch(", "XMLHttpRequest", "WebSocket", "import(", "eval("] {
            let there = written.matches(way).count();
            let namespace = usize::from(way == "http://");
            assert_eq!(there, namespace, "`{way}`: only the name of SVG is an address");
        }
        for place in ["policy", "tool", "style", "light", "dark", "script", "known"] {
            assert!(!written.contains(&format!("/*{place}*/")), "`{place}` is filled");
        }
    }
}
