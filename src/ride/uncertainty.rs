//! How sure a duration is.

use super::{Moment, Pace, Road, System, Until, Weather, advance};
use crate::profile::Profile;

/// Half-widths of the 90 % intervals of what is not known about a ride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unknowns {
    /// Rider, bike and kit, in kilograms.
    pub mass_kg: f64,
    /// Drag area, as a share of it.
    pub cda_share: f64,
    /// Rolling resistance coefficient, lower end.
    pub crr_low: f64,
    /// Rolling resistance coefficient, upper end.
    pub crr_high: f64,
    /// Power meter, as a share of the power.
    pub power_share: f64,
    /// Wind along the road, in metres per second.
    pub wind_ms: f64,
}

impl Default for Unknowns {
    /// Mass ± 2 kg, CdA ± 10 %, Crr 0.004–0.008, power meter ± 2 %, wind ± 2 m/s (common practice, no source).
    fn default() -> Self {
        Unknowns {
            mass_kg: 2.0,
            cda_share: 0.10,
            crr_low: 0.004,
            crr_high: 0.008,
            power_share: 0.02,
            wind_ms: 2.0,
        }
    }
}

/// The 90 % interval of a duration, in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DurationRange {
    /// Nineteen rides in twenty last longer.
    pub low_s: f64,
    /// The duration for the values given.
    pub mid_s: f64,
    /// Nineteen rides in twenty are shorter.
    pub high_s: f64,
    /// What makes most of the range.
    pub largest: Unknown,
    /// Mean power for the values given, in watts.
    pub power_w: f64,
    /// Whether the power is too little for the grade somewhere, so that the rider comes to walking pace.
    pub stalls: bool,
}

/// What is not known about a ride.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// The mean grade.
    Grade,
    /// Rider, bike and kit.
    Mass,
    /// Drag area.
    Drag,
    /// Rolling resistance.
    Rolling,
    /// The power meter.
    PowerMeter,
    /// Wind along the road.
    Wind,
}

impl Unknown {
    /// As a word in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Unknown::Grade => "grade",
            Unknown::Mass => "mass",
            Unknown::Drag => "drag",
            Unknown::Rolling => "rolling resistance",
            Unknown::PowerMeter => "power meter",
            Unknown::Wind => "wind",
        }
    }
}

/// A stretch of a profile to be ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Where it starts along the route, in metres.
    pub from_m: f64,
    /// Where it ends along the route, in metres.
    pub to_m: f64,
    /// Speed on arrival, in metres per second.
    pub entry_speed_ms: f64,
    /// How the power is dosed.
    pub pace: Pace,
    /// Standard error of the stretch's mean grade, in per cent.
    pub grade_se_pct: f64,
}

/// How long a stretch takes, and the 90 % interval of that.
///
/// Each unknown is moved to both ends of its own interval and the stretch is ridden again; the differences are added as
/// independent ones are, root of the sum of squares, each side for itself.
pub fn duration_range(
    profile: &Profile,
    system: &System,
    weather: &Weather,
    stretch: &Stretch,
    unknowns: &Unknowns,
) -> DurationRange {
    let cut = profile.slice(stretch.from_m, stretch.to_m);
    let mid = Case {
        system: *system,
        weather: *weather,
        power_share: 1.0,
        grade_shift: 0.0,
        extra_wind_ms: 0.0,
    };
    let Lasted {
        duration_s: mid_s,
        power_w,
        stalls,
    } = mid.ride(&cut, stretch);
    let with = |change: &dyn Fn(&mut Case)| {
        let mut case = mid;
        change(&mut case);
        case.ride(&cut, stretch).duration_s - mid_s
    };
    let grade = 1.645 * stretch.grade_se_pct / 100.0;
    let crr = system.resistance.crr;
    let parts = [
        (
            Unknown::Grade,
            with(&|c| c.grade_shift = -grade),
            with(&|c| c.grade_shift = grade),
        ),
        (
            Unknown::Mass,
            with(&|c| c.system.mass_kg -= unknowns.mass_kg),
            with(&|c| c.system.mass_kg += unknowns.mass_kg),
        ),
        (
            Unknown::Drag,
            with(&|c| c.system.resistance.cda_m2 *= 1.0 - unknowns.cda_share),
            with(&|c| c.system.resistance.cda_m2 *= 1.0 + unknowns.cda_share),
        ),
        (
            Unknown::Rolling,
            with(&|c| c.system.resistance.crr = unknowns.crr_low.min(crr)),
            with(&|c| c.system.resistance.crr = unknowns.crr_high.max(crr)),
        ),
        (
            Unknown::PowerMeter,
            with(&|c| c.power_share = 1.0 + unknowns.power_share),
            with(&|c| c.power_share = 1.0 - unknowns.power_share),
        ),
        (
            Unknown::Wind,
            with(&|c| c.extra_wind_ms = -unknowns.wind_ms),
            with(&|c| c.extra_wind_ms = unknowns.wind_ms),
        ),
    ];
    let sooner_s = parts
        .iter()
        .map(|p| p.1.min(p.2).min(0.0).powi(2))
        .sum::<f64>()
        .sqrt();
    let later_s = parts
        .iter()
        .map(|p| p.1.max(p.2).max(0.0).powi(2))
        .sum::<f64>()
        .sqrt();
    let width = |p: &(Unknown, f64, f64)| (p.1 - p.2).abs();
    let largest = parts
        .iter()
        .max_by(|a, b| width(a).total_cmp(&width(b)))
        .map_or(Unknown::Wind, |p| p.0);
    DurationRange {
        low_s: (mid_s - sooner_s).max(0.0),
        mid_s,
        high_s: mid_s + later_s,
        largest,
        power_w,
        stalls,
    }
}

#[derive(Clone, Copy)]
struct Case {
    system: System,
    weather: Weather,
    power_share: f64,
    grade_shift: f64,
    extra_wind_ms: f64,
}

/// How a ride went.
struct Lasted {
    duration_s: f64,
    power_w: f64,
    stalls: bool,
}

impl Case {
    fn ride(&self, cut: &Profile, stretch: &Stretch) -> Lasted {
        let mut road = Road::new(cut, &self.system, &self.weather);
        let extra_n = self.system.mass_kg * STANDARD_GRAVITY_M_S2 * self.grade_shift;
        for cell in &mut road.cells {
            cell.constant_n += extra_n;
            cell.headwind_ms += self.extra_wind_ms;
        }
        let start = Moment {
            distance_m: 0.0,
            time_s: 0.0,
            speed_ms: stretch.entry_speed_ms,
        };
        let (mut stalls, mut work_j) = (false, 0.0);
        let pace = stretch.pace.scaled(self.power_share);
        let end = advance(&road, start, &pace, Until::Distance(road.length_m()), |s| {
            stalls |= s.stalled;
            work_j += s.power_w * s.duration_s;
        });
        Lasted {
            duration_s: end.time_s,
            power_w: work_j / end.time_s.max(1e-9),
            stalls,
        }
    }
}

/// Good enough for a small change of a small force, in m/s².
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
