//! The profile in block characters, with the reps under it.

use super::document::{ClimbEntry, RepEntry};
use super::drawing::{Mark, lanes};
use super::scale::{Scale, ticks};
use super::text::Paper;
use crate::profile::Profile;

/// Lines that the profile is high.
const ROWS: usize = 6;
/// Columns for elevations beside it.
const LEFT: usize = 8;
/// On wider paper it is no easier to read.
const WIDEST: u16 = 120;
/// A flat road is not drawn as mountains: the least span of elevations, in metres.
const LEAST_SPAN_M: f64 = 60.0;
/// Nothing to full in eighths; in ASCII half full is a dot.
const BLOCKS: [char; 9] = [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

/// The profile of a plan.
pub fn with_reps(profile: &Profile, reps: &[RepEntry], paper: &Paper) -> String {
    picture(profile, &Mark::reps(reps), "reps", paper)
}

/// The profile of a route with its climbs.
pub fn with_climbs(profile: &Profile, climbs: &[ClimbEntry], paper: &Paper) -> String {
    let marks: Vec<Mark> = climbs.iter().map(Mark::climb).collect();
    picture(profile, &marks, "climbs", paper)
}

fn picture(profile: &Profile, marks: &[Mark], word: &str, paper: &Paper) -> String {
    let columns = usize::from(paper.width.min(WIDEST)) - LEFT - 1;
    let length_m = profile.given_m.last().copied().unwrap_or(1.0);
    let x = Scale::new((0.0, length_m), (0.0, columns as f64));
    let mut lines = road(profile, columns, paper);
    lines.extend(lanes_of(marks, &x, columns, word, paper));
    lines.push(axis(&x, columns, paper));
    lines
        .iter()
        .map(|line| format!("{}\n", line.trim_end()))
        .collect()
}

/// The road, from the top line down, each column as high as its highest place. The highest and the lowest elevation of the whole road
/// stand beside the lines that they reach.
fn road(profile: &Profile, columns: usize, paper: &Paper) -> Vec<String> {
    let nodes = profile.nodes();
    let highest = |z: &[f64]| z.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let heights: Vec<f64> = (0..columns)
        .map(|k| {
            let from = k * (nodes - 1) / columns;
            let to = ((k + 1) * (nodes - 1) / columns).max(from);
            highest(&profile.elevation_m[from..=to])
        })
        .collect();
    let low = profile
        .elevation_m
        .iter()
        .copied()
        .fold(f64::INFINITY, f64::min);
    let high = highest(&profile.elevation_m);
    // The lowest place still has an eighth of a line.
    let span_m = (high - low).max(LEAST_SPAN_M);
    let eighths = |z: f64| 1.0 + (z - low) / span_m * (8 * ROWS - 1) as f64;
    // On a flat road both would stand on one line.
    let high_row = (eighths(high).ceil() as usize).div_ceil(8).clamp(2, ROWS) - 1;
    (0..ROWS)
        .rev()
        .map(|row| {
            let label = if row == high_row {
                paper.short(high)
            } else if row == 0 {
                paper.short(low)
            } else {
                String::new()
            };
            let cells = heights.iter().map(|z| {
                let full = (eighths(*z) - 8.0 * row as f64).round().clamp(0.0, 8.0) as usize;
                match (paper.ascii, full) {
                    (false, full) => BLOCKS[full],
                    (true, 0..=1) => ' ',
                    (true, 2..=4) => '.',
                    (true, _) => '#',
                }
            });
            format!(
                "{label:>width$} {}",
                cells.collect::<String>(),
                width = LEFT - 1
            )
        })
        .collect()
}

/// Each mark's number where it begins and a bar as far as it goes.
fn lanes_of(marks: &[Mark], x: &Scale, columns: usize, word: &str, paper: &Paper) -> Vec<String> {
    let spans: Vec<(f64, f64)> = marks
        .iter()
        .map(|mark| {
            let wide = mark.label.chars().count();
            let from = (x.at(mark.from_m) as usize).min(columns - wide);
            let to = (x.at(mark.to_m) as usize).clamp(from + wide, columns);
            (from as f64, to as f64)
        })
        .collect();
    let chosen = lanes(&spans, 1.0);
    let count = chosen.iter().max().map_or(0, |most| most + 1);
    let bar = if paper.ascii { '=' } else { '━' };
    (0..count)
        .map(|lane| {
            let mut cells = vec![' '; columns];
            for ((mark, span), _) in marks
                .iter()
                .zip(&spans)
                .zip(&chosen)
                .filter(|(_, l)| **l == lane)
            {
                let (from, to) = (span.0 as usize, span.1 as usize);
                cells[from..to].fill(bar);
                for (i, digit) in mark.label.chars().enumerate() {
                    cells[from + i] = digit;
                }
            }
            let label = if lane == 0 { word } else { "" };
            let cells: String = cells.into_iter().collect();
            format!("{label:>width$} {cells}", width = LEFT - 1)
        })
        .collect()
}

/// Distances under it all.
fn axis(x: &Scale, columns: usize, paper: &Paper) -> String {
    let length = paper.far_value(x.domain().1);
    let mut cells = vec![' '; columns];
    for tick in ticks((0.0, length), columns / 10) {
        let text = tick.to_string();
        let at = (tick / length * columns as f64) as usize;
        if at + text.len() <= columns {
            for (i, c) in text.chars().enumerate() {
                cells[at + i] = c;
            }
        }
    }
    let cells: String = cells.into_iter().collect();
    format!("{:>width$} {cells}", paper.far_unit(), width = LEFT - 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route;

    /// A kilometre level, a kilometre up by 100 m.
    fn profile() -> Profile {
        let place = |m: f64| {
            let lat = 45.0 + m / 111_132.0;
            format!("[7,{lat},{}]", ((m - 1000.0) / 10.0).max(0.0))
        };
        let places: Vec<String> = (0..=200).map(|k| place(10.0 * f64::from(k))).collect();
        let text = format!(
            r#"{{"type":"LineString","coordinates":[{}]}}"#,
            places.join(",")
        );
        Profile::from_route(&route::read(text.as_bytes(), "x").unwrap()[0]).unwrap()
    }

    #[test]
    fn the_road_rises_where_it_does_and_stays_within_the_paper() {
        for ascii in [false, true] {
            let paper = Paper {
                width: 80,
                ascii,
                ..Paper::default()
            };
            let text = picture(&profile(), &[], "reps", &paper);
            let lines: Vec<Vec<char>> = text.lines().map(|l| l.chars().collect()).collect();
            assert!(lines.iter().all(|l| l.len() <= 80), "{text}");
            let full = if ascii { '#' } else { '█' };
            assert_eq!(lines[0].last(), Some(&full), "{text}");
            // Half-way up the climb the middle line begins.
            let begins = lines[2].iter().position(|c| *c != ' ').unwrap();
            assert!((LEFT + 50..LEFT + 60).contains(&begins), "{begins}\n{text}");
            assert_eq!(text.is_ascii(), ascii, "{text}");
        }
    }

    #[test]
    fn the_highest_and_the_lowest_place_are_labelled_at_every_width() {
        // A needle of 37 m that is narrower than a column, on a road that rises from 0 to 20 m.
        let mut needle = profile();
        let nodes = needle.nodes();
        for (i, z) in needle.elevation_m.iter_mut().enumerate() {
            *z = 20.0 * i as f64 / (nodes - 1) as f64;
        }
        needle.elevation_m[nodes / 3] = 37.0;
        needle.elevation_m[nodes / 5] = -12.0;
        for width in [60, 80, 100, 120] {
            let paper = Paper {
                width,
                ..Paper::default()
            };
            let text = picture(&needle, &[], "reps", &paper);
            let labels: Vec<&str> = text
                .lines()
                .take(ROWS)
                .map(|l| l.get(..LEFT).unwrap_or(l).trim())
                .filter(|l| l.ends_with('m'))
                .collect();
            assert_eq!(labels, ["37 m", "-12 m"], "{text}");
        }
    }

    #[test]
    fn marks_on_one_stretch_are_told_below_each_other() {
        let mark = |label: &str| Mark {
            label: label.to_owned(),
            from_m: 1000.0,
            to_m: 1500.0,
            then: None,
            words: String::new(),
        };
        let paper = Paper {
            width: 80,
            ..Paper::default()
        };
        let text = picture(&profile(), &[mark("1"), mark("2")], "reps", &paper);
        let told: Vec<&str> = text.lines().skip(ROWS).take(2).collect();
        assert!(
            told[0].contains("1━━━") && told[1].contains("2━━━"),
            "{text}"
        );
    }
}
