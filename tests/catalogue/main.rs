//! Broken and hostile input, and the answer that each must get: run against the program as a stranger would, and sent to
//! the local page.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod case;
mod files_out;
mod folders;
mod geojson;
mod gpx_numbers;
mod gpx_text;
mod gpx_times;
mod hill;
mod kml;
mod legal;
mod packed;
#[path = "../page/mod.rs"]
#[allow(dead_code, reason = "the page's own tests use the rest")]
mod page;
mod prescriptions;
mod strangers;
