//! KML (OGC 12-007r2, KML 2.3): lines and timed tracks of placemarks.

use super::columns::{self, Quantity, Reading, quantity};
use super::faults::{Faults, Positions, counted, quoted};
use super::instant::instant;
use super::number::{decimal, sensor_value};
use super::xml::{self, End, Lines, Pieces};
use super::{Bounds, RawPoint, Recording, RouteError};
use quick_xml::{Reader, events::BytesStart, events::Event};

/// All placemarks with a line, in file order. The parts of a `MultiGeometry` or `MultiTrack` are segments of one.
pub(super) fn parse(text: &str, bounds: &Bounds) -> Result<Vec<Recording>, RouteError> {
    let mut reader = Reader::from_str(text);
    reader.config_mut().allow_dangling_amp = true;
    let mut state = State {
        lines: Lines::of(text),
        bounds: *bounds,
        ..State::default()
    };
    let end = loop {
        let event = reader.read_event();
        state.offset = reader.buffer_position();
        match event {
            Ok(Event::Start(tag)) => state.open(&tag),
            Ok(Event::Empty(tag)) => {
                state.open(&tag);
                state.close(tag.local_name().into_inner());
            }
            Ok(Event::End(tag)) => state.close(tag.local_name().into_inner()),
            Ok(Event::Text(piece)) => state.text.push(piece.into_inner()),
            Ok(Event::CData(piece)) => state.text.push(piece.into_inner()),
            Ok(Event::GeneralRef(reference)) => state.text.push_reference(&reference),
            Ok(Event::Eof) if state.depth == 0 => break End::Whole,
            Ok(Event::Eof) => break End::CutShort,
            Ok(_) => {}
            Err(error) => break xml::end_or_error(&error, &state.lines, reader.error_position())?,
        }
        bounds.hold(state.most_in_a_column(), state.recordings.len())?;
        bounds.hold_depth(state.depth)?;
    };
    state.finish(end)
}

#[derive(Default)]
struct State<'a> {
    bounds: Bounds,
    lines: Lines<'a>,
    offset: u64,
    depth: usize,
    text: Pieces<'a>,
    /// Depth of the open placemark; its name is one deeper.
    placemark_depth: Option<usize>,
    geometry: Geometry,
    /// Altitudes of the open geometry are heights above the ground or the sea floor.
    relative: bool,
    /// The open geometry's altitudes are draped over the ground: a zero says nothing.
    clamped: bool,
    track: Track,
    recording: Recording,
    faults: Faults,
    /// All altitudes so far are zero and say nothing.
    only_zeros: bool,
    above_ground: usize,
    recordings: Vec<Recording>,
    positions: Positions,
    passed_over: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Geometry {
    #[default]
    None,
    Line,
    Track,
    /// A point, polygon or model.
    Other,
}

/// A timed track has its times, places and sensor values in columns.
#[derive(Default)]
struct Track {
    times_s: Vec<Option<f64>>,
    places: Vec<Option<RawPoint>>,
    sensor: Option<Quantity>,
    values: [Vec<Option<f32>>; 4],
}

impl State<'_> {
    /// Points of the whole file, or what the open track has in a column without them.
    fn most_in_a_column(&self) -> usize {
        let values = self.track.values.iter().map(Vec::len);
        let alone = values.chain([self.track.times_s.len()]).max();
        self.positions.total.max(alone.unwrap_or(0))
    }

    fn open(&mut self, tag: &BytesStart) {
        self.depth += 1;
        self.text.clear();
        match tag.local_name().into_inner() {
            "Placemark" if self.placemark_depth.is_none() => {
                self.placemark_depth = Some(self.depth);
                self.only_zeros = true;
            }
            "LineString" => self.begin(Geometry::Line),
            "Track" => self.begin(Geometry::Track),
            "Point" | "Polygon" | "LinearRing" | "Model" => self.geometry = Geometry::Other,
            "SimpleArrayData" => {
                let name = tag.try_get_attribute("name").ok().flatten();
                self.track.sensor = name.and_then(|name| quantity(name.value.as_bytes()));
            }
            _ => {}
        }
    }

    fn begin(&mut self, geometry: Geometry) {
        self.geometry = geometry;
        (self.relative, self.clamped) = (false, true);
        self.track = Track::default();
    }

    fn close(&mut self, local_name: &str) {
        match local_name {
            "name" if self.placemark_depth == Some(self.depth.wrapping_sub(1)) => {
                self.recording.name = self.text.to_name()
            }
            "altitudeMode" => {
                let mode = self.text.as_str().trim();
                self.relative = matches!(mode, "relativeToGround" | "relativeToSeaFloor");
                self.clamped = mode != "absolute";
            }
            "coordinates" if self.geometry == Geometry::Line => self.read_coordinates(),
            "when" if self.geometry == Geometry::Track => self.read_when(),
            "coord" if self.geometry == Geometry::Track => self.read_coord(),
            "value" if self.geometry == Geometry::Track => self.read_value(),
            "LineString" => self.close_line(),
            "Track" => self.close_track(),
            "Polygon" | "LinearRing" | "Model" | "Point" => {
                self.passed_over += usize::from(local_name == "Polygon");
                self.geometry = Geometry::None;
            }
            "Placemark" if self.placemark_depth == Some(self.depth) => self.close_placemark(),
            _ => {}
        }
        self.depth = self.depth.saturating_sub(1);
        self.text.clear();
    }

    /// `lon,lat[,alt]` tuples with white space between. `altitudeMode` comes before them in the schema, but not in every
    /// file, so their altitudes are judged when the line ends.
    fn read_coordinates(&mut self) {
        let text = std::mem::take(&mut self.text);
        for tuple in text.as_str().split_ascii_whitespace() {
            if self.positions.total > self.bounds.points {
                return;
            }
            let mut parts = tuple.split(',');
            let mut number = || parts.next().map(|part| decimal(part.as_bytes()));
            let (lon, lat, altitude) = (number(), number(), number());
            if let Some(point) = self.place(lat.flatten(), lon.flatten(), altitude, tuple) {
                self.track.places.push(Some(point));
            }
        }
    }

    /// `lon lat alt` of one point of a track.
    fn read_coord(&mut self) {
        let text = std::mem::take(&mut self.text);
        let mut parts = text.as_str().split_ascii_whitespace();
        let mut number = || parts.next().map(|part| decimal(part.as_bytes()));
        let (lon, lat, altitude) = (number(), number(), number());
        let point = self.place(lat.flatten(), lon.flatten(), altitude, text.as_str());
        self.track.places.push(point);
    }

    /// `altitude` is `None` where there is none, and `Some(None)` where it is no number.
    fn place(
        &mut self,
        lat: Option<f64>,
        lon: Option<f64>,
        altitude: Option<Option<f64>>,
        seen: &str,
    ) -> Option<RawPoint> {
        let (lines, offset) = (&self.lines, self.offset);
        let first = || format!("up to line {}: {}", lines.at(offset), quoted(seen));
        let mut point = self.positions.place(lat, lon, &mut self.faults, first)?;
        match altitude {
            Some(None) => self.faults.elevations.add(first),
            Some(altitude) => point.elevation_m = altitude,
            None => {}
        }
        Some(point)
    }

    fn read_when(&mut self) {
        let read = instant(self.text.as_str().as_bytes());
        let (lines, offset, seen) = (&self.lines, self.offset, self.text.as_str());
        let first = || format!("on line {}: {}", lines.at(offset), quoted(seen));
        match read {
            None => self.faults.times.add(first),
            Some(read) if !read.has_zone => self.faults.zoneless.add(first),
            Some(_) => {}
        }
        self.track.times_s.push(read.map(|read| read.time_s));
    }

    fn read_value(&mut self) {
        if let Some(quantity) = self.track.sensor {
            let value = sensor_value(self.text.as_str().as_bytes());
            self.track.values[quantity as usize].push(value);
        }
    }

    fn close_line(&mut self) {
        let places = std::mem::take(&mut self.track.places);
        self.push_segment(
            places
                .into_iter()
                .flatten()
                .map(|point| (point, Reading::default())),
        );
        self.geometry = Geometry::None;
    }

    fn close_track(&mut self) {
        let track = std::mem::take(&mut self.track);
        if !track.times_s.is_empty() && track.times_s.len() != track.places.len() {
            let (times, places) = (track.times_s.len(), track.places.len());
            self.recording.warnings.push(format!(
                "a track has {times} times for {places} places: paired in order"
            ));
        }
        let point = |(i, place): (usize, Option<RawPoint>)| {
            let time_s = track.times_s.get(i).copied().flatten();
            let reading =
                [0, 1, 2, 3].map(|kind: usize| track.values[kind].get(i).copied().flatten());
            place.map(|place| (RawPoint { time_s, ..place }, reading))
        };
        self.push_segment(track.places.into_iter().enumerate().filter_map(point));
        self.geometry = Geometry::None;
    }

    fn push_segment(&mut self, points: impl Iterator<Item = (RawPoint, Reading)>) {
        let start = self.recording.points.len();
        for (mut point, reading) in points {
            if self.relative && point.elevation_m.take().is_some() {
                self.above_ground += 1;
            }
            self.only_zeros &= self.clamped
                && point
                    .elevation_m
                    .is_none_or(|elevation_m| elevation_m == 0.0);
            columns::push(
                &mut self.recording.sensors,
                self.recording.points.len(),
                &reading,
            );
            self.recording.points.push(point);
        }
        if self.recording.points.len() > start {
            self.recording.segment_starts.push(start);
        }
    }

    fn close_placemark(&mut self) {
        self.placemark_depth = None;
        let mut recording = std::mem::take(&mut self.recording);
        let faults = std::mem::take(&mut self.faults);
        let above_ground = std::mem::take(&mut self.above_ground);
        if recording.points.is_empty() {
            return;
        }
        if self.only_zeros {
            // Draped over the ground, a zero altitude is no elevation, and what has none is told when it is cleaned.
            recording
                .points
                .iter_mut()
                .for_each(|point| point.elevation_m = None);
        }
        if above_ground > 0 {
            let heights = counted(above_ground, "altitude", "altitudes");
            recording.warnings.push(format!(
                "{heights} given above the ground, not above the sea, left out"
            ));
        }
        columns::fill(&mut recording.sensors, recording.points.len());
        faults.tell(&mut recording.warnings);
        self.recordings.push(recording);
    }

    fn finish(mut self, end: End) -> Result<Vec<Recording>, RouteError> {
        if end == End::CutShort {
            match self.geometry {
                Geometry::Line => {
                    // The last tuple may be cut in a number, which would put the point elsewhere.
                    let text = std::mem::take(&mut self.text);
                    let whole = text
                        .as_str()
                        .rfind(|c: char| c.is_ascii_whitespace())
                        .unwrap_or(0);
                    self.text.push(text.as_str()[..whole].to_owned().into());
                    self.read_coordinates();
                    self.close_line();
                }
                Geometry::Track => self.close_track(),
                Geometry::None | Geometry::Other => {}
            }
            self.close_placemark();
            self.bounds
                .hold(self.most_in_a_column(), self.recordings.len())?;
        }
        self.positions.check()?;
        let points: usize = self
            .recordings
            .iter()
            .map(|recording| recording.points.len())
            .sum();
        let line = match end {
            End::Whole => None,
            End::CutShort => Some(self.lines.at(self.offset)),
        };
        if let Some(line) = line
            && points < 2
        {
            return Err(RouteError::CutShort { line, points });
        }
        if let Some(line) = line
            && let Some(last) = self.recordings.last_mut()
        {
            let points = counted(last.points.len(), "point", "points");
            last.warnings.push(format!("the file ends in the middle, on line {line}, after {points}; what was there is used"));
        }
        let polygons = counted(self.passed_over, "polygon", "polygons");
        match self.recordings.first_mut() {
            None if self.passed_over > 0 => Err(RouteError::NoLine {
                what: format!("{polygons}, but no LineString and no Track"),
            }),
            None => Err(RouteError::NoLine {
                what: "no LineString and no Track".into(),
            }),
            Some(first) => {
                if self.passed_over > 0 {
                    first
                        .warnings
                        .push(format!("{polygons} in this file left out"));
                }
                Ok(self.recordings)
            }
        }
    }
}

#[cfg(test)]
#[path = "kml_tests.rs"]
mod tests;
