//! The two fields of an EDF header that say who was recorded, where and by whom.

use super::BlankError;
use crate::edf::{HEADER_BYTES, identity_of};
use std::io::{Read, Write};

/// Where the patient field and the recording field stand (EDF specification, Kemp et al. 1992, Electroencephalography and
/// Clinical Neurophysiology 82, 391-393).
const PATIENT: std::ops::Range<usize> = 8..88;
const RECORDING: std::ops::Range<usize> = 88..168;

/// Copies the file with both fields blanked. Of the recording field the start date stays, because times follow from it, and
/// the equipment, which is no person (EDF+ specification, 2.1.3.3: unknown parts are `X`).
pub(super) fn blank(from: &mut impl Read, to: &mut impl Write) -> Result<Vec<String>, BlankError> {
    let mut header = [0; HEADER_BYTES];
    from.read_exact(&mut header)?;
    let what = identity_of(&header).map_err(|e| BlankError::Broken(e.to_string()))?;
    if !what.is_empty() {
        fill(&mut header[PATIENT], "X X X X");
        let kept = recording(&header[RECORDING]);
        fill(&mut header[RECORDING], &kept);
    }
    to.write_all(&header)?;
    std::io::copy(from, to)?;
    Ok(what)
}

/// Returns what stays of the recording field.
fn recording(field: &[u8]) -> String {
    let text = String::from_utf8_lossy(field);
    let words: Vec<&str> = text.split_ascii_whitespace().collect();
    match words.as_slice() {
        ["Startdate", date, rest @ ..] => {
            // A word that can be no date may be a name.
            let date = if is_date(date) { date } else { &"X" };
            let equipment = rest.get(2).filter(|w| w.is_ascii()).unwrap_or(&"X");
            format!("Startdate {date} X X {equipment}")
        }
        _ => String::new(),
    }
}

/// Says whether a word can only be a date: `02-MAR-2026`, or digits between separators.
fn is_date(word: &str) -> bool {
    let digits = |p: &str| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit());
    match word.split(['-', '.', '/']).collect::<Vec<_>>().as_slice() {
        [day, month, year] => digits(day) && digits(year) && (digits(month) || month.len() == 3),
        _ => false,
    }
}

/// Writes a text into a field, filled up with blanks.
fn fill(field: &mut [u8], text: &str) {
    field.fill(b' ');
    for (to, from) in field.iter_mut().zip(text.bytes()) {
        *to = from;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(patient: &str, recording: &str, reserved: &str) -> Vec<u8> {
        let mut header = vec![b' '; HEADER_BYTES];
        header[0] = b'0';
        fill(&mut header[PATIENT], patient);
        fill(&mut header[RECORDING], recording);
        fill(&mut header[168..184], "03.04.2622.10.00");
        fill(&mut header[184..192], "256");
        fill(&mut header[192..236], reserved);
        fill(&mut header[236..256], "1       1       0   ");
        header.extend(b"samples");
        header
    }

    fn check(patient: &str, recording: &str, reserved: &str) -> (String, String, Vec<String>) {
        let before = file(patient, recording, reserved);
        let mut after = Vec::new();
        let what = blank(&mut before.as_slice(), &mut after).unwrap();
        assert_eq!(after.len(), before.len());
        assert_eq!(after[168..], before[168..], "nothing else is touched");
        assert_eq!(identity_of(&after[..HEADER_BYTES].try_into().unwrap()).unwrap(), Vec::<String>::new());
        let text = |r: std::ops::Range<usize>| String::from_utf8(after[r].to_vec()).unwrap().trim().to_owned();
        (text(PATIENT), text(RECORDING), what)
    }

    #[test]
    fn the_person_and_the_people_who_recorded_are_blanked_and_date_and_equipment_stay() {
        let (patient, recording, what) =
            check("MCH-1 F 02-MAY-1951 An_Invented_Name", "Startdate 03-APR-2026 PSG-9 NN lab-box room_4", "EDF+C");
        assert_eq!((patient.as_str(), recording.as_str()), ("X X X X", "Startdate 03-APR-2026 X X lab-box"));
        let names = [
            "patient code",
            "patient sex",
            "patient birthdate",
            "patient name",
            "recording code",
            "technician",
            "further words of the recording field",
        ];
        assert_eq!(what, names);
    }

    #[test]
    fn free_text_of_plain_edf_goes_whole() {
        let (patient, recording, what) = check("An invented name, 74", "done by N.N. in room 4", "");
        assert_eq!((patient.as_str(), recording.as_str()), ("X X X X", ""));
        assert_eq!(what, ["patient field (free text)", "recording field (free text)"]);
    }

    #[test]
    fn further_words_go_and_so_does_a_word_in_the_place_of_the_date() {
        let (patient, recording, what) = check("X X X X", "Startdate Invented X X box in_room_4", "EDF+C");
        assert_eq!((patient.as_str(), recording.as_str()), ("X X X X", "Startdate X X X box"));
        assert_eq!(what, ["further words of the recording field"]);
        let (_, recording, _) = check("X X X X", "Startdate 3.4.2026 NN", "EDF+C");
        assert_eq!(recording, "Startdate 3.4.2026 X X X");
    }

    #[test]
    fn a_file_that_names_nobody_is_the_same_after() {
        let before = file("X X X X", "Startdate 03-APR-2026 X X box", "EDF+C");
        let mut after = Vec::new();
        assert_eq!(blank(&mut before.as_slice(), &mut after).unwrap(), Vec::<String>::new());
        assert_eq!(after, before);
    }

    #[test]
    fn a_file_shorter_than_a_header_is_refused() {
        assert!(blank(&mut &b"0       short"[..], &mut Vec::new()).is_err());
    }
}
