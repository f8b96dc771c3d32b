//! Halts that recordings share, counted where a rep would lie over them.

use super::Task;
use crate::climbs::Climb;

/// A place on the road where rides halted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenHalt {
    /// Distance along the road, in metres.
    pub at_m: f64,
    /// How many rides halted there.
    pub rides: usize,
    /// Of how many that came by.
    pub of: usize,
}

impl SeenHalt {
    /// How many halts a rider who comes by is to expect.
    pub fn expected(&self) -> f64 {
        self.rides as f64 / self.of.max(1) as f64
    }
}

/// What the halts to be expected between two distances (metres) cost a rep, in seconds.
pub(super) fn cost_s(task: &Task, from_m: f64, to_m: f64) -> f64 {
    let on_it = between(task.halts, from_m, to_m);
    task.rates.halt * on_it.map(SeenHalt::expected).sum::<f64>()
}

/// `halted at 1.2 km on 4 of 7 rides`, the distance from the climb's foot; nothing where none is known.
pub(super) fn in_words(task: &Task, climb: &Climb) -> Option<String> {
    let told: Vec<String> = between(task.halts, climb.from_m, climb.to_m)
        .map(|halt| {
            let from_foot_km = (halt.at_m - climb.from_m) / 1000.0;
            format!(
                "halted at {from_foot_km:.1} km on {} of {} rides",
                halt.rides, halt.of
            )
        })
        .collect();
    (!told.is_empty()).then(|| told.join(", "))
}

fn between(halts: &[SeenHalt], from_m: f64, to_m: f64) -> impl Iterator<Item = &SeenHalt> {
    let on_it = move |halt: &&SeenHalt| (from_m..=to_m).contains(&halt.at_m);
    halts.iter().filter(on_it)
}
