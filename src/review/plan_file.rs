//! A plan's JSON, read back.

use serde::Deserialize;

use super::passings::planned_passings;
use super::planned::{Asked, AskedBlock, PlannedPlace, PlannedRep, reps_of_blocks};
use crate::gearing::{Band, Bands};
use crate::route::LatLon;

/// The documents that are read.
const SCHEMA: &str = "hillwright.plan/1";
/// More reps than anybody plans; memory is bounded by them.
const MOST_REPS: u32 = 1000;

/// Why a file is no plan that a recording can be held against.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanFileError {
    /// The file isn't JSON at all, or a field is missing or of the wrong kind.
    #[error("not a plan as `hillwright plan --format json` prints it: {0}; make the plan again")]
    Unreadable(String),
    /// Another document, or another version.
    #[error(
        "its schema is {seen}, not \"{SCHEMA}\"; make the plan again with this version: hillwright plan ROUTE --rider … --set … -o plan.json"
    )]
    OtherSchema {
        /// What the file says.
        seen: String,
    },
    /// A plan for no route, as one for a trainer.
    #[error(
        "the plan has no route: hold the recording against the set instead, with --rider and --set"
    )]
    NoRoute,
    /// Numbers that no plan has.
    #[error("{0}; make the plan again")]
    Unusable(String),
}

/// What can be held against a recording: one entry a route of the plan, the best first, and after each the way of riding it
/// that turns round, where the plan has one.
///
/// # Errors
/// [`PlanFileError`] says what was seen and what to do.
pub fn parse_plan(text: &str) -> Result<Vec<Asked>, PlanFileError> {
    let head: Head = read(text)?;
    match head.schema.as_deref() {
        Some(SCHEMA) => {}
        seen => {
            return Err(PlanFileError::OtherSchema {
                seen: seen.map_or("missing".to_owned(), |s| format!("{s:?}")),
            });
        }
    }
    let document: Document = read(text)?;
    if document
        .asked
        .blocks
        .iter()
        .map(|b| u64::from(b.reps))
        .sum::<u64>()
        > u64::from(MOST_REPS)
    {
        let told = format!("it has more than {MOST_REPS} reps");
        return Err(PlanFileError::Unusable(told));
    }
    let blocks: Vec<AskedBlock> = document
        .asked
        .blocks
        .iter()
        .map(Block::asked)
        .collect::<Result<_, _>>()?;
    let counts: Vec<u32> = document.asked.blocks.iter().map(|b| b.reps).collect();
    let asked = |route: &Route, placed: &[Rep]| {
        let mut placed: Vec<&Rep> = placed.iter().collect();
        placed.sort_by(|a, b| a.start_time_s.total_cmp(&b.start_time_s));
        let ridden: Vec<(usize, f64, f64)> = placed
            .iter()
            .map(|p| (p.lap, p.start.distance_m, p.end.distance_m))
            .collect();
        let passings = planned_passings(&ridden, route.length_m);
        Asked {
            route: Some(route.name.clone().unwrap_or_else(|| route.source.clone())),
            recovery_ceiling_w: document.asked.recovery_ceiling_w,
            threshold_w: document.asked.threshold_w,
            blocks: blocks.clone(),
            reps: reps_of_blocks(&counts)
                .into_iter()
                .map(|rep| PlannedRep {
                    place: placed
                        .iter()
                        .zip(&passings)
                        .find(|(p, _)| p.rep == rep.rep)
                        .map(|(p, passing)| p.place(*passing)),
                    ..rep
                })
                .collect(),
        }
    };
    let mut all = Vec::new();
    for route in &document.routes {
        all.push(asked(route, &route.reps));
        if let Some(turning) = &route.turning_round {
            all.push(asked(route, &turning.reps));
        }
    }
    if all.is_empty() {
        return Err(PlanFileError::NoRoute);
    }
    Ok(all)
}

fn read<T: for<'a> Deserialize<'a>>(text: &str) -> Result<T, PlanFileError> {
    serde_json::from_str(text).map_err(|e| PlanFileError::Unreadable(e.to_string()))
}

#[derive(Deserialize)]
struct Head {
    schema: Option<String>,
}

#[derive(Deserialize)]
struct Document {
    asked: AskedPart,
    routes: Vec<Route>,
}

#[derive(Deserialize)]
struct AskedPart {
    threshold_w: f64,
    recovery_ceiling_w: f64,
    blocks: Vec<Block>,
}

#[derive(Deserialize)]
struct Block {
    reps: u32,
    maximal: bool,
    work_s: f64,
    recovery_at_least_s: f64,
    recovery_at_most_s: Option<f64>,
    power_band_w: BandPart,
    cadence_band_rpm: BandPart,
    torque_band_nm: Option<BandPart>,
}

#[derive(Deserialize, Clone, Copy)]
struct BandPart {
    from: f64,
    to: f64,
    aim: f64,
}

#[derive(Deserialize)]
struct Route {
    source: String,
    name: Option<String>,
    length_m: f64,
    reps: Vec<Rep>,
    turning_round: Option<Turning>,
}

#[derive(Deserialize)]
struct Turning {
    reps: Vec<Rep>,
}

#[derive(Deserialize)]
struct Rep {
    rep: usize,
    lap: usize,
    start_time_s: f64,
    start: Place,
    end: Place,
    end_if_fast: Place,
    gear: GearPart,
    aim_rpm: f64,
    power_w: f64,
}

#[derive(Deserialize, Clone, Copy)]
struct Place {
    distance_m: f64,
    lat: f64,
    lon: f64,
}

#[derive(Deserialize, Clone, Copy)]
struct GearPart {
    chainring: u32,
    sprocket: u32,
    hub_ratio: Option<f64>,
}

impl Block {
    fn asked(&self) -> Result<AskedBlock, PlanFileError> {
        let good = |b: &BandPart| b.from >= 0.0 && b.from <= b.aim && b.aim <= b.to && b.to < 1e4;
        let bands = [
            Some(&self.power_band_w),
            Some(&self.cadence_band_rpm),
            self.torque_band_nm.as_ref(),
        ];
        if !bands.into_iter().flatten().all(good) {
            let told = "a band's ends and aim are not in order (from, aim, to)".to_owned();
            return Err(PlanFileError::Unusable(told));
        }
        if !(1.0..=86_400.0).contains(&self.work_s) {
            let told = format!("a rep lasts {} s: 1 s to a day is possible", self.work_s);
            return Err(PlanFileError::Unusable(told));
        }
        Ok(AskedBlock {
            work_s: self.work_s,
            recovery_at_least_s: self.recovery_at_least_s,
            recovery_at_most_s: self.recovery_at_most_s,
            bands: Bands {
                power_w: self.power_band_w.band(),
                cadence_rpm: self.cadence_band_rpm.band(),
                torque_nm: self.torque_band_nm.map(BandPart::band),
            },
            maximal: self.maximal,
        })
    }
}

impl BandPart {
    fn band(self) -> Band {
        Band {
            from: self.from,
            to: self.to,
            aim: self.aim,
        }
    }
}

impl Place {
    fn lat_lon(self) -> LatLon {
        LatLon {
            lat_deg: self.lat,
            lon_deg: self.lon,
        }
    }
}

impl Rep {
    fn place(&self, passing: usize) -> PlannedPlace {
        PlannedPlace {
            start: self.start.lat_lon(),
            end: self.end.lat_lon(),
            start_m: self.start.distance_m,
            end_m: self.end.distance_m,
            end_if_fast_m: self.end_if_fast.distance_m,
            passing,
            gear: (self.gear.chainring, self.gear.sprocket, self.gear.hub_ratio),
            aim_rpm: self.aim_rpm,
            power_w: self.power_w,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that panics has failed")]
mod tests {
    use super::*;

    #[test]
    fn another_version_is_told_by_its_name() {
        let error = parse_plan(r#"{"schema":"hillwright.plan/2","routes":[]}"#).unwrap_err();
        assert!(
            error.to_string().contains("\"hillwright.plan/2\""),
            "{error}"
        );
        let error = parse_plan(r#"{"routes":[]}"#).unwrap_err();
        assert!(error.to_string().contains("missing"), "{error}");
    }

    #[test]
    fn what_is_no_plan_is_told_with_its_place() {
        let error = parse_plan("{\n\"schema\": 12").unwrap_err();
        assert!(error.to_string().contains("line 2"), "{error}");
        let error = parse_plan(r#"{"schema":"hillwright.plan/1","routes":[]}"#).unwrap_err();
        assert!(error.to_string().contains("asked"), "{error}");
    }
}
