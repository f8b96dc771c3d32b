//! Shaded relief from elevation tiles, as a small picture that lies on light and on dark ground.
//!
//! Slopes facing the north-west are lit and the others shaded, as on printed maps (Horn, Proc. IEEE 69, 1981, 14–47): the picture
//! holds black and white of different opacity, nothing of its own colour, and a transparent blue where the tiles have sea.

use std::f64::consts::{FRAC_PI_4, SQRT_2};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::map::Projection;
use crate::terrain::Tiles;

/// Shaded relief, ready for a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    png: Vec<u8>,
    address: Option<String>,
}

/// A picture's width in pixels; the line on it is drawn finer than that.
const COLUMNS: u32 = 300;
/// Levels of shade: 0 darkest, 7 neutral, 14 lightest; 15 is the sea.
const NEUTRAL: u8 = 7;
const SEA: u8 = 15;
/// Heights are drawn so much too high for slopes of a few per cent to show.
const EXAGGERATION: f64 = 2.5;
/// Opacity of the darkest and of the lightest level.
const DARKEST: f64 = 0.5;
const LIGHTEST: f64 = 0.75;

impl Relief {
    /// The ground under a map; none where the tiles don't cover all of it.
    pub fn under(projection: &Projection, tiles: &Tiles) -> Option<Relief> {
        let (width, height) = projection.size;
        let rows = (f64::from(COLUMNS) * height / width).round() as u32;
        let cell = width / f64::from(COLUMNS);
        let mut levels = Vec::with_capacity((COLUMNS * rows) as usize);
        for row in 0..rows {
            for column in 0..COLUMNS {
                let spot = |index: u32| (f64::from(index) + 0.5) * cell;
                let (lat, lon) = projection.place(spot(column), spot(row));
                let ground = tiles.elevation_m(lat, lon).ok()?;
                let [east, north] = ground.slope;
                levels.push(
                    if ground.elevation_m == 0.0 && east == 0.0 && north == 0.0 {
                        SEA
                    } else {
                        level(east, north)
                    },
                );
            }
        }
        let png = encoded(&levels, COLUMNS, rows).ok()?;
        Some(Relief { png, address: None })
    }

    /// The same for a page that finds the picture at an address, instead of holding it.
    #[must_use]
    pub fn found_at(self, address: String) -> Relief {
        Relief {
            address: Some(address),
            ..self
        }
    }

    /// The same for a page that holds it.
    #[must_use]
    pub fn held(self) -> Relief {
        Relief {
            address: None,
            ..self
        }
    }

    /// The picture, as PNG.
    pub fn png(&self) -> &[u8] {
        &self.png
    }

    /// Where the picture is: the address it was given, or itself as an address that a page can hold.
    pub(super) fn href(&self) -> String {
        if let Some(address) = &self.address {
            return address.clone();
        }
        format!("data:image/png;base64,{}", STANDARD.encode(&self.png))
    }
}

/// The shade of a slope (rise over run to the east and to the north): light from the north-west, half-way up the sky.
fn level(east: f64, north: f64) -> u8 {
    let (east, north) = (EXAGGERATION * east, EXAGGERATION * north);
    let toward_light = (east - north) / SQRT_2;
    let lit = (FRAC_PI_4.sin() + toward_light * FRAC_PI_4.cos())
        / (1.0 + east * east + north * north).sqrt();
    // Level ground is neutral.
    let from_neutral = lit / FRAC_PI_4.sin() - 1.0;
    let shade = f64::from(NEUTRAL) * (1.0 + from_neutral);
    shade.round().clamp(0.0, 2.0 * f64::from(NEUTRAL)) as u8
}

/// Four bits a pixel, its level's colour and opacity in a palette.
fn encoded(levels: &[u8], columns: u32, rows: u32) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, columns, rows);
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Four);
    encoder.set_compression(png::Compression::Balanced);
    let palette = (0..16u8).map(colour);
    let (mut colours, mut opacities) = (Vec::new(), Vec::new());
    for ([red, green, blue], opacity) in palette {
        colours.extend([red, green, blue]);
        opacities.push((255.0 * opacity).round() as u8);
    }
    encoder.set_palette(colours);
    encoder.set_trns(opacities);
    let mut writer = encoder.write_header()?;
    let packed: Vec<u8> = levels
        .chunks(columns as usize)
        .flat_map(|row| {
            row.chunks(2)
                .map(|two| two[0] << 4 | two.get(1).unwrap_or(&0))
        })
        .collect();
    writer.write_image_data(&packed)?;
    writer.finish()?;
    Ok(bytes)
}

fn colour(level: u8) -> ([u8; 3], f64) {
    let share = (f64::from(level) - f64::from(NEUTRAL)) / f64::from(NEUTRAL);
    match level {
        SEA => ([96, 140, 176], 0.38),
        _ if level < NEUTRAL => ([0, 0, 0], -share * DARKEST),
        _ => ([255, 255, 255], share * LIGHTEST),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_to_the_north_west_are_lit_and_those_to_the_south_east_shaded() {
        // Rising to the east means facing west.
        assert_eq!(level(0.0, 0.0), NEUTRAL);
        assert!(level(0.1, -0.1) > NEUTRAL);
        assert!(level(-0.1, 0.1) < NEUTRAL);
        assert_eq!(level(0.001, 0.001), NEUTRAL);
    }

    #[test]
    fn a_picture_comes_back_as_it_was_made() {
        let levels = [0, 7, 14, 15, 3, 7];
        let bytes = encoded(&levels, 3, 2).unwrap();
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
            .read_info()
            .unwrap();
        let mut packed = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut packed).unwrap();
        assert_eq!(reader.info().size(), (3, 2));
        assert_eq!(packed, [0x07, 0xe0, 0xf3, 0x70]);
    }
}
