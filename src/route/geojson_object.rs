//! GeoJSON objects of any type, read member by member: what matters here is kept and the rest passed over, so that no member can be
//! larger in memory than the file's bounds allow.

use super::bounds::{Bounds, POINTS_A_LINE};
use super::geojson_coordinates::{Coordinates, CoordinatesSeed};
use serde::Deserialize;
use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// A GeoJSON object: only the members that matter here.
#[derive(Default)]
pub(super) struct Object {
    pub(super) kind: Option<String>,
    pub(super) coordinates: Coordinates,
    pub(super) geometry: Option<Box<Object>>,
    pub(super) geometries: Vec<Object>,
    pub(super) features: Vec<Object>,
    pub(super) properties: Properties,
}

/// A feature's properties may be any JSON value; these are used where they are what they should be.
#[derive(Default)]
pub(super) struct Properties {
    pub(super) name: Option<String>,
    /// What a line is, in files that this program wrote.
    pub(super) hillwright: Option<String>,
    /// Seconds since `started_s` of each position, in files that this program wrote.
    pub(super) times_s: Vec<Option<f64>>,
    pub(super) started_s: Option<f64>,
}

/// What is left of the points that the file may hold.
pub(super) struct Room {
    left: usize,
    /// Something found no room, and reading ended.
    pub(super) is_full: bool,
}

impl Room {
    pub(super) fn new(bounds: &Bounds) -> Room {
        Room {
            left: bounds.points,
            is_full: false,
        }
    }

    pub(super) fn take<E: Error>(&mut self, points: usize) -> Result<(), E> {
        let Some(left) = self.left.checked_sub(points) else {
            self.is_full = true;
            return Err(E::custom("no room is left"));
        };
        self.left = left;
        Ok(())
    }
}

/// Reads an object into the room that there is.
pub(super) struct ObjectSeed<'a>(pub(super) &'a mut Room);

#[derive(Clone, Copy, Deserialize)]
#[serde(field_identifier, rename_all = "lowercase")]
enum Member {
    Type,
    Coordinates,
    Geometry,
    Geometries,
    Features,
    Properties,
    #[serde(other)]
    Other,
}

impl Member {
    const NAMES: [&str; 6] = [
        "type",
        "coordinates",
        "geometry",
        "geometries",
        "features",
        "properties",
    ];
}

impl<'de> DeserializeSeed<'de> for ObjectSeed<'_> {
    type Value = Object;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Object, D::Error> {
        self.0.take(POINTS_A_LINE)?;
        deserializer.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for ObjectSeed<'_> {
    type Value = Object;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a GeoJSON object")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Object, A::Error> {
        let room = self.0;
        let mut object = Object::default();
        let mut seen = [false; Member::NAMES.len()];
        while let Some(member) = map.next_key::<Member>()? {
            if let Some(seen) = seen.get_mut(member as usize)
                && std::mem::replace(seen, true)
            {
                return Err(A::Error::duplicate_field(Member::NAMES[member as usize]));
            }
            match member {
                Member::Type => object.kind = map.next_value()?,
                Member::Coordinates => {
                    object.coordinates = map.next_value_seed(CoordinatesSeed(&mut *room))?
                }
                Member::Geometry => {
                    object.geometry = map.next_value_seed(MaybeSeed(&mut *room))?.map(Box::new)
                }
                Member::Geometries => {
                    object.geometries = map.next_value_seed(ListSeed(&mut *room))?
                }
                Member::Features => object.features = map.next_value_seed(ListSeed(&mut *room))?,
                Member::Properties => {
                    object.properties = map.next_value_seed(PropertiesSeed(&mut *room))?
                }
                Member::Other => {
                    map.next_value::<IgnoredAny>()?;
                }
            }
        }
        Ok(object)
    }
}

/// An object or `null`.
struct MaybeSeed<'a>(&'a mut Room);

impl<'de> DeserializeSeed<'de> for MaybeSeed<'_> {
    type Value = Option<Object>;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Self::Value, D::Error> {
        deserializer.deserialize_option(self)
    }
}

impl<'de> Visitor<'de> for MaybeSeed<'_> {
    type Value = Option<Object>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a geometry or null")
    }

    fn visit_none<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_unit<E>(self) -> Result<Self::Value, E> {
        Ok(None)
    }

    fn visit_some<D: Deserializer<'de>>(self, deserializer: D) -> Result<Self::Value, D::Error> {
        ObjectSeed(self.0).deserialize(deserializer).map(Some)
    }
}

struct ListSeed<'a>(&'a mut Room);

impl<'de> DeserializeSeed<'de> for ListSeed<'_> {
    type Value = Vec<Object>;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Self::Value, D::Error> {
        deserializer.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for ListSeed<'_> {
    type Value = Vec<Object>;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a list of GeoJSON objects")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Self::Value, A::Error> {
        let mut objects = Vec::new();
        while let Some(object) = seq.next_element_seed(ObjectSeed(&mut *self.0))? {
            objects.push(object);
        }
        Ok(objects)
    }
}

struct PropertiesSeed<'a>(&'a mut Room);

#[derive(Deserialize)]
#[serde(field_identifier, rename_all = "snake_case")]
enum Property {
    Name,
    Hillwright,
    TimesS,
    StartedS,
    #[serde(other)]
    Other,
}

impl<'de> DeserializeSeed<'de> for PropertiesSeed<'_> {
    type Value = Properties;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Properties, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for PropertiesSeed<'_> {
    type Value = Properties;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("properties")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Properties, A::Error> {
        let mut properties = Properties::default();
        while let Some(property) = map.next_key::<Property>()? {
            if let Property::Other = property {
                map.next_value::<IgnoredAny>()?;
                continue;
            }
            match (property, map.next_value_seed(LooseSeed(&mut *self.0))?) {
                (Property::Name, Loose::Text(name)) => properties.name = Some(name),
                (Property::Hillwright, Loose::Text(what)) => properties.hillwright = Some(what),
                (Property::TimesS, Loose::Numbers(times_s)) => properties.times_s = times_s,
                (Property::StartedS, Loose::Number(time_s)) => properties.started_s = Some(time_s),
                _ => {}
            }
        }
        Ok(properties)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Properties, A::Error> {
        while seq.next_element::<IgnoredAny>()?.is_some() {}
        Ok(Properties::default())
    }

    fn visit_unit<E>(self) -> Result<Properties, E> {
        Ok(Properties::default())
    }

    fn visit_bool<E>(self, _: bool) -> Result<Properties, E> {
        Ok(Properties::default())
    }

    fn visit_f64<E>(self, _: f64) -> Result<Properties, E> {
        Ok(Properties::default())
    }

    fn visit_u64<E>(self, _: u64) -> Result<Properties, E> {
        Ok(Properties::default())
    }

    fn visit_i64<E>(self, _: i64) -> Result<Properties, E> {
        Ok(Properties::default())
    }

    fn visit_str<E>(self, _: &str) -> Result<Properties, E> {
        Ok(Properties::default())
    }
}

/// A value of any kind, as far as it matters here.
enum Loose {
    Text(String),
    Number(f64),
    /// What is no number in a list is `None`.
    Numbers(Vec<Option<f64>>),
    Other,
}

struct LooseSeed<'a>(&'a mut Room);

impl<'de> DeserializeSeed<'de> for LooseSeed<'_> {
    type Value = Loose;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Loose, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for LooseSeed<'_> {
    type Value = Loose;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_str<E>(self, text: &str) -> Result<Loose, E> {
        Ok(Loose::Text(text.to_owned()))
    }

    fn visit_f64<E>(self, number: f64) -> Result<Loose, E> {
        Ok(Loose::Number(number))
    }

    fn visit_u64<E>(self, number: u64) -> Result<Loose, E> {
        Ok(Loose::Number(number as f64))
    }

    fn visit_i64<E>(self, number: i64) -> Result<Loose, E> {
        Ok(Loose::Number(number as f64))
    }

    fn visit_unit<E>(self) -> Result<Loose, E> {
        Ok(Loose::Other)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Loose, E> {
        Ok(Loose::Other)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Loose, A::Error> {
        while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
        Ok(Loose::Other)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Loose, A::Error> {
        let mut numbers = Vec::new();
        while let Some(value) = seq.next_element_seed(LooseSeed(&mut *self.0))? {
            self.0.take(1)?;
            numbers.push(match value {
                Loose::Number(number) => Some(number),
                _ => None,
            });
        }
        Ok(Loose::Numbers(numbers))
    }
}
