//! Many routes: scanned, remembered, and searched by place.
//!
//! [`scan`] surveys files in parallel, one [`Survey`] a route: what a rider wants to know of it and no more, so that thousands
//! fit into memory; [`stream`] hands each on as it is finished. [`Cache`] keeps the answers between runs, each with everything that it depends on in its key. [`same`] finds
//! the climbs that several routes go up, with their errors combined and the [`halts`] that rides share, and [`near`] those
//! around a place.
//!
//! ```
//! use hillwright::archive::{self, Question};
//! use hillwright::{climbs::Rule, files, profile::sources::Wanted, terrain::Tiles};
//!
//! let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
//! let tiles = Tiles::open("elevation-cache");
//! let question = Question::new(Rule::default(), Wanted::Auto, &tiles);
//! let found = files::find_routes(&folder)?.files;
//! let answers = archive::scan(&found, |file| archive::survey(file, &files::Limits::default(), &question, None), || {});
//! let surveys: Vec<_> = answers.into_iter().flatten().flat_map(|a| a.surveys).collect();
//! let refs: Vec<_> = surveys.iter().collect();
//! let climbs = archive::same::climbs(&refs);
//! assert!(climbs.iter().any(|climb| climb.seen.len() > 1));
//! # Ok::<(), hillwright::files::FileError>(())
//! ```

mod cache;
mod combine;
pub mod halts;
mod key;
pub mod near;
pub mod same;
mod scan;
mod stamp;
mod stream;
mod survey;
mod trace;

pub use cache::{Cache, CacheSize};
pub use scan::{Answer, Question, by_reason, none_usable, scan, survey, survey_bytes};
pub use stream::stream;
pub use survey::{AscentSeen, ClimbSeen, Elevations, Spot, Survey};
pub use trace::Trace;
