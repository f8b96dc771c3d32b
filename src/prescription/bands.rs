//! The third of power, cadence and torque from the other two.

use super::error::{Fault, Location, PrescriptionError};
use super::quantity::{CADENCE_RPM, POWER_W, Quantity, THRESHOLD_W};
use super::set::{Band, Block, Effort, PowerBand};
use super::set_file::TWO_OF_THREE;
use crate::gearing::Bands;
use crate::gearing::effort::angular_speed_rad_s;

/// The bands of a block for a rider with this threshold, in watts, whose power at the cranks is so many times what is measured (see
/// [`Drive::crank_per_measured`](crate::gearing::Drive)); `None` for a maximal effort, which has none. Power is as measured.
///
/// A band that the block gives is taken as it is. A missing one reaches as far as some values inside the other two
/// bands lead, and aims for what their aims give:
///
/// | given | missing | from | to | aim |
/// | --- | --- | --- | --- | --- |
/// | power, cadence | torque | `None`, since it adds nothing | | |
/// | torque, cadence | power | lowest × lowest | highest × highest | aim × aim |
/// | power, torque | cadence | lowest power ÷ highest torque | highest power ÷ lowest torque | aim ÷ aim |
///
/// The cadence worked out is the widest: not every power in its band can be held at each of its ends, which is why
/// the torque band stays a condition of its own. Power is torque times angular speed: P = τ · 2π · rpm / 60,
/// at the cranks.
///
/// # Errors
///
/// The threshold is out of its bounds, fewer than two bands are given, the three can't hold together, or the power or
/// cadence aimed for is beyond what anyone rides.
///
/// ```
/// use hillwright::prescription::{parse_set, resolve};
///
/// let set = parse_set(
///     "[[block]]\nreps = 1\nwork = '4:00'\nrecovery = { at_least = '4:00' }\n\
///      torque_nm = { from = 30, to = 42 }\ncadence_rpm = { from = 50, to = 60 }",
/// )?;
/// let bands = resolve(&set.blocks[0], 250.0, 1.0)?.expect("not a maximal effort");
/// assert_eq!(bands.power_w.aim.round(), 207.0); // 36 N·m at 55 rpm
/// # Ok::<(), hillwright::prescription::PrescriptionError>(())
/// ```
pub fn resolve(
    block: &Block,
    threshold_w: f64,
    crank_per_measured: f64,
) -> Result<Option<Bands>, PrescriptionError> {
    let Effort::Banded {
        power,
        cadence_rpm,
        torque_nm,
    } = &block.effort
    else {
        return Ok(None);
    };
    let at = |key: &str, fault: Fault| PrescriptionError {
        problems: vec![fault.at(Location::Key {
            key: key.to_owned(),
        })],
    };
    THRESHOLD_W
        .check(threshold_w, &threshold_w.to_string())
        .map_err(|fault| at("rider.threshold_w", fault))?;
    let at_crank_w = power.map(|power| power.watts(threshold_w).scaled(crank_per_measured));
    check_bands(at_crank_w.map(PowerBand::Watts), *cadence_rpm, *torque_nm)
        .map_err(|fault| at("block", fault))?;
    let (at_crank_w, cadence_rpm) = match (at_crank_w, *cadence_rpm, *torque_nm) {
        (Some(power_w), Some(cadence_rpm), _) => (power_w, cadence_rpm),
        (None, Some(cadence_rpm), Some(torque)) => (power_band(&torque, &cadence_rpm), cadence_rpm),
        (Some(power_w), None, Some(torque)) => (power_w, cadence_band(&power_w, &torque)),
        _ => return Err(at("block", too_few_bands())),
    };
    Ok(Some(Bands {
        power_w: at_crank_w.scaled(1.0 / crank_per_measured),
        cadence_rpm,
        torque_nm: *torque_nm,
    }))
}

impl PowerBand {
    /// The band in watts for a rider with this threshold, in watts.
    #[must_use]
    pub fn watts(&self, threshold_w: f64) -> Band {
        match *self {
            Self::Watts(band) => band,
            Self::ThresholdShare(band) => {
                let watts = |share: f64| share * threshold_w;
                Band {
                    from: watts(band.from),
                    to: watts(band.to),
                    aim: watts(band.aim),
                }
            }
        }
    }
}

/// Whether the bands are enough and can hold together, as far as that shows without the rider's threshold.
pub(super) fn check_bands(
    power: Option<PowerBand>,
    cadence_rpm: Option<Band>,
    torque_nm: Option<Band>,
) -> Result<(), Fault> {
    let power_w = power.and_then(|power| {
        if let PowerBand::Watts(band) = power {
            Some(band)
        } else {
            None
        }
    });
    match (power, cadence_rpm, torque_nm) {
        (Some(_), Some(_), None) => Ok(()),
        (None, Some(cadence_rpm), Some(torque_nm)) => {
            possible_aim("power", power_band(&torque_nm, &cadence_rpm).aim, &POWER_W)
        }
        (Some(_), None, Some(torque_nm)) => power_w.map_or(Ok(()), |power_w| {
            possible_aim(
                "cadence",
                cadence_band(&power_w, &torque_nm).aim,
                &CADENCE_RPM,
            )
        }),
        (Some(_), Some(cadence_rpm), Some(torque_nm)) => power_w.map_or(Ok(()), |power_w| {
            meeting_bands(&power_w, &power_band(&torque_nm, &cadence_rpm))
        }),
        _ => Err(too_few_bands()),
    }
}

fn too_few_bands() -> Fault {
    Fault::Missing {
        expected: format!("more bands: {TWO_OF_THREE}, the third follows"),
    }
}

fn possible_aim(name: &str, aim: f64, quantity: &Quantity) -> Result<(), Fault> {
    let seen = format!(
        "the {name} that the other two bands aim for, {},",
        quantity.written(aim.round())
    );
    quantity.check(aim, &seen).map(|_| ())
}

fn meeting_bands(power_w: &Band, from_torque_w: &Band) -> Result<(), Fault> {
    if power_w.from <= from_torque_w.to && from_torque_w.from <= power_w.to {
        return Ok(());
    }
    Err(Fault::conflict(format!(
        "power of {:.0} to {:.0} W can't be held together with this cadence and torque, which give {:.0} to {:.0} W; \
         remove one of the three, or change it",
        power_w.from, power_w.to, from_torque_w.from, from_torque_w.to
    )))
}

fn power_band(torque_nm: &Band, cadence_rpm: &Band) -> Band {
    let power_w = |torque_nm: f64, cadence_rpm: f64| torque_nm * angular_speed_rad_s(cadence_rpm);
    Band {
        from: power_w(torque_nm.from, cadence_rpm.from),
        to: power_w(torque_nm.to, cadence_rpm.to),
        aim: power_w(torque_nm.aim, cadence_rpm.aim),
    }
}

fn cadence_band(power_w: &Band, torque_nm: &Band) -> Band {
    let cadence_rpm =
        |power_w: f64, torque_nm: f64| power_w / (torque_nm * angular_speed_rad_s(1.0));
    Band {
        from: cadence_rpm(power_w.from, torque_nm.to),
        to: cadence_rpm(power_w.to, torque_nm.from),
        aim: cadence_rpm(power_w.aim, torque_nm.aim),
    }
}

#[cfg(test)]
mod tests {
    use super::super::set::Recovery;
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn band(from: f64, to: f64, aim: f64) -> Band {
        Band { from, to, aim }
    }

    fn only(value: f64) -> Band {
        band(value, value, value)
    }

    fn block(
        power: Option<PowerBand>,
        cadence_rpm: Option<Band>,
        torque_nm: Option<Band>,
    ) -> Block {
        let effort = Effort::Banded {
            power,
            cadence_rpm,
            torque_nm,
        };
        Block {
            reps: 1,
            work_s: 240.0,
            recovery: Recovery {
                at_least_s: 240.0,
                at_most_s: None,
            },
            effort,
        }
    }

    fn resolved(block: &Block) -> Bands {
        resolve(block, 250.0, 1.0).unwrap().unwrap()
    }

    // 250 W / (2π · 55 / 60 s⁻¹) = 250 / 5.7596 = 43.41 N·m, worked by hand.
    #[test]
    fn at_55_rpm_and_43_4_newton_metres_the_power_is_250_watts() {
        let bands = resolved(&block(None, Some(only(55.0)), Some(only(43.406))));
        assert_relative_eq!(bands.power_w.aim, 250.0, epsilon = 0.01);
    }

    #[test]
    fn at_250_watts_and_43_4_newton_metres_the_cadence_is_55_rpm() {
        let bands = resolved(&block(
            Some(PowerBand::Watts(only(250.0))),
            None,
            Some(only(43.406)),
        ));
        assert_relative_eq!(bands.cadence_rpm.aim, 55.0, epsilon = 0.01);
    }

    // A hub that loses 2.3 % of 207.35 W at the cranks (36 N·m at 55 rpm) measures 202.58 W. Worked by hand.
    #[test]
    fn a_hub_measures_less_than_the_torque_at_the_cranks_asks_for() {
        let at_hub = |block: &Block| resolve(block, 250.0, 1.0 / 0.977).unwrap().unwrap();
        let by_torque = at_hub(&block(None, Some(only(55.0)), Some(only(36.0))));
        assert_relative_eq!(by_torque.power_w.aim, 202.58, epsilon = 0.01);
        let power = PowerBand::Watts(only(202.58));
        let by_power = at_hub(&block(Some(power), None, Some(only(36.0))));
        assert_relative_eq!(by_power.cadence_rpm.aim, 55.0, epsilon = 0.01);
        assert_relative_eq!(by_power.power_w.aim, 202.58, epsilon = 0.01);
    }

    #[test]
    fn a_share_of_threshold_becomes_watts() {
        let power = PowerBand::ThresholdShare(band(0.76, 0.90, 0.83));
        let bands = resolved(&block(Some(power), Some(band(50.0, 60.0, 55.0)), None));
        assert_relative_eq!(bands.power_w.from, 190.0);
        assert_relative_eq!(bands.power_w.to, 225.0);
        assert_relative_eq!(bands.power_w.aim, 207.5);
        assert_eq!(bands.torque_nm, None);
    }

    // 30 N·m at 50 rpm: 30 · 5.23599 = 157.08 W. 42 N·m at 60 rpm: 42 · 6.28319 = 263.89 W. Worked by hand.
    #[test]
    fn power_from_torque_and_cadence_reaches_from_both_lowest_to_both_highest() {
        let bands = resolved(&block(
            None,
            Some(band(50.0, 60.0, 55.0)),
            Some(band(30.0, 42.0, 36.0)),
        ));
        assert_relative_eq!(bands.power_w.from, 157.08, epsilon = 0.01);
        assert_relative_eq!(bands.power_w.to, 263.89, epsilon = 0.01);
        assert_eq!(bands.torque_nm, Some(band(30.0, 42.0, 36.0)));
    }

    // 190 W at 42 N·m: 190 / 42 · 9.5493 = 43.20 rpm. 225 W at 30 N·m: 7.5 · 9.5493 = 71.62 rpm. Worked by hand.
    #[test]
    fn cadence_from_power_and_torque_is_the_widest_that_some_pair_gives() {
        let power = PowerBand::Watts(band(190.0, 225.0, 207.0));
        let bands = resolved(&block(Some(power), None, Some(band(30.0, 42.0, 36.0))));
        assert_relative_eq!(bands.cadence_rpm.from, 43.20, epsilon = 0.01);
        assert_relative_eq!(bands.cadence_rpm.to, 71.62, epsilon = 0.01);
    }

    #[test]
    fn three_bands_that_cannot_hold_together_are_refused() {
        let power = PowerBand::ThresholdShare(band(0.76, 0.90, 0.83));
        let block = block(
            Some(power),
            Some(band(50.0, 60.0, 55.0)),
            Some(band(10.0, 20.0, 15.0)),
        );
        let told = resolve(&block, 250.0, 1.0).unwrap_err().to_string();
        assert!(
            told.contains("190 to 225 W can't be held together"),
            "{told}"
        );
    }

    #[test]
    fn a_single_band_is_too_few() {
        let told = resolve(&block(None, Some(only(55.0)), None), 250.0, 1.0)
            .unwrap_err()
            .to_string();
        assert!(told.contains(TWO_OF_THREE), "{told}");
    }

    #[test]
    fn a_maximal_effort_has_no_bands() {
        let block = Block {
            effort: Effort::Maximal { from_kmh: 8.0 },
            ..block(None, None, None)
        };
        assert_eq!(resolve(&block, 250.0, 1.0), Ok(None));
    }

    #[test]
    fn a_threshold_that_is_no_number_is_refused() {
        let block = block(
            Some(PowerBand::ThresholdShare(only(0.8))),
            Some(only(55.0)),
            None,
        );
        assert!(resolve(&block, f64::NAN, 1.0).is_err());
        assert!(resolve(&block, -250.0, 1.0).is_err());
    }

    fn any_band(low: f64, high: f64) -> impl Strategy<Value = Band> {
        (low..high, 0.0..1.0f64, 0.0..1.0f64).prop_map(move |(from, width, at)| {
            let to = from + width * (high - from);
            Band {
                from,
                to,
                aim: (from + at * (to - from)).min(to),
            }
        })
    }

    proptest! {
        #[test]
        fn a_band_worked_out_is_in_order(power in any_band(100.0, 300.0), cadence in any_band(40.0, 90.0), torque in any_band(15.0, 60.0)) {
            for band in [power_band(&torque, &cadence), cadence_band(&power, &torque)] {
                prop_assert!(band.from <= band.aim && band.aim <= band.to, "{band:?}");
            }
        }

        #[test]
        fn power_over_the_torque_it_came_from_is_the_cadence(torque in 15.0..60.0f64, cadence in 40.0..90.0f64) {
            let power = power_band(&only(torque), &only(cadence));
            assert_relative_eq!(cadence_band(&power, &only(torque)).aim, cadence, max_relative = 1e-12);
        }
    }
}
