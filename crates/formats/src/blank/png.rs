//! The chunks of a PNG that draw it, and no other.

use super::{BlankError, broken, told};

/// The first bytes of a PNG (W3C, Portable Network Graphics, third edition, 5.2).
pub(super) const SIGNATURE: [u8; 8] = *b"\x89PNG\r\n\x1a\n";

/// Chunks that are needed to draw the picture, or say in which colours (the same, 11). All others go: texts, times,
/// camera data and what some program put there for itself.
const KEPT: [&[u8; 4]; 18] = [
    b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"cICP", b"sBIT", b"bKGD",
    b"pHYs", b"hIST", b"sPLT", b"acTL", b"fcTL", b"fdAT",
];

/// Returns the picture without metadata, and what was left out. What follows its end goes too.
pub(super) fn blank(bytes: &[u8]) -> Result<(Vec<u8>, Vec<String>), BlankError> {
    let mut out = SIGNATURE.to_vec();
    let mut what = Vec::new();
    let mut rest = bytes.get(SIGNATURE.len()..).unwrap_or(&[]);
    loop {
        let Some((head, _)) = rest.split_first_chunk::<8>() else {
            return broken("the picture breaks off before its end (no IEND)");
        };
        let [a, b, c, d, name @ ..] = *head;
        let length = u32::from_be_bytes([a, b, c, d]) as usize;
        let Some((chunk, after)) = length.checked_add(12).and_then(|n| rest.split_at_checked(n)) else {
            return broken(format!("the picture breaks off inside its part {}", shown(name)));
        };
        if KEPT.iter().any(|k| **k == name) {
            out.extend_from_slice(chunk);
        } else {
            told(&mut what, &format!("{} ({})", shown(name), meaning(name)));
        }
        rest = after;
        if name == *b"IEND" {
            break;
        }
    }
    if !rest.is_empty() {
        told(&mut what, "bytes after the end of the picture");
    }
    Ok((out, what))
}

/// Hands out name and data of each part that is not needed to draw the picture, up to its end or to where it breaks off.
pub(super) fn parts(bytes: &[u8], take: &mut dyn FnMut(&[u8; 4], &[u8])) {
    let mut rest = bytes.get(SIGNATURE.len()..).unwrap_or(&[]);
    while let Some(([a, b, c, d, name @ ..], after)) = rest.split_first_chunk::<8>() {
        let length = u32::from_be_bytes([*a, *b, *c, *d]) as usize;
        let Some(data) = after.get(..length) else { return };
        if !KEPT.contains(&name) {
            take(name, data);
        }
        rest = after.get(length.saturating_add(4)..).unwrap_or(&[]);
    }
}

fn meaning(name: [u8; 4]) -> &'static str {
    match &name {
        b"eXIf" => "data of the camera",
        b"tEXt" | b"zTXt" | b"iTXt" => "texts",
        b"tIME" => "time of the last change",
        _ => "a part that is not needed to draw it",
    }
}

fn shown(name: [u8; 4]) -> String {
    name.iter().map(|b| if b.is_ascii_alphanumeric() { *b as char } else { '?' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
        let length = u32::try_from(data.len()).unwrap().to_be_bytes();
        [&length[..], name, data, b"crc!"].concat()
    }

    fn png(chunks: &[Vec<u8>]) -> Vec<u8> {
        [SIGNATURE.to_vec(), chunks.concat()].concat()
    }

    #[test]
    fn texts_and_camera_data_go_and_what_is_drawn_stays() {
        let drawn = [chunk(b"IHDR", b"head"), chunk(b"pHYs", b"dots"), chunk(b"IDAT", b"pixels"), chunk(b"IEND", b"")];
        let [head, dots, pixels, end] = drawn.clone();
        let named =
            [chunk(b"eXIf", b"52 N"), chunk(b"tEXt", b"Author"), chunk(b"tEXt", b"Title"), chunk(b"prVt", b"own")];
        let [place, author, title, own] = named;
        let whole = png(&[head, place, dots, author, pixels, title, own, end]);
        let (out, what) = blank(&[whole, b"a film".to_vec()].concat()).unwrap();
        assert_eq!(out, png(&drawn));
        assert_eq!(
            what,
            [
                "eXIf (data of the camera)",
                "tEXt (texts)",
                "prVt (a part that is not needed to draw it)",
                "bytes after the end of the picture"
            ]
        );
        assert_eq!(blank(&out).unwrap(), (out.clone(), Vec::new()));
    }

    #[test]
    fn a_picture_that_breaks_off_or_lies_about_a_length_is_refused() {
        assert!(blank(&SIGNATURE).is_err());
        assert!(blank(&png(&[chunk(b"IHDR", b"head")])).is_err());
        assert!(blank(&[&SIGNATURE[..], b"\xff\xff\xff\xffIDATx"].concat()).is_err());
    }
}
