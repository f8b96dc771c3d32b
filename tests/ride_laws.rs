//! Laws that a ride and a gear obey whatever the numbers, each over ten thousand random cases.

use hillwright::gearing::chart::{self, Surroundings};
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
        -12.0..6.0,
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
    fn system(&self) -> System {
        System {
            mass_kg: self.mass_kg,
            wheel_radius_m: 0.34,
            resistance: Resistance {
                cda_m2: self.cda_m2,
                crr: self.crr,
                drivetrain_efficiency: 0.977,
            },
        }
    }

    fn road(&self) -> Road {
        let system = self.system();
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
    #![proptest_config(ProptestConfig { cases: 10_000, max_global_rejects: 100_000, ..ProptestConfig::default() })]

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
    fn more_mass_is_never_faster_up_a_climb_that_is_ridden_steadily(case in cases(), more in 1.0..30.0) {
        let heavier = Case { mass_kg: case.mass_kg + more, ..case.clone() };
        let steady_s = |c: &Case| -> f64 {
            let cells = c.road().cells;
            cells.iter().map(|x| x.slope_length_m / x.speed_for_power_ms(c.power_w, 0.977)).sum()
        };
        prop_assert!(steady_s(&heavier) >= steady_s(&case) * (1.0 - 1e-12));
    }

    #[test]
    fn splitting_a_stretch_where_its_grade_changes_changes_its_time_by_nothing_at_all(case in cases(), at in 1..5_usize) {
        let road = case.road();
        let pace = Pace::constant(case.power_w);
        let middle = advance(&road, START, &pace, Until::Distance(10.0 * at as f64), |_| {});
        let end = advance(&road, middle, &pace, Until::Distance(road.length_m()), |_| {});
        prop_assert!((end.time_s - case.duration_s()).abs() <= 1e-9 * case.duration_s());
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
    fn speed_for_a_power_is_the_inverse_of_power_for_a_speed(case in cases(), speed_ms in 0.8..20.0) {
        let cell = case.road().cells[0];
        let power_w = cell.power_for_speed_w(speed_ms, 0.977);
        prop_assume!(power_w > 1.0);
        let speed = cell.speed_for_power_ms(power_w, 0.977);
        prop_assert!((speed / speed_ms - 1.0).abs() < 1e-9, "{} {}", speed, speed_ms);
    }

    #[test]
    fn grade_for_a_power_and_speed_is_the_inverse_of_power_for_a_speed_on_a_grade(
        case in cases(), grade_pct in -8.0..20.0, speed_ms in 0.8..15.0,
    ) {
        let around = Surroundings { density_kg_m3: 1.2, gravity_m_s2: 9.81, headwind_ms: case.headwind_ms };
        let on = |grade_pct: f64| Cell::new(&case.system(), 1.0, grade_pct / 100.0, 1.2, 9.81, case.headwind_ms);
        let power_w = on(grade_pct).power_for_speed_w(speed_ms, 0.977);
        prop_assume!(power_w > 1.0);
        let grade = chart::grade_for_pct(&case.system(), &around, power_w, speed_ms);
        prop_assert!((grade - grade_pct).abs() < 1e-9 * grade_pct.abs().max(1.0), "{} {}", grade, grade_pct);
        let again_w = on(grade).power_for_speed_w(speed_ms, 0.977);
        prop_assert!((again_w / power_w - 1.0).abs() < 1e-9 || (again_w - power_w).abs() < 1e-6);
    }

    #[test]
    fn power_for_a_cadence_in_a_gear_turns_that_cadence(case in cases(), cadence_rpm in 30.0..110.0, development_m in 1.5..9.0) {
        let cell = case.road().cells[0];
        let power_w = cell.power_for_speed_w(effort::speed_ms(cadence_rpm, development_m), 0.977);
        prop_assume!(power_w > 1.0);
        let turned = effort::cadence_rpm(cell.speed_for_power_ms(power_w, 0.977), development_m);
        prop_assert!((turned / cadence_rpm - 1.0).abs() < 1e-9);
        let torque_nm = effort::torque_nm(power_w, cadence_rpm);
        prop_assert!((torque_nm * effort::angular_speed_rad_s(cadence_rpm) / power_w - 1.0).abs() < 1e-12);
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
