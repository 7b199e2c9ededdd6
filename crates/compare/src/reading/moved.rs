//! The changes of a recording, moved within the precision of their reading.

use counterpane_model::{Instant, Recording, Span};
use counterpane_stats::shares;

/// Returns the recording with each of its times moved by up to its precision either way, then put in order; as it is where its
/// precision is 0. The same seed, number and key move it alike.
pub(super) fn moved(recording: &Recording, seed: u64, number: u64) -> Recording {
    if recording.precision_ms == 0 {
        return recording.clone();
    }
    // Recordings of one night must not move together, so each key has a seed of its own.
    let mut share = shares(seed ^ hash(&recording.key), number);
    let mut times: Vec<Instant> = recording.spans.iter().flat_map(|s| [s.start, s.end]).collect();
    times.sort_unstable();
    times.dedup();
    #[expect(clippy::cast_precision_loss, reason = "a precision is at most an hour")]
    let reach = recording.precision_ms as f64;
    let mut drawn: Vec<Instant> =
        times.iter().map(|t| t.plus_ms(((2.0 * share() - 1.0) * reach).round() as i64).unwrap_or(*t)).collect();
    drawn.sort_unstable();
    let new = |at: Instant| times.binary_search(&at).ok().and_then(|i| drawn.get(i).copied()).unwrap_or(at);
    let spans = recording.spans.iter().map(|s| Span { start: new(s.start), end: new(s.end), ..s.clone() }).collect();
    Recording { spans, ..recording.clone() }
}

/// FNV-1a: only to tell keys apart.
fn hash(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{at, ring};
    use counterpane_model::Stage::{Light, N3, R, W};

    fn typed(letters: &str, precision_ms: i64) -> Recording {
        Recording { precision_ms, ..ring(&[W, Light, N3, R], letters) }
    }

    #[test]
    fn spans_that_touched_still_touch_and_keep_their_order() {
        for number in 0..200 {
            let found = moved(&typed("WLLW3R", 90_000), 1, number).spans;
            assert!(found.windows(2).all(|w| w[0].end == w[1].start && w[0].start <= w[0].end), "{found:?}");
        }
    }

    #[test]
    fn no_time_moves_farther_than_the_precision() {
        for number in 0..200 {
            let found = moved(&typed("WWWWWWWW", 10_000), 1, number).spans;
            assert!(found.iter().zip(0..).all(|(s, i)| s.start.ms_since(at(i)).abs() <= 10_000), "{found:?}");
        }
    }

    #[test]
    fn what_was_not_read_off_a_picture_stays() {
        assert_eq!(moved(&typed("WL", 0), 1, 0), typed("WL", 0));
    }

    #[test]
    fn two_recordings_move_apart() {
        let other = |key: &str| Recording { key: key.into(), ..typed("WL", 60_000) };
        assert_ne!(moved(&other("a"), 1, 0).spans, moved(&other("b"), 1, 0).spans);
    }
}
