//! One block of reps from the text of command line flags.

use super::bands::check_bands;
use super::duration::parse_duration_s;
use super::error::{Fault, Location, PrescriptionError, Problem, quoted};
use super::quantity::{
    CADENCE_RPM, POWER_SHARE, POWER_W, Quantity, RECOVERY, REPS, TORQUE_NM, WARM_UP, WORK,
};
use super::set::{Band, Block, Effort, PowerBand, Recovery, Set};
use super::set_file::check_recovery;

/// The flags that give one block, as they were typed; `None` where a flag is absent.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BlockFlags {
    /// `--reps 6`. Must be there.
    pub reps: Option<String>,
    /// `--work 4:00`: how long each rep lasts. Must be there.
    pub work: Option<String>,
    /// `--rest 4:00..9:00`, or `4:00` without a longest one. Must be there.
    pub rest: Option<String>,
    /// `--power 190..225` in watts, or `76%..90%` of threshold; one value alone stands for a twentieth more and less.
    pub power: Option<String>,
    /// `--cadence 50..60` in turns of the cranks a minute; one value alone stands for five more and less.
    pub cadence: Option<String>,
    /// `--torque 32..45` in newton metres; one value alone stands for a twentieth more and less.
    pub torque: Option<String>,
    /// `--warm-up 20:00`: no rep starts before. Absent, none is asked for.
    pub warm_up: Option<String>,
}

/// A set of one block from flags. Two of power, cadence and torque must be there, each aimed for at its middle.
///
/// # Errors
///
/// Every problem found, each with its flag: a flag that is missing, can't be read or is outside its bounds, bands that
/// can't hold together.
///
/// ```
/// use hillwright::prescription::{BlockFlags, block_from_flags};
///
/// let set = block_from_flags(&BlockFlags {
///     reps: Some("6".to_owned()),
///     work: Some("4:00".to_owned()),
///     rest: Some("4:00..9:00".to_owned()),
///     power: Some("190..225".to_owned()),
///     cadence: Some("50..60".to_owned()),
///     ..BlockFlags::default()
/// })?;
/// assert_eq!(set.blocks[0].recovery.at_most_s, Some(540.0));
/// # Ok::<(), hillwright::prescription::PrescriptionError>(())
/// ```
pub fn block_from_flags(flags: &BlockFlags) -> Result<Set, PrescriptionError> {
    let mut problems = Vec::new();
    let reps = required("--reps", &flags.reps, &REPS, parse_reps, &mut problems);
    let work_s = required(
        "--work",
        &flags.work,
        &WORK,
        |text| parse_duration(text, &WORK),
        &mut problems,
    );
    let recovery = required("--rest", &flags.rest, &RECOVERY, parse_span, &mut problems);
    let warm_up_s = given(
        "--warm-up",
        &flags.warm_up,
        |text| parse_duration(text, &WARM_UP),
        &mut problems,
    );
    let power = given("--power", &flags.power, parse_held_power, &mut problems);
    let cadence_rpm = given("--cadence", &flags.cadence, parse_cadence, &mut problems);
    let torque_nm = given("--torque", &flags.torque, parse_held_torque, &mut problems);
    if problems.is_empty()
        && let Err(fault) = check_bands(power, cadence_rpm, torque_nm)
    {
        problems.push(at("--power, --cadence, --torque", fault));
    }
    match (reps, work_s, recovery) {
        (Some(reps), Some(work_s), Some(recovery)) if problems.is_empty() => {
            let effort = Effort::Banded {
                power,
                cadence_rpm,
                torque_nm,
            };
            let block = Block {
                reps,
                work_s,
                recovery,
                effort,
            };
            Ok(Set {
                name: None,
                warm_up_s: warm_up_s.unwrap_or(0.0),
                blocks: vec![block],
            })
        }
        _ => Err(PrescriptionError { problems }),
    }
}

/// Reads a recovery: `4:00..9:00`, or `4:00` (or `4:00..`) where no longest one is named.
///
/// # Errors
///
/// An end is no duration or out of bounds, or the upper end is the shorter one.
///
/// ```
/// let recovery = hillwright::prescription::parse_span("4:00..9:00")?;
/// assert_eq!((recovery.at_least_s, recovery.at_most_s), (240.0, Some(540.0)));
/// # Ok::<(), hillwright::prescription::Fault>(())
/// ```
pub fn parse_span(text: &str) -> Result<Recovery, Fault> {
    let (at_least, at_most) = text.split_once("..").unwrap_or((text, ""));
    let at_least_s = parse_duration(at_least, &RECOVERY)?;
    let has_upper_end = !at_most.trim().is_empty();
    let at_most_s = has_upper_end
        .then(|| parse_duration(at_most, &RECOVERY))
        .transpose()?;
    let recovery = Recovery {
        at_least_s,
        at_most_s,
    };
    check_recovery(&recovery).map(|()| recovery)
}

/// Reads a band: `190..225`, aimed for at its middle, or one number alone, which is a band of that value. The unit is
/// the caller's.
///
/// # Errors
///
/// An end is no plain number, or the lower end is above the upper one.
///
/// ```
/// let band = hillwright::prescription::parse_range("190..225")?;
/// assert_eq!((band.from, band.to, band.aim), (190.0, 225.0, 207.5));
/// # Ok::<(), hillwright::prescription::Fault>(())
/// ```
pub fn parse_range(text: &str) -> Result<Band, Fault> {
    let (from, to) = text.split_once("..").unwrap_or((text, text));
    let number = |end: &str| {
        end.trim()
            .parse::<f64>()
            .ok()
            .filter(|value| value.is_finite())
    };
    let (Some(from), Some(to)) = (number(from), number(to)) else {
        let ends = text.split_once(['-', '–']);
        let dashed = ends.and_then(|(from, to)| Some((number(from)?, number(to)?)));
        let (from, to) = dashed.unwrap_or((190.0, 225.0));
        return Err(Fault::unreadable(
            quoted(text),
            format!("a band; write its two ends with two points between, as {from}..{to}"),
        ));
    };
    if from > to {
        return Err(Fault::conflict(format!(
            "{} starts above its end; write {to}..{from}",
            quoted(text)
        )));
    }
    Ok(Band {
        from,
        to,
        aim: from.midpoint(to),
    })
}

/// Reads a power band: `190..225` in watts, or `76%..90%` of threshold. One value alone is a band of that value.
///
/// # Errors
///
/// As [`parse_range`], and where an end is outside what a rep can be.
///
/// ```
/// use hillwright::prescription::{PowerBand, parse_power};
///
/// assert!(matches!(parse_power("190..225")?, PowerBand::Watts(band) if band.from == 190.0));
/// assert!(matches!(parse_power("76%..90%")?, PowerBand::ThresholdShare(band) if band.from == 0.76));
/// # Ok::<(), hillwright::prescription::Fault>(())
/// ```
pub fn parse_power(text: &str) -> Result<PowerBand, Fault> {
    if !text.contains('%') {
        return parse_bounded(text, &POWER_W).map(PowerBand::Watts);
    }
    let percent = text
        .split("..")
        .map(|end| end.trim().strip_suffix('%'))
        .collect::<Option<Vec<_>>>();
    let Some(percent) = percent else {
        return Err(Fault::unreadable(
            quoted(text),
            "a power band; write 190..225 in watts or 76%..90% of threshold",
        ));
    };
    let band = parse_range(&percent.join(".."))?;
    let share = Band {
        from: band.from / 100.0,
        to: band.to / 100.0,
        aim: band.aim / 100.0,
    };
    bounded(share, text, &POWER_SHARE).map(PowerBand::ThresholdShare)
}

/// Reads a cadence band in turns of the cranks a minute: `50..60`, or one value alone, which stands for five more and less.
///
/// # Errors
///
/// As [`parse_range`], and where an end is outside 20 to 180 rpm.
///
/// ```
/// let band = hillwright::prescription::parse_cadence("55")?;
/// assert_eq!((band.from, band.to, band.aim), (50.0, 60.0, 55.0));
/// # Ok::<(), hillwright::prescription::Fault>(())
/// ```
pub fn parse_cadence(text: &str) -> Result<Band, Fault> {
    let band = parse_bounded(text, &CADENCE_RPM)?;
    Ok(around(band, text, AROUND_RPM))
}

/// Half the width of a cadence band of which only the middle is given (common practice, no source).
const AROUND_RPM: f64 = 5.0;
/// The same of what a rep's power and torque are, as a share of it (common practice, no source).
const AROUND_SHARE: f64 = 0.05;

/// A band of which only the middle was given, so much to either side.
fn around(band: Band, text: &str, to_either_side: f64) -> Band {
    if text.contains("..") {
        return band;
    }
    Band {
        from: band.aim - to_either_side,
        to: band.aim + to_either_side,
        aim: band.aim,
    }
}

/// A rep's power: nobody holds one value, so one alone stands for a twentieth more and less.
fn parse_held_power(text: &str) -> Result<PowerBand, Fault> {
    let held = |band: Band| around(band, text, AROUND_SHARE * band.aim);
    Ok(match parse_power(text)? {
        PowerBand::Watts(band) => PowerBand::Watts(held(band)),
        PowerBand::ThresholdShare(band) => PowerBand::ThresholdShare(held(band)),
    })
}

/// A rep's torque, likewise.
fn parse_held_torque(text: &str) -> Result<Band, Fault> {
    let band = parse_torque(text)?;
    Ok(around(band, text, AROUND_SHARE * band.aim))
}

/// Reads a torque band in newton metres: `32..45`, or one value alone.
///
/// # Errors
///
/// As [`parse_range`], and where an end is outside 2 to 400 N·m.
pub fn parse_torque(text: &str) -> Result<Band, Fault> {
    parse_bounded(text, &TORQUE_NM)
}

fn parse_bounded(text: &str, quantity: &Quantity) -> Result<Band, Fault> {
    bounded(parse_range(text)?, text, quantity)
}

fn bounded(band: Band, text: &str, quantity: &Quantity) -> Result<Band, Fault> {
    quantity.check(band.from, &quoted(text))?;
    quantity.check(band.to, &quoted(text))?;
    Ok(band)
}

fn parse_duration(text: &str, quantity: &Quantity) -> Result<f64, Fault> {
    quantity.check(parse_duration_s(text)?, &quoted(text))
}

fn parse_reps(text: &str) -> Result<u32, Fault> {
    let reps: u32 = text
        .trim()
        .parse()
        .map_err(|_| Fault::unreadable(quoted(text), "a whole number of reps, such as 6"))?;
    REPS.check(f64::from(reps), &quoted(text)).map(|_| reps)
}

fn required<T>(
    flag: &str,
    text: &Option<String>,
    quantity: &Quantity,
    parse: impl Fn(&str) -> Result<T, Fault>,
    problems: &mut Vec<Problem>,
) -> Option<T> {
    if text.is_none() {
        problems.push(at(
            flag,
            Fault::Missing {
                expected: quantity.expected(),
            },
        ));
    }
    given(flag, text, parse, problems)
}

fn given<T>(
    flag: &str,
    text: &Option<String>,
    parse: impl Fn(&str) -> Result<T, Fault>,
    problems: &mut Vec<Problem>,
) -> Option<T> {
    parse(text.as_deref()?)
        .map_err(|fault| problems.push(at(flag, fault)))
        .ok()
}

fn at(flag: &str, fault: Fault) -> Problem {
    fault.at(Location::Flag {
        flag: flag.to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::super::set_file::TWO_OF_THREE;
    use super::*;
    use proptest::prelude::*;

    fn flags(change: impl Fn(&mut BlockFlags)) -> BlockFlags {
        let text = |text: &str| Some(text.to_owned());
        let mut flags = BlockFlags {
            reps: text("6"),
            work: text("4:00"),
            rest: text("4:00..9:00"),
            power: text("190..225"),
            cadence: text("50..60"),
            torque: None,
            warm_up: text("20:00"),
        };
        change(&mut flags);
        flags
    }

    fn told(change: impl Fn(&mut BlockFlags)) -> String {
        block_from_flags(&flags(change)).unwrap_err().to_string()
    }

    #[test]
    fn the_flags_give_one_block() {
        let set = block_from_flags(&flags(|_| ())).unwrap();
        let effort = Effort::Banded {
            power: Some(PowerBand::Watts(Band {
                from: 190.0,
                to: 225.0,
                aim: 207.5,
            })),
            cadence_rpm: Some(Band {
                from: 50.0,
                to: 60.0,
                aim: 55.0,
            }),
            torque_nm: None,
        };
        let recovery = Recovery {
            at_least_s: 240.0,
            at_most_s: Some(540.0),
        };
        let block = Block {
            reps: 6,
            work_s: 240.0,
            recovery,
            effort,
        };
        assert_eq!(
            set,
            Set {
                name: None,
                warm_up_s: 1200.0,
                blocks: vec![block]
            }
        );
    }

    #[test]
    fn an_error_names_its_flag() {
        assert!(
            told(|flags| flags.work = Some("240".to_owned()))
                .starts_with("--work: `240` is not a duration")
        );
        assert!(told(|flags| flags.rest = None).starts_with("--rest: missing"));
        assert!(
            told(|flags| flags.reps = Some("0".to_owned()))
                .starts_with("--reps: `0` is outside 1 to 200 reps")
        );
        assert!(told(|flags| flags.cadence = None).contains(TWO_OF_THREE));
    }

    #[test]
    fn all_flags_are_told_at_once() {
        let told = told(|flags| *flags = BlockFlags::default());
        assert_eq!(told.lines().count(), 3, "{told}");
    }

    #[test]
    fn a_single_value_is_aimed_for_within_a_band() {
        assert_eq!(
            parse_range("207"),
            Ok(Band {
                from: 207.0,
                to: 207.0,
                aim: 207.0
            })
        );
        assert_eq!(
            parse_cadence("55"),
            Ok(Band {
                from: 50.0,
                to: 60.0,
                aim: 55.0
            })
        );
        assert_eq!(parse_cadence("55..55").unwrap().from, 55.0);
        let effort = |power: &str, torque: &str| {
            let held = block_from_flags(&flags(|flags| {
                flags.power = Some(power.to_owned());
                flags.cadence = None;
                flags.torque = Some(torque.to_owned());
            }));
            held.unwrap().blocks[0].effort.clone()
        };
        let held = Effort::Banded {
            power: Some(PowerBand::Watts(Band {
                from: 190.0,
                to: 210.0,
                aim: 200.0,
            })),
            cadence_rpm: None,
            torque_nm: Some(Band {
                from: 38.0,
                to: 42.0,
                aim: 40.0,
            }),
        };
        assert_eq!(effort("200", "40"), held);
    }

    #[test]
    fn a_band_the_wrong_way_round_or_with_a_dash_is_told_how_to_write_it() {
        assert_eq!(
            parse_range("225..190").unwrap_err().to_string(),
            "`225..190` starts above its end; write 190..225"
        );
        assert!(
            parse_range("190-225")
                .unwrap_err()
                .to_string()
                .contains("190..225")
        );
        for text in ["", "..", "190..", "..225", "nan", "inf..inf", "1..2..3"] {
            assert!(parse_range(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_recovery_may_be_open_above() {
        assert_eq!(
            parse_span("4:00"),
            Ok(Recovery {
                at_least_s: 240.0,
                at_most_s: None
            })
        );
        assert_eq!(
            parse_span("4:00.."),
            Ok(Recovery {
                at_least_s: 240.0,
                at_most_s: None
            })
        );
        assert!(parse_span("9:00..4:00").is_err());
        assert!(parse_span("..4:00").is_err());
    }

    #[test]
    fn power_may_be_a_share_of_threshold_in_per_cent() {
        let share = PowerBand::ThresholdShare(Band {
            from: 0.75,
            to: 1.0,
            aim: 0.875,
        });
        assert_eq!(parse_power("75%..100%"), Ok(share));
        assert!(parse_power("75..100%").is_err());
        assert!(
            parse_power("0.75..0.9")
                .unwrap_err()
                .to_string()
                .contains("outside 20 to 2500 W")
        );
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,16}|[0-9:.%eE+-]{0,16}") {
            let _ = (parse_span(&text), parse_range(&text), parse_power(&text), parse_reps(&text));
        }
    }
}
