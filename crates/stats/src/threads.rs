//! The same question for many, on several threads.

/// Returns the answers in the order of the questions; the number of threads changes no answer.
///
/// ```
/// assert_eq!(counterpane_stats::on_threads(&[1, 2, 3], 2, |n| n * n), [1, 4, 9]);
/// ```
pub fn on_threads<T: Sync, A: Send>(all: &[T], threads: usize, one: impl Fn(&T) -> A + Sync) -> Vec<A> {
    let share = all.len().div_ceil(threads.max(1)).max(1);
    std::thread::scope(|scope| {
        let ask = |part: &'_ [T]| part.iter().map(&one).collect::<Vec<A>>();
        let mut parts = all.chunks(share);
        // The last part is asked here, so that one thread starts none.
        let own = parts.next_back();
        let started: Vec<_> = parts.map(|part| scope.spawn(move || ask(part))).collect();
        let own = own.map(ask).unwrap_or_default();
        let others = started.into_iter().flat_map(|s| s.join().unwrap_or_else(|e| std::panic::resume_unwind(e)));
        others.chain(own).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_stand_in_the_order_of_the_questions() {
        let all: Vec<u32> = (0..11).collect();
        for threads in [0, 1, 2, 3, 50] {
            assert_eq!(on_threads(&all, threads, |n| n * n), all.iter().map(|n| n * n).collect::<Vec<_>>());
        }
        assert!(on_threads(&[] as &[u32], 2, |n| *n).is_empty());
    }
}
