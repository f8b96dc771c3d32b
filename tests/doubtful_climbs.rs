//! Climbs that a coarse recording makes doubtful are told as such in every form.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;
mod truth;

use serde_json::Value;
use support::hillwright;
use truth::exchange::gpx;
use truth::recording::{Kind, record};
use truth::road::Road;

#[test]
fn every_form_of_the_climbs_says_which_are_unsure() {
    let folder = tempfile::tempdir().unwrap();
    let ride = folder.path().join("ride.gpx");
    let recording = record(&Road::draw(5000), Kind::SatelliteOnly).recording;
    std::fs::write(&ride, gpx(&recording)).unwrap();
    let forms = ["html", "csv", "gpx", "kml", "geojson", "json"];
    let files = forms.map(|ending| folder.path().join(format!("climbs.{ending}")));
    let mut run = hillwright();
    run.arg("climbs").arg(&ride);
    for file in &files {
        run.arg("-o").arg(file);
    }
    let text = run.assert().success().get_output().stdout.clone();
    let text = String::from_utf8(text).unwrap();
    let read = |at: usize| std::fs::read_to_string(&files[at]).unwrap();
    let document: Value = serde_json::from_str(&read(5)).unwrap();
    let climbs = document["routes"][0]["climbs"].as_array().unwrap();
    let unsure: Vec<&str> = climbs.iter().filter_map(|c| c["unsure"].as_str()).collect();
    assert!(!unsure.is_empty() && unsure.len() < climbs.len());
    assert_eq!(text.matches(" % ?").count(), unsure.len(), "{text}");
    assert_eq!(read(0).matches(" % ?").count(), unsure.len());
    for (at, form) in forms.iter().enumerate() {
        for why in &unsure {
            assert!(read(at).contains(why), "{form}: {why}");
        }
    }
}
