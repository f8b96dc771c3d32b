//! Broken and hostile input, and the answer that each must get: run against the program as a stranger would.
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
mod prescriptions;
mod strangers;
