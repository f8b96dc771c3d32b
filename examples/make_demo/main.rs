//! Makes the demo scenario: an invented island in the open South Pacific, its roads, rides on them, a rider, two sets of
//! reps, and the elevation tile that the island lies in.
//!
//! ```text
//! cargo run --example make_demo [-- [--out DIR] [--truth FILE]]
//! ```
//!
//! The files go to `sample-routes/` and `elevation-cache/` below `DIR`, the project's root if it is not given. With
//! `--truth`, the loop's climbs as they were built go to `FILE`.
//!
//! The same bytes come out every time: the random numbers are our own, and everything is plain `f64` arithmetic. Sines
//! and the like come from the platform and may differ in their last bit; the files hold whole metres, tenths of metres
//! and millionths of degrees, far coarser than that.

pub(crate) mod earth;
mod gpx_text;
mod loop_plan;
mod noise;
mod pieces;
mod planner;
mod profile;
pub(crate) mod random;
mod recording;
mod ride;
pub(crate) mod road;
pub(crate) mod scenario;
mod side_roads;
mod terrain;
mod texts;
mod tile;
mod truth;

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    let wishes = Wishes::from_arguments(std::env::args().skip(1))?;
    let world = scenario::world()?;
    write_files(&world, &wishes.out)?;
    if let Some(path) = wishes.truth {
        fs::write(path, scenario::truth(&world))?;
    }
    Ok(())
}

/// Writes the demo's files below a folder.
pub(crate) fn write_files(world: &scenario::World, out: &Path) -> Result<(), Box<dyn Error>> {
    for file in scenario::files(world)? {
        let path = out.join(file.path);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)?;
        }
        fs::write(path, file.bytes)?;
    }
    Ok(())
}

struct Wishes {
    out: PathBuf,
    truth: Option<PathBuf>,
}

impl Wishes {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut wishes = Self {
            out: PathBuf::from(env!("CARGO_MANIFEST_DIR")),
            truth: None,
        };
        while let Some(flag) = arguments.next() {
            let value = arguments
                .next()
                .ok_or_else(|| format!("{flag} needs a value"))?;
            match flag.as_str() {
                "--out" => wishes.out = value.into(),
                "--truth" => wishes.truth = Some(value.into()),
                _ => {
                    return Err(format!(
                        "{flag} is not known; there are --out DIR and --truth FILE"
                    ));
                }
            }
        }
        Ok(wishes)
    }
}
