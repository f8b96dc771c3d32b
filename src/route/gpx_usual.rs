//! The hot path of GPX: points as nearly all files write them, read from the bytes without an XML reader in between.
//!
//! A point is taken whole or not at all. Whatever is not plain (attributes besides the position, entities, comments, CDATA, values that are no
//! number, times without a zone) is left to the reader of [`super::gpx`], which tells what is wrong with it; both find the same in what both
//! can read.

use super::RawPoint;
use super::columns::Reading;
use super::gpx::{Element, child};
use super::instant::instant;
use super::number::{decimal, leading_decimal, sensor_value};

/// Elements inside one another that are followed, within a point.
const DEEPEST: usize = 8;

/// A point, and how many bytes it takes up with the white space before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Usual {
    pub(super) point: RawPoint,
    pub(super) reading: Reading,
    pub(super) bytes: usize,
}

/// The point at the start of the bytes, an element of that name (`trkpt` or `rtept`), if it is written as usual.
pub(super) fn point(bytes: &[u8], name: &[u8]) -> Option<Usual> {
    let tag = after_space(bytes).strip_prefix(b"<")?.strip_prefix(name)?;
    let (lat_deg, lon_deg, mut rest) = position(tag)?;
    let mut point = RawPoint {
        lat_deg,
        lon_deg,
        elevation_m: None,
        time_s: None,
    };
    let mut reading = Reading::default();
    let mut inside = [(name, Element::Point); DEEPEST];
    let mut depth = 0;
    loop {
        rest = after_space(rest).strip_prefix(b"<")?;
        let (open, parent) = inside[depth];
        if let Some(end) = rest.strip_prefix(b"/") {
            rest = end.strip_prefix(open)?.strip_prefix(b">")?;
            if depth == 0 {
                let bytes = bytes.len() - rest.len();
                return Some(Usual {
                    point,
                    reading,
                    bytes,
                });
            }
            depth -= 1;
            continue;
        }
        let (tag, after) = plain_tag(rest)?;
        let element = child(parent, local_name(tag));
        let (text, next) = after.split_at(after.iter().position(|byte| *byte == b'<')?);
        let end = next
            .strip_prefix(b"</")
            .and_then(|end| end.strip_prefix(tag));
        let Some(end) = end.and_then(|end| end.strip_prefix(b">")) else {
            // Something lies in it.
            if !matches!(element, Element::Extensions | Element::Other)
                || !after_space(text).is_empty()
                || depth + 1 == DEEPEST
            {
                return None;
            }
            depth += 1;
            inside[depth] = (tag, element);
            rest = next;
            continue;
        };
        match element {
            Element::Elevation => point.elevation_m = Some(decimal(text)?),
            Element::Time => {
                point.time_s = Some(instant(text).filter(|read| read.has_zone)?.time_s);
            }
            Element::Sensor(quantity) => reading[quantity as usize] = Some(sensor_value(text)?),
            _ => {}
        }
        rest = end;
    }
}

/// Latitude and longitude, in either order and nothing else, and what follows the start tag.
fn position(tag: &[u8]) -> Option<(f64, f64, &[u8])> {
    let (lat_deg, lon_deg, rest) = match attribute(tag, b"lat") {
        Some((lat_deg, rest)) => {
            let (lon_deg, rest) = attribute(rest, b"lon")?;
            (lat_deg, lon_deg, rest)
        }
        None => {
            let (lon_deg, rest) = attribute(tag, b"lon")?;
            let (lat_deg, rest) = attribute(rest, b"lat")?;
            (lat_deg, lon_deg, rest)
        }
    };
    let is_on_earth = lat_deg.abs() <= 90.0 && lon_deg.abs() <= 180.0;
    is_on_earth.then_some((lat_deg, lon_deg, rest.strip_prefix(b">")?))
}

fn attribute<'a>(bytes: &'a [u8], name: &[u8]) -> Option<(f64, &'a [u8])> {
    let spaced = after_space(bytes);
    if spaced.len() == bytes.len() {
        return None;
    }
    let value = spaced.strip_prefix(name)?.strip_prefix(b"=")?;
    let (quote, value) = value.split_first()?;
    if !matches!(quote, b'"' | b'\'') {
        return None;
    }
    let (number, length) = leading_decimal(value)?;
    let (after, rest) = value[length..].split_first()?;
    (after == quote).then_some((number, rest))
}

/// A start tag without attributes: its name, and what follows it.
fn plain_tag(bytes: &[u8]) -> Option<(&[u8], &[u8])> {
    let is_plain = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b':' | b'_' | b'-');
    let length = bytes.iter().position(|byte| !is_plain(byte))?;
    let (name, rest) = bytes.split_at(length);
    (length > 0).then_some((name, rest.strip_prefix(b">")?))
}

fn local_name(name: &[u8]) -> &[u8] {
    let colon = name.iter().position(|byte| *byte == b':');
    &name[colon.map_or(0, |colon| colon + 1)..]
}

fn after_space(bytes: &[u8]) -> &[u8] {
    let is_space = |byte: &u8| matches!(byte, b' ' | b'\t' | b'\r' | b'\n');
    let length = bytes.iter().position(|byte| !is_space(byte));
    &bytes[length.unwrap_or(bytes.len())..]
}

#[cfg(test)]
mod tests {
    use super::super::gpx;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_usual_point_is_read_with_its_elevation_time_and_sensors() {
        let text = "\n  <trkpt lat=\"-45.5\" lon='170.25'>\n <ele>12.5</ele><time>1970-01-01T00:01:00Z</time>\
            <extensions><x:T><x:hr>140</x:hr><x:cad>55</x:cad></x:T><power>210</power></extensions>\n</trkpt> after";
        let usual = point(text.as_bytes(), b"trkpt").unwrap();
        assert_eq!(&text[usual.bytes..], " after");
        assert_eq!((usual.point.lat_deg, usual.point.lon_deg), (-45.5, 170.25));
        assert_eq!(
            (usual.point.elevation_m, usual.point.time_s),
            (Some(12.5), Some(60.0))
        );
        assert_eq!(usual.reading, [Some(55.0), Some(210.0), Some(140.0), None]);
    }

    #[test]
    fn what_is_not_plain_is_left_to_the_reader() {
        for body in [
            "<trkpt lat=\"1\" lon=\"2\"/>",
            "<trkpt lat=\"1\" lon=\"2\" x=\"3\"></trkpt>",
            "<trkpt lat=\"91\" lon=\"2\"></trkpt>",
            "<trkpt lat=\"1\" lon=\"2\"><ele>x</ele></trkpt>",
            "<trkpt lat=\"1\" lon=\"2\"><ele>1<!-- c --></ele></trkpt>",
            "<trkpt lat=\"1\" lon=\"2\"><ele>1</ele></trkpt",
            "<trkpt lat=\"1\" lon=\"2\"><time>2024-05-01T08:30:00</time></trkpt>",
            "<trkpts lat=\"1\" lon=\"2\"></trkpts>",
        ] {
            assert_eq!(point(body.as_bytes(), b"trkpt"), None, "{body}");
        }
    }

    /// A piece of what may stand in a point, mostly usual.
    fn piece() -> impl Strategy<Value = String> {
        let number = "-?[0-9]{1,3}(\\.[0-9]{1,9})?|[0-9]e[0-9]|x|| 5 ";
        let time = "2024-0[1-9]-1[0-9]T0[0-9]:[0-5][0-9]:[0-5][0-9](\\.[0-9]{1,3})?(Z|\\+02:00|)?";
        prop_oneof![
            6 => number.prop_map(|n| format!("<ele>{n}</ele>")),
            6 => time.prop_map(|t| format!("<time>{t}</time>")),
            4 => (number, "(hr|HR|cad|atemp|speed|a:hr|b:power|ele|time|trkpt)").prop_map(|(n, tag)| format!("<{tag}>{n}</{tag}>")),
            3 => number.prop_map(|n| format!("<extensions><x:y>\n<x:hr>{n}</x:hr></x:y></extensions>")),
            1 => Just("<ele/>".to_owned()),
            1 => Just("<ele>1<b/>2</ele>".to_owned()),
            1 => Just("<name>a &amp; b</name>".to_owned()),
            1 => Just("<!-- <ele>9</ele> -->".to_owned()),
            1 => Just("<ele><![CDATA[7]]></ele>".to_owned()),
            1 => Just("<a b=\"c\"><hr>1</hr></a>".to_owned()),
            1 => Just("stray".to_owned()),
            1 => Just("<a></b>".to_owned()),
            1 => Just("<hr>1".to_owned()),
        ]
    }

    fn track_point() -> impl Strategy<Value = String> {
        let degrees = "-?[0-9]{1,2}\\.[0-9]{0,9}|-?1[0-9]{2}|x";
        let inside = proptest::collection::vec((piece(), "[ \n]{0,2}"), 0..5);
        (degrees, degrees, inside, any::<bool>(), 0..20_u8).prop_map(|(a, b, inside, swap, odd)| {
            let inside: String = inside
                .into_iter()
                .map(|(piece, space)| piece + &space)
                .collect();
            let (a_name, b_name) = if swap { ("lon", "lat") } else { ("lat", "lon") };
            let more = if odd == 0 { " x='1'" } else { "" };
            format!("<trkpt {a_name}=\"{a}\" {b_name}='{b}'{more}>{inside}</trkpt>\n")
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn both_ways_of_reading_find_the_same(points in proptest::collection::vec(track_point(), 1..6), cut in 0..400_usize) {
            let mut text = format!("<gpx><trk><trkseg>{}</trkseg></trk></gpx>", points.concat());
            // Some files end in the middle.
            if cut > 300 {
                text.truncate(text.len().saturating_sub(cut - 300));
            }
            prop_assert_eq!(gpx::parse(&text, &super::super::Bounds::default()), gpx::parse_by_reader(&text));
        }

        #[test]
        fn no_bytes_make_it_panic(text in "<trkpt lat=\"1\" lon=\"2\">[<>/elatimr:.0-9\"' &!-]{0,60}") {
            let _ = point(text.as_bytes(), b"trkpt");
        }
    }
}
