//! Laws that a ride and a gear obey whatever the numbers.

use hillwright::gearing::{Bike, PowerMeasuredAt, Tyre, effort};
use hillwright::ride::{Cell, Moment, Pace, Resistance, Road, System, Until, advance};
use proptest::prelude::*;

/// Integration errors stay below this share of a duration.
const ERROR_SHARE: f64 = 1e-3;

#[derive(Debug, Clone)]
struct Case {
    mass_kg: f64,
    cda_m2: f64,
    crr: f64,
    headwind_ms: f64,
    power_w: f64,
    grades: Vec<f64>,
}

fn cases() -> impl Strategy<Value = Case> {
    let grades = prop::collection::vec(0.0..0.12, 5..60);
    (
        50.0..120.0,
        0.2..0.6,
        0.002..0.01,
        -4.0..4.0,
        120.0..400.0,
        grades,
    )
        .prop_map(
            |(mass_kg, cda_m2, crr, headwind_ms, power_w, grades)| Case {
                mass_kg,
                cda_m2,
                crr,
                headwind_ms,
                power_w,
                grades,
            },
        )
}

impl Case {
    fn road(&self) -> Road {
        let system = System {
            mass_kg: self.mass_kg,
            wheel_radius_m: 0.34,
            resistance: Resistance {
                cda_m2: self.cda_m2,
                crr: self.crr,
                drivetrain_efficiency: 0.977,
            },
        };
        let cell = |grade: &f64| Cell::new(&system, 10.0, *grade, 1.2, 9.81, self.headwind_ms);
        Road {
            spacing_m: 10.0,
            cells: self.grades.iter().map(cell).collect(),
            limit_ms: vec![f64::INFINITY; self.grades.len()],
            inertial_mass_kg: system.inertial_mass_kg(),
            drivetrain_efficiency: 0.977,
        }
    }

    fn duration_s(&self) -> f64 {
        self.duration_to_s(self.road().length_m())
    }

    fn duration_to_s(&self, distance_m: f64) -> f64 {
        let pace = Pace::constant(self.power_w);
        advance(
            &self.road(),
            START,
            &pace,
            Until::Distance(distance_m),
            |_| {},
        )
        .time_s
    }
}

const START: Moment = Moment {
    distance_m: 0.0,
    time_s: 0.0,
    speed_ms: 4.0,
};

proptest! {
    #[test]
    fn more_power_is_never_slower(case in cases(), more in 1.0..100.0) {
        let stronger = Case { power_w: case.power_w + more, ..case.clone() };
        prop_assert!(stronger.duration_s() <= case.duration_s() * (1.0 + ERROR_SHARE));
    }

    #[test]
    fn more_mass_is_never_faster_at_a_steady_speed_uphill(case in cases(), more in 1.0..30.0) {
        let heavier = Case { mass_kg: case.mass_kg + more, ..case.clone() };
        let speed = |c: &Case| c.road().cells[0].speed_for_power_ms(c.power_w, 0.977);
        prop_assert!(speed(&heavier) <= speed(&case) + 1e-9);
    }

    #[test]
    fn headwind_never_helps(case in cases(), more in 0.1..4.0) {
        let windier = Case { headwind_ms: case.headwind_ms + more, ..case.clone() };
        prop_assert!(windier.duration_s() >= case.duration_s() * (1.0 - ERROR_SHARE));
    }

    #[test]
    fn splitting_a_stretch_changes_its_time_by_nothing(case in cases(), share in 0.05..0.95) {
        let road = case.road();
        let pace = Pace::constant(case.power_w);
        let middle = advance(&road, START, &pace, Until::Distance(share * road.length_m()), |_| {});
        let end = advance(&road, middle, &pace, Until::Distance(road.length_m()), |_| {});
        prop_assert!((end.time_s - case.duration_s()).abs() <= ERROR_SHARE * case.duration_s());
    }

    #[test]
    fn power_for_a_speed_is_the_inverse_of_speed_for_a_power(case in cases()) {
        let cell = case.road().cells[0];
        let speed = cell.speed_for_power_ms(case.power_w, 0.977);
        let power = cell.power_for_speed_w(speed, 0.977);
        prop_assert!((power / case.power_w - 1.0).abs() < 1e-9, "{} {}", power, case.power_w);
    }

    #[test]
    fn a_held_cadence_never_takes_power_outside_its_band(case in cases(), aim_ms in 1.5..6.0) {
        let (from, to) = (case.power_w, case.power_w * 1.2);
        let road = case.road();
        let mut outside = 0;
        advance(&road, START, &Pace::held(aim_ms, from, to), Until::Distance(road.length_m()), |s| {
            outside += usize::from(s.power_w < from - 1e-9 || s.power_w > to + 1e-9);
        });
        prop_assert_eq!(outside, 0);
    }

    #[test]
    fn a_clock_stops_where_the_distance_says(case in cases(), seconds in 1.0..60.0) {
        let road = case.road();
        let pace = Pace::constant(case.power_w);
        let stopped = advance(&road, START, &pace, Until::Time(seconds), |_| {});
        prop_assume!(stopped.distance_m < road.length_m() - 1e-6);
        prop_assert!((stopped.time_s - seconds).abs() < 1e-6);
        prop_assert!((case.duration_to_s(stopped.distance_m) - seconds).abs() < ERROR_SHARE * seconds + 1e-6);
    }

    #[test]
    fn a_bigger_sprocket_never_lowers_the_cadence_at_a_speed(
        sprockets in prop::collection::vec(9_u32..52, 2..12),
        speed_ms in 1.0..15.0,
    ) {
        let bike = Bike {
            mass_kg: 8.0,
            kit_kg: 4.0,
            tyre: Tyre::Marked { width_mm: 28.0, diameter_mm: 622.0 },
            chainrings: vec![40],
            sprockets,
            hub_ratios: Vec::new(),
            crank_mm: 170.0,
            power_measured_at: PowerMeasuredAt::Crank,
        };
        let gears = bike.gears();
        for pair in gears.windows(2) {
            prop_assert!(pair[0].sprocket > pair[1].sprocket);
            let rpm = |i: usize| effort::cadence_rpm(speed_ms, pair[i].development_m);
            prop_assert!(rpm(0) >= rpm(1));
        }
    }
}
