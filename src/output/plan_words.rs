//! What a plan comes to, in the words that all of its forms share.

use super::document::{AskedEntry, ClimbEntry, PlanEntry, RepEntry};
use super::plan_text::{numbers_text, which_reps};
use super::text::Paper;
use crate::prescription::duration_text;

/// Stands beside a recovery that is longer than asked.
pub(super) const LONG: &str = "*";
/// A start this near to a climb's foot is at it, in metres.
const AT_THE_FOOT_M: f64 = 10.0;

/// What a plan with a rep elsewhere costs more and is still as good, in seconds of work out of band: a fiftieth of a rep of four minutes.
const AS_GOOD_S: f64 = 5.0;
/// And is a little worse, likewise: a quarter of such a rep. Common sense, no source; where it is wrong, a word is.
const LITTLE_WORSE_S: f64 = 60.0;

/// What a plan may be beside a cheaper one.
pub(super) const WORSE: [&str; 3] = ["as good", "a little worse", "much worse"];

/// Which of these a plan is that costs so many seconds more.
pub(crate) fn how_much_worse(more_s: f64) -> &'static str {
    match more_s {
        s if s <= AS_GOOD_S => WORSE[0],
        s if s <= LITTLE_WORSE_S => WORSE[1],
        _ => WORSE[2],
    }
}

/// What those words mean.
pub(super) fn worse_legend() -> String {
    format!(
        "As good: up to {AS_GOOD_S:.0} s more of work out of band, or what counts like it; a little worse: up to {LITTLE_WORSE_S:.0} s."
    )
}

/// Riding time in hours and minutes.
pub(super) fn clock(riding_s: f64) -> String {
    let minutes = (riding_s / 60.0).round() as u64;
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

/// The longest recovery that was asked for after a rep, where its own is longer.
pub(super) fn is_long(rep: &RepEntry, asked: &AskedEntry) -> Option<f64> {
    let block = asked.blocks.iter().find(|b| b.block == rep.block)?;
    let most_s = block.recovery_at_most_s?;
    // Documents have whole seconds.
    (rep.recovery_after_s? > most_s.round()).then_some(most_s)
}

/// `15:39*` where that is longer than asked; a dash after the last rep.
pub(super) fn easy(rep: &RepEntry, asked: &AskedEntry) -> String {
    let mark = if is_long(rep, asked).is_some() {
        LONG
    } else {
        ""
    };
    rep.recovery_after_s
        .map_or("–".to_owned(), |s| format!("{}{mark}", duration_text(s)))
}

/// `at most 9:00`: the longest recoveries asked for after the reps that are marked; `None` where none is.
pub(super) fn long_limits(reps: &[RepEntry], asked: &AskedEntry) -> Option<String> {
    let mut limits: Vec<String> = Vec::new();
    for most_s in reps.iter().filter_map(|rep| is_long(rep, asked)) {
        let limit = duration_text(most_s);
        if !limits.contains(&limit) {
            limits.push(limit);
        }
    }
    (!limits.is_empty()).then(|| format!("at most {}", limits.join(" or ")))
}

/// Whether every rep has a place, and whether the recoveries between them are as asked: a sentence without its full stop.
pub(super) fn fit(reps: &[RepEntry], all: usize, asked: &AskedEntry) -> String {
    let fit = match reps.len() {
        0 => return format!("None of the {all} reps fits this road"),
        1 if all == 1 => "The rep fits".to_owned(),
        placed if placed == all => format!("All {all} reps fit"),
        placed => format!("Only {placed} of {all} reps fit"),
    };
    let recoveries = reps.iter().filter(|r| r.recovery_after_s.is_some());
    let long: Vec<&RepEntry> = recoveries
        .clone()
        .filter(|r| is_long(r, asked).is_some())
        .collect();
    let longest_s = long.iter().filter_map(|r| r.recovery_after_s);
    let longest_s = longest_s.fold(0.0, f64::max);
    match long_limits(reps, asked) {
        None => fit,
        Some(limits) => {
            let are = if long.len() == 1 { "is" } else { "are" };
            format!(
                "{fit}; {} of {} recoveries {are} longer than asked: up to {}, asked for {limits}",
                long.len(),
                recoveries.count(),
                duration_text(longest_s)
            )
        }
    }
}

/// Whether what is told along the route is what the rider's odometer shows: until something is ridden twice.
pub(super) fn odometer_holds(reps: &[RepEntry], warm_up_waiting_s: f64, rep: &RepEntry) -> bool {
    let before = reps.iter().take_while(|r| r.rep != rep.rep);
    let strays = |r: &RepEntry| r.recovery_how == "roll back" || r.waiting_after_s > 0.0;
    warm_up_waiting_s <= 0.0 && !before.into_iter().any(strays)
}

/// Whether a rep is ridden on a climb that the rider turns round on.
pub(super) fn is_turned_on(reps: &[RepEntry], rep: &RepEntry) -> bool {
    let back = |r: &RepEntry| r.recovery_how == "roll back";
    let before = reps.iter().take_while(|r| r.rep != rep.rep).last();
    back(rep) || before.is_some_and(back)
}

/// `210 m up climb 1 (12 m above its foot)`: where a rep starts for somebody whose odometer does not show it.
pub(super) fn up_the_climb(rep: &RepEntry, climbs: &[ClimbEntry], paper: &Paper) -> String {
    let Some(climb) = climbs.iter().find(|c| rep.climbs.first() == Some(&c.id)) else {
        return format!(
            "at {} {} of the route, {} above the sea",
            paper.far_unit(),
            paper.far_number(rep.start.distance_m),
            paper.short(rep.start.elevation_m)
        );
    };
    let along_m = rep.start.distance_m - climb.start.distance_m;
    let id = climb.id;
    if along_m.abs() < AT_THE_FOOT_M {
        format!("at the foot of climb {id}")
    } else if along_m < 0.0 {
        format!("{} before the foot of climb {id}", paper.short(-along_m))
    } else {
        let up_m = rep.start.elevation_m - climb.start.elevation_m;
        format!(
            "{} up climb {id} ({} above its foot)",
            paper.short(along_m),
            paper.short(up_m)
        )
    }
}

/// On which climbs reps are: `climb 1`, `climbs 1–3, 5`; in words where they are on none.
pub(super) fn on_climbs(reps: &[RepEntry]) -> String {
    let mut climbs: Vec<usize> = reps.iter().flat_map(|r| r.climbs.clone()).collect();
    climbs.sort_unstable();
    climbs.dedup();
    match climbs[..] {
        [] => "an ascent that is no steady climb".to_owned(),
        [one] => format!("climb {one}"),
        _ => format!("climbs {}", numbers_text(&climbs)),
    }
}

/// What turning round would bring where the plan does not: `turning round on climb 1, all 6 reps fit`.
pub(super) fn turning_offer(route: &PlanEntry) -> Option<String> {
    let turning = route.turning_round.as_ref()?;
    let all = route.reps.len() + route.unplaced.len();
    let fit = match turning.reps.len() {
        1 if all == 1 => "the rep fits".to_owned(),
        placed if placed == all => format!("all {all} reps fit"),
        placed => format!("{placed} of {all} reps fit"),
    };
    Some(format!(
        "turning round on {}, {fit}",
        on_climbs(&turning.reps)
    ))
}

/// The climbs that no rep of the plan is on, nor of the one that turns round.
pub(super) fn unused(route: &PlanEntry) -> Vec<&ClimbEntry> {
    let turning = route.turning_round.iter().flat_map(|t| &t.reps);
    let reps: Vec<&RepEntry> = route.reps.iter().chain(turning).collect();
    let used = |climb: &ClimbEntry| reps.iter().any(|r| r.climbs.contains(&climb.id));
    route.climbs.iter().filter(|c| !used(c)).collect()
}

/// Why a rep's place should be looked at first, in short; `None` where nothing speaks against its climbs.
pub(super) fn doubt(rep: &RepEntry, climbs: &[ClimbEntry]) -> Option<String> {
    let mut unsure = climbs
        .iter()
        .filter(|c| c.unsure.is_some() && rep.climbs.contains(&c.id));
    let climb = unsure.next()?;
    Some(format!(
        "the recording is too coarse to be sure that climb {} is steady: look at it first",
        climb.id
    ))
}

/// The same for all reps, a sentence a climb, with what speaks against it.
pub(super) fn doubts(reps: &[RepEntry], climbs: &[ClimbEntry]) -> Vec<String> {
    let told = |climb: &ClimbEntry| {
        let on_it = reps.iter().filter(|r| r.climbs.contains(&climb.id));
        let on_it: Vec<usize> = on_it.map(|r| r.rep).collect();
        let why = climb.unsure.as_deref().filter(|_| !on_it.is_empty())?;
        Some(format!(
            "{}: the recording is too coarse to be sure that climb {} is steady: look at it first ({why}).",
            capitalised(&which_reps(&on_it)),
            climb.id
        ))
    };
    climbs.iter().filter_map(told).collect()
}

/// With a capital first.
pub(super) fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// Whether a rep's block is prescribed by torque.
pub(super) fn is_by_torque(rep: &RepEntry, asked: &AskedEntry) -> bool {
    let block = asked.blocks.iter().find(|b| b.block == rep.block);
    block.is_some_and(|b| b.torque_band_nm.is_some())
}

/// What the program knows of rides to and fro: the least and the most of some times, `1:30 to 2:09`.
pub(super) fn span(times_s: impl Iterator<Item = f64> + Clone) -> Option<String> {
    let least = duration_text(times_s.clone().reduce(f64::min)?);
    let most = duration_text(times_s.reduce(f64::max)?);
    Some(if least == most {
        most
    } else {
        format!("{least} to {most}")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::document::{GearName, Place, Range};

    fn place(distance_m: f64) -> Place {
        Place {
            distance_m,
            lat: 45.0,
            lon: 7.0,
            elevation_m: 0.05 * distance_m,
        }
    }

    fn rep(number: usize, climb: usize, start_m: f64) -> RepEntry {
        let range = Range {
            low: 50.0,
            high: 60.0,
        };
        RepEntry {
            rep: number,
            block: 1,
            maximal: false,
            pacing: "cadence".to_owned(),
            climbs: vec![climb],
            lap: 1,
            start: place(start_m),
            end: place(start_m + 900.0),
            end_if_fast: place(start_m + 950.0),
            start_time_s: 1800.0,
            duration_s: 240.0,
            entry_speed_kmh: 20.0,
            speed_kmh: 13.5,
            grade_pct: 5.0,
            gear: GearName {
                chainring: 50,
                sprocket: 24,
                hub_ratio: None,
            },
            shifts: Vec::new(),
            aim_rpm: 55.0,
            cost_parts_s: std::collections::BTreeMap::new(),
            power_w: 208.0,
            power_range_w: range,
            cadence_rpm: 55.0,
            cadence_range_rpm: range,
            in_band_pct: 100.0,
            torque_nm: 36.0,
            torque_nm_per_kg: 0.5,
            pedal_force_n: 200.0,
            recovery_after_s: Some(300.0),
            rest_after_s: Some(300.0),
            waiting_after_s: 0.0,
            recovery_how: "ride on".to_owned(),
            others: Vec::new(),
        }
    }

    fn climb(id: usize, unsure: Option<&str>) -> ClimbEntry {
        ClimbEntry {
            id,
            ascent: id,
            start: place(1000.0),
            end: place(3000.0),
            length_m: 2000.0,
            gain_m: 100.0,
            grade_pct: 5.0,
            grade_se_pct: 0.1,
            grade_sd_pct: 0.1,
            steepest_100m_pct: 5.2,
            gentlest_100m_pct: 4.8,
            unsure: unsure.map(str::to_owned),
            ride: None,
            suits: None,
            why: None,
            costs_more_s: None,
        }
    }

    #[test]
    fn climbs_that_a_coarse_recording_makes_doubtful_are_told_with_the_reps_on_them() {
        let climbs = [
            climb(1, None),
            climb(2, Some("may be none")),
            climb(3, Some("too")),
        ];
        let reps = [rep(1, 1, 1000.0), rep(2, 2, 1000.0), rep(3, 2, 1000.0)];
        assert_eq!(
            doubts(&reps, &climbs),
            [
                "Reps 2–3: the recording is too coarse to be sure that climb 2 is steady: look at it first (may be none)."
            ]
        );
        assert_eq!(doubt(&reps[0], &climbs), None);
        assert!(doubt(&reps[1], &climbs).is_some_and(|told| told.contains("look at it first")));
    }

    #[test]
    fn a_place_on_a_climb_is_told_from_its_foot() {
        let paper = Paper::default();
        let at = |start_m: f64| up_the_climb(&rep(1, 1, start_m), &[climb(1, None)], &paper);
        // 5 % of 200 m.
        assert_eq!(at(1200.0), "200 m up climb 1 (10 m above its foot)");
        assert_eq!(at(1004.0), "at the foot of climb 1");
        assert_eq!(at(950.0), "50 m before the foot of climb 1");
        let elsewhere = up_the_climb(&rep(1, 2, 1200.0), &[climb(1, None)], &paper);
        assert_eq!(elsewhere, "at km 1.20 of the route, 60 m above the sea");
    }

    #[test]
    fn the_odometer_holds_until_something_is_ridden_twice() {
        let mut reps = [rep(1, 1, 1000.0), rep(2, 1, 1000.0), rep(3, 1, 2000.0)];
        assert!(reps.iter().all(|r| odometer_holds(&reps, 0.0, r)));
        assert!(!odometer_holds(&reps, 60.0, &reps[0]));
        reps[0].recovery_how = "roll back".to_owned();
        let held: Vec<bool> = reps.iter().map(|r| odometer_holds(&reps, 0.0, r)).collect();
        assert_eq!(held, [true, false, false]);
        let turned: Vec<bool> = reps.iter().map(|r| is_turned_on(&reps, r)).collect();
        assert_eq!(turned, [true, true, false]);
    }

    #[test]
    fn costs_are_told_in_words() {
        let words = [0.0, 5.0, 5.1, 60.0, 61.0].map(how_much_worse);
        assert_eq!(
            words,
            [
                "as good",
                "as good",
                "a little worse",
                "a little worse",
                "much worse"
            ]
        );
    }

    #[test]
    fn riding_times_are_hours_and_minutes() {
        assert_eq!(["0:31", "2:05"], [clock(1862.0), clock(7489.0)]);
    }

    #[test]
    fn reps_on_no_steady_climb_are_told_without_a_number() {
        let mut one = rep(1, 1, 1000.0);
        one.climbs.clear();
        assert_eq!(on_climbs(&[one]), "an ascent that is no steady climb");
        assert_eq!(on_climbs(&[rep(1, 1, 0.0), rep(2, 3, 0.0)]), "climbs 1, 3");
    }
}
