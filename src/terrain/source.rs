//! Where tiles are fetched from: an address with places for the tile's name.

use std::str::FromStr;

use super::TileName;

/// What stands for a tile's name in an address.
const PLACES: [&str; 3] = ["{name}", "{lat}", "{lon}"];

/// An address such as `https://example.org/{lat}/{name}.hgt.gz`, with `{name}` for N44W072, `{lat}` for N44, `{lon}` for W072.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TileSource {
    address: String,
}

/// Why a text is no source of tiles.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "\"{seen}\" is no source of tiles: {what}; expected an address such as https://example.org/{{lat}}/{{name}}.hgt.gz"
)]
pub struct SourceError {
    /// The text.
    pub seen: String,
    /// What is wrong with it.
    pub what: String,
}

impl TileSource {
    /// The address of a tile.
    ///
    /// ```
    /// use hillwright::terrain::TileSource;
    /// let source: TileSource = "https://example.org/{lat}/{name}.hgt.gz".parse()?;
    /// assert_eq!(source.address_of("N44W072".parse()?), "https://example.org/N44/N44W072.hgt.gz");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn address_of(&self, name: TileName) -> String {
        self.address
            .replace("{name}", &name.to_string())
            .replace("{lat}", &name.lat_text())
            .replace("{lon}", &name.lon_text())
    }

    /// Whether it is reached by https; then a redirection to anything else is not followed.
    pub fn is_https(&self) -> bool {
        self.address.starts_with("https://")
    }
}

impl FromStr for TileSource {
    type Err = SourceError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let text = text.trim();
        let refuse = |what: &str| {
            Err(SourceError {
                seen: text.chars().take(200).collect(),
                what: what.to_owned(),
            })
        };
        let Some(rest) = text
            .strip_prefix("https://")
            .or_else(|| text.strip_prefix("http://"))
        else {
            return refuse("it does not start with https:// or http://");
        };
        if rest.starts_with(['/', '{'])
            || rest.is_empty()
            || rest.chars().any(|c| c.is_whitespace() || c.is_control())
        {
            return refuse("no host follows, or there is a space in it");
        }
        let has = |place: &str| rest.contains(place);
        let tells_tiles_apart = has("{name}") || (has("{lat}") && has("{lon}"));
        if !tells_tiles_apart {
            return refuse(
                "neither {name} nor {lat} with {lon} is in it, so all tiles would be the same",
            );
        }
        if PLACES
            .iter()
            .fold(rest.to_owned(), |rest, place| rest.replace(place, ""))
            .contains(['{', '}'])
        {
            return refuse("there is a brace in it that is none of {name}, {lat} and {lon}");
        }
        Ok(TileSource {
            address: text.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn name_latitude_and_longitude_are_put_in() {
        let source: TileSource = " http://127.0.0.1:80/{lat}/{lon}/{name}.hgt?x={name} "
            .parse()
            .unwrap();
        let name = "S05W007".parse().unwrap();
        assert_eq!(
            source.address_of(name),
            "http://127.0.0.1:80/S05/W007/S05W007.hgt?x=S05W007"
        );
        assert!(!source.is_https());
    }

    #[test]
    fn what_can_not_work_is_refused_with_a_reason() {
        for (text, why) in [
            ("", "start with"),
            ("ftp://a/{name}", "start with"),
            ("file:///etc/{name}", "start with"),
            ("https://", "host"),
            ("https:///{name}", "host"),
            ("https://a b/{name}", "space"),
            ("https://a/tile.hgt", "the same"),
            ("https://a/{lat}", "the same"),
            ("https://a/{name}/{z}", "brace"),
        ] {
            let error = text.parse::<TileSource>().unwrap_err().to_string();
            assert!(
                error.contains(why) && error.contains("{lat}/{name}.hgt.gz"),
                "{text}: {error}"
            );
        }
    }
}
