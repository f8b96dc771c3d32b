//! What an address asks for: rider, bike, set, weather and wishes, read as the program reads its files.
//!
//! The values of an address are put into the text of a rider file and of a set file, which are then read by their one reader: the
//! page refuses what the files refuse, in the same words.

use std::fmt::Write;

use super::address::Address;
use super::air;
use super::complaint::Complaint;
use crate::gearing::Drive;
use crate::matching::{Demand, Rates, Wishes};
use crate::output::{Paper, Units};
use crate::prescription::{
    Forecast, PrescriptionError, RiderFile, Set, parse_rider, parse_set, toml_text,
};
use crate::ride::Pacing;

/// Everything that a plan is made from, save the road.
#[derive(Debug, Clone)]
pub struct Order {
    /// Who rides.
    pub rider: RiderFile,
    /// The rider's bike.
    pub drive: Drive,
    /// What is prescribed.
    pub set: Set,
    /// The same, block by block, in this rider's watts.
    pub demands: Vec<Demand>,
    /// The weather.
    pub weather: Forecast,
    /// What the plan may do and must keep to.
    pub wishes: Wishes,
    /// How often a loop may be ridden.
    pub laps: usize,
    /// At what rates the parts of a cost are counted.
    pub rates: Rates,
    /// Units.
    pub paper: Paper,
    /// The key of the route that was chosen; none where the best is wanted.
    pub route: Option<String>,
}

/// More laps nobody plans.
const MOST_LAPS: usize = 20;
/// A set file holds no more blocks.
const MOST_BLOCKS: usize = 50;

/// Numbers of a rider file that an address may hold, by table.
const RIDER_NUMBERS: [&str; 6] = [
    "mass_kg",
    "threshold_w",
    "easy_share",
    "steady_share",
    "recovery_ceiling_share",
    "descent_limit_kmh",
];
const BIKE_NUMBERS: [&str; 3] = ["mass_kg", "kit_kg", "crank_mm"];
const RESISTANCE_NUMBERS: [&str; 3] = ["cda_m2", "crr", "drivetrain_efficiency"];
/// Keys of a block, after its number and a point.
const BLOCK_KEYS: [&str; 16] = [
    "effort",
    "reps",
    "work",
    "recovery.at_least",
    "recovery.at_most",
    "power.unit",
    "power.from",
    "power.to",
    "power.aim",
    "cadence_rpm.from",
    "cadence_rpm.to",
    "cadence_rpm.aim",
    "torque_nm.from",
    "torque_nm.to",
    "torque_nm.aim",
    "from_kmh",
];
/// Keys besides those of rider, bike, set and weather.
const OTHER_KEYS: [&str; 7] = [
    "route",
    "keep",
    "avoid",
    "turn_round",
    "laps",
    "pacing",
    "units",
];

/// Whether a key is the rider file's.
pub fn is_riders(key: &str) -> bool {
    ["rider.", "bike.", "resistance."]
        .iter()
        .any(|table| key.starts_with(table))
}

/// Whether a key is the set file's.
pub fn is_sets(key: &str) -> bool {
    key == "name" || key == "warm_up" || block_of(key).is_some()
}

/// The block (from 1) that a key belongs to.
fn block_of(key: &str) -> Option<(usize, &str)> {
    let (number, rest) = key.split_once('.')?;
    let number: usize = number.parse().ok()?;
    (1..=MOST_BLOCKS)
        .contains(&number)
        .then_some((number, rest))
}

/// How many blocks an address holds.
pub fn blocks(address: &Address) -> usize {
    let numbers = address.pairs().iter().filter_map(|p| block_of(&p.0));
    numbers.map(|(number, _)| number).max().unwrap_or(0)
}

/// Reads an order.
///
/// # Errors
fn drive(rider: &RiderFile) -> Drive {
    Drive::new(&rider.rider, &rider.bike, &rider.resistance)
}

/// Everything that is wrong with it, each at its key.
pub fn read(address: &Address) -> Result<Order, Vec<Complaint>> {
    let mut complaints = unknown_keys(address);
    let rider = parse_rider(&rider_toml(address));
    let set = parse_set(&set_toml(address));
    let weather = air::read(address, &mut complaints);
    let (wishes, laps) = wishes(address, &mut complaints);
    let paper = Paper {
        units: match address.get("units") {
            Some("imperial") => Units::Imperial,
            _ => Units::Metric,
        },
        ..Paper::default()
    };
    let demands = match (&rider, &set) {
        (Ok(rider), Ok(set)) => Demand::of_set(set, rider.rider.threshold_w, &drive(rider))
            .map_err(|error| complaints.push(Complaint::new("1", &error.to_string())))
            .ok(),
        _ => None,
    };
    let rider = told(rider, &mut complaints, rider_key);
    let set = told(set, &mut complaints, set_key);
    match (rider, set, demands) {
        (Some(rider), Some(set), Some(demands)) if complaints.is_empty() => Ok(Order {
            drive: drive(&rider),
            rider,
            set,
            demands,
            weather,
            wishes,
            laps,
            rates: Rates::default(),
            paper,
            route: address.get("route").map(str::to_owned),
        }),
        _ => Err(complaints),
    }
}

fn told<T>(
    read: Result<T, PrescriptionError>,
    complaints: &mut Vec<Complaint>,
    key: fn(&str) -> String,
) -> Option<T> {
    read.map_err(|error| {
        complaints.extend(error.problems.iter().map(|p| Complaint::of_problem(p, key)));
    })
    .ok()
}

fn unknown_keys(address: &Address) -> Vec<Complaint> {
    let tables: [(&str, &[&str]); 3] = [
        ("rider", &RIDER_NUMBERS),
        ("bike", &BIKE_NUMBERS),
        ("resistance", &RESISTANCE_NUMBERS),
    ];
    let of_table = |key: &str| {
        key.split_once('.').is_some_and(|(table, rest)| {
            tables.iter().any(|(t, k)| *t == table && k.contains(&rest))
        })
    };
    let known = |key: &str| {
        of_table(key)
            || RIDER_TEXTS.contains(&key)
            || OTHER_KEYS.contains(&key)
            || air::KEYS.contains(&key)
            || ["name", "warm_up"].contains(&key)
            || block_of(key).is_some_and(|(_, rest)| BLOCK_KEYS.contains(&rest))
    };
    address
        .pairs()
        .iter()
        .filter(|pair| !known(&pair.0))
        .map(|pair| {
            let key: String = pair.0.chars().take(40).collect();
            Complaint::new(
                "",
                &format!("`{key}` in the address means nothing here; take it out"),
            )
        })
        .collect()
}

/// Keys of a rider file that are no numbers.
const RIDER_TEXTS: [&str; 6] = [
    "rider.name",
    "bike.tyre",
    "bike.chainrings",
    "bike.sprockets",
    "bike.hub_ratios",
    "bike.power_measured_at",
];

/// The key of the address for a key of a rider file.
fn rider_key(key: &str) -> String {
    match key {
        "bike.circumference_mm" => "bike.tyre".to_owned(),
        key => key.split('[').next().unwrap_or(key).to_owned(),
    }
}

/// The key of the address for a key of a set file: `block[2].power_w.from` is `2.power.from`.
fn set_key(key: &str) -> String {
    let Some((number, rest)) = key.strip_prefix("block[").and_then(|k| k.split_once(']')) else {
        return key.to_owned();
    };
    let rest = rest.trim_start_matches('.');
    let rest = rest
        .replace("power_share", "power")
        .replace("power_w", "power");
    match rest.as_str() {
        "" => number.to_owned(),
        "power" | "cadence_rpm" | "torque_nm" => format!("{number}.{rest}.from"),
        rest => format!("{number}.{rest}"),
    }
}

/// The text of a rider file with an address's values.
fn rider_toml(address: &Address) -> String {
    let mut text = String::new();
    let numbers = |text: &mut String, table: &str, keys: &[&str]| {
        for key in keys {
            if let Some(value) = address.get(&format!("{table}.{key}")) {
                line(text, key, &number(value));
            }
        }
    };
    text += "[rider]\n";
    if let Some(name) = address.get("rider.name") {
        line(&mut text, "name", &toml_text(name));
    }
    numbers(&mut text, "rider", &RIDER_NUMBERS);
    text += "[bike]\n";
    numbers(&mut text, "bike", &BIKE_NUMBERS);
    if let Some(tyre) = address.get("bike.tyre") {
        let measured = tyre.parse::<f64>().is_ok();
        let key = if measured { "circumference_mm" } else { "tyre" };
        let value = if measured {
            number(tyre)
        } else {
            toml_text(tyre)
        };
        line(&mut text, key, &value);
    }
    for key in ["chainrings", "sprockets", "hub_ratios"] {
        if let Some(value) = address.get(&format!("bike.{key}")) {
            line(&mut text, key, &list(value));
        }
    }
    if let Some(place) = address.get("bike.power_measured_at") {
        line(&mut text, "power_measured_at", &toml_text(place));
    }
    text += "[resistance]\n";
    numbers(&mut text, "resistance", &RESISTANCE_NUMBERS);
    text
}

/// The text of a set file with an address's values.
fn set_toml(address: &Address) -> String {
    let mut text = String::new();
    for key in ["name", "warm_up"] {
        if let Some(value) = address.get(key) {
            line(&mut text, key, &toml_text(value));
        }
    }
    for block in 1..=blocks(address) {
        let get = |key: &str| address.get(&format!("{block}.{key}"));
        text += "[[block]]\n";
        if let Some(reps) = get("reps") {
            line(&mut text, "reps", &number(reps));
        }
        if let Some(work) = get("work") {
            line(&mut text, "work", &toml_text(work));
        }
        let ends = ["at_least", "at_most"].map(|end| (end, get(&format!("recovery.{end}"))));
        table(&mut text, "recovery", &ends, toml_text);
        if let Some(effort) = get("effort").filter(|effort| *effort != "held") {
            line(&mut text, "effort", &toml_text(effort));
            if let Some(from_kmh) = get("from_kmh") {
                line(&mut text, "from_kmh", &number(from_kmh));
            }
            continue;
        }
        let shares = get("power.unit") != Some("W");
        let power = if shares { "power_share" } else { "power_w" };
        let share = |value: &str| {
            if shares {
                hundredth(value)
            } else {
                number(value)
            }
        };
        let band =
            |name: &str| ["from", "to", "aim"].map(|end| (end, get(&format!("{name}.{end}"))));
        table(&mut text, power, &band("power"), share);
        table(&mut text, "cadence_rpm", &band("cadence_rpm"), number);
        table(&mut text, "torque_nm", &band("torque_nm"), number);
    }
    text
}

/// A line of TOML; writing to a string can't fail.
fn line(text: &mut String, key: &str, value: &str) {
    let _ = writeln!(text, "{key} = {value}");
}

/// A table in one line, where any of its values is there.
fn table(
    text: &mut String,
    key: &str,
    values: &[(&str, Option<&str>)],
    write: impl Fn(&str) -> String,
) {
    let given: Vec<String> = values
        .iter()
        .filter_map(|(end, value)| Some(format!("{end} = {}", write((*value)?))))
        .collect();
    if !given.is_empty() {
        line(text, key, &format!("{{ {} }}", given.join(", ")));
    }
}

/// A number as TOML has it; what is none becomes a text, which the files' reader refuses.
fn number(text: &str) -> String {
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => value.to_string(),
        _ => toml_text(text),
    }
}

/// Per cent as a share, without the dust of binary fractions.
fn hundredth(text: &str) -> String {
    match text.parse::<f64>() {
        Ok(percent) if percent.is_finite() => ((percent * 1e4).round() / 1e6).to_string(),
        _ => toml_text(text),
    }
}

/// Numbers with spaces or commas between as a list.
fn list(text: &str) -> String {
    let parts = text
        .split([' ', ',', ';', '\t'])
        .filter(|part| !part.is_empty());
    let parts: Vec<String> = parts.take(64).map(number).collect();
    format!("[{}]", parts.join(", "))
}

fn wishes(address: &Address, complaints: &mut Vec<Complaint>) -> (Wishes, usize) {
    let mut wishes = Wishes {
        turn_round: address.get("turn_round").is_some(),
        pacing: match address.get("pacing") {
            Some("power") => Pacing::Power,
            _ => Pacing::Cadence,
        },
        ..Wishes::default()
    };
    for wish in parts(address, "keep") {
        match rep_on_climb(wish) {
            Some(kept) => wishes.keep.push(kept),
            None => complaints.push(Complaint::new(
                "keep",
                "expected reps and climbs, as 3=7, 4=9",
            )),
        }
    }
    for wish in parts(address, "avoid") {
        match wish.parse() {
            Ok(climb) => wishes.avoid.push(climb),
            Err(_) => complaints.push(Complaint::new(
                "avoid",
                "expected numbers of climbs, as 2, 5",
            )),
        }
    }
    let laps = match address.get("laps").map(str::parse) {
        None => 1,
        Some(Ok(laps)) if (1..=MOST_LAPS).contains(&laps) => laps,
        Some(_) => {
            let text = format!("expected 1 to {MOST_LAPS} rounds of a loop");
            complaints.push(Complaint::new("laps", &text));
            1
        }
    };
    (wishes, laps)
}

/// Parts of a value with commas or spaces between.
pub fn parts<'a>(address: &'a Address, key: &str) -> impl Iterator<Item = &'a str> {
    let text = address.get(key).unwrap_or("");
    text.split([',', ' ']).filter(|part| !part.is_empty())
}

fn rep_on_climb(text: &str) -> Option<(usize, usize)> {
    let (rep, climb) = text.split_once('=')?;
    Some((rep.parse().ok()?, climb.parse().ok()?))
}
