//! What a reader refuses: every limit of every format in one place.

/// Bounds that keep a hostile or broken file from using up the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of one original, after unpacking.
    pub bytes: u64,
    /// Rows of one original.
    pub rows: u64,
    /// Bytes of one row: a line, a JSON element, an annotation record.
    pub row_bytes: usize,
    /// Nesting of JSON and XML.
    pub depth: usize,
    /// Columns of a table.
    pub columns: usize,
}

impl Default for Limits {
    /// Generous for honest files: 64 GiB, 1,000 million rows, 64 MiB a row, 120 deep, 16,384 columns.
    fn default() -> Limits {
        Limits { bytes: 64 << 30, rows: 1_000_000_000, row_bytes: 64 << 20, depth: 120, columns: 16_384 }
    }
}
