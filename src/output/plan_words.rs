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

/// How much worse a plan is that costs so many seconds more.
pub(crate) fn how_much_worse(more_s: f64) -> &'static str {
    match more_s {
        s if s <= AS_GOOD_S => "as good",
        s if s <= LITTLE_WORSE_S => "a little worse",
        _ => "much worse",
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
