//! Recordings that a person read off a picture or a printed list: what is kept of it, and the pictures, where they are asked
//! for.

use super::figure::Figure;
use super::table::{self, Row, Table};
use crate::draw::Theme;
use crate::draw::text::clean;
use crate::figures::hypnogram::{self, Hypnogram, hypnogram};
use crate::read_off::{Image, ImageKind, ReadOff, ReadingsApart};
use crate::words;
use askama::Template;

/// The appendix.
#[derive(Debug, Template)]
#[template(path = "pictures.html")]
pub(crate) struct Pictures {
    shown: Vec<Shown>,
}

/// A recording with its pictures.
#[derive(Debug)]
struct Shown {
    name: String,
    pictures: Vec<Picture>,
    /// None where only totals were read off.
    figure: Option<Figure>,
}

#[derive(Debug)]
struct Picture {
    file: String,
    hash: String,
    alternative: String,
    address: String,
}

impl Pictures {
    /// Returns the appendix; `None` where the page shows no picture.
    pub(crate) fn new(lines: &[ReadOff]) -> Option<Pictures> {
        let shown: Vec<Shown> = (1..).zip(lines).filter_map(|(n, line)| Shown::new(n, line)).collect();
        (!shown.is_empty()).then_some(Pictures { shown })
    }
}

impl Shown {
    fn new(number: usize, line: &ReadOff) -> Option<Shown> {
        let name = clean(&format!("{}, {}", line.recording, line.night));
        let pictures: Vec<Picture> = line
            .pictures
            .iter()
            .filter_map(|p| {
                let file = clean(&p.file);
                let hash = p.sha256.get(..12).unwrap_or_default().to_owned();
                let alternative = format!("The picture {file}, off which {name} was read");
                Some(Picture { file, hash, alternative, address: address(p.image.as_ref()?) })
            })
            .collect();
        if pictures.is_empty() {
            return None;
        }
        let draw = |id: &str, size| {
            let row = hypnogram::Row {
                label: line.recording.clone(),
                under: "as it was typed".into(),
                cells: line.cells.clone(),
                excluded: Vec::new(),
            };
            let data = Hypnogram {
                id: id.to_owned(),
                title: format!("What was read off: {name}"),
                start: line.start,
                zone: line.zone.clone(),
                rows: vec![row],
                lights: (None, None),
                markers: Vec::new(),
            };
            hypnogram(&data, size, Theme::Page)
        };
        let figure = (!line.cells.is_empty()).then(|| Figure::one(&format!("read-off-{number}"), draw));
        Some(Shown { name, pictures, figure })
    }
}

/// Returns what was read off pictures and lists as a table; empty where nothing was.
pub(crate) fn table(lines: &[ReadOff]) -> Table {
    let note = "What a person typed or traced, the pictures that are kept of it, and how far two readings by two people were apart \
                before they were settled.";
    let columns = ["Recording", "Pictures kept", "Two readings told differently"];
    let mut table = Table::new("read-off-t".into(), "What was read off a picture or a list", note, &columns).stacked();
    for line in lines {
        let names: Vec<&str> = line.pictures.iter().map(|p| p.file.as_str()).collect();
        let pictures = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
        let apart = match &line.apart {
            None => table::Cell::words("no second reading is kept"),
            Some(apart) => apart_cell(apart),
        };
        table.row(Row::new(&line.recording, &line.night, vec![table::Cell::words(&pictures), apart]));
    }
    table
}

fn apart_cell(apart: &ReadingsApart) -> table::Cell {
    let rows = format!("{} of {}", apart.rows_differing, words::count(apart.rows, "row"));
    let minutes = format!("{:.1} of {:.1} min", apart.minutes_differing, apart.minutes);
    table::Cell::words_under(&rows, &minutes)
}

/// Says how many pictures are kept and not shown, and how to show them; `None` where none are.
pub(crate) fn not_shown(lines: &[ReadOff]) -> Option<String> {
    let hidden = lines.iter().flat_map(|l| &l.pictures).filter(|p| p.image.is_none()).count();
    let kept = if hidden == 1 {
        "1 picture is kept and not shown".to_owned()
    } else {
        format!("{hidden} pictures are kept and not shown")
    };
    (hidden > 0).then(|| {
        format!(
            "{kept} here: counterpane report --pictures shows each beside what was read off it, at the end of the page."
        )
    })
}

/// Returns a picture as an address that holds all of it (RFC 2397).
fn address(image: &Image) -> String {
    let kind = match image.kind {
        ImageKind::Jpeg => "image/jpeg",
        ImageKind::Png => "image/png",
    };
    format!("data:{kind};base64,{}", base64(&image.bytes))
}

/// Returns bytes in base64 (RFC 4648, 4).
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |i: usize| u32::from(three.get(i).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        for i in 0..4 {
            let letter = LETTERS.get((all >> (18 - 6 * i) & 63) as usize).copied().unwrap_or(b'=');
            out.push(if i <= three.len() { char::from(letter) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read_off::PictureLine;
    use counterpane_model::{Cell, Instant, Stage, Zone};

    /// A recording with a picture that is shown, and one that is not.
    fn line(image: Option<Image>) -> ReadOff {
        ReadOff {
            night: "P01, night 2026-04-04".into(),
            recording: "ring-<a>".into(),
            zone: Zone::named("UTC").unwrap(),
            start: Instant(0),
            cells: vec![Cell::Stage(Stage::W); 20],
            pictures: vec![PictureLine { file: "shot \"1\".png".into(), sha256: "ab".repeat(32), image }],
            apart: Some(ReadingsApart { rows: 5, rows_differing: 3, minutes: 475.0, minutes_differing: 36.0 }),
        }
    }

    #[test]
    fn base64_is_that_of_its_standard() {
        // RFC 4648, 10.
        let check = |text: &str| base64(text.as_bytes());
        assert_eq!(
            [check(""), check("f"), check("fo"), check("foo"), check("foobar")],
            ["", "Zg==", "Zm8=", "Zm9v", "Zm9vYmFy"]
        );
        assert_eq!(base64(&[0xff, 0xef]), "/+8=");
    }

    #[test]
    fn a_picture_is_shown_only_where_it_was_given() {
        assert!(Pictures::new(&[line(None)]).is_none());
        assert!(not_shown(&[line(None)]).unwrap().starts_with("1 picture is kept and not shown here"));
        let image = Image { kind: ImageKind::Png, bytes: b"foobar".to_vec() };
        let shown = [line(Some(image))];
        let html = Pictures::new(&shown).unwrap().to_string();
        assert!(html.contains("src=\"data:image/png;base64,Zm9vYmFy\"") && html.contains("<svg "), "{html}");
        assert!(!html.contains("ring-<a>") && !html.contains("shot \"1\""), "names from outside are escaped: {html}");
        assert_eq!(not_shown(&shown), None);
    }

    #[test]
    fn the_table_says_how_far_two_readings_were_apart() {
        let html = table(&[line(None)]).to_string();
        assert!(html.contains("3 of 5 rows") && html.contains("36.0 of 475.0 min"), "{html}");
    }
}
