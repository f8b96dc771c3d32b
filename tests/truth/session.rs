//! A set planned on a recording, and its reps ridden on the true road.
//!
//! The rider starts each rep at the place and in the gear that the plan names, shifts where it says, aims for its cadence and lets
//! the power flex inside the set's band; or shifts at the rear besides, once the cadence is at an end of its band or in time before. How fast that goes on the true grade is worked out here from the road model of Martin et al.
//! (1998), written down a second time, in small steps along single metres.

use hillwright::climbs::{self, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::{self, Demand, PlacedRep, Rates, Task, Wishes};
use hillwright::prescription::{EXAMPLE_RIDER, RiderFile, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::ride::Weather;
use hillwright::route::{RawPoint, Recording, Sensors, clean};

use super::recording::{Kind, record};
use super::road::Road;

/// A set that is asked of a road.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Six reps of four minutes, as in the example set.
    SixByFour,
    /// More reps of three minutes than any of the roads has room for: the worst places count as well.
    AsManyAsThereIsRoom,
}

impl Asked {
    /// Both.
    pub const ALL: [Self; 2] = [Self::SixByFour, Self::AsManyAsThereIsRoom];

    /// As a heading has it.
    pub fn name(self) -> &'static str {
        match self {
            Self::SixByFour => "six reps of 4:00",
            Self::AsManyAsThereIsRoom => "as many reps of 3:00 as there is room for",
        }
    }

    fn work_s(self) -> f64 {
        match self {
            Self::SixByFour => 240.0,
            Self::AsManyAsThereIsRoom => 180.0,
        }
    }

    fn toml(self) -> String {
        let (reps, recovery) = match self {
            Self::SixByFour => (6, r#"{ at_least = "4:00", at_most = "9:00" }"#),
            Self::AsManyAsThereIsRoom => (40, r#"{ at_least = "3:00", at_most = "20:00" }"#),
        };
        format!(
            r#"
            warm_up = "10:00"
            [[block]]
            reps = {reps}
            work = "{}:00"
            recovery = {recovery}
            power_w = {{ from = 190, to = 225, aim = 207 }}
            cadence_rpm = {{ from = 50, to = 60, aim = 55 }}
            "#,
            self.work_s() / 60.0
        )
    }
}

const POWER_BAND_W: (f64, f64) = (190.0, 225.0);
const CADENCE_BAND_RPM: (f64, f64) = (50.0, 60.0);
/// A three-second cadence may be off by as much as rounding to tenths hides.
const ROUNDING_RPM: f64 = 0.05;
const RUN_IN_S: f64 = 15.0;

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
const STEP_S: f64 = 0.05;
/// The rider makes up for a wrong speed in about this time, in seconds.
const REACTION_S: f64 = 1.0;

/// How plans made from one kind of recording do on the roads themselves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ridden {
    /// Reps for which there is room, as planned on the roads without any error and kept in band there.
    pub hosted: usize,
    /// Reps that were placed, on each road no more than are hosted.
    pub placed: usize,
    /// For each rep placed, the share of its three-second cadences that lie in the band.
    pub in_band: Vec<f64>,
    /// The same outside kinks, which the definition of a steady climb passes over, and the metres after each.
    pub in_band_between_kinks: Vec<f64>,
    /// For each rep placed, the share in the band of a rider who shifts at the rear once the cadence is at an end of it.
    pub in_band_shifting: Vec<f64>,
    /// The same of a rider who feels it going there and shifts in time.
    pub in_band_in_time: Vec<f64>,
    /// How often that rider shifts, all reps together.
    pub shifts: usize,
}

/// So far after a kink the speed has settled again, in metres.
const AFTER_KINK_M: usize = 60;

impl Ridden {
    /// Reps placed, as a share of those that the roads can host.
    pub fn placed_share(&self) -> f64 {
        self.placed as f64 / self.hosted.max(1) as f64
    }

    /// Share of the reps that keep the cadence in band for at least a share of the time.
    pub fn held_share(&self, least: f64) -> f64 {
        at_least(&self.in_band, least)
    }

    /// The same for a rider who shifts at the rear once the cadence is at an end of the band.
    pub fn held_shifting(&self, least: f64) -> f64 {
        at_least(&self.in_band_shifting, least)
    }

    /// The same for a rider who feels it going there and shifts in time.
    pub fn held_in_time(&self, least: f64) -> f64 {
        at_least(&self.in_band_in_time, least)
    }

    /// The same, kinks aside.
    pub fn held_between_kinks(&self, least: f64) -> f64 {
        at_least(&self.in_band_between_kinks, least)
    }
}

fn at_least(shares: &[f64], least: f64) -> f64 {
    shares.iter().filter(|&&share| share >= least).count() as f64 / shares.len().max(1) as f64
}

/// A rep of which this share of the time lies in band is kept in band.
pub const HELD: f64 = 0.95;

/// Plans on the roads of these seeds, recorded in every way, and rides the plans; the first row is of the roads as they are.
pub fn run(seeds: impl Iterator<Item = u64>, asked: Asked) -> Vec<(&'static str, Ridden)> {
    let names = ["exact"].into_iter().chain(Kind::ALL.map(Kind::name));
    let mut all: Vec<(&str, Ridden)> = names.map(|name| (name, Ridden::default())).collect();
    for seed in seeds {
        let road = Road::draw(seed);
        let recordings = [exact(&road)]
            .into_iter()
            .chain(Kind::ALL.map(|kind| record(&road, kind).recording));
        let mut hosted = None;
        for ((_, ridden), recording) in all.iter_mut().zip(recordings) {
            let (profile, reps) = plan(recording, asked);
            let each = reps.iter();
            let on_road: Vec<OnTheRoad> = each
                .map(|rep| OnTheRoad::new(&road, &profile, rep, asked.work_s()))
                .collect();
            let ridden_so = |shifting| on_road.iter().map(move |rep| rep.in_band(shifting));
            let planned: Vec<Held> = ridden_so(Shifting::AsPlanned).collect();
            let room = *hosted.get_or_insert(planned.iter().filter(|s| s.all >= HELD).count());
            ridden.hosted += room;
            ridden.placed += reps.len().min(room);
            ridden.in_band.extend(planned.iter().map(|s| s.all));
            let between_kinks = planned.iter().map(|s| s.between_kinks);
            ridden.in_band_between_kinks.extend(between_kinks);
            let shifting = ridden_so(Shifting::AtAnEnd).map(|s| s.all);
            ridden.in_band_shifting.extend(shifting);
            for held in ridden_so(Shifting::InTime) {
                ridden.in_band_in_time.push(held.all);
                ridden.shifts += held.shifts;
            }
        }
    }
    all
}

/// The table of plans, a row a kind.
pub fn table(all: &[(&str, Ridden)]) -> String {
    let mut table = String::from(
        "| recording | room for | placed | reps | 95 % of the time in band | 90 % | 80 % | 95 %, outside kinks | 95 %, shifting late | 95 %, shifting in time | shifts a rep |\n| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |\n",
    );
    for (name, ridden) in all {
        table += &format!(
            "| {name} | {} | {:.3} | {} | {:.3} | {:.3} | {:.3} | {:.3} | {:.3} | {:.3} | {:.1} |\n",
            ridden.hosted,
            ridden.placed_share(),
            ridden.in_band.len(),
            ridden.held_share(0.95),
            ridden.held_share(0.90),
            ridden.held_share(0.80),
            ridden.held_between_kinks(HELD),
            ridden.held_shifting(HELD),
            ridden.held_in_time(HELD),
            ridden.shifts as f64 / ridden.in_band.len().max(1) as f64,
        );
    }
    table
}

/// The road itself, a point each 5 m, nothing rounded.
fn exact(road: &Road) -> Recording {
    let points = (0..=(road.length_m() as usize) / 5).map(|i| {
        let at_m = 5.0 * i as f64;
        let (lat_deg, lon_deg) = road.position_deg(at_m);
        RawPoint {
            lat_deg,
            lon_deg,
            elevation_m: Some(road.profile.elevation_at_m(at_m)),
            time_s: None,
        }
    });
    Recording {
        name: None,
        points: points.collect(),
        segment_starts: vec![0],
        sensors: Sensors::default(),
        warnings: Vec::new(),
    }
}

/// The code under test: a recording goes in, a plan comes out.
fn plan(recording: Recording, asked: Asked) -> (Profile, Vec<PlacedRep>) {
    let route = clean(recording, "bench").unwrap_or_else(|e| panic!("{e}"));
    let profile = Profile::from_route(&route).unwrap_or_else(|e| panic!("{e}"));
    let found = climbs::find(&profile, &Rule::default());
    let rider: RiderFile = parse_rider(EXAMPLE_RIDER).unwrap_or_else(|e| panic!("{e}"));
    let set = parse_set(&asked.toml()).unwrap_or_else(|e| panic!("{e}"));
    let drive = Drive::new(&rider.rider, &rider.bike, &rider.resistance);
    let demands =
        Demand::of_set(&set, rider.rider.threshold_w, &drive).unwrap_or_else(|e| panic!("{e}"));
    let task = Task {
        profile: &profile,
        climbs: &found,
        halts: &[],
        rider: &rider.rider,
        drive: &Drive::new(&rider.rider, &rider.bike, &rider.resistance),
        weather: &Weather::default(),
        demands: &demands,
        warm_up_s: set.warm_up_s,
        rates: &Rates::default(),
        wishes: &Wishes::default(),
    };
    let reps = matching::plan(&task).reps;
    (profile, reps)
}

/// What a rider does on the true road with one rep of a plan.
struct OnTheRoad<'a> {
    road: &'a Road,
    /// Where the rep starts on the true road, in metres.
    start_m: f64,
    entry_speed_m_s: f64,
    aim_rpm: f64,
    chainring: u32,
    sprocket: u32,
    /// Where on the true road, in metres, which sprocket is planned.
    shifts: Vec<(f64, u32)>,
    work_s: f64,
}

/// Which shifts a rider makes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Shifting {
    /// Those of the plan.
    AsPlanned,
    /// Those, and one at the rear whenever the cadence has been at an end of its band, or outside it, for a moment: a rider who goes by the display.
    AtAnEnd,
    /// Those, and one at the rear whenever the cadence, going on as it does on the grade under the wheels, is about to leave its band: a rider who
    /// feels the road, but foresees none of it.
    InTime,
}

/// What of a rep was in its band.
struct Held {
    /// The share of the three-second cadences, after the run-in, that lie in the band,
    all: f64,
    /// and the share outside kinks.
    between_kinks: f64,
    /// How often the rider shifted.
    shifts: usize,
}

/// Cassette of the example rider.
const SPROCKETS: [u32; 11] = [11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30];
/// A rider who looks at the cadence shifts when it comes this near to an end of its band, in turns a minute,
const NEAR_END_RPM: f64 = 1.0;
/// and has done so after so many seconds, and not again sooner (common practice, no source).
const SHIFT_AFTER_S: f64 = 1.5;
/// A rider who feels where the cadence goes shifts where it would leave its band within so many seconds,
const BEFORE_END_S: f64 = 2.0;
/// and once in so many (common practice, no source). With one second before the end, or with the road ahead in sight, the same reps keep their cadence within one
/// in a hundred; with 1.5 s from shift to shift two in a hundred fewer (seeds 3000 to 3029).
const SHIFT_EACH_S: f64 = 1.0;

impl<'a> OnTheRoad<'a> {
    fn new(road: &'a Road, profile: &Profile, rep: &PlacedRep, work_s: f64) -> Self {
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

    fn in_band(&self, shifting: Shifting) -> Held {
        let kinks = &self.road.profile.in_kink;
        let (mut at_m, mut speed_m_s) = (self.start_m, self.entry_speed_m_s);
        let (mut sprocket, mut planned, mut off_s) = (self.sprocket, self.sprocket, 0.0);
        let (mut all, mut between_kinks, mut turns) = (Share::default(), Share::default(), 0.0);
        let mut shifts = 0;
        let steps = (self.work_s / STEP_S) as usize;
        let in_window = (3.0 / STEP_S) as usize;
        let judged_from = (RUN_IN_S / STEP_S) as usize;
        for step in 0..steps {
            let now = self.shifts.iter().rfind(|(shift_m, _)| at_m >= *shift_m);
            if let Some((_, next)) = now.filter(|(_, next)| *next != planned) {
                (sprocket, planned) = (*next, *next);
                shifts += 1;
            }
            let turned_m = development_m(self.chainring, sprocket);
            speed_m_s = next_speed_m_s(self.road, at_m, speed_m_s, self.aim_rpm / 60.0 * turned_m);
            at_m += speed_m_s * STEP_S;
            if step < judged_from {
                continue;
            }
            let (off, after_s) = match shifting {
                Shifting::AsPlanned => (0, 0.0),
                Shifting::AtAnEnd => (
                    off_band(60.0 * speed_m_s / turned_m, -NEAR_END_RPM),
                    SHIFT_AFTER_S,
                ),
                Shifting::InTime => (self.off_soon(at_m, speed_m_s, turned_m), SHIFT_EACH_S),
            };
            off_s = if off == 0 { 0.0 } else { off_s + STEP_S };
            if off != 0 && off_s >= after_s {
                sprocket = beside(sprocket, off);
                shifts += 1;
                off_s = 0.0;
            }
            turns += speed_m_s * STEP_S / turned_m;
            if (step + 1 - judged_from).is_multiple_of(in_window) {
                let held = off_band(20.0 * turns, ROUNDING_RPM) == 0;
                all.count(held);
                let metre = at_m as usize;
                let behind = metre.saturating_sub(AFTER_KINK_M);
                if !kinks[behind..=metre.min(kinks.len() - 1)].contains(&true) {
                    between_kinks.count(held);
                }
                turns = 0.0;
            }
        }
        Held {
            all: all.share(),
            between_kinks: between_kinks.share(),
            shifts,
        }
    }

    /// On which side of its band the cadence would soon be, in this gear, if the grade went on as it is here; on none where it is on the other side now.
    fn off_soon(&self, at_m: f64, speed_m_s: f64, turned_m: f64) -> i32 {
        let wanted_m_s = self.aim_rpm / 60.0 * turned_m;
        let steps = (BEFORE_END_S / STEP_S) as usize;
        let soon_m_s = (0..steps).fold(speed_m_s, |so_far_m_s, _| {
            next_speed_m_s(self.road, at_m, so_far_m_s, wanted_m_s)
        });
        let [now, soon] = [speed_m_s, soon_m_s].map(|m_s| off_band(60.0 * m_s / turned_m, 0.0));
        if now == -soon { 0 } else { soon }
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

fn development_m(chainring: u32, sprocket: u32) -> f64 {
    f64::from(chainring) / f64::from(sprocket) * CIRCUMFERENCE_M
}

/// The speed a step later of somebody who wants to ride at `wanted_m_s`.
fn next_speed_m_s(road: &Road, at_m: f64, speed_m_s: f64, wanted_m_s: f64) -> f64 {
    let metre = (at_m as usize).min(road.profile.grade_pct.len() - 1);
    let slope_rad = (road.profile.grade_pct[metre] / 100.0).atan();
    // Air by ISO 2533, 15 °C at sea level.
    let density = 1.225 * (1.0 - 2.255_77e-5 * road.profile.elevation_m[metre]).powf(4.255_88);
    let held_back_n = MASS_KG * GRAVITY_M_S2 * (slope_rad.sin() + ROLLING * slope_rad.cos())
        + 0.091
        + 0.0087 * speed_m_s
        + 0.5 * density * DRAG_AREA_M2 * speed_m_s * speed_m_s;
    let pull_n = held_back_n + INERTIAL_MASS_KG * (wanted_m_s - speed_m_s) / REACTION_S;
    let power_w = (pull_n * speed_m_s / EFFICIENCY).clamp(POWER_BAND_W.0, POWER_BAND_W.1);
    let net_n = power_w * EFFICIENCY / speed_m_s - held_back_n;
    (speed_m_s + net_n / INERTIAL_MASS_KG * STEP_S).max(0.7)
}
