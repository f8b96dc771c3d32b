//! What can be typed about the ride: the air, the wind, what is held, what is not known.

use clap::{Args, ValueEnum};

use super::typed::bounded;
use crate::prescription::{
    ELEVATION_M, Forecast, HUMIDITY_PCT, PRESSURE_HPA, SEA_LEVEL_PRESSURE_HPA, Shelter,
    TEMPERATURE_C, WIND_FROM_DEG, WIND_KMH,
};
use crate::ride::air::standard_pressure_hpa;
use crate::ride::{Pacing, Unknowns, Weather};

#[derive(Debug, Args)]
#[command(next_help_heading = "Weather")]
pub(super) struct WeatherArguments {
    /// Wind in km/h as a forecast tells it, 10 m above open ground
    #[arg(long, value_name = "KMH", value_parser = wind, requires = "wind_from", allow_hyphen_values = true)]
    wind: Option<f64>,
    /// Where the wind comes from, in degrees clockwise from north
    #[arg(long, value_name = "DEG", value_parser = direction, requires = "wind", allow_hyphen_values = true)]
    wind_from: Option<f64>,
    /// How much of the wind reaches the road
    #[arg(long, value_enum, default_value_t = ShelterName::Open)]
    shelter: ShelterName,
    #[command(flatten)]
    air: AirArguments,
    /// Elevation at which temperature, pressure and humidity were measured, in metres; without it, that of the route's start
    #[arg(long, value_name = "M", value_parser = elevation, allow_hyphen_values = true)]
    measured_at: Option<f64>,
}

/// What is known of the air.
#[derive(Debug, Args)]
pub(super) struct AirArguments {
    /// Air temperature in degrees Celsius
    #[arg(long, value_name = "C", value_parser = temperature, allow_hyphen_values = true)]
    temperature: Option<f64>,
    /// Station pressure in hectopascals: what a barometer there shows
    #[arg(
        long,
        value_name = "HPA",
        value_parser = pressure,
        allow_hyphen_values = true,
        conflicts_with = "sea_level_pressure"
    )]
    pressure: Option<f64>,
    /// Pressure reduced to sea level in hectopascals, as forecasts tell it
    #[arg(long, value_name = "HPA", value_parser = sea_level_pressure, allow_hyphen_values = true)]
    sea_level_pressure: Option<f64>,
    /// Relative humidity in per cent
    #[arg(long, value_name = "PCT", value_parser = humidity, allow_hyphen_values = true)]
    humidity: Option<f64>,
}

/// How much of a forecast's wind reaches a rider (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ShelterName {
    /// Six tenths: in the open
    Open,
    /// Three tenths: between trees and houses
    Sheltered,
    /// All: the wind was measured at the rider's height
    None,
}

impl From<ShelterName> for Shelter {
    fn from(name: ShelterName) -> Shelter {
        match name {
            ShelterName::Open => Shelter::Open,
            ShelterName::Sheltered => Shelter::Sheltered,
            ShelterName::None => Shelter::None,
        }
    }
}

/// Winds beyond this are no weather to ride in, in km/h: 8 on the Beaufort scale, a gale, begins at 62.
const UNUSUAL_WIND_KMH: f64 = 60.0;
/// Temperatures that rides are made in, in degrees Celsius. They only decide whether there is a note.
const USUAL_TEMPERATURES_C: std::ops::RangeInclusive<f64> = -10.0..=40.0;
/// Weather moves the pressure by no more than this share of the standard's at the same elevation: it stays within 870 and
/// 1085 hPa at sea level, the lowest and highest on record, and within 950 to 1050 almost always.
const USUAL_PRESSURE_SHARE: f64 = 0.06;

impl WeatherArguments {
    /// The weather on a route that starts at an elevation (metres).
    pub(super) fn weather(&self, start_elevation_m: f64) -> Weather {
        self.forecast().at(start_elevation_m)
    }

    /// The weather as it was typed.
    pub(super) fn forecast(&self) -> Forecast {
        Forecast {
            wind_kmh: self.wind,
            wind_from_deg: self.wind_from,
            shelter: self.shelter.into(),
            measured_at_m: self.measured_at,
            ..self.air.forecast()
        }
    }

    /// What is possible but seldom meant, a sentence each, on a route that starts at an elevation (metres).
    pub(super) fn notes(&self, start_elevation_m: f64) -> Vec<String> {
        let mut notes = self
            .air
            .notes(self.measured_at.unwrap_or(start_elevation_m));
        if let Some(wind_kmh) = self.wind.filter(|w| *w > UNUSUAL_WIND_KMH) {
            notes.push(format!(
                "--wind {wind_kmh}: a gale, which is unusual to ride in, but used as written: kilometres per hour"
            ));
        }
        notes
    }
}

impl AirArguments {
    /// The air where it was measured at an elevation (metres); no wind.
    pub(super) fn weather(&self, measured_at_m: f64) -> Weather {
        self.forecast().at(measured_at_m)
    }

    fn forecast(&self) -> Forecast {
        Forecast {
            temperature_c: self.temperature,
            pressure_hpa: self.pressure,
            sea_level_pressure_hpa: self.sea_level_pressure,
            humidity_pct: self.humidity,
            ..Forecast::default()
        }
    }

    /// What is possible but seldom meant, a sentence each.
    pub(super) fn notes(&self, measured_at_m: f64) -> Vec<String> {
        let mut notes = Vec::new();
        if let Some(celsius) = self
            .temperature
            .filter(|c| !USUAL_TEMPERATURES_C.contains(c))
        {
            notes.push(format!(
                "--temperature {celsius}: unusual ({} to {} is usual) but used as written: degrees Celsius",
                USUAL_TEMPERATURES_C.start(),
                USUAL_TEMPERATURES_C.end()
            ));
        }
        let far = |hpa: f64, standard: f64| (hpa / standard - 1.0).abs() > USUAL_PRESSURE_SHARE;
        let standard = standard_pressure_hpa(measured_at_m);
        if let Some(hpa) = self.pressure.filter(|p| far(*p, standard)) {
            notes.push(format!(
                "--pressure {hpa}: unusual at {measured_at_m:.0} m, where the standard is {standard:.0} hPa, but used as written; \
                 a forecast's is --sea-level-pressure"
            ));
        }
        let standard = standard_pressure_hpa(0.0);
        if let Some(hpa) = self.sea_level_pressure.filter(|p| far(*p, standard)) {
            notes.push(format!(
                "--sea-level-pressure {hpa}: unusual, the standard is {standard:.0} hPa, but used as written; \
                 what a barometer shows up there is --pressure"
            ));
        }
        notes
    }
}

/// What the rider holds in a rep or on a climb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum PacingName {
    /// The cadence, the power flexing inside its band
    Cadence,
    /// The power, the cadence following the grade
    Power,
}

impl From<PacingName> for Pacing {
    fn from(name: PacingName) -> Pacing {
        match name {
            PacingName::Cadence => Pacing::Cadence,
            PacingName::Power => Pacing::Power,
        }
    }
}

#[derive(Debug, Args)]
#[command(next_help_heading = "How far each unknown may be off, plus or minus, nine times in ten")]
pub(super) struct UnknownsArguments {
    /// Mass of rider, bike and kit, in kilograms
    #[arg(long, value_name = "KG", default_value_t = Unknowns::default().mass_kg, value_parser = mass_within, allow_hyphen_values = true)]
    mass_within: f64,
    /// Drag area, in per cent
    #[arg(long, value_name = "PCT", default_value_t = 100.0 * Unknowns::default().cda_share, value_parser = share_within, allow_hyphen_values = true)]
    cda_within: f64,
    /// Least rolling resistance coefficient
    #[arg(long, value_name = "CRR", default_value_t = Unknowns::default().crr_low, value_parser = rolling, allow_hyphen_values = true)]
    crr_from: f64,
    /// Greatest rolling resistance coefficient
    #[arg(long, value_name = "CRR", default_value_t = Unknowns::default().crr_high, value_parser = rolling, allow_hyphen_values = true)]
    crr_to: f64,
    /// Power meter, in per cent
    #[arg(long, value_name = "PCT", default_value_t = 100.0 * Unknowns::default().power_share, value_parser = share_within, allow_hyphen_values = true)]
    power_within: f64,
    /// Wind along the road, in metres per second
    #[arg(long, value_name = "M/S", default_value_t = Unknowns::default().wind_ms, value_parser = wind_within, allow_hyphen_values = true)]
    wind_within: f64,
}

impl UnknownsArguments {
    /// The half-widths, or why they can't be true.
    pub(super) fn unknowns(&self) -> Result<Unknowns, String> {
        if self.crr_from > self.crr_to {
            return Err(format!(
                "--crr-from {} is above --crr-to {}; write the smaller one first",
                self.crr_from, self.crr_to
            ));
        }
        Ok(Unknowns {
            mass_kg: self.mass_within,
            cda_share: self.cda_within / 100.0,
            crr_low: self.crr_from,
            crr_high: self.crr_to,
            power_share: self.power_within / 100.0,
            wind_ms: self.wind_within,
        })
    }

    /// What is possible but seldom meant, a sentence each, for a rider whose coefficient of rolling resistance is `crr`.
    pub(super) fn notes(&self, crr: f64) -> Vec<String> {
        if (self.crr_from..=self.crr_to).contains(&crr) {
            return Vec::new();
        }
        vec![format!(
            "the rider's crr of {crr} is outside the {} to {} within which it lies (--crr-from, --crr-to); both are used as written",
            self.crr_from, self.crr_to
        )]
    }
}

fn wind(text: &str) -> Result<f64, String> {
    WIND_KMH.read(text)
}

fn direction(text: &str) -> Result<f64, String> {
    WIND_FROM_DEG.read(text)
}

fn temperature(text: &str) -> Result<f64, String> {
    TEMPERATURE_C.read(text)
}

fn pressure(text: &str) -> Result<f64, String> {
    PRESSURE_HPA.read(text)
}

fn sea_level_pressure(text: &str) -> Result<f64, String> {
    SEA_LEVEL_PRESSURE_HPA.read(text)
}

fn humidity(text: &str) -> Result<f64, String> {
    HUMIDITY_PCT.read(text)
}

pub(super) fn elevation(text: &str) -> Result<f64, String> {
    ELEVATION_M.read(text)
}

fn mass_within(text: &str) -> Result<f64, String> {
    let why = "a scale knows better than that";
    bounded(text, 0.0, 20.0, "kg", why)
}

fn share_within(text: &str) -> Result<f64, String> {
    bounded(
        text,
        0.0,
        50.0,
        "per cent",
        "beyond that nothing is known at all",
    )
}

fn wind_within(text: &str) -> Result<f64, String> {
    let why = "beyond that nobody rides";
    bounded(text, 0.0, 15.0, "m/s", why)
}

fn rolling(text: &str) -> Result<f64, String> {
    let why = "no tyre on a road rolls easier or harder";
    bounded(text, 0.001, 0.03, "(a coefficient)", why)
}
