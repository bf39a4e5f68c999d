//! The same work on many items by several threads, results in the order of the items.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Applies `work` to every item (and its index) on at most `threads` threads. The result does not depend on their
/// number: each item is worked on alone.
pub fn map<T: Sync, R: Send>(
    items: &[T],
    threads: usize,
    work: impl Fn(usize, &T) -> R + Sync,
) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, R)>> = Mutex::new(Vec::with_capacity(items.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, items.len().max(1)) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(item) = items.get(at) else { break };
                    let result = work(at, item);
                    if let Ok(mut done) = done.lock() {
                        done.push((at, result));
                    }
                }
            });
        }
    });
    let mut done = done
        .into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn results_keep_the_order_of_the_items() {
        let items: Vec<u64> = (0..1000).collect();
        for threads in [1, 2, 7] {
            assert_eq!(super::map(&items, threads, |_, n| n * n)[999], 998_001);
        }
        assert!(super::map(&[] as &[u8], 4, |_, n| *n).is_empty());
    }
}
