//! What a plan was made for: the rider, the blocks of the set, the weather; as documents have it and in words.

use super::document::{AimedBand, AskedBlockEntry, AskedEntry, WeatherEntry};
use super::near::point_of_the_compass;
use super::rounded;
use super::text::{Paper, Units, clean};
use crate::gearing::Band;
use crate::matching::Demand;
use crate::prescription::{Forecast, RiderFile, Shelter, duration_text};

/// The rider, the set and the weather, as a plan carries them so that a recording can be held against it later.
pub fn asked_entry(
    name: &str,
    file: &RiderFile,
    warm_up_s: f64,
    demands: &[Demand],
    forecast: &Forecast,
) -> AskedEntry {
    AskedEntry {
        rider: name.to_owned(),
        rider_mass_kg: file.rider.mass_kg,
        threshold_w: file.rider.threshold_w,
        recovery_ceiling_w: rounded(
            file.rider.recovery_ceiling_share * file.rider.threshold_w,
            1,
        ),
        warm_up_s,
        blocks: demands
            .iter()
            .zip(1..)
            .map(|(demand, number)| block_entry(demand, number))
            .collect(),
        weather: weather_entry(forecast),
    }
}

fn block_entry(demand: &Demand, number: usize) -> AskedBlockEntry {
    AskedBlockEntry {
        block: number,
        reps: demand.reps,
        maximal: demand.start.is_some(),
        from_kmh: demand.start.map(|s| rounded(3.6 * s.from_ms, 1)),
        work_s: demand.work_s,
        recovery_at_least_s: demand.recovery_at_least_s,
        recovery_at_most_s: demand.recovery_at_most_s,
        power_band_w: aimed(&demand.bands.power_w),
        cadence_band_rpm: aimed(&demand.bands.cadence_rpm),
        torque_band_nm: demand.bands.torque_nm.as_ref().map(aimed),
    }
}

fn weather_entry(forecast: &Forecast) -> WeatherEntry {
    // The wind on the road is the same at every elevation.
    let on_the_road_ms = forecast.at(0.0).wind.speed_ms;
    WeatherEntry {
        wind_kmh: forecast.wind_kmh,
        wind_from_deg: forecast.wind_from_deg,
        shelter: match forecast.shelter {
            Shelter::Open => "open",
            Shelter::Sheltered => "sheltered",
            Shelter::None => "none",
        }
        .to_owned(),
        road_wind_kmh: rounded(3.6 * on_the_road_ms, 1),
        temperature_c: forecast.temperature_c,
        pressure_hpa: forecast.pressure_hpa,
        sea_level_pressure_hpa: forecast.sea_level_pressure_hpa,
        humidity_pct: forecast.humidity_pct,
        measured_at_m: forecast.measured_at_m,
    }
}

/// A band to hold, as documents have it.
pub(super) fn aimed(band: &Band) -> AimedBand {
    AimedBand {
        from: rounded(band.from, 2),
        to: rounded(band.to, 2),
        aim: rounded(band.aim, 2),
    }
}

/// What was asked for, a clause a block, and who rides it.
pub(super) fn words(asked: &AskedEntry, paper: &Paper) -> String {
    let blocks: Vec<String> = asked.blocks.iter().map(|b| block_words(b, paper)).collect();
    let warm_up = if asked.warm_up_s > 0.0 {
        format!(
            "; {} of riding before the first",
            duration_text(asked.warm_up_s)
        )
    } else {
        String::new()
    };
    let name = clean(&asked.rider);
    let name = name.trim();
    // A file that is called rider.toml names nobody.
    let rider = if name.is_empty() || name.eq_ignore_ascii_case("rider") {
        "Rider"
    } else {
        name
    };
    format!(
        "Asked for: {}{warm_up}. {rider}: {:.0} {} undressed, threshold {:.0} W.",
        blocks.join("; then "),
        paper.mass_number(asked.rider_mass_kg),
        paper.mass_unit(),
        asked.threshold_w
    )
}

fn block_words(block: &AskedBlockEntry, paper: &Paper) -> String {
    let least = duration_text(block.recovery_at_least_s);
    let rest = match block.recovery_at_most_s {
        Some(most) => format!("{least} to {} easy after each", duration_text(most)),
        None => format!("at least {least} easy after each"),
    };
    let work = duration_text(block.work_s);
    if block.maximal {
        let from = block.from_kmh.map_or(String::new(), |kmh| {
            format!(" from a roll of {}", speed(kmh, paper))
        });
        return format!("{} × {work} all out{from}, {rest}", block.reps);
    }
    let band = |band: &AimedBand, unit: &str| {
        format!(
            "{:.0}–{:.0} {unit} (aim {:.0})",
            band.from, band.to, band.aim
        )
    };
    let torque = block
        .torque_band_nm
        .map_or(String::new(), |t| format!(", {}", band(&t, "N·m")));
    format!(
        "{} × {work} at {}, {}{torque}, {rest}",
        block.reps,
        band(&block.cadence_band_rpm, "rpm"),
        band(&block.power_band_w, "W")
    )
}

/// The air that the times suppose.
pub(super) fn air(weather: &WeatherEntry, paper: &Paper) -> String {
    let mut told = vec![wind(weather, paper)];
    let known = [
        weather
            .temperature_c
            .map(|c| format!("{c:.0} degrees Celsius")),
        weather.pressure_hpa.map(|p| format!("{p:.0} hPa")),
        weather
            .sea_level_pressure_hpa
            .map(|p| format!("{p:.0} hPa at sea level")),
        weather.humidity_pct.map(|h| format!("{h:.0} % humid")),
    ];
    told.extend(known.into_iter().flatten());
    format!(
        "Air: {}. What the wind really is changes times most.",
        told.join(", ")
    )
}

fn wind(weather: &WeatherEntry, paper: &Paper) -> String {
    let typed = weather.wind_kmh.zip(weather.wind_from_deg);
    let Some((kmh, from_deg)) = typed.filter(|(kmh, _)| *kmh > 0.0) else {
        return "still".to_owned();
    };
    let from = format!(
        "from {} ({from_deg:.0} degrees)",
        point_of_the_compass(from_deg)
    );
    let on_the_road = speed(weather.road_wind_kmh, paper);
    let shelter = match weather.shelter.as_str() {
        "open" => "0.6 of it, in the open",
        "sheltered" => "0.3 of it, between trees and houses",
        _ => "all of it, measured at the rider's height",
    };
    format!(
        "{} {from}, about {on_the_road} on the road ({shelter})",
        speed(kmh, paper)
    )
}

/// A speed as whole as forecasts are.
fn speed(kmh: f64, paper: &Paper) -> String {
    match paper.units {
        Units::Metric => format!("{kmh:.0} km/h"),
        Units::Imperial => format!("{:.0} mph", paper.far_value(1000.0 * kmh)),
    }
}
