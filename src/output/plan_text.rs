//! The plan as people read it.

use super::climbs_text::{elevation_words, notes, title};
use super::document::{
    ClimbEntry, GearName, PlanDocument, PlanEntry, Range, RepEntry, TotalEntry, TurningEntry,
    UnplacedEntry,
};
use super::indoors::indoors_text;
use super::squad::squad_text;
use super::text::{Paper, plain};
use crate::prescription::duration_text;
use crate::ride::Pacing;

/// The document as text: the best route in full with a picture of its profile, the others a line each, then the cautions.
pub fn text(document: &PlanDocument, picture: &str, paper: &Paper) -> String {
    let mut out = String::new();
    if document.routes.len() > 1 {
        out += &ranking(document, paper);
        out.push('\n');
    }
    if document.squad.is_some() {
        out += &paper.wrapped(
            &format!(
                "The plan is {}'s; what the climbs are to each rider follows it.",
                plain(&document.asked.rider, 40)
            ),
            0,
        );
    }
    if let Some(best) = document.routes.first() {
        out += &route_text(best, picture, paper);
    }
    if let Some(squad) = &document.squad {
        out.push('\n');
        out += &squad_text(squad, paper);
    }
    if !document.indoors.is_empty() {
        out.push('\n');
        out += &indoors_text(&document.indoors, paper);
    }
    if !document.session_notes.is_empty() {
        out += "\nAbout the set:\n";
        for note in &document.session_notes {
            out += &paper.wrapped(&format!("- {note}"), 2);
        }
    }
    out += "\nBefore you ride:\n";
    for caution in &document.cautions {
        out += &paper.wrapped(&format!("- {caution}"), 2);
    }
    out
}

/// The routes, a line each.
fn ranking(document: &PlanDocument, paper: &Paper) -> String {
    let head = [
        "fits",
        "climbs",
        "cost",
        "time",
        "length",
        "rest over",
        "route",
    ];
    let mut rows: Vec<Vec<String>> = document
        .routes
        .iter()
        .map(|r| ranking_row(r, paper))
        .collect();
    let widest = |i: usize| {
        let cells = rows.iter().map(|row| row[i].chars().count());
        cells.chain([head[i].chars().count()]).max().unwrap_or(0)
    };
    let taken: usize = (0..head.len() - 1).map(|i| widest(i) + 2).sum();
    let room = usize::from(paper.width)
        .saturating_sub(taken)
        .max(SHORTEST_ROUTE);
    for (row, route) in rows.iter_mut().zip(&document.routes) {
        row.push(route_in(room, &route.source, route.name.as_deref()));
    }
    let mut out = paper.table(&head, rows, &[0, 1, 6]);
    let turning = document.routes.iter().any(|r| r.turning_round.is_some());
    let brackets = if turning {
        " fits, in brackets: reps that fit when turning round (--turn-round)."
    } else {
        ""
    };
    out += &paper.wrapped(
        &format!(
            "cost: seconds of work out of band, and what counts like it. time and length: the whole ride. rest over: recoveries \
             beyond the longest asked for, all together.{brackets}"
        ),
        0,
    );
    out
}

/// The name of a route has at least so many columns.
const SHORTEST_ROUTE: usize = 12;

fn ranking_row(route: &PlanEntry, paper: &Paper) -> Vec<String> {
    let placed = route.reps.len();
    let turning = route.turning_round.as_ref();
    let none = route.reps.is_empty();
    let or_dash = |text: String| if none { "–".to_owned() } else { text };
    vec![
        if route.fits {
            "yes".to_owned()
        } else {
            let brackets = turning.map_or(String::new(), |t| format!(" ({})", t.reps.len()));
            format!("{placed} of {}{brackets}", placed + route.unplaced.len())
        },
        or_dash(climbs_used(&route.reps)),
        or_dash(format!("{:.0} s", route.cost_s)),
        duration_text(route.total.duration_s),
        paper.far(route.total.distance_m),
        or_dash(duration_text(route.total.over_recovery_s)),
    ]
}

/// A route's name and file in so many columns; the file alone where both are too long.
fn route_in(columns: usize, source: &str, name: Option<&str>) -> String {
    let file = std::path::Path::new(source).file_name();
    let file = file.map_or(source.into(), |f| f.to_string_lossy());
    match name {
        Some(name) if name.chars().count() + file.chars().count() + 3 <= columns => {
            plain(&format!("{name} ({file})"), columns)
        }
        _ => plain(&file, columns),
    }
}

fn route_text(route: &PlanEntry, picture: &str, paper: &Paper) -> String {
    let mut out = title(&route.source, route.name.as_deref());
    let all = route.reps.len() + route.unplaced.len();
    let verdict = if route.fits && all == 1 {
        "The rep fits.".to_owned()
    } else if route.fits {
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
    if !picture.is_empty() {
        out += "\n";
        out += picture;
    }
    if !route.reps.is_empty() {
        out += &reps_text(&route.reps, &route.total, route.laps, paper);
    }
    if !route.unplaced.is_empty() {
        out += "\nReps without a place:\n";
        for (reps, why) in grouped(&route.unplaced) {
            out += &paper.wrapped(&format!("- {reps}: {why}."), 2);
        }
    }
    if let Some(tie) = &route.near_tie {
        let text = format!(
            "Two plans are nearly equal: with rep {} on climb {} it costs only {:.1} s more.",
            tie.rep, tie.climb, tie.more_s
        );
        out += &paper.wrapped(&text, 0);
    }
    if !route.would_fit_with.is_empty() {
        let text = format!("It would fit with: {}.", route.would_fit_with.join("; or "));
        out.push('\n');
        out += &paper.wrapped(&text, 0);
    }
    if let Some(turning) = &route.turning_round {
        out.push('\n');
        out += &turning_text(turning, all, paper);
    }
    let unused: Vec<_> = route
        .climbs
        .iter()
        .filter(|c| !route.reps.iter().any(|r| r.climbs.contains(&c.id)))
        .collect();
    if !unused.is_empty() {
        out += &unused_text(&unused, paper);
    }
    let mut about = vec![elevation_words(&route.elevation)];
    about.extend(route.warnings.iter().cloned());
    out + &notes(&about, paper)
}

/// The climbs without a rep, each with why; those that would do as well only cost more, and share a sentence.
fn unused_text(unused: &[&ClimbEntry], paper: &Paper) -> String {
    let mut out = "\nClimbs not used:\n".to_owned();
    // A reason that says more, as where the climb was halted on, is told in full.
    let spare_s = |climb: &ClimbEntry| {
        let more = climb.why.as_deref().is_some_and(|why| why.contains("; "));
        climb.costs_more_s.filter(|_| !more)
    };
    let spares: Vec<String> = unused
        .iter()
        .filter_map(|c| Some(format!("climb {} {:.0} s", c.id, spare_s(c)?)))
        .collect();
    for climb in unused.iter().filter(|c| spare_s(c).is_none()) {
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
    if !spares.is_empty() {
        let text = format!(
            "- Suit, but are not needed; with one of them the plan costs so much more: {}.",
            spares.join(", ")
        );
        out += &paper.wrapped(&text, 2);
    }
    out
}

/// Columns that the whole table of reps takes; on narrower paper the ranges and the push are left out.
const WHOLE_TABLE_COLUMNS: u16 = 98;

/// The table of reps, how to read it, and what is ridden between them.
fn reps_text(reps: &[RepEntry], total: &TotalEntry, laps: usize, paper: &Paper) -> String {
    let mut out = "\n".to_owned();
    out += &reps_table(reps, laps, paper);
    out += &paper.wrapped(&reading(reps, paper), 0);
    if total.warm_up_waiting_s > 0.0 {
        let text = format!(
            "Before rep {}: ride easy to and fro short of its start for {} more, until the warm-up is over.",
            reps[0].rep,
            duration_text(total.warm_up_waiting_s)
        );
        out += &paper.wrapped(&text, 0);
    }
    for line in shifts(reps, paper).into_iter().chain(between(reps)) {
        out += &paper.wrapped(&line, 0);
    }
    out
}

/// Where reps shift, a sentence each.
fn shifts(reps: &[RepEntry], paper: &Paper) -> Vec<String> {
    let shifting = reps.iter().filter(|r| !r.shifts.is_empty());
    shifting
        .map(|rep| {
            let all = rep.shifts.iter().map(|shift| {
                let at = paper.far(shift.at.distance_m);
                let gear = GearName {
                    sprocket: shift.sprocket,
                    hub_ratio: shift.hub_ratio,
                    ..rep.gear
                };
                format!("at {at} {gear}")
            });
            let all: Vec<String> = all.collect();
            format!("Rep {}: {}, {}.", rep.rep, rep.gear, all.join(", "))
        })
        .collect()
}

/// What is ridden after reps where it is not simply on, the same together.
fn between(reps: &[RepEntry]) -> Vec<String> {
    let told = |how: &str, what: &str| {
        let these: Vec<&RepEntry> = reps.iter().filter(|r| r.recovery_how == how).collect();
        let waits = these.iter().map(|r| r.waiting_after_s);
        let least = waits.clone().reduce(f64::min)?;
        let most = waits.reduce(f64::max)?;
        let numbers: Vec<usize> = these.iter().map(|r| r.rep).collect();
        let fro = if most <= 0.0 {
            String::new()
        } else if duration_text(least) == duration_text(most) {
            format!("{} of it", duration_text(most))
        } else {
            format!("{} to {} of it", duration_text(least), duration_text(most))
        };
        let text = what.replace("{}", &fro);
        Some(format!("After {}: {text}.", which_reps(&numbers)))
    };
    let back = "turn round, roll back down, turn again below the start, and ride easy to and fro there until it is time ({})";
    let soft = "soft-pedal to and fro on the level road on the way to the next start until it is time ({})";
    [("roll back", back), ("soft pedal", soft)]
        .into_iter()
        .filter_map(|(how, what)| told(how, what))
        .map(|line| line.replace(" until it is time ()", " if it is early"))
        .collect()
}

/// Numbers of reps with the word before them.
pub(super) fn which_reps(numbers: &[usize]) -> String {
    let word = if numbers.len() == 1 { "rep" } else { "reps" };
    format!("{word} {}", numbers_text(numbers))
}

/// Numbers in a row, neighbours as a span.
pub(super) fn numbers_text(numbers: &[usize]) -> String {
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for &n in numbers {
        match spans.last_mut() {
            Some((_, to)) if *to + 1 == n => *to = n,
            _ => spans.push((n, n)),
        }
    }
    let texts: Vec<String> = spans
        .into_iter()
        .map(|(a, b)| {
            if a == b {
                a.to_string()
            } else {
                format!("{a}–{b}")
            }
        })
        .collect();
    texts.join(", ")
}

/// The numbers of the climbs that some rep is ridden on.
fn climbs_used(reps: &[RepEntry]) -> String {
    let mut climbs: Vec<usize> = reps.iter().flat_map(|r| r.climbs.clone()).collect();
    climbs.sort_unstable();
    climbs.dedup();
    numbers_text(&climbs)
}

fn turning_text(turning: &TurningEntry, all: usize, paper: &Paper) -> String {
    let fit = if turning.fits {
        format!("all {all} reps fit")
    } else {
        format!("{} of {all} reps fit", turning.reps.len())
    };
    let mut out = paper.wrapped(
        &format!(
            "But turning round on climb {}, {fit} (--turn-round): {} with {} up in {}.",
            climbs_used(&turning.reps),
            paper.far(turning.total.distance_m),
            paper.short(turning.total.ascent_m),
            duration_text(turning.total.duration_s)
        ),
        0,
    );
    out += &reps_text(&turning.reps, &turning.total, 1, paper);
    out
}

fn reps_table(reps: &[RepEntry], laps: usize, paper: &Paper) -> String {
    let whole = paper.width >= WHOLE_TABLE_COLUMNS;
    // Where every rep holds its cadence, there is room for the powers that it takes.
    let powers = whole || (laps == 1 && reps.iter().all(holds_cadence));
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
    let rows = reps
        .iter()
        .map(|rep| reps_row(rep, laps, paper, (whole, powers)))
        .collect();
    paper.table(&head, rows, &[5])
}

/// Whether the cadence of a rep is one, as far as the table tells.
fn holds_cadence(rep: &RepEntry) -> bool {
    rep.maximal || rep.cadence_range_rpm.low.round() == rep.cadence_range_rpm.high.round()
}

fn reps_row(
    rep: &RepEntry,
    laps: usize,
    paper: &Paper,
    (whole, with_powers): (bool, bool),
) -> Vec<String> {
    let climbs: Vec<String> = rep.climbs.iter().map(usize::to_string).collect();
    let start = paper.far_number(rep.start.distance_m);
    let stop = paper.far_number(rep.end.distance_m);
    let stop_if_fast = paper.far_number(rep.end_if_fast.distance_m);
    let cadences = rep.cadence_range_rpm;
    let powers = rep.power_range_w;
    let easy = rep.recovery_after_s.map_or("–".to_owned(), duration_text);
    let unknown = |known: String| if rep.maximal { "–".to_owned() } else { known };
    let watts = |known: String| {
        if rep.maximal {
            "all out".to_owned()
        } else {
            known
        }
    };
    let mut row = vec![
        rep.rep.to_string(),
        if climbs.is_empty() {
            "–".to_owned()
        } else {
            climbs.join("+")
        },
        if laps > 1 {
            format!("lap {}: {start}", rep.lap)
        } else {
            start
        },
        format!("{stop} ({stop_if_fast})"),
        format!("{:.1} %", rep.grade_pct),
        rep.gear.to_string(),
        unknown(with_range(rep.cadence_rpm, cadences)),
    ];
    if whole {
        row.push(unknown(format!("{:.0} %", rep.in_band_pct)));
    }
    row.push(watts(if with_powers {
        with_range(rep.power_w, powers)
    } else {
        format!("{:.0}", rep.power_w)
    }));
    if whole {
        row.push(unknown(format!("{:.0}", rep.torque_nm)));
    }
    row.push(easy);
    row
}

/// A mean with its range in brackets, where there is one.
fn with_range(mean: f64, range: Range) -> String {
    let (low, high) = (format!("{:.0}", range.low), format!("{:.0}", range.high));
    if low == high {
        format!("{mean:.0}")
    } else {
        format!("{mean:.0} ({low}–{high})")
    }
}

/// How to read the table.
fn reading(reps: &[RepEntry], paper: &Paper) -> String {
    let unit = if paper.far_unit() == "km" {
        "kilometre"
    } else {
        "mile"
    };
    let mut text = format!(
        "Shift 15 s before the start, start the clock there; the clock stops the rep, near the {unit} given (in brackets: ridden fast). \
         rpm and W: mean, and range in brackets, after the first 15 s."
    );
    if reps.iter().any(|r| r.pacing == Pacing::Power.name()) {
        text += " Hold the power; the cadence follows the grade.";
    } else if reps.iter().any(|r| !r.maximal) {
        text += " Where the cadence comes to an end of its band: one sprocket at the rear.";
    }
    if paper.width >= WHOLE_TABLE_COLUMNS {
        text += " in: share of that time with the cadence in its band. N·m: mean crank torque.";
    }
    text + " easy: time to the next start."
}

/// Reps with the same reason together.
pub(super) fn grouped(unplaced: &[UnplacedEntry]) -> Vec<(String, String)> {
    let mut groups: Vec<(Vec<usize>, &str)> = Vec::new();
    for entry in unplaced {
        match groups.last_mut() {
            Some((reps, why)) if *why == entry.why => reps.push(entry.rep),
            _ => groups.push((vec![entry.rep], &entry.why)),
        }
    }
    groups
        .into_iter()
        .map(|(reps, why)| (which_reps(&reps), why.to_owned()))
        .collect()
}
