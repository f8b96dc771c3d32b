//! The demo scenario in the repository is what its program makes, byte for byte.

#[allow(dead_code, reason = "the program's own entry is not called here")]
#[path = "../examples/make_demo/main.rs"]
mod make_demo;

use std::fs;
use std::path::Path;

use make_demo::scenario;

/// The whole demo stays smaller than this.
const MOST_BYTES: usize = 6_000_000;

#[test]
fn committed_demo_files_are_what_the_program_makes() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let world = scenario::world().expect("the tables hold together");
    let files = scenario::files(&world).expect("the files can be made");
    for file in &files {
        let committed = fs::read(root.join(file.path)).expect(file.path);
        assert!(
            committed == file.bytes,
            "{} is not what the program makes",
            file.path
        );
    }
    assert!(files.iter().map(|file| file.bytes.len()).sum::<usize>() < MOST_BYTES);
}
