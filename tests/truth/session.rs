//! A set planned on a recording, and its reps ridden on the true road ([`rep`]).

use hillwright::climbs::{self, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::{self, Demand, PlacedRep, Rates, Task, Wishes};
use hillwright::prescription::{EXAMPLE_RIDER, RiderFile, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::ride::Weather;
use hillwright::route::{RawPoint, Recording, Sensors, clean};

use super::recording::{Kind, record};
use super::rep::{Rep, Shifting};
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

/// How plans made from one kind of recording do on the roads themselves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ridden {
    /// Reps for which there is room, as planned on the roads without any error and kept in band there.
    pub hosted: usize,
    /// Reps that were placed, on each road no more than are hosted.
    pub placed: usize,
    /// For each rep placed, the share of its three-second cadences that lie in the band.
    pub in_band: Vec<f64>,
    /// The same outside kinks and the metres after each.
    pub in_band_between_kinks: Vec<f64>,
    /// For each rep placed, the share in the band of a rider who shifts at the rear besides, late.
    pub in_band_late: Vec<f64>,
    /// The same of a rider who does so in time.
    pub in_band_in_time: Vec<f64>,
    /// How often that rider shifts, all reps together.
    pub shifts_in_time: usize,
}

impl Ridden {
    /// Reps placed, as a share of those that the roads can host.
    pub fn placed_share(&self) -> f64 {
        self.placed as f64 / self.hosted.max(1) as f64
    }

    /// Share of the reps that keep the cadence in band for at least a share of the time.
    pub fn held_share(&self, least: f64) -> f64 {
        at_least(&self.in_band, least)
    }

    /// The same for a rider who shifts at the rear besides, late.
    pub fn held_late(&self, least: f64) -> f64 {
        at_least(&self.in_band_late, least)
    }

    /// The same for a rider who does so in time.
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
            let on_road: Vec<Rep> = each
                .map(|rep| Rep::new(&road, &profile, rep, asked.work_s()))
                .collect();
            let so = |shifting| on_road.iter().map(move |rep| rep.ride(shifting));
            for rep in so(Shifting::AsPlanned) {
                ridden.in_band.push(rep.whole);
                ridden.in_band_between_kinks.push(rep.between_kinks);
            }
            let planned = &ridden.in_band[ridden.in_band.len() - reps.len()..];
            let held = planned.iter().filter(|share| **share >= HELD);
            let room = *hosted.get_or_insert(held.count());
            ridden.hosted += room;
            ridden.placed += reps.len().min(room);
            ridden
                .in_band_late
                .extend(so(Shifting::Late).map(|rep| rep.whole));
            for rep in so(Shifting::InTime) {
                ridden.in_band_in_time.push(rep.whole);
                ridden.shifts_in_time += rep.shifts;
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
            ridden.held_late(HELD),
            ridden.held_in_time(HELD),
            ridden.shifts_in_time as f64 / ridden.in_band.len().max(1) as f64,
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
