//! The figures, each in a file of its own, and the list of them.
//!
//! A figure is a function of data, size and theme that gives one SVG string. Beside it stands a
//! [`Figure`] with its name, what it shows, and a function that draws it for all of a comparison.

pub mod deviations;
pub mod differences;
pub mod hypnogram;
pub mod matrix;
pub mod sensitivity;

use crate::ReportError;
use crate::draw::{Size, Theme};
use counterpane_compare::Comparison;

/// One drawn figure.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drawn {
    /// Name of the file without its ending: ASCII letters, digits, `-` and `_` only, unique among the figures
    /// of its kind in one comparison.
    pub stem: String,
    /// The SVG document.
    pub svg: String,
}

/// A kind of figure.
#[derive(Clone, Copy, Debug)]
pub struct Figure {
    /// Name for commands; equal to the name of the file.
    pub name: &'static str,
    /// What it shows, in one sentence without a full stop.
    pub shows: &'static str,
    /// Draws every figure of the kind that a comparison has, in the order of nights and devices.
    pub draw: fn(&Comparison, Size, Theme) -> Result<Vec<Drawn>, ReportError>,
}

/// Every kind of figure, by name.
pub static FIGURES: [&Figure; 5] =
    [&deviations::FIGURE, &differences::FIGURE, &hypnogram::FIGURE, &matrix::FIGURE, &sensitivity::FIGURE];

/// Returns the kind of figure of a name.
#[must_use]
pub fn figure(name: &str) -> Option<&'static Figure> {
    FIGURES.into_iter().find(|f| f.name == name)
}

/// Returns a part of a file name: other characters than ASCII letters, digits and `-` become `_`.
pub(crate) fn stem(parts: &[&str]) -> String {
    let safe = |c: char| if c.is_ascii_alphanumeric() || c == '-' { c } else { '_' };
    parts.iter().map(|p| p.chars().map(safe).collect::<String>()).collect::<Vec<_>>().join("_")
}

/// Draws one figure for each item, and numbers the stems that would be equal.
pub(crate) fn drawn(items: Vec<(String, String)>) -> Vec<Drawn> {
    let mut out: Vec<Drawn> = Vec::with_capacity(items.len());
    for (stem, svg) in items {
        let twins = out.iter().filter(|d| d.stem == stem || d.stem.starts_with(&format!("{stem}__"))).count();
        let stem = if twins == 0 { stem } else { format!("{stem}__{}", twins + 1) };
        out.push(Drawn { stem, svg });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_of_the_folder_is_listed_by_its_name() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/figures");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|e| e.unwrap().file_name().into_string().unwrap().trim_end_matches(".rs").to_owned())
            .filter(|name| name != "mod")
            .collect();
        files.sort();
        let listed: Vec<&str> = FIGURES.iter().map(|f| f.name).collect();
        assert!(!files.is_empty());
        assert_eq!(
            listed, files,
            "list every file of crates/report/src/figures in FIGURES, alphabetically; name = file name"
        );
    }

    #[test]
    fn stems_are_safe_and_differ() {
        assert_eq!(stem(&["P01", "../2026", "mat/a"]), "P01_.._2026_mat_a".replace("..", "__"));
        let twins = drawn(vec![("a".into(), "1".into()), ("a".into(), "2".into()), ("a".into(), "3".into())]);
        assert_eq!(twins.iter().map(|d| d.stem.as_str()).collect::<Vec<_>>(), ["a", "a__2", "a__3"]);
    }
}
