//! The weather as it is typed, wherever it is typed: numbers within bounds, for whatever elevation a route starts at.

use crate::ride::Weather;
use crate::ride::air::Wind;

/// A number of the weather with its bounds; outside them it is a slip of the unit or the decimal point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherBounds {
    low: f64,
    high: f64,
    unit: &'static str,
    why: &'static str,
}

const fn bounds(low: f64, high: f64, unit: &'static str, why: &'static str) -> WeatherBounds {
    WeatherBounds {
        low,
        high,
        unit,
        why,
    }
}

/// Wind as a forecast tells it.
pub const WIND_KMH: WeatherBounds = bounds(0.0, 100.0, "km/h", "nobody rides in more");
/// Where the wind comes from.
pub const WIND_FROM_DEG: WeatherBounds = bounds(
    0.0,
    360.0,
    "degrees",
    "where it comes from, clockwise from north",
);
/// Air temperature.
pub const TEMPERATURE_C: WeatherBounds = bounds(
    -40.0,
    55.0,
    "degrees Celsius",
    "nobody rides in colder or hotter air",
);
/// Station pressure: what a barometer there shows.
pub const PRESSURE_HPA: WeatherBounds = bounds(
    300.0,
    1100.0,
    "hectopascals",
    "from the highest summit to the highest on record",
);
/// Pressure reduced to sea level, as forecasts tell it.
pub const SEA_LEVEL_PRESSURE_HPA: WeatherBounds = bounds(
    850.0,
    1100.0,
    "hectopascals",
    "the lowest and the highest on record lie within",
);
/// Relative humidity.
pub const HUMIDITY_PCT: WeatherBounds = bounds(0.0, 100.0, "per cent", "from dry to saturated");
/// Elevation of a road.
pub const ELEVATION_M: WeatherBounds = bounds(-500.0, 9000.0, "metres", "roads lie within");

impl WeatherBounds {
    /// A number as it was typed.
    ///
    /// # Errors
    /// What was expected, where it is none or out of bounds.
    pub fn read(&self, text: &str) -> Result<f64, String> {
        let value = text.trim().parse::<f64>().ok();
        let within = value.filter(|v| (self.low..=self.high).contains(v));
        within.ok_or_else(|| {
            let WeatherBounds {
                low,
                high,
                unit,
                why,
            } = self;
            format!("expected {low} to {high} {unit}: {why}")
        })
    }
}

/// How much of a forecast's wind reaches a rider (common practice, no source).
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Shelter {
    /// Six tenths: in the open.
    #[default]
    Open,
    /// Three tenths: between trees and houses.
    Sheltered,
    /// All: the wind was measured at the rider's height.
    None,
}

/// What was typed of the weather.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Forecast {
    /// Wind 10 m above open ground, in km/h.
    pub wind_kmh: Option<f64>,
    /// Where it comes from, in degrees clockwise from north.
    pub wind_from_deg: Option<f64>,
    /// How much of it reaches the road.
    pub shelter: Shelter,
    /// Air temperature, in degrees Celsius.
    pub temperature_c: Option<f64>,
    /// Station pressure, in hectopascals.
    pub pressure_hpa: Option<f64>,
    /// Pressure reduced to sea level, in hectopascals.
    pub sea_level_pressure_hpa: Option<f64>,
    /// Relative humidity, in per cent.
    pub humidity_pct: Option<f64>,
    /// Elevation at which temperature, pressure and humidity were measured, in metres; where it is not known, a route's start.
    pub measured_at_m: Option<f64>,
}

impl Forecast {
    /// The weather on a route that starts at an elevation (metres).
    ///
    /// ```
    /// use hillwright::prescription::Forecast;
    /// let windy = Forecast { wind_kmh: Some(18.0), ..Forecast::default() };
    /// assert!((windy.at(0.0).wind.speed_ms - 3.0).abs() < 1e-12); // six tenths of 5 m/s
    /// ```
    pub fn at(&self, start_elevation_m: f64) -> Weather {
        let share = match self.shelter {
            Shelter::Open => Wind::OPEN_SHARE,
            Shelter::Sheltered => Wind::SHELTERED_SHARE,
            Shelter::None => 1.0,
        };
        Weather {
            temperature_c: self.temperature_c,
            pressure_hpa: self.pressure_hpa,
            sea_level_pressure_hpa: self.sea_level_pressure_hpa,
            humidity_pct: self.humidity_pct,
            measured_at_m: self.measured_at_m.unwrap_or(start_elevation_m),
            wind: Wind {
                speed_ms: share * self.wind_kmh.unwrap_or(0.0) / 3.6,
                from_rad: self.wind_from_deg.unwrap_or(0.0).to_radians(),
            },
        }
    }
}
