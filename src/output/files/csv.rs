//! CSV (RFC 4180) for spreadsheets: one row a climb or a rep, units in the names of the columns, always metric.

use std::io;

use crate::output::document::{
    AskedEntry, ClimbEntry, ClimbsDocument, NearDocument, Place, PlanDocument, PlanEntry, RepEntry,
    RideEntry, UnplacedEntry,
};
use crate::output::plan_words::{doubt, is_long, odometer_holds, turning_offer, up_the_climb};
use crate::output::text::{Paper, clean};
use crate::prescription::duration_text;

/// The climbs of all routes.
///
/// # Errors
/// None that can happen: it is written to memory.
pub fn climbs(document: &ClimbsDocument) -> io::Result<String> {
    let mut rows = vec![head(&[
        "source",
        "route",
        "climb",
        "ascent",
        "start_distance_m",
        "start_lat",
        "start_lon",
        "start_elevation_m",
        "end_distance_m",
        "end_lat",
        "end_lon",
        "end_elevation_m",
        "length_m",
        "gain_m",
        "grade_pct",
        "grade_se_pct",
        "grade_sd_pct",
        "steepest_100m_pct",
        "gentlest_100m_pct",
        "power_w",
        "duration_s",
        "duration_low_s",
        "duration_high_s",
        "speed_kmh",
        "gear",
        "cadence_rpm",
        "unsure",
        "cautions",
    ])];
    let cautions = crate::output::cautions::CAUTIONS.join(" ");
    for route in &document.routes {
        for climb in &route.climbs {
            let mut row = vec![
                text(&route.source),
                text(route.name.as_deref().unwrap_or("")),
            ];
            row.extend(climb_cells(climb));
            row.push(text(climb.unsure.as_deref().unwrap_or("")));
            row.push(text(&cautions));
            rows.push(row);
        }
    }
    written(rows)
}

/// The reps of all routes, those without a place too.
///
/// # Errors
/// None that can happen: it is written to memory.
pub fn reps(document: &PlanDocument) -> io::Result<String> {
    let mut rows = vec![head(&[
        "source",
        "route",
        "rep",
        "block",
        "maximal",
        "climbs",
        "lap",
        "start_distance_m",
        "start_lat",
        "start_lon",
        "start_elevation_m",
        "end_distance_m",
        "end_lat",
        "end_lon",
        "end_elevation_m",
        "end_if_fast_distance_m",
        "start_time_s",
        "duration_s",
        "entry_speed_kmh",
        "speed_kmh",
        "grade_pct",
        "gear",
        "shifts",
        "aim_rpm",
        "power_w",
        "power_low_w",
        "power_high_w",
        "cadence_rpm",
        "cadence_low_rpm",
        "cadence_high_rpm",
        "in_band_pct",
        "torque_nm",
        "torque_nm_per_kg",
        "pedal_force_n",
        "recovery_after_s",
        "rest_after_s",
        "waiting_after_s",
        "recovery_how",
        "remarks",
        "cautions",
    ])];
    let columns = rows[0].len();
    let cautions = document.cautions.join(" ");
    for route in &document.routes {
        let named = || {
            vec![
                text(&route.source),
                text(route.name.as_deref().unwrap_or("")),
            ]
        };
        for rep in &route.reps {
            let mut row = named();
            row.extend(rep_cells(rep));
            row.push(remarks(rep, route, &document.asked));
            row.push(text(&cautions));
            rows.push(row);
        }
        for unplaced in &route.unplaced {
            let mut row = named();
            row.push(unplaced.rep.to_string());
            row.resize(columns - 2, String::new());
            row.push(no_place(unplaced, route));
            row.push(text(&cautions));
            rows.push(row);
        }
    }
    written(rows)
}

/// The climbs around a place, the nearest first.
///
/// # Errors
/// None that can happen: it is written to memory.
pub fn near(document: &NearDocument) -> io::Result<String> {
    let mut rows = vec![head(&[
        "climb",
        "away_m",
        "direction_deg",
        "goes_deg",
        "source",
        "route",
        "climb_on_route",
        "start_distance_m",
        "start_lat",
        "start_lon",
        "start_elevation_m",
        "end_distance_m",
        "end_lat",
        "end_lon",
        "end_elevation_m",
        "length_m",
        "gain_m",
        "grade_pct",
        "grade_se_pct",
        "grade_sd_pct",
        "routes",
        "rides",
        "halts",
        "power_w",
        "duration_s",
        "duration_low_s",
        "duration_high_s",
        "speed_kmh",
        "gear",
        "cadence_rpm",
        "cautions",
    ])];
    let cautions = crate::output::cautions::CAUTIONS.join(" ");
    for near in &document.climbs {
        let climb = &near.climb;
        let seen = climb.seen.iter().find(|s| s.is_reference);
        let mut row = vec![near.id.to_string()];
        row.extend([near.away_m, near.direction_deg, near.goes_deg].map(number));
        row.push(seen.map_or(String::new(), |s| text(&s.source)));
        row.push(seen.map_or(String::new(), |s| text(s.name.as_deref().unwrap_or(""))));
        row.push(seen.map_or(String::new(), |s| s.climb.to_string()));
        row.extend(ends([&climb.start, &climb.end]));
        row.extend(
            [
                climb.length_m,
                climb.gain_m,
                climb.grade_pct,
                climb.grade_se_pct,
                climb.grade_sd_pct,
            ]
            .map(number),
        );
        row.extend([climb.routes, climb.rides].map(|count| count.to_string()));
        let halts = climb.halts.iter();
        let halts = halts.map(|h| format!("{} m on {} of {} rides", h.from_foot_m, h.rides, h.of));
        row.push(halts.collect::<Vec<_>>().join("; "));
        row.extend(ride_cells(climb.ride.as_ref()));
        row.push(text(&cautions));
        rows.push(row);
    }
    written(rows)
}

fn head(names: &[&str]) -> Vec<String> {
    names.iter().map(|n| (*n).to_owned()).collect()
}

fn number(value: f64) -> String {
    value.to_string()
}

fn maybe(value: Option<f64>) -> String {
    value.map_or(String::new(), number)
}

/// Text that no spreadsheet takes for a formula (OWASP, CSV Injection): an apostrophe goes before what starts one.
fn text(value: &str) -> String {
    let clean = clean(value);
    if clean.trim_start().starts_with(['=', '+', '-', '@']) {
        format!("'{clean}")
    } else {
        clean
    }
}

fn climb_cells(climb: &ClimbEntry) -> Vec<String> {
    let mut cells = vec![climb.id.to_string(), climb.ascent.to_string()];
    cells.extend(ends([&climb.start, &climb.end]));
    cells.extend(
        [
            climb.length_m,
            climb.gain_m,
            climb.grade_pct,
            climb.grade_se_pct,
            climb.grade_sd_pct,
            climb.steepest_100m_pct,
            climb.gentlest_100m_pct,
        ]
        .map(number),
    );
    cells.extend(ride_cells(climb.ride.as_ref()));
    cells
}

fn ends(ends: [&Place; 2]) -> impl Iterator<Item = String> {
    let numbers = |p: &Place| [p.distance_m, p.lat, p.lon, p.elevation_m].map(number);
    ends.map(numbers).into_iter().flatten()
}

fn ride_cells(ride: Option<&RideEntry>) -> [String; 7] {
    let gear = ride.and_then(|r| r.gear);
    [
        maybe(ride.map(|r| r.power_w)),
        maybe(ride.map(|r| r.duration_s)),
        maybe(ride.map(|r| r.duration_range_s.low)),
        maybe(ride.map(|r| r.duration_range_s.high)),
        maybe(ride.map(|r| r.speed_kmh)),
        gear.map_or(String::new(), |g| g.to_string()),
        maybe(ride.and_then(|r| r.cadence_rpm)),
    ]
}

fn rep_cells(rep: &RepEntry) -> Vec<String> {
    let climbs: Vec<String> = rep.climbs.iter().map(usize::to_string).collect();
    let shifts: Vec<String> = rep
        .shifts
        .iter()
        .map(|s| format!("{} at {} m", rep.shifted(s), s.at.distance_m))
        .collect();
    let mut cells = vec![
        rep.rep.to_string(),
        rep.block.to_string(),
        rep.maximal.to_string(),
        climbs.join(" "),
        rep.lap.to_string(),
    ];
    cells.extend(ends([&rep.start, &rep.end]));
    cells.extend(
        [
            rep.end_if_fast.distance_m,
            rep.start_time_s,
            rep.duration_s,
            rep.entry_speed_kmh,
            rep.speed_kmh,
            rep.grade_pct,
        ]
        .map(number),
    );
    cells.extend([rep.gear.to_string(), shifts.join("; ")]);
    cells.extend(
        [
            rep.aim_rpm,
            rep.power_w,
            rep.power_range_w.low,
            rep.power_range_w.high,
            rep.cadence_rpm,
            rep.cadence_range_rpm.low,
            rep.cadence_range_rpm.high,
            rep.in_band_pct,
            rep.torque_nm,
            rep.torque_nm_per_kg,
            rep.pedal_force_n,
        ]
        .map(number),
    );
    cells.extend([maybe(rep.recovery_after_s), maybe(rep.rest_after_s)]);
    cells.extend([number(rep.waiting_after_s), rep.recovery_how.clone()]);
    cells
}

/// What other forms mark: recoveries that are longer than asked, starts that the odometer does not show, climbs to look at first.
fn remarks(rep: &RepEntry, route: &PlanEntry, asked: &AskedEntry) -> String {
    let long = is_long(rep, asked).map(|most_s| {
        let most = duration_text(most_s);
        format!("recovery longer than the {most} asked for at most")
    });
    let holds = odometer_holds(&route.reps, route.total.warm_up_waiting_s, rep);
    let place = (!holds).then(|| up_the_climb(rep, &route.climbs, &Paper::default()));
    let told = [long, place, doubt(rep, &route.climbs)];
    told.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// Why a rep has no place, and what turning round would bring.
fn no_place(unplaced: &UnplacedEntry, route: &PlanEntry) -> String {
    let offer = turning_offer(route).map(|offer| format!("; but {offer}: add --turn-round"));
    format!("no place: {}{}", unplaced.why, offer.unwrap_or_default())
}

/// As wide in every row as the head; the writer refuses anything else.
fn written(rows: Vec<Vec<String>>) -> io::Result<String> {
    let mut writer = ::csv::WriterBuilder::new()
        .terminator(::csv::Terminator::CRLF)
        .from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).map_err(io::Error::other)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|e| io::Error::other(e.to_string()))?;
    String::from_utf8(bytes).map_err(io::Error::other)
}

#[cfg(test)]
mod tests {
    use super::text;

    #[test]
    fn what_a_spreadsheet_would_run_gets_an_apostrophe() {
        assert_eq!(text("=HYPERLINK(\"x\")"), "'=HYPERLINK(\"x\")");
        assert_eq!(text("\t@SUM(A1)"), "' @SUM(A1)");
        assert_eq!(text("Over the hill"), "Over the hill");
        assert_eq!(text("a\r\nb"), "a  b");
    }
}
