//! At each grade: what each gear turns in the power band, and whether that suits.

use super::{Band, Bands, Drive, Gear, effort};
use crate::ride::{Cell, System, Weather, air, gravity};

/// Where the chart is drawn: what air and gravity are there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Density of the air, in kg/m³.
    pub density_kg_m3: f64,
    /// Gravity, in m/s².
    pub gravity_m_s2: f64,
    /// Headwind along the road, in metres per second.
    pub headwind_ms: f64,
}

impl Surroundings {
    /// Still air and gravity at an elevation (metres), at 45° of latitude, where gravity is within 0.3 % of everywhere's.
    pub fn at(elevation_m: f64, weather: &Weather) -> Self {
        Surroundings {
            density_kg_m3: air::density_kg_m3(elevation_m, weather),
            gravity_m_s2: gravity::normal_gravity_m_s2(std::f64::consts::FRAC_PI_4, elevation_m),
            headwind_ms: 0.0,
        }
    }
}

impl Default for Surroundings {
    /// The standard atmosphere at sea level (ISO 2533:1975), standard gravity, no wind.
    fn default() -> Self {
        Surroundings {
            density_kg_m3: 1.225,
            gravity_m_s2: 9.806_65,
            headwind_ms: 0.0,
        }
    }
}

/// A grade, and what every gear does there.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeColumn {
    /// The grade, in per cent.
    pub grade_pct: f64,
    /// Steady speed at the lower end, the upper end and the aim of the power band, in metres per second.
    pub speed_ms: Band,
    /// Every gear of the bike, lowest development first.
    pub gears: Vec<GearAtGrade>,
    /// Index in `gears` of the gear that comes nearest to the aims; `None` where none suits.
    pub best: Option<usize>,
    /// Where none suits: the sprocket and the chainring nearest in size to one that is there with which a gear would.
    pub changes: Vec<Change>,
}

/// What one gear does on one grade, over the power band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GearAtGrade {
    /// The gear.
    pub gear: Gear,
    /// Cadence at the lower end, the upper end and the aim of the power band, in turns a minute.
    pub cadence_rpm: Band,
    /// Mean crank torque at the same powers, in newton metres; `from` and `to` are the smallest and the largest of the band.
    pub torque_nm: Band,
    /// Mean tangential pedal force, both legs together, likewise, in newtons.
    pub pedal_force_n: Band,
    /// Whether some power in the band gives a cadence (and torque, where prescribed) in its band.
    pub suits: bool,
}

/// The grades on which a gear suits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// The gear.
    pub gear: Gear,
    /// Here the least power turns the highest cadence, in per cent.
    pub gentlest_grade_pct: f64,
    /// Here the most power turns the lowest cadence, in per cent.
    pub steepest_grade_pct: f64,
}

/// The smallest change of the bike with which a gear suits a grade where none does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Change {
    /// Another sprocket, with a chainring that is there.
    Sprocket {
        /// Teeth of the new sprocket.
        sprocket: u32,
        /// Teeth of the chainring.
        chainring: u32,
    },
    /// Another chainring, with a sprocket that is there.
    Chainring {
        /// Teeth of the new chainring.
        chainring: u32,
        /// Teeth of the sprocket.
        sprocket: u32,
    },
}

/// A straight chain is worth being this share further from the cadence aimed for (common practice, no source).
pub(super) const CROSSED_MISS: f64 = 0.05;

/// The gear chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// One column a grade.
    pub grades: Vec<GradeColumn>,
    /// The grades on which each gear suits, lowest gear first.
    pub windows: Vec<Window>,
    /// The steepest grade on which some gear suits, in per cent.
    pub steepest_grade_pct: f64,
    /// The gentlest grade on which some gear suits, in per cent.
    pub gentlest_grade_pct: f64,
}

/// Works out the chart of a bike under a rider for grades in per cent.
pub fn chart(drive: &Drive, around: &Surroundings, bands: &Bands, grades_pct: &[f64]) -> Chart {
    let grades = grades_pct
        .iter()
        .map(|&grade_pct| column(drive, around, bands, grade_pct))
        .collect();
    let (lowest, highest) = (drive.lowest_development_m(), drive.highest_development_m());
    let holds = |(power_w, cadence_rpm): (f64, f64), development_m: f64| {
        grade_for_pct(
            &drive.system,
            around,
            power_w,
            effort::speed_ms(cadence_rpm, development_m),
        )
    };
    let windows = drive
        .gears
        .iter()
        .map(|&gear| Window {
            gear,
            gentlest_grade_pct: holds(gentlest(drive, bands), gear.development_m),
            steepest_grade_pct: holds(steepest(drive, bands), gear.development_m),
        })
        .collect();
    Chart {
        grades,
        windows,
        steepest_grade_pct: holds(steepest(drive, bands), lowest),
        gentlest_grade_pct: holds(gentlest(drive, bands), highest),
    }
}

/// The power (where it is measured, W) and cadence (rpm) inside the bands that hold the steepest grade in any gear: as much power
/// and as little cadence as the torque band allows.
fn steepest(drive: &Drive, bands: &Bands) -> (f64, f64) {
    let (power, cadence) = (bands.power_w, bands.cadence_rpm);
    let Some(torque) = bands.torque_nm else {
        return (power.to, cadence.from);
    };
    let per_rpm = torque.to * effort::angular_speed_rad_s(1.0) / drive.crank_per_measured;
    let rpm = cadence.from.max(power.from / per_rpm);
    (power.to.min(per_rpm * rpm), rpm)
}

/// Likewise for the gentlest: as little power and as much cadence as the torque band allows.
fn gentlest(drive: &Drive, bands: &Bands) -> (f64, f64) {
    let (power, cadence) = (bands.power_w, bands.cadence_rpm);
    let Some(torque) = bands.torque_nm else {
        return (power.from, cadence.to);
    };
    let per_rpm = torque.from * effort::angular_speed_rad_s(1.0) / drive.crank_per_measured;
    let rpm = cadence.to.min(power.to / per_rpm);
    (power.from.max(per_rpm * rpm), rpm)
}

/// The grade on which a power (W) holds a speed (m/s), in per cent; bisected to 1e-9.
pub fn grade_for_pct(system: &System, around: &Surroundings, power_w: f64, speed_ms: f64) -> f64 {
    let needs = |grade: f64| {
        cell(system, around, grade)
            .power_for_speed_w(speed_ms, system.resistance.drivetrain_efficiency)
    };
    let (mut low, mut high) = (-1.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if needs(middle) < power_w {
            low = middle
        } else {
            high = middle
        }
    }
    50.0 * (low + high)
}

fn cell(system: &System, around: &Surroundings, grade: f64) -> Cell {
    Cell::new(
        system,
        1.0,
        grade,
        around.density_kg_m3,
        around.gravity_m_s2,
        around.headwind_ms,
    )
}

fn column(drive: &Drive, around: &Surroundings, bands: &Bands, grade_pct: f64) -> GradeColumn {
    let cell = cell(&drive.system, around, grade_pct / 100.0);
    let speed = |power_w: f64| {
        cell.speed_for_power_ms(power_w, drive.system.resistance.drivetrain_efficiency)
    };
    let power = bands.power_w;
    let speed_ms = Band {
        from: speed(power.from),
        to: speed(power.to),
        aim: speed(power.aim),
    };
    let gears: Vec<GearAtGrade> = drive
        .gears
        .iter()
        .map(|&gear| gear_at_grade(drive, &cell, bands, &speed_ms, gear))
        .collect();
    let miss = |g: &GearAtGrade| {
        (g.cadence_rpm.aim / bands.cadence_rpm.aim).ln().abs()
            + if g.gear.crossed { CROSSED_MISS } else { 0.0 }
    };
    let best = (0..gears.len())
        .filter(|&i| gears[i].suits)
        .min_by(|&a, &b| miss(&gears[a]).total_cmp(&miss(&gears[b])));
    let changes = if best.is_none() {
        changes(drive, bands, &speed_ms)
    } else {
        Vec::new()
    };
    GradeColumn {
        grade_pct,
        speed_ms,
        gears,
        best,
        changes,
    }
}

/// Sprockets that are made, in teeth (common practice, no source).
const SPROCKETS_MADE: std::ops::RangeInclusive<u32> = 9..=52;
/// Chainrings that are made, in teeth (common practice, no source).
const CHAINRINGS_MADE: std::ops::RangeInclusive<u32> = 20..=60;

/// The nearest other sprocket and the nearest other chainring that bring the cadence into its band.
fn changes(drive: &Drive, bands: &Bands, speed_ms: &Band) -> Vec<Change> {
    let turns = |gear: &Gear, chainring: u32, sprocket: u32| {
        let per_ratio = gear.development_m * f64::from(gear.sprocket) / f64::from(gear.chainring);
        let development_m = per_ratio * f64::from(chainring) / f64::from(sprocket);
        let (slowest, fastest) = (
            effort::cadence_rpm(speed_ms.from, development_m),
            effort::cadence_rpm(speed_ms.to, development_m),
        );
        fastest >= bands.cadence_rpm.from && slowest <= bands.cadence_rpm.to
    };
    let sprocket = drive
        .gears
        .iter()
        .flat_map(|gear| SPROCKETS_MADE.map(move |teeth| (gear, teeth)))
        .filter(|(gear, teeth)| turns(gear, gear.chainring, *teeth))
        .min_by_key(|(gear, teeth)| {
            (
                teeth.abs_diff(gear.sprocket),
                std::cmp::Reverse(gear.chainring),
            )
        })
        .map(|(gear, teeth)| Change::Sprocket {
            sprocket: teeth,
            chainring: gear.chainring,
        });
    let chainring = drive
        .gears
        .iter()
        .flat_map(|gear| CHAINRINGS_MADE.map(move |teeth| (gear, teeth)))
        .filter(|(gear, teeth)| turns(gear, *teeth, gear.sprocket))
        .min_by_key(|(gear, teeth)| (teeth.abs_diff(gear.chainring), gear.sprocket))
        .map(|(gear, teeth)| Change::Chainring {
            chainring: teeth,
            sprocket: gear.sprocket,
        });
    sprocket.into_iter().chain(chainring).collect()
}

fn gear_at_grade(
    drive: &Drive,
    cell: &Cell,
    bands: &Bands,
    speed_ms: &Band,
    gear: Gear,
) -> GearAtGrade {
    let cadence = |v: f64| effort::cadence_rpm(v, gear.development_m);
    let cadence_rpm = Band {
        from: cadence(speed_ms.from),
        to: cadence(speed_ms.to),
        aim: cadence(speed_ms.aim),
    };
    let torque =
        |power_w: f64, rpm: f64| effort::torque_nm(power_w * drive.crank_per_measured, rpm);
    let (low, high) = (
        torque(bands.power_w.from, cadence_rpm.from),
        torque(bands.power_w.to, cadence_rpm.to),
    );
    let torque_nm = Band {
        from: low.min(high),
        to: low.max(high),
        aim: torque(bands.power_w.aim, cadence_rpm.aim),
    };
    let force = 1.0 / (drive.crank_mm / 1000.0);
    GearAtGrade {
        gear,
        cadence_rpm,
        torque_nm,
        pedal_force_n: torque_nm.scaled(force),
        suits: suits(drive, cell, bands, &cadence_rpm, gear),
    }
}

/// Whether some cadence in its band takes a power in its band, and a torque in its band where one is prescribed.
fn suits(drive: &Drive, cell: &Cell, bands: &Bands, turned_rpm: &Band, gear: Gear) -> bool {
    let from = turned_rpm.from.max(bands.cadence_rpm.from);
    let to = turned_rpm.to.min(bands.cadence_rpm.to);
    if from > to {
        return false;
    }
    let Some(prescribed) = bands.torque_nm else {
        return true;
    };
    // Along a steady grade the torque grows with the speed, so the torques of this cadence band are a band too.
    let torque = |rpm: f64| {
        let v = effort::speed_ms(rpm, gear.development_m);
        effort::torque_nm(
            cell.power_for_speed_w(v, drive.system.resistance.drivetrain_efficiency)
                * drive.crank_per_measured,
            rpm,
        )
    };
    torque(to) >= prescribed.from && torque(from) <= prescribed.to
}
