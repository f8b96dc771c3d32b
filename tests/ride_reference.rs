//! The ride against scipy's integrator on the same equations, written independently (`tests/reference/ride.py`).

mod support;

use approx::assert_relative_eq;
use hillwright::ride::{Cell, Moment, Pace, Resistance, Road, Sample, System, Until, advance};
use serde_json::Value;
use support::{list, number, reference};

const GRAVITY_M_S2: f64 = 9.806_65;
const WHEEL_RADIUS_M: f64 = 0.311;

fn system(row: &Value) -> System {
    System {
        mass_kg: number(row, "total_mass_kg"),
        wheel_radius_m: WHEEL_RADIUS_M,
        resistance: Resistance {
            cda_m2: number(row, "cda_m2"),
            crr: number(row, "crr"),
            drivetrain_efficiency: number(row, "drivetrain_efficiency"),
        },
    }
}

fn cell(row: &Value, run_m: f64, grade: f64) -> Cell {
    let (density, headwind) = (
        number(row, "air_density_kg_m3"),
        number(row, "headwind_m_s"),
    );
    Cell::new(&system(row), run_m, grade, density, GRAVITY_M_S2, headwind)
}

fn road(row: &Value) -> Road {
    let step_m = number(row, "step_m");
    let elevations: Vec<f64> = list(row, "elevation_m")
        .iter()
        .filter_map(Value::as_f64)
        .collect();
    Road {
        spacing_m: step_m,
        cells: elevations
            .windows(2)
            .map(|w| cell(row, step_m, (w[1] - w[0]) / step_m))
            .collect(),
        limit_ms: vec![f64::INFINITY; elevations.len() - 1],
        inertial_mass_kg: system(row).inertial_mass_kg(),
        drivetrain_efficiency: number(row, "drivetrain_efficiency"),
    }
}

fn start(row: &Value) -> Moment {
    Moment {
        distance_m: 0.0,
        time_s: 0.0,
        speed_ms: number(row, "entry_speed_m_s"),
    }
}

#[test]
fn steady_speeds_agree_with_brentq() {
    let document = reference("ride.json");
    for row in list(&document, "steady") {
        let cell = cell(row, 1.0, number(row, "grade_pct") / 100.0);
        let speed =
            cell.speed_for_power_ms(number(row, "power_w"), number(row, "drivetrain_efficiency"));
        assert_relative_eq!(speed, number(row, "speed_m_s"), max_relative = 1e-6);
    }
}

#[test]
fn powers_at_steady_speeds_agree_with_the_equations() {
    let document = reference("ride.json");
    for row in list(&document, "powers")
        .iter()
        .filter(|r| r["from_m_s"] == r["to_m_s"])
    {
        let wanted = number(row, "power_w");
        let cell = cell(row, 1.0, number(row, "grade_pct") / 100.0);
        let found = cell.power_for_speed_w(
            number(row, "from_m_s"),
            number(row, "drivetrain_efficiency"),
        );
        // Where the rider would brake, the power at the wheel is not divided by the drivetrain's efficiency.
        let brakes = wanted < 0.0;
        let found = if brakes {
            found / number(row, "drivetrain_efficiency")
        } else {
            found
        };
        assert_relative_eq!(found, wanted, max_relative = 1e-6, epsilon = 1e-5);
    }
}

#[test]
fn durations_over_profiles_agree_with_scipy_within_a_thousandth() {
    let document = reference("ride.json");
    let (long, short) = (list(&document, "profiles"), list(&document, "short"));
    for row in long.iter().chain(short) {
        let road = road(row);
        let pace = Pace::constant(number(row, "power_w"));
        let end = advance(
            &road,
            start(row),
            &pace,
            Until::Distance(road.length_m()),
            |_| {},
        );
        assert_relative_eq!(end.time_s, number(row, "duration_s"), max_relative = 1e-3);
        assert_relative_eq!(
            end.speed_ms,
            number(row, "exit_speed_m_s"),
            max_relative = 2e-3
        );
    }
}

#[test]
fn a_held_cadence_agrees_with_scipy_within_a_thousandth() {
    let document = reference("ride.json");
    for row in list(&document, "held") {
        let road = road(row);
        let pace = Pace::held(
            number(row, "aim_speed_m_s"),
            number(row, "power_from_w"),
            number(row, "power_to_w"),
        );
        let mut work_j = 0.0;
        let mut take = |sample: Sample| work_j += sample.power_w * sample.duration_s;
        let end = advance(
            &road,
            start(row),
            &pace,
            Until::Distance(road.length_m()),
            &mut take,
        );
        assert_relative_eq!(end.time_s, number(row, "duration_s"), max_relative = 1e-3);
        assert_relative_eq!(
            work_j / end.time_s,
            number(row, "mean_power_w"),
            max_relative = 5e-3
        );
        let by_clock = advance(&road, start(row), &pace, Until::Time(240.0), |_| {});
        assert_relative_eq!(
            by_clock.distance_m,
            number(row, "distance_after_240s_m"),
            max_relative = 1e-3
        );
    }
}

#[test]
fn the_worked_example_of_martin_et_al_comes_out_as_printed() {
    let document = reference("ride.json");
    let row = &document["paper"];
    let speed_ms = number(row, "distance_m") / number(row, "duration_s");
    let efficiency = number(row, "drivetrain_efficiency");
    let (density, headwind) = (
        number(row, "air_density_kg_m3"),
        number(row, "headwind_m_s"),
    );
    let grade = number(row, "grade_pct") / 100.0;
    let cell = Cell::new(
        &system(row),
        1.0,
        grade,
        density,
        number(row, "gravity_m_s2"),
        headwind,
    );
    let kinetic_w = 0.5
        * system(row).inertial_mass_kg()
        * (number(row, "to_m_s").powi(2) - number(row, "from_m_s").powi(2))
        / number(row, "duration_s");
    let power_w = cell.power_for_speed_w(speed_ms, efficiency) + kinetic_w / efficiency;
    // The inputs are printed to three figures, which is worth about 0.2 W.
    assert!(
        (power_w - number(row, "printed_power_w")).abs() < 0.2,
        "{power_w}"
    );
}
