//! Hillwright reads a route, finds the climbs on it that are steady enough to train on, works out how long a rider takes
//! on each and what cadence each gear gives there, and says which climb suits each rep of a planned set.
//!
//! Data flows one way through the modules, in this order:
//!
//! 1. [`files`]: bytes in within bounds, files out whole or not at all
//! 2. [`route`]: a file becomes a line on the ground
//! 3. [`terrain`]: elevation tiles: find, read, sample, fetch
//! 4. [`profile`]: a line becomes a graded profile
//! 5. [`climbs`]: a profile becomes steady climbs
//! 6. [`ride`]: a rider on a profile: power to speed, time
//! 7. [`gearing`]: cadence, torque, pedal force, gear choice
//! 8. [`prescription`]: the rider file and the set file
//! 9. [`matching`]: which climb suits which rep
//! 10. [`review`]: a recording held against a plan; mass and drag fitted from it
//! 11. [`archive`]: many routes: scan, cache, the same climb seen twice
//! 12. [`output`]: text and JSON
//! 13. [`web`]: the local page
//! 14. [`cli`]: arguments in, answers out
//!
//! ```
//! use hillwright::climbs::{self, Rule};
//! use hillwright::gearing::Drive;
//! use hillwright::matching::{self, Demand, Rates, Task, Wishes};
//! use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};
//! use hillwright::profile::Profile;
//! use hillwright::ride::Weather;
//! use hillwright::route;
//!
//! let file = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-routes/big-loop.gpx");
//! let routes = route::read(&std::fs::read(file)?, file)?;
//! let profile = Profile::from_route(&routes[0])?;
//! let climbs = climbs::find(&profile, &Rule::default());
//!
//! let rider = parse_rider(EXAMPLE_RIDER)?;
//! let set = parse_set(EXAMPLE_SET)?;
//! let drive = Drive::new(&rider.rider, &rider.bike, &rider.resistance);
//! let plan = matching::plan(&Task {
//!     profile: &profile,
//!     climbs: &climbs,
//!     halts: &[],
//!     rider: &rider.rider,
//!     drive: &drive,
//!     weather: &Weather::default(),
//!     demands: &Demand::of_set(&set, rider.rider.threshold_w, &drive)?,
//!     warm_up_s: set.warm_up_s,
//!     rates: &Rates::default(),
//!     wishes: &Wishes::default(),
//! });
//! assert!(plan.fits);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod archive;
pub mod cli;
pub mod climbs;
pub mod files;
pub mod gearing;
pub mod matching;
pub mod output;
pub mod prescription;
pub mod profile;
pub mod review;
pub mod ride;
pub mod route;
pub mod terrain;
pub mod web;
