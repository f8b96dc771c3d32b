//! The `coordinates` member, read into one flat list whatever its depth.

use super::geojson_object::Room;
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// One position as written; what is no number is `None`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Position {
    pub(super) lon: Option<f64>,
    pub(super) lat: Option<f64>,
    pub(super) elevation: Option<f64>,
    /// The third value is there but neither a number nor `null`.
    pub(super) bad_elevation: bool,
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let shown =
            |value: Option<f64>| value.map_or_else(|| "?".to_owned(), |value| value.to_string());
        write!(f, "[{}, {}", shown(self.lon), shown(self.lat))?;
        match self.elevation {
            Some(elevation) => write!(f, ", {elevation}]"),
            None if self.bad_elevation => f.write_str(", ?]"),
            None => f.write_str("]"),
        }
    }
}

/// All positions of a geometry, cut into the lists that they stood in.
#[derive(Debug, Default)]
pub(super) struct Coordinates {
    positions: Vec<Position>,
    part_ends: Vec<usize>,
    /// How deep the numbers stand: 1 for a point, 2 for a line, 3 for several.
    pub(super) depth: usize,
}

impl Coordinates {
    /// The positions of each list of positions.
    pub(super) fn parts(&self) -> impl Iterator<Item = &[Position]> {
        let starts = std::iter::once(0).chain(self.part_ends.iter().copied());
        starts
            .zip(&self.part_ends)
            .map(|(start, end)| &self.positions[start..*end])
    }
}

/// Reads coordinates into the room that there is.
pub(super) struct CoordinatesSeed<'a>(pub(super) &'a mut Room);

impl<'de> DeserializeSeed<'de> for CoordinatesSeed<'_> {
    type Value = Coordinates;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Coordinates, D::Error> {
        let mut coordinates = Coordinates::default();
        Nested {
            coordinates: &mut coordinates,
            room: self.0,
            depth: 0,
        }
        .deserialize(deserializer)?;
        Ok(coordinates)
    }
}

/// A value inside `coordinates`: a list or a number. The JSON reader bounds how deep it goes.
struct Nested<'a> {
    coordinates: &'a mut Coordinates,
    room: &'a mut Room,
    depth: usize,
}

enum Value {
    Number(f64),
    Position,
    List,
    Null,
    Other,
}

impl<'de> DeserializeSeed<'de> for Nested<'_> {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Nested<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a list of numbers or of lists")
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(Value::Number(value))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(Value::Number(value as f64))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(Value::Number(value as f64))
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Value, E> {
        Ok(Value::Other)
    }

    fn visit_str<E>(self, _: &str) -> Result<Value, E> {
        Ok(Value::Other)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(Value::Other)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        let Nested {
            coordinates,
            room,
            depth,
        } = self;
        let mut position = Position::default();
        let (mut scalars, mut positions) = (0, 0);
        while let Some(value) = seq.next_element_seed(Nested {
            coordinates: &mut *coordinates,
            room: &mut *room,
            depth: depth + 1,
        })? {
            let number = match value {
                Value::Position => {
                    positions += 1;
                    continue;
                }
                Value::List => continue,
                Value::Number(number) => Some(number),
                Value::Null | Value::Other => None,
            };
            match scalars {
                0 => position.lon = number,
                1 => position.lat = number,
                2 => {
                    position.elevation = number;
                    position.bad_elevation = matches!(value, Value::Other);
                }
                // Further values have no meaning (RFC 7946, 3.1.1).
                _ => {}
            }
            scalars += 1;
        }
        if positions > 0 {
            coordinates.part_ends.push(coordinates.positions.len());
            return Ok(Value::List);
        }
        if scalars == 0 {
            return Ok(Value::List);
        }
        coordinates.depth = coordinates.depth.max(depth + 1);
        room.take(1)?;
        coordinates.positions.push(position);
        Ok(Value::Position)
    }
}
