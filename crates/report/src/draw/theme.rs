//! Inks: what a colour means, and what it is by day, by night and in a page.
//!
//! Stage colours are those of Okabe and Ito (colour-blind safe, public): 000000 E69F00 56B4E9 009E73
//! F0E442 0072B2 D55E00 CC79A7. No stage is told by colour alone: height, label and pattern differ
//! too. Two are lighter by night, so that they stand out from a dark ground.

use std::borrow::Cow;

/// What a colour means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Behind everything.
    Paper,
    /// Behind a plot.
    Ground,
    /// Words that must be read.
    Text,
    /// Words that help.
    Faint,
    /// Grid lines.
    Grid,
    /// Axes and empty outlines.
    Line,
    /// The stitch between two patches.
    Seam,
    /// Hatching of what is not scored, and dots of what is off.
    Hatch,
    /// Shade of a matrix, and marks of a device.
    Shade,
    /// Notes and lights.
    Note,
    /// Wake.
    Wake,
    /// REM sleep.
    Rem,
    /// N1, N2 and undivided light sleep.
    Light,
    /// N3.
    Deep,
    /// Undivided non-REM sleep.
    Nrem,
    /// Undivided sleep.
    Asleep,
}

impl Ink {
    /// Every ink.
    pub const ALL: [Ink; 16] = [
        Ink::Paper,
        Ink::Ground,
        Ink::Text,
        Ink::Faint,
        Ink::Grid,
        Ink::Line,
        Ink::Seam,
        Ink::Hatch,
        Ink::Shade,
        Ink::Note,
        Ink::Wake,
        Ink::Rem,
        Ink::Light,
        Ink::Deep,
        Ink::Nrem,
        Ink::Asleep,
    ];

    /// Returns the name of its custom property in the page, its colour by day, and by night.
    fn facts(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Ink::Paper => ("--paper", "#fffdf8", "#211f26"),
            Ink::Ground => ("--ground", "#f6f1e7", "#2a2830"),
            Ink::Text => ("--text", "#26242c", "#efebe3"),
            Ink::Faint => ("--faint", "#625d69", "#b3adb8"),
            Ink::Grid => ("--grid", "#e4dccd", "#3a3742"),
            Ink::Line => ("--line", "#8f8897", "#7d7788"),
            Ink::Seam => ("--seam", "#3b3843", "#0f0e12"),
            Ink::Hatch => ("--hatch", "#8a8391", "#8f8999"),
            Ink::Shade => ("--shade", "#0072b2", "#56b4e9"),
            Ink::Note => ("--note", "#b04a00", "#f0a060"),
            Ink::Wake => ("--wake", "#e69f00", "#e69f00"),
            Ink::Rem => ("--rem", "#cc79a7", "#cc79a7"),
            Ink::Light => ("--light", "#56b4e9", "#56b4e9"),
            Ink::Deep => ("--deep", "#0072b2", "#2e8fd0"),
            Ink::Nrem => ("--nrem", "#009e73", "#00a87b"),
            Ink::Asleep => ("--asleep", "#8c94a3", "#9aa3b3"),
        }
    }
}

/// Where a figure will be seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Theme {
    /// A file of its own, dark on light.
    Light,
    /// A file of its own, light on dark.
    Dark,
    /// Part of a page whose style defines each ink as a custom property, so that it follows the
    /// page. Not for a file of its own: a program without styles draws these inks black.
    Page,
}

impl Theme {
    /// Returns an ink as a paint of SVG.
    #[must_use]
    pub fn paint(self, ink: Ink) -> Cow<'static, str> {
        let (name, light, dark) = ink.facts();
        match self {
            Theme::Light => Cow::Borrowed(light),
            Theme::Dark => Cow::Borrowed(dark),
            Theme::Page => Cow::Owned(format!("var({name})")),
        }
    }

    /// Returns the custom properties of a theme, as the inside of a style rule; nothing for
    /// [`Theme::Page`], which only uses them.
    #[must_use]
    pub fn properties(self) -> String {
        if self == Theme::Page {
            return String::new();
        }
        Ink::ALL.iter().map(|ink| format!("{}:{};", ink.facts().0, self.paint(*ink))).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as WCAG 2.2 defines them.
    fn contrast(a: &str, b: &str) -> f64 {
        let luminance = |hex: &str| {
            let part = |at: usize| {
                let v = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
                if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
            };
            0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
        };
        let (x, y) = (luminance(a), luminance(b));
        (x.max(y) + 0.05) / (x.min(y) + 0.05)
    }

    #[test]
    fn words_stand_out_from_paper_and_ground() {
        for theme in [Theme::Light, Theme::Dark] {
            for word in [Ink::Text, Ink::Faint, Ink::Note] {
                for behind in [Ink::Paper, Ink::Ground] {
                    let ratio = contrast(&theme.paint(word), &theme.paint(behind));
                    assert!(ratio >= 4.5, "{theme:?}: {word:?} on {behind:?} has a contrast of {ratio:.2}");
                }
            }
        }
    }

    #[test]
    fn a_page_uses_the_properties_that_the_themes_define() {
        for ink in Ink::ALL {
            let name = ink.facts().0;
            assert_eq!(Theme::Page.paint(ink), format!("var({name})"));
            assert!(Theme::Dark.properties().contains(&format!("{name}:")));
        }
    }
}
