//! What each number means, its unit, and the bounds outside which it can't be true.

use super::duration::duration_text;
use super::error::Fault;

/// A number that a person writes.
///
/// Outside `low..=high` it is a mistake and refused. Outside `usual` it may still be true: it is used as written, with
/// a note. Neither is a tuning constant: they only catch slips of the unit or the decimal point.
#[derive(Debug)]
pub(super) struct Quantity {
    pub(super) unit: Unit,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) usual: (f64, f64),
    /// What the number means; ends a sentence.
    pub(super) meaning: &'static str,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unit {
    /// Counted or measured in this.
    Named(&'static str),
    /// A ratio.
    None,
    /// Seconds, written as `m:ss`.
    Duration,
}

impl Quantity {
    /// `seen` is the value as the person wrote it.
    pub(super) fn check(&self, value: f64, seen: &str) -> Result<f64, Fault> {
        if (self.low..=self.high).contains(&value) {
            return Ok(value);
        }
        Err(Fault::OutOfBounds {
            seen: seen.to_owned(),
            low: self.bare(self.low),
            high: self.written(self.high),
            why: self.meaning,
        })
    }

    /// A remark where the value is possible, but seldom meant.
    pub(super) fn remark(&self, value: f64) -> Option<String> {
        let (low, high) = self.usual;
        let is_usual = (low..=high).contains(&value);
        (!is_usual).then(|| {
            let (value, low, high) = (self.written(value), self.bare(low), self.written(high));
            format!(
                "{value} is unusual ({low} to {high} is usual) but used as written: {}",
                self.meaning
            )
        })
    }

    /// What to write where the number is missing.
    pub(super) fn expected(&self) -> String {
        format!(
            "{} to {}: {}",
            self.bare(self.low),
            self.written(self.high),
            self.meaning
        )
    }

    /// With the unit.
    pub(super) fn written(&self, value: f64) -> String {
        match self.unit {
            Unit::Named(unit) => format!("{value} {unit}"),
            Unit::None | Unit::Duration => self.bare(value),
        }
    }

    fn bare(&self, value: f64) -> String {
        if self.unit == Unit::Duration {
            duration_text(value)
        } else {
            value.to_string()
        }
    }
}

const fn quantity(
    unit: Unit,
    bounds: (f64, f64),
    usual: (f64, f64),
    meaning: &'static str,
) -> Quantity {
    Quantity {
        unit,
        low: bounds.0,
        high: bounds.1,
        usual,
        meaning,
    }
}

/// For numbers of a set: whatever is possible is usual somewhere.
const fn prescribed(unit: Unit, bounds: (f64, f64), meaning: &'static str) -> Quantity {
    quantity(unit, bounds, bounds, meaning)
}

use Unit::{Duration, Named, None as Ratio};

pub(super) const RIDER_MASS_KG: Quantity = quantity(
    Named("kg"),
    (25.0, 250.0),
    (40.0, 120.0),
    "the rider's body mass without clothes, in kilograms",
);
pub(super) const THRESHOLD_W: Quantity = quantity(
    Named("W"),
    (40.0, 600.0),
    (80.0, 450.0),
    "the power the rider holds for about an hour, in watts",
);
pub(super) const EASY_SHARE: Quantity = quantity(
    Ratio,
    (0.2, 1.2),
    (0.3, 0.65),
    "the power in recoveries as a share of threshold, where 0.5 is 50 %",
);
pub(super) const STEADY_SHARE: Quantity = quantity(
    Ratio,
    (0.2, 1.2),
    (0.45, 0.85),
    "the power before the first rep and on longer ways between, as a share of threshold, where 0.65 is 65 %",
);
pub(super) const RECOVERY_CEILING_SHARE: Quantity = quantity(
    Ratio,
    (0.2, 1.2),
    (0.55, 0.9),
    "the share of threshold above which time is not recovery, where 0.75 is 75 %",
);
pub(super) const DESCENT_LIMIT_KMH: Quantity = quantity(
    Named("km/h"),
    (10.0, 120.0),
    (20.0, 80.0),
    "the speed downhill that is never planned for, in kilometres per hour",
);
pub(super) const BIKE_MASS_KG: Quantity = quantity(
    Named("kg"),
    (3.0, 80.0),
    (6.0, 20.0),
    "the mass of the bike alone, in kilograms",
);
pub(super) const KIT_KG: Quantity = quantity(
    Named("kg"),
    (0.0, 80.0),
    (1.0, 12.0),
    "the mass of clothes, shoes, helmet, bottles and tools, in kilograms",
);
pub(super) const TYRE_WIDTH_MM: Quantity = quantity(
    Named("mm"),
    (16.0, 130.0),
    (18.0, 75.0),
    "the first number of the tyre's ISO 5775 marking, its width in millimetres",
);
pub(super) const TYRE_DIAMETER_MM: Quantity = quantity(
    Named("mm"),
    (200.0, 700.0),
    (305.0, 635.0),
    "the second number of the tyre's ISO 5775 marking, the rim's bead seat diameter in millimetres",
);
pub(super) const CIRCUMFERENCE_MM: Quantity = quantity(
    Named("mm"),
    (800.0, 2600.0),
    (1200.0, 2400.0),
    "the distance in one turn of the wheel, in millimetres",
);
pub(super) const CHAINRING_TEETH: Quantity = quantity(
    Named("teeth"),
    (8.0, 70.0),
    (22.0, 58.0),
    "the number of teeth of a chainring",
);
pub(super) const SPROCKET_TEETH: Quantity = quantity(
    Named("teeth"),
    (8.0, 70.0),
    (9.0, 52.0),
    "the number of teeth of a sprocket",
);
pub(super) const HUB_RATIO: Quantity = quantity(
    Ratio,
    (0.1, 10.0),
    (0.2, 4.0),
    "how often the wheel turns while the sprocket turns once",
);
pub(super) const CRANK_MM: Quantity = quantity(
    Named("mm"),
    (120.0, 200.0),
    (150.0, 180.0),
    "the crank's length from axle to axle, in millimetres",
);
pub(super) const CDA_M2: Quantity = quantity(
    Named("m²"),
    (0.1, 1.0),
    (0.2, 0.6),
    "the drag area of rider and bike, in square metres",
);
pub(super) const CRR: Quantity = quantity(
    Ratio,
    (0.001, 0.03),
    (0.002, 0.012),
    "the rolling resistance coefficient of tyres and road",
);
pub(super) const DRIVETRAIN_EFFICIENCY: Quantity = quantity(
    Ratio,
    (0.8, 1.0),
    (0.92, 0.99),
    "the share of crank power that reaches the wheel, where 0.977 is 97.7 %",
);

pub(super) const REPS: Quantity = prescribed(
    Named("reps"),
    (1.0, 200.0),
    "how often the work is repeated",
);
pub(super) const WARM_UP: Quantity =
    prescribed(Duration, (0.0, 14_400.0), "the riding before the first rep");
pub(super) const WORK: Quantity = prescribed(Duration, (1.0, 7200.0), "how long one rep lasts");
pub(super) const RECOVERY: Quantity =
    prescribed(Duration, (0.0, 7200.0), "the easy riding between two reps");
pub(super) const POWER_SHARE: Quantity = prescribed(
    Ratio,
    (0.2, 3.0),
    "the power of a rep as a share of threshold, where 0.83 is 83 %",
);
pub(super) const POWER_W: Quantity =
    prescribed(Named("W"), (20.0, 2500.0), "the power of a rep, in watts");
pub(super) const CADENCE_RPM: Quantity = prescribed(
    Named("rpm"),
    (20.0, 180.0),
    "the cadence of a rep, in turns of the cranks a minute",
);
pub(super) const TORQUE_NM: Quantity = prescribed(
    Named("N·m"),
    (2.0, 400.0),
    "the torque at the cranks, in newton metres",
);
pub(super) const FROM_KMH: Quantity = prescribed(
    Named("km/h"),
    (3.0, 60.0),
    "the speed of the roll that a maximal effort starts from, in kilometres per hour (slower, nobody steers)",
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_outside_the_bounds_is_told_them_with_their_unit() {
        let fault = RIDER_MASS_KG.check(-5.0, "-5").unwrap_err();
        let told =
            "-5 is outside 25 to 250 kg: the rider's body mass without clothes, in kilograms";
        assert_eq!(fault.to_string(), told);
        let fault = WORK.check(0.0, "0:00").unwrap_err();
        assert_eq!(
            fault.to_string(),
            "0:00 is outside 0:01 to 2:00:00: how long one rep lasts"
        );
    }

    #[test]
    fn the_bounds_themselves_are_inside() {
        assert_eq!(RIDER_MASS_KG.check(25.0, "25"), Ok(25.0));
        assert_eq!(RIDER_MASS_KG.check(250.0, "250"), Ok(250.0));
    }

    #[test]
    fn what_is_no_number_is_outside_every_bound() {
        for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(CRR.check(value, "x").is_err());
        }
    }

    #[test]
    fn an_unusual_value_gets_a_remark_and_a_usual_one_none() {
        let remark = CDA_M2.remark(0.15).unwrap();
        assert!(
            remark.starts_with("0.15 m² is unusual (0.2 to 0.6 m² is usual)"),
            "{remark}"
        );
        assert_eq!(CDA_M2.remark(0.36), None);
    }
}
