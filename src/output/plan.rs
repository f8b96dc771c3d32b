//! The plan: which climb suits each rep.

use super::cautions::cautions;
use super::climbs::{climb_entry, elevation_entry, notes, title, warnings};
use super::document::{
    GearName, OtherEntry, PlanDocument, PlanEntry, Range, RepEntry, TotalEntry, UnplacedEntry,
};
use super::text::Paper;
use super::{place, rounded};
use crate::climbs::Climbs;
use crate::matching::{PlacedRep, Plan, RecoveryHow};
use crate::prescription::duration_text;
use crate::profile::Profile;
use crate::ride::Rider;
use crate::route::Route;
use crate::terrain::choose::Origin;

/// Puts plans into a document, the best first: most reps placed, then least cost.
pub fn document(mut routes: Vec<PlanEntry>) -> PlanDocument {
    routes.sort_by(|a, b| {
        a.unplaced
            .len()
            .cmp(&b.unplaced.len())
            .then(a.cost_s.total_cmp(&b.cost_s))
    });
    PlanDocument {
        schema: "hillwright.plan/1".to_owned(),
        routes,
        cautions: cautions(),
    }
}

/// One route's plan.
pub fn plan_entry(
    route: &Route,
    profile: &Profile,
    origin: Origin,
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
        total: TotalEntry {
            duration_s: rounded(plan.total.duration_s, 0),
            distance_m: rounded(plan.total.distance_m, 0),
            ascent_m: rounded(plan.total.ascent_m, 0),
            work_s: rounded(plan.total.work_s, 0),
        },
        reps: plan
            .reps
            .iter()
            .map(|rep| rep_entry(profile, rider, rep))
            .collect(),
        unplaced: plan
            .unplaced
            .iter()
            .map(|u| UnplacedEntry {
                rep: u.rep,
                why: u.why.clone(),
            })
            .collect(),
        elevation: elevation_entry(profile, origin),
        warnings: warnings(route, profile),
        climbs,
    }
}

fn rep_entry(profile: &Profile, rider: &Rider, rep: &PlacedRep) -> RepEntry {
    let range = |(low, high): (f64, f64)| Range {
        low: rounded(low, 1),
        high: rounded(high, 1),
    };
    RepEntry {
        rep: rep.rep,
        block: rep.block + 1,
        climbs: rep.climbs.clone(),
        start: place(profile, rep.start_m),
        end: place(profile, rep.end_m),
        end_if_fast: place(profile, rep.end_if_fast_m),
        start_time_s: rounded(rep.start_time_s, 0),
        duration_s: rounded(rep.duration_s, 1),
        entry_speed_kmh: rounded(3.6 * rep.entry_speed_ms, 1),
        speed_kmh: rounded(3.6 * rep.speed_ms, 1),
        grade_pct: rounded(rep.grade_pct, 2),
        gear: GearName::from(&rep.gear),
        shifts: Vec::new(),
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
            RecoveryHow::RideOn => "ride on".to_owned(),
        },
        others: rep
            .others
            .iter()
            .map(|o| OtherEntry {
                climb: o.climb,
                why: o.why.clone(),
            })
            .collect(),
    }
}

/// The document as text: the best route in full, the others a line each, then the cautions.
pub fn text(document: &PlanDocument, paper: &Paper) -> String {
    let mut out = String::new();
    if document.routes.len() > 1 {
        out += &ranking(document, paper);
        out.push('\n');
    }
    if let Some(best) = document.routes.first() {
        out += &route_text(best, paper);
    }
    out += "\nBefore you ride:\n";
    for caution in &document.cautions {
        out += &paper.wrapped(&format!("- {caution}"), 2);
    }
    out
}

fn ranking(document: &PlanDocument, paper: &Paper) -> String {
    let rows = document
        .routes
        .iter()
        .map(|r| {
            vec![
                if r.fits {
                    "yes".to_owned()
                } else {
                    format!("{} of {}", r.reps.len(), r.reps.len() + r.unplaced.len())
                },
                format!("{:.0} s", r.cost_s),
                duration_text(r.total.duration_s),
                paper.far(r.length_m),
                paper.short(r.total.ascent_m),
                title(&r.source, r.name.as_deref()).trim_end().to_owned(),
            ]
        })
        .collect();
    paper.table(
        &["fits", "cost", "time", "length", "up", "route"],
        rows,
        &[0, 5],
    )
}

fn route_text(route: &PlanEntry, paper: &Paper) -> String {
    let mut out = title(&route.source, route.name.as_deref());
    let all = route.reps.len() + route.unplaced.len();
    let verdict = if route.fits {
        format!("All {all} reps fit.")
    } else if route.reps.is_empty() {
        format!("None of {all} reps fits.")
    } else {
        format!("Only {} of {all} reps fit.", route.reps.len())
    };
    out += &paper.wrapped(
        &format!(
            "{verdict} {} with {} up in {}, {} of it work.",
            paper.far(route.total.distance_m),
            paper.short(route.total.ascent_m),
            duration_text(route.total.duration_s),
            duration_text(route.total.work_s)
        ),
        0,
    );
    if !route.reps.is_empty() {
        out.push('\n');
        out += &reps_table(route, paper);
        out += &paper.wrapped(&reading(paper), 0);
    }
    if !route.unplaced.is_empty() {
        out += "\nReps without a place:\n";
        for (reps, why) in grouped(&route.unplaced) {
            out += &paper.wrapped(&format!("- rep {reps}: {why}."), 2);
        }
    }
    let unused: Vec<_> = route
        .climbs
        .iter()
        .filter(|c| !route.reps.iter().any(|r| r.climbs.contains(&c.id)))
        .collect();
    if !unused.is_empty() {
        out += "\nClimbs not used:\n";
        for climb in unused {
            let why = climb.why.as_deref().unwrap_or("");
            out += &paper.wrapped(
                &format!(
                    "- climb {} ({}–{}, {:.1} %): {why}.",
                    climb.id,
                    paper.far_number(climb.start.distance_m),
                    paper.far(climb.end.distance_m),
                    climb.grade_pct
                ),
                2,
            );
        }
    }
    out + &notes(&route.warnings, paper)
}

/// Columns that the whole table of reps takes; on narrower paper the ranges and the push are left out.
const WHOLE_TABLE_COLUMNS: u16 = 98;

fn reps_table(route: &PlanEntry, paper: &Paper) -> String {
    let whole = paper.width >= WHOLE_TABLE_COLUMNS;
    let start_head = format!("start {}", paper.far_unit());
    let stop_head = format!("stop ~{}", paper.far_unit());
    let mut head = vec![
        "rep",
        "climb",
        &start_head,
        &stop_head,
        "grade",
        "gear",
        "rpm",
    ];
    head.extend(if whole {
        &["in", "W", "N·m", "easy"][..]
    } else {
        &["W", "easy"]
    });
    let rows = route
        .reps
        .iter()
        .map(|rep| reps_row(rep, paper, whole))
        .collect();
    paper.table(&head, rows, &[5])
}

fn reps_row(rep: &RepEntry, paper: &Paper, whole: bool) -> Vec<String> {
    let climbs: Vec<String> = rep.climbs.iter().map(usize::to_string).collect();
    let stop = paper.far_number(rep.end.distance_m);
    let stop_if_fast = paper.far_number(rep.end_if_fast.distance_m);
    let cadences = rep.cadence_range_rpm;
    let powers = rep.power_range_w;
    let easy = rep.recovery_after_s.map_or("–".to_owned(), duration_text);
    let mut row = vec![
        rep.rep.to_string(),
        if climbs.is_empty() {
            "–".to_owned()
        } else {
            climbs.join("+")
        },
        paper.far_number(rep.start.distance_m),
        format!("{stop} ({stop_if_fast})"),
        format!("{:.1} %", rep.grade_pct),
        rep.gear.to_string(),
        format!(
            "{:.0} ({:.0}–{:.0})",
            rep.cadence_rpm, cadences.low, cadences.high
        ),
    ];
    if whole {
        row.push(format!("{:.0} %", rep.in_band_pct));
        row.push(format!(
            "{:.0} ({:.0}–{:.0})",
            rep.power_w, powers.low, powers.high
        ));
        row.push(format!("{:.0}", rep.torque_nm));
    } else {
        row.push(format!("{:.0}", rep.power_w));
    }
    row.push(easy);
    row
}

/// How to read the table.
fn reading(paper: &Paper) -> String {
    let unit = if paper.far_unit() == "km" {
        "kilometre"
    } else {
        "mile"
    };
    let mut text = format!(
        "Shift 15 s before the start, start the clock there; the clock stops the rep, near the {unit} given (in brackets: ridden fast). \
         rpm and W: mean and range after the first 15 s."
    );
    if paper.width >= WHOLE_TABLE_COLUMNS {
        text += " in: share of that time with the cadence in its band. N·m: mean crank torque.";
    }
    text + " easy: time to the next start."
}

/// Reps with the same reason together.
fn grouped(unplaced: &[UnplacedEntry]) -> Vec<(String, String)> {
    let mut groups: Vec<(Vec<usize>, &str)> = Vec::new();
    for entry in unplaced {
        match groups.last_mut() {
            Some((reps, why)) if *why == entry.why => reps.push(entry.rep),
            _ => groups.push((vec![entry.rep], &entry.why)),
        }
    }
    groups
        .into_iter()
        .map(|(reps, why)| {
            let name = match (reps.first(), reps.last()) {
                (Some(a), Some(b)) if a != b => format!("{a}–{b}"),
                (Some(a), _) => a.to_string(),
                _ => String::new(),
            };
            (name, why.to_owned())
        })
        .collect()
}
