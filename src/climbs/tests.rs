//! The definition of a steady climb, on roads whose climbs are known.

use super::{Climb, Rule, find};
use crate::profile::Profile;
use crate::profile::tests::{Draws, road};

/// Climbs on a road of (metres, per cent) pieces, recorded to some centimetres.
fn climbs(pieces: &[(f64, f64)]) -> Vec<Climb> {
    let mut draws = Draws(5);
    let mut z = vec![100.0];
    for (length_m, grade_pct) in pieces {
        for _ in 0..(length_m / 10.0) as usize {
            z.push(z[z.len() - 1] + 0.1 * grade_pct);
        }
    }
    let recorded: Vec<f64> = z.iter().map(|z| z + 0.05 * draws.normal()).collect();
    find(
        &Profile::from_route(&road(&recorded)).unwrap(),
        &Rule::default(),
    )
    .climbs
}

#[track_caller]
fn assert_climbs(pieces: &[(f64, f64)], expected: &[(f64, f64)]) {
    let found = climbs(pieces);
    let ends: Vec<(f64, f64)> = found.iter().map(|c| (c.from_m, c.to_m)).collect();
    let near = |a: f64, b: f64| (a - b).abs() <= 20.0;
    let same = ends.len() == expected.len()
        && ends
            .iter()
            .zip(expected)
            .all(|(f, e)| near(f.0, e.0) && near(f.1, e.1));
    assert!(same, "{ends:?}");
}

#[test]
fn a_climb_between_flats_is_found_with_its_grade() {
    assert_climbs(
        &[(800.0, 0.0), (1200.0, 6.0), (800.0, 0.0)],
        &[(800.0, 2000.0)],
    );
    let climb = &climbs(&[(800.0, 0.0), (1200.0, 6.0), (800.0, 0.0)])[0];
    assert!((climb.grade_pct - 6.0).abs() < 0.1, "{}", climb.grade_pct);
}

#[test]
fn two_climbs_meet_at_a_step() {
    assert_climbs(
        &[(800.0, 0.0), (900.0, 4.0), (900.0, 8.0), (800.0, 0.0)],
        &[(800.0, 1700.0), (1700.0, 2600.0)],
    );
}

#[test]
fn a_dip_parts_two_climbs() {
    assert_climbs(
        &[
            (800.0, 0.0),
            (900.0, 6.0),
            (140.0, -4.0),
            (900.0, 6.0),
            (800.0, 0.0),
        ],
        &[(800.0, 1700.0), (1840.0, 2740.0)],
    );
}

#[test]
fn two_hundred_and_twenty_metres_of_flat_part_two_climbs() {
    assert_climbs(
        &[
            (800.0, 0.0),
            (900.0, 6.0),
            (220.0, 0.5),
            (900.0, 6.0),
            (800.0, 0.0),
        ],
        &[(800.0, 1700.0), (1920.0, 2820.0)],
    );
}

#[test]
fn a_hairpin_a_culvert_and_fifty_easier_metres_are_passed_over() {
    for kink in [(40.0, 0.0), (40.0, -3.0), (50.0, 3.0)] {
        let length_m = 1800.0 + kink.0;
        assert_climbs(
            &[(800.0, 0.0), (900.0, 6.0), kink, (900.0, 6.0), (800.0, 0.0)],
            &[(800.0, 800.0 + length_m)],
        );
    }
}

#[test]
fn too_short_and_too_gentle_are_no_climbs() {
    assert_climbs(&[(800.0, 0.0), (340.0, 7.0), (800.0, 0.0)], &[]);
    assert_climbs(&[(800.0, -1.0), (2000.0, 2.5), (800.0, -1.0)], &[]);
}

#[test]
fn lumps_and_an_even_ramp_are_not_steady() {
    let lumps: Vec<(f64, f64)> = (0..8)
        .map(|i| (140.0, if i % 2 == 0 { 9.0 } else { 1.0 }))
        .collect();
    assert_climbs(
        &[&[(800.0, 0.0)], &lumps[..], &[(800.0, 0.0)]].concat(),
        &[],
    );
    let ramp: Vec<(f64, f64)> = (0..50).map(|i| (10.0, 1.0 + 0.18 * f64::from(i))).collect();
    assert_climbs(
        &[&[(800.0, 0.0)], &ramp[..], &[(800.0, -5.0)]].concat(),
        &[],
    );
}

#[test]
fn the_same_road_twice_has_the_same_climbs_twice() {
    let half = [(800.0, 0.0), (900.0, 4.0), (600.0, 8.0), (500.0, 0.0)];
    let found = climbs(&[&half[..], &[(1500.0, -6.0)], &half[..]].concat());
    assert_eq!(found.len(), 4);
    for (first, second) in found[..2].iter().zip(&found[2..]) {
        assert!(
            (second.from_m - first.from_m - 4300.0).abs() <= 20.0,
            "{} {}",
            first.from_m,
            second.from_m
        );
        assert!((second.grade_pct - first.grade_pct).abs() < 0.15);
    }
}
