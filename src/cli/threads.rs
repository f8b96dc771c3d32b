//! The threads that work is shared among.

use std::env;
use std::thread::available_parallelism;

use rayon::ThreadPoolBuilder;

use super::failure::Failure;

/// No more threads than this are started, whatever is asked for: beyond it they cost more than they do.
const MOST: usize = 256;

/// Starts as many threads as the machine has cores, or as `RAYON_NUM_THREADS` says. Where it gives none, which is how containers and
/// accounts with a limit on processes are, the work is done without, if it can be.
pub(super) fn start(can_do_without: bool) -> Result<(), Failure> {
    let asked = env::var("RAYON_NUM_THREADS").ok();
    let asked = asked.and_then(|threads| threads.parse().ok());
    let cores = || available_parallelism().map_or(1, usize::from);
    let threads = asked.filter(|threads| *threads > 0).unwrap_or_else(cores);
    let pool = || ThreadPoolBuilder::new().num_threads(threads.min(MOST));
    // A pool that is thrown away is built first, because the one that all share can be tried only once.
    let begun = match pool().build() {
        Err(_) if can_do_without => ThreadPoolBuilder::new()
            .num_threads(1)
            .use_current_thread()
            .build_global(),
        tried => tried.and_then(|_| pool().build_global()),
    };
    begun.map_err(|error| Failure::Threads(error.to_string()))
}
