//! Work shared among the processors.

/// How many things are done at once.
pub(crate) fn workers() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Does the same to all items, a share on each processor; the answers keep the order.
pub(crate) fn side_by_side<T: Sync, R: Send>(items: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let share = items.len().div_ceil(workers()).max(1);
    std::thread::scope(|scope| {
        let hands: Vec<_> = items
            .chunks(share)
            .map(|chunk| scope.spawn(|| chunk.iter().map(&work).collect::<Vec<R>>()))
            .collect();
        hands
            .into_iter()
            .flat_map(|hand| match hand.join() {
                Ok(done) => done,
                Err(cause) => std::panic::resume_unwind(cause),
            })
            .collect()
    })
}
