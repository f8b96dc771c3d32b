//! What a rider does at each rep, in order, as the card tells it.

use crate::output::document::{AskedEntry, PlanEntry, RepEntry};
use crate::output::plan_words::{
    LONG, capitalised, clock, doubt, easy, is_by_torque, is_turned_on, long_limits, odometer_holds,
    up_the_climb,
};
use crate::output::text::Paper;
use crate::prescription::duration_text;
use crate::ride::Pacing;

/// How long before the start the gear is in, in seconds.
pub const SHIFT_BEFORE_S: f64 = 15.0;

/// What is asked after each rep.
pub const AFTER_EACH: [&str; 2] = ["knees fine: go on", "not fine: ride home easy"];

/// What a rider does at one rep, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Steps {
    /// Which rep.
    pub rep: usize,
    /// After how much riding it starts.
    pub at: String,
    /// Where to shift (kilometres or miles) and into what.
    pub shift: String,
    /// Where to start the clock.
    pub start: String,
    /// The gear, large.
    pub gear: String,
    /// What to hold.
    pub hold: String,
    /// Shifts on the way.
    pub on_the_way: Vec<String>,
    /// What to do where the cadence is about to leave its band, where that is not the same for all reps.
    pub off_band: Option<String>,
    /// Why the climb is to be looked at first.
    pub doubt: Option<String>,
    /// That the clock stops the rep, and about where.
    pub stop: String,
    /// What to do if the start was missed.
    pub missed: String,
    /// The rest.
    pub then: String,
}

impl Steps {
    /// All but the start, in order.
    pub(super) fn lines(self) -> impl Iterator<Item = String> {
        let before = [self.at, self.shift, self.hold].into_iter();
        before
            .chain(self.on_the_way)
            .chain(self.off_band)
            .chain(self.doubt)
            .chain([self.stop, self.missed, self.then])
    }
}

/// What is done before the first rep, and what goes for all.
pub(super) fn before(route: &PlanEntry, asked: &AskedEntry) -> Vec<String> {
    let mut told = Vec::new();
    if asked.warm_up_s > 0.0 && !route.reps.is_empty() {
        let waiting_s = route.total.warm_up_waiting_s;
        let fro = if waiting_s > 0.0 {
            let waiting = duration_text(waiting_s);
            format!(", {waiting} of it to and fro short of the start")
        } else {
            String::new()
        };
        told.push(format!(
            "{} easy first{fro}",
            duration_text(asked.warm_up_s)
        ));
    }
    told.extend(shared_off_band(route, asked).map(|off| capitalised(&off)));
    let limits = long_limits(&route.reps, asked);
    told.extend(limits.map(|limits| format!("{LONG} longer than asked: {limits}")));
    told
}

/// The instructions of a plan, rep by rep.
pub fn steps(route: &PlanEntry, asked: &AskedEntry, paper: &Paper) -> Vec<Steps> {
    let shared = shared_off_band(route, asked);
    let reps = route.reps.iter().zip(1..);
    reps.map(|(rep, next)| Steps {
        off_band: off_band(rep, asked).filter(|_| shared.is_none()),
        ..one(route, rep, route.reps.get(next), asked, paper)
    })
    .collect()
}

/// What to do where the cadence is about to leave its band; nothing in a maximal start, nor where the power is held.
fn off_band(rep: &RepEntry, asked: &AskedEntry) -> Option<String> {
    let block = asked.blocks.iter().find(|b| b.block == rep.block)?;
    let band = &block.cadence_band_rpm;
    (!rep.maximal && rep.pacing == Pacing::Cadence.name()).then(|| {
        format!(
            "rising to {:.0} rpm: one sprocket smaller; falling to {:.0}: one larger",
            band.to, band.from
        )
    })
}

/// The same where it goes for every rep that has a band.
fn shared_off_band(route: &PlanEntry, asked: &AskedEntry) -> Option<String> {
    let mut all = route.reps.iter().filter_map(|rep| off_band(rep, asked));
    let first = all.next()?;
    all.all(|off| off == first).then_some(first)
}

fn one(
    route: &PlanEntry,
    rep: &RepEntry,
    next: Option<&RepEntry>,
    asked: &AskedEntry,
    paper: &Paper,
) -> Steps {
    let place = place(route, rep, paper);
    let by_km = place.is_none();
    let at = |m: f64| format!("{} {}", paper.far_unit(), paper.far_number(m.max(0.0)));
    let lap = lap(route, rep);
    let shift_m = rep.start.distance_m - SHIFT_BEFORE_S * rep.entry_speed_kmh / 3.6;
    let shift_at = if by_km {
        format!("{lap}{}", at(shift_m))
    } else {
        format!("{SHIFT_BEFORE_S:.0} s before")
    };
    let after = |m: f64| paper.short(m - rep.start.distance_m);
    let stop_at = if by_km {
        format!("near {}", at(rep.end.distance_m))
    } else {
        format!("some {} on", after(rep.end.distance_m))
    };
    let shifts = rep.shifts.iter().map(|s| {
        let gear = rep.shifted(s);
        if by_km {
            format!("{}: shift to {gear}", at(s.at.distance_m))
        } else {
            format!(
                "{} after the start: shift to {gear}",
                after(s.at.distance_m)
            )
        }
    });
    Steps {
        rep: rep.rep,
        at: format!("at {} h", clock(rep.start_time_s)),
        shift: format!("{shift_at}: shift to {}", rep.gear),
        start: place.unwrap_or_else(|| format!("{lap}{}", at(rep.start.distance_m))),
        gear: rep.gear.to_string(),
        hold: hold(rep, asked),
        on_the_way: shifts.collect(),
        off_band: None,
        doubt: doubt(rep, &route.climbs),
        stop: format!(
            "the clock stops it: {}, {stop_at}",
            duration_text(rep.duration_s)
        ),
        missed: missed(route, rep, next, paper),
        then: then(route, rep, next, asked, paper),
    }
}

fn lap(route: &PlanEntry, rep: &RepEntry) -> String {
    if route.laps > 1 {
        format!("lap {}, ", rep.lap)
    } else {
        String::new()
    }
}

/// Where a rep starts, if the odometer does not show it.
fn place(route: &PlanEntry, rep: &RepEntry, paper: &Paper) -> Option<String> {
    let holds = odometer_holds(&route.reps, route.total.warm_up_waiting_s, rep);
    (!holds).then(|| up_the_climb(rep, &route.climbs, paper))
}

/// `km 13.37`, or how far up a climb.
fn start(route: &PlanEntry, rep: &RepEntry, paper: &Paper) -> String {
    place(route, rep, paper).unwrap_or_else(|| on_odometer(route, rep, paper))
}

/// `km 13.37`, or `lap 2, km 13.37`.
fn on_odometer(route: &PlanEntry, rep: &RepEntry, paper: &Paper) -> String {
    let km = paper.far_number(rep.start.distance_m);
    format!("{}{} {km}", lap(route, rep), paper.far_unit())
}

fn hold(rep: &RepEntry, asked: &AskedEntry) -> String {
    if rep.maximal {
        return "all out".to_owned();
    }
    let range = rep.power_range_w;
    let torque = if is_by_torque(rep, asked) {
        format!(", {:.0} N·m", rep.torque_nm)
    } else {
        String::new()
    };
    format!(
        "hold {:.0} rpm, {:.0}–{:.0} W{torque}",
        rep.aim_rpm, range.low, range.high
    )
}

fn missed(route: &PlanEntry, rep: &RepEntry, next: Option<&RepEntry>, paper: &Paper) -> String {
    if is_turned_on(&route.reps, rep) {
        return "missed it: turn round, start it again".to_owned();
    }
    if let Some(next) = next {
        return format!("missed it: next start {}", start(route, next, paper));
    }
    let ahead = route
        .climbs
        .iter()
        .find(|c| c.suits == Some(true) && c.start.distance_m > rep.end.distance_m);
    match ahead {
        Some(climb) => format!(
            "missed it: climb {} suits too, from {} {}",
            climb.id,
            paper.far_unit(),
            paper.far_number(climb.start.distance_m)
        ),
        None => "missed it: that was the last; ride home".to_owned(),
    }
}

fn then(
    route: &PlanEntry,
    rep: &RepEntry,
    next: Option<&RepEntry>,
    asked: &AskedEntry,
    paper: &Paper,
) -> String {
    let (Some(_), Some(next)) = (rep.recovery_after_s, next) else {
        return "then easy, and home".to_owned();
    };
    let how = match rep.recovery_how.as_str() {
        "roll back" => ": turn, roll back down",
        "soft pedal" => ": to and fro on the level",
        _ => "",
    };
    let again = next.start == rep.start && next.lap == rep.lap;
    let to = if again {
        ", to the same start".to_owned()
    } else if let Some(place) = place(route, next, paper) {
        format!("; next start: {place}")
    } else {
        format!(", to {}", on_odometer(route, next, paper))
    };
    format!("then {} easy{how}{to}", easy(rep, asked))
}
