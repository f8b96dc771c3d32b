//! The hot path of GPX: the text of a point's attributes and elements becomes numbers, with nothing allocated.

use super::RawPoint;
use super::columns::{Quantity, Reading};
use super::faults::{Faults, Positions, quoted};
use super::instant::instant;
use super::number::{decimal, sensor_value};
use super::xml::Lines;

/// A point between its start and its end tag.
#[derive(Debug, Default)]
pub(super) struct OpenPoint {
    /// `None` where the position is unusable.
    pub(super) point: Option<RawPoint>,
    pub(super) reading: Reading,
}

/// Where the reader stands, to be told if something is wrong there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot<'a> {
    pub(super) lines: &'a Lines<'a>,
    pub(super) offset: u64,
}

impl Spot<'_> {
    fn with(self, what: &str, value: &str) -> String {
        format!(
            "on line {}: {what}{}",
            self.lines.at(self.offset),
            quoted(value)
        )
    }
}

impl OpenPoint {
    /// Begins a point with what follows the name in its start tag.
    pub(super) fn begin(
        attributes: &str,
        spot: Spot,
        positions: &mut Positions,
        faults: &mut Faults,
    ) -> Self {
        let (lat, lon) = lat_lon(attributes);
        let lat_deg = lat.and_then(coordinate);
        let lon_deg = lon.and_then(coordinate);
        let point = positions.place(lat_deg, lon_deg, faults, || spot.with("", attributes));
        Self {
            point,
            reading: Reading::default(),
        }
    }

    pub(super) fn elevation(&mut self, text: &str, spot: Spot, faults: &mut Faults) {
        let Some(point) = &mut self.point else { return };
        match decimal(text.as_bytes()) {
            Some(elevation_m) => point.elevation_m = Some(elevation_m),
            // An empty element says that there is none.
            None if text.trim().is_empty() => {}
            None => faults.elevations.add(|| spot.with("", text)),
        }
    }

    pub(super) fn time(&mut self, text: &str, spot: Spot, faults: &mut Faults) {
        let Some(point) = &mut self.point else { return };
        match instant(text.as_bytes()) {
            Some(read) => {
                point.time_s = Some(read.time_s);
                if !read.has_zone {
                    faults.zoneless.add(|| spot.with("", text));
                }
            }
            None if text.trim().is_empty() => {}
            None => faults.times.add(|| spot.with("", text)),
        }
    }

    pub(super) fn sensor(
        &mut self,
        quantity: Quantity,
        text: &str,
        spot: Spot,
        faults: &mut Faults,
    ) {
        match sensor_value(text.as_bytes()) {
            Some(value) => self.reading[quantity as usize] = Some(value),
            None if text.trim().is_empty() => {}
            None => faults.sensors.add(|| spot.with("", text)),
        }
    }
}

/// A coordinate, whose digits may in theory be written as character references.
fn coordinate(value: &str) -> Option<f64> {
    decimal(value.as_bytes()).or_else(|| {
        let plain = quick_xml::escape::unescape(value).ok()?;
        decimal(plain.as_bytes())
    })
}

/// The values of `lat` and `lon` in a list of attributes; scanning ends where the list is not well-formed.
fn lat_lon(attributes: &str) -> (Option<&str>, Option<&str>) {
    let (mut lat, mut lon) = (None, None);
    let mut rest = attributes;
    while let Some((name, value, after)) = next_attribute(rest) {
        match name {
            "lat" => lat = Some(value),
            "lon" => lon = Some(value),
            _ => {}
        }
        rest = after;
    }
    (lat, lon)
}

fn next_attribute(text: &str) -> Option<(&str, &str, &str)> {
    let bytes = text.as_bytes();
    let start = position(bytes, 0, |byte| !byte.is_ascii_whitespace())?;
    let name_end = position(bytes, start, |byte| {
        byte == b'=' || byte.is_ascii_whitespace()
    })?;
    let equals = position(bytes, name_end, |byte| !byte.is_ascii_whitespace())?;
    if bytes[equals] != b'=' {
        return None;
    }
    let open = position(bytes, equals + 1, |byte| !byte.is_ascii_whitespace())?;
    let quote = bytes[open];
    if quote != b'"' && quote != b'\'' {
        return None;
    }
    let close = position(bytes, open + 1, |byte| byte == quote)?;
    // Each cut lies beside a byte that is a whole ASCII character.
    Some((
        &text[start..name_end],
        &text[open + 1..close],
        &text[close + 1..],
    ))
}

fn position(bytes: &[u8], from: usize, is_wanted: impl Fn(u8) -> bool) -> Option<usize> {
    bytes[from..]
        .iter()
        .position(|byte| is_wanted(*byte))
        .map(|found| from + found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn attributes_are_found_in_any_order_with_any_quotes_and_spaces() {
        assert_eq!(lat_lon(" lat=\"1\" lon=\"2\""), (Some("1"), Some("2")));
        assert_eq!(
            lat_lon("\n lon = '2'\tx=\"lat='9'\" lat= \"1\" "),
            (Some("1"), Some("2"))
        );
        assert_eq!(lat_lon(" latitude=\"1\" lon=2"), (None, None));
        assert_eq!(lat_lon(" lat=\"1\" ö=\"ü\" lon=\""), (Some("1"), None));
        assert_eq!(coordinate("4&#53;.5"), Some(45.5));
    }

    proptest! {
        #[test]
        fn no_attributes_make_it_panic(text in "[ lato=\"'öü1.]{0,40}") {
            let _ = lat_lon(&text);
        }
    }
}
