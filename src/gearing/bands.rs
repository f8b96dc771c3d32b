//! What a rider is asked to hold.

/// A cadence that is beyond its band by less shows as the band's end in tenths, in turns a minute.
const CADENCE_ROUNDING_RPM: f64 = 0.05;

/// A band with the value to aim for; `from <= aim <= to`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The lower end.
    pub from: f64,
    /// The upper end.
    pub to: f64,
    /// What to aim for.
    pub aim: f64,
}

impl Band {
    /// A band of one value.
    pub fn only(value: f64) -> Band {
        Band {
            from: value,
            to: value,
            aim: value,
        }
    }

    /// Whether a value lies inside, ends included.
    pub fn contains(&self, value: f64) -> bool {
        (self.from..=self.to).contains(&value)
    }

    /// Whether a cadence (turns a minute) counts as inside a cadence band: one that is ridden at an end of it does, to rounding.
    pub fn holds_cadence(&self, rpm: f64) -> bool {
        (self.from - CADENCE_ROUNDING_RPM..=self.to + CADENCE_ROUNDING_RPM).contains(&rpm)
    }

    /// The same band in another unit.
    pub fn scaled(&self, by: f64) -> Band {
        Band {
            from: self.from * by,
            to: self.to * by,
            aim: self.aim * by,
        }
    }
}

/// Power, cadence and, where it is prescribed, torque during the work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bands {
    /// Power where it is measured, in watts.
    pub power_w: Band,
    /// Cadence, in turns of the cranks a minute.
    pub cadence_rpm: Band,
    /// Torque at the cranks, in newton metres, where it is prescribed: then it holds besides the other two, which alone
    /// would allow more. `None` where power and cadence say everything.
    pub torque_nm: Option<Band>,
}

impl Bands {
    /// The powers inside both the power band and, at a cadence (rpm), the torque band; `None` where there are none.
    pub fn powers_at_w(&self, cadence_rpm: f64) -> Option<(f64, f64)> {
        let (mut from, mut to) = (self.power_w.from, self.power_w.to);
        if let Some(torque) = self.torque_nm {
            let turns = super::effort::angular_speed_rad_s(cadence_rpm);
            from = from.max(torque.from * turns);
            to = to.min(torque.to * turns);
        }
        (from <= to).then_some((from, to))
    }
}
