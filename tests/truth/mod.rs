//! The truth bench: roads whose climbs are known, the recordings that five kinds of device or planner make of
//! them, and the score of whoever looks for the climbs.
//!
//! Nothing here uses the code that it judges, save for the type of a recording: the roads are drawn from the
//! definition of a steady climb, and the definition is written down a second time in [`definition`].
//!
//! * [`road`] draws a road, as a plan on the ground and as a profile, and states its climbs;
//! * [`recording`] rides or draws it and returns what a file would hold;
//! * [`ground`] makes the elevation tiles around it;
//! * [`pipeline`] is the code under test;
//! * [`session`] makes plans from a recording, and [`rep`] rides them on the road itself;
//! * [`score`] holds what was found against what is there;
//! * [`confusions`] tells what the missed climbs and the false ones lie on;
//! * [`floor`] asks how well anybody could do who knows the noise exactly and that one climb is there, and
//!   [`reader`] how many climbs, by reading the recordings with all that is known of how they are made.
#![allow(
    dead_code,
    unreachable_pub,
    reason = "a test and an example share this module, and each uses a part of it"
)]

pub mod bench;
pub mod confusions;
pub mod definition;
pub mod exchange;
pub mod floor;
pub mod ground;
pub mod layout;
pub mod matrix;
pub mod pipeline;
pub mod plan;
pub mod posterior;
pub mod profile;
pub mod reader;
pub mod recording;
pub mod rep;
pub mod rider;
pub mod rng;
pub mod road;
pub mod score;
pub mod session;
pub mod table;
