//! What the missed climbs and the false ones lie on.
//!
//! One less F1 is the share that missed and false climbs have in all true and all found ones, so each of them costs the
//! same and the costs of the confusions add up to what is lost.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::definition::boundaries;
use super::layout::Character;
use super::recording::Kind;
use super::road::{Road, TrueClimb};
use super::score::{FoundClimb, match_climbs};

/// A found climb that holds so much of a true one is about that climb.
const MOST_OF_IT: f64 = 0.5;
/// A found climb with less of the true one has not seen it.
const A_PART: f64 = 0.25;
/// A found climb that has this share of itself in one true climb lies inside it.
const INSIDE: f64 = 0.8;

/// How often what came about.
type Counts = BTreeMap<&'static str, usize>;

/// The missed ones or the false ones.
type Which = fn(&Confusions) -> &Counts;

/// How often each confusion came about on one kind of recording.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Confusions {
    /// True and found climbs together.
    pub climbs: usize,
    /// True climbs that were missed, by how.
    pub missed: Counts,
    /// Found climbs that are not there, by what is there.
    pub false_ones: Counts,
}

impl Confusions {
    /// Adds what went wrong on one road.
    pub fn add(&mut self, road: &Road, found: &[FoundClimb]) {
        let matches = match_climbs(&road.true_climbs, found);
        self.climbs += road.true_climbs.len() + found.len();
        for (t, climb) in road.true_climbs.iter().enumerate() {
            if matches.iter().all(|&(used, _)| used != t) {
                *self.missed.entry(missed(road, climb, found)).or_default() += 1;
            }
        }
        for (f, climb) in found.iter().enumerate() {
            if matches.iter().all(|&(_, used)| used != f) {
                *self.false_ones.entry(false_one(road, climb)).or_default() += 1;
            }
        }
    }

    /// What is lost of F1.
    pub fn lost(&self) -> f64 {
        let wrong: usize = self.missed.values().chain(self.false_ones.values()).sum();
        wrong as f64 / self.climbs.max(1) as f64
    }
}

/// What a missed climb was taken for.
fn missed(road: &Road, truth: &TrueClimb, found: &[FoundClimb]) -> &'static str {
    let length_m = truth.end_m - truth.start_m;
    let seen: Vec<&FoundClimb> = found
        .iter()
        .filter(|other| shared_m(truth, other) >= A_PART * length_m)
        .collect();
    let covered_m: f64 = found.iter().map(|other| shared_m(truth, other)).sum();
    match seen[..] {
        [] if covered_m < MOST_OF_IT * length_m => "nothing found there",
        [one] => match joined(road, one) {
            Some(between) => between,
            None if shared_m(truth, one) < 0.75 * length_m => "found too short",
            None => "found too long",
        },
        _ => "found in parts",
    }
}

/// What a climb that is not there lies on.
fn false_one(road: &Road, found: &FoundClimb) -> &'static str {
    let length_m = (found.end_true_m - found.start_true_m).max(1.0);
    for (character, name) in [
        (Character::Lump, "a row of lumps"),
        (Character::Ramp, "a ramp"),
        (Character::ShortRamp, "a short ramp"),
    ] {
        if on_character_m(road, found, character) >= MOST_OF_IT * length_m {
            return name;
        }
    }
    if let Some(between) = joined(road, found) {
        return between;
    }
    let best_m = road
        .true_climbs
        .iter()
        .map(|truth| shared_m(truth, found))
        .fold(0.0, f64::max);
    if best_m >= INSIDE * length_m {
        "a part of a climb"
    } else if best_m >= A_PART * length_m {
        let short_m = on_character_m(road, found, Character::ShortRamp);
        if short_m + best_m >= INSIDE * length_m {
            "a climb and the short ramp before it"
        } else {
            "a climb and the flat or descent beside it"
        }
    } else {
        "flat or descent"
    }
}

/// What lies between the climbs that a found one joins, where it joins any: at least a fifth of it lies on each.
fn joined(road: &Road, found: &FoundClimb) -> Option<&'static str> {
    let length_m = found.end_true_m - found.start_true_m;
    let held: Vec<&TrueClimb> = road
        .true_climbs
        .iter()
        .filter(|truth| shared_m(truth, found) >= 0.2 * length_m)
        .collect();
    let [first, second, ..] = held[..] else {
        return None;
    };
    let between = FoundClimb {
        start_true_m: first.end_m,
        end_true_m: second.start_m,
        ..*found
    };
    Some(if on_character_m(road, &between, Character::Dip) > 0.0 {
        "two climbs with a dip between"
    } else if second.start_m > first.end_m {
        "two climbs with a flat between"
    } else {
        "two climbs that meet at a step"
    })
}

fn shared_m(truth: &TrueClimb, found: &FoundClimb) -> f64 {
    (truth.end_m.min(found.end_true_m) - truth.start_m.max(found.start_true_m)).max(0.0)
}

/// How much of a found climb lies on pieces of this character.
fn on_character_m(road: &Road, found: &FoundClimb, character: Character) -> f64 {
    let starts = boundaries(&road.pieces);
    let pieces = road.pieces.iter().enumerate();
    pieces
        .filter(|(_, piece)| piece.character == character)
        .map(|(number, _)| {
            let (start_m, end_m) = (starts[number] as f64, starts[number + 1] as f64);
            (end_m.min(found.end_true_m) - start_m.max(found.start_true_m)).max(0.0)
        })
        .sum()
}

/// A table of what each confusion costs: thousandths of F1, and the count.
pub fn table(rows: &[(Kind, Confusions)]) -> String {
    let mut text = String::from("| what is lost of F1, in thousandths (count) |");
    for (kind, _) in rows {
        let _ = write!(text, " {} |", kind.name());
    }
    text.push_str("\n| --- |");
    text.push_str(&" --: |".repeat(rows.len()));
    let which: [(&str, Which); 2] = [
        ("missed", |row| &row.missed),
        ("not there", |row| &row.false_ones),
    ];
    for (what, counts) in which {
        let mut names: Vec<&str> = rows
            .iter()
            .flat_map(|(_, row)| counts(row).keys().copied())
            .collect();
        names.sort_unstable();
        names.dedup();
        for name in names {
            let _ = write!(text, "\n| {what}: {name} |");
            for (_, row) in rows {
                let count = counts(row).get(name).copied().unwrap_or(0);
                let lost = 1000.0 * count as f64 / row.climbs.max(1) as f64;
                let _ = write!(text, " {lost:.1} ({count}) |");
            }
        }
    }
    text.push_str("\n| all |");
    for (_, row) in rows {
        let _ = write!(text, " {:.1} |", 1000.0 * row.lost());
    }
    text.push('\n');
    text
}
