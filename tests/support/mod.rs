//! What several tests share: the committed reference values, and the program.
#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "each test uses a part; a test that panics has failed"
)]

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

/// The project's folder.
pub(crate) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A document of `tests/reference/values/`.
pub(crate) fn reference(name: &str) -> Value {
    let path = root().join("tests/reference/values").join(name);
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// The entries of a list in a reference document.
pub(crate) fn list<'a>(document: &'a Value, name: &str) -> &'a [Value] {
    let entries = document[name].as_array().unwrap();
    assert!(!entries.is_empty());
    entries
}

/// A number in an entry.
pub(crate) fn number(entry: &Value, name: &str) -> f64 {
    entry[name]
        .as_f64()
        .unwrap_or_else(|| panic!("{name} in {entry}"))
}

/// The program, run in the project's folder as README does.
pub(crate) fn hillwright() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("hillwright"));
    command
        .current_dir(root())
        .env_remove("COLUMNS")
        .env("XDG_CACHE_HOME", env!("CARGO_TARGET_TMPDIR"))
        .env("NO_COLOR", "1");
    command
}

/// A file of the demo.
pub(crate) fn sample(name: &str) -> PathBuf {
    root().join("sample-routes").join(name)
}
