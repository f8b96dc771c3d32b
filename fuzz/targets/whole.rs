#![no_main]
//! From any bytes to a plan, as the program goes: every number in the document is one, and the text is tame.

use hillwright::climbs::{self, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::{self, Demand, Rates, Task, Wishes};
use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::ride::Weather;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let (Ok(rider), Ok(set)) = (parse_rider(EXAMPLE_RIDER), parse_set(EXAMPLE_SET)) else {
        return;
    };
    let Ok(demands) = Demand::of_set(&set, rider.rider.threshold_w) else {
        return;
    };
    for route in hillwright::route::read(bytes, "any")
        .unwrap_or_default()
        .iter()
        .take(3)
    {
        hillwright_fuzz::check_route(route);
        // What is longer takes longer and shows nothing more.
        if route.length_m > 100_000.0 {
            continue;
        }
        let Ok(profile) = Profile::from_route(route) else {
            continue;
        };
        hillwright_fuzz::check_profile(&profile);
        let climbs = climbs::find(&profile, &Rule::default());
        hillwright_fuzz::check_climbs(&climbs, &profile, &Rule::default());
        let plan = matching::plan(&Task {
            profile: &profile,
            climbs: &climbs,
            rider: &rider.rider,
            drive: &Drive::new(&rider.rider, &rider.bike, &rider.resistance),
            weather: &Weather::default(),
            demands: &demands,
            warm_up_s: 60.0,
            rates: &Rates::default(),
            wishes: &Wishes::default(),
        });
        hillwright_fuzz::check_plan(&plan, &demands);
    }
});
