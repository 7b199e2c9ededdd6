//! What a reader refuses: every limit of every format in one place.

/// Bounds that keep a hostile or broken file from using up the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of one original, after unpacking.
    pub bytes: u64,
    /// Rows of one original.
    pub rows: u64,
    /// Bytes of one row: a line, a JSON element, an annotation record, the values of an XML element, of a row
    /// of a sheet. Of XML also the bytes of one tag, one text or one comment.
    pub row_bytes: usize,
    /// Nesting of JSON and XML.
    pub depth: usize,
    /// Columns of a table.
    pub columns: usize,
    /// Bytes that are copied into memory or a temporary file, for archives and spreadsheets: they are not read
    /// from front to back.
    pub spool_bytes: u64,
    /// Members of an archive, and parts of a spreadsheet.
    pub members: u64,
    /// How many times larger a member of an archive may be than what it takes there, once it is larger than
    /// 16 MiB. Records that hardly differ shrink to a hundredth; deflate can reach a thousandth with nothing
    /// but zeros.
    pub ratio: u64,
    /// Archives inside an archive inside an archive.
    pub nesting: usize,
    /// Bytes of the texts and styles of a spreadsheet, which are kept in memory while its cells are read.
    pub shared_bytes: u64,
}

impl Default for Limits {
    /// Generous for honest files: 64 GiB, 1,000 million rows, 64 MiB a row, 120 deep, 16,384 columns; for archives
    /// and spreadsheets 8 GiB copied, 100,000 members, a ratio of 400, 2 archives inside each other, 64 MiB of
    /// shared texts.
    fn default() -> Limits {
        Limits {
            bytes: 64 << 30,
            rows: 1_000_000_000,
            row_bytes: 64 << 20,
            depth: 120,
            columns: 16_384,
            spool_bytes: 8 << 30,
            members: 100_000,
            ratio: 400,
            nesting: 2,
            shared_bytes: 64 << 20,
        }
    }
}
