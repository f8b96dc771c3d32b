//! Single values as they are typed.

use crate::route::LatLon;

/// A number within bounds; `why` says why beyond them it can't be true.
pub(super) fn bounded(
    text: &str,
    from: f64,
    to: f64,
    unit: &str,
    why: &str,
) -> Result<f64, String> {
    let within = || format!("expected {from} to {to} {unit}: {why}");
    let value: f64 = text.trim().parse().map_err(|_| within())?;
    if (from..=to).contains(&value) {
        Ok(value)
    } else {
        Err(within())
    }
}

pub(super) fn place(text: &str) -> Result<LatLon, String> {
    let numbers = text
        .split_once(',')
        .and_then(|(lat, lon)| Some((lat.trim().parse().ok()?, lon.trim().parse().ok()?)));
    match numbers {
        Some((lat_deg, lon_deg))
            if (-90.0..=90.0).contains(&lat_deg) && (-180.0..=180.0).contains(&lon_deg) =>
        {
            Ok(LatLon { lat_deg, lon_deg })
        }
        Some(_) => {
            Err("expected a latitude from -90 to 90 and a longitude from -180 to 180".to_owned())
        }
        None => Err("expected a latitude and a longitude in degrees, as 45.1,7.2".to_owned()),
    }
}

/// Metres in a statute mile (the international yard and pound agreement of 1959).
const METRES_PER_MILE: f64 = 1609.344;

pub(super) fn distance(text: &str) -> Result<f64, String> {
    const UNITS: [(&str, f64); 3] = [("km", 1000.0), ("mi", METRES_PER_MILE), ("m", 1.0)];
    let text = text.trim();
    let expected = || "expected a distance up to 1000 km, as 25km, 800m or 10mi".to_owned();
    let metres = UNITS
        .iter()
        .find_map(|(unit, metres)| Some((text.strip_suffix(unit)?, metres)))
        .and_then(|(number, metres)| Some(number.trim().parse::<f64>().ok()? * metres))
        .ok_or_else(expected)?;
    if metres > 0.0 && metres <= 1e6 {
        Ok(metres)
    } else {
        Err(expected())
    }
}

pub(super) fn time(text: &str) -> Result<f64, String> {
    crate::prescription::parse_duration(text)
}

pub(super) fn rep_on_climb(text: &str) -> Result<(usize, usize), String> {
    let numbers = text
        .split_once('=')
        .and_then(|(rep, climb)| Some((rep.trim().parse().ok()?, climb.trim().parse().ok()?)));
    numbers.ok_or_else(|| "expected a rep and a climb, as 3=7".to_owned())
}

pub(super) fn headwind(text: &str) -> Result<f64, String> {
    bounded(text, -100.0, 100.0, "km/h", "nobody rides in more")
}

pub(super) fn length(text: &str) -> Result<f64, String> {
    let why = "shorter is a ramp, longer no road climbs";
    bounded(text, 100.0, 100_000.0, "metres", why)
}

pub(super) fn grade(text: &str) -> Result<f64, String> {
    let why = "gentler is flat, steeper no road is";
    bounded(text, 0.5, 40.0, "per cent", why)
}

pub(super) fn share(text: &str) -> Result<f64, String> {
    let why = "less no road keeps to, more is no rule";
    bounded(text, 0.02, 2.0, "(a share)", why)
}

pub(super) fn kink(text: &str) -> Result<f64, String> {
    bounded(
        text,
        0.0,
        500.0,
        "metres",
        "longer is no kink but a road of its own",
    )
}
