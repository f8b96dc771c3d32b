//! The line while it is cleaned: every point remembers where it was in the recording.

use crate::route::faults::counted;
use crate::route::{RawPoint, Recording, Sensors, columns, step_m};

/// A recording whose points are being taken out.
pub(super) struct Line {
    pub(super) name: Option<String>,
    pub(super) points: Vec<RawPoint>,
    /// Distance of each point from the one before, in metres; that of the first is 0.
    steps_m: Vec<f64>,
    /// Index of each point in the recording.
    pub(super) origin: Vec<usize>,
    /// Whether each point is the first of a segment.
    pub(super) opens: Vec<bool>,
    pub(super) sensors: Sensors,
    pub(super) warnings: Vec<String>,
}

impl Line {
    pub(super) fn new(recording: Recording) -> Self {
        let count = recording.points.len();
        let mut opens = vec![false; count];
        for start in recording.segment_starts {
            if let Some(opens) = opens.get_mut(start) {
                *opens = true;
            }
        }
        let steps = recording.points.windows(2).map(|p| step_m(&p[0], &p[1]));
        let steps_m = std::iter::once(0.0).chain(steps).take(count).collect();
        let mut sensors = recording.sensors;
        columns::fill(&mut sensors, count);
        Self {
            name: recording.name,
            points: recording.points,
            steps_m,
            origin: (0..count).collect(),
            opens,
            sensors,
            warnings: recording.warnings,
        }
    }

    /// Takes out the points that are not kept. A segment whose first point goes starts at its next.
    pub(super) fn keep(&mut self, kept: &[bool]) {
        let mut opening = false;
        for (opens, kept) in self.opens.iter_mut().zip(kept) {
            opening |= *opens;
            if *kept {
                *opens = std::mem::take(&mut opening);
            }
        }
        retain(&mut self.points, kept);
        retain(&mut self.steps_m, kept);
        let mut last_kept = None;
        let left = (0..kept.len()).filter(|i| kept[*i]);
        for (left, i) in left.enumerate() {
            match last_kept.replace(i) {
                None => self.steps_m[0] = 0.0,
                Some(before) if before + 1 == i => {}
                Some(_) => self.steps_m[left] = step_m(&self.points[left - 1], &self.points[left]),
            }
        }
        retain(&mut self.origin, kept);
        retain(&mut self.opens, kept);
        for column in columns::each_mut(&mut self.sensors) {
            retain(column, kept);
        }
    }

    /// Distance from one point to another, in metres.
    pub(super) fn between_m(&self, a: usize, b: usize) -> f64 {
        if a + 1 == b {
            self.steps_m[b]
        } else {
            step_m(&self.points[a], &self.points[b])
        }
    }

    /// Speed from one point to another, in metres a second, if both have times and some time passed.
    pub(super) fn speed_m_s(&self, a: usize, b: usize) -> Option<f64> {
        let passed_s = self.points[b].time_s? - self.points[a].time_s?;
        (passed_s > 0.0).then(|| self.between_m(a, b) / passed_s)
    }

    /// Distance of each point from the first along the line.
    pub(super) fn distances_m(&self) -> Vec<f64> {
        let mut along_m = 0.0;
        let along = |step_m: &f64| {
            along_m += step_m;
            along_m
        };
        self.steps_m.iter().map(along).collect()
    }

    /// The median step inside segments; 0 where there is none.
    pub(super) fn typical_step_m(&self) -> f64 {
        let steps = self.steps_m.iter().zip(&self.opens).skip(1);
        let inside = steps.filter(|(_, opens)| !**opens);
        median(inside.map(|(step_m, _)| *step_m).collect()).unwrap_or(0.0)
    }
}

fn retain<T>(values: &mut Vec<T>, kept: &[bool]) {
    let mut kept = kept.iter();
    values.retain(|_| kept.next().copied().unwrap_or(true));
}

/// The middle value, the upper one of two.
pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

/// Something to tell, with the recording's point where it was first seen.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Note {
    pub(super) text: String,
    pub(super) first: Option<usize>,
}

impl Note {
    /// The text, and the place of the first in km along the cleaned route.
    pub(super) fn sentence(&self, origin: &[usize], distances_m: &[f64]) -> String {
        let Some(first) = self.first else {
            return self.text.clone();
        };
        // The last point that is left at or before it.
        let at = origin
            .partition_point(|index| *index <= first)
            .saturating_sub(1);
        let distance_km = distances_m.get(at).copied().unwrap_or(0.0) / 1000.0;
        format!("{} (the first at km {distance_km:.2})", self.text)
    }
}

/// Things of one kind, counted.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Count {
    pub(super) count: usize,
    pub(super) first: Option<usize>,
}

impl Count {
    pub(super) fn see(&mut self, count: usize, first: usize) {
        if count > 0 {
            self.count += count;
            self.first = Some(self.first.map_or(first, |known| known.min(first)));
        }
    }

    pub(super) fn note(self, one: &str, many: &str, then: &str) -> Option<Note> {
        let text = format!("{} {then}", counted(self.count, one, many));
        (self.count > 0).then_some(Note {
            text,
            first: self.first,
        })
    }
}
