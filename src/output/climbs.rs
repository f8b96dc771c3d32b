//! The steady climbs on a route.

pub use super::climbs_text::text;
use super::document::{
    AscentEntry, ClimbEntry, ClimbsDocument, DisagreementEntry, DriftEntry, ElevationEntry,
    GearName, Place, Range, RideEntry, RouteDocument, RouteEntry, SharedEntry, ShiftEntry,
    ShiftingEntry,
};
use super::{place, rounded};
use crate::archive::{AscentSeen, Elevations, Survey};
use crate::climbs::{Climb, Shape};
use crate::gearing::Bands;
use crate::gearing::along::{Along, Cadence, Shifting};
use crate::profile::Profile;
use crate::profile::sources::Origin;
use crate::ride::{Pacing, Passage};
use crate::route::Route;

/// A climb ridden, and the gears for it.
#[derive(Debug, Clone, PartialEq)]
pub struct ClimbRide {
    /// How long it takes.
    pub passage: Passage,
    /// What was held.
    pub pacing: Pacing,
    /// Inside which bands.
    pub bands: Bands,
    /// The gear that holds the cadence longest in its band, and where shifts would help.
    pub gear: Option<Along>,
}

/// Puts routes with the climbs found on them into a document.
pub fn document(routes: Vec<RouteEntry>, shared: Vec<SharedEntry>) -> ClimbsDocument {
    ClimbsDocument {
        schema: "hillwright.climbs/1".to_owned(),
        routes,
        shared,
    }
}

/// A route as a document of its own.
pub fn route_document(route: &RouteEntry) -> RouteDocument<'_> {
    RouteDocument {
        schema: "hillwright.route/1",
        route,
    }
}

/// One route of the document; `rides` has one entry a climb, or none at all.
pub fn route_entry(source: &str, survey: &Survey, rides: Vec<RideEntry>) -> RouteEntry {
    let mut rides = rides.into_iter();
    RouteEntry {
        source: source.to_owned(),
        name: survey.name.clone(),
        points: survey.points,
        length_m: rounded(survey.length_m, 1),
        ascent_m: rounded(survey.ascent_m, 0),
        descent_m: rounded(survey.descent_m, 0),
        is_loop: survey.is_loop,
        elevation: elevations(&survey.elevations),
        warnings: survey.warnings.clone(),
        ascents: survey.ascents.iter().map(ascent_entry).collect(),
        climbs: survey
            .climbs
            .iter()
            .map(|seen| {
                let ends = (Place::from(&seen.start), Place::from(&seen.end));
                climb_between(&seen.climb, ends, seen.unsure.clone(), rides.next())
            })
            .collect(),
    }
}

/// Where a profile's elevations are from, and how good they are.
pub fn elevation_entry(profile: &Profile, origin: &Origin) -> ElevationEntry {
    elevations(&Elevations::of(profile, origin))
}

fn elevations(known: &Elevations) -> ElevationEntry {
    let drift = known
        .drift
        .map(|[first_m, again_m, rise_m, twice_m]| DriftEntry {
            first_m: rounded(first_m, 0),
            again_m: rounded(again_m, 0),
            rise_m: rounded(rise_m, 1),
            twice_m: rounded(twice_m, 0),
        });
    let disagreement = |[from_m, to_m, above_m]: &[f64; 3]| DisagreementEntry {
        from_m: rounded(*from_m, 0),
        to_m: rounded(*to_m, 0),
        above_m: rounded(*above_m, 0),
    };
    ElevationEntry {
        source: known.source.clone(),
        looks_like: known.looks_like.clone(),
        step_m: known.step_m,
        grade_error_500m_pct: rounded(known.grade_error_500m_pct, 2),
        together: known.together,
        why: known.why.clone(),
        drift,
        disagreements: known.disagreements.iter().map(disagreement).collect(),
        noise_m: rounded(known.noise_sd_m, 2),
        correlation_m: rounded(known.correlation_m, 0),
        voids: known.voids,
    }
}

/// Everything that was dropped, filled or guessed on the way from the file to the profile.
pub fn warnings(route: &Route, profile: &Profile) -> Vec<String> {
    route
        .warnings
        .iter()
        .chain(&profile.warnings)
        .cloned()
        .collect()
}

fn ascent_entry(seen: &AscentSeen) -> AscentEntry {
    let ascent = &seen.ascent;
    AscentEntry {
        id: ascent.id,
        start: Place::from(&seen.start),
        end: Place::from(&seen.end),
        gain_m: rounded(ascent.gain_m, 1),
        climbs: ascent.climbs.clone(),
        shape: shape_name(ascent.shape).to_owned(),
    }
}

fn shape_name(shape: Shape) -> &'static str {
    match shape {
        Shape::Even => "even",
        Shape::Steepening => "steepening",
        Shape::Easing => "easing",
        Shape::Mixed => "mixed",
    }
}

/// A climb as documents have it.
pub fn climb_entry(profile: &Profile, climb: &Climb, ride: Option<&ClimbRide>) -> ClimbEntry {
    let ends = (place(profile, climb.from_m), place(profile, climb.to_m));
    let ride = ride.map(|r| ride_entry(profile, climb, r));
    climb_between(climb, ends, climb.unsure.clone(), ride)
}

fn climb_between(
    climb: &Climb,
    (start, end): (Place, Place),
    unsure: Option<String>,
    ride: Option<RideEntry>,
) -> ClimbEntry {
    ClimbEntry {
        id: climb.id,
        ascent: climb.ascent,
        start,
        end,
        length_m: rounded(climb.length_m(), 1),
        gain_m: rounded(climb.gain_m, 1),
        grade_pct: rounded(climb.grade_pct, 2),
        grade_se_pct: rounded(climb.grade_se_pct, 2),
        grade_sd_pct: rounded(climb.grade_sd_pct, 2),
        steepest_100m_pct: rounded(climb.steepest_100m_pct, 1),
        gentlest_100m_pct: rounded(climb.gentlest_100m_pct, 1),
        unsure,
        ride,
        suits: None,
        why: None,
        costs_more_s: None,
    }
}

/// A ride of a climb as documents have it.
pub fn ride_entry(profile: &Profile, climb: &Climb, ride: &ClimbRide) -> RideEntry {
    let Passage {
        entry_speed_ms,
        duration,
    } = ride.passage;
    let held = ride.gear.as_ref().map(|along| along.held);
    let shifting = ride.gear.as_ref().and_then(|along| along.shifting.as_ref());
    RideEntry {
        power_w: rounded(duration.power_w, 0),
        pacing: ride.pacing.name().to_owned(),
        power_band_w: super::gears::aimed(&ride.bands.power_w),
        cadence_band_rpm: super::gears::aimed(&ride.bands.cadence_rpm),
        entry_speed_kmh: rounded(3.6 * entry_speed_ms, 1),
        duration_s: rounded(duration.mid_s, 1),
        duration_range_s: Range {
            low: rounded(duration.low_s, 0),
            high: rounded(duration.high_s, 0),
        },
        largest_unknown: duration.largest.name().to_owned(),
        stalls: duration.stalls,
        speed_kmh: rounded(3.6 * climb.length_m() / duration.mid_s, 1),
        gear: held.map(|h| GearName::from(&h.gear)),
        crossed: held.map(|h| h.gear.crossed),
        cadence_rpm: held.map(|h| rounded(h.cadence.mean_rpm, 1)),
        cadence_range_rpm: held.map(|h| range(&h.cadence)),
        in_band_pct: held.map(|h| rounded(h.cadence.in_band_pct, 0)),
        shifting: shifting.map(|s| shifting_entry(profile, s)),
    }
}

fn range(cadence: &Cadence) -> Range {
    Range {
        low: rounded(cadence.lowest_rpm, 1),
        high: rounded(cadence.highest_rpm, 1),
    }
}

fn shifting_entry(profile: &Profile, shifting: &Shifting) -> ShiftingEntry {
    ShiftingEntry {
        gear: GearName::from(&shifting.gear),
        shifts: shifting
            .shifts
            .iter()
            .map(|shift| ShiftEntry {
                at: place(profile, shift.at_m),
                sprocket: shift.gear.sprocket,
                hub_ratio: shift.gear.hub_ratio,
            })
            .collect(),
        cadence_rpm: rounded(shifting.cadence.mean_rpm, 1),
        cadence_range_rpm: range(&shifting.cadence),
        in_band_pct: rounded(shifting.cadence.in_band_pct, 0),
    }
}
