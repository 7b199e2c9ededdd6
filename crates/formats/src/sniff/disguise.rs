//! What a file is when it is not what its name says.

use crate::shorten;

/// Beginnings of files that are no text and no recording, with what they are.
static MAGIC: &[(&[u8], &str)] = &[
    (b"\x7fELF", "a program"),
    (b"\x89PNG\r\n\x1a\n", "a picture (PNG)"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old binary office document (XLS or DOC)"),
    (b"\xff\xd8\xff", "a picture (JPEG)"),
    (b"%PDF", "a PDF"),
    (b"7z\xbc\xaf\x27\x1c", "an archive (7-Zip)"),
    (b"BM", "a picture (BMP)"),
    (b"GIF8", "a picture (GIF)"),
    (b"PAR1", "a Parquet file"),
    (b"PK\x03\x04", "an archive (ZIP) or a spreadsheet (XLSX)"),
    (b"PK\x05\x06", "an empty archive (ZIP)"),
    (b"Rar!", "an archive (RAR)"),
    (b"SQLite format 3\0", "an SQLite database"),
    (b"\x1f\x8b", "a compressed file (gzip)"),
    (b"\x28\xb5\x2f\xfd", "a compressed file (Zstandard)"),
    (b"{\\rtf", "a word processor's text (RTF)"),
];

/// Returns what a file is instead of a recording, as it goes on after `this is not JSON: `; `None` when
/// it may be one.
#[must_use]
pub(crate) fn disguise(head: &[u8]) -> Option<String> {
    if let Some((_, what)) = MAGIC.iter().find(|(magic, _)| head.starts_with(magic) && !is_plain_bm(head)) {
        return Some((*what).to_owned());
    }
    if head.get(4..8) == Some(b"ftyp") {
        return Some("a picture or film (HEIC or MP4)".to_owned());
    }
    let text = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head).trim_ascii_start();
    let low: Vec<u8> = text.iter().take(256).map(u8::to_ascii_lowercase).collect();
    if low.starts_with(b"<!doctype html") || low.starts_with(b"<html") || low.windows(6).any(|w| w == b"<head>") {
        return Some(format!(
            "HTML, beginning with {}; perhaps a login page was saved instead of the file",
            beginning(text)
        ));
    }
    if low.starts_with(b"<") {
        return Some(format!("XML or HTML, beginning with {}", beginning(text)));
    }
    if let Some(order) = wide(head) {
        return Some(format!("text in {order} without a byte order mark, or no text; say which encoding it is"));
    }
    (head.len() > 64 && head.iter().all(|b| *b == 0))
        .then(|| "zero bytes only; the file was never written, or only in part".to_owned())
}

/// Returns the first characters of a file between backticks.
pub(crate) fn beginning(head: &[u8]) -> String {
    let text = String::from_utf8_lossy(&head[..head.len().min(160)]);
    let text = if head.len() > 160 { text.trim_end_matches('\u{fffd}') } else { &text };
    format!("`{}`", shorten::cut(text.trim(), 40))
}

/// Returns the encoding that a text has in which every second byte is zero.
pub(crate) fn wide(head: &[u8]) -> Option<&'static str> {
    let pairs = head.chunks_exact(2).take(64);
    let n = pairs.len();
    let low = pairs.clone().filter(|p| p[0] != 0 && p[1] == 0).count();
    let high = pairs.filter(|p| p[0] == 0 && p[1] != 0).count();
    match n {
        0 | 1 => None,
        n if low * 4 >= n * 3 => Some("UTF-16LE"),
        n if high * 4 >= n * 3 => Some("UTF-16BE"),
        _ => None,
    }
}

/// Two letters are a weak sign: a text may begin with `BM` as well.
fn is_plain_bm(head: &[u8]) -> bool {
    head.starts_with(b"BM") && !head.iter().take(64).any(|b| *b == 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(head: &[u8]) -> String {
        disguise(head).unwrap_or_else(|| "may be a recording".to_owned())
    }

    #[test]
    fn a_saved_page_is_not_a_recording() {
        assert_eq!(
            check(b"\xef\xbb\xbf \n<!DOCTYPE html>\n<title>Sign in</title>"),
            "HTML, beginning with `<!DOCTYPE html> <title>Sign in</title>`; perhaps a login page was saved instead of the file"
        );
        assert_eq!(
            check(b"<?xml version='1.0'?><Data/>"),
            "XML or HTML, beginning with `<?xml version='1.0'?><Data/>`"
        );
    }

    #[test]
    fn pictures_archives_and_databases_are_named() {
        assert_eq!(check(b"%PDF-1.7"), "a PDF");
        assert_eq!(check(b"\x89PNG\r\n\x1a\n...."), "a picture (PNG)");
        assert_eq!(check(b"PK\x03\x04"), "an archive (ZIP) or a spreadsheet (XLSX)");
        assert_eq!(check(&[0; 100]), "zero bytes only; the file was never written, or only in part");
        assert!(check(b"a\0;\0b\0\n\0").starts_with("text in UTF-16LE without a byte order mark"));
    }

    #[test]
    fn a_text_may_be_a_recording() {
        assert_eq!(check(b"BMI;clock\n"), "may be a recording");
        assert_eq!(check(b"clock,stage\n"), "may be a recording");
        assert_eq!(check(b""), "may be a recording");
    }
}
