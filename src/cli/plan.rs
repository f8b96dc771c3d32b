//! `hillwright plan`.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Mutex, PoisonError};

use super::failure::Failure;
use super::input::Graded;
use super::plan_arguments::PlanArguments;
use super::{Outcome, input, plan_files, print};
use crate::archive::{Question, Survey, same};
use crate::climbs::{self, Climbs};
use crate::gearing::Drive;
use crate::matching::{self, Demand, Plan, Rates, SeenHalt, Task, Wishes, nearest, session, squad};
use crate::output;
use crate::output::document::{AskedEntry, PlanEntry, SquadEntry};
use crate::prescription::{Forecast, RiderFile, Set, block_from_flags};
use crate::ride::Weather;
use crate::terrain::Tiles;

pub(super) fn run(arguments: &PlanArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &plan_files::ENDINGS)?;
    let orders: Vec<Order> = arguments
        .rider
        .iter()
        .map(|file| Order::read(arguments, file))
        .collect::<Result<_, _>>()?;
    let order = &orders[0];
    let (mut entries, best) = plans(arguments, order)?;
    entries.sort_by(output::plan::better);
    let mut squad = None;
    if let (Some(entry), Some(Best { ground, .. })) = (entries.first_mut(), &best) {
        if !entry.fits {
            let task = order.task(ground);
            entry.would_fit_with = nearest::changes(&task, ground.most_laps, entry.reps.len());
        }
        if orders.len() > 1 && order.demands.iter().any(|d| d.start.is_none()) {
            squad = Some(share_a_hill(&orders, ground));
        }
    }
    let fits = entries.iter().any(|e| e.fits) || entries.is_empty();
    let nowhere = entries
        .iter()
        .all(|e| e.reps.is_empty() && e.turning_round.is_none());
    let indoors = if arguments.indoors || nowhere {
        output::indoors::indoor_entries(&order.drive, &order.demands)
    } else {
        Vec::new()
    };
    let notes = session::notes(&order.demands, order.rider.rider.threshold_w);
    let document = output::plan::document(order.asked(), entries, squad, indoors, notes);
    let best = best.as_ref().map(|best| (&best.ground, &best.plan));
    plan_files::answer(arguments, order, &document, best)?;
    Ok(if fits {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

/// The route that carries the set best, kept for what more is asked of it.
struct Best {
    /// Place of its file among the sources, and its own in the file: the first of equals is the best.
    place: (usize, usize),
    entry: PlanEntry,
    ground: Ground,
    plan: Plan,
}

/// A plan for every route, in their order, and the best one's route; of the others only what is told of them is kept.
fn plans(
    arguments: &PlanArguments,
    order: &Order,
) -> Result<(Vec<PlanEntry>, Option<Best>), Failure> {
    if arguments.routes.is_empty() {
        return Ok((Vec::new(), None));
    }
    let tiles = Tiles::open(&arguments.elevation.tiles);
    let inputs = input::Inputs::new(&arguments.routes, &arguments.reading, &arguments.answer);
    let sources = inputs.sources()?;
    let halts = halts(arguments, &sources, &tiles);
    let best: Mutex<Option<Best>> = Mutex::new(None);
    let planned = input::each(&inputs, &sources, |source| {
        let (routes, mut notes) = input::graded(source, &arguments.elevation, &tiles)?;
        let mut planned = Vec::new();
        for (i, graded) in routes.into_iter().enumerate() {
            let mut ground = ground(arguments, graded, &mut notes);
            ground.halts = halts.get(&(source.place, i)).cloned().unwrap_or_default();
            if let Err(wish) = order.check_wishes(&ground.graded, &ground.climbs) {
                planned.push(Err(wish));
                continue;
            }
            let (entry, plan) = order.plan(&ground);
            planned.push(Ok(entry.clone()));
            let this = Best {
                place: (source.place, i),
                entry,
                ground,
                plan,
            };
            let mut best = best.lock().unwrap_or_else(PoisonError::into_inner);
            if best.as_ref().is_none_or(|best| this.is_before(best)) {
                *best = Some(this);
            }
        }
        Ok((planned, notes))
    })?;
    let entries = planned.into_iter().collect::<Result<_, _>>()?;
    let best = best.into_inner().unwrap_or_else(PoisonError::into_inner);
    Ok((entries, best))
}

/// Where several of the recordings halted on the same climb, by the file's place and the route's own in it. Files of folders that were looked
/// through before are remembered.
fn halts(
    arguments: &PlanArguments,
    sources: &[input::Source],
    tiles: &Tiles,
) -> BTreeMap<(usize, usize), Vec<SeenHalt>> {
    if sources.len() < 2 {
        return BTreeMap::new();
    }
    let (rule, wanted) = (arguments.rule.rule(), arguments.elevation.wanted());
    let question = Question::new(rule, wanted, tiles);
    let cache = arguments.cache.cache();
    let known = input::surveyed_before(sources, &question, cache.as_ref());
    let (places, surveys): (Vec<(usize, usize)>, Vec<&Survey>) =
        known.iter().map(|(place, survey)| (*place, survey)).unzip();
    let halts = same::halts_on(&same::climbs(&surveys), &surveys);
    places.into_iter().zip(halts).collect()
}

fn ground(arguments: &PlanArguments, graded: Graded, notes: &mut Vec<String>) -> Ground {
    let start_m = graded.profile.elevation_m.first().copied().unwrap_or(0.0);
    notes.extend(arguments.weather.notes(start_m));
    let most_laps = laps(arguments, &graded, notes);
    Ground {
        most_laps,
        climbs: climbs::find(&graded.profile, &arguments.rule.rule()),
        weather: arguments.weather.weather(start_m),
        halts: Vec::new(),
        graded,
    }
}

impl Best {
    fn is_before(&self, other: &Best) -> bool {
        output::plan::better(&self.entry, &other.entry)
            .then(self.place.cmp(&other.place))
            .is_lt()
    }
}

/// What each climb of a route is to each rider.
fn share_a_hill(orders: &[Order], ground: &Ground) -> SquadEntry {
    let riders: Vec<_> = orders
        .iter()
        .map(|order| (order.name.clone(), squad::on_climbs(&order.task(ground))))
        .collect();
    let graded = &ground.graded;
    output::squad::squad_entry(&graded.route.source, &graded.profile, &riders)
}

/// A route, its climbs, and the weather on it.
pub(super) struct Ground {
    pub(super) graded: Graded,
    pub(super) climbs: Climbs,
    pub(super) weather: Weather,
    halts: Vec<SeenHalt>,
    /// How often the route may be ridden.
    most_laps: usize,
}

/// What is asked of every route.
pub(super) struct Order {
    name: String,
    pub(super) rider: RiderFile,
    pub(super) drive: Drive,
    pub(super) set: Set,
    pub(super) demands: Vec<Demand>,
    forecast: Forecast,
    wishes: Wishes,
    rates: Rates,
}

impl Order {
    fn read(arguments: &PlanArguments, file: &Path) -> Result<Order, Failure> {
        let rider = input::rider(file)?;
        let set = set(arguments)?;
        let drive = Drive::new(&rider.rider, &rider.bike, &rider.resistance);
        let demands =
            Demand::of_set(&set, rider.rider.threshold_w, &drive).map_err(
                |source| match &arguments.set {
                    Some(path) => Failure::Demand {
                        path: path.display().to_string(),
                        source,
                    },
                    None => Failure::CommandLine(format!("the flags: {source}")),
                },
            )?;
        let stem = file.file_stem().map(|s| s.to_string_lossy().into_owned());
        Ok(Order {
            name: rider.name.clone().or(stem).unwrap_or_default(),
            drive,
            rider,
            set,
            demands,
            forecast: arguments.weather.forecast(),
            wishes: arguments.wishes.wishes(),
            rates: Rates::default(),
        })
    }

    fn asked(&self) -> AskedEntry {
        output::asked::asked_entry(
            &self.name,
            &self.rider,
            self.set.warm_up_s,
            &self.demands,
            &self.forecast,
        )
    }

    fn check_wishes(&self, graded: &Graded, climbs: &Climbs) -> Result<(), Failure> {
        let reps = self.demands.iter().map(|d| d.reps as usize).sum();
        self.wishes
            .check(climbs, reps)
            .map_err(|wish| Failure::Wish {
                source_name: graded.route.source.clone(),
                wish,
            })
    }

    fn task<'a>(&'a self, ground: &'a Ground) -> Task<'a> {
        Task {
            profile: &ground.graded.profile,
            climbs: &ground.climbs,
            halts: &ground.halts,
            rider: &self.rider.rider,
            drive: &self.drive,
            weather: &ground.weather,
            demands: &self.demands,
            warm_up_s: self.set.warm_up_s,
            rates: &self.rates,
            wishes: &self.wishes,
        }
    }

    fn plan(&self, ground: &Ground) -> (PlanEntry, Plan) {
        let plan = matching::plan_in_laps(&self.task(ground), ground.most_laps);
        let (graded, climbs) = (&ground.graded, &ground.climbs);
        let (route, profile) = (&graded.route, &graded.profile);
        let entry = output::plan::plan_entry(
            route,
            profile,
            &graded.origin,
            climbs,
            &self.rider.rider,
            &plan,
        );
        (entry, plan)
    }
}

/// How often a route may be ridden.
fn laps(arguments: &PlanArguments, graded: &Graded, notes: &mut Vec<String>) -> usize {
    if arguments.wishes.laps > 1 && !graded.route.is_loop {
        notes.push(format!(
            "{}: does not end where it starts, so it is ridden once",
            graded.route.source
        ));
        return 1;
    }
    arguments.wishes.laps as usize
}

fn set(arguments: &PlanArguments) -> Result<Set, Failure> {
    match &arguments.set {
        Some(path) => input::set(path),
        None => block_from_flags(&arguments.block.flags())
            .map_err(|e| Failure::CommandLine(e.to_string())),
    }
}
