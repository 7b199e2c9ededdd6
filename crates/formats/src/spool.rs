//! A copy of a file for formats that are not read from front to back.

use crate::{FormatError, Limits};
use std::io::{Read, Seek};
use tempfile::SpooledTempFile;

/// A copy stays in memory up to this size; beyond, it is an unnamed temporary file.
const IN_MEMORY: usize = 16 << 20;

/// Copies a file so that it can be read in any order.
///
/// # Errors
/// It cannot be read or written, it is empty, or it is longer than the limit `spool_bytes`.
pub(crate) fn spool(input: &mut dyn Read, limits: Limits) -> Result<SpooledTempFile, FormatError> {
    let mut copy = tempfile::spooled_tempfile(IN_MEMORY);
    let most = limits.spool_bytes.min(limits.bytes);
    match std::io::copy(&mut input.take(most.saturating_add(1)), &mut copy)? {
        0 => return Err(FormatError::Empty),
        got if got > most => {
            let (name, limit) = if most == limits.bytes { ("bytes", most) } else { ("spool_bytes", most) };
            return Err(FormatError::Limit { what: format!("a file of {got} bytes or more"), name, limit });
        }
        _ => {}
    }
    copy.rewind()?;
    Ok(copy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copy_has_a_limit() {
        let limits = Limits { spool_bytes: 4, ..Limits::default() };
        assert!(spool(&mut &b"1234"[..], limits).is_ok());
        let error = spool(&mut std::io::repeat(b'1'), limits).unwrap_err().to_string();
        assert_eq!(error, "a file of 5 bytes or more is more than the limit of 4 (spool_bytes)");
        assert_eq!(spool(&mut &b""[..], limits).unwrap_err().to_string(), "the file is empty");
    }
}
