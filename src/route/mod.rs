//! A file becomes a line on the ground.
//!
//! [`read`] tells by their content whether bytes are GPX, KML or GeoJSON, [`parse`]s them into [`Recording`]s, and
//! [`clean`]s each into a [`Route`]: a line without repeated points, standing jitter and spikes, with its distance. What
//! was dropped, joined or guessed on the way is in the route's `warnings`.
//!
//! ```
//! let file = r#"<gpx version="1.1" creator="hand"><trk><name>Up</name><trkseg>
//!     <trkpt lat="45.000" lon="7.000"><ele>500</ele></trkpt>
//!     <trkpt lat="45.001" lon="7.000"><ele>508</ele></trkpt>
//! </trkseg></trk></gpx>"#;
//! let routes = hillwright::route::read(file.as_bytes(), "up.gpx")?;
//! assert_eq!(routes[0].name.as_deref(), Some("Up"));
//! assert!((routes[0].length_m - 111.13).abs() < 0.01);
//! # Ok::<(), hillwright::route::RouteError>(())
//! ```

mod bounds;
mod clean;
mod columns;
mod decode;
mod distance;
mod error;
mod faults;
mod geojson;
mod geojson_coordinates;
mod geojson_object;
mod gpx;
mod gpx_point;
mod gpx_usual;
mod instant;
mod kml;
mod model;
mod number;
mod xml;

pub use bounds::Bounds;
pub use clean::{clean, clean_with_times};
pub use distance::{LatLon, bearing_rad, is_within_m, step_m};
pub use error::RouteError;
pub use model::*;

use decode::Format;
use faults::counted;

/// Of so many lines that are left out of a file it is told why; of more, how many they are.
const MOST_TOLD: usize = 10;

/// All routes in a file, cleaned, in file order.
///
/// `source` is what the user calls the file. A line that is too short to be a route is left out with a warning on the
/// first of the others, and is an error where there are none.
pub fn read(bytes: &[u8], source: &str) -> Result<Vec<Route>, RouteError> {
    read_within(bytes, source, &Bounds::default())
}

/// The same, of a file that may hold so much.
pub fn read_within(bytes: &[u8], source: &str, bounds: &Bounds) -> Result<Vec<Route>, RouteError> {
    let mut routes: Vec<Route> = Vec::new();
    let mut short = Vec::new();
    let mut left_out = 0;
    let mut road_m = 0.0;
    for recording in parse_within(bytes, bounds)? {
        let name = recording.name.clone();
        let mut warnings = recording.warnings.clone();
        match clean(recording, source) {
            Ok(route) => {
                road_m += route.length_m;
                bounds.hold_road(road_m)?;
                routes.push(route);
            }
            Err(error) => {
                let name = name.map_or_else(
                    || "a line without a name".into(),
                    |name| format!("\"{name}\""),
                );
                warnings.insert(0, format!("{name} in this file left out: {error}"));
                left_out += 1;
                if left_out <= MOST_TOLD {
                    short.push((error, warnings));
                }
            }
        }
    }
    match (routes.first_mut(), short.first()) {
        (None, Some((error, _))) => return Err(error.clone()),
        (Some(first), _) => first
            .warnings
            .extend(short.into_iter().flat_map(|(_, warnings)| warnings)),
        (None, None) => {}
    }
    if let (Some(first), true) = (routes.first_mut(), left_out > MOST_TOLD) {
        let more = counted(left_out - MOST_TOLD, "more line", "more lines");
        first.warnings.push(format!("{more} in this file left out"));
    }
    Ok(routes)
}

/// All lines in a file as it has them, in file order; those without points are left out.
pub fn parse(bytes: &[u8]) -> Result<Vec<Recording>, RouteError> {
    parse_within(bytes, &Bounds::default())
}

/// The same, of a file that may hold so much; only its points are counted, not its road.
pub fn parse_within(bytes: &[u8], bounds: &Bounds) -> Result<Vec<Recording>, RouteError> {
    let decoded = decode::text(bytes)?;
    let mut recordings = match decode::format(&decoded.text)? {
        Format::Gpx => gpx::parse(&decoded.text, bounds)?,
        Format::Kml => kml::parse(&decoded.text, bounds)?,
        Format::GeoJson => geojson::parse(&decoded.text, bounds)?,
    };
    if let Some(first) = recordings.first_mut() {
        first.warnings.extend(decoded.warning);
    }
    Ok(recordings)
}
