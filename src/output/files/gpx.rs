//! GPX 1.1: the route as a track, and a waypoint at each rep's start, shifts and stop.
//!
//! The track keeps the times of a recording.

use std::io;

use geo::Point;
use gpx::{Gpx, GpxVersion, Metadata, Track, TrackSegment, Waypoint as GpxPoint};

use super::Ride;

/// A file with all rides.
///
/// # Errors
/// What the writer says; it is not known to refuse anything that is given to it here.
pub fn gpx(rides: &[Ride]) -> io::Result<String> {
    let remarks = rides.first().map_or(Vec::new(), Ride::remarks);
    let document = Gpx {
        version: GpxVersion::Gpx11,
        creator: Some(concat!("Hillwright ", env!("CARGO_PKG_VERSION")).to_owned()),
        metadata: Some(Metadata {
            name: rides.first().map(Ride::name),
            description: Some(remarks.join(" ")).filter(|r| !r.is_empty()),
            ..Metadata::default()
        }),
        waypoints: rides.iter().flat_map(waypoints).collect(),
        tracks: rides.iter().map(track).collect(),
        ..Gpx::default()
    };
    let mut bytes = Vec::new();
    gpx::write(&document, &mut bytes).map_err(|e| io::Error::other(e.to_string()))?;
    let mut text = String::from_utf8(bytes).map_err(io::Error::other)?;
    if !text.ends_with('\n') {
        text.push('\n');
    }
    Ok(text)
}

fn track(ride: &Ride) -> Track {
    let mut segment = TrackSegment::new();
    segment.points = ride
        .route
        .points
        .iter()
        .map(|p| {
            let mut point = GpxPoint::new(Point::new(p.lon_deg, p.lat_deg));
            point.elevation = p.elevation_m;
            point.time = ride
                .route
                .started_s
                .zip(p.time_s)
                .and_then(|(started_s, s)| instant(started_s + s));
            point
        })
        .collect();
    let mut track = Track::new();
    track.name = Some(ride.name());
    track.segments = vec![segment];
    track
}

/// A time, to a millisecond; none outside the calendar.
fn instant(since_1970_s: f64) -> Option<gpx::Time> {
    let nanoseconds = (since_1970_s * 1e3).round() as i128 * 1_000_000;
    let time = time::OffsetDateTime::from_unix_timestamp_nanos(nanoseconds).ok()?;
    Some(time.into())
}

fn waypoints(ride: &Ride) -> Vec<GpxPoint> {
    let made = ride.waypoints().into_iter().map(|waypoint| {
        let mut point = GpxPoint::new(Point::new(waypoint.at.lon, waypoint.at.lat));
        point.elevation = Some(waypoint.at.elevation_m);
        point.name = Some(waypoint.name);
        point.description = Some(waypoint.about);
        point
    });
    made.collect()
}
