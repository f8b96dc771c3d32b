//! Climbs that several routes go up.

use super::document::{HaltEntry, Place, RideEntry, SeenEntry, SharedEntry};
use super::rounded;
use super::text::{Paper, plain};
use crate::archive::Survey;
use crate::archive::same::SharedClimb;

/// A climb as documents have it; `sources` and `surveys` are those it was found among.
pub fn entry(
    climb: &SharedClimb,
    sources: &[&str],
    surveys: &[&Survey],
    ride: Option<RideEntry>,
) -> SharedEntry {
    let seen = climb.seen.iter().enumerate().map(|(i, sighting)| {
        let survey = surveys[sighting.survey];
        let own = survey.climbs.iter().find(|c| c.climb.id == sighting.climb);
        SeenEntry {
            source: sources[sighting.survey].to_owned(),
            name: survey.name.clone(),
            climb: sighting.climb,
            start_m: rounded(own.map_or(0.0, |c| c.start.distance_m), 1),
            is_reference: i == climb.reference,
        }
    });
    let halts = climb.halts.iter().map(|halt| HaltEntry {
        from_foot_m: rounded(halt.from_foot_m, 0),
        rides: halt.rides,
        of: halt.of,
    });
    SharedEntry {
        start: Place::from(&climb.start),
        end: Place::from(&climb.end),
        length_m: rounded(climb.length_m, 1),
        gain_m: rounded(climb.gain_m, 1),
        grade_pct: rounded(climb.grade_pct, 2),
        grade_se_pct: rounded(climb.grade_se_pct, 2),
        grade_sd_pct: rounded(climb.grade_sd_pct, 2),
        routes: climb.routes,
        rides: climb.rides,
        seen: seen.collect(),
        halts: halts.collect(),
        ride,
    }
}

/// The climbs as a table, after those of the routes; nothing where there are none.
pub(super) fn table(shared: &[SharedEntry], paper: &Paper) -> String {
    if shared.is_empty() {
        return String::new();
    }
    let head = [
        "routes",
        "length",
        "gain",
        "grade",
        "first seen on",
        "climb",
    ];
    let row = |climb: &SharedEntry| {
        let first = climb.seen.first();
        let on = first.map_or(String::new(), |s| seen_on(s, 40));
        vec![
            climb.routes.to_string(),
            paper.short(climb.length_m),
            paper.short(climb.gain_m),
            grade_cell(climb),
            on,
            first.map_or(String::new(), |s| s.climb.to_string()),
        ]
    };
    let mut out = "\nClimbs on several routes, all that was measured taken together\n".to_owned();
    out += &paper.table(&head, shared.iter().map(row).collect(), &[4]);
    let halted: Vec<String> = shared
        .iter()
        .filter(|climb| !climb.halts.is_empty())
        .map(|climb| {
            let on = climb.seen.first().map_or(String::new(), |s| {
                format!("{}, climb {}", plain(&s.source, 60), s.climb)
            });
            format!("{on}: {}.", halts(climb, paper))
        })
        .collect();
    for line in halted {
        out += &paper.wrapped(&line, 2);
    }
    out
}

/// `5.5 ± 0.1 %`: nine times in ten it lies there.
pub(super) fn grade_cell(climb: &SharedEntry) -> String {
    let nine_in_ten_pct = (1.645 * climb.grade_se_pct).max(0.05);
    format!("{:.1} ± {nine_in_ten_pct:.1} %", climb.grade_pct)
}

/// The route's name, or that of its file without the folders, cut to a length.
pub(super) fn seen_on(seen: &SeenEntry, most: usize) -> String {
    let file = seen.source.rsplit(['/', '\\']).next();
    plain(file.unwrap_or(&seen.source), most)
}

/// `halted at 1.2 km on 4 of 7 rides`.
pub(super) fn halts(climb: &SharedEntry, paper: &Paper) -> String {
    let told: Vec<String> = climb
        .halts
        .iter()
        .map(|h| {
            let at = paper.far(h.from_foot_m);
            format!("halted at {at} on {} of {} rides", h.rides, h.of)
        })
        .collect();
    told.join(", ")
}
