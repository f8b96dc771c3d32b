//! The reps of a plan on a terminal: the table, how to read it, and what is ridden between them.

use super::document::{
    AskedEntry, ClimbEntry, GearName, PlanEntry, Range, RepEntry, ShiftEntry, TotalEntry,
};
use super::plan_text::which_reps;
use super::plan_words::{
    LONG, capitalised, clock, doubts, easy, is_by_torque, long_limits, odometer_holds, span,
    up_the_climb,
};
use super::text::Paper;
use crate::prescription::duration_text;
use crate::ride::Pacing;

/// Reps that are told, and what they are told by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reps<'a> {
    pub(super) reps: &'a [RepEntry],
    pub(super) total: &'a TotalEntry,
    pub(super) laps: usize,
    /// Length of the route, in metres.
    pub(super) length_m: f64,
    pub(super) climbs: &'a [ClimbEntry],
    pub(super) asked: &'a AskedEntry,
    pub(super) paper: &'a Paper,
}

impl<'a> Reps<'a> {
    /// Those of a route's plan.
    pub(super) fn of(route: &'a PlanEntry, asked: &'a AskedEntry, paper: &'a Paper) -> Self {
        Reps {
            reps: &route.reps,
            total: &route.total,
            laps: route.laps,
            length_m: route.length_m,
            climbs: &route.climbs,
            asked,
            paper,
        }
    }

    /// Those of its plan for a rider who turns round.
    pub(super) fn turning(
        route: &'a PlanEntry,
        asked: &'a AskedEntry,
        paper: &'a Paper,
    ) -> Option<Self> {
        let turning = route.turning_round.as_ref()?;
        Some(Reps {
            reps: &turning.reps,
            total: &turning.total,
            laps: turning.laps,
            ..Reps::of(route, asked, paper)
        })
    }

    /// When the last rep ends and how much road is left; empty where no rep is placed.
    pub(super) fn afterwards(&self) -> String {
        let Some(last) = self.reps.last() else {
            return String::new();
        };
        let more_laps = self.laps.max(last.lap) - last.lap;
        let left_m = self.length_m - last.end.distance_m + more_laps as f64 * self.length_m;
        let paper = self.paper;
        let at = if self.odometer_holds(last) && self.laps == 1 {
            let end = paper.far_number(last.end.distance_m);
            format!(", at {} {end}", paper.far_unit())
        } else {
            String::new()
        };
        format!(
            " The reps end after {} h of riding{at}; then {} to the end.",
            clock(last.start_time_s + last.duration_s),
            paper.far(left_m.max(0.0))
        )
    }

    /// The table, how to read it, and what is ridden between.
    pub(super) fn text(&self) -> String {
        let paper = self.paper;
        let columns = self.columns();
        let mut out = "\n".to_owned();
        out += &table(&columns, paper);
        out += &paper.wrapped(&self.reading(&columns), 0);
        let shifts = self.shifts();
        for line in self.before_and_between().into_iter().chain(shifts) {
            out += &paper.wrapped(&line, 0);
        }
        for line in doubts(self.reps, self.climbs) {
            out += &paper.wrapped(&line, 0);
        }
        out
    }

    /// What is ridden before the first rep and after others where it is not simply on, and where reps start for who has turned round.
    pub(super) fn before_and_between(&self) -> Vec<String> {
        let waiting_s = self.total.warm_up_waiting_s;
        let first = self.reps.first().filter(|_| waiting_s > 0.0);
        let warm_up = first.map(|first| {
            format!(
                "Before rep {}: ride easy to and fro short of its start for {} more, until the warm-up is over.",
                first.rep,
                duration_text(waiting_s)
            )
        });
        warm_up
            .into_iter()
            .chain(self.starts_up_the_climb())
            .chain(between(self.reps))
            .collect()
    }

    fn odometer_holds(&self, rep: &RepEntry) -> bool {
        odometer_holds(self.reps, self.total.warm_up_waiting_s, rep)
    }

    /// Where reps start once the odometer no longer shows it.
    fn starts_up_the_climb(&self) -> Option<String> {
        let mut places: Vec<(String, Vec<usize>)> = Vec::new();
        for rep in self.reps.iter().filter(|r| !self.odometer_holds(r)) {
            let place = up_the_climb(rep, self.climbs, self.paper);
            match places.last_mut() {
                Some((known, reps)) if *known == place => reps.push(rep.rep),
                _ => places.push((place, vec![rep.rep])),
            }
        }
        let told: Vec<String> = places
            .into_iter()
            .map(|(place, reps)| {
                let start = if reps.len() == 1 { "starts" } else { "start" };
                format!("{} {start} {place}", which_reps(&reps))
            })
            .collect();
        (!told.is_empty()).then(|| {
            format!(
                "Whoever rides to and fro has more on the odometer than the table: {}.",
                told.join("; ")
            )
        })
    }

    /// Where reps shift, a sentence each.
    fn shifts(&self) -> Vec<String> {
        let shifting = self.reps.iter().filter(|r| !r.shifts.is_empty());
        shifting
            .map(|rep| {
                let all = rep.shifts.iter().map(|shift| {
                    let gear = GearName {
                        sprocket: shift.sprocket,
                        hub_ratio: shift.hub_ratio,
                        ..rep.gear
                    };
                    format!("{} {gear}", self.shift_place(rep, shift))
                });
                let all: Vec<String> = all.collect();
                format!("Rep {}: {}, {}.", rep.rep, rep.gear, all.join(", "))
            })
            .collect()
    }

    /// Where a rep shifts: `at 4.08 km`, or where the odometer does not show it, `after 360 m`.
    pub(super) fn shift_place(&self, rep: &RepEntry, shift: &ShiftEntry) -> String {
        if self.odometer_holds(rep) {
            format!("at {}", self.paper.far(shift.at.distance_m))
        } else {
            let after_m = shift.at.distance_m - rep.start.distance_m;
            format!("after {}", self.paper.short(after_m))
        }
    }

    /// The columns that the paper has room for.
    fn columns(&self) -> Vec<Column> {
        let torque = if self.reps.iter().any(|r| is_by_torque(r, self.asked)) {
            Column::NEEDED
        } else {
            2
        };
        let mut columns = vec![
            self.column("rep", Column::NEEDED, |rep| rep.rep.to_string()),
            self.column("climb", 4, |rep| {
                let climbs: Vec<String> = rep.climbs.iter().map(usize::to_string).collect();
                if climbs.is_empty() {
                    "–".to_owned()
                } else {
                    climbs.join("+")
                }
            }),
            self.column("h:mm", Column::NEEDED, |rep| clock(rep.start_time_s)),
            self.column(
                &format!("start {}", self.paper.far_unit()),
                Column::NEEDED,
                |rep| {
                    let start = self.paper.far_number(rep.start.distance_m);
                    if self.laps > 1 {
                        format!("lap {}: {start}", rep.lap)
                    } else {
                        start
                    }
                },
            ),
            self.column(&format!("stop ~{}", self.paper.far_unit()), 5, |rep| {
                let far = |m: f64| self.paper.far_number(m);
                format!(
                    "{} ({})",
                    far(rep.end.distance_m),
                    far(rep.end_if_fast.distance_m)
                )
            }),
            self.column("grade", 1, |rep| format!("{:.1} %", rep.grade_pct)),
            self.column("gear", Column::NEEDED, |rep| rep.gear.to_string()),
            self.column("rpm", Column::NEEDED, |rep| {
                held(rep, with_range(rep.cadence_rpm, rep.cadence_range_rpm))
            }),
            self.column("in", 6, |rep| {
                held(rep, format!("{:.0} %", rep.in_band_pct))
            }),
            self.column("W", Column::NEEDED, |rep| {
                if rep.maximal {
                    "all out".to_owned()
                } else {
                    with_range(rep.power_w, rep.power_range_w)
                }
            }),
            self.column("N·m", torque, |rep| {
                held(rep, format!("{:.0}", rep.torque_nm))
            }),
            self.column("easy", Column::NEEDED, |rep| easy(rep, self.asked)),
        ];
        // A mark would push its number out of line.
        if columns.last().is_some_and(|easy| easy.has(LONG)) {
            for cell in columns
                .last_mut()
                .into_iter()
                .flat_map(|easy| &mut easy.cells)
            {
                if !cell.ends_with(LONG) {
                    cell.push('\u{a0}');
                }
            }
        }
        fitted(columns, usize::from(self.paper.width))
    }

    fn column(&self, head: &str, spare: u8, cell: impl Fn(&RepEntry) -> String) -> Column {
        Column {
            head: head.to_owned(),
            spare,
            cells: self.reps.iter().map(cell).collect(),
        }
    }

    /// How to read the table.
    fn reading(&self, columns: &[Column]) -> String {
        let is_there = |head: &str| columns.iter().any(|c| c.head.starts_with(head));
        let stop = if is_there("stop") {
            let unit = if self.paper.far_unit() == "km" {
                "kilometre"
            } else {
                "mile"
            };
            format!(", near the {unit} given (in brackets: ridden fast)")
        } else {
            String::new()
        };
        let mut text = format!(
            "h:mm: riding time at the start. Shift 15 s before the start, start the clock there; the clock stops the rep{stop}. \
             rpm and W: mean, and range in brackets, after the first 15 s."
        );
        if self.reps.iter().any(|r| r.pacing == Pacing::Power.name()) {
            text += " Hold the power; the cadence follows the grade.";
        } else if self.reps.iter().any(|r| !r.maximal) {
            text += " Where the cadence is about to leave its band: one sprocket, smaller if the road eases, larger if it steepens.";
        }
        if is_there("in") {
            text += " in: share of that time with the cadence in its band.";
        }
        if is_there("N·m") {
            text += " N·m: mean crank torque.";
        }
        text += " easy: time to the next start";
        match long_limits(self.reps, self.asked) {
            Some(limits) => text + &format!("; {LONG}: longer than asked ({limits})."),
            None => text + ".",
        }
    }
}

/// A column of the table.
struct Column {
    head: String,
    /// The larger, the sooner it is left out where there is no room.
    spare: u8,
    cells: Vec<String>,
}

impl Column {
    /// Never left out.
    const NEEDED: u8 = 0;

    fn width(&self) -> usize {
        let cells = self.cells.iter().map(|c| c.chars().count());
        cells.chain([self.head.chars().count()]).max().unwrap_or(0)
    }

    fn has(&self, mark: &str) -> bool {
        self.cells.iter().any(|c| c.ends_with(mark))
    }
}

/// As many of the columns as there is room for, the least needed left out first.
fn fitted(mut columns: Vec<Column>, room: usize) -> Vec<Column> {
    let taken = |columns: &[Column]| columns.iter().map(|c| c.width() + 2).sum::<usize>() - 2;
    while taken(&columns) > room {
        let spare = columns.iter().map(|c| c.spare).max().unwrap_or(0);
        if spare == Column::NEEDED {
            break;
        }
        columns.retain(|c| c.spare != spare);
    }
    columns
}

fn table(columns: &[Column], paper: &Paper) -> String {
    let head: Vec<&str> = columns.iter().map(|c| c.head.as_str()).collect();
    let count = columns.first().map_or(0, |c| c.cells.len());
    let row = |i: usize| columns.iter().map(|c| c.cells[i].clone()).collect();
    let gear = head.iter().position(|h| *h == "gear");
    paper.table(&head, (0..count).map(row).collect(), gear.as_slice())
}

/// What is not known of a maximal start is a dash.
fn held(rep: &RepEntry, known: String) -> String {
    if rep.maximal { "–".to_owned() } else { known }
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

/// What is ridden after reps where it is not simply on, the same together.
fn between(reps: &[RepEntry]) -> Vec<String> {
    let told = |how: &str, what: &str| {
        let these: Vec<&RepEntry> = reps.iter().filter(|r| r.recovery_how == how).collect();
        let waits = these.iter().map(|r| r.waiting_after_s);
        let fro = span(waits.clone())?;
        let when = if waits.fold(0.0, f64::max) > 0.0 {
            format!("until it is time ({fro} of it)")
        } else {
            "if it is early".to_owned()
        };
        let numbers: Vec<usize> = these.iter().map(|r| r.rep).collect();
        let after = capitalised(&format!("after {}", which_reps(&numbers)));
        Some(format!("{after}: {what} {when}."))
    };
    let back =
        "turn round, roll back down, turn again below the start, and ride easy to and fro there";
    let soft = "soft-pedal to and fro on the level road on the way to the next start";
    [("roll back", back), ("soft pedal", soft)]
        .into_iter()
        .filter_map(|(how, what)| told(how, what))
        .collect()
}
