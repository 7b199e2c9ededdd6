//! The one door into all readers.

use crate::{Event, Flow, Format, FormatError, Request, delimited, edf, json, sheet, text, xml, zip};
use std::io::Read;

/// Reads a file of a format from its beginning and hands its rows to `sink`, in the order of the file.
///
/// The first event is [`Event::Head`]. Whatever can be read is handed out before an error is returned, so a
/// caller that must take all or nothing waits for `Ok`. Reading ends early, with `Ok`, when `sink` says
/// [`Flow::Stop`].
///
/// ```
/// use counterpane_formats::{Event, Flow, Format, Request, Value, Want, read};
/// let request = Request { wants: vec![Want { up: 0, path: "stage".into() }], ..Request::default() };
/// let mut stages = Vec::new();
/// read(Format::Csv, &mut "clock,stage\n22:47,light\n".as_bytes(), &request, &mut |event| {
///     if let Event::Row(row) = event {
///         if let Some(Value::Text(stage)) = row.value(0) {
///             stages.push(format!("{} at {}", stage, row.locate(0)));
///         }
///     }
///     Flow::Continue
/// })?;
/// assert_eq!(stages, ["light at line 2:7"]);
/// # Ok::<(), counterpane_formats::FormatError>(())
/// ```
///
/// # Errors
/// See [`FormatError`]: the file is not of this format, breaks off, goes beyond a limit, or the request
/// asks for something that the format does not have.
pub fn read(
    format: Format,
    input: &mut dyn Read,
    request: &Request,
    sink: &mut dyn FnMut(Event<'_>) -> Flow,
) -> Result<(), FormatError> {
    match format {
        Format::Csv => delimited::read(input, request, sink),
        Format::Edf => edf::read(input, request, sink),
        Format::Json => json::read(input, request, sink),
        Format::Jsonl => json::lines::read(input, request, sink),
        Format::Text => text::read(input, request, sink),
        Format::Sheet => sheet::read(input, request, sink),
        Format::Xml => xml::read(input, request, sink),
        Format::Zip => zip::read(input, request, sink),
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    /// Files of this folder that read a format; a new one also gets its line in [`super::read`].
    const READERS: [&str; 7] = ["delimited", "edf", "json", "sheet", "text", "xml", "zip"];

    /// Files of this folder that read none.
    const OTHERS: [&str; 13] = [
        "blank", "lib", "limits", "node", "path", "quote", "read", "row", "shorten", "sniff", "source", "spool",
        "testing",
    ];

    #[test]
    fn every_file_is_listed() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let name = |entry: std::io::Result<std::fs::DirEntry>| {
            let path = entry.unwrap().path();
            path.is_file().then(|| path.file_stem().unwrap().to_string_lossy().into_owned())
        };
        let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().filter_map(name).collect();
        files.sort();
        let mut listed = [&READERS[..], &OTHERS[..]].concat();
        listed.sort_unstable();
        assert_eq!(
            listed, files,
            "list every file of crates/formats/src in READERS or OTHERS; a reader also goes into `read`"
        );
        assert!(READERS.is_sorted() && OTHERS.is_sorted(), "keep READERS and OTHERS alphabetical");
    }
}
