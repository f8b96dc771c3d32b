//! The weather of an address.

use super::address::Address;
use super::complaint::Complaint;
use crate::ride::Weather;
use crate::ride::air::Wind;

/// Weather that was asked for, for whatever elevation a route starts at.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct AskedWeather {
    wind: Wind,
    temperature_c: Option<f64>,
    sea_level_pressure_hpa: Option<f64>,
    humidity_pct: Option<f64>,
}

/// A number of the weather with its bounds.
struct Quantity {
    key: &'static str,
    low: f64,
    high: f64,
    expected: &'static str,
}

/// Bounds as those of the command line; outside them a number is a slip.
const QUANTITIES: [Quantity; 5] = [
    Quantity {
        key: "wind_kmh",
        low: 0.0,
        high: 100.0,
        expected: "expected 0 to 100 km/h: nobody rides in more",
    },
    Quantity {
        key: "wind_from_deg",
        low: 0.0,
        high: 360.0,
        expected: "expected 0 to 360 degrees: where it comes from, clockwise from north",
    },
    Quantity {
        key: "temperature_c",
        low: -40.0,
        high: 55.0,
        expected: "expected -40 to 55 degrees Celsius: nobody rides in colder or hotter air",
    },
    Quantity {
        key: "sea_level_pressure_hpa",
        low: 850.0,
        high: 1100.0,
        expected: "expected 850 to 1100 hectopascals: the lowest and the highest on record lie within",
    },
    Quantity {
        key: "humidity_pct",
        low: 0.0,
        high: 100.0,
        expected: "expected 0 to 100 per cent: from dry to saturated",
    },
];

/// Keys of the weather in an address.
pub(super) const KEYS: [&str; 6] = [
    "wind_kmh",
    "wind_from_deg",
    "shelter",
    "temperature_c",
    "sea_level_pressure_hpa",
    "humidity_pct",
];

impl AskedWeather {
    /// The weather on a route that starts at an elevation (metres).
    pub fn at(&self, start_elevation_m: f64) -> Weather {
        Weather {
            temperature_c: self.temperature_c,
            pressure_hpa: None,
            sea_level_pressure_hpa: self.sea_level_pressure_hpa,
            humidity_pct: self.humidity_pct,
            measured_at_m: start_elevation_m,
            wind: self.wind,
        }
    }
}

/// Reads the weather of an address, and complains where it can't be.
pub(super) fn read(address: &Address, complaints: &mut Vec<Complaint>) -> AskedWeather {
    let [
        wind_kmh,
        from_deg,
        temperature_c,
        sea_level_pressure_hpa,
        humidity_pct,
    ] = QUANTITIES.map(|quantity| {
        let value = address.get(quantity.key)?.parse::<f64>();
        let within = value
            .ok()
            .filter(|v| (quantity.low..=quantity.high).contains(v));
        if within.is_none() {
            complaints.push(Complaint::new(quantity.key, quantity.expected));
        }
        within
    });
    let share = match address.get("shelter") {
        Some("sheltered") => Wind::SHELTERED_SHARE,
        Some("none") => 1.0,
        _ => Wind::OPEN_SHARE,
    };
    AskedWeather {
        wind: Wind {
            speed_ms: share * wind_kmh.unwrap_or(0.0) / 3.6,
            from_rad: from_deg.unwrap_or(0.0).to_radians(),
        },
        temperature_c,
        sea_level_pressure_hpa,
        humidity_pct,
    }
}
