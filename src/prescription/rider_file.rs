//! The rider file: rider, bike and resistance from TOML.

use std::collections::BTreeSet;

use super::error::{Fault, PrescriptionError, quoted};
use super::quantity::{
    BIKE_MASS_KG, CDA_M2, CHAINRING_TEETH, CIRCUMFERENCE_MM, CRANK_MM, CRR, DESCENT_LIMIT_KMH,
    DRIVETRAIN_EFFICIENCY, EASY_SHARE, HUB_RATIO, KIT_KG, Quantity, RECOVERY_CEILING_SHARE,
    RIDER_MASS_KG, SPROCKET_TEETH, STEADY_SHARE, THRESHOLD_W, TYRE_DIAMETER_MM, TYRE_WIDTH_MM,
};
use super::report::Report;
use super::table::{Entry, TableReader};
use crate::gearing::{Bike, PowerMeasuredAt, Tyre};
use crate::ride::{Resistance, Rider};

/// Bead seat diameters of ISO 5775 that tyres are commonly sold for, in millimetres. Another one is only noted.
const COMMON_RIM_DIAMETERS_MM: [f64; 22] = [
    203.0, 288.0, 305.0, 340.0, 349.0, 355.0, 369.0, 390.0, 406.0, 438.0, 451.0, 457.0, 507.0,
    520.0, 540.0, 559.0, 571.0, 584.0, 590.0, 622.0, 630.0, 635.0,
];

/// More watts a kilogram for an hour than riders hold, save a handful: mass or threshold is probably a slip. A round
/// number without source; it only decides whether there is a note.
const UNUSUAL_THRESHOLD_W_PER_KG: f64 = 7.0;

/// What a rider file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct RiderFile {
    /// What the rider calls themselves, or this file.
    pub name: Option<String>,
    /// The rider.
    pub rider: Rider,
    /// The bike.
    pub bike: Bike,
    /// What air, tyres and drivetrain take.
    pub resistance: Resistance,
    /// One sentence for each value that is not in the file and was assumed, and for each that is possible but unusual.
    pub notes: Vec<String>,
}

/// Reads a rider file. The text is TOML with the tables `[rider]`, `[bike]` and `[resistance]`; units are in the keys.
///
/// There must be `rider.mass_kg`, `rider.threshold_w`, `bike.chainrings`, `bike.sprockets`, and one of `bike.tyre` and
/// `bike.circumference_mm`. Every other key has a default, and a note says where one was taken.
///
/// # Errors
///
/// Every problem found, each with its line and key: text that is not TOML, a key that is missing or not known, a value
/// of the wrong kind or outside its bounds, values that contradict each other.
///
/// ```
/// let rider_file = hillwright::prescription::parse_rider(
///     "[rider]\nmass_kg = 68\nthreshold_w = 250\n[bike]\ntyre = '28-622'\nchainrings = [50, 34]\nsprockets = [11, 30]",
/// )?;
/// assert_eq!(rider_file.rider.mass_kg, 68.0);
/// assert!(rider_file.notes.contains(&"`bike.crank_mm` is not given: 172.5 mm is assumed".to_owned()));
/// # Ok::<(), hillwright::prescription::PrescriptionError>(())
/// ```
pub fn parse_rider(text: &str) -> Result<RiderFile, PrescriptionError> {
    let report = Report::new(text);
    let parts = report.document().and_then(|document| {
        let root = TableReader::root(&report, &document);
        let rider = root.section("rider").map(read_rider);
        let bike = root.section("bike").map(read_bike);
        let resistance = root.section("resistance").map(read_resistance);
        root.finish();
        let (name, rider) = rider?;
        Some((name, rider?, bike??, resistance??))
    });
    let ((name, rider, bike, resistance), notes) = report.result(parts)?;
    Ok(RiderFile {
        name,
        rider,
        bike,
        resistance,
        notes,
    })
}

fn read_rider(table: TableReader<'_, '_>) -> (Option<String>, Option<Rider>) {
    let name = table.optional("name").and_then(|entry| entry.name());
    let mass_kg = table.number("mass_kg", &RIDER_MASS_KG);
    let threshold_w = table.number("threshold_w", &THRESHOLD_W);
    let easy_share = table.number_or("easy_share", &EASY_SHARE, 0.50);
    let steady_share = table.number_or("steady_share", &STEADY_SHARE, 0.65);
    let recovery_ceiling_share =
        table.number_or("recovery_ceiling_share", &RECOVERY_CEILING_SHARE, 0.75);
    let descent_limit_kmh = table.number_or("descent_limit_kmh", &DESCENT_LIMIT_KMH, 45.0);
    let rider = rider_of([
        mass_kg,
        threshold_w,
        easy_share,
        steady_share,
        recovery_ceiling_share,
        descent_limit_kmh,
    ]);
    if let Some(rider) = &rider {
        check_rider(rider, &table);
    }
    table.finish();
    (name, rider)
}

fn rider_of(values: [Option<f64>; 6]) -> Option<Rider> {
    let [
        mass_kg,
        threshold_w,
        easy_share,
        steady_share,
        recovery_ceiling_share,
        descent_limit_kmh,
    ] = values;
    Some(Rider {
        mass_kg: mass_kg?,
        threshold_w: threshold_w?,
        easy_share: easy_share?,
        steady_share: steady_share?,
        recovery_ceiling_share: recovery_ceiling_share?,
        descent_limit_kmh: descent_limit_kmh?,
    })
}

fn check_rider(rider: &Rider, table: &TableReader<'_, '_>) {
    let Rider {
        easy_share,
        steady_share,
        recovery_ceiling_share,
        ..
    } = *rider;
    if easy_share > recovery_ceiling_share {
        let message = format!(
            "{easy_share} is above the `recovery_ceiling_share` of {recovery_ceiling_share}, so that no recovery would \
             ever count; lower it, or raise the ceiling"
        );
        table.problem_at("easy_share", Fault::conflict(message));
    }
    if steady_share > recovery_ceiling_share {
        table.note(format!(
            "`rider.steady_share` of {steady_share} is above the `recovery_ceiling_share` of {recovery_ceiling_share}: \
             longer ways between reps don't count as recovery"
        ));
    }
    let threshold_w_per_kg = rider.threshold_w / rider.mass_kg;
    if threshold_w_per_kg > UNUSUAL_THRESHOLD_W_PER_KG {
        table.note(format!(
            "a threshold of {} W at {} kg is {threshold_w_per_kg:.1} W/kg, which is unusual but used as written: check both",
            rider.threshold_w, rider.mass_kg
        ));
    }
}

fn read_bike(table: TableReader<'_, '_>) -> Option<Bike> {
    let mass_kg = table.number_or("mass_kg", &BIKE_MASS_KG, 8.5);
    let kit_kg = table.number_or("kit_kg", &KIT_KG, 4.0);
    let tyre = read_tyre(&table);
    let chainrings = read_teeth(&table, "chainrings", &CHAINRING_TEETH, 3, "[50, 34]");
    let sprockets = read_teeth(
        &table,
        "sprockets",
        &SPROCKET_TEETH,
        16,
        "[11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30]",
    );
    let hub_ratios = read_hub_ratios(&table);
    let crank_mm = table.number_or("crank_mm", &CRANK_MM, 172.5);
    let power_measured_at = read_power_measured_at(&table);
    table.finish();
    Some(Bike {
        mass_kg: mass_kg?,
        kit_kg: kit_kg?,
        tyre: tyre?,
        chainrings: chainrings?,
        sprockets: sprockets?,
        hub_ratios: hub_ratios?,
        crank_mm: crank_mm?,
        power_measured_at: power_measured_at?,
    })
}

fn read_tyre(table: &TableReader<'_, '_>) -> Option<Tyre> {
    match (table.optional("tyre"), table.optional("circumference_mm")) {
        (Some(marking), None) => marked_tyre(&marking),
        (None, Some(entry)) => {
            entry.number(&CIRCUMFERENCE_MM).map(|circumference_mm| Tyre::Measured { circumference_mm })
        }
        (Some(_), Some(circumference)) => circumference.problem(Fault::conflict(
            "given beside `tyre`, and only one of them can hold; keep `circumference_mm` if it was measured",
        )),
        (None, None) => {
            let expected = "the tyre's ISO 5775 marking as on its side, \"28-622\", or else `circumference_mm`";
            table.problem_at("tyre", Fault::Missing { expected: expected.to_owned() });
            None
        }
    }
}

fn marked_tyre(entry: &Entry<'_, '_>) -> Option<Tyre> {
    const EXPECTED: &str = "an ISO 5775 marking, width-diameter in millimetres as on the tyre's side; a 700×28C is \"28-622\"";
    let text = entry.text(EXPECTED)?;
    let Some((width, diameter)) = text
        .split_once('-')
        .map(|(width, diameter)| (width.trim(), diameter.trim()))
    else {
        return entry.unreadable(EXPECTED);
    };
    let (Some(width_mm), Some(diameter_mm)) = (plain_number(width), plain_number(diameter)) else {
        return entry.unreadable(EXPECTED);
    };
    let width_mm = entry.checked(width_mm, &quoted(width), &TYRE_WIDTH_MM);
    let diameter_mm = entry.checked(diameter_mm, &quoted(diameter), &TYRE_DIAMETER_MM);
    let (width_mm, diameter_mm) = (width_mm?, diameter_mm?);
    if !COMMON_RIM_DIAMETERS_MM.contains(&diameter_mm) {
        entry.note(&format!(
            "{diameter_mm} mm is no common rim diameter but used as written; road wheels have 622"
        ));
    }
    Some(Tyre::Marked {
        width_mm,
        diameter_mm,
    })
}

/// Digits with at most one point: no sign, no exponent, no "nan".
fn plain_number(text: &str) -> Option<f64> {
    let is_plain = text.starts_with(|c: char| c.is_ascii_digit())
        && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    if is_plain { text.parse().ok() } else { None }
}

fn read_teeth(
    table: &TableReader<'_, '_>,
    key: &'static str,
    quantity: &Quantity,
    most: usize,
    example: &str,
) -> Option<Vec<u32>> {
    let expected = format!("1 to {most} numbers of teeth, such as {example}");
    let list = table.required(key, expected.as_str())?;
    let entries = list.array(&expected)?;
    if entries.is_empty() || entries.len() > most {
        return list.problem(Fault::unreadable(
            format!("a list of {}", entries.len()),
            expected,
        ));
    }
    let teeth: Vec<Option<u32>> = entries.iter().map(|entry| entry.whole(quantity)).collect();
    let teeth: Vec<u32> = teeth.into_iter().collect::<Option<_>>()?;
    if teeth.iter().collect::<BTreeSet<_>>().len() < teeth.len() {
        list.note("the same number of teeth is named more than once, which is unusual but used as written");
    }
    Some(teeth)
}

/// The ratios of a gear hub; none where the key is absent.
fn read_hub_ratios(table: &TableReader<'_, '_>) -> Option<Vec<f64>> {
    const MOST: usize = 18;
    const EXPECTED: &str =
        "1 to 18 ratios of wheel turns to sprocket turns, lowest first, such as [0.75, 1.0, 1.33]";
    let Some(list) = table.optional("hub_ratios") else {
        return Some(Vec::new());
    };
    let entries = list.array(EXPECTED)?;
    if entries.is_empty() || entries.len() > MOST {
        return list.problem(Fault::unreadable(
            format!("a list of {}", entries.len()),
            EXPECTED,
        ));
    }
    let ratios: Vec<Option<f64>> = entries
        .iter()
        .map(|entry| entry.number(&HUB_RATIO))
        .collect();
    ratios.into_iter().collect()
}

fn read_power_measured_at(table: &TableReader<'_, '_>) -> Option<PowerMeasuredAt> {
    const EXPECTED: &str = "\"crank\" (also for pedals and bottom bracket) or \"hub\"";
    let Some(entry) = table.optional("power_measured_at") else {
        table.assumed("power_measured_at", "\"crank\"");
        return Some(PowerMeasuredAt::Crank);
    };
    match entry.text(EXPECTED)? {
        "crank" => Some(PowerMeasuredAt::Crank),
        "hub" => Some(PowerMeasuredAt::Hub),
        _ => entry.unreadable(EXPECTED),
    }
}

fn read_resistance(table: TableReader<'_, '_>) -> Option<Resistance> {
    let cda_m2 = table.number_or("cda_m2", &CDA_M2, 0.36);
    let crr = table.number_or("crr", &CRR, 0.005);
    let drivetrain_efficiency =
        table.number_or("drivetrain_efficiency", &DRIVETRAIN_EFFICIENCY, 0.977);
    table.finish();
    Some(Resistance {
        cda_m2: cda_m2?,
        crr: crr?,
        drivetrain_efficiency: drivetrain_efficiency?,
    })
}
