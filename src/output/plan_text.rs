//! The plan as people read it.

use super::climbs_text::{elevation_words, notes, title};
use super::document::{ClimbEntry, PlanDocument, PlanEntry, RepEntry, UnplacedEntry};
use super::indoors::indoors_text;
use super::plan_reps_text::Reps;
use super::plan_words::{fit, turning_offer, unused, worse_legend};
use super::squad::squad_text;
use super::text::{Paper, plain};
use super::{asked, document::AskedEntry};
use crate::matching::cost::{WORSE, how_much_worse};
use crate::prescription::duration_text;

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
        out += &route_text(best, &document.asked, picture, paper);
    } else {
        out += &paper.wrapped(&asked::words(&document.asked, paper), 0);
    }
    if let Some(squad) = &document.squad {
        out.push('\n');
        out += &squad_text(squad, paper);
    }
    if !document.indoors.is_empty() {
        out.push('\n');
        out += &indoors_text(document, paper);
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
        "plan",
        "time",
        "length",
        "rest over",
        "route",
    ];
    let mut rows: Vec<Vec<String>> = document
        .routes
        .iter()
        .map(|r| ranking_row(r, &document.routes[0], paper))
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
    let mut out = paper.table(&head, rows, &[0, 1, 2, 6]);
    let turning = document.routes.iter().any(|r| r.turning_round.is_some());
    let brackets = if turning {
        " fits, in brackets: reps that fit when turning round (--turn-round)."
    } else {
        ""
    };
    out += &paper.wrapped(
        &format!(
            "plan: beside the best that places as many reps. {} time and length: the whole ride. rest over: recoveries \
             beyond the longest asked for, all together.{brackets}",
            worse_legend()
        ),
        0,
    );
    out
}

/// The name of a route has at least so many columns.
const SHORTEST_ROUTE: usize = 12;

/// How good a route's plan is beside the best one, where both place as many reps; empty where they don't.
pub(super) fn beside(route: &PlanEntry, best: &PlanEntry) -> &'static str {
    let turning = |r: &PlanEntry| r.turning_round.as_ref().map_or(0, |t| t.reps.len());
    let placed = |r: &PlanEntry| (r.reps.len(), turning(r));
    if std::ptr::eq(route, best) {
        "best"
    } else if route.reps.is_empty() || placed(route) != placed(best) {
        "–"
    } else {
        how_much_worse(route.cost_s - best.cost_s)
    }
}

fn ranking_row(route: &PlanEntry, best: &PlanEntry, paper: &Paper) -> Vec<String> {
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
        or_dash(beside(route, best).to_owned()),
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

fn route_text(route: &PlanEntry, asked: &AskedEntry, picture: &str, paper: &Paper) -> String {
    let mut out = title(&route.source, route.name.as_deref());
    let all = route.reps.len() + route.unplaced.len();
    let work = if route.reps.is_empty() {
        String::new()
    } else {
        format!(", {} of it work", duration_text(route.total.work_s))
    };
    let reps = Reps::of(route, asked, paper);
    let told = format!(
        "{}. {} with {} up in {}{work}.{}",
        fit(&route.reps, all, asked),
        paper.far(route.total.distance_m),
        paper.short(route.total.ascent_m),
        duration_text(route.total.duration_s),
        reps.afterwards()
    );
    out += &paper.wrapped(&told, 0);
    out += &paper.wrapped(&asked::words(asked, paper), 0);
    out += &paper.wrapped(&asked::air(&asked.weather, paper), 0);
    if !picture.is_empty() {
        out += "\n";
        out += picture;
    }
    if !route.reps.is_empty() {
        out += &reps.text();
    }
    if !route.unplaced.is_empty() {
        out += "\nReps without a place:\n";
        for (reps, why) in grouped(&route.unplaced) {
            out += &paper.wrapped(&format!("- {reps}: {why}."), 2);
        }
    }
    if let Some(tie) = &route.near_tie {
        let text = format!(
            "Two plans are nearly equal: with rep {} on climb {} it is {}.",
            tie.rep,
            tie.climb,
            how_much_worse(tie.more_s)
        );
        out += &paper.wrapped(&text, 0);
    }
    if !route.would_fit_with.is_empty() {
        let text = format!("It would fit with: {}.", route.would_fit_with.join("; or "));
        out.push('\n');
        out += &paper.wrapped(&text, 0);
    }
    out += &turning_text(route, asked, paper);
    let unused = unused(route);
    if !unused.is_empty() {
        out += &unused_text(&unused, paper);
    }
    let mut about = vec![elevation_words(&route.elevation)];
    about.extend(route.warnings.iter().cloned());
    out + &notes(&about, paper)
}

/// The plan for a rider who turns round, where the other does not place all reps.
fn turning_text(route: &PlanEntry, asked: &AskedEntry, paper: &Paper) -> String {
    let turning = Reps::turning(route, asked, paper);
    let Some((turning, offer)) = turning.zip(turning_offer(route)) else {
        return String::new();
    };
    let total = turning.total;
    let told = format!(
        "But {offer} (add --turn-round): {} with {} up in {}.{}",
        paper.far(total.distance_m),
        paper.short(total.ascent_m),
        duration_text(total.duration_s),
        turning.afterwards()
    );
    format!("\n{}{}", paper.wrapped(&told, 0), turning.text())
}

/// The climbs without a rep, each with why; those that would do as well share a sentence.
fn unused_text(unused: &[&ClimbEntry], paper: &Paper) -> String {
    let mut out = "\nClimbs not used:\n".to_owned();
    // A reason that says more, as where the climb was halted on, is told in full.
    let spare = |climb: &ClimbEntry| {
        let more = climb.why.as_deref().is_some_and(|why| why.contains("; "));
        climb.costs_more_s.filter(|_| !more).map(how_much_worse)
    };
    let mut spares: Vec<(&str, Vec<usize>)> = WORSE.map(|worse| (worse, Vec::new())).to_vec();
    for climb in unused {
        match spare(climb) {
            None => {
                let why = climb.why.as_deref().unwrap_or("");
                let told = format!(
                    "- climb {} ({}–{}, {:.1} %): {why}.",
                    climb.id,
                    paper.far_number(climb.start.distance_m),
                    paper.far(climb.end.distance_m),
                    climb.grade_pct
                );
                out += &paper.wrapped(&told, 2);
            }
            Some(worse) => {
                for (_, climbs) in spares.iter_mut().filter(|(known, _)| *known == worse) {
                    climbs.push(climb.id);
                }
            }
        }
    }
    spares.retain(|(_, climbs)| !climbs.is_empty());
    if !spares.is_empty() {
        let told: Vec<String> = spares
            .iter()
            .map(|(worse, climbs)| {
                let word = if climbs.len() == 1 { "climb" } else { "climbs" };
                format!("{worse} with {word} {}", numbers_text(climbs))
            })
            .collect();
        let text = format!(
            "- Suit, but are not needed; with a rep on one of them the plan is {}. {}",
            told.join(", "),
            worse_legend()
        );
        out += &paper.wrapped(&text, 2);
    }
    out
}

/// Numbers of reps with the word before them.
pub(crate) fn which_reps(numbers: &[usize]) -> String {
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
