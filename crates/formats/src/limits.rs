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
    /// Bytes of a file beside the file that is read, such as the description of its columns; it is kept in memory.
    pub beside_bytes: u64,
}

impl Default for Limits {
    /// Generous for honest files: 64 GiB, 1,000 million rows, 64 MiB a row, 120 deep, 16,384 columns; for archives
    /// and spreadsheets 8 GiB copied, 100,000 members, a ratio of 400, 2 archives inside each other, 64 MiB of
    /// shared texts; 16 MiB for a file beside.
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
            beside_bytes: 16 << 20,
        }
    }
}

/// What is said of one limit, and how it is read and set.
#[derive(Clone, Copy, Debug)]
pub struct LimitFacts {
    /// Its name, as in messages, on the command line and in study.toml.
    pub name: &'static str,
    /// What it bounds, for people.
    pub bounds: &'static str,
    /// Whether it counts bytes.
    pub is_bytes: bool,
    /// The largest value that can be given: beyond it a reader could exhaust the stack of the program or overflow.
    pub most: u64,
    get: fn(&Limits) -> u64,
    set: fn(&mut Limits, u64),
}

/// Every limit, by name.
pub static LIMITS: &[LimitFacts] = &[
    LimitFacts {
        name: "beside_bytes",
        bounds: "a file beside the file, such as the description of its columns",
        is_bytes: true,
        most: 1 << 30,
        get: |l| l.beside_bytes,
        set: |l, n| l.beside_bytes = n,
    },
    LimitFacts {
        name: "bytes",
        bounds: "the file, after unpacking",
        is_bytes: true,
        most: 1 << 50,
        get: |l| l.bytes,
        set: |l, n| l.bytes = n,
    },
    LimitFacts {
        name: "columns",
        bounds: "the columns of a table",
        is_bytes: false,
        most: 1 << 20,
        get: |l| l.columns as u64,
        set: |l, n| l.columns = size(n),
    },
    LimitFacts {
        name: "depth",
        bounds: "things inside each other in JSON and XML",
        is_bytes: false,
        most: 120,
        get: |l| l.depth as u64,
        set: |l, n| l.depth = size(n),
    },
    LimitFacts {
        name: "members",
        bounds: "the files in an archive, and the parts of a spreadsheet",
        is_bytes: false,
        most: 10_000_000,
        get: |l| l.members,
        set: |l, n| l.members = n,
    },
    LimitFacts {
        name: "nesting",
        bounds: "archives inside each other",
        is_bytes: false,
        most: 8,
        get: |l| l.nesting as u64,
        set: |l, n| l.nesting = size(n),
    },
    LimitFacts {
        name: "ratio",
        bounds: "how many times larger a file of an archive may become when it is unpacked",
        is_bytes: false,
        most: 10_000,
        get: |l| l.ratio,
        set: |l, n| l.ratio = n,
    },
    LimitFacts {
        name: "row_bytes",
        bounds: "one row: a line, an item of JSON, an element of XML with its texts",
        is_bytes: true,
        most: 4 << 30,
        get: |l| l.row_bytes as u64,
        set: |l, n| l.row_bytes = size(n),
    },
    LimitFacts {
        name: "rows",
        bounds: "the rows of the file",
        is_bytes: false,
        most: 1 << 40,
        get: |l| l.rows,
        set: |l, n| l.rows = n,
    },
    LimitFacts {
        name: "shared_bytes",
        bounds: "the texts and styles of a spreadsheet, which are kept in memory",
        is_bytes: true,
        most: 4 << 30,
        get: |l| l.shared_bytes,
        set: |l, n| l.shared_bytes = n,
    },
    LimitFacts {
        name: "spool_bytes",
        bounds: "what is copied of an archive or a spreadsheet while it is read",
        is_bytes: true,
        most: 1 << 50,
        get: |l| l.spool_bytes,
        set: |l, n| l.spool_bytes = n,
    },
];

fn size(n: u64) -> usize {
    usize::try_from(n).unwrap_or(usize::MAX)
}

/// Why a limit cannot be set.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LimitError {
    /// There is none of that name.
    #[error("there is no limit `{name}`; there are {known}")]
    Unknown {
        /// The name.
        name: String,
        /// Those that exist.
        known: String,
    },
    /// The value is 0 or beyond what can be given.
    #[error("the limit `{name}` can be from 1 to {most}, and not {value}")]
    Value {
        /// The name.
        name: &'static str,
        /// What was given.
        value: u64,
        /// The largest value.
        most: u64,
    },
}

impl LimitFacts {
    /// Returns the facts of the limit of that name.
    #[must_use]
    pub fn of(name: &str) -> Option<&'static LimitFacts> {
        LIMITS.iter().find(|facts| facts.name == name)
    }

    /// Returns the value of this limit.
    #[must_use]
    pub fn value(&self, limits: &Limits) -> u64 {
        (self.get)(limits)
    }
}

impl Limits {
    /// Sets a limit by its name.
    ///
    /// # Errors
    /// There is none of that name, or the value is 0 or larger than can be given.
    ///
    /// ```
    /// let mut limits = counterpane_formats::Limits::default();
    /// limits.set("rows", 5)?;
    /// assert_eq!(limits.rows, 5);
    /// # Ok::<(), counterpane_formats::limits::LimitError>(())
    /// ```
    pub fn set(&mut self, name: &str, value: u64) -> Result<(), LimitError> {
        let Some(facts) = LimitFacts::of(name) else {
            let known: Vec<String> = LIMITS.iter().map(|f| format!("`{}`", f.name)).collect();
            return Err(LimitError::Unknown { name: name.to_owned(), known: known.join(", ") });
        };
        if value == 0 || value > facts.most {
            return Err(LimitError::Value { name: facts.name, value, most: facts.most });
        }
        (facts.set)(self, value);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_is_listed_alphabetically_and_sets_its_own_value() {
        let names: Vec<&str> = LIMITS.iter().map(|f| f.name).collect();
        let shown = format!("{:?}", Limits::default());
        let mut fields: Vec<&str> =
            shown.split(['{', ',']).skip(1).filter_map(|f| f.trim().split(':').next()).collect();
        fields.sort_unstable();
        assert_eq!(names, fields, "list every field of Limits in LIMITS, alphabetically");
        for facts in LIMITS {
            let mut limits = Limits::default();
            limits.set(facts.name, 7).unwrap();
            let changed: Vec<&str> =
                LIMITS.iter().filter(|f| f.value(&limits) != f.value(&Limits::default())).map(|f| f.name).collect();
            assert_eq!((changed, facts.value(&limits)), (vec![facts.name], 7));
        }
    }

    #[test]
    fn what_cannot_be_set_is_told_with_what_can() {
        let said = |name: &str, value| Limits::default().set(name, value).map_err(|e| e.to_string()).unwrap_err();
        assert!(said("row", 5).starts_with("there is no limit `row`; there are `beside_bytes`, `bytes`, "));
        assert_eq!(said("depth", 500), "the limit `depth` can be from 1 to 120, and not 500");
        assert_eq!(said("rows", 0), "the limit `rows` can be from 1 to 1099511627776, and not 0");
    }
}
