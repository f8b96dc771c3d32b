//! Plans made from recordings of known roads, ridden on the roads themselves.

mod truth;

use truth::session::{Asked, HELD, Ridden, run, table};

/// Roads that nothing is tuned on.
const SEEDS: std::ops::Range<u64> = 5000..5003;

/// What the plans of a kind are held to: the least share of reps placed of those that the road can host, and the least share of reps that
/// keep the cadence in band, kinks aside.
type Bar = (&'static str, f64, f64);

/// What plans must not fall behind: a tenth to a fifth of the reps in band below the scores of thirty roads, as three roads scatter.
const REACHED: [Bar; 6] = [
    ("exact", 1.0, 0.80),
    ("planner", 0.95, 0.70),
    ("barometer", 0.95, 0.80),
    ("whole-metre", 0.95, 0.80),
    ("satellite-only", 0.95, 0.50),
    ("terrain-model", 0.95, 0.65),
];

fn check(all: &[(&str, Ridden)], asked: Asked) {
    for ((name, ridden), (kind, placed, held)) in all.iter().zip(REACHED) {
        assert_eq!(*name, kind);
        let told = format!("{}, {name}\n{}", asked.name(), table(all));
        assert!(ridden.placed_share() >= placed, "{told}");
        assert!(ridden.held_between_kinks(HELD) >= held, "{told}");
    }
}

#[test]
fn plans_ridden_on_the_true_road_keep_their_cadence_no_worse_than_before() {
    for asked in Asked::ALL {
        check(&run(SEEDS, asked), asked);
    }
}

/// Recordings good enough that a rider who goes by the display keeps the cadence too, shifting only once it is at an end of its band.
const SURE: [&str; 3] = ["exact", "barometer", "whole-metre"];

/// Where every recording is planned on and ridden, what each is held to.
fn check_shifting(all: &[(&str, Ridden)]) {
    for (name, ridden) in all {
        let told = format!("{name}\n{}", table(all));
        assert!(ridden.placed_share() >= 0.95, "{told}");
        assert!(ridden.held_in_time(HELD) >= 0.95, "{told}");
        assert!(
            ridden.held_in_time(HELD) >= ridden.held_late(HELD),
            "{told}"
        );
        assert!(ridden.held_late(HELD) > ridden.held_share(HELD), "{told}");
        if SURE.contains(name) {
            assert!(ridden.held_late(HELD) >= 0.95, "{told}");
        }
    }
}

#[test]
fn nineteen_six_fours_in_twenty_keep_their_cadence_if_the_rider_shifts_in_time() {
    check_shifting(&run(5000..5030, Asked::SixByFour));
}

#[test]
#[ignore = "not reached on satellite fixes: in the worst places some rows of lumps pass for steady climbs"]
fn so_do_as_many_threes_as_there_is_room_for() {
    check_shifting(&run(5000..5030, Asked::AsManyAsThereIsRoom));
}
