//! What a file looks like when its beginning does not tell: archives and spreadsheets.

use super::{HEAD, Sniff, sniff};
use crate::{Format, FormatError, Limits, shorten};
use std::io::{Read, Seek};

/// Looks at a whole file: as [`sniff`], and at the members of an archive and the sheets of a workbook.
///
/// What cannot be opened is told in the sentence; it is no error, because a sniff proposes only.
///
/// # Errors
/// The machine could not read the file.
///
/// ```
/// use counterpane_formats::{Format, Limits, sniff::sniff_file};
/// let sniff = sniff_file("night.csv", std::io::Cursor::new("clock;stage\n22:47;light\n"), Limits::default())?;
/// assert_eq!(sniff.formats[0], Format::Csv);
/// # Ok::<(), counterpane_formats::FormatError>(())
/// ```
pub fn sniff_file(name: &str, mut input: impl Read + Seek, limits: Limits) -> Result<Sniff, FormatError> {
    let mut head = Vec::new();
    input.by_ref().take(HEAD as u64).read_to_end(&mut head)?;
    let mut found = sniff(name, &head);
    if found.formats.last() != Some(&Format::Zip) {
        return Ok(found);
    }
    input.rewind()?;
    let members = match crate::members(&mut input, limits) {
        Ok(members) => members,
        Err(FormatError::Io(error)) => return Err(error.into()),
        Err(error) => {
            found.limit = error.limit();
            found.sentence = format!("{}, but {error}", found.sentence);
            return Ok(found);
        }
    };
    found.members = members.into_iter().map(|m| m.name).collect();
    let has = |name: &str| found.members.iter().any(|m| m == name);
    if has("xl/workbook.xml") || (has("content.xml") && has("mimetype")) || has("encrypted-package") {
        input.rewind()?;
        workbook(&mut found, input, limits)?;
    } else {
        found.formats = vec![Format::Zip];
        let names = shorten::names(found.members.iter().map(String::as_str));
        found.sentence = format!("an archive (ZIP) with {names}");
    }
    Ok(found)
}

fn workbook(found: &mut Sniff, input: impl Read + Seek, limits: Limits) -> Result<(), FormatError> {
    found.formats = vec![Format::Sheet, Format::Zip];
    match crate::sheets(input, limits) {
        Ok(sheets) => {
            found.sentence = format!("a spreadsheet with {}", shorten::names(sheets.iter().map(|s| s.name.as_str())));
            if let [only] = sheets.as_slice() {
                found.columns = only.rows.first().cloned().unwrap_or_default();
            }
            found.sheets = sheets;
            Ok(())
        }
        Err(FormatError::Io(error)) => Err(error.into()),
        Err(error) => {
            found.limit = error.limit();
            found.sentence = format!("a spreadsheet, but {error}");
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rust_xlsxwriter::Workbook;
    use std::io::{Cursor, Write};
    use zip::{ZipWriter, write::SimpleFileOptions};

    fn check(bytes: &[u8]) -> String {
        let found = sniff_file("a", Cursor::new(bytes), Limits::default()).unwrap();
        format!("{:?}: {}", found.formats, found.sentence)
    }

    fn zip(names: &[&str]) -> Vec<u8> {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        for name in names {
            writer.start_file(*name, SimpleFileOptions::default()).unwrap();
            writer.write_all(b"x").unwrap();
        }
        writer.finish().unwrap().into_inner()
    }

    #[test]
    fn an_archive_is_told_by_its_members() {
        assert_eq!(check(&zip(&["days/1.csv", "meta.json"])), "[Zip]: an archive (ZIP) with `days/1.csv`, `meta.json`");
        // A member that only sounds like a workbook does not make one.
        assert_eq!(check(&zip(&["old/xl/notes.txt"])), "[Zip]: an archive (ZIP) with `old/xl/notes.txt`");
        let cut = check(&zip(&["a"])[..40]);
        assert!(cut.starts_with("[Zip]: an archive (ZIP), but this is not an archive (ZIP): "), "{cut}");
    }

    #[test]
    fn a_workbook_is_told_by_its_sheets_and_headers() {
        let mut book = Workbook::new();
        let sheet = book.add_worksheet();
        sheet.set_name("Night").unwrap().write_row(0, 0, ["Begin", " Phase "]).unwrap();
        sheet.write_row(1, 0, ["22:47", "light"]).unwrap();
        let bytes = book.save_to_buffer().unwrap();
        assert_eq!(check(&bytes), "[Sheet, Zip]: a spreadsheet with `Night`");
        let found = sniff_file("a", Cursor::new(bytes), Limits::default()).unwrap();
        assert!(found.has("Night") && found.has("Phase") && found.has_column("Begin") && !found.has("Begi"));
        assert_eq!(found.columns, ["Begin", "Phase"]);
        assert!(check(&zip(&["xl/workbook.xml"])).starts_with("[Sheet, Zip]: a spreadsheet, but member"));
    }
}
