//! GPX 1.0 and 1.1: tracks and routes, in one pass.

use super::columns::{self, Quantity, quantity};
use super::faults::{Faults, Positions, counted};
use super::gpx_point::{OpenPoint, Spot};
use super::xml::{self, End, Lines, Pieces};
use super::{Bounds, Recording, RouteError, gpx_usual};
use quick_xml::{Reader, events::Event};
use std::io::BufRead;

/// The elements that matter; what lies in any other is `Other`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Element {
    Document,
    Root,
    Track,
    Segment,
    Route,
    Name,
    Point,
    Elevation,
    Time,
    Extensions,
    Sensor(Quantity),
    Waypoint,
    Other,
}

/// All tracks and routes that have points, in file order. Waypoints are passed over.
pub(super) fn parse(text: &str, bounds: &Bounds) -> Result<Vec<Recording>, RouteError> {
    run(State::new(text, *bounds))
}

/// The same without the short way for usual points.
#[cfg(test)]
pub(super) fn parse_by_reader(text: &str) -> Result<Vec<Recording>, RouteError> {
    let unusual = usize::MAX;
    run(State {
        unusual,
        ..State::new(text, Bounds::default())
    })
}

fn run(mut state: State) -> Result<Vec<Recording>, RouteError> {
    let text = state.lines.text;
    let mut reader = Reader::from_str(text);
    reader.config_mut().allow_dangling_amp = true;
    let end = loop {
        let event = reader.read_event();
        state.offset = reader.buffer_position();
        match event {
            Ok(Event::Start(tag)) => {
                state.open(tag.local_name().into_inner(), tag.attributes_raw());
                state.take_usual(&mut reader);
            }
            Ok(Event::Empty(tag)) => {
                state.open(tag.local_name().into_inner(), tag.attributes_raw());
                state.close();
            }
            Ok(Event::End(_)) => {
                state.close();
                state.take_usual(&mut reader);
            }
            Ok(Event::Text(piece)) if state.holds_text() => state.text.push(piece.into_inner()),
            Ok(Event::CData(piece)) if state.holds_text() => state.text.push(piece.into_inner()),
            Ok(Event::GeneralRef(reference)) if state.holds_text() => {
                state.text.push_reference(&reference)
            }
            Ok(Event::Eof) if state.inside.is_empty() => break End::Whole,
            Ok(Event::Eof) => break End::CutShort,
            Ok(_) => {}
            Err(error) => break xml::end_or_error(&error, &state.lines, reader.error_position())?,
        }
        let lines = state.recordings.len();
        state.bounds.hold(state.positions.total, lines)?;
        state.bounds.hold_depth(state.inside.len())?;
    };
    state.finish(end)
}

struct State<'a> {
    bounds: Bounds,
    /// The elements around the current one, outermost first.
    inside: Vec<Element>,
    current: Element,
    text: Pieces<'a>,
    lines: Lines<'a>,
    offset: u64,
    recording: Recording,
    faults: Faults,
    point: OpenPoint,
    /// The next point starts a segment.
    segment_opens: bool,
    recordings: Vec<Recording>,
    positions: Positions,
    empty_lines: usize,
    waypoints: usize,
    /// How often a point was read the short way, and how often there was none to read so.
    usual: usize,
    unusual: usize,
}

/// Where so many more things are not usual points than are, the short way is none.
const MOST_UNUSUAL: usize = 64;

impl<'a> State<'a> {
    fn new(text: &'a str, bounds: Bounds) -> Self {
        Self {
            bounds,
            inside: Vec::new(),
            current: Element::Document,
            text: Pieces::default(),
            lines: Lines::of(text),
            offset: 0,
            recording: Recording::default(),
            faults: Faults::default(),
            point: OpenPoint::default(),
            segment_opens: false,
            recordings: Vec::new(),
            positions: Positions::default(),
            empty_lines: 0,
            waypoints: 0,
            usual: 0,
            unusual: 0,
        }
    }

    /// Reads the points that follow the short way, as far as they are usual, and moves the reader behind them.
    fn take_usual(&mut self, reader: &mut Reader<&[u8]>) {
        let name: &[u8] = match self.current {
            Element::Segment | Element::Track => b"trkpt",
            Element::Route => b"rtept",
            _ => return,
        };
        let mut stream = reader.stream();
        while self.unusual < self.usual + MOST_UNUSUAL && self.positions.total <= self.bounds.points
        {
            let Some(usual) = gpx_usual::point(stream.get_ref(), name) else {
                self.unusual += 1;
                return;
            };
            self.usual += 1;
            self.positions.total += 1;
            self.point = OpenPoint {
                point: Some(usual.point),
                reading: usual.reading,
            };
            self.close_point();
            stream.consume(usual.bytes);
        }
    }

    fn holds_text(&self) -> bool {
        matches!(
            self.current,
            Element::Elevation | Element::Time | Element::Name | Element::Sensor(_)
        )
    }

    fn open(&mut self, local_name: &str, attributes: &str) {
        let (lines, offset) = (&self.lines, self.offset);
        let element = child(self.current, local_name.as_bytes());
        self.inside.push(self.current);
        self.current = element;
        match element {
            Element::Point => {
                self.point = OpenPoint::begin(
                    attributes,
                    Spot { lines, offset },
                    &mut self.positions,
                    &mut self.faults,
                )
            }
            Element::Track | Element::Route | Element::Segment => self.segment_opens = true,
            Element::Waypoint => self.waypoints += 1,
            Element::Other => {}
            _ => self.text.clear(),
        }
    }

    fn close(&mut self) {
        let (lines, offset) = (&self.lines, self.offset);
        let spot = Spot { lines, offset };
        match self.current {
            Element::Elevation => self
                .point
                .elevation(self.text.as_str(), spot, &mut self.faults),
            Element::Time => self.point.time(self.text.as_str(), spot, &mut self.faults),
            Element::Sensor(quantity) => {
                self.point
                    .sensor(quantity, self.text.as_str(), spot, &mut self.faults)
            }
            Element::Point => self.close_point(),
            Element::Name => self.recording.name = self.text.to_name(),
            Element::Track | Element::Route => self.close_line(),
            _ => {}
        }
        self.current = self.inside.pop().unwrap_or(Element::Document);
    }

    fn close_point(&mut self) {
        let Some(point) = self.point.point else {
            return;
        };
        let index = self.recording.points.len();
        if self.segment_opens {
            self.recording.segment_starts.push(index);
            self.segment_opens = false;
        }
        self.recording.points.push(point);
        columns::push(&mut self.recording.sensors, index, &self.point.reading);
    }

    fn close_line(&mut self) {
        let mut recording = std::mem::take(&mut self.recording);
        let faults = std::mem::take(&mut self.faults);
        if recording.points.is_empty() {
            self.empty_lines += 1;
            return;
        }
        columns::fill(&mut recording.sensors, recording.points.len());
        faults.tell(&mut recording.warnings);
        self.recordings.push(recording);
    }

    fn finish(mut self, end: End) -> Result<Vec<Recording>, RouteError> {
        // What is open at the end of a file that is cut short counts as far as it goes.
        let cut_points = self.recording.points.len();
        if cut_points > 0 {
            self.close_line();
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
        let Some(first) = self.recordings.first_mut() else {
            return Err(RouteError::NoLine {
                what: self.what_there_is(),
            });
        };
        if self.empty_lines > 0 {
            let lines = counted(self.empty_lines, "track or route", "tracks or routes");
            first
                .warnings
                .push(format!("{lines} without points in this file left out"));
        }
        Ok(self.recordings)
    }

    fn what_there_is(&self) -> String {
        if self.empty_lines > 0 {
            let lines = counted(self.empty_lines, "track or route", "tracks or routes");
            return format!("{lines} without points");
        }
        match self.waypoints {
            0 => "no track and no route".into(),
            waypoints => format!(
                "{}, but no track and no route",
                counted(waypoints, "waypoint", "waypoints")
            ),
        }
    }
}

/// What an element is, by what it lies in and by its name without the namespace.
pub(super) fn child(parent: Element, local_name: &[u8]) -> Element {
    match (parent, local_name) {
        (Element::Other, _) => Element::Other,
        // Some writers leave the segment out.
        (Element::Segment | Element::Track, b"trkpt") | (Element::Route, b"rtept") => {
            Element::Point
        }
        (Element::Point, b"ele") => Element::Elevation,
        (Element::Point, b"time") => Element::Time,
        (Element::Point, b"extensions") => Element::Extensions,
        // GPX 1.0 has private elements beside its own, without a wrapper.
        (Element::Point, name) => quantity(name).map_or(Element::Other, Element::Sensor),
        (Element::Extensions, name) => quantity(name).map_or(Element::Extensions, Element::Sensor),
        (Element::Track, b"trkseg") => Element::Segment,
        (Element::Track | Element::Route, b"name") => Element::Name,
        (Element::Root, b"trk") => Element::Track,
        (Element::Root, b"rte") => Element::Route,
        (Element::Root, b"wpt") => Element::Waypoint,
        (Element::Document, b"gpx") => Element::Root,
        _ => Element::Other,
    }
}

#[cfg(test)]
#[path = "gpx_tests.rs"]
mod tests;
