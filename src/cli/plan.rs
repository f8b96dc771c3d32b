//! `hillwright plan`.

use super::arguments::PlanArguments;
use super::failure::Failure;
use super::{Outcome, input, print};
use crate::climbs;
use crate::gearing::Drive;
use crate::matching::{self, Demand, Rates, Task};
use crate::output;
use crate::prescription::{Set, block_from_flags};
use crate::ride::Weather;
use crate::route::Route;

pub(super) fn run(arguments: &PlanArguments) -> Result<Outcome, Failure> {
    let file = input::rider(&arguments.rider)?;
    let set = set(arguments)?;
    let named = || {
        arguments
            .set
            .as_ref()
            .map_or("the flags".to_owned(), |p| p.display().to_string())
    };
    let demands =
        Demand::of_set(&set, file.rider.threshold_w).map_err(|source| Failure::Demand {
            path: named(),
            source,
        })?;
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let rule = arguments.rule.rule();
    let wishes = arguments.wishes.wishes();
    let reps = demands.iter().map(|d| d.reps as usize).sum();
    let mut entries = Vec::new();
    for graded in input::routes(&arguments.routes)? {
        let found = climbs::find(&graded.profile, &rule);
        wishes.check(&found, reps).map_err(|wish| Failure::Wish {
            source_name: graded.route.source.clone(),
            wish,
        })?;
        let task = Task {
            profile: &graded.profile,
            climbs: &found,
            rider: &file.rider,
            drive: &drive,
            weather: &Weather::default(),
            demands: &demands,
            warm_up_s: set.warm_up_s,
            rates: &Rates::default(),
            wishes: &wishes,
        };
        let plan = matching::plan_in_laps(&task, laps(arguments, &graded.route));
        entries.push(output::plan::plan_entry(
            &graded.route,
            &graded.profile,
            &found,
            &file.rider,
            &plan,
        ));
    }
    let fits = entries.iter().any(|e| e.fits);
    print::answer(
        &output::plan::document(entries),
        &arguments.answer,
        output::plan::text,
    )?;
    Ok(if fits {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

/// How often a route may be ridden.
fn laps(arguments: &PlanArguments, route: &Route) -> usize {
    if arguments.wishes.laps > 1 && !route.is_loop {
        print::warning(&format!(
            "{}: does not end where it starts, so it is ridden once",
            route.source
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
