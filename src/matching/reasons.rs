//! Why a climb is not used and a rep not placed, with the number that decides.

use std::collections::BTreeMap;

use super::assign::Pick;
use super::candidates::{self, Candidate};
use super::cost::how_much_worse;
use super::demand::Demand;
use super::ground::Ground;
use super::nearest::LARGEST_SPROCKETS;
use super::wishes::climbs_of;
use super::{Task, halts};
use crate::climbs::Climb;
use crate::gearing::effort;
use crate::prescription::duration_text;
use crate::ride::{Cell, air, gravity};

/// What becomes of a climb.
#[derive(Debug, Clone, PartialEq)]
pub struct ClimbVerdict {
    /// The climb's number.
    pub climb: usize,
    /// Whether a rep could be ridden on it.
    pub suits: bool,
    /// Which reps use it, or why none does.
    pub why: String,
    /// Where it would do as well: what the whole plan costs more with a rep on it, in seconds of work out of band.
    pub more_s: Option<f64>,
}

/// A rep without a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Unplaced {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Why.
    pub why: String,
}

/// What the reasons are found from.
pub struct Reasons<'a> {
    /// What was asked.
    pub task: &'a Task<'a>,
    /// The road under the rider.
    pub ground: &'a Ground,
    /// The candidates of each block.
    pub by_demand: &'a [Vec<Candidate>],
    /// What was chosen.
    pub picks: &'a [Pick],
    /// What the whole plan costs more, in seconds, if some rep is ridden on a climb; by the climb's number, where that can be.
    pub more_s: BTreeMap<usize, f64>,
}

impl Reasons<'_> {
    /// The reps that have no place.
    pub fn unplaced(&self) -> Vec<Unplaced> {
        let mut missing = Vec::new();
        let mut rep = 0;
        for (block, demand) in self.task.demands.iter().enumerate() {
            for _ in 0..demand.reps {
                if !self.picks.iter().any(|p| p.rep == rep) {
                    missing.push(Unplaced {
                        rep: rep + 1,
                        why: self.why_unplaced(rep, block, demand),
                    });
                }
                rep += 1;
            }
        }
        missing
    }

    fn why_unplaced(&self, rep: usize, block: usize, demand: &Demand) -> String {
        if let Some((_, kept)) = self.task.wishes.keep.iter().find(|k| k.0 == rep + 1) {
            let climb = self.task.climbs.climbs.iter().find(|c| c.id == *kept);
            let why = climb.map_or(String::new(), |c| self.why_not_kept(rep, c, block, demand));
            return format!("kept on climb {kept}: {why}");
        }
        let list = &self.by_demand[block];
        if self.task.climbs.ascents.is_empty() {
            return "the route has no climb".to_owned();
        }
        if list.is_empty() {
            return format!(
                "no climb on the route carries {} in these bands",
                duration_text(demand.work_s)
            );
        }
        if list.iter().all(|c| self.is_early(c)) {
            return self.early(list);
        }
        self.why_no_room(rep, list, demand)
    }

    /// Why a rep can't be ridden on the climb that it is kept on.
    fn why_not_kept(&self, rep: usize, climb: &Climb, block: usize, demand: &Demand) -> String {
        let here: Vec<&Candidate> = self.mostly_on(climb, block).collect();
        if here.is_empty() {
            return self.why_unused(climb, block, demand).1;
        }
        if here.iter().all(|c| self.is_early(c)) {
            return self.too_early(&here);
        }
        let from_m = |id: usize| {
            self.task
                .climbs
                .climbs
                .iter()
                .find(|c| c.id == id)
                .map(|c| c.from_m)
        };
        for &(other, id) in &self.task.wishes.keep {
            let Some(other_m) = from_m(id) else { continue };
            if other <= rep && other_m > climb.from_m {
                return format!("climb {id}, on which rep {other} is kept, comes after it");
            }
            if other > rep + 1 && other_m < climb.from_m {
                return format!("climb {id}, on which rep {other} is kept, comes before it");
            }
        }
        format!(
            "it leaves no room for the other reps with {} of recovery between them",
            duration_text(demand.recovery_at_least_s)
        )
    }

    /// A block's places that are on a climb for the most part.
    fn mostly_on(&self, climb: &Climb, block: usize) -> impl Iterator<Item = &Candidate> {
        let climbs = &self.task.climbs.climbs;
        self.by_demand[block]
            .iter()
            .filter(|c| climbs_of(climbs, c).first() == Some(&climb.id))
    }

    fn too_early(&self, here: &[&Candidate]) -> String {
        let last_m = here.iter().map(|c| c.start_m).fold(0.0, f64::max);
        format!(
            "comes too early: reached after {}, the warm-up takes {}",
            duration_text(self.ground.steady.time_at_s(last_m)),
            duration_text(self.task.warm_up_s)
        )
    }

    /// Every place comes before the warm-up is over.
    fn early(&self, list: &[Candidate]) -> String {
        let last_m = list.iter().map(|c| c.start_m).fold(0.0, f64::max);
        format!(
            "no climb that suits comes after the warm-up: the last start is reached after {}, the warm-up takes {}",
            duration_text(self.ground.steady.time_at_s(last_m)),
            duration_text(self.task.warm_up_s)
        )
    }

    /// The road is used up: how far the last place is from the rep before it, or how much road there is at all.
    fn why_no_room(&self, rep: usize, list: &[Candidate], demand: &Demand) -> String {
        let before = self.picks.iter().rfind(|p| p.rep < rep);
        let needed = duration_text(demand.recovery_at_least_s);
        if let (Some(before), Some(latest)) = (before, list.last()) {
            let stop_m = self.candidate(before).end_m;
            let easy = &self.ground.easy;
            let gap_s = easy.rest_at_s(latest.start_m) - easy.rest_at_s(stop_m);
            let number = before.rep + 1;
            if latest.start_m <= stop_m {
                return format!("no climb that suits comes after rep {number}");
            }
            if gap_s < demand.recovery_at_least_s {
                return format!(
                    "no room for the recovery: {} from the stop of rep {number} to the last place where one could start, you need {needed}",
                    duration_text(gap_s)
                );
            }
        }
        format!(
            "no place is left with {needed} of recovery before it; {} of road on the route could carry a rep",
            kilometres(list.len() as f64 * self.ground.road.spacing_m)
        )
    }

    /// What becomes of each climb; of one that comes round again, the last time.
    pub fn verdicts(&self) -> Vec<ClimbVerdict> {
        let climbs = &self.task.climbs.climbs;
        let rounds_ahead = |i: usize| climbs[i + 1..].iter().any(|c| c.id == climbs[i].id);
        (0..climbs.len())
            .filter(|&i| !rounds_ahead(i))
            .map(|i| self.verdict(&climbs[i]))
            .collect()
    }

    fn verdict(&self, climb: &Climb) -> ClimbVerdict {
        let used: Vec<String> = self
            .picks
            .iter()
            .filter(|p| climbs_of(&self.task.climbs.climbs, self.candidate(p)).contains(&climb.id))
            .map(|p| (p.rep + 1).to_string())
            .collect();
        let (suits, why) = if !used.is_empty() {
            (true, format!("rep {}", used.join(", ")))
        } else if self.task.wishes.avoid.contains(&climb.id) {
            (false, "to be avoided, as you asked".to_owned())
        } else {
            let demands = &self.task.demands;
            let only_starts = demands.iter().all(|d| d.start.is_some());
            demands
                .iter()
                .enumerate()
                .filter(|(_, demand)| only_starts || demand.start.is_none())
                .map(|(block, demand)| self.why_unused(climb, block, demand))
                .max_by_key(|(suits, _)| *suits)
                .unwrap_or((false, "nothing is asked for".to_owned()))
        };
        let spare = suits && used.is_empty();
        let why = match halts::in_words(self.task, climb) {
            Some(halted) => format!("{why}; {halted}"),
            None => why,
        };
        ClimbVerdict {
            climb: climb.id,
            suits,
            why,
            more_s: self.spare_more_s(climb).filter(|_| spare),
        }
    }

    /// Whether a candidate comes before the warm-up is over.
    pub(super) fn is_early(&self, candidate: &Candidate) -> bool {
        !self.task.wishes.turn_round
            && self.ground.steady.time_at_s(candidate.start_m) < self.task.warm_up_s
    }

    fn candidate(&self, pick: &Pick) -> &Candidate {
        &self.by_demand[pick.block][pick.choice]
    }

    pub(super) fn why_unused(
        &self,
        climb: &Climb,
        block: usize,
        demand: &Demand,
    ) -> (bool, String) {
        let here: Vec<&Candidate> = if demand.start.is_some() {
            let list = self.by_demand[block].iter();
            list.filter(|c| starts_on(c, climb)).collect()
        } else {
            self.mostly_on(climb, block).collect()
        };
        if here.is_empty() {
            return (false, self.why_unsuitable(climb, demand));
        }
        if here.iter().all(|c| self.is_early(c)) {
            return (true, self.too_early(&here));
        }
        (true, self.why_left_out(climb, &here, demand))
    }

    fn spare_more_s(&self, climb: &Climb) -> Option<f64> {
        self.more_s.get(&climb.id).copied()
    }

    /// A suitable climb that the plan does without: too near to a rep that is placed, or simply not needed.
    fn why_left_out(&self, climb: &Climb, here: &[&Candidate], demand: &Demand) -> String {
        if let Some(more_s) = self.spare_more_s(climb) {
            let worse = how_much_worse(more_s);
            return format!("suits, not needed: with a rep on it the plan is {worse}");
        }
        let spot = here[0];
        let before = self.placed().rfind(|c| c.end_m <= climb.to_m);
        let after = self.placed().find(|c| c.start_m >= climb.from_m);
        let latest = here[here.len() - 1];
        let rest =
            |from: f64, to: f64| self.ground.easy.rest_at_s(to) - self.ground.easy.rest_at_s(from);
        if let Some(last) = before {
            let gap_s = rest(last.end_m, latest.start_m);
            if gap_s < demand.recovery_at_least_s {
                return format!(
                    "no room for the recovery: {} from the stop of the rep before it, you need {}",
                    duration_text(gap_s.max(0.0)),
                    duration_text(demand.recovery_at_least_s)
                );
            }
        }
        if let Some(next) = after {
            let gap_s = rest(spot.end_m, next.start_m);
            if gap_s < demand.recovery_at_least_s {
                return format!(
                    "no room for the recovery: {} to the start of the rep after it, you need {}",
                    duration_text(gap_s.max(0.0)),
                    duration_text(demand.recovery_at_least_s)
                );
            }
        }
        "suits, not needed".to_owned()
    }

    /// Why no rep of a block can be ridden on a climb.
    pub(super) fn why_unsuitable(&self, climb: &Climb, demand: &Demand) -> String {
        if demand.start.is_some() {
            return "no start: too steep, too winding, or a descent comes after".to_owned();
        }
        let bands = &demand.bands;
        let from = self.task.profile.node_at(climb.from_m);
        let to = self
            .task
            .profile
            .node_at(climb.to_m)
            .min(self.ground.road.cells.len());
        if from >= to {
            return "too short".to_owned();
        }
        let turned = |power_w: f64, development_m: f64| {
            let level = self.level_cell(climb.grade_pct / 100.0, usize::midpoint(from, to));
            effort::cadence_rpm(
                level.speed_for_power_ms(power_w, self.ground.road.drivetrain_efficiency),
                development_m,
            )
        };
        let gears = &self.task.drive.gears;
        let (Some(lowest), Some(highest)) = (gears.first(), gears.last()) else {
            return "no gears".to_owned();
        };
        let slowest_turn = turned(bands.power_w.to, lowest.development_m);
        if slowest_turn < bands.cadence_rpm.from {
            let needed = f64::from(lowest.sprocket) * bands.cadence_rpm.from / slowest_turn;
            let sold = LARGEST_SPROCKETS
                .iter()
                .find(|&&teeth| f64::from(teeth) >= needed);
            let with = match sold {
                Some(&teeth) => format!(
                    "{}×{teeth} would turn {:.0}",
                    lowest.chainring,
                    slowest_turn * f64::from(teeth) / f64::from(lowest.sprocket)
                ),
                None => format!(
                    "no sprocket that is sold turns {:.0}",
                    bands.cadence_rpm.from
                ),
            };
            return format!(
                "too steep for the gearing: {:.1} % at {:.0} W turns {:.0} rpm in your easiest gear, {}×{}; {with}",
                climb.grade_pct, bands.power_w.to, slowest_turn, lowest.chainring, lowest.sprocket,
            );
        }
        let fastest_turn = turned(bands.power_w.from, highest.development_m);
        if fastest_turn > bands.cadence_rpm.to {
            return format!(
                "too gentle for the gearing: {:.1} % at {:.0} W turns {:.0} rpm in your hardest gear, {}×{}",
                climb.grade_pct,
                bands.power_w.from,
                fastest_turn,
                highest.chainring,
                highest.sprocket
            );
        }
        let (quick_s, _) =
            candidates::stretch_times_s(&self.ground.road, self.task.drive, bands, from, to);
        if quick_s < demand.work_s {
            return format!(
                "too short: {} at {:.0} W, you need {}",
                duration_text(quick_s),
                bands.power_w.to,
                duration_text(demand.work_s)
            );
        }
        let best = candidates::between(self.task, &self.ground.road, demand, from, to, 1.0);
        match best.iter().map(|c| c.cost.out_of_band_s).reduce(f64::min) {
            Some(out_s) => format!(
                "too uneven: cadence outside {:.0}–{:.0} rpm for {:.0} % of a rep in any gear",
                bands.cadence_rpm.from,
                bands.cadence_rpm.to,
                100.0 * out_s / demand.work_s
            ),
            None => format!(
                "too short for {} if ridden as fast as the bands allow",
                duration_text(demand.work_s)
            ),
        }
    }

    /// The road's cell at a node, were it of another grade.
    fn level_cell(&self, grade: f64, node: usize) -> Cell {
        let profile = self.task.profile;
        let elevation_m = profile.elevation_m[node];
        Cell::new(
            &self.task.drive.system,
            self.ground.road.spacing_m,
            grade,
            air::density_kg_m3(elevation_m, self.task.weather),
            gravity::normal_gravity_m_s2(profile.lat_deg[node].to_radians(), elevation_m),
            self.ground.road.cells[node].headwind_ms,
        )
    }

    fn placed(&self) -> impl DoubleEndedIterator<Item = &Candidate> {
        self.picks.iter().map(|p| self.candidate(p))
    }
}

fn starts_on(candidate: &Candidate, climb: &Climb) -> bool {
    candidate.start_m >= climb.from_m - 1.0 && candidate.start_m < climb.to_m
}

fn kilometres(metres: f64) -> String {
    format!("{:.1} km", metres / 1000.0)
}
