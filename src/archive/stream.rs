//! Answers handed on one by one, in the files' order, while later files are still being read.

use std::collections::BTreeMap;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use super::scan::keep_freed_memory;

/// How many files a thread the fastest thread may be ahead of the one whose answer is due. So much is held besides what is being made; four
/// are enough that a file ten times as large as the others hardly makes any thread wait.
const AHEAD: usize = 4;

/// Makes something of each file in parallel and hands it on, in the files' order, as soon as it and all before it are made. Only a few
/// answers are held at any time, however many files there are.
///
/// # Errors
/// The first that `take` returns; nothing is begun after it.
///
/// ```
/// let mut seen = Vec::new();
/// hillwright::archive::stream(&[3, 1, 2], |n| n * n, |_, square| {
///     seen.push(square);
///     Ok::<(), ()>(())
/// })?;
/// assert_eq!(seen, [9, 1, 4]);
/// # Ok::<(), ()>(())
/// ```
pub fn stream<F: Sync, T: Send, E: Send>(
    files: &[F],
    make: impl Fn(&F) -> T + Sync,
    mut take: impl FnMut(&F, T) -> Result<(), E> + Send,
) -> Result<(), E> {
    if let [file] = files {
        return take(file, make(file));
    }
    keep_freed_memory();
    let threads = rayon::current_num_threads();
    let queue = Queue {
        reach: AHEAD * threads,
        state: Mutex::new(State {
            next: 0,
            due: 0,
            stopped: false,
            early: BTreeMap::new(),
            taking: (take, None),
        }),
        moved: Condvar::new(),
    };
    rayon::broadcast(|_| {
        let _stop = StopOthers(&queue);
        while let Some(i) = queue.next(files.len()) {
            let made = make(&files[i]);
            queue.hand_on(i, made, |(take, failed), i, made| {
                *failed = take(&files[i], made).err();
                failed.is_none()
            });
        }
    });
    let state = queue.state.into_inner();
    let (_, failed) = state.unwrap_or_else(PoisonError::into_inner).taking;
    failed.map_or(Ok(()), Err)
}

struct Queue<T, K> {
    /// How far the next file may be from the one whose answer is due.
    reach: usize,
    state: Mutex<State<T, K>>,
    moved: Condvar,
}

struct State<T, K> {
    /// The file that is begun next.
    next: usize,
    /// The file whose answer is handed on next.
    due: usize,
    stopped: bool,
    /// Answers that are there before their turn.
    early: BTreeMap<usize, T>,
    taking: K,
}

impl<T, K> Queue<T, K> {
    fn state(&self) -> MutexGuard<'_, State<T, K>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The file to begin; waits while that would be too far ahead.
    fn next(&self, count: usize) -> Option<usize> {
        let mut state = self.state();
        loop {
            if state.stopped || state.next == count {
                return None;
            }
            if state.next < state.due + self.reach {
                state.next += 1;
                return Some(state.next - 1);
            }
            state = self
                .moved
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Hands on what is due; `take` says whether to go on.
    fn hand_on(&self, i: usize, made: T, mut take: impl FnMut(&mut K, usize, T) -> bool) {
        let mut state = self.state();
        state.early.insert(i, made);
        while !state.stopped {
            let due = state.due;
            let Some(made) = state.early.remove(&due) else {
                break;
            };
            state.due += 1;
            state.stopped = !take(&mut state.taking, due, made);
        }
        self.moved.notify_all();
    }
}

/// Where one thread panics, the others don't wait for its answer.
struct StopOthers<'a, T, K>(&'a Queue<T, K>);

impl<T, K> Drop for StopOthers<'_, T, K> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.state().stopped = true;
            self.0.moved.notify_all();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    use super::*;

    fn on_threads<R: Send>(threads: usize, work: impl FnOnce() -> R + Send) -> R {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build().unwrap().install(work)
    }

    #[test]
    fn answers_come_in_order_and_few_are_held_however_slow_the_first_is() {
        for threads in [1, 2, 5] {
            let files: Vec<usize> = (0..200).collect();
            let (made, taken) = (AtomicUsize::new(0), AtomicUsize::new(0));
            let most = AtomicUsize::new(0);
            let mut seen = Vec::new();
            let outcome: Result<(), ()> = on_threads(threads, || {
                stream(
                    &files,
                    |i| {
                        if i % 50 == 0 {
                            std::thread::sleep(Duration::from_millis(20));
                        }
                        let begun = made.fetch_add(1, Ordering::SeqCst) + 1;
                        let held = begun.saturating_sub(taken.load(Ordering::SeqCst));
                        most.fetch_max(held, Ordering::SeqCst);
                        *i
                    },
                    |_, i| {
                        taken.fetch_add(1, Ordering::SeqCst);
                        seen.push(i);
                        Ok(())
                    },
                )
            });
            assert_eq!(outcome, Ok(()));
            assert_eq!(seen, files);
            assert!(most.load(Ordering::SeqCst) <= AHEAD * threads + threads);
        }
    }

    #[test]
    fn nothing_is_handed_on_after_an_error() {
        let files: Vec<usize> = (0..100).collect();
        let mut seen = 0;
        let outcome = on_threads(3, || {
            stream(
                &files,
                |i| *i,
                |_, i| {
                    seen += 1;
                    if i == 7 { Err("full") } else { Ok(()) }
                },
            )
        });
        assert_eq!((outcome, seen), (Err("full"), 8));
    }

    #[test]
    fn a_panic_in_one_thread_ends_all() {
        let files: Vec<usize> = (0..100).collect();
        let caught = std::panic::catch_unwind(|| {
            on_threads(3, || {
                stream(
                    &files,
                    |i| assert_ne!(*i, 5, "on purpose"),
                    |_, ()| Ok::<(), ()>(()),
                )
            })
        });
        assert!(caught.is_err());
    }

    #[test]
    fn no_files_are_no_answers() {
        let outcome = stream(&[] as &[u8], |_| (), |_, ()| Err("called"));
        assert_eq!(outcome, Ok(()));
    }
}
