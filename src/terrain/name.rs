//! The name of a tile: the whole degrees of its south-west corner, as `N44W072`.

use std::fmt;
use std::str::FromStr;

/// Which square of one degree a tile covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TileName {
    /// Latitude of its south edge, in whole degrees, north positive, -90 to 89.
    pub south_deg: i16,
    /// Longitude of its west edge, in whole degrees, east positive, -180 to 179.
    pub west_deg: i16,
}

/// Why a text names no tile.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{seen}\" names no tile; expected a name such as N44W072, from S90W180 to N89E179")]
pub struct TileNameError {
    /// The text.
    pub seen: String,
}

impl TileName {
    /// The tiles that hold a place (degrees): one, or two or four where it lies on their common border. The first is the one whose
    /// south-west corner or edge it is. None where the numbers are no place on Earth.
    ///
    /// ```
    /// use hillwright::terrain::TileName;
    /// let names = |lat, lon| TileName::holding(lat, lon).iter().map(ToString::to_string).collect::<Vec<_>>();
    /// assert_eq!(names(44.27, -71.3), ["N44W072"]);
    /// assert_eq!(names(-0.5, 180.0), ["S01W180", "S01E179"]);
    /// ```
    pub fn holding(lat_deg: f64, lon_deg: f64) -> Vec<TileName> {
        if !(-90.0..=90.0).contains(&lat_deg) || !(-180.0..=180.0).contains(&lon_deg) {
            return Vec::new();
        }
        let (south, west) = (lat_deg.floor() as i16, lon_deg.floor() as i16);
        let mut souths = vec![south, south - 1];
        souths.truncate(if lat_deg == f64::from(south) { 2 } else { 1 });
        souths.retain(|south| (-90..=89).contains(south));
        let mut wests = vec![west, west - 1];
        wests.truncate(if lon_deg == f64::from(west) { 2 } else { 1 });
        let at = |south_deg: i16| {
            wests.iter().map(move |west| TileName {
                south_deg,
                west_deg: around(*west),
            })
        };
        souths.iter().flat_map(|south| at(*south)).collect()
    }

    /// The tile so many degrees north and east of this one; none beyond the poles.
    pub fn beside(self, north: i16, east: i16) -> Option<TileName> {
        let south_deg = self.south_deg + north;
        (-90..=89).contains(&south_deg).then(|| TileName {
            south_deg,
            west_deg: around(self.west_deg + east),
        })
    }

    /// Its latitude alone, as `N44`.
    pub fn lat_text(self) -> String {
        let half = if self.south_deg < 0 { 'S' } else { 'N' };
        format!("{half}{:02}", self.south_deg.abs())
    }

    /// Its longitude alone, as `W072`.
    pub fn lon_text(self) -> String {
        let half = if self.west_deg < 0 { 'W' } else { 'E' };
        format!("{half}{:03}", self.west_deg.abs())
    }
}

/// A west edge brought to -180 to 179.
fn around(west_deg: i16) -> i16 {
    (west_deg + 180).rem_euclid(360) - 180
}

impl fmt::Display for TileName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.lat_text(), self.lon_text())
    }
}

impl FromStr for TileName {
    type Err = TileNameError;

    /// Reads a name in either case.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        read(text).ok_or_else(|| TileNameError {
            seen: text.chars().take(40).collect(),
        })
    }
}

fn read(text: &str) -> Option<TileName> {
    let bytes: &[u8; 7] = text.as_bytes().try_into().ok()?;
    let signed = |half: u8, digits: &[u8], positive: u8, negative: u8| {
        let degrees = digits.iter().try_fold(0_i16, |sum, d| {
            d.is_ascii_digit().then(|| sum * 10 + i16::from(d - b'0'))
        })?;
        match half.to_ascii_uppercase() {
            half if half == positive => Some(degrees),
            half if half == negative => Some(-degrees),
            _ => None,
        }
    };
    let name = TileName {
        south_deg: signed(bytes[0], &bytes[1..3], b'N', b'S')?,
        west_deg: signed(bytes[3], &bytes[4..7], b'E', b'W')?,
    };
    ((-90..=89).contains(&name.south_deg) && (-180..=179).contains(&name.west_deg)).then_some(name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn names(lat_deg: f64, lon_deg: f64) -> Vec<String> {
        TileName::holding(lat_deg, lon_deg)
            .iter()
            .map(ToString::to_string)
            .collect()
    }

    #[test]
    fn each_quarter_of_the_globe_names_its_south_west_corner() {
        assert_eq!(names(45.5, 1.4), ["N45E001"]);
        assert_eq!(names(45.5, -1.4), ["N45W002"]);
        assert_eq!(names(-2.3, 87.1), ["S03E087"]);
        assert_eq!(names(-2.3, -7.5), ["S03W008"]);
        assert_eq!(names(-0.1, -0.1), ["S01W001"]);
    }

    #[test]
    fn a_border_belongs_to_the_tiles_on_both_sides() {
        assert_eq!(names(44.0, 7.5), ["N44E007", "N43E007"]);
        assert_eq!(
            names(0.0, 0.0),
            ["N00E000", "N00W001", "S01E000", "S01W001"]
        );
        assert_eq!(names(-0.0, -0.0), names(0.0, 0.0));
        assert_eq!(names(10.5, -180.0), names(10.5, 180.0));
    }

    #[test]
    fn the_poles_have_tiles_on_one_side_only() {
        assert_eq!(names(90.0, 10.5), ["N89E010"]);
        assert_eq!(names(-90.0, 10.5), ["S90E010"]);
    }

    #[test]
    fn what_is_no_place_has_no_tile() {
        for (lat, lon) in [
            (90.1, 0.0),
            (0.0, 180.1),
            (f64::NAN, 0.0),
            (0.0, f64::INFINITY),
        ] {
            assert!(names(lat, lon).is_empty(), "{lat} {lon}");
        }
    }

    #[test]
    fn names_are_read_in_either_case_and_nothing_else_is() {
        assert_eq!(
            "n44w072".parse::<TileName>().unwrap().to_string(),
            "N44W072"
        );
        for wrong in [
            "", "N44W72", "N44W0722", "X44W072", "N44W181", "N90E000", "S91E000", "N44E180",
            "N+4W072", "N4é072",
        ] {
            assert!(wrong.parse::<TileName>().is_err(), "{wrong}");
        }
    }

    proptest! {
        #[test]
        fn a_name_is_read_back(south_deg in -90_i16..=89, west_deg in -180_i16..=179) {
            let name = TileName { south_deg, west_deg };
            // "S00" and "W000" are no corners of their own: they are written N00 and E000.
            prop_assert_eq!(name.to_string().parse::<TileName>().unwrap(), name);
        }
    }
}
