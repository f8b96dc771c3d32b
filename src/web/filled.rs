//! Rider and set as values of an address: what the controls show of a file.

use super::address::Address;
use crate::gearing::{Band, Tyre};
use crate::prescription::{Block, Effort, PowerBand, RiderFile, Set, duration_text, measured_at};

/// Adds a rider file's values.
pub(super) fn rider(file: &RiderFile, address: &mut Address) {
    let RiderFile {
        rider,
        bike,
        resistance,
        ..
    } = file;
    address.push("rider.name", file.name.clone().unwrap_or_default());
    let numbers = [
        ("rider.mass_kg", rider.mass_kg),
        ("rider.threshold_w", rider.threshold_w),
        ("rider.easy_share", rider.easy_share),
        ("rider.steady_share", rider.steady_share),
        ("rider.recovery_ceiling_share", rider.recovery_ceiling_share),
        ("rider.descent_limit_kmh", rider.descent_limit_kmh),
        ("bike.mass_kg", bike.mass_kg),
        ("bike.kit_kg", bike.kit_kg),
        ("bike.crank_mm", bike.crank_mm),
        ("resistance.cda_m2", resistance.cda_m2),
        ("resistance.crr", resistance.crr),
        (
            "resistance.drivetrain_efficiency",
            resistance.drivetrain_efficiency,
        ),
    ];
    for (key, value) in numbers {
        address.push(key, value.to_string());
    }
    let tyre = match bike.tyre {
        Tyre::Marked {
            width_mm,
            diameter_mm,
        } => format!("{width_mm}-{diameter_mm}"),
        Tyre::Measured { circumference_mm } => circumference_mm.to_string(),
    };
    address.push("bike.tyre", tyre);
    address.push("bike.chainrings", spaced(&bike.chainrings));
    address.push("bike.sprockets", spaced(&bike.sprockets));
    address.push("bike.hub_ratios", spaced(&bike.hub_ratios));
    address.push(
        "bike.power_measured_at",
        measured_at(bike.power_measured_at),
    );
}

/// Adds a set's values.
pub(super) fn set(set: &Set, address: &mut Address) {
    address.push("name", set.name.clone().unwrap_or_default());
    address.push("warm_up", duration_text(set.warm_up_s));
    for (block, number) in set.blocks.iter().zip(1..) {
        for (key, value) in block_values(block) {
            address.push(format!("{number}.{key}"), value);
        }
    }
}

fn block_values(block: &Block) -> Vec<(String, String)> {
    let mut values = vec![
        ("reps".to_owned(), block.reps.to_string()),
        ("work".to_owned(), duration_text(block.work_s)),
        (
            "recovery.at_least".to_owned(),
            duration_text(block.recovery.at_least_s),
        ),
        (
            "recovery.at_most".to_owned(),
            block
                .recovery
                .at_most_s
                .map(duration_text)
                .unwrap_or_default(),
        ),
    ];
    match &block.effort {
        Effort::Maximal { from_kmh } => {
            values.push(("effort".to_owned(), "maximal".to_owned()));
            values.push(("from_kmh".to_owned(), from_kmh.to_string()));
        }
        Effort::Banded {
            power,
            cadence_rpm,
            torque_nm,
        } => {
            values.push(("effort".to_owned(), "held".to_owned()));
            let (unit, power) = match power {
                Some(PowerBand::Watts(band)) => ("W", Some(*band)),
                Some(PowerBand::ThresholdShare(band)) => ("%", Some(in_per_cent(band))),
                None => ("%", None),
            };
            values.push(("power.unit".to_owned(), unit.to_owned()));
            values.extend(band_values("power", power));
            values.extend(band_values("cadence_rpm", *cadence_rpm));
            values.extend(band_values("torque_nm", *torque_nm));
        }
    }
    values
}

fn in_per_cent(band: &Band) -> Band {
    // Without the dust of binary fractions.
    let percent = |share: f64| (share * 1e6).round() / 1e4;
    Band {
        from: percent(band.from),
        to: percent(band.to),
        aim: percent(band.aim),
    }
}

/// The ends of a band and what is aimed for, blank where that is the middle, as it then follows the ends.
fn band_values(name: &str, band: Option<Band>) -> Vec<(String, String)> {
    let shown = |value: f64| value.to_string();
    let aim = band.filter(|b| (b.aim - b.from.midpoint(b.to)).abs() > 1e-9);
    vec![
        (
            format!("{name}.from"),
            band.map(|b| shown(b.from)).unwrap_or_default(),
        ),
        (
            format!("{name}.to"),
            band.map(|b| shown(b.to)).unwrap_or_default(),
        ),
        (
            format!("{name}.aim"),
            aim.map(|b| shown(b.aim)).unwrap_or_default(),
        ),
    ]
}

fn spaced<T: ToString>(values: &[T]) -> String {
    let values: Vec<String> = values.iter().map(T::to_string).collect();
    values.join(" ")
}

#[cfg(test)]
mod tests {
    use super::super::order;
    use super::*;
    use crate::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};

    const STARTS_AND_TORQUE: &str = "warm_up = '15:00'\n\
        [[block]]\nreps = 4\nwork = '0:10'\nrecovery = { at_least = '3:00' }\neffort = 'maximal'\nfrom_kmh = 8\n\
        [[block]]\nreps = 3\nwork = '5:00'\nrecovery = { at_least = '5:00', at_most = '9:00' }\n\
        torque_nm = { from = 30, to = 42, aim = 38 }\ncadence_rpm = { from = 50, to = 60 }\n";

    fn through_an_address(rider_text: &str, set_text: &str) {
        let (rider_file, set_file) = (
            parse_rider(rider_text).unwrap(),
            parse_set(set_text).unwrap(),
        );
        let mut address = Address::default();
        rider(&rider_file, &mut address);
        set(&set_file, &mut address);
        let address = Address::parse(&address.query()).unwrap();
        let order = order::read(&address).unwrap();
        assert_eq!(order.rider.rider, rider_file.rider);
        assert_eq!(order.rider.bike, rider_file.bike);
        assert_eq!(order.rider.resistance, rider_file.resistance);
        assert_eq!(in_millionths(order.set), in_millionths(set_file));
    }

    /// A middle that is left blank is worked out again, and may differ in the last binary digit.
    fn in_millionths(mut set: Set) -> Set {
        let cut = |band: &mut Band| band.aim = (band.aim * 1e6).round() / 1e6;
        for block in &mut set.blocks {
            let Effort::Banded {
                power,
                cadence_rpm,
                torque_nm,
            } = &mut block.effort
            else {
                continue;
            };
            if let Some(PowerBand::Watts(band) | PowerBand::ThresholdShare(band)) = power {
                cut(band);
            }
            [cadence_rpm, torque_nm].into_iter().flatten().for_each(cut);
        }
        set
    }

    #[test]
    fn rider_and_set_go_through_an_address_unchanged() {
        through_an_address(EXAMPLE_RIDER, EXAMPLE_SET);
        through_an_address(EXAMPLE_RIDER, STARTS_AND_TORQUE);
    }

    #[test]
    fn a_middle_that_is_aimed_for_is_left_blank() {
        let values = band_values(
            "power",
            Some(Band {
                from: 76.0,
                to: 90.0,
                aim: 83.0,
            }),
        );
        assert_eq!(values[2], ("power.aim".to_owned(), String::new()));
    }
}
