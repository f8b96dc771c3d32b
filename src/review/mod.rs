//! After the ride: a recording held against a plan or a set, and mass and drag fitted from it.
//!
//! [`recording`] reads the line and what sensors wrote, [`sensors`] finds what is wrong with them, [`seconds`] lays all of it out
//! second by second. [`evidence`] says how much each second speaks for a rep, [`segments`] cuts the recording where that
//! speaks most, [`edges`] and `approach` find the second, and [`pairing`] says which rep found is which one planned, where places repeat
//! by the [`passings`] of each. [`measure`], [`gear`] and [`recovery`] say how it
//! was ridden; [`estimate`] stands in for a power meter, by the energy balance of [`energy`]; [`ridden_climbs`] holds the road
//! model against the clock, and [`fit`] learns mass and drag. It all judges the session, not the rider.

mod approach;
mod double;
pub mod edges;
pub mod energy;
pub mod estimate;
pub mod evidence;
pub mod fit;
pub mod gear;
pub mod measure;
pub mod pairing;
pub mod passings;
pub mod plan_file;
pub mod planned;
pub mod recording;
pub mod recovery;
pub mod ridden_climbs;
pub mod seconds;
pub mod segments;
pub mod sensors;
pub mod session;
pub mod verdict;

use crate::climbs::{self, Rule};
use crate::gearing::Drive;
use crate::profile::Profile;
use crate::ride::uncertainty::{Stretch, duration_range};
use crate::ride::{DurationRange, Pace, Unknowns, Weather};

use energy::Ledger;
use estimate::PowerEstimate;
use measure::RiddenRep;
use planned::{Asked, PlannedRep};
use recording::Recorded;
use recovery::Recovery;
use ridden_climbs::RiddenClimb;
use seconds::Seconds;
use segments::{Found, Kind};
use verdict::Done;

/// What is to be reviewed, and against what.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// The recording.
    pub recorded: &'a Recorded,
    /// Its profile; `None` where it has no elevations.
    pub profile: Option<&'a Profile>,
    /// Rider and bike, where they are known.
    pub drive: Option<&'a Drive>,
    /// The set, or what a plan holds: of several, the one whose starts the recording passes is taken. Empty for none.
    pub asked: &'a [Asked],
    /// The air.
    pub weather: &'a Weather,
    /// What is not known.
    pub unknowns: &'a Unknowns,
}

/// Where the power is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerFrom {
    /// A power meter.
    Measured,
    /// Speed, grade and mass.
    Estimated,
    /// Nowhere.
    Nothing,
}

/// A recording, reviewed.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// The recording second by second, its sensors cleaned, its power measured or estimated.
    pub seconds: Seconds,
    /// Where the power is from.
    pub power_from: PowerFrom,
    /// What it is held against.
    pub asked: Option<Asked>,
    /// What was ridden and what was missed, in order.
    pub reps: Vec<ReviewedRep>,
    /// Efforts in the bands too short to be a rep, in seconds each.
    pub brief_efforts_s: Vec<(usize, usize)>,
    /// The steady climbs that were ridden in one go with measured power.
    pub climbs: Vec<RiddenClimb>,
    /// Why no reps were looked for; `None` where they were.
    pub no_reps: Option<String>,
    /// Everything that was dropped, corrected or guessed, in sentences.
    pub warnings: Vec<String>,
}

/// A rep of the plan, of the ride, or of both.
#[derive(Debug, Clone, PartialEq)]
pub struct ReviewedRep {
    /// As planned; `None` for an extra one.
    pub planned: Option<PlannedRep>,
    /// As ridden; `None` for a missing one.
    pub ridden: Option<RiddenRep>,
    /// How the two compare.
    pub done: Vec<Done>,
    /// How far the start is from the planned one, in metres along the road; in a straight line where the planned one is not passed.
    pub start_apart_m: Option<f64>,
    /// The easy riding after it, up to the next rep found.
    pub recovery: Option<Recovery>,
    /// Where the power is estimated: mean power with its range.
    pub estimate: Option<PowerEstimate>,
    /// What the model gives for the stretch ridden, at the mean power ridden.
    pub model: Option<DurationRange>,
    /// What it gives at the upper and at the lower end of the power band, in seconds.
    pub band_range_s: Option<(f64, f64)>,
    /// For a missing one: what the recording shows where it was planned, in a sentence.
    pub instead: Option<String>,
}

/// Reviews a recording.
pub fn review(task: &Task) -> Review {
    let mut recorded = task.recorded.clone();
    let mut warnings = sensors::clean(&mut recorded.samples);
    let mut seconds = Seconds::of(&recorded, task.profile);
    warnings.extend(recovery::silent_power(&mut seconds));
    let climbs = ridden(task, &seconds);
    let (power_from, balance) = fill_power(task, &mut seconds);
    let asked = verdict::nearest(task.asked, &seconds).cloned();
    let mut review = Review {
        no_reps: why_no_reps(&seconds, power_from, asked.as_ref()),
        seconds,
        power_from,
        asked,
        reps: Vec::new(),
        brief_efforts_s: Vec::new(),
        climbs,
        warnings,
    };
    if let (Some(asked), None) = (review.asked.clone(), &review.no_reps) {
        find_reps(task, &asked, balance.as_ref(), &mut review);
        review
            .warnings
            .extend(verdict::remarks(&asked, &review.seconds, power_from));
    }
    review
}

fn ridden(task: &Task, seconds: &Seconds) -> Vec<RiddenClimb> {
    let (Some(profile), Some(drive)) = (task.profile, task.drive) else {
        return Vec::new();
    };
    if !seconds.has_power() {
        return Vec::new();
    }
    let found = climbs::find(profile, &Rule::default());
    ridden_climbs::ridden_climbs(
        seconds,
        profile,
        &found,
        &drive.system,
        task.weather,
        task.unknowns,
    )
}

/// Puts an estimated power where none is measured; then with the energy balance that it comes from.
fn fill_power(task: &Task, seconds: &mut Seconds) -> (PowerFrom, Option<Ledger>) {
    if seconds.has_power() {
        return (PowerFrom::Measured, None);
    }
    let (Some(profile), Some(drive)) = (task.profile, task.drive) else {
        return (PowerFrom::Nothing, None);
    };
    let balance = Ledger::new(seconds, profile, task.weather);
    seconds.power_w = estimate::power_by_second(seconds, &balance, &drive.system);
    (PowerFrom::Estimated, Some(balance))
}

fn why_no_reps(seconds: &Seconds, power_from: PowerFrom, asked: Option<&Asked>) -> Option<String> {
    if asked.is_none() {
        return Some("there is no plan or set to hold it against".to_owned());
    }
    let no_cadence = !seconds.has_cadence();
    (no_cadence && power_from != PowerFrom::Measured).then(|| {
        "the recording has neither cadence nor power: where a rep began and ended can't be told from speed and grade alone; \
         record one of the two, best both"
            .to_owned()
    })
}

/// Shortest rep that is looked for: this share of the work, but at least so many seconds.
const LEAST_SHARE: f64 = 1.0 / 6.0;
const LEAST_S: f64 = 20.0;
/// A maximal start is over in seconds.
const LEAST_START_S: f64 = 4.0;
/// What was not planned and lasts less than this share of its block's work is a brief effort, not a rep.
const BRIEF_SHARE: f64 = 0.5;

fn find_reps(task: &Task, asked: &Asked, balance: Option<&Ledger>, review: &mut Review) {
    let mut found = segments::cut(&kinds(asked, &review.seconds));
    let measured = review.power_from == PowerFrom::Measured;
    edges::settle(&mut found, &review.seconds, measured);
    let partner = verdict::pair(asked, &found, &review.seconds);
    let rule = measure::Rule {
        seconds: &review.seconds,
        drive: task.drive,
    };
    let is_brief = |(rep, partner): &(Found, Option<usize>)| {
        let work_s = asked.blocks[rep.block].work_s;
        partner.is_none() && ((rep.to - rep.from) as f64) < BRIEF_SHARE * work_s
    };
    let (brief, ridden): (Vec<_>, Vec<_>) = found.into_iter().zip(partner).partition(is_brief);
    let found: Vec<Found> = ridden.iter().map(|(rep, _)| *rep).collect();
    let missing = |range: std::ops::Range<usize>, (mut after, before): (usize, usize)| {
        let each = asked.reps[range].iter().map(|planned| {
            let (instead, passed) = verdict::instead(planned, asked, (after, before), &found, rule);
            after = passed.map_or(after, |at| at + 1);
            missing(planned, instead)
        });
        each.collect::<Vec<_>>()
    };
    let mut reps = Vec::new();
    let (mut next_planned, mut over) = (0, 0);
    for (rep, partner) in ridden {
        if let Some(index) = partner {
            reps.extend(missing(next_planned..index, (over, rep.from)));
            (next_planned, over) = (index + 1, rep.to);
        }
        let planned = partner.map(|index| asked.reps[index].clone());
        reps.push(ridden_rep(task, asked, (rule, balance), rep, planned));
    }
    let end = review.seconds.count();
    reps.extend(missing(next_planned..asked.reps.len(), (over, end)));
    recovery::fill(&mut reps, asked, &review.seconds);
    review.reps = reps;
    review.brief_efforts_s = brief.iter().map(|(rep, _)| (rep.from, rep.to)).collect();
}

fn kinds(asked: &Asked, seconds: &Seconds) -> Vec<Kind> {
    let second = |i: usize| evidence::Second {
        known: seconds.known[i],
        halted: seconds.halted[i],
        cadence_rpm: seconds.cadence_rpm[i],
        power_w: seconds.power_w[i],
    };
    asked
        .blocks
        .iter()
        .map(|block| {
            let least_s = if block.maximal {
                LEAST_START_S
            } else {
                (LEAST_SHARE * block.work_s).max(LEAST_S).min(block.work_s)
            };
            Kind {
                evidence: (0..seconds.count())
                    .map(|i| evidence::evidence(&second(i), block, asked.threshold_w))
                    .collect(),
                least_s: least_s as usize,
            }
        })
        .collect()
}

fn ridden_rep(
    task: &Task,
    asked: &Asked,
    (rule, balance): (measure::Rule, Option<&Ledger>),
    found: Found,
    planned: Option<PlannedRep>,
) -> ReviewedRep {
    let block = &asked.blocks[planned.as_ref().map_or(found.block, |p| p.block)];
    let place = planned.as_ref().and_then(|p| p.place.as_ref());
    let gear = place.map(|p| (p.gear.0, p.gear.1));
    let ridden = rule.rep(found, block, gear);
    let start_apart_m = place.map(|p| passings::start_apart_m(rule.seconds, found.from, p));
    let mut reviewed = ReviewedRep {
        done: verdict::done(
            planned.as_ref(),
            &ridden,
            block,
            start_apart_m,
            rule.seconds,
        ),
        planned,
        start_apart_m,
        recovery: None,
        estimate: None,
        model: None,
        band_range_s: None,
        instead: None,
        ridden: Some(ridden),
    };
    if let (Some(profile), Some(drive)) = (task.profile, task.drive) {
        let span = (found.from, found.to.min(rule.seconds.count() - 1));
        if let Some(balance) = balance {
            let road = (rule.seconds, profile, balance);
            let known = (&drive.system, task.weather, task.unknowns);
            reviewed.estimate = Some(estimate::power_over(span, road, known));
        }
        hold_against_model(
            task,
            rule.seconds,
            profile,
            drive,
            span,
            block.bands.power_w,
            balance.is_none(),
            &mut reviewed,
        );
    }
    reviewed
}

#[allow(clippy::too_many_arguments, reason = "one place")]
fn hold_against_model(
    task: &Task,
    seconds: &Seconds,
    profile: &Profile,
    drive: &Drive,
    (from, to): (usize, usize),
    band_w: crate::gearing::Band,
    measured: bool,
    reviewed: &mut ReviewedRep,
) {
    let Some(ridden) = reviewed.ridden.as_ref() else {
        return;
    };
    let unbroken = ridden.halts_s.is_empty() && !seconds.known[from..to].contains(&false);
    let (from_m, to_m) = (seconds.distance_m[from], seconds.distance_m[to]);
    if !unbroken || to_m - from_m < 2.0 * profile.spacing_m {
        return;
    }
    let at = |power_w: f64| {
        let node = |m: f64| profile.node_at(m);
        let rise_se_m =
            profile.elevation_se_m[node(from_m)].hypot(profile.elevation_se_m[node(to_m)]);
        let stretch = Stretch {
            from_m,
            to_m,
            entry_speed_ms: seconds.speed_ms[from],
            pace: Pace::constant(power_w),
            grade_se_pct: 100.0 * rise_se_m / (to_m - from_m),
        };
        let mut range = duration_range(
            profile,
            &drive.system,
            task.weather,
            &stretch,
            task.unknowns,
        );
        // The model's stretch ends at nodes; the time is for the metres ridden.
        let nodes_m = profile.spacing_m * (node(to_m).max(node(from_m) + 1) - node(from_m)) as f64;
        for time in [&mut range.low_s, &mut range.mid_s, &mut range.high_s] {
            *time *= (to_m - from_m) / nodes_m;
        }
        range
    };
    if measured {
        reviewed.model = ridden.whole.power_w.filter(|p| *p > 20.0).map(at);
    }
    if !reviewed.done.contains(&Done::Extra) {
        reviewed.band_range_s = Some((at(band_w.to).mid_s, at(band_w.from).mid_s));
    }
}

fn missing(planned: &PlannedRep, instead: Option<String>) -> ReviewedRep {
    ReviewedRep {
        planned: Some(planned.clone()),
        ridden: None,
        done: vec![Done::Missing],
        start_apart_m: None,
        recovery: None,
        estimate: None,
        model: None,
        band_range_s: None,
        instead,
    }
}
