//! What a recording's elevations look like: as a barometer's, a satellite fix's, a terrain model's; in which steps they are written.

use super::Noise;
use crate::route::{Point, Route};
use crate::terrain::TILE_SD_M;

/// Whose elevations they look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Likeness {
    /// A barometer's, recorded while riding.
    Barometer,
    /// Satellite fixes', recorded while riding.
    Satellites,
    /// Recorded while riding, worse than a barometer's and better than satellite fixes'.
    Between,
    /// A terrain model's, under a line without times.
    TerrainModel,
    /// A line without times, better than a terrain model is.
    Smooth,
    /// A line without times, worse than a terrain model is.
    Coarse,
    /// Elevation tiles'.
    Tiles,
    /// Elevation tiles' and a recording's, together.
    TilesAndRecording,
}

/// What elevations look like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Looks {
    /// Whose they look like.
    pub likeness: Likeness,
    /// Steps in which they are written, in metres; none where they are finer than [`STEPS_M`].
    pub step_m: Option<f64>,
}

/// Steps that devices write, in metres, the coarsest first: whole and half metres, whole feet, a barometer's fifths, tenths.
pub const STEPS_M: [f64; 5] = [1.0, 0.5, 0.3048, 0.2, 0.1];
/// A rise is this near to whole steps, in metres: files hold more digits than that, sums of them are no worse.
const STEP_FIT_M: f64 = 2e-3;
/// One rise in so many may be something else: a place where two files were joined.
const STEP_MISFITS: usize = 100;
/// So few rises say nothing of steps.
const FEWEST_RISES: usize = 20;

/// Ridden recordings whose error is smaller than this look like a barometer's, in metres: it errs by 0.2 to 0.5 m over some seconds, in whole metres
/// by 0.3 m more. Half of it misses whole metres, twice of it takes in the best of satellite fixes.
const BAROMETER_M: f64 = 1.0;
/// Ridden recordings whose error is at least this look like satellite fixes', in metres: those err by 3 to 10 m over a minute, and on a
/// short recording only half of that shows.
const SATELLITES_M: f64 = 2.0;
/// Lines without times whose error is smaller than this are better than a terrain model, in metres.
const SMOOTH_M: f64 = 0.6;
/// Lines without times whose error is larger than this are worse than one, in metres.
const COARSE_M: f64 = 3.5;

impl Looks {
    /// Judges a route's recorded elevations by how they are written and how they err; `ridden` where a clock ran along.
    pub fn of(route: &Route, noise: &Noise, ridden: bool) -> Looks {
        let error_m = noise.total_sd_m();
        let likeness = match (ridden, error_m) {
            (true, e) if e < BAROMETER_M => Likeness::Barometer,
            (true, e) if e < SATELLITES_M => Likeness::Between,
            (true, _) => Likeness::Satellites,
            (false, e) if e < SMOOTH_M => Likeness::Smooth,
            (false, e) if e <= COARSE_M => Likeness::TerrainModel,
            (false, _) => Likeness::Coarse,
        };
        Looks {
            likeness,
            step_m: step_m(&route.points),
        }
    }

    /// In words, with the standard deviation of the noise: `barometer-like, ±0.3 m`.
    pub fn in_words(&self, noise: &Noise) -> String {
        let error = size(noise.total_sd_m());
        let advice = if Noise::of_tiles(TILE_SD_M).is_clearly_better_than(noise) {
            ": use tiles for better grades"
        } else {
            ""
        };
        let whole_metres = match self.step_m {
            Some(step_m) if step_m >= 0.9 => " in whole metres",
            _ => "",
        };
        match self.likeness {
            Likeness::Barometer => format!("barometer-like{whole_metres}, {error}"),
            Likeness::Between => {
                format!("{error}{whole_metres}, between a barometer's and satellites'")
            }
            Likeness::Satellites => format!("satellite-only, {error}{advice}"),
            Likeness::TerrainModel => format!("terrain-model-like, {error}"),
            Likeness::Smooth => format!("smooth, {error}"),
            Likeness::Coarse => format!("coarse, {error}{advice}"),
            Likeness::Tiles => format!("the ground's, {error}"),
            Likeness::TilesAndRecording => {
                format!("the ground's and the recording's together, {error}")
            }
        }
    }
}

/// No device errs by more than this on a road, in metres, so that what looks like it is something else.
pub const WILD_M: f64 = 8.0;

impl Looks {
    /// What a rider should know of them, in a sentence.
    pub(super) fn remark(noise: &Noise) -> Option<String> {
        let error_m = noise.total_sd_m();
        (error_m >= WILD_M).then(|| {
            format!(
                "elevations wander by ±{error_m:.0} m, more than any device errs on a road: steep broken ground, or wrong elevations; \
                 nothing said of climbs here is sure"
            )
        })
    }
}

/// As many digits as are known.
fn size(error_m: f64) -> String {
    if error_m < 2.95 {
        format!("±{error_m:.1} m")
    } else {
        format!("±{error_m:.0} m")
    }
}

/// The coarsest of [`STEPS_M`] that the rises from one elevation to the next are whole numbers of.
fn step_m(points: &[Point]) -> Option<f64> {
    let mut before_m = None;
    let mut rises_m = Vec::new();
    for elevation_m in points.iter().filter_map(|p| p.elevation_m) {
        if let Some(before_m) = before_m.replace(elevation_m)
            && elevation_m != before_m
        {
            rises_m.push(elevation_m - before_m);
        }
    }
    if rises_m.len() < FEWEST_RISES {
        return None;
    }
    let fits = |step_m: &f64| {
        let is_off = |rise_m: &&f64| {
            let steps = **rise_m / step_m;
            ((steps - steps.round()) * step_m).abs() > STEP_FIT_M
        };
        let most = rises_m.len() / STEP_MISFITS;
        rises_m.iter().filter(is_off).take(most + 1).count() <= most
    };
    STEPS_M.into_iter().find(|step_m| fits(step_m))
}

#[cfg(test)]
mod tests {
    use super::super::tests::road;
    use super::*;

    fn step_of(steps_m: f64, offset_m: f64) -> Option<f64> {
        let elevation_m: Vec<f64> = (0..200)
            .map(|i| {
                let height_m = 300.0 + 30.0 * (f64::from(i) / 17.0).sin();
                (height_m / steps_m).round() * steps_m + offset_m
            })
            .collect();
        step_m(&road(&elevation_m).points)
    }

    #[test]
    fn the_steps_of_elevations_are_found_wherever_they_start() {
        for known_m in STEPS_M {
            assert_eq!(step_of(known_m, 0.0), Some(known_m));
            assert_eq!(step_of(known_m, 0.07), Some(known_m));
        }
        assert_eq!(step_of(0.013, 0.0), None);
        assert_eq!(step_m(&road(&[5.0; 300]).points), None);
    }

    #[test]
    fn words_say_what_it_is_and_how_large_the_error() {
        let said =
            |likeness, step_m, sd_m| Looks { likeness, step_m }.in_words(&Noise::of_tiles(sd_m));
        assert_eq!(
            said(Likeness::Barometer, Some(0.2), 0.31),
            "barometer-like, ±0.3 m"
        );
        assert_eq!(
            said(Likeness::Barometer, Some(1.0), 0.44),
            "barometer-like in whole metres, ±0.4 m"
        );
        assert_eq!(
            said(Likeness::Satellites, Some(0.1), 4.2),
            "satellite-only, ±4 m: use tiles for better grades"
        );
        // Tiles err by 2 m themselves.
        assert_eq!(
            said(Likeness::Satellites, Some(0.1), 2.1),
            "satellite-only, ±2.1 m"
        );
    }
}
