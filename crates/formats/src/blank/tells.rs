//! What the metadata of a picture tell beside what it shows: a place, a person, a device, a time.
//!
//! Only whether such a field is filled is said, never with what.

use super::{Blankable, jpeg, png};

/// What metadata may tell, in the order in which it is said.
const WORDS: [&str; 4] = ["a place", "a person", "a device", "a time"];

/// Tags of Exif: 0 place, 1 person, 2 device, 3 time (JEITA CP-3451, Exif 2.3, 4.6.4 to 4.6.6).
const TAGS: &[(u16, usize)] = &[
    (0x010f, 2), // Make
    (0x0110, 2), // Model
    (0x0131, 2), // Software
    (0x0132, 3), // DateTime
    (0x013b, 1), // Artist
    (0x8298, 1), // Copyright
    (0x8825, 0), // GPS IFD
    (0x9003, 3), // DateTimeOriginal
    (0x9004, 3), // DateTimeDigitized
    (0xa430, 1), // CameraOwnerName
    (0xa431, 2), // BodySerialNumber
    (0xa434, 2), // LensModel
];
/// The tag that leads to more of them.
const MORE: u16 = 0x8769;

/// Names in XMP (ISO 16684-1, and Exif in XMP) and keywords of PNG texts (W3C, Portable Network Graphics, third
/// edition, 11.3.3.2).
const NAMES: &[(&[u8], usize)] = &[
    (b"GPSLatitude", 0),
    (b"Location", 0),
    (b"City", 0),
    (b"Author", 1),
    (b"dc:creator", 1),
    (b"Copyright", 1),
    (b"dc:rights", 1),
    (b"Software", 2),
    (b"Source", 2),
    (b"tiff:Make", 2),
    (b"tiff:Model", 2),
    (b"CreatorTool", 2),
    (b"Creation Time", 3),
    (b"CreateDate", 3),
    (b"ModifyDate", 3),
    (b"DateCreated", 3),
];

/// Returns what the metadata of a picture tell; empty where there are none, or they tell none of these.
///
/// A place that cannot be followed in broken metadata is passed over: what is blanked follows from the kind of part, and
/// not from this.
#[must_use]
pub fn tells(kind: Blankable, bytes: &[u8]) -> Vec<&'static str> {
    let mut told = [false; 4];
    match kind {
        Blankable::Edf => {}
        Blankable::Jpeg => jpeg::segments(bytes, &mut |data| match data.strip_prefix(b"Exif\0\0") {
            Some(tiff) => of_exif(tiff, &mut told),
            None => of_text(data, &mut told),
        }),
        Blankable::Png => png::parts(bytes, &mut |name, data| match name {
            b"eXIf" => of_exif(data, &mut told),
            b"tIME" => told[3] = true,
            _ => of_text(data, &mut told),
        }),
    }
    WORDS.into_iter().zip(told).filter_map(|(word, told)| told.then_some(word)).collect()
}

fn of_text(data: &[u8], told: &mut [bool; 4]) {
    for (name, what) in NAMES {
        told[*what] |= data.windows(name.len()).any(|w| w == *name);
    }
}

fn of_exif(tiff: &[u8], told: &mut [bool; 4]) {
    let Some(first) = Tiff::of(tiff).and_then(|t| Some((t, t.four(4)?))) else { return };
    let (tiff, mut at) = (first.0, Some(first.1));
    // The first directory, and the one that it leads to.
    for _ in 0..2 {
        let Some((directory, entries)) = at.and_then(|at| Some((at, tiff.two(at)?))) else { return };
        at = None;
        for i in 0..usize::from(entries) {
            let entry = directory + 2 + 12 * i;
            let Some(tag) = tiff.two(entry) else { return };
            if tag == MORE {
                at = tiff.four(entry + 8);
            }
            for (_, what) in TAGS.iter().filter(|(known, _)| *known == tag) {
                told[*what] = true;
            }
        }
    }
}

/// Numbers of a TIFF structure, in its order of bytes.
#[derive(Clone, Copy)]
pub(super) struct Tiff<'t> {
    bytes: &'t [u8],
    little: bool,
}

impl<'t> Tiff<'t> {
    pub(super) fn of(bytes: &'t [u8]) -> Option<Tiff<'t>> {
        let little = match bytes.get(..4)? {
            b"II*\0" => true,
            b"MM\0*" => false,
            _ => return None,
        };
        Some(Tiff { bytes, little })
    }

    pub(super) fn two(self, at: usize) -> Option<u16> {
        let pair = *self.bytes.get(at..)?.first_chunk::<2>()?;
        Some(if self.little { u16::from_le_bytes(pair) } else { u16::from_be_bytes(pair) })
    }

    pub(super) fn four(self, at: usize) -> Option<usize> {
        let bytes = *self.bytes.get(at..)?.first_chunk::<4>()?;
        usize::try_from(if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) }).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A little-endian TIFF whose first directory has these tags, with the second directory behind it where it is led to.
    fn exif(tags: &[u16], more: &[u16]) -> Vec<u8> {
        let directory = |tags: &[u16], next: u32| {
            let mut out = u16::try_from(tags.len()).unwrap().to_le_bytes().to_vec();
            for tag in tags {
                out.extend(tag.to_le_bytes());
                out.extend([2, 0, 1, 0, 0, 0]);
                out.extend(next.to_le_bytes());
            }
            out
        };
        let behind = u32::try_from(8 + 2 + 12 * tags.len()).unwrap();
        [b"II*\0\x08\0\0\0".to_vec(), directory(tags, behind), directory(more, 0)].concat()
    }

    fn png(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
        let length = u32::try_from(data.len()).unwrap().to_be_bytes();
        [&png::SIGNATURE[..], &length, name, data, b"crc!", b"\0\0\0\0IENDcrc!"].concat()
    }

    fn jpeg(data: &[u8]) -> Vec<u8> {
        let length = u16::try_from(data.len() + 2).unwrap().to_be_bytes();
        [b"\xff\xd8\xff\xe1", &length[..], data, b"\xff\xd9"].concat()
    }

    #[test]
    fn exif_is_followed_to_its_second_directory() {
        let check = |tags: &[u16], more: &[u16]| {
            let exif = exif(tags, more);
            let both = [
                tells(Blankable::Png, &png(b"eXIf", &exif)),
                tells(Blankable::Jpeg, &jpeg(&[b"Exif\0\0", &exif[..]].concat())),
            ];
            assert_eq!(both[0], both[1]);
            both[0].join(", ")
        };
        assert_eq!(check(&[0x010f, 0x8825], &[]), "a place, a device");
        assert_eq!(check(&[0x0112], &[0x9003]), "");
        assert_eq!(check(&[0x8769], &[0x9003, 0xa430]), "a person, a time");
    }

    #[test]
    fn texts_tell_by_their_names() {
        assert_eq!(tells(Blankable::Png, &png(b"tEXt", b"Author\0N.N.")), ["a person"]);
        assert_eq!(tells(Blankable::Png, &png(b"tIME", b"1234567")), ["a time"]);
        assert_eq!(
            tells(Blankable::Jpeg, &jpeg(b"http://ns.adobe.com/xap/1.0/\0<x exif:GPSLatitude='1'/>")),
            ["a place"]
        );
        assert!(tells(Blankable::Png, &png(b"tEXt", b"Comment\0none")).is_empty());
    }

    #[test]
    fn what_breaks_off_tells_nothing_and_is_no_fault() {
        let whole = png(b"eXIf", &exif(&[0x8825], &[]));
        for n in 0..whole.len() - 12 {
            let _ = tells(Blankable::Png, &whole[..n]);
        }
        let jpeg = jpeg(&[b"Exif\0\0", &exif(&[0x8825, 0x8769], &[0x9003])[..]].concat());
        for n in 0..jpeg.len() {
            let _ = tells(Blankable::Jpeg, &jpeg[..n]);
        }
    }
}
