//! The commented files to start from.

/// A rider file with every key, its unit and what to do where a value is not known. It is TOML that
/// [`parse_rider`](super::parse_rider) reads without a note.
pub const EXAMPLE_RIDER: &str = include_str!("example_rider.toml");

/// A set file: six reps of four minutes in a big gear, and, commented out, four maximal starts. It is TOML that
/// [`parse_set`](super::parse_set) reads.
pub const EXAMPLE_SET: &str = include_str!("example_set.toml");
