//! Air, gravity, distance, gears and tyres against published tables and independent libraries.
//!
//! Sources stand in the documents of `tests/reference/values/`; `tests/reference/make.py` makes them again.

mod support;

use approx::assert_relative_eq;
use hillwright::gearing::{Bike, PowerMeasuredAt, Tyre, effort};
use hillwright::ride::{Weather, air, gravity};
use hillwright::route::{LatLon, step_m};
use support::{list, number, reference};

#[test]
fn standard_air_has_the_density_that_iso_2533_prints() {
    let document = reference("air_density.json");
    for row in list(&document, "standard_geometric") {
        let density = air::density_kg_m3(number(row, "altitude_m"), &Weather::default());
        // The printed figures have five digits.
        assert_relative_eq!(
            density,
            number(row, "printed_density_kg_m3"),
            max_relative = 5e-5
        );
        assert_relative_eq!(density, number(row, "density_kg_m3"), max_relative = 1e-6);
    }
}

#[test]
fn moist_air_is_within_a_thousandth_of_coolprop() {
    let document = reference("air_density.json");
    for row in list(&document, "moist") {
        let weather = Weather {
            temperature_c: Some(number(row, "temperature_c")),
            pressure_hpa: Some(number(row, "pressure_pa") / 100.0),
            humidity_pct: Some(number(row, "relative_humidity_pct")),
            measured_at_m: 120.0,
            ..Weather::default()
        };
        let density = air::density_kg_m3(120.0, &weather);
        assert_relative_eq!(density, number(row, "density_kg_m3"), max_relative = 1e-3);
    }
}

#[test]
fn standard_pressures_and_temperatures_make_standard_air_however_they_are_given() {
    // ISO 2533:1975, table 5: at 1,000 m of geometric height 898.762 hPa, 281.651 K, 1.111 66 kg/m³ (as in air_density.json).
    let station = Weather {
        temperature_c: Some(281.651 - 273.15),
        pressure_hpa: Some(898.762),
        measured_at_m: 1000.0,
        ..Weather::default()
    };
    let reduced = Weather {
        pressure_hpa: None,
        sea_level_pressure_hpa: Some(1013.25),
        ..station
    };
    for weather in [station, reduced] {
        assert_relative_eq!(
            air::density_kg_m3(1000.0, &weather),
            1.111_66,
            max_relative = 1e-5
        );
        assert_relative_eq!(
            air::density_kg_m3(0.0, &weather),
            1.225,
            max_relative = 2e-5
        );
    }
}

#[test]
fn gravity_is_that_of_wgs_84() {
    let document = reference("gravity.json");
    for name in ["on_ellipsoid", "above"] {
        for row in list(&document, name) {
            let latitude_rad = number(row, "lat_deg").to_radians();
            let found = gravity::normal_gravity_m_s2(latitude_rad, number(row, "height_m"));
            assert!(
                (found - number(row, "gravity_m_s2")).abs() < 1e-9,
                "{row}: {found}"
            );
        }
    }
}

fn lat_lon(pair: &serde_json::Value) -> LatLon {
    LatLon {
        lat_deg: pair[0].as_f64().unwrap_or(f64::NAN),
        lon_deg: pair[1].as_f64().unwrap_or(f64::NAN),
    }
}

#[test]
fn distances_are_within_a_hundred_thousandth_of_the_geodesic() {
    let document = reference("geodesic.json");
    for row in list(&document, "pairs") {
        let found = step_m(lat_lon(&row["from"]), lat_lon(&row["to"]));
        // The committed coordinates have nine decimals: 0.1 mm.
        assert_relative_eq!(
            found,
            number(row, "length_m"),
            max_relative = 1e-5,
            epsilon = 2e-4
        );
    }
    for row in list(&document, "published") {
        let found = step_m(lat_lon(&row["from"]), lat_lon(&row["to"]));
        let published = number(row, "length_m");
        assert!(
            (found - published).abs() <= number(row, "published_to_m") + 1e-5 * published,
            "{row}"
        );
    }
}

#[test]
fn lines_are_as_long_as_the_sum_of_their_geodesics() {
    let document = reference("geodesic.json");
    for row in list(&document, "lines") {
        let points: Vec<LatLon> = list(row, "points").iter().map(lat_lon).collect();
        let found: f64 = points.windows(2).map(|w| step_m(w[0], w[1])).sum();
        assert_relative_eq!(
            found,
            number(row, "length_m"),
            max_relative = 1e-5,
            epsilon = 2e-4
        );
    }
}

#[test]
fn gears_develop_what_the_hand_works_out() {
    let document = reference("development.json");
    for row in list(&document, "gears") {
        let teeth = |name: &str| number(row, name) as u32;
        let bike = Bike {
            mass_kg: 8.0,
            kit_kg: 4.0,
            tyre: Tyre::Measured {
                circumference_mm: number(row, "circumference_mm"),
            },
            chainrings: vec![teeth("chainring")],
            sprockets: vec![teeth("sprocket")],
            hub_ratios: Vec::new(),
            crank_mm: 172.5,
            power_measured_at: PowerMeasuredAt::Crank,
        };
        let gear = bike.gears()[0];
        assert!(
            (gear.development_m - number(row, "development_m")).abs() < 5e-4,
            "{row}"
        );
        let speed_kmh = 3.6 * effort::speed_ms(number(row, "cadence_rpm"), gear.development_m);
        assert!(
            (speed_kmh - number(row, "speed_kmh")).abs() < 2e-3,
            "{row}: {speed_kmh}"
        );
    }
}

#[test]
fn torque_and_pedal_force_are_what_the_hand_works_out() {
    let document = reference("development.json");
    for row in list(&document, "pedals") {
        let torque = effort::torque_nm(number(row, "power_w"), number(row, "cadence_rpm"));
        assert!((torque - number(row, "torque_nm")).abs() < 1e-4, "{row}");
        let force = effort::pedal_force_n(torque, number(row, "crank_mm"));
        assert!((force - number(row, "pedal_force_n")).abs() < 2e-3, "{row}");
    }
}

#[test]
fn road_tyres_are_as_long_around_as_printed_tables_say_within_one_per_cent() {
    let document = reference("tyre.json");
    let road = list(&document, "tyres")
        .iter()
        .filter(|row| number(row, "diameter_mm") == 622.0);
    let mut seen = 0;
    for row in road {
        let tyre = Tyre::Marked {
            width_mm: number(row, "width_mm"),
            diameter_mm: number(row, "diameter_mm"),
        };
        let printed_m = number(row, "printed_circumference_mm") / 1000.0;
        assert_relative_eq!(tyre.circumference_m(), printed_m, max_relative = 0.01);
        seen += 1;
    }
    assert!(seen >= 5);
}
