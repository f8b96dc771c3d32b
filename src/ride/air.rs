//! Air density and wind.

/// Standard sea-level pressure, in pascals (ISO 2533:1975, table 1).
const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;
/// Standard sea-level temperature, in kelvins (ISO 2533:1975, table 1).
const SEA_LEVEL_TEMPERATURE_K: f64 = 288.15;
/// Temperature gradient below 11 km, in kelvins per metre (ISO 2533:1975, table 4).
const LAPSE_K_PER_M: f64 = -0.0065;
/// Specific gas constant of dry air, in J/(kg·K) (ISO 2533:1975, table 1).
const GAS_CONSTANT_DRY_AIR: f64 = 287.052_87;
/// Specific gas constant of water vapour, in J/(kg·K) (8.314 462 618 J/(mol·K), CODATA 2018, over 18.015 27 g/mol, IAPWS).
const GAS_CONSTANT_VAPOUR: f64 = 461.523;
/// Standard acceleration of free fall, in m/s² (ISO 2533:1975, table 1).
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
/// Nominal Earth radius that turns heights into geopotential heights, in metres (ISO 2533:1975, equation 8).
const NOMINAL_EARTH_RADIUS_M: f64 = 6_356_766.0;

/// What is known of the air; everything unknown is taken from the standard atmosphere.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Weather {
    /// Air temperature where the elevation is `measured_at_m`, in degrees Celsius.
    pub temperature_c: Option<f64>,
    /// Station pressure where the elevation is `measured_at_m`, in hectopascals.
    pub pressure_hpa: Option<f64>,
    /// Pressure reduced to sea level with the standard's gradient, in hectopascals; the station pressure goes before it.
    pub sea_level_pressure_hpa: Option<f64>,
    /// Relative humidity, in per cent; 0 where unknown.
    pub humidity_pct: Option<f64>,
    /// Elevation at which the above were measured, in metres.
    pub measured_at_m: f64,
    /// The wind at the rider's height.
    pub wind: Wind,
}

/// A steady wind at the rider's height.
///
/// A forecast speaks of 10 m above open ground; at the rider's height it is about 0.6 of that in the open and 0.3
/// between trees and houses (common practice, no source).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Wind {
    /// Speed, in metres per second.
    pub speed_ms: f64,
    /// Where it comes from, in radians clockwise from north.
    pub from_rad: f64,
}

impl Wind {
    /// What of a forecast's wind reaches a rider in the open (common practice, no source).
    pub const OPEN_SHARE: f64 = 0.6;
    /// What of it reaches a rider between trees and houses (common practice, no source).
    pub const SHELTERED_SHARE: f64 = 0.3;

    /// The headwind felt by somebody who travels along `bearing_rad`, in metres per second; negative from behind.
    pub fn headwind_ms(&self, bearing_rad: f64) -> f64 {
        self.speed_ms * (self.from_rad - bearing_rad).cos()
    }
}

/// Density of the air at an elevation above the sea, in kg/m³.
///
/// Without measurements: the standard atmosphere of ISO 2533:1975, to the digits of its tables between -2,000 and
/// 11,000 m. Measured temperature and pressure are carried to the elevation with the standard's gradient; moist air is a
/// mixture of ideal gases, within 0.1 % of tables of humid air.
///
/// ```
/// use hillwright::ride::{Weather, air::density_kg_m3};
/// let at_sea_level = density_kg_m3(0.0, &Weather::default());
/// assert!((at_sea_level - 1.225).abs() < 1e-4);
/// ```
pub fn density_kg_m3(elevation_m: f64, weather: &Weather) -> f64 {
    let station_h = geopotential_height_m(weather.measured_at_m);
    let h = geopotential_height_m(elevation_m);
    let station_temperature_k = match weather.temperature_c {
        Some(celsius) => celsius + 273.15,
        None => SEA_LEVEL_TEMPERATURE_K + LAPSE_K_PER_M * station_h,
    };
    let temperature_k = station_temperature_k + LAPSE_K_PER_M * (h - station_h);
    let station_pressure_pa = match weather.pressure_hpa {
        Some(hpa) => hpa * 100.0,
        None => {
            let sea_level_k = station_temperature_k - LAPSE_K_PER_M * station_h;
            let sea_level_pa = weather
                .sea_level_pressure_hpa
                .map_or(SEA_LEVEL_PRESSURE_PA, |hpa| hpa * 100.0);
            sea_level_pa * pressure_ratio(sea_level_k, station_temperature_k)
        }
    };
    let pressure_pa = station_pressure_pa * pressure_ratio(station_temperature_k, temperature_k);
    let share = weather.humidity_pct.unwrap_or(0.0) / 100.0;
    let vapour_pa = (share * saturation_pressure_pa(temperature_k)).min(pressure_pa);
    (pressure_pa - vapour_pa) / (GAS_CONSTANT_DRY_AIR * temperature_k)
        + vapour_pa / (GAS_CONSTANT_VAPOUR * temperature_k)
}

/// Pressure of the standard atmosphere at an elevation (metres), in hectopascals.
///
/// ```
/// use hillwright::ride::air::standard_pressure_hpa;
/// assert!((standard_pressure_hpa(1000.0) - 898.762).abs() < 0.01); // ISO 2533:1975, table 5
/// ```
pub fn standard_pressure_hpa(elevation_m: f64) -> f64 {
    let h = geopotential_height_m(elevation_m);
    let here_k = SEA_LEVEL_TEMPERATURE_K + LAPSE_K_PER_M * h;
    SEA_LEVEL_PRESSURE_PA * pressure_ratio(SEA_LEVEL_TEMPERATURE_K, here_k) / 100.0
}

/// Pressure at the second temperature over pressure at the first, both on one gradient (ISO 2533:1975, equation 12).
fn pressure_ratio(from_k: f64, to_k: f64) -> f64 {
    (to_k / from_k).powf(-STANDARD_GRAVITY_M_S2 / (LAPSE_K_PER_M * GAS_CONSTANT_DRY_AIR))
}

/// Geopotential height of a height above the sea (ISO 2533:1975, equation 8), in metres.
fn geopotential_height_m(height_m: f64) -> f64 {
    NOMINAL_EARTH_RADIUS_M * height_m / (NOMINAL_EARTH_RADIUS_M + height_m)
}

/// Saturation pressure of water vapour over water, in pascals (Alduchov and Eskridge, J. Appl. Meteorol. 35, 1996,
/// 601–609, equation 21; within 0.4 % from -40 to 50 °C).
fn saturation_pressure_pa(temperature_k: f64) -> f64 {
    let celsius = temperature_k - 273.15;
    610.94 * (17.625 * celsius / (243.04 + celsius)).exp()
}
