//! An order ridden on the routes that are here.

use std::sync::Arc;

use rayon::prelude::*;

use super::complaint::Complaint;
use super::library::{Ground, Library};
use super::order::Order;
use crate::matching::{self, Plan, SeenHalt, Task, Wishes, nearest, session};
use crate::output;
use crate::output::document::{PlanDocument, PlanEntry};
use crate::ride::Weather;

/// A plan on one route.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The route.
    pub ground: Arc<Ground>,
    /// The weather on it.
    pub weather: Weather,
    /// Where riders halted on it.
    pub halts: Vec<SeenHalt>,
    /// The plan.
    pub plan: Plan,
}

/// What the page tells of a route in its list.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    /// What the address calls it.
    pub key: String,
    /// Its number.
    pub number: u64,
    /// The plan on it, in short.
    pub entry: PlanEntry,
}

/// A whole answer.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The answer as every form of it tells it, the route that is shown first.
    pub document: PlanDocument,
    /// What the first route's plan was made from.
    pub shown: Option<Planned>,
    /// All routes, the best first; empty where only one was asked for.
    pub ranking: Vec<Ranked>,
}

/// The plan on one route, and nothing else: what follows a control as it moves.
///
/// # Errors
/// A wish names a rep or a climb that is not there.
pub fn quick(
    order: &Order,
    ground: &Arc<Ground>,
    library: &Library,
) -> Result<Answer, Vec<Complaint>> {
    check_wishes(order, ground)?;
    let (entry, planned) = on(order, ground, library, &order.wishes);
    Ok(Answer {
        document: document(order, vec![entry]),
        shown: Some(planned),
        ranking: Vec::new(),
    })
}

/// The plan on every route, the best first, and what would make the set fit where it doesn't.
///
/// Wishes name reps and climbs of the route that is chosen (or the only one); the others are planned without.
///
/// # Errors
/// A wish names a rep or a climb that is not there.
pub fn whole(order: &Order, library: &Library) -> Result<Answer, Vec<Complaint>> {
    let grounds = library.grounds();
    let only = grounds.len() == 1;
    let is_chosen = |ground: &Ground| only || order.route.as_ref() == Some(&ground.key);
    let free = Wishes {
        keep: Vec::new(),
        avoid: Vec::new(),
        ..order.wishes.clone()
    };
    match grounds.iter().find(|ground| is_chosen(ground)) {
        Some(chosen) => check_wishes(order, chosen)?,
        None if grounds.is_empty() => {}
        None => wishes_need_a_route(order)?,
    }
    let mut plans: Vec<(PlanEntry, Planned)> = grounds
        .par_iter()
        .map(|ground| {
            let wishes = if is_chosen(ground) {
                &order.wishes
            } else {
                &free
            };
            on(order, ground, library, wishes)
        })
        .collect();
    plans.sort_by(|a, b| output::plan::better(&a.0, &b.0));
    let ranking = plans.iter().map(ranked).collect();
    if let Some(chosen) = plans.iter().position(|(_, p)| is_chosen(&p.ground)) {
        plans[..=chosen].rotate_right(1);
    }
    if let Some((entry, planned)) = plans.first_mut().filter(|(entry, _)| !entry.fits) {
        let task = task(
            order,
            &planned.ground,
            &planned.halts,
            &planned.weather,
            if is_chosen(&planned.ground) {
                &order.wishes
            } else {
                &free
            },
        );
        let most_laps = most_laps(order, &planned.ground);
        entry.would_fit_with = nearest::changes(&task, most_laps, entry.reps.len());
    }
    let (entries, mut planned): (Vec<_>, Vec<_>) = plans.into_iter().unzip();
    Ok(Answer {
        document: document(order, entries),
        shown: (!planned.is_empty()).then(|| planned.swap_remove(0)),
        ranking,
    })
}

fn ranked((entry, planned): &(PlanEntry, Planned)) -> Ranked {
    Ranked {
        key: planned.ground.key.clone(),
        number: planned.ground.number,
        entry: entry.clone(),
    }
}

/// Reps kept and climbs left out, where no route is chosen that they could be about.
fn wishes_need_a_route(order: &Order) -> Result<(), Vec<Complaint>> {
    let given = [
        ("keep", !order.wishes.keep.is_empty()),
        ("avoid", !order.wishes.avoid.is_empty()),
    ];
    let text = "choose a route first: each has its own numbers of climbs";
    let complaints: Vec<Complaint> = given
        .into_iter()
        .filter(|(_, is_given)| *is_given)
        .map(|(key, _)| Complaint::new(key, text))
        .collect();
    if complaints.is_empty() {
        Ok(())
    } else {
        Err(complaints)
    }
}

fn check_wishes(order: &Order, ground: &Ground) -> Result<(), Vec<Complaint>> {
    let reps = order.demands.iter().map(|d| d.reps as usize).sum();
    order.wishes.check(&ground.climbs, reps).map_err(|wish| {
        let key = if matches!(wish, matching::WishError::NoClimb { climb, .. } if order.wishes.avoid.contains(&climb)) {
            "avoid"
        } else {
            "keep"
        };
        vec![Complaint::new(key, &wish.to_string())]
    })
}

fn task<'a>(
    order: &'a Order,
    ground: &'a Ground,
    halts: &'a [SeenHalt],
    weather: &'a Weather,
    wishes: &'a Wishes,
) -> Task<'a> {
    Task {
        profile: &ground.profile,
        climbs: &ground.climbs,
        halts,
        rider: &order.rider.rider,
        drive: &order.drive,
        weather,
        demands: &order.demands,
        warm_up_s: order.set.warm_up_s,
        rates: &order.rates,
        wishes,
    }
}

/// How often a route may be ridden.
fn most_laps(order: &Order, ground: &Ground) -> usize {
    if ground.route.is_loop { order.laps } else { 1 }
}

fn on(
    order: &Order,
    ground: &Arc<Ground>,
    library: &Library,
    wishes: &Wishes,
) -> (PlanEntry, Planned) {
    let halts = library.halts_on(ground.number).to_vec();
    let start_m = ground.profile.elevation_m.first().copied().unwrap_or(0.0);
    let weather = order.weather.at(start_m);
    let task = task(order, ground, &halts, &weather, wishes);
    let plan = matching::plan_in_laps(&task, most_laps(order, ground));
    let entry = output::plan::plan_entry(
        &ground.route,
        &ground.profile,
        &ground.origin,
        &ground.climbs,
        &order.rider.rider,
        &plan,
    );
    let planned = Planned {
        ground: Arc::clone(ground),
        weather,
        halts,
        plan,
    };
    (entry, planned)
}

fn document(order: &Order, entries: Vec<PlanEntry>) -> PlanDocument {
    let name = order.rider.name.clone().unwrap_or_default();
    let asked = output::asked::asked_entry(
        &name,
        &order.rider,
        order.set.warm_up_s,
        &order.demands,
        &order.weather,
    );
    let nowhere = entries
        .iter()
        .all(|e| e.reps.is_empty() && e.turning_round.is_none());
    let indoors = if nowhere {
        output::indoors::indoor_entries(&order.drive, &order.demands)
    } else {
        Vec::new()
    };
    let notes = session::notes(&order.demands, order.rider.rider.threshold_w);
    output::plan::document(asked, entries, None, indoors, notes)
}
