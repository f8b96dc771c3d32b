//! The weather of an address.

use super::address::Address;
use super::complaint::Complaint;
use crate::prescription::{
    Forecast, HUMIDITY_PCT, SEA_LEVEL_PRESSURE_HPA, Shelter, TEMPERATURE_C, WIND_FROM_DEG,
    WIND_KMH, WeatherBounds,
};

/// Keys of the weather in an address.
pub(super) const KEYS: [&str; 6] = [
    "wind_kmh",
    "wind_from_deg",
    "shelter",
    "temperature_c",
    "sea_level_pressure_hpa",
    "humidity_pct",
];

/// Reads the weather of an address, and complains where it can't be.
pub(super) fn read(address: &Address, complaints: &mut Vec<Complaint>) -> Forecast {
    let mut number = |key: &str, bounds: &WeatherBounds| match bounds.read(address.get(key)?) {
        Ok(value) => Some(value),
        Err(expected) => {
            complaints.push(Complaint::new(key, &expected));
            None
        }
    };
    let wind_kmh = number("wind_kmh", &WIND_KMH);
    let wind_from_deg = number("wind_from_deg", &WIND_FROM_DEG);
    let forecast = Forecast {
        wind_kmh,
        wind_from_deg,
        shelter: match address.get("shelter") {
            Some("sheltered") => Shelter::Sheltered,
            Some("none") => Shelter::None,
            _ => Shelter::Open,
        },
        temperature_c: number("temperature_c", &TEMPERATURE_C),
        sea_level_pressure_hpa: number("sea_level_pressure_hpa", &SEA_LEVEL_PRESSURE_HPA),
        humidity_pct: number("humidity_pct", &HUMIDITY_PCT),
        ..Forecast::default()
    };
    let blows = wind_kmh.is_some_and(|kmh| kmh > 0.0);
    if blows && address.get("wind_from_deg").is_none() {
        let text = "expected where the wind comes from as well, as 270 for a west wind";
        complaints.push(Complaint::new("wind_from_deg", text));
    } else if wind_from_deg.is_some() && address.get("wind_kmh").is_none() {
        let text = "expected how fast the wind is as well";
        complaints.push(Complaint::new("wind_kmh", text));
    }
    forecast
}
