//! A loop ridden several times, as one long road.

use super::{Plan, SeenHalt, Task, plan};
use crate::climbs::{Ascent, Climb, Climbs};
use crate::profile::Profile;

/// The cheapest plan on as few rounds of a loop as carry the set, at most so many; where none does, on as few as carry
/// most of it. The plan that turns round, where one is worked out, is on as few rounds as it needs itself.
pub fn plan_in_laps(task: &Task, most: usize) -> Plan {
    let mut best = plan(task);
    let mut turning = best.turning_round.take();
    for laps in 2..=most {
        if best.fits {
            break;
        }
        let mut found = Plan {
            laps,
            ..on_rounds(task, laps, plan)
        };
        if let Some(turned) = found.turning_round.take()
            && turning
                .as_ref()
                .is_none_or(|t| turned.reps.len() > t.reps.len())
        {
            turning = Some(Box::new(Plan { laps, ..*turned }));
        }
        if found.reps.len() > best.reps.len() {
            best = found;
        }
    }
    best.turning_round = turning.filter(|t| t.reps.len() > best.reps.len());
    best
}

/// What is made of a task on so many rounds.
pub(super) fn on_rounds<T>(task: &Task, laps: usize, make: impl FnOnce(&Task) -> T) -> T {
    if laps == 1 {
        return make(task);
    }
    let profile = unrolled(task.profile, laps);
    let climbs = repeated(task.climbs, laps, task.profile.length_m());
    let halts = (0..laps).flat_map(|lap| {
        let ahead_m = lap as f64 * task.profile.length_m();
        let ahead = move |halt: &SeenHalt| SeenHalt {
            at_m: halt.at_m + ahead_m,
            ..*halt
        };
        task.halts.iter().map(ahead)
    });
    make(&Task {
        profile: &profile,
        climbs: &climbs,
        halts: &halts.collect::<Vec<_>>(),
        ..*task
    })
}

/// A profile ridden so many times; each round starts where the one before ended, also in elevation.
fn unrolled(profile: &Profile, laps: usize) -> Profile {
    let last = profile.nodes() - 1;
    let repeat = |column: &[f64], step: f64| -> Vec<f64> {
        (0..laps)
            .flat_map(|lap| {
                let from = usize::from(lap > 0);
                column[from..].iter().map(move |v| v + lap as f64 * step)
            })
            .collect()
    };
    let rise_m = profile.elevation_m[last] - profile.elevation_m[0];
    Profile {
        lat_deg: repeat(&profile.lat_deg, 0.0),
        lon_deg: repeat(&profile.lon_deg, 0.0),
        bearing_rad: repeat(&profile.bearing_rad, 0.0),
        given_m: repeat(&profile.given_m, profile.given_m[last]),
        elevation_m: repeat(&profile.elevation_m, rise_m),
        elevation_se_m: repeat(&profile.elevation_se_m, 0.0),
        grade_pct: repeat(&profile.grade_pct, 0.0),
        grade_se_pct: repeat(&profile.grade_se_pct, 0.0),
        turns: Vec::new(),
        observations: Vec::new(),
        ..profile.clone()
    }
}

/// The climbs of every round; each keeps its number.
fn repeated(found: &Climbs, laps: usize, length_m: f64) -> Climbs {
    let mut all = Climbs {
        rule: found.rule,
        ..Climbs::default()
    };
    let rounds = (0..laps).map(|lap| found.doubt.get(usize::from(lap > 0)..));
    all.doubt = rounds.flatten().flatten().copied().collect();
    for lap in 0..laps {
        let ahead_m = lap as f64 * length_m;
        all.climbs.extend(found.climbs.iter().map(|c| Climb {
            from_m: c.from_m + ahead_m,
            to_m: c.to_m + ahead_m,
            ..c.clone()
        }));
        all.ascents.extend(found.ascents.iter().map(|a| Ascent {
            from_m: a.from_m + ahead_m,
            to_m: a.to_m + ahead_m,
            ..a.clone()
        }));
    }
    all
}
