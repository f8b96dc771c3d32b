//! What an answer depends on, as one number.

use serde::{Deserialize, Serialize};
use twox_hash::XxHash3_128;

/// 128 bits of XXH3 (the reference implementation's specification). Two of a million different files share one with a chance below
/// 10⁻²⁶; it withstands accidents, not malice, and the files are the user's own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub(super) struct Key(pub(super) u128);

impl Key {
    /// The key of some bytes.
    pub(super) fn of(bytes: &[u8]) -> Key {
        Key(XxHash3_128::oneshot(bytes))
    }

    /// The key of several parts, their lengths counted in.
    pub(super) fn of_parts(parts: &[&[u8]]) -> Key {
        let mut all = Vec::new();
        for part in parts {
            all.extend_from_slice(&(part.len() as u64).to_le_bytes());
            all.extend_from_slice(part);
        }
        Key::of(&all)
    }

    pub(super) fn to_bytes(self) -> [u8; 16] {
        self.0.to_le_bytes()
    }
}

impl std::fmt::Display for Key {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_those_of_the_published_function() {
        // XXH3 128 bits of nothing, seed 0, as the reference implementation's `xxhsum -H2` prints it (from memory).
        assert_eq!(Key::of(b"").to_string(), "99aa06d3014798d86001c324468d497f");
    }

    #[test]
    fn parts_are_not_run_together() {
        assert_ne!(Key::of_parts(&[b"ab", b"c"]), Key::of_parts(&[b"a", b"bc"]));
    }
}
