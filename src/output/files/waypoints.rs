//! Places to ride by: where reps start, shift and stop, where climbs begin and end.

use super::{Ride, Waypoint};
use crate::output::document::{AskedEntry, ClimbEntry, GearName, PlanEntry, RepEntry};
use crate::output::plan_text::{numbers_text, which_reps};
use crate::output::plan_words::{
    capitalised, clock, doubt, is_by_torque, is_long, odometer_holds, span, up_the_climb,
};
use crate::output::text::Paper;
use crate::prescription::duration_text;

/// Reps that end within so many metres of each other end in the same place: they differ by the speed of arrival.
const SAME_END_M: f64 = 20.0;

/// Start, shifts and stop of each rep; of reps on the same stretch only once.
pub(super) fn of_reps(ride: &Ride) -> Vec<Waypoint> {
    let mut groups: Vec<Vec<&RepEntry>> = Vec::new();
    for rep in ride.reps {
        match groups.iter_mut().find(|group| is_same(group[0], rep)) {
            Some(group) => group.push(rep),
            None => groups.push(vec![rep]),
        }
    }
    groups
        .iter()
        .flat_map(|group| of_group(group, ride))
        .collect()
}

/// Whether two reps are ridden in the same place in the same way.
fn is_same(a: &RepEntry, b: &RepEntry) -> bool {
    let sprockets =
        |rep: &RepEntry| -> Vec<u32> { rep.shifts.iter().map(|s| s.sprocket).collect() };
    a.start == b.start
        && a.lap == b.lap
        && a.gear == b.gear
        && a.aim_rpm == b.aim_rpm
        && a.maximal == b.maximal
        && duration_text(a.duration_s) == duration_text(b.duration_s)
        && (a.end.distance_m - b.end.distance_m).abs() <= SAME_END_M
        && sprockets(a) == sprockets(b)
}

fn of_group(group: &[&RepEntry], ride: &Ride) -> Vec<Waypoint> {
    let rep = group[0];
    let numbers: Vec<usize> = group.iter().map(|r| r.rep).collect();
    let lap = if ride.laps > 1 {
        format!("Lap {} ", rep.lap)
    } else {
        String::new()
    };
    // Names are in ASCII.
    let reps = numbers_text(&numbers).replace('–', "-");
    let word = if group.len() == 1 { "Rep" } else { "Reps" };
    let title = format!("{lap}{word} {reps}");
    let work = duration_text(rep.duration_s);
    let hold = if rep.maximal {
        "all out".to_owned()
    } else {
        format!("{:.0}rpm", rep.aim_rpm)
    };
    let start = Waypoint {
        name: format!("{title} START {} {hold}", gear(&rep.gear)),
        about: about_start(group, ride),
        at: rep.start.clone(),
    };
    let shifts = rep.shifts.iter().map(|shift| Waypoint {
        name: format!("{title} SHIFT {}", gear(&rep.shifted(shift))),
        about: "Shift at the back here.".to_owned(),
        at: shift.at.clone(),
    });
    let rests = group.iter().filter_map(|r| r.recovery_after_s);
    let easy = span(rests).map_or(String::new(), |s| {
        format!(" easy {}", s.replace(" to ", "-"))
    });
    let stop = Waypoint {
        name: format!("{title} STOP {work}{easy}"),
        about: about_stop(group, ride, &work),
        at: rep.end.clone(),
    };
    std::iter::once(start)
        .chain(shifts)
        .chain(std::iter::once(stop))
        .collect()
}

fn gear(gear: &GearName) -> String {
    let hub = gear
        .hub_ratio
        .map_or(String::new(), |r| format!(" hub {r}"));
    format!("{}x{}{hub}", gear.chainring, gear.sprocket)
}

/// What to hold, where that is for who has turned round, when, and what speaks against the climb.
fn about_start(group: &[&RepEntry], ride: &Ride) -> String {
    let rep = group[0];
    let work = duration_text(rep.duration_s);
    let low_w = group.iter().map(|r| r.power_range_w.low);
    let high_w = group.iter().map(|r| r.power_range_w.high);
    let torque = ride
        .plan
        .filter(|(_, asked)| is_by_torque(rep, asked))
        .map_or(String::new(), |_| format!(", {:.0} N·m", rep.torque_nm));
    let hold = if rep.maximal {
        format!("All out for {work}.")
    } else {
        format!(
            "Hold {:.0} rpm for {work}, about {:.0} to {:.0} W{torque}, on {:.1} %.",
            rep.aim_rpm,
            low_w.fold(f64::INFINITY, f64::min),
            high_w.fold(f64::NEG_INFINITY, f64::max),
            rep.grade_pct
        )
    };
    let times: Vec<String> = group.iter().map(|r| clock(r.start_time_s)).collect();
    let mut told = vec![hold, format!("After {} h of riding.", times.join(", "))];
    if let Some((route, _)) = ride.plan {
        told.extend(up(rep, ride, route));
    }
    let doubt = doubt(rep, ride.climbs);
    told.extend(doubt.map(|doubt| format!("{}.", capitalised(&doubt))));
    told.join(" ")
}

/// Where it starts, if the odometer does not show that.
fn up(rep: &RepEntry, ride: &Ride, route: &PlanEntry) -> Option<String> {
    let waiting_s = route.total.warm_up_waiting_s;
    let holds = odometer_holds(ride.reps, waiting_s, rep);
    let place = up_the_climb(rep, ride.climbs, &Paper::default());
    (!holds).then(|| format!("{}.", capitalised(&place)))
}

/// That the clock stops it, and recoveries that are longer than asked.
fn about_stop(group: &[&RepEntry], ride: &Ride, work: &str) -> String {
    let mut told = format!("The clock stops the rep after {work}, about here.");
    if let Some((_, asked)) = ride.plan {
        for rep in group {
            told += &long(rep, asked);
        }
    }
    told
}

fn long(rep: &RepEntry, asked: &AskedEntry) -> String {
    let rest_s = rep.recovery_after_s.unwrap_or_default();
    is_long(rep, asked).map_or(String::new(), |most_s| {
        format!(
            " After {} {} easy: longer than the {} asked for at most.",
            which_reps(&[rep.rep]),
            duration_text(rest_s),
            duration_text(most_s)
        )
    })
}

/// Foot and top.
pub(super) fn of_climb(climb: &ClimbEntry) -> [Waypoint; 2] {
    let mut about = format!(
        "{:.0} m at {:.1} %, {:.1} to {:.1} % over 100 m.",
        climb.length_m, climb.grade_pct, climb.gentlest_100m_pct, climb.steepest_100m_pct
    );
    if let Some(unsure) = &climb.unsure {
        about += &format!(" Unsure: {unsure}.");
    }
    [
        Waypoint {
            name: format!(
                "Climb {} START {:.1}% {:.0}m",
                climb.id, climb.grade_pct, climb.length_m
            ),
            about: about.clone(),
            at: climb.start.clone(),
        },
        Waypoint {
            name: format!("Climb {} END", climb.id),
            about,
            at: climb.end.clone(),
        },
    ]
}
