//! The segments of a JPEG that draw it, and no other.

use super::tells::Tiff;
use super::{BlankError, broken, told};

/// The first bytes of a JPEG: start of image, and the next marker (ITU-T T.81, annex B).
pub(super) const BEGINNING: [u8; 3] = [0xff, 0xd8, 0xff];

const END_OF_IMAGE: u8 = 0xd9;
const START_OF_SCAN: u8 = 0xda;
const COMMENT: u8 = 0xfe;
const APP0: u8 = 0xe0;
const APP15: u8 = 0xef;

/// Returns the picture without metadata, and what was left out. How it is to be turned stays, because without it the
/// picture would be shown lying on its side. What follows its end goes too.
pub(super) fn blank(bytes: &[u8]) -> Result<(Vec<u8>, Vec<String>), BlankError> {
    let mut out = bytes.get(..2).unwrap_or(&[]).to_vec();
    let mut what = Vec::new();
    let mut at = 2;
    loop {
        let (marker, start) = marker_at(bytes, at)?;
        if marker == END_OF_IMAGE {
            out.extend([0xff, marker]);
            at = start;
            break;
        }
        let length = bytes.get(start..).and_then(|b| b.first_chunk::<2>()).map(|l| usize::from(u16::from_be_bytes(*l)));
        let data = length.filter(|l| *l >= 2).and_then(|l| bytes.get(start + 2..start + l));
        let (Some(length), Some(data)) = (length, data) else {
            return broken(format!("the picture breaks off inside its segment at byte {at}"));
        };
        let mut end = start + length;
        if marker == START_OF_SCAN {
            end = end_of_scan(bytes, end)?;
        }
        match unneeded(marker, data) {
            // Behind the first 14 bytes stands a small picture, which may show what was cut off from the large one.
            None if marker == APP0 && data.get(12..).is_some_and(|small| small.len() != 2 || small != [0, 0]) => {
                told(&mut what, "a small picture of the picture");
                out.extend([0xff, APP0, 0, 16]);
                out.extend_from_slice(data.get(..12).unwrap_or(&[]));
                out.extend([0, 0]);
            }
            None => out.extend_from_slice(bytes.get(at..end).unwrap_or(&[])),
            Some(name) => {
                told(&mut what, name);
                if let Some(turned) = orientation(data) {
                    out.extend(only_orientation(turned));
                    // A segment that says nothing else is left as it was.
                    if bytes.get(at..end) == Some(only_orientation(turned).as_slice()) {
                        what.retain(|w| w != name);
                    }
                }
            }
        }
        at = end;
    }
    if at < bytes.len() {
        told(&mut what, "bytes after the end of the picture");
    }
    Ok((out, what))
}

/// Returns the marker at a place and where its segment begins; fill bytes before it are passed over.
fn marker_at(bytes: &[u8], at: usize) -> Result<(u8, usize), BlankError> {
    let rest = bytes.get(at..).unwrap_or(&[]);
    let fill = rest.iter().take_while(|b| **b == 0xff).count();
    match rest.get(fill) {
        Some(marker) if fill > 0 && *marker != 0 => Ok((*marker, at + fill + 1)),
        Some(_) => broken(format!("byte {at} of the picture is no marker")),
        None => broken("the picture breaks off before its end (no end of image)"),
    }
}

/// Returns where the coded data end that begin at a place: at the next marker that is no restart.
fn end_of_scan(bytes: &[u8], from: usize) -> Result<usize, BlankError> {
    let rest = bytes.get(from..).unwrap_or(&[]);
    let is_end = |pair: &[u8]| pair[0] == 0xff && !matches!(pair[1], 0 | 0xd0..=0xd7 | 0xff);
    match rest.windows(2).position(is_end) {
        Some(n) => Ok(from + n),
        None => broken("the picture breaks off before its end (no end of image)"),
    }
}

/// Returns the name of a segment that is not needed to draw the picture: all application data but the density, the
/// colour profile and the transform of colours.
fn unneeded(marker: u8, data: &[u8]) -> Option<&'static str> {
    match marker {
        COMMENT => Some("a comment"),
        APP0 if data.starts_with(b"JFIF\0") => None,
        0xe2 if data.starts_with(b"ICC_PROFILE\0") => None,
        0xee if data.starts_with(b"Adobe") => None,
        0xe1 if data.starts_with(b"Exif\0") => Some("data of the camera (Exif)"),
        0xe1 => Some("texts (XMP)"),
        0xed => Some("texts (IPTC)"),
        APP0 if data.starts_with(b"JFXX\0") => Some("a small picture of the picture"),
        APP0..=APP15 => Some("data of some program"),
        _ => None,
    }
}

/// Returns how an Exif segment says that the picture is to be turned, 2 to 8; `None` for upright or not said.
///
/// The tag 0x0112 of the first directory (JEITA CP-3451, Exif 2.3, 4.6.4).
fn orientation(data: &[u8]) -> Option<u8> {
    let tiff = Tiff::of(data.strip_prefix(b"Exif\0\0")?)?;
    let directory = tiff.four(4)?;
    let entries = usize::from(tiff.two(directory)?);
    let entry = (0..entries).map(|i| directory + 2 + 12 * i).find(|at| tiff.two(*at) == Some(0x0112))?;
    let value = tiff.two(entry + 8)?;
    u8::try_from(value).ok().filter(|v| (2..=8).contains(v))
}

/// Hands out what each segment of metadata holds, up to the first scan or to where the picture breaks off.
pub(super) fn segments(bytes: &[u8], take: &mut dyn FnMut(&[u8])) {
    let mut at = 2;
    while let Ok((marker, start)) = marker_at(bytes, at) {
        let length = bytes.get(start..).and_then(|b| b.first_chunk::<2>()).map(|l| usize::from(u16::from_be_bytes(*l)));
        let Some(length) = length.filter(|l| *l >= 2 && marker != START_OF_SCAN && marker != END_OF_IMAGE) else {
            return;
        };
        if let Some(data) = bytes.get(start + 2..start + length).filter(|data| unneeded(marker, data).is_some()) {
            take(data);
        }
        at = start + length;
    }
}

/// Returns an Exif segment that says how the picture is to be turned, and nothing else.
fn only_orientation(turned: u8) -> Vec<u8> {
    let mut out = vec![0xff, 0xe1, 0, 34];
    out.extend(b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0");
    out.extend([turned, 0, 0, 0, 0, 0, 0]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn segment(marker: u8, data: &[u8]) -> Vec<u8> {
        let length = u16::try_from(data.len() + 2).unwrap().to_be_bytes();
        [&[0xff, marker][..], &length, data].concat()
    }

    /// Two scans with a stuffed byte and a restart in the data, as a progressive picture has.
    fn jpeg(before: &[Vec<u8>]) -> Vec<u8> {
        let scan = |coded: &[u8]| [segment(0xda, b"scan"), coded.to_vec()].concat();
        let coded = scan(b"\x12\xff\x00\x34\xff\xd0\x56");
        [
            b"\xff\xd8".to_vec(),
            before.concat(),
            segment(0xdb, b"table"),
            coded,
            segment(0xc4, b"codes"),
            scan(b"\x78"),
            b"\xff\xd9".to_vec(),
        ]
        .concat()
    }

    fn exif(turned: u8) -> Vec<u8> {
        // A directory with a maker and the orientation, little-endian.
        let mut data = b"Exif\0\0II*\0\x08\0\0\0\x02\0".to_vec();
        data.extend(b"\x0f\x01\x02\0\x04\0\0\0abc\0");
        data.extend([0x12, 0x01, 3, 0, 1, 0, 0, 0, turned, 0, 0, 0]);
        data.extend(b"\0\0\0\0");
        segment(0xe1, &data)
    }

    #[test]
    fn metadata_goes_and_what_is_drawn_stays() {
        let kept = [segment(0xe0, JFIF), segment(0xe2, b"ICC_PROFILE\0 colours")];
        let [density, colours] = kept.clone();
        let gone = [segment(0xfe, b"by N.N."), exif(1), segment(0xed, b"Photoshop"), segment(0xe2, b"MPF\0")];
        let [comment, camera, texts, program] = gone;
        let whole = jpeg(&[density, comment, camera, colours, texts, program]);
        let (out, what) = blank(&[whole, b"a film".to_vec()].concat()).unwrap();
        assert_eq!(out, jpeg(&kept));
        assert_eq!(
            what,
            [
                "a comment",
                "data of the camera (Exif)",
                "texts (IPTC)",
                "data of some program",
                "bytes after the end of the picture"
            ]
        );
        assert_eq!(blank(&out).unwrap(), (out.clone(), Vec::new()));
    }

    /// Version, density, and a small picture of no size (ITU-T T.871, 10.1).
    const JFIF: &[u8] = b"JFIF\0\x01\x02\x01\0\x48\0\x48\0\0";

    #[test]
    fn small_pictures_go_in_either_form() {
        let mut with_small = JFIF.to_vec();
        with_small[12..].copy_from_slice(&[1, 1]);
        with_small.extend([9; 3]);
        let whole = jpeg(&[segment(0xe0, &with_small), segment(0xe0, b"JFXX\0\x10")]);
        let (out, what) = blank(&whole).unwrap();
        assert_eq!(out, jpeg(&[segment(0xe0, JFIF)]));
        assert_eq!(what, ["a small picture of the picture"]);
    }

    #[test]
    fn a_picture_taken_sideways_stays_turned() {
        let (out, what) = blank(&jpeg(&[exif(6)])).unwrap();
        assert_eq!(out, jpeg(&[only_orientation(6)]));
        assert_eq!(what, ["data of the camera (Exif)"]);
        assert_eq!(orientation(&out[6..]), Some(6));
        assert_eq!(blank(&out).unwrap(), (out.clone(), Vec::new()));
    }

    #[test]
    fn a_picture_that_breaks_off_anywhere_is_refused() {
        let whole = jpeg(&[exif(6), segment(0xfe, b"by N.N.")]);
        for n in 3..whole.len() {
            assert!(blank(&whole[..n]).is_err(), "{n}");
        }
    }
}
