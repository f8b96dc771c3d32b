//! A rep of a plan, ridden on the true road.
//!
//! The rider starts at the place and in the gear that the plan names, shifts where it says, aims for its cadence and lets the power flex inside the
//! set's band; where that ends, the cadence gives. A rider who shifts besides does so by what is felt or read, and foresees nothing of the
//! road. How fast that goes is worked out here from the road model of Martin et al. (1998), written down a second time, in small steps along single metres.

use hillwright::matching::PlacedRep;
use hillwright::profile::Profile;

use super::road::Road;

const POWER_BAND_W: (f64, f64) = (190.0, 225.0);
const CADENCE_BAND_RPM: (f64, f64) = (50.0, 60.0);
/// A three-second cadence may be off by as much as rounding to tenths hides.
const ROUNDING_RPM: f64 = 0.05;
const RUN_IN_S: f64 = 15.0;
/// So far after a kink the speed has settled again, in metres.
const AFTER_KINK_M: usize = 60;

/// The example rider: 68 kg, and a bike and kit of 12.5 kg.
const MASS_KG: f64 = 80.5;
/// 0.14 kg·m² on a radius of 0.339 m (28-622) is as good as 1.22 kg more.
const INERTIAL_MASS_KG: f64 = MASS_KG + 1.22;
const DRAG_AREA_M2: f64 = 0.36 + 0.0044;
const ROLLING: f64 = 0.005;
const EFFICIENCY: f64 = 0.977;
const GRAVITY_M_S2: f64 = 9.81;
/// 28-622: π · 0.678 m.
const CIRCUMFERENCE_M: f64 = 2.130;
/// Cassette of the example rider.
const SPROCKETS: [u32; 11] = [11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30];
const STEP_S: f64 = 0.05;
/// The rider makes up for a wrong speed in about this time, in seconds.
const REACTION_S: f64 = 1.0;

/// While the chain moves, for half a turn of the cranks, the rider pushes with so much of the power (common practice, no source).
const SHIFT_TAKES_S: f64 = 0.5;
/// See [`SHIFT_TAKES_S`].
const SHIFT_PUSH: f64 = 0.5;

/// How a rider shifts at the rear besides where the plan says. The seconds are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shifting {
    /// Not at all.
    AsPlanned,
    /// By the display: once the cadence has been within 1 rpm of an end of its band, or outside it, for 1.5 s, and no sooner after the last time.
    Late,
    /// By what the legs feel: once the cadence, going on as it does on this grade, has been about to leave its band within 2 s for as long as 1 s, and no
    /// sooner after the last time.
    InTime,
}

/// A cadence so near to an end of its band makes a rider shift who goes by the display, in turns a minute,
const NEAR_END_RPM: f64 = 1.0;
/// after so many seconds.
const LATE_AFTER_S: f64 = 1.5;
/// So long before its end a rider feels that the cadence will leave the band, in seconds,
const FELT_BEFORE_S: f64 = 2.0;
/// and shifts after so many.
const FELT_FOR_S: f64 = 1.0;

/// How much of a rep the cadence was in its band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InBand {
    /// Share of the three-second cadences, after the run-in.
    pub whole: f64,
    /// The same outside kinks, which the definition of a steady climb passes over, and the metres after each.
    pub between_kinks: f64,
    /// How often the rider shifted, where the plan says and besides.
    pub shifts: usize,
}

/// A rep of a plan, where it lies on the true road.
pub struct Rep<'a> {
    road: &'a Road,
    start_m: f64,
    entry_speed_m_s: f64,
    aim_rpm: f64,
    chainring: u32,
    sprocket: u32,
    /// Where on the true road, in metres, which sprocket is planned.
    shifts: Vec<(f64, u32)>,
    work_s: f64,
}

/// A rider in a rep.
struct Rider<'a> {
    rep: &'a Rep<'a>,
    at_m: f64,
    speed_m_s: f64,
    sprocket: u32,
    /// Which sprocket the plan named last.
    planned: u32,
    /// How long the chain still moves.
    moving_s: f64,
    /// How long there has been a reason to shift.
    reason_s: f64,
    shifts: usize,
}

impl<'a> Rep<'a> {
    /// Puts a rep that was planned on a profile on the true road.
    pub fn new(road: &'a Road, profile: &Profile, rep: &PlacedRep, work_s: f64) -> Self {
        let true_m = |at_m: f64| {
            let (lat_deg, lon_deg) = profile.position_at(at_m);
            road.true_distance_m(lat_deg, lon_deg, None)
        };
        let shifts = rep.shifts.iter();
        Self {
            road,
            start_m: true_m(rep.start_m),
            entry_speed_m_s: rep.entry_speed_ms,
            aim_rpm: rep.aim_rpm,
            chainring: rep.gear.chainring,
            sprocket: rep.gear.sprocket,
            shifts: shifts.map(|s| (true_m(s.at_m), s.gear.sprocket)).collect(),
            work_s,
        }
    }

    /// Rides it.
    pub fn ride(&self, shifting: Shifting) -> InBand {
        let mut rider = Rider {
            rep: self,
            at_m: self.start_m,
            speed_m_s: self.entry_speed_m_s,
            sprocket: self.sprocket,
            planned: self.sprocket,
            moving_s: 0.0,
            reason_s: 0.0,
            shifts: 0,
        };
        let (mut whole, mut between_kinks) = (Share::default(), Share::default());
        let steps = |seconds: f64| (seconds / STEP_S) as usize;
        for _ in 0..steps(RUN_IN_S) {
            rider.advance();
        }
        let in_window = steps(3.0);
        for _ in 0..(steps(self.work_s) - steps(RUN_IN_S)) / in_window {
            let mut turns = 0.0;
            for _ in 0..in_window {
                turns += rider.advance() / rider.turned_m();
                rider.shift_besides(shifting);
            }
            let held = off_band(20.0 * turns, ROUNDING_RPM) == 0;
            whole.count(held);
            if !self.is_near_kink(rider.at_m as usize) {
                between_kinks.count(held);
            }
        }
        InBand {
            whole: whole.share(),
            between_kinks: between_kinks.share(),
            shifts: rider.shifts,
        }
    }

    fn is_near_kink(&self, metre: usize) -> bool {
        let kinks = &self.road.profile.in_kink;
        let behind = metre.saturating_sub(AFTER_KINK_M);
        kinks[behind..=metre.min(kinks.len() - 1)].contains(&true)
    }
}

impl Rider<'_> {
    /// Metres that a turn of the cranks takes.
    fn turned_m(&self) -> f64 {
        f64::from(self.rep.chainring) / f64::from(self.sprocket) * CIRCUMFERENCE_M
    }

    fn cadence_rpm(&self, speed_m_s: f64) -> f64 {
        60.0 * speed_m_s / self.turned_m()
    }

    /// A step, after a shift if one is planned here; the metres of it.
    fn advance(&mut self) -> f64 {
        let mut planned = self.rep.shifts.iter();
        let now = planned.rfind(|(shift_m, _)| self.at_m >= *shift_m);
        if let Some(&(_, next)) = now.filter(|(_, next)| *next != self.planned) {
            self.planned = next;
            self.shift_to(next);
        }
        let push = if self.moving_s > 0.0 { SHIFT_PUSH } else { 1.0 };
        self.moving_s -= STEP_S;
        self.speed_m_s = self.next_speed_m_s(self.speed_m_s, push);
        let step_m = self.speed_m_s * STEP_S;
        self.at_m += step_m;
        step_m
    }

    fn shift_to(&mut self, sprocket: u32) {
        if sprocket != self.sprocket {
            self.sprocket = sprocket;
            self.moving_s = SHIFT_TAKES_S;
            self.shifts += 1;
        }
    }

    /// One sprocket at the rear, if there has been a reason for long enough.
    fn shift_besides(&mut self, shifting: Shifting) {
        let (off, after_s) = match shifting {
            Shifting::AsPlanned => return,
            Shifting::Late => {
                let now = self.cadence_rpm(self.speed_m_s);
                (off_band(now, -NEAR_END_RPM), LATE_AFTER_S)
            }
            Shifting::InTime => (self.off_soon(), FELT_FOR_S),
        };
        self.reason_s = if off == 0 {
            0.0
        } else {
            self.reason_s + STEP_S
        };
        if off != 0 && self.reason_s >= after_s {
            self.reason_s = 0.0;
            self.shift_to(beside(self.sprocket, off));
        }
    }

    /// On which side of its band the cadence would soon be, in this gear, if the grade went on as it is here; on none where it is on the other side now.
    fn off_soon(&self) -> i32 {
        let steps = (FELT_BEFORE_S / STEP_S) as usize;
        let soon_m_s = (0..steps).fold(self.speed_m_s, |so_far_m_s, _| {
            self.next_speed_m_s(so_far_m_s, 1.0)
        });
        let off = |m_s| off_band(self.cadence_rpm(m_s), 0.0);
        let (now, soon) = (off(self.speed_m_s), off(soon_m_s));
        if now == -soon { 0 } else { soon }
    }

    /// The speed a step later, pushing with a share of the power that brings the aimed cadence.
    fn next_speed_m_s(&self, speed_m_s: f64, push: f64) -> f64 {
        let profile = &self.rep.road.profile;
        let metre = (self.at_m as usize).min(profile.grade_pct.len() - 1);
        let slope_rad = (profile.grade_pct[metre] / 100.0).atan();
        // Air by ISO 2533, 15 °C at sea level.
        let density = 1.225 * (1.0 - 2.255_77e-5 * profile.elevation_m[metre]).powf(4.255_88);
        let held_back_n = MASS_KG * GRAVITY_M_S2 * (slope_rad.sin() + ROLLING * slope_rad.cos())
            + 0.091
            + 0.0087 * speed_m_s
            + 0.5 * density * DRAG_AREA_M2 * speed_m_s * speed_m_s;
        let wanted_m_s = self.rep.aim_rpm / 60.0 * self.turned_m();
        let pull_n = held_back_n + INERTIAL_MASS_KG * (wanted_m_s - speed_m_s) / REACTION_S;
        let power_w = (pull_n * speed_m_s / EFFICIENCY).clamp(POWER_BAND_W.0, POWER_BAND_W.1);
        let net_n = push * power_w * EFFICIENCY / speed_m_s - held_back_n;
        (speed_m_s + net_n / INERTIAL_MASS_KG * STEP_S).max(0.7)
    }
}

/// -1 for a cadence below its band by more than so much, 1 for one above, 0 between.
fn off_band(cadence_rpm: f64, by_rpm: f64) -> i32 {
    let (low, high) = CADENCE_BAND_RPM;
    i32::from(cadence_rpm > high + by_rpm) - i32::from(cadence_rpm < low - by_rpm)
}

/// The next larger sprocket for a cadence that is too low, the next smaller one for one that is too high.
fn beside(sprocket: u32, off: i32) -> u32 {
    let mut all = SPROCKETS.into_iter();
    let other = if off < 0 {
        all.find(|s| *s > sprocket)
    } else {
        all.rfind(|s| *s < sprocket)
    };
    other.unwrap_or(sprocket)
}

#[derive(Default)]
struct Share {
    inside: u32,
    all: u32,
}

impl Share {
    fn count(&mut self, inside: bool) {
        self.all += 1;
        self.inside += u32::from(inside);
    }

    fn share(&self) -> f64 {
        f64::from(self.inside) / f64::from(self.all.max(1))
    }
}
