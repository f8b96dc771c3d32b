//! Scores and floors as Markdown tables.

use std::fmt::Write;

use super::floor::Floor;
use super::reader::Reached;
use super::reader::grammar::Knowing;
use super::recording::Kind;
use super::score::{Spread, Tally};

/// The table of scores, a row a kind. `inside` is a dash where no standard error was stated.
pub fn score_table(tallies: &[(Kind, Tally)]) -> String {
    score_rows(tallies.iter().map(|(kind, tally)| (kind.name(), tally)))
}

/// The same with rows of any name.
pub fn score_rows<'a>(rows: impl Iterator<Item = (&'a str, &'a Tally)>) -> String {
    let mut table = String::from(
        "| kind | climbs | found | right | F1 | ends, median | ends, 9 in 10 | grade, median | grade, 9 in 10 | inside 90 % |\n\
         | --- | --: | --: | --: | --: | --: | --: | --: | --: | --: |\n",
    );
    for (name, tally) in rows {
        let _ = writeln!(
            table,
            "| {name} | {} | {:.3} | {:.3} | {:.3} | {} | {} | {} | {} | {} |",
            tally.true_climbs,
            tally.found_share(),
            tally.right_share(),
            tally.f1(),
            metres(tally.ends_m().map(|ends| ends.median)),
            metres(tally.ends_m().map(|ends| ends.nine_in_ten)),
            points(tally.grades_pct().map(|grades| grades.median)),
            points(tally.grades_pct().map(|grades| grades.nine_in_ten)),
            or_dash(tally.inside_share(), |share| format!("{share:.3}")),
        );
    }
    table
}

/// The table of floors, with the scores as multiples of them where there are any.
pub fn floor_table(floors: &[Floor], tallies: &[(Kind, Tally)]) -> String {
    let mut table = String::from(
        "| kind | found | ends, median | ends, 9 in 10 | grade, median | grade, 9 in 10 | ours, ends, 9 in 10 | ours, grade, 9 in 10 |\n\
         | --- | --: | --: | --: | --: | --: | --: | --: |\n",
    );
    for floor in floors {
        let tally = tallies.iter().find(|(kind, _)| *kind == floor.kind);
        let ours = tally.map(|(_, tally)| tally);
        let times = |ours: Option<Spread>, floor: Spread| {
            or_dash(ours, |ours| {
                format!("{:.2} ×", ours.nine_in_ten / floor.nine_in_ten)
            })
        };
        let _ = writeln!(
            table,
            "| {} | {:.3} | {} | {} | {} | {} | {} | {} |",
            floor.kind.name(),
            floor.found_share,
            metres(Some(floor.ends_m.median)),
            metres(Some(floor.ends_m.nine_in_ten)),
            points(Some(floor.grade_pct.median)),
            points(Some(floor.grade_pct.nine_in_ten)),
            times(ours.and_then(Tally::ends_m), floor.ends_m),
            times(ours.and_then(Tally::grades_pct), floor.grade_pct),
        );
    }
    table
}

/// What the readers reached, with what we lose of F1 as a multiple of what they lose. `readers` has for each
/// kind what each of [`Knowing::ALL`] reached.
pub fn reader_table(
    readers: &[[Reached; Knowing::ALL.len()]],
    tallies: &[(Kind, Tally)],
) -> String {
    let mut table = String::from("| kind |");
    for knowing in Knowing::ALL {
        let _ = write!(table, " F1, {} | it expects |", knowing.name());
    }
    table += " ours |";
    for knowing in Knowing::ALL {
        let _ = write!(table, " we lose, of {} |", knowing.name());
    }
    let _ = write!(
        table,
        "\n| --- |{}\n",
        " --: |".repeat(3 * Knowing::ALL.len() + 1)
    );
    for all in readers {
        let kind = all[0].kind;
        let tally = tallies.iter().find(|(other, _)| *other == kind);
        let ours = tally.map(|(_, tally)| tally.f1());
        let _ = write!(table, "| {} |", kind.name());
        for reached in all {
            let (f1, expected) = (reached.tally.f1(), reached.expected_f1);
            let _ = write!(table, " {f1:.3} | {expected:.3} |");
        }
        let _ = write!(table, " {} |", points(ours));
        for reached in all {
            let lost = 1.0 - reached.tally.f1();
            let times = ours.map(|ours| (ours, lost)).filter(|_| lost > 0.0);
            let told = or_dash(times, |(ours, lost)| {
                format!("{:.1} ×", (1.0 - ours) / lost)
            });
            let _ = write!(table, " {told} |");
        }
        table.push('\n');
    }
    table
}

fn metres(value: Option<f64>) -> String {
    or_dash(value, |value| format!("{value:.1} m"))
}

fn points(value: Option<f64>) -> String {
    or_dash(value, |value| format!("{value:.3}"))
}

fn or_dash<T>(value: Option<T>, show: impl Fn(T) -> String) -> String {
    value.map_or_else(|| "–".to_owned(), show)
}
