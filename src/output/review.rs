//! The review: what was ridden, rep by rep.

use super::asked::aimed;
use super::cautions::cautions;
use super::document::{AskedBlockEntry, GearName, Place, Range};
use super::document_review::{
    FitEntry, HeldEntry, RecoveryEntry, ReviewDocument, ReviewEntry, ReviewRepEntry,
    RiddenClimbEntry, RiddenEntry, RiddenGearEntry, SessionEntry, SpanEntry,
};
use super::review_findings::findings;
pub use super::review_fit::fit_entry;
pub use super::review_text::text;
use super::{place, rounded};
use crate::gearing::Gear;
use crate::profile::Profile;
use crate::review::measure::{Held, RiddenRep};
use crate::review::planned::Asked;
use crate::review::recording::Recorded;
use crate::review::seconds::Seconds;
use crate::review::session::Session;
use crate::review::{PowerFrom, Review, ReviewedRep};

/// What only the rider can tell.
pub const QUESTIONS: [&str; 3] = [
    "How do your knees feel, right after and the morning after? If they hurt, leave such sessions be, and see a physiotherapist or a doctor.",
    "And your lower back? The same holds for it.",
    "How hard did it feel, from first rep to last? The numbers don't know how you slept, or how warm it was.",
];

/// Puts reviews, and the fit or why there is none where one was asked for, into a document.
pub fn document(
    recordings: Vec<ReviewEntry>,
    fit: Option<Result<FitEntry, String>>,
) -> ReviewDocument {
    let (fit, no_fit) = match fit {
        Some(Ok(fit)) => (Some(fit), None),
        Some(Err(why)) => (None, Some(why)),
        None => (None, None),
    };
    ReviewDocument {
        schema: "hillwright.review/1".to_owned(),
        recordings,
        fit,
        no_fit,
        questions: QUESTIONS.iter().map(|q| (*q).to_owned()).collect(),
        cautions: cautions(),
    }
}

/// One recording's review.
pub fn review_entry(
    recorded: &Recorded,
    profile: Option<&Profile>,
    review: &Review,
) -> ReviewEntry {
    let route = &recorded.route;
    let seconds = &review.seconds;
    let session = review.no_reps.is_none().then(|| Session::of(&review.reps));
    let mut warnings = route.warnings.clone();
    warnings.extend(profile.map_or(Vec::new(), |p| p.warnings.clone()));
    warnings.extend(review.warnings.iter().cloned());
    let reps: Vec<ReviewRepEntry> = review.reps.iter().map(|r| rep_entry(review, r)).collect();
    let session = session.as_ref().map(session_entry);
    ReviewEntry {
        source: route.source.clone(),
        name: route.name.clone(),
        began_at: began_at(seconds.start_unix_s),
        duration_s: seconds.count() as f64,
        halted_s: seconds.halted.iter().filter(|h| **h).count() as f64,
        length_m: rounded(route.length_m, 1),
        ascent_m: profile.map(|p| rounded(p.ascent_descent_m().0, 0)),
        power_from: match review.power_from {
            PowerFrom::Measured => "measured",
            PowerFrom::Estimated => "estimated",
            PowerFrom::Nothing => "none",
        }
        .to_owned(),
        has_cadence: seconds.has_cadence(),
        plan_route: review.asked.as_ref().and_then(|a| a.route.clone()),
        blocks: review.asked.as_ref().map_or(Vec::new(), block_entries),
        no_reps: review.no_reps.clone(),
        findings: session.as_ref().map_or(Vec::new(), |s| findings(s, &reps)),
        reps,
        session,
        brief_efforts: review
            .brief_efforts_s
            .iter()
            .map(|(a, b)| span(*a, b - a))
            .collect(),
        climbs: profile.map_or(Vec::new(), |p| climb_entries(p, review)),
        warnings,
    }
}

fn began_at(unix_s: f64) -> Option<String> {
    let second = jiff::Timestamp::from_second(unix_s as i64).ok()?;
    Some(second.to_string())
}

fn span(from: usize, duration: usize) -> SpanEntry {
    SpanEntry {
        start_time_s: from as f64,
        duration_s: duration as f64,
    }
}

fn block_entries(asked: &Asked) -> Vec<AskedBlockEntry> {
    let blocks = asked.blocks.iter().enumerate();
    blocks
        .map(|(i, block)| AskedBlockEntry {
            block: i + 1,
            reps: asked.reps.iter().filter(|r| r.block == i).count() as u32,
            maximal: block.maximal,
            from_kmh: None,
            work_s: block.work_s,
            recovery_at_least_s: block.recovery_at_least_s,
            recovery_at_most_s: block.recovery_at_most_s,
            power_band_w: aimed(&block.bands.power_w),
            cadence_band_rpm: aimed(&block.bands.cadence_rpm),
            torque_band_nm: block.bands.torque_nm.as_ref().map(aimed),
        })
        .collect()
}

fn rep_entry(review: &Review, rep: &ReviewedRep) -> ReviewRepEntry {
    let planned = rep.planned.as_ref();
    let place = planned.and_then(|p| p.place.as_ref());
    let block = planned
        .map(|p| p.block)
        .or(rep.ridden.as_ref().map(|r| r.found.block))
        .unwrap_or(0);
    let work_s = review
        .asked
        .as_ref()
        .and_then(|a| a.blocks.get(block))
        .map_or(0.0, |b| b.work_s);
    ReviewRepEntry {
        rep: planned.map(|p| p.rep),
        block: block + 1,
        done: rep.done.iter().map(|d| d.word().to_owned()).collect(),
        planned_duration_s: work_s,
        planned_start_m: place.map(|p| p.start_m),
        planned_gear: place.map(|p| GearName {
            chainring: p.gear.0,
            sprocket: p.gear.1,
            hub_ratio: p.gear.2,
        }),
        ridden: rep
            .ridden
            .as_ref()
            .map(|r| ridden_entry(&review.seconds, rep, r)),
        instead: rep.instead.clone(),
    }
}

fn ridden_entry(seconds: &Seconds, rep: &ReviewedRep, ridden: &RiddenRep) -> RiddenEntry {
    let (from, to) = (ridden.found.from, ridden.found.to);
    let duration_s = (to - from) as f64;
    let one = |pct: f64| rounded(pct, 1);
    let seconds_range = |(low, high): (f64, f64)| Range {
        low: rounded(low, 1),
        high: rounded(high, 1),
    };
    RiddenEntry {
        start_time_s: from as f64,
        duration_s,
        start: place_at(seconds, from),
        end: place_at(seconds, to),
        start_apart_m: rep.start_apart_m.map(|m| rounded(m, 0)),
        speed_kmh: rounded(3.6 * ridden.length_m / duration_s, 1),
        grade_pct: ridden
            .rise_m
            .map(|rise| rounded(100.0 * rise / ridden.length_m.max(1.0), 2)),
        halts: ridden
            .halts_s
            .iter()
            .map(|(at, lasted)| span(*at, *lasted))
            .collect(),
        coasting_s: ridden.coasting_s,
        from_standing: ridden.from_standing,
        held: held_entry(&ridden.whole),
        power_range_w: rep.estimate.map(|e| seconds_range((e.low_w, e.high_w))),
        first_minute: held_entry(&ridden.first_minute),
        last_minute: held_entry(&ridden.last_minute),
        cadence_in_band_pct: ridden.cadence_in_band_pct.map(one),
        power_in_band_pct: ridden.power_in_band_pct.map(one),
        gears: ridden
            .gears
            .iter()
            .map(|g| RiddenGearEntry {
                gear: GearName::from(&g.gear),
                or: g.or.as_ref().map(|g: &Gear| GearName::from(g)),
                duration_s: g.duration_s,
                development_m: rounded(g.development_m, 2),
            })
            .collect(),
        model_duration_s: rep.model.map(|m| rounded(m.mid_s, 1)),
        model_duration_range_s: rep.model.map(|m| seconds_range((m.low_s, m.high_s))),
        band_duration_range_s: rep.band_range_s.map(seconds_range),
        recovery: rep.recovery.map(|r| RecoveryEntry {
            duration_s: r.duration_s,
            rest_s: r.rest_s,
            power_w: r.power_w.map(|p| rounded(p, 1)),
            halted_s: r.halted_s,
            asked_at_least_s: r.asked_at_least_s,
            asked_at_most_s: r.asked_at_most_s,
            was_one: r.was_one,
        }),
    }
}

/// Where the rider was at a second.
fn place_at(seconds: &Seconds, second: usize) -> Place {
    let i = second.min(seconds.count() - 1);
    Place {
        distance_m: rounded(seconds.given_m[i], 1),
        lat: rounded(seconds.lat_deg[i], 6),
        lon: rounded(seconds.lon_deg[i], 6),
        elevation_m: seconds
            .elevation_m
            .as_ref()
            .map_or(0.0, |e| rounded(e[i], 1)),
    }
}

fn held_entry(held: &Held) -> HeldEntry {
    let one = |x: f64| rounded(x, 1);
    HeldEntry {
        power_w: held.power_w.map(one),
        cadence_rpm: held.cadence_rpm.map(one),
        torque_nm: held.torque_nm.map(one),
        heart_rate_bpm: held.heart_rate_bpm.map(one),
    }
}

fn session_entry(session: &Session) -> SessionEntry {
    SessionEntry {
        planned: session.planned,
        ridden: session.ridden,
        as_planned: session.as_planned,
        extra: session.extra,
        work_s: session.work_s,
        cadence_in_band_pct: session.cadence_in_band_pct.map(|p| rounded(p, 1)),
        power_in_band_pct: session.power_in_band_pct.map(|p| rounded(p, 1)),
        first_rep: session.first_and_last.map(|(first, _)| held_entry(&first)),
        last_rep: session.first_and_last.map(|(_, last)| held_entry(&last)),
        recoveries: session.recoveries.0,
        recoveries_of: session.recoveries.1,
    }
}

fn climb_entries(profile: &Profile, review: &Review) -> Vec<RiddenClimbEntry> {
    let climbs = review.climbs.iter();
    climbs
        .map(|climb| RiddenClimbEntry {
            climb: climb.climb,
            start: place(profile, climb.from_m),
            end: place(profile, climb.to_m),
            grade_pct: rounded(climb.grade_pct, 2),
            power_w: rounded(climb.power_w, 1),
            duration_s: rounded(climb.ridden_s, 1),
            model_duration_s: rounded(climb.model.mid_s, 1),
            model_duration_range_s: Range {
                low: rounded(climb.model.low_s, 1),
                high: rounded(climb.model.high_s, 1),
            },
        })
        .collect()
}
