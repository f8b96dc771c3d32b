//! What requests share: the routes, a pool for the arithmetic, answers that were given just now.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError, RwLock};

use axum::body::Bytes;
use tokio::sync::Semaphore;

use super::address::Address;
use super::guard::Guard;
use super::library::{Elevations, Library};
use super::page::Assets;

/// What requests share.
#[derive(Debug)]
pub(super) struct State {
    /// Who may ask.
    pub(super) guard: Guard,
    /// Style, script, policy.
    pub(super) assets: Assets,
    /// Rider and set of an address that names none.
    pub(super) defaults: Address,
    /// Where elevations come from.
    pub(super) elevations: Elevations,
    /// The folder that the page was started with.
    pub(super) folder: Option<PathBuf>,
    library: RwLock<Library>,
    recent: Mutex<Recent>,
    /// As many plans are worked out at once as there are processors.
    pool: Arc<Semaphore>,
}

/// Answers that were given just now, by what was asked.
#[derive(Debug, Default)]
struct Recent {
    answers: HashMap<String, (u64, Bytes)>,
    clock: u64,
    bytes: usize,
    generation: Generation,
}

/// Which state of the routes an answer is about: each change begins another.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Generation(u64);

/// The most that is kept of them, in bytes.
const MOST_RECENT_BYTES: usize = 64 << 20;

/// The pool was closed, which nobody does, or a task ended before its answer.
#[derive(Debug, thiserror::Error)]
#[error("the plan was given up; ask again")]
pub(super) struct GivenUp;

impl State {
    /// A state with routes.
    pub(super) fn new(
        guard: Guard,
        defaults: Address,
        elevations: Elevations,
        folder: Option<PathBuf>,
        library: Library,
    ) -> State {
        let processors = std::thread::available_parallelism().map_or(2, usize::from);
        State {
            guard,
            assets: Assets::new(),
            defaults,
            elevations,
            folder,
            library: RwLock::new(library),
            recent: Mutex::default(),
            pool: Arc::new(Semaphore::new(processors)),
        }
    }

    /// The routes as they are now.
    pub(super) fn library(&self) -> Library {
        self.library
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// Changes the routes.
    pub(super) fn change<T>(&self, change: impl FnOnce(&mut Library) -> T) -> T {
        let mut library = self.library.write().unwrap_or_else(PoisonError::into_inner);
        let changed = change(&mut library);
        self.recent().clear();
        changed
    }

    /// Does work on a thread of its own when a processor is free. If the asker leaves before, it is never begun.
    ///
    /// # Errors
    /// The work was given up.
    pub(super) async fn work<T: Send + 'static>(
        self: &Arc<Self>,
        work: impl FnOnce(&State) -> T + Send + 'static,
    ) -> Result<T, GivenUp> {
        let permit = Arc::clone(&self.pool)
            .acquire_owned()
            .await
            .map_err(|_| GivenUp)?;
        let state = Arc::clone(self);
        let task = tokio::task::spawn_blocking(move || {
            let done = work(&state);
            drop(permit);
            done
        });
        task.await.map_err(|_| GivenUp)
    }

    /// The answer to what was asked just now.
    pub(super) fn remembered(&self, asked: &str) -> Option<Bytes> {
        self.recent().get(asked)
    }

    /// The state of the routes now: to be read before the routes that an answer is worked out for.
    pub(super) fn generation(&self) -> Generation {
        self.recent().generation
    }

    /// Remembers an answer for a while, unless the routes have changed since it was begun.
    pub(super) fn remember(&self, begun: Generation, asked: String, answer: Bytes) {
        let mut recent = self.recent();
        if recent.generation == begun {
            recent.put(asked, answer);
        }
    }

    fn recent(&self) -> MutexGuard<'_, Recent> {
        self.recent.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Recent {
    fn clear(&mut self) {
        *self = Recent {
            generation: Generation(self.generation.0 + 1),
            ..Recent::default()
        };
    }

    fn get(&mut self, asked: &str) -> Option<Bytes> {
        self.clock += 1;
        let (used, answer) = self.answers.get_mut(asked)?;
        *used = self.clock;
        Some(answer.clone())
    }

    fn put(&mut self, asked: String, answer: Bytes) {
        self.clock += 1;
        self.bytes += asked.len() + answer.len();
        let before = self.answers.insert(asked.clone(), (self.clock, answer));
        self.bytes -= before.map_or(0, |(_, answer)| asked.len() + answer.len());
        while self.bytes > MOST_RECENT_BYTES {
            let oldest = self.answers.iter().min_by_key(|(_, (used, _))| *used);
            let Some(oldest) = oldest.map(|(asked, _)| asked.clone()) else {
                return;
            };
            if let Some((_, answer)) = self.answers.remove(&oldest) {
                self.bytes -= oldest.len() + answer.len();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::sources::Wanted;
    use crate::terrain::Tiles;

    #[test]
    fn an_answer_begun_before_the_routes_changed_is_not_remembered() {
        let guard = Guard {
            bound: ([127, 0, 0, 1], 0).into(),
            token: String::new(),
        };
        let elevations = Elevations {
            wanted: Wanted::Auto,
            tiles: Tiles::open("nowhere"),
        };
        let state = State::new(
            guard,
            Address::default(),
            elevations,
            None,
            Library::default(),
        );
        let answer = |text: &'static str| Bytes::from_static(text.as_bytes());
        let begun = state.generation();
        state.change(|_| ());
        state.remember(begun, "all".to_owned(), answer("of the routes before"));
        assert_eq!(state.remembered("all"), None);
        state.remember(
            state.generation(),
            "all".to_owned(),
            answer("of the routes now"),
        );
        assert_eq!(state.remembered("all"), Some(answer("of the routes now")));
    }

    #[test]
    fn what_was_asked_longest_ago_is_forgotten_first_and_memory_stays_bounded() {
        let mut recent = Recent::default();
        let answer = Bytes::from(vec![0; 10 << 20]);
        for asked in ["a", "b", "c", "d", "e", "f"] {
            recent.put(asked.to_owned(), answer.clone());
        }
        assert!(recent.get("a").is_some());
        recent.put("g".to_owned(), answer.clone());
        assert!(recent.get("b").is_none());
        assert!(recent.get("a").is_some());
        recent.put("a".to_owned(), answer);
        assert!(recent.bytes <= MOST_RECENT_BYTES);
        assert_eq!(
            recent.bytes,
            recent
                .answers
                .iter()
                .map(|(k, (_, a))| k.len() + a.len())
                .sum::<usize>()
        );
    }
}
