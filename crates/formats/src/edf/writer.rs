//! A writer of EDF+ and BDF+ for tests: what it wrote must be read back.

/// A file to be written.
#[derive(Clone, Debug)]
pub(super) struct File {
    pub(super) bdf: bool,
    pub(super) kind: &'static str,
    pub(super) patient: String,
    pub(super) recording: String,
    pub(super) date: &'static str,
    pub(super) time: &'static str,
    pub(super) records: String,
    /// Signals, by label and number of samples.
    pub(super) signals: Vec<(&'static str, usize)>,
    /// For each record, what its annotation signals hold, in their order.
    pub(super) lists: Vec<Vec<Vec<u8>>>,
}

impl Default for File {
    fn default() -> File {
        File {
            bdf: false,
            kind: "EDF+C",
            patient: "X X X X".to_owned(),
            recording: "Startdate 04-APR-2026 X X X".to_owned(),
            date: "04.04.26",
            time: "22.30.15",
            records: "1".to_owned(),
            signals: vec![("EDF Annotations", 60)],
            lists: vec![vec![b"+0\x14\x14\0+30\x1530\x14Sleep stage 2\x14\0".to_vec()]],
        }
    }
}

impl File {
    pub(super) fn write(&self) -> Vec<u8> {
        let mut out = Vec::new();
        let mut put = |text: &str, len: usize| {
            let mut field = text.as_bytes().to_vec();
            field.resize(len, b' ');
            out.extend(field);
        };
        let n = self.signals.len();
        put(if self.bdf { "?BIOSEMI" } else { "0" }, 8);
        put(&self.patient, 80);
        put(&self.recording, 80);
        put(self.date, 8);
        put(self.time, 8);
        put(&(256 * (n + 1)).to_string(), 8);
        put(self.kind, 44);
        put(&self.records, 8);
        put("0", 8);
        put(&n.to_string(), 4);
        for (label, _) in &self.signals {
            put(label, 16);
        }
        put("", 200 * n);
        for (_, samples) in &self.signals {
            put(&samples.to_string(), 8);
        }
        put("", 32 * n);
        if self.bdf {
            out[0] = 0xff;
        }
        for record in &self.lists {
            self.record(record, &mut out);
        }
        out
    }

    fn record(&self, lists: &[Vec<u8>], out: &mut Vec<u8>) {
        let mut lists = lists.iter();
        for (label, samples) in &self.signals {
            let len = samples * if self.bdf { 3 } else { 2 };
            // Samples hold every byte, those of an annotation too.
            let mut bytes = if label.ends_with("Annotations") {
                lists.next().cloned().unwrap_or_default()
            } else {
                b"+9\x14sample\x14\0".iter().copied().cycle().take(len).collect()
            };
            bytes.resize(len, 0);
            out.extend(bytes);
        }
    }
}
