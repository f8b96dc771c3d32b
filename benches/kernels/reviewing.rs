//! A recording held against a set.

use divan::{Bencher, black_box};
use hillwright::gearing::Drive;
use hillwright::matching::Demand;
use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::review::planned::Asked;
use hillwright::review::{Task, recording, review};
use hillwright::ride::{Unknowns, Weather};

use crate::{Fallible, made};

/// So far the made ride is about four hours long.
const FOUR_HOURS_KM: f64 = 83.0;

#[divan::bench]
fn four_hours_from_bytes(bencher: Bencher) {
    let text = made::gpx(&made::ride(FOUR_HOURS_KM), true);
    let reviewed = |text: &str| -> Fallible<usize> {
        let file = parse_rider(EXAMPLE_RIDER)?;
        let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
        let demands = Demand::of_set(&parse_set(EXAMPLE_SET)?, file.rider.threshold_w, &drive)?;
        let recorded = recording::read(text.as_bytes(), "made")?.remove(0);
        let profile = Profile::from_route(&recorded.route)?;
        let task = Task {
            recorded: &recorded,
            profile: Some(&profile),
            drive: Some(&drive),
            asked: &[Asked::of_set(&demands, &file.rider)],
            weather: &Weather::default(),
            unknowns: &Unknowns::default(),
        };
        Ok(review(&task).reps.len())
    };
    bencher.bench_local(|| reviewed(black_box(&text)).ok());
}
