//! What recordings with power teach: effective mass, drag area and rolling resistance.
//!
//! [`stretches`] cuts recordings into half-minutes and leaves out those that say nothing, by stated rules; [`mod@solve`] finds the values
//! that balance their energy. What can't be told from the data is held at the rider file's value. [`rider_text`] puts the
//! result into a copy of the rider file.

pub mod rider_text;
pub mod solve;
pub mod stretches;

use std::collections::BTreeMap;

use super::seconds::Seconds;
use crate::profile::Profile;
use crate::ride::{System, Weather};
use solve::{Solution, Values, solve};
use stretches::{Dropped, STRETCH_S, Stretch};

/// A ride to fit to.
#[derive(Debug, Clone, Copy)]
pub struct FitRide<'a> {
    /// The ride, its power measured and its sensors cleaned.
    pub seconds: &'a Seconds,
    /// Its profile.
    pub profile: &'a Profile,
    /// The air on that day.
    pub weather: &'a Weather,
}

/// One of the three values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// As fitted, or as the rider file has it.
    pub value: f64,
    /// Its standard error; `None` where it was held.
    pub error: Option<f64>,
    /// What the rider file had.
    pub before: f64,
}

/// What was learnt.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Effective mass of rider, bike and kit, in kilograms.
    pub mass_kg: Fitted,
    /// Drag area, in square metres.
    pub cda_m2: Fitted,
    /// Rolling resistance coefficient.
    pub crr: Fitted,
    /// Correlations of the errors: mass with drag, mass with rolling, drag with rolling; `None` where one of the two was held.
    pub correlations: [Option<f64>; 3],
    /// Riding that was fitted to, in seconds.
    pub kept_s: f64,
    /// Riding that was left out, in seconds, by reason.
    pub dropped_s: BTreeMap<Dropped, f64>,
    /// Spread of a half-minute's mean power about the balance, in watts.
    pub spread_w: f64,
    /// What to mind, in sentences.
    pub notes: Vec<String>,
}

/// Why nothing was learnt.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FitError {
    /// Too little is left.
    #[error(
        "only {minutes:.0} minutes of riding can be fitted to ({dropped}); at least {needed:.0} are needed, with climbs, and with fast level \
         road for the drag"
    )]
    TooLittle {
        /// Minutes that can be used.
        minutes: f64,
        /// What was left out.
        dropped: String,
        /// Minutes that are needed.
        needed: f64,
    },
    /// The numbers don't settle.
    #[error(
        "no mass and drag balance these recordings: the power, the elevations or the rider file is far off"
    )]
    NoBalance,
}

/// Least riding to fit to, in seconds.
const LEAST_S: f64 = 900.0;
/// The rider file's rolling coefficient counts as a measurement with this standard error: climbs and fast level road alone tell
/// it poorly, and mass and drag would pay for what it is off. Nine roads in ten lie between 0.004 and 0.008, so that it is known
/// nearly as well before riding.
const KNOWN_CRR_ERROR: f64 = 0.001;
/// A drag area with a larger standard error is held, as a share.
const MOST_CDA_ERROR_SHARE: f64 = 0.10;
/// What a rider and a road can have; outside, the value is held.
const POSSIBLE: [(f64, f64); 3] = [(35.0, 300.0), (0.12, 0.9), (0.0015, 0.025)];
/// Errors that go together more than this can't well be told apart.
const TOGETHER: f64 = 0.8;
/// A mass this far from the scales' tells of the power meter, as a share.
const FAR_MASS_SHARE: f64 = 0.025;

/// Fits a rider and bike to rides.
///
/// # Errors
/// [`FitError`] where the rides say too little, or contradict the road model.
pub fn fit(rides: &[FitRide], system: &System) -> Result<Fit, FitError> {
    let mut kept: Vec<Stretch> = Vec::new();
    let mut dropped_s: BTreeMap<Dropped, f64> = BTreeMap::new();
    for ride in rides {
        let (some, dropped) = stretches::cut(ride.seconds, ride.profile, system, ride.weather);
        kept.extend(some);
        for (why, s) in dropped {
            *dropped_s.entry(why).or_default() += s;
        }
    }
    let kept_s = (kept.len() * STRETCH_S) as f64;
    if kept_s < LEAST_S {
        return Err(FitError::TooLittle {
            minutes: kept_s / 60.0,
            dropped: dropped_text(&dropped_s),
            needed: LEAST_S / 60.0,
        });
    }
    let r = &system.resistance;
    let before = [system.mass_kg, r.cda_m2, r.crr];
    let (solution, free, mut notes) = settle(&kept, before)?;
    notes.extend(remarks(&solution, free, before, rides));
    let one = |k: usize| Fitted {
        value: solution.values[k],
        error: free[k].then_some(solution.errors[k]),
        before: before[k],
    };
    let pairs = [(0, 1), (0, 2), (1, 2)];
    let together =
        |i: usize| (free[pairs[i].0] && free[pairs[i].1]).then_some(solution.correlations[i]);
    Ok(Fit {
        mass_kg: one(0),
        cda_m2: one(1),
        crr: one(2),
        correlations: [together(0), together(1), together(2)],
        kept_s,
        dropped_s,
        spread_w: spread_w(&kept, &solution),
        notes,
    })
}

/// Fits all three, then holds what can't be told.
fn settle(
    kept: &[Stretch],
    before: Values,
) -> Result<(Solution, [bool; 3], Vec<String>), FitError> {
    let mut free = [true; 3];
    let mut notes = Vec::new();
    loop {
        let solution = solve(kept, before, free, Some((before[2], KNOWN_CRR_ERROR)))
            .ok_or(FitError::NoBalance)?;
        let possible = |k: usize| (POSSIBLE[k].0..=POSSIBLE[k].1).contains(&solution.values[k]);
        let unsure = [
            false,
            solution.errors[1] > MOST_CDA_ERROR_SHARE * before[1],
            false,
        ];
        // Rolling resistance first: it is what mass and drag are most easily mistaken for.
        let hold = [2, 1]
            .into_iter()
            .find(|k| free[*k] && (unsure[*k] || !possible(*k)));
        match hold {
            Some(k) => {
                free[k] = false;
                notes.push(held_note(k, &solution, before));
            }
            None if possible(0) => return Ok((solution, free, notes)),
            None => return Err(FitError::NoBalance),
        }
    }
}

fn held_note(k: usize, solution: &Solution, before: Values) -> String {
    if k == 2 {
        format!(
            "the rolling resistance comes out as no road has it (Crr {:.4} ± {:.4}); held at {}",
            solution.values[2], solution.errors[2], before[2]
        )
    } else {
        format!(
            "drag can't be told from these recordings (CdA {:.2} ± {:.2} m²); held at {} m²; ride some fast level road",
            solution.values[1], solution.errors[1], before[1]
        )
    }
}

fn remarks(solution: &Solution, free: [bool; 3], before: Values, rides: &[FitRide]) -> Vec<String> {
    let mut notes = vec![
        "the mass is the effective one: a power meter that reads 1 % high shows as about 1 % more mass and drag, since only their ratio to \
         the power can be seen"
            .to_owned(),
    ];
    let off = solution.values[0] / before[0] - 1.0;
    if off.abs() > FAR_MASS_SHARE {
        notes.push(format!(
            "the mass comes out {:+.1} % from the rider file's: if the scales are right, the power meter reads so much {}",
            100.0 * off,
            if off > 0.0 { "high" } else { "low" }
        ));
    }
    let names = [
        "mass and drag",
        "mass and rolling resistance",
        "drag and rolling resistance",
    ];
    let pairs = [(0, 1), (0, 2), (1, 2)];
    for (i, name) in names.iter().enumerate() {
        let correlation = solution.correlations[i];
        if free[pairs[i].0] && free[pairs[i].1] && correlation.abs() > TOGETHER {
            notes.push(format!(
                "{name} are hard to tell apart here (correlation {correlation:.2}): together they are surer than each"
            ));
        }
    }
    if free[2] {
        notes.push(format!(
            "the rider file's Crr counts as known within {KNOWN_CRR_ERROR}, and is moved only as far as the recordings insist"
        ));
    }
    if free[1] {
        if rides.iter().any(|r| r.weather.wind.speed_ms == 0.0) {
            notes.push(
                "no wind was given: on a round trip a steady wind of 2 m/s makes the drag come out some 5 % high; give --wind and --wind-from"
                    .to_owned(),
            );
        }
        notes.push(
            "shelter behind others or hedges can't be seen in a recording; riding in it makes the drag come out low".to_owned(),
        );
    }
    notes
}

/// What was left out, in words.
pub fn dropped_text(dropped_s: &BTreeMap<Dropped, f64>) -> String {
    if dropped_s.is_empty() {
        return "nothing left out".to_owned();
    }
    let parts: Vec<String> = dropped_s
        .iter()
        .map(|(why, s)| format!("{} min {}", (s / 60.0).round(), why.name()))
        .collect();
    format!("left out: {}", parts.join(", "))
}

/// Robust spread of the stretches' mean power about the balance, in watts.
fn spread_w(kept: &[Stretch], solution: &Solution) -> f64 {
    let mut off_w: Vec<f64> = kept
        .iter()
        .map(|s| (solve::residual(s, &solution.values) * s.error_j / s.terms.duration_s).abs())
        .collect();
    off_w.sort_by(f64::total_cmp);
    1.4826 * off_w.get(off_w.len() / 2).copied().unwrap_or(0.0)
}
