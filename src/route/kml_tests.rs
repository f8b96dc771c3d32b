use super::*;

fn parse(text: &str) -> Result<Vec<Recording>, RouteError> {
    super::parse(text, &Bounds::default())
}

fn placemark(body: &str) -> String {
    format!(
        "<kml><Document><name>Folder</name>\n<Placemark><name>Col &amp; back</name>{body}</Placemark></Document></kml>"
    )
}

fn one(text: &str) -> Recording {
    let mut recordings = parse(text).unwrap();
    assert_eq!(recordings.len(), 1);
    recordings.remove(0)
}

fn elevations(recording: &Recording) -> Vec<Option<f64>> {
    recording
        .points
        .iter()
        .map(|point| point.elevation_m)
        .collect()
}

#[test]
fn a_line_string_has_its_placemarks_name_and_longitude_first() {
    let recording = one(&placemark(
        "<LineString><coordinates>\n 7.5,45.5,800 7.6,45.6,810.5\n</coordinates></LineString>",
    ));
    assert_eq!(recording.name.as_deref(), Some("Col & back"));
    assert_eq!(
        (recording.points[0].lat_deg, recording.points[0].lon_deg),
        (45.5, 7.5)
    );
    assert_eq!(elevations(&recording), [Some(800.0), Some(810.5)]);
    assert!(recording.warnings.is_empty());
}

#[test]
fn the_parts_of_a_multi_geometry_are_segments_of_one() {
    let line = |lon: &str| {
        format!("<LineString><coordinates>{lon},45 {lon}1,45</coordinates></LineString>")
    };
    let recording = one(&placemark(&format!(
        "<MultiGeometry>{}{}</MultiGeometry>",
        line("7.1"),
        line("7.2")
    )));
    assert_eq!(recording.segment_starts, [0, 2]);
}

#[test]
fn a_timed_track_pairs_times_places_and_sensors() {
    let recording = one(&placemark(concat!(
        "<gx:Track><altitudeMode>absolute</altitudeMode>",
        "<when>2024-01-01T00:00:00Z</when><when>2024-01-01T00:00:05Z</when>",
        "<gx:coord>7 45 100</gx:coord><gx:coord>7.001 45 101</gx:coord>",
        "<ExtendedData><SchemaData><gx:SimpleArrayData name='cadence'><gx:value>60</gx:value><gx:value>61</gx:value>",
        "</gx:SimpleArrayData></SchemaData></ExtendedData></gx:Track>",
    )));
    assert_eq!(
        recording.points[1].time_s,
        recording.points[0].time_s.map(|time_s| time_s + 5.0)
    );
    assert_eq!(recording.sensors.cadence_rpm, [Some(60.0), Some(61.0)]);
    assert_eq!(elevations(&recording), [Some(100.0), Some(101.0)]);
}

#[test]
fn zero_altitude_draped_on_the_ground_is_no_elevation_but_absolute_zero_is() {
    let line = |mode: &str| {
        placemark(&format!(
            "<LineString>{mode}<coordinates>7,45,0 7.1,45,0</coordinates></LineString>"
        ))
    };
    assert_eq!(elevations(&one(&line(""))), [None, None]);
    assert_eq!(
        elevations(&one(&line("<altitudeMode>clampToGround</altitudeMode>"))),
        [None, None]
    );
    assert_eq!(
        elevations(&one(&line("<altitudeMode>absolute</altitudeMode>"))),
        [Some(0.0), Some(0.0)]
    );
}

#[test]
fn altitude_above_the_ground_is_no_elevation_and_told() {
    let recording = one(&placemark(
        "<LineString><altitudeMode>relativeToGround</altitudeMode><coordinates>7,45,2 7.1,45,2</coordinates></LineString>",
    ));
    assert_eq!(elevations(&recording), [None, None]);
    assert_eq!(
        recording.warnings,
        ["2 altitudes given above the ground, not above the sea, left out"]
    );
}

#[test]
fn a_file_cut_in_a_number_loses_that_point_only() {
    let text =
        placemark("<LineString><coordinates>7,45 7.1,45 7.2345,45</coordinates></LineString>");
    let recording = one(&text[..text.find("345").unwrap()]);
    assert_eq!(recording.points.len(), 2);
    assert!(
        recording.warnings[0].starts_with("the file ends in the middle"),
        "{:?}",
        recording.warnings
    );
}

#[test]
fn points_and_polygons_are_no_line() {
    let text = placemark(
        "<Polygon><outerBoundaryIs><LinearRing><coordinates>7,45 7,46 8,46 7,45</coordinates></LinearRing></outerBoundaryIs></Polygon>",
    );
    assert!(
        parse(&text)
            .unwrap_err()
            .to_string()
            .contains("1 polygon, but no LineString")
    );
    let text = placemark("<Point><coordinates>7,45</coordinates></Point>");
    assert!(
        parse(&text)
            .unwrap_err()
            .to_string()
            .contains("no LineString and no Track")
    );
}

#[test]
fn latitude_first_is_recognised_as_swapped() {
    let text = placemark("<LineString><coordinates>45,121.5 45,121.6</coordinates></LineString>");
    assert!(parse(&text).unwrap_err().to_string().contains("swapped"));
}
