//! A recording as a file has it, and a route as the rest of the crate uses it.

/// One line as a file has it, before any cleaning.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Recording {
    /// The name the file gives it.
    pub name: Option<String>,
    /// All points in file order, segments one after the other.
    pub points: Vec<RawPoint>,
    /// Index in `points` of each segment's first point; empty segments are left out.
    pub segment_starts: Vec<usize>,
    /// What sensors recorded beside the points.
    pub sensors: Sensors,
    /// What the reader dropped or could not use, in sentences.
    pub warnings: Vec<String>,
}

/// One point as a file has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RawPoint {
    /// Latitude, WGS 84, in degrees, north positive, -90 to 90.
    pub lat_deg: f64,
    /// Longitude, WGS 84, in degrees, east positive, -180 to 180.
    pub lon_deg: f64,
    /// Elevation as recorded, in metres.
    pub elevation_m: Option<f64>,
    /// Time, in seconds since 1970-01-01T00:00:00Z.
    pub time_s: Option<f64>,
}

/// Sensor columns, each as long as the points, or empty where the file has none of that kind.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sensors {
    /// Cadence, in turns of the cranks a minute.
    pub cadence_rpm: Vec<Option<f32>>,
    /// Power, in watts.
    pub power_w: Vec<Option<f32>>,
    /// Heart rate, in beats a minute.
    pub heart_rate_bpm: Vec<Option<f32>>,
    /// Air temperature, in degrees Celsius.
    pub temperature_c: Vec<Option<f32>>,
}

/// A cleaned line on the ground, with distance along it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Route {
    /// The file it came from, as the user named it (`-` for standard input).
    pub source: String,
    /// The name the file gives it.
    pub name: Option<String>,
    /// The points, at least two, distances strictly increasing from 0.
    pub points: Vec<Point>,
    /// What sensors recorded beside the points, cleaned alike.
    pub sensors: Sensors,
    /// When the recording began, in seconds since 1970-01-01T00:00:00Z; `None` where it has no times.
    pub started_s: Option<f64>,
    /// Length along the WGS 84 ellipsoid, in metres.
    pub length_m: f64,
    /// Whether it ends where it starts.
    pub is_loop: bool,
    /// Everything that was dropped, filled or guessed, in sentences.
    pub warnings: Vec<String>,
}

/// One point of a route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Latitude, WGS 84, in degrees.
    pub lat_deg: f64,
    /// Longitude, WGS 84, in degrees.
    pub lon_deg: f64,
    /// Distance from the route's start along the route, in metres.
    pub distance_m: f64,
    /// Elevation as recorded, in metres; `None` where there was none, or where a spike was dropped.
    pub elevation_m: Option<f64>,
    /// Seconds since the recording's first time; `None` where there was none.
    pub time_s: Option<f64>,
}
