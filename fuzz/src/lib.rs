//! What must hold of every answer, whatever the input.

pub mod road;

use hillwright::climbs::{Climbs, Rule};
use hillwright::matching::{Demand, PlacedRep, Plan};
use hillwright::profile::Profile;
use hillwright::route::Route;

/// A route is a line: distances rise from nought, everything is finite, columns are as long as it.
pub fn check_route(route: &Route) {
    let points = &route.points;
    assert!(points.len() >= 2);
    assert_eq!(points[0].distance_m, 0.0);
    assert!(
        points
            .windows(2)
            .all(|pair| pair[0].distance_m < pair[1].distance_m)
    );
    assert!(route.length_m.is_finite());
    for point in points {
        assert!(point.lat_deg.abs() <= 90.0 && point.lon_deg.abs() <= 180.0);
        assert!(point.elevation_m.is_none_or(f64::is_finite));
        assert!(point.time_s.is_none_or(f64::is_finite));
    }
    let sensors = &route.sensors;
    for column in [
        &sensors.power_w,
        &sensors.cadence_rpm,
        &sensors.heart_rate_bpm,
        &sensors.temperature_c,
    ] {
        assert!(column.is_empty() || column.len() == points.len());
    }
}

/// Every number of a profile is one.
pub fn check_profile(profile: &Profile) {
    for column in [
        &profile.elevation_m,
        &profile.elevation_se_m,
        &profile.grade_pct,
        &profile.grade_se_pct,
        &profile.bearing_rad,
    ] {
        assert_eq!(column.len(), profile.nodes());
        assert!(column.iter().all(|value| value.is_finite()));
    }
    assert!(profile.grade_se_pct.iter().all(|se| *se >= 0.0));
}

/// Climbs lie inside the route, in order, beside each other, and are what the rule admits.
pub fn check_climbs(climbs: &Climbs, profile: &Profile, rule: &Rule) {
    let mut last_m = 0.0;
    for climb in &climbs.climbs {
        assert!(climb.from_m >= last_m - 1e-6 && climb.to_m > climb.from_m);
        assert!(climb.to_m <= profile.length_m() + 1e-6);
        assert!(climb.length_m() >= rule.length_m - 1e-6);
        assert!(climb.grade_pct >= rule.grade_pct - 1e-6);
        for value in [
            climb.grade_se_pct,
            climb.grade_sd_pct,
            climb.steepest_100m_pct,
            climb.gentlest_100m_pct,
            climb.gain_m,
        ] {
            assert!(value.is_finite());
        }
        last_m = climb.to_m;
    }
    for ascent in &climbs.ascents {
        assert!(
            ascent
                .climbs
                .iter()
                .all(|id| (1..=climbs.climbs.len()).contains(id))
        );
    }
}

/// Reps lie inside ascents, in order, one after the other, and their recoveries hold.
pub fn check_plan(plan: &Plan, demands: &[Demand], climbs: &Climbs, profile: &Profile) {
    let asked: usize = demands.iter().map(|d| d.reps as usize).sum();
    assert_eq!(plan.reps.len() + plan.unplaced.len(), asked);
    assert_eq!(plan.fits, plan.unplaced.is_empty());
    assert!(plan.cost_s.is_finite() && plan.total.duration_s.is_finite());
    for rep in &plan.reps {
        let work_s = demands[rep.block].work_s;
        assert!(rep.end_m > rep.start_m, "{rep:?}");
        assert!((rep.duration_s - work_s).abs() < 0.1, "{rep:?}");
        for value in [
            rep.power_w,
            rep.cadence_rpm,
            rep.torque_nm,
            rep.pedal_force_n,
            rep.speed_ms,
            rep.entry_speed_ms,
            rep.in_band_pct,
            rep.grade_pct,
            rep.power_range_w.0,
            rep.power_range_w.1,
            rep.cadence_range_rpm.0,
            rep.cadence_range_rpm.1,
        ] {
            assert!(value.is_finite(), "{rep:?}");
        }
        assert!((0.0..=100.0).contains(&rep.in_band_pct));
        // A maximal start is ridden on gentle ground, which need not be an ascent.
        assert!(
            rep.maximal || lies_on_an_ascent(rep, climbs, profile),
            "{rep:?}\n{:?}",
            climbs.ascents
        );
    }
    for pair in plan.reps.windows(2) {
        assert!(pair[0].rep < pair[1].rep && pair[0].block <= pair[1].block);
        assert!(pair[1].start_time_s >= pair[0].start_time_s + pair[0].duration_s - 1e-6);
        let rest_s = pair[0].rest_after_s.unwrap_or(f64::INFINITY);
        let asked_s = demands[pair[0].block].recovery_at_least_s;
        assert!(rest_s >= asked_s - 1e-6, "{rest_s} of {asked_s}");
    }
    if let Some(turning) = &plan.turning_round {
        assert!(turning.reps.len() > plan.reps.len());
        check_plan(turning, demands, climbs, profile);
    }
}

/// A loop that is ridden again and again has its ascents again and again.
fn lies_on_an_ascent(rep: &PlacedRep, climbs: &Climbs, profile: &Profile) -> bool {
    let ahead_m = (rep.start_m / profile.length_m() + 1e-9).floor() * profile.length_m();
    climbs.ascents.iter().any(|ascent| {
        let (from_m, to_m) = (ascent.from_m + ahead_m, ascent.to_m + ahead_m);
        // The speed of arrival is known only once the plan is ridden: one step of the profile is allowed for it.
        rep.start_m >= from_m - profile.spacing_m && rep.end_m <= to_m + profile.spacing_m
    })
}
