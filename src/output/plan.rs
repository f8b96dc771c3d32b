//! The plan: which climb suits each rep.

use super::cautions::cautions;
use super::climbs::{climb_entry, elevation_entry, warnings};
use super::document::{
    AskedEntry, GearName, IndoorEntry, NearTieEntry, OtherEntry, Place, PlanDocument, PlanEntry,
    Range, RepEntry, ShiftEntry, SquadEntry, TotalEntry, TurningEntry, UnplacedEntry,
};
pub use super::plan_text::text;
use super::{place, rounded};
use crate::climbs::Climbs;
use crate::matching::cost::how_much_worse;
use crate::matching::{PlacedRep, Plan, Totals, Way};
use crate::profile::Profile;
use crate::profile::sources::Origin;
use crate::ride::Rider;
use crate::route::Route;

/// Puts what was asked, plans, the best first, and remarks about the set into a document.
pub fn document(
    asked: AskedEntry,
    routes: Vec<PlanEntry>,
    squad: Option<SquadEntry>,
    indoors: Vec<IndoorEntry>,
    session_notes: Vec<String>,
) -> PlanDocument {
    PlanDocument {
        schema: "hillwright.plan/1".to_owned(),
        asked,
        routes,
        squad,
        indoors,
        session_notes,
        cautions: cautions(),
    }
}

/// Which of two plans is the better one: most reps placed, then most placed by turning round, then least cost.
pub fn better(a: &PlanEntry, b: &PlanEntry) -> std::cmp::Ordering {
    let turning = |r: &PlanEntry| r.turning_round.as_ref().map_or(0, |t| t.reps.len());
    let left_out = a.unplaced.len().cmp(&b.unplaced.len());
    left_out
        .then(turning(b).cmp(&turning(a)))
        .then(a.cost_s.total_cmp(&b.cost_s))
}

/// One route's plan.
pub fn plan_entry(
    route: &Route,
    profile: &Profile,
    origin: &Origin,
    found: &Climbs,
    rider: &Rider,
    plan: &Plan,
) -> PlanEntry {
    let climbs = found
        .climbs
        .iter()
        .map(|climb| {
            let mut entry = climb_entry(profile, climb, None);
            if let Some(verdict) = plan.verdicts.iter().find(|v| v.climb == climb.id) {
                entry.suits = Some(verdict.suits);
                entry.why = Some(verdict.why.clone());
                entry.costs_more_s = verdict.more_s.map(|s| rounded(s, 1));
            }
            entry
        })
        .collect();
    PlanEntry {
        source: route.source.clone(),
        name: route.name.clone(),
        length_m: rounded(route.length_m, 1),
        fits: plan.fits,
        cost_s: rounded(plan.cost_s, 1),
        total: total_entry(&plan.total),
        reps: rep_entries(profile, rider, plan),
        unplaced: plan
            .unplaced
            .iter()
            .map(|u| UnplacedEntry {
                rep: u.rep,
                why: u.why.clone(),
            })
            .collect(),
        would_fit_with: Vec::new(),
        near_tie: plan.near_tie.map(|tie| NearTieEntry {
            rep: tie.rep,
            climb: tie.other.climb,
            more_s: rounded(tie.other.more_s, 1),
        }),
        laps: plan.laps,
        turning_round: plan.turning_round.as_ref().map(|turning| TurningEntry {
            fits: turning.fits,
            cost_s: rounded(turning.cost_s, 1),
            total: total_entry(&turning.total),
            reps: rep_entries(profile, rider, turning),
            laps: turning.laps,
        }),
        elevation: elevation_entry(profile, origin),
        warnings: warnings(route, profile),
        climbs,
    }
}

fn total_entry(total: &Totals) -> TotalEntry {
    TotalEntry {
        duration_s: rounded(total.duration_s, 0),
        distance_m: rounded(total.distance_m, 0),
        ascent_m: rounded(total.ascent_m, 0),
        work_s: rounded(total.work_s, 0),
        over_recovery_s: rounded(total.over_recovery_s, 0),
        warm_up_waiting_s: rounded(total.warm_up_waiting_s, 0),
    }
}

fn rep_entries(profile: &Profile, rider: &Rider, plan: &Plan) -> Vec<RepEntry> {
    let reps = plan.reps.iter();
    reps.map(|rep| rep_entry(profile, rider, rep)).collect()
}

/// A place on a loop that is ridden again and again.
fn place_on_lap(profile: &Profile, lap: usize, distance_m: f64) -> Place {
    place(profile, distance_m - lap as f64 * profile.length_m())
}

fn rep_entry(profile: &Profile, rider: &Rider, rep: &PlacedRep) -> RepEntry {
    let range = |(low, high): (f64, f64)| Range {
        low: rounded(low, 1),
        high: rounded(high, 1),
    };
    let lap = (rep.start_m / profile.length_m()) as usize;
    let at = |distance_m: f64| place_on_lap(profile, lap, distance_m);
    RepEntry {
        rep: rep.rep,
        block: rep.block + 1,
        maximal: rep.maximal,
        pacing: rep.pacing.name().to_owned(),
        climbs: rep.climbs.clone(),
        lap: lap + 1,
        start: at(rep.start_m),
        end: at(rep.end_m),
        end_if_fast: at(rep.end_if_fast_m),
        start_time_s: rounded(rep.start_time_s, 0),
        duration_s: rounded(rep.duration_s, 1),
        entry_speed_kmh: rounded(3.6 * rep.entry_speed_ms, 1),
        speed_kmh: rounded(3.6 * rep.speed_ms, 1),
        grade_pct: rounded(rep.grade_pct, 2),
        gear: GearName::from(&rep.gear),
        shifts: rep
            .shifts
            .iter()
            .map(|shift| ShiftEntry {
                at: at(shift.at_m),
                sprocket: shift.gear.sprocket,
                hub_ratio: shift.gear.hub_ratio,
            })
            .collect(),
        aim_rpm: rounded(rep.aim_rpm, 1),
        cost_parts_s: rep
            .cost
            .named()
            .iter()
            .map(|(name, s)| ((*name).to_owned(), rounded(*s, 2)))
            .collect(),
        power_w: rounded(rep.power_w, 1),
        power_range_w: range(rep.power_range_w),
        cadence_rpm: rounded(rep.cadence_rpm, 1),
        cadence_range_rpm: range(rep.cadence_range_rpm),
        in_band_pct: rounded(rep.in_band_pct, 1),
        torque_nm: rounded(rep.torque_nm, 1),
        torque_nm_per_kg: rounded(rep.torque_nm / rider.mass_kg, 2),
        pedal_force_n: rounded(rep.pedal_force_n, 0),
        recovery_after_s: rep.recovery_after_s.map(|s| rounded(s, 0)),
        rest_after_s: rep.rest_after_s.map(|s| rounded(s, 0)),
        recovery_how: match rep.recovery_how {
            Way::RideOn => "ride on".to_owned(),
            Way::SoftPedal => "soft pedal".to_owned(),
            Way::RollBack => "roll back".to_owned(),
        },
        waiting_after_s: rounded(rep.waiting_after_s, 0),
        others: rep
            .others
            .iter()
            .map(|o| OtherEntry {
                climb: o.climb,
                more_s: rounded(o.more_s, 1),
                why: format!("with it the plan is {}", how_much_worse(o.more_s)),
            })
            .collect(),
    }
}
