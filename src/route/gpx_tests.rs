use super::*;

fn parse(text: &str) -> Result<Vec<Recording>, RouteError> {
    super::parse(text, &Bounds::default())
}

fn gpx(body: &str) -> String {
    format!("<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"test\">\n{body}\n</gpx>")
}

fn track(points: &str) -> String {
    gpx(&format!("<trk><trkseg>\n{points}\n</trkseg></trk>"))
}

fn one(text: &str) -> Recording {
    let mut recordings = parse(text).unwrap();
    assert_eq!(recordings.len(), 1);
    recordings.remove(0)
}

#[test]
fn tracks_and_routes_come_in_file_order_with_names_and_segments() {
    let text = gpx(concat!(
        "<wpt lat='1' lon='1'><name>Inn</name></wpt>",
        "<rte><name>Plan</name><rtept lat='1' lon='2'><name>Turn</name></rtept><rtept lat='1' lon='3'/></rte>",
        "<trk><name>Ride</name><trkseg><trkpt lat='2' lon='2'/></trkseg><trkseg/>",
        "<trkseg><trkpt lat='3' lon='2'/><trkpt lat='4' lon='2'/></trkseg></trk>",
    ));
    let recordings = parse(&text).unwrap();
    assert_eq!(recordings.len(), 2);
    assert_eq!(recordings[0].name.as_deref(), Some("Plan"));
    assert_eq!(recordings[0].points.len(), 2);
    assert_eq!(recordings[1].name.as_deref(), Some("Ride"));
    assert_eq!(recordings[1].segment_starts, [0, 1]);
    assert!(
        recordings
            .iter()
            .all(|recording| recording.warnings.is_empty())
    );
}

#[test]
fn entities_cdata_and_comments_in_a_name_are_read() {
    let text = gpx(
        "<trk><name>A &amp; B<!-- no --> &#228;<![CDATA[ <c> & ]]>&own; R&D</name><trkpt lat='1' lon='1'/></trk>",
    );
    assert_eq!(one(&text).name.as_deref(), Some("A & B ä <c> & &own; R&D"));
}

#[test]
fn sensor_values_are_found_by_local_name_in_any_namespace() {
    let text = track(concat!(
        "<trkpt lat='1' lon='1'/>",
        "<trkpt lat='1' lon='2'><extensions><x:Point><x:hr>140</x:hr><x:cad> 55 </x:cad><x:atemp>-3.5</x:atemp></x:Point>",
        "<power>210</power></extensions></trkpt>",
        "<trkpt lat='1' lon='3'><y:heartrate>141</y:heartrate></trkpt>",
    ));
    let sensors = one(&text).sensors;
    assert_eq!(sensors.heart_rate_bpm, [None, Some(140.0), Some(141.0)]);
    assert_eq!(sensors.cadence_rpm, [None, Some(55.0), None]);
    assert_eq!(sensors.temperature_c, [None, Some(-3.5), None]);
    assert_eq!(sensors.power_w, [None, Some(210.0), None]);
}

#[test]
fn a_bad_value_is_left_out_and_told_with_its_line() {
    let text = track(concat!(
        "<trkpt lat='1' lon='1'><ele> 5.5 </ele><time>2024-01-01T00:00:00</time></trkpt>\n",
        "<trkpt lat='91' lon='1'/>\n",
        "<trkpt lat='1' lon='2'><ele>12,5</ele><time>noon</time></trkpt>\n",
        "<trkpt lat='1' lon='3'><ele>NaN</ele><ele/></trkpt>",
    ));
    let recording = one(&text);
    assert_eq!(recording.points.len(), 3);
    assert_eq!(recording.points[0].elevation_m, Some(5.5));
    assert_eq!(
        recording.warnings,
        [
            "1 point without a usable position left out (the first on line 5: \"lat='91' lon='1'\")",
            "2 elevations not a number, left out (the first on line 6: \"12,5\")",
            "1 time not readable, left out (the first on line 6: \"noon\")",
            "1 time without a time zone taken as UTC (the first on line 4: \"2024-01-01T00:00:00\")",
        ]
    );
}

#[test]
fn mostly_unusable_positions_are_an_error_that_says_what_was_expected() {
    let text = track(
        "<trkpt lat='121.5' lon='45'/>\n<trkpt lat='121.6' lon='45'/><trkpt lat='1' lon='1'/>",
    );
    let error = parse(&text).unwrap_err().to_string();
    assert!(error.contains("2 of its 3 positions"), "{error}");
    assert!(
        error.contains("line 4: \"lat='121.5' lon='45'\""),
        "{error}"
    );
    assert!(error.contains("swapped"), "{error}");
}

#[test]
fn a_file_cut_short_keeps_what_was_there() {
    let text = track(
        "<trkpt lat='1' lon='1'/><trkpt lat='1' lon='2'/>\n<trkpt lat='1' lon='3'><ele>5</ele></trkpt>",
    );
    let cut = &text[..text.find("<ele>").unwrap() + 3];
    let recording = one(cut);
    assert_eq!(recording.points.len(), 2);
    assert_eq!(
        recording.warnings,
        ["the file ends in the middle, on line 5, after 2 points; what was there is used"]
    );
    let short = &text[..text.find("lon='2'").unwrap()];
    assert_eq!(
        parse(short),
        Err(RouteError::CutShort { line: 4, points: 1 })
    );
}

#[test]
fn tags_that_cross_are_an_error_with_their_line() {
    let text = track("<trkpt lat='1' lon='1'>\n</trkseg></trkpt>");
    assert!(matches!(parse(&text), Err(RouteError::Xml { line: 5, .. })));
}

#[test]
fn a_file_without_a_line_says_what_it_has() {
    let waypoints = parse(&gpx("<wpt lat='1' lon='1'/>"))
        .unwrap_err()
        .to_string();
    assert!(
        waypoints.contains("1 waypoint, but no track"),
        "{waypoints}"
    );
    let empty = parse(&gpx("<trk><trkseg/></trk>")).unwrap_err().to_string();
    assert!(empty.contains("1 track or route without points"), "{empty}");
}

#[test]
fn a_document_type_is_not_obeyed() {
    let text = "<!DOCTYPE gpx [<!ENTITY a \"aaaa\"><!ENTITY b \"&a;&a;\">]><gpx><trk><name>&b;</name><trkpt lat='1' lon='1'/></trk></gpx>";
    assert_eq!(one(text).name.as_deref(), Some("&b;"));
}

#[test]
fn deep_nesting_is_no_danger() {
    let text = format!(
        "<gpx><trk><trkpt lat='1' lon='1'/>{}",
        "<a>".repeat(200_000)
    );
    assert!(parse(&text).is_err());
}
