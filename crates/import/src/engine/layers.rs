//! A finer layer over a coarser one: the higher layer wins where it speaks.

use super::runs;
use super::sink::Laid;
use counterpane_model::{Instant, Span};

/// Returns the spans of all layers laid over each other, and how many rows or codes vanished under a higher
/// layer.
pub(super) fn flatten(mut laid: Vec<Laid>) -> (Vec<Span>, u64) {
    let by_time = |s: &Span| (s.start, s.end);
    // One layer, in order: most files; nothing is laid over anything, and no room is needed.
    if laid.is_sorted_by_key(|l| by_time(&l.span)) && laid.windows(2).all(|two| two[0].layer == two[1].layer) {
        return (laid.into_iter().map(|l| l.span).collect(), 0);
    }
    laid.sort_by_key(|l| (std::cmp::Reverse(l.layer), l.span.start, l.span.end));
    let mut out: Vec<Span> = Vec::with_capacity(laid.len());
    let mut vanished = 0;
    let mut above: Vec<(Instant, Instant)> = Vec::new();
    let mut rest = laid.into_iter().peekable();
    while let Some(layer) = rest.peek().map(|l| l.layer) {
        let begun = out.len();
        while let Some(Laid { span, .. }) = rest.next_if(|l| l.layer == layer) {
            let pieces = uncovered(&span, &above);
            vanished += if pieces.is_empty() { runs::codes(&span) } else { 0 };
            out.extend(pieces.into_iter().map(|(start, end)| Span { start, end, ..span.clone() }));
        }
        above = union(above.into_iter().chain(out[begun..].iter().map(|s| (s.start, s.end))).collect());
    }
    out.sort_by_key(by_time);
    (out, vanished)
}

/// Returns the stretches of a span that nothing above covers; `above` is in order and does not overlap.
fn uncovered(span: &Span, above: &[(Instant, Instant)]) -> Vec<(Instant, Instant)> {
    let mut out = Vec::new();
    let mut from = span.start;
    let first = above.partition_point(|(_, end)| *end <= span.start);
    for (start, end) in above[first..].iter().take_while(|(start, _)| *start < span.end) {
        if *start > from {
            out.push((from, *start));
        }
        from = from.max(*end);
    }
    if from < span.end {
        out.push((from, span.end));
    }
    out
}

fn union(mut stretches: Vec<(Instant, Instant)>) -> Vec<(Instant, Instant)> {
    stretches.sort_unstable();
    let mut out: Vec<(Instant, Instant)> = Vec::new();
    for (start, end) in stretches {
        match out.last_mut() {
            Some(last) if start <= last.1 => last.1 = last.1.max(end),
            _ => out.push((start, end)),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use counterpane_model::{Locator, Mark, Stage};

    fn check(layers: &[(i32, i64, i64)]) -> (String, u64) {
        let span = |start, end, layer: i32| Span {
            start: Instant(start),
            end: Instant(end),
            mark: Mark::Stage(Stage::W),
            label: layer.to_string(),
            locator: Locator::Text { line: 1, column: 1 },
        };
        let (spans, vanished) =
            flatten(layers.iter().map(|(layer, s, e)| Laid { layer: *layer, span: span(*s, *e, *layer) }).collect());
        let text = |s: &Span| format!("{}-{}:{}", s.start.0, s.end.0, s.label);
        (spans.iter().map(text).collect::<Vec<_>>().join(" "), vanished)
    }

    #[test]
    fn the_higher_layer_wins_where_it_speaks() {
        assert_eq!(
            check(&[(0, 0, 100), (1, 20, 30), (1, 50, 60)]),
            ("0-20:0 20-30:1 30-50:0 50-60:1 60-100:0".into(), 0)
        );
        assert_eq!(check(&[(0, 20, 30), (1, 0, 100)]), ("0-100:1".into(), 1));
        assert_eq!(check(&[(0, 0, 10), (1, 10, 20)]), ("0-10:0 10-20:1".into(), 0));
    }

    #[test]
    fn overlaps_within_one_layer_stay_for_the_checks_to_find() {
        assert_eq!(check(&[(0, 0, 10), (0, 5, 20)]), ("0-10:0 5-20:0".into(), 0));
    }

    #[test]
    fn three_layers_are_laid_from_the_top() {
        assert_eq!(check(&[(0, 0, 9), (1, 2, 8), (2, 4, 6)]), ("0-2:0 2-4:1 4-6:2 6-8:1 8-9:0".into(), 0));
    }
}
