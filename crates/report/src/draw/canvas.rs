//! A canvas that writes SVG.

use super::text::{escape, number};
use super::{Ink, Theme};
use std::fmt::Write as _;

/// How much room a figure has. Height follows from what is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Width in CSS pixels.
    pub width: f64,
    /// Leave words short and ticks few.
    pub narrow: bool,
}

impl Size {
    /// For a screen or a sheet of paper.
    pub const WIDE: Size = Size { width: 920.0, narrow: false };
    /// For a telephone.
    pub const NARROW: Size = Size { width: 330.0, narrow: true };
}

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At its start.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

impl Anchor {
    fn attribute(self) -> &'static str {
        match self {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        }
    }
}

/// Left, top, width and height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

/// Collects marks and gives one SVG document.
#[derive(Debug)]
pub struct Canvas {
    id: String,
    theme: Theme,
    width: f64,
    defs: String,
    body: String,
}

impl Canvas {
    /// Returns an empty canvas. `id` starts the name of everything inside that needs a name; of it
    /// only ASCII letters, digits and hyphens are kept.
    #[must_use]
    pub fn new(id: &str, width: f64, theme: Theme) -> Canvas {
        let id = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        Canvas { id, theme, width, defs: String::new(), body: String::new() }
    }

    /// Returns the width.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.width
    }

    /// Draws a rectangle.
    pub fn rect(&mut self, frame: Frame, look: &Look) {
        let Frame { x, y, w, h } = frame;
        let (x, y, w, h) = (number(x), number(y), number(w.max(0.0)), number(h.max(0.0)));
        let look = self.look(look);
        let _ = writeln!(self.body, "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\"{look}/>");
    }

    /// Draws several rectangles of one look as one path, which keeps a night of patches small: edges on tenths of a
    /// pixel, so that neighbours still touch, and each rectangle counted from the one before.
    pub fn rects(&mut self, frames: &[Frame], look: &Look) {
        let mut path = String::new();
        let mut before = None;
        for f in frames {
            let ([x, y], [right, bottom]) = ([f.x, f.y].map(tenths), [f.x + f.w, f.y + f.h].map(tenths));
            let (letter, dx, dy) = before.map_or(('M', x, y), |(x0, y0)| ('m', x - x0, y - y0));
            let [dx, dy, w, h] = [dx, dy, right - x, bottom - y].map(|n| number(n / 10.0));
            let _ = write!(path, "{letter}{dx} {dy}h{w}v{h}h-{w}z");
            before = Some((x, y));
        }
        if !path.is_empty() {
            self.path(&path, look);
        }
    }

    /// Draws several rectangles of one look with rounded corners.
    pub fn outlines(&mut self, frames: &[Frame], round: f64, look: &Look) {
        if frames.is_empty() {
            return;
        }
        let look = self.look(look);
        let _ = write!(self.body, "<g{look}>");
        for f in frames {
            let (x, y, w, h, r) = (number(f.x), number(f.y), number(f.w), number(f.h), number(round));
            let _ = write!(self.body, "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"{r}\"/>");
        }
        self.body.push_str("</g>\n");
    }

    /// Draws a straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), look: &Look) {
        let (x1, y1, x2, y2) = (number(from.0), number(from.1), number(to.0), number(to.1));
        self.path(&format!("M{x1} {y1}L{x2} {y2}"), look);
    }

    /// Draws a path whose data the caller wrote with [`number`].
    pub fn path(&mut self, data: &str, look: &Look) {
        let look = self.look(look);
        let _ = writeln!(self.body, "<path d=\"{}\"{look}/>", escape(data));
    }

    /// Draws a circle.
    pub fn circle(&mut self, centre: (f64, f64), radius: f64, look: &Look) {
        let (x, y, r) = (number(centre.0), number(centre.1), number(radius));
        let look = self.look(look);
        let _ = writeln!(self.body, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\"{look}/>");
    }

    /// Writes a text; `at.1` is its base line.
    pub fn text(&mut self, at: (f64, f64), text: &str, type_: &Type) {
        let (anchor, weight) = (type_.anchor.attribute(), type_.weight());
        let (x, y, size) = (number(at.0), number(at.1), number(type_.size));
        let fill = self.fill(type_);
        let text = escape(text);
        let _ =
            writeln!(self.body, "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{fill}{anchor}{weight}>{text}</text>");
    }

    /// Writes several texts set alike, which keeps a matrix small.
    pub fn texts(&mut self, all: &[(f64, f64, String)], type_: &Type) {
        if all.is_empty() {
            return;
        }
        let (anchor, weight, fill) = (type_.anchor.attribute(), type_.weight(), self.fill(type_));
        let _ = write!(self.body, "<g font-size=\"{}\"{fill}{anchor}{weight}>", number(type_.size));
        for (x, y, text) in all {
            let _ = write!(self.body, "<text x=\"{}\" y=\"{}\">{}</text>", number(*x), number(*y), escape(text));
        }
        self.body.push_str("</g>\n");
    }

    /// The ink of words is that of the document.
    fn fill(&self, type_: &Type) -> String {
        if type_.ink == Ink::Text { String::new() } else { format!(" fill=\"{}\"", self.theme.paint(type_.ink)) }
    }

    /// Opens a group that a reader of the picture by ear or by pointer knows by a name.
    pub fn open(&mut self, name: &str) {
        let _ = writeln!(self.body, "<g><title>{}</title>", escape(name));
    }

    /// Opens a group whose marks say where they are from a point on. What is drawn alike in several places, or in
    /// several figures, then is the same text, which a page writes once.
    pub fn shift(&mut self, to: (f64, f64)) {
        let _ = writeln!(self.body, "<g transform=\"translate({} {})\">", number(to.0), number(to.1));
    }

    /// Closes the group that was opened last.
    pub fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// Defines a pattern once and returns nothing; use it by [`Look::pattern`]. `marks` is SVG that
    /// this crate wrote.
    pub fn pattern(&mut self, name: &str, step: f64, behind: Option<Ink>, marks: &str, mark_ink: Ink) {
        let (id, step) = (&self.id, number(step));
        let ground = behind.map_or(String::new(), |ink| {
            format!("<rect width=\"{step}\" height=\"{step}\" fill=\"{}\"/>", self.theme.paint(ink))
        });
        let ink = self.theme.paint(mark_ink);
        let _ = writeln!(
            self.defs,
            "<pattern id=\"{id}-{name}\" width=\"{step}\" height=\"{step}\" patternUnits=\"userSpaceOnUse\">{ground}\
             <path d=\"{marks}\" stroke=\"{ink}\" stroke-width=\"1\" stroke-linecap=\"square\" fill=\"none\"/></pattern>"
        );
    }

    /// Returns the document: one `svg` element with a title and a description for those who cannot
    /// see it. With [`Theme::Page`] it has no name space, because inside HTML none is needed.
    #[must_use]
    pub fn finish(self, height: f64, title: &str, description: &str) -> String {
        let (w, h) = (number(self.width), number(height));
        let space = if self.theme == Theme::Page { "" } else { " xmlns=\"http://www.w3.org/2000/svg\"" };
        let id = &self.id;
        let (title, description) = (escape(title), escape(description));
        let defs = if self.defs.is_empty() { String::new() } else { format!("<defs>\n{}</defs>\n", self.defs) };
        let paper = match self.theme {
            Theme::Page => String::new(),
            _ => format!("<rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n", self.theme.paint(Ink::Paper)),
        };
        format!(
            "<svg{space} viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\" \
             aria-labelledby=\"{id}-t {id}-d\" fill=\"{}\" font-family=\"system-ui, sans-serif\">\n\
             <title id=\"{id}-t\">{title}</title>\n<desc id=\"{id}-d\">{description}</desc>\n{defs}{paper}{}</svg>\n",
            self.theme.paint(Ink::Text),
            self.body
        )
    }

    fn look(&self, look: &Look) -> String {
        let mut out = match (look.pattern, look.fill) {
            (Some(name), _) => format!(" fill=\"url(#{}-{name})\"", self.id),
            (None, Some(ink)) => format!(" fill=\"{}\"", self.theme.paint(ink)),
            (None, None) => " fill=\"none\"".to_owned(),
        };
        if let Some(opacity) = look.opacity {
            let _ = write!(out, " fill-opacity=\"{}\"", number(opacity));
        }
        if let Some((ink, width)) = look.stroke {
            let _ = write!(out, " stroke=\"{}\" stroke-width=\"{}\"", self.theme.paint(ink), number(width));
        }
        if let Some(dash) = look.dash {
            let _ = write!(out, " stroke-dasharray=\"{dash}\"");
        }
        if look.round > 0.0 {
            let _ = write!(out, " rx=\"{}\"", number(look.round));
        }
        out
    }
}

/// Returns whole tenths, as a number that is whole.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round()
}

/// How a mark is filled and outlined.
#[derive(Clone, Copy, Debug, Default)]
pub struct Look {
    /// Filled with this ink.
    pub fill: Option<Ink>,
    /// Filled with a pattern of the canvas instead.
    pub pattern: Option<&'static str>,
    /// How far the fill covers, 0..=1.
    pub opacity: Option<f64>,
    /// Outlined with this ink at this width.
    pub stroke: Option<(Ink, f64)>,
    /// Dashes of the outline, as SVG writes them.
    pub dash: Option<&'static str>,
    /// Radius of the corners.
    pub round: f64,
}

impl Look {
    /// Filled, not outlined.
    #[must_use]
    pub fn fill(ink: Ink) -> Look {
        Look { fill: Some(ink), ..Look::default() }
    }

    /// Outlined, not filled.
    #[must_use]
    pub fn stroke(ink: Ink, width: f64) -> Look {
        Look { stroke: Some((ink, width)), ..Look::default() }
    }

    /// The same, dashed.
    #[must_use]
    pub fn dashed(self, dash: &'static str) -> Look {
        Look { dash: Some(dash), ..self }
    }
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub struct Type {
    /// Size in pixels.
    pub size: f64,
    /// Ink.
    pub ink: Ink,
    /// Where it is held.
    pub anchor: Anchor,
    /// Heavier.
    pub bold: bool,
}

impl Type {
    /// Returns words of a size in the ink of words, held at their start.
    #[must_use]
    pub fn new(size: f64) -> Type {
        Type { size, ink: Ink::Text, anchor: Anchor::Start, bold: false }
    }

    fn weight(&self) -> &'static str {
        if self.bold { " font-weight=\"600\"" } else { "" }
    }

    /// The same in fainter ink.
    #[must_use]
    pub fn faint(self) -> Type {
        Type { ink: Ink::Faint, ..self }
    }

    /// The same, held elsewhere.
    #[must_use]
    pub fn anchor(self, anchor: Anchor) -> Type {
        Type { anchor, ..self }
    }

    /// The same, heavier.
    #[must_use]
    pub fn bold(self) -> Type {
        Type { bold: true, ..self }
    }
}
