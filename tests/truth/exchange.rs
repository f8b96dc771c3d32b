//! Recordings and truth as files for other programs, and what those found, read back.
//!
//! A folder holds `road-SEED-KIND.gpx` for each recording and `truth.json`. Another program writes one JSON file,
//! `{"road-SEED-KIND": [{"start": {"lat", "lon"}, "end": {"lat", "lon"}, "grade_pct", "grade_se_pct"}]}`, the last
//! of which may be missing or null.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::io;
use std::path::Path;

use hillwright::route::Recording;
use serde::Deserialize;
use serde_json::json;

use super::recording::{Kind, record};
use super::road::Road;
use super::score::{Found, Tally, place_on_road, score};

/// The name of a recording's file, without its ending.
pub fn stem(seed: u64, kind: Kind) -> String {
    format!("road-{seed}-{}", kind.name())
}

/// Writes the recordings of these seeds and the truth about them.
pub fn write_folder(folder: &Path, seeds: impl Iterator<Item = u64>) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let mut truth = serde_json::Map::new();
    for seed in seeds {
        let road = Road::draw(seed);
        let climbs: Vec<_> = road
            .true_climbs
            .iter()
            .map(|climb| {
                let (start_lat, start_lon) = road.position_deg(climb.start_m);
                let (end_lat, end_lon) = road.position_deg(climb.end_m);
                json!({
                    "start": {"distance_m": climb.start_m, "lat": start_lat, "lon": start_lon},
                    "end": {"distance_m": climb.end_m, "lat": end_lat, "lon": end_lon},
                    "grade_pct": climb.grade_pct,
                })
            })
            .collect();
        for kind in Kind::ALL {
            let file = folder.join(stem(seed, kind) + ".gpx");
            fs::write(file, gpx(&record(&road, kind).recording))?;
            truth.insert(stem(seed, kind), json!(climbs));
        }
    }
    fs::write(folder.join("truth.json"), format!("{:#}\n", json!(truth)))
}

/// A recording as GPX 1.1.
pub fn gpx(recording: &Recording) -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <gpx version=\"1.1\" creator=\"truth bench\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n<trk>\n<trkseg>\n",
    );
    for point in &recording.points {
        let _ = write!(
            text,
            "<trkpt lat=\"{:.7}\" lon=\"{:.7}\">",
            point.lat_deg, point.lon_deg
        );
        if let Some(elevation_m) = point.elevation_m {
            let _ = write!(text, "<ele>{elevation_m}</ele>");
        }
        let time = point
            .time_s
            .and_then(|time_s| jiff::Timestamp::from_second(time_s as i64).ok());
        if let Some(time) = time {
            let _ = write!(text, "<time>{time}</time>");
        }
        text.push_str("</trkpt>\n");
    }
    text.push_str("</trkseg>\n</trk>\n</gpx>\n");
    text
}

#[derive(Deserialize)]
struct Place {
    lat: f64,
    lon: f64,
}

#[derive(Deserialize)]
struct OtherFound {
    start: Place,
    end: Place,
    grade_pct: f64,
    grade_se_pct: Option<f64>,
}

/// Scores what another program found, on every recording that its file names.
pub fn score_file(file: &Path) -> io::Result<Vec<(Kind, Tally)>> {
    let answers: BTreeMap<String, Vec<OtherFound>> = serde_json::from_slice(&fs::read(file)?)?;
    let mut tallies = Kind::ALL.map(|kind| (kind, Tally::default()));
    let mut roads: BTreeMap<u64, Road> = BTreeMap::new();
    for (stem, climbs) in answers {
        let (seed, kind) = parse_stem(&stem)
            .ok_or_else(|| io::Error::other(format!("'{stem}' is no recording of the bench")))?;
        let road = roads.entry(seed).or_insert_with(|| Road::draw(seed));
        let found: Vec<Found> = climbs.iter().map(found).collect();
        let result = score(road, &place_on_road(road, &found));
        for (other, tally) in &mut tallies {
            if *other == kind {
                tally.add(&result);
            }
        }
    }
    Ok(tallies.into())
}

fn found(other: &OtherFound) -> Found {
    Found {
        start_lat_deg: other.start.lat,
        start_lon_deg: other.start.lon,
        end_lat_deg: other.end.lat,
        end_lon_deg: other.end.lon,
        grade_pct: other.grade_pct,
        grade_se_pct: other.grade_se_pct,
    }
}

fn parse_stem(stem: &str) -> Option<(u64, Kind)> {
    let (seed, kind) = stem.strip_prefix("road-")?.split_once('-')?;
    Some((seed.parse().ok()?, Kind::named(kind)?))
}
