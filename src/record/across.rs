//! Work on all cores.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Does a piece of work for each item on all cores, and returns the results in the items' order. Each worker has
/// something of its own, which `begin` makes.
pub(crate) fn across<I: Sync, S, T: Send>(
    items: &[I],
    begin: impl Fn() -> S + Sync,
    work: impl Fn(&mut S, &I) -> T + Sync,
) -> Vec<T> {
    let n_workers = thread::available_parallelism().map_or(1, NonZero::get).min(items.len());
    if n_workers <= 1 {
        let mut own = begin();
        return items.iter().map(|item| work(&mut own, item)).collect();
    }
    let next = AtomicUsize::new(0);
    let one_worker = || {
        let (mut own, mut done) = (begin(), Vec::new());
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { return done };
            done.push((at, work(&mut own, item)));
        }
    };
    let mut done: Vec<(usize, T)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..n_workers).map(|_| scope.spawn(one_worker)).collect();
        workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
            .collect()
    });
    done.sort_unstable_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::across;

    #[test]
    fn results_stand_in_the_order_of_their_items() {
        let items: Vec<u64> = (0..1000).collect();
        let squares: Vec<u64> = items.iter().map(|n| n * n).collect();
        assert_eq!(across(&items, || (), |(), n| n * n), squares);
        assert!(across(&[] as &[u64], || (), |(), n| *n).is_empty());
    }
}
