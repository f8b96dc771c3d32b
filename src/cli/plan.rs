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

pub(super) fn run(arguments: &PlanArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &[])?;
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
    let entries: Vec<_> = input::routes(&arguments.routes, &arguments.elevation)?
        .iter()
        .map(|graded| {
            let found = climbs::find(&graded.profile, &rule);
            let task = Task {
                profile: &graded.profile,
                climbs: &found,
                rider: &file.rider,
                drive: &drive,
                weather: &Weather::default(),
                demands: &demands,
                warm_up_s: set.warm_up_s,
                rates: &Rates::default(),
            };
            let plan = matching::plan(&task);
            output::plan::plan_entry(
                &graded.route,
                &graded.profile,
                graded.origin,
                &found,
                &file.rider,
                &plan,
            )
        })
        .collect();
    let fits = entries.iter().any(|e| e.fits);
    print::answer(
        &output::plan::document(entries),
        &arguments.answer,
        output::plan::text,
        &[],
    )?;
    Ok(if fits {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

fn set(arguments: &PlanArguments) -> Result<Set, Failure> {
    match &arguments.set {
        Some(path) => input::set(path),
        None => block_from_flags(&arguments.block.flags())
            .map_err(|e| Failure::CommandLine(e.to_string())),
    }
}
