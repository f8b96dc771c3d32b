//! What a coach would remark about a set before any road is looked at. Remarks only: nothing is refused.

use super::Demand;
use crate::prescription::duration_text;

/// A set whose cadence ends here is one of low cadence, in turns a minute (common practice, no source).
const LOW_CADENCE_RPM: f64 = 70.0;
/// The lowest cadence that has been studied in training, in turns a minute (Kristoffersen et al. 2014).
const LOWEST_STUDIED_RPM: f64 = 40.0;
/// The longest reps that have been studied, in seconds (Kristoffersen et al. 2014).
const LONGEST_STUDIED_S: f64 = 360.0;
/// Low-cadence work in one session beyond which to take care, and to take much care, in seconds (common practice, no source).
const MUCH_WORK_S: f64 = 1800.0;
const TOO_MUCH_WORK_S: f64 = 2700.0;

/// How long a maximal start lasts, in seconds (common practice, no source).
const START_S: std::ops::RangeInclusive<f64> = 6.0..=15.0;

const KRISTOFFERSEN: &str = "Kristoffersen et al. (Front. Physiol. 5:34, 2014)";
const NIMMERICHTER: &str = "Nimmerichter et al. (Eur. J. Appl. Physiol. 112, 2012, 69–78)";

/// Remarks about the set, for a rider with a threshold (watts).
pub fn notes(demands: &[Demand], threshold_w: f64) -> Vec<String> {
    let mut notes = Vec::new();
    notes.extend(starts(demands));
    notes.extend(open_ended(demands));
    let low: Vec<&Demand> = demands
        .iter()
        .filter(|d| d.start.is_none() && d.bands.cadence_rpm.to <= LOW_CADENCE_RPM)
        .collect();
    if low.is_empty() {
        return notes;
    }
    notes.extend(slow(&low));
    notes.extend(long(&low));
    notes.extend(much(&low));
    notes.extend(hard(&low, threshold_w));
    notes.push(format!(
        "What is known of low-cadence training is little. {KRISTOFFERSEN}: 5 × 6 min at 40 rpm, moderate, twice a week for \
         12 weeks: no gain over free cadence. {NIMMERICHTER}: 6 × 5 min at 60 rpm uphill at the respiratory compensation \
         point, twice a week for 4 weeks: uphill and flat time-trial power went up."
    ));
    notes
}

fn starts(demands: &[Demand]) -> Option<String> {
    let mut starts = demands.iter().filter(|d| d.start.is_some());
    let odd = starts.find(|d| !START_S.contains(&d.work_s))?;
    Some(format!(
        "A maximal start lasts 6 to 15 s (common practice, no source); {} s is something else.",
        odd.work_s
    ))
}

/// Where the set gives no longest recovery, what is taken for one.
fn open_ended(demands: &[Demand]) -> Option<String> {
    let open = demands.iter().filter(|d| d.recovery_at_most_s.is_none());
    let mut spans: Vec<(String, String)> = open
        .map(|d| (d.recovery_at_least_s, d.longest_recovery_s()))
        .map(|(least_s, most_s)| (duration_text(least_s), duration_text(most_s)))
        .collect();
    spans.dedup();
    let (least, most) = spans.first()?;
    let all: Vec<&str> = spans.iter().map(|s| s.1.as_str()).collect();
    Some(format!(
        "The set names no longest recovery: more than {} counts against a plan, three times the shortest and no less than 10:00. \
         Another is given as {least}..{most}.",
        all.join(" or ")
    ))
}

fn slow(low: &[&Demand]) -> Option<String> {
    let slowest = low
        .iter()
        .map(|d| d.bands.cadence_rpm.from)
        .reduce(f64::min)?;
    (slowest < LOWEST_STUDIED_RPM).then(|| {
        format!(
            "The cadence goes down to {slowest:.0} rpm; the lowest that was studied in training is 40 ({KRISTOFFERSEN}), and it \
             brought nothing over free cadence. Below it the load on the knees only grows."
        )
    })
}

fn long(low: &[&Demand]) -> Option<String> {
    let longest_s = low.iter().map(|d| d.work_s).reduce(f64::max)?;
    (longest_s > LONGEST_STUDIED_S).then(|| {
        format!(
            "Reps of {} are longer than those that were studied at low cadence: 6:00 ({KRISTOFFERSEN}), 5:00 ({NIMMERICHTER}).",
            duration_text(longest_s)
        )
    })
}

fn much(low: &[&Demand]) -> Option<String> {
    let work_s: f64 = low.iter().map(|d| f64::from(d.reps) * d.work_s).sum();
    if work_s <= MUCH_WORK_S {
        return None;
    }
    let how = if work_s > TOO_MUCH_WORK_S {
        "far more than the 30 minutes that the studied sessions had; think twice, and halve it unless you have built up to it"
    } else {
        "more than the 30 minutes that the studied sessions had"
    };
    Some(format!(
        "{} of low-cadence work in all is {how}. A beginner starts at 12 to 16 minutes (common practice, no source).",
        duration_text(work_s)
    ))
}

fn hard(low: &[&Demand], threshold_w: f64) -> Option<String> {
    let hardest = low.iter().map(|d| d.bands.power_w.aim).reduce(f64::max)?;
    (hardest > threshold_w).then(|| {
        format!(
            "{hardest:.0} W is above your threshold of {threshold_w:.0} W. At low cadence that was studied up to about the \
             threshold ({NIMMERICHTER}); the torque grows with it."
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gearing::{Band, Bands};

    fn block(reps: u32, work_s: f64, cadence: (f64, f64), aim_w: f64) -> Demand {
        let band = |from: f64, to: f64, aim: f64| Band { from, to, aim };
        Demand {
            reps,
            work_s,
            recovery_at_least_s: 240.0,
            recovery_at_most_s: Some(540.0),
            bands: Bands {
                power_w: band(0.9 * aim_w, 1.1 * aim_w, aim_w),
                cadence_rpm: band(cadence.0, cadence.1, cadence.0.midpoint(cadence.1)),
                torque_nm: None,
            },
            start: None,
        }
    }

    fn remarks(reps: u32, work_s: f64, cadence: (f64, f64), aim_w: f64) -> String {
        notes(&[block(reps, work_s, cadence, aim_w)], 250.0).join("\n")
    }

    #[test]
    fn an_open_end_of_the_recoveries_is_told() {
        let mut open = block(6, 240.0, (50.0, 60.0), 207.0);
        open.recovery_at_most_s = None;
        // Three times four minutes.
        assert_eq!(open.longest_recovery_s(), 720.0);
        assert!(notes(&[open], 250.0)[0].contains("more than 12:00"));
        open.recovery_at_least_s = 60.0;
        assert_eq!(open.longest_recovery_s(), 600.0);
    }

    #[test]
    fn a_moderate_set_is_told_what_was_studied_and_no_more() {
        assert_eq!(
            notes(&[block(6, 240.0, (50.0, 60.0), 207.0)], 250.0).len(),
            1
        );
    }

    #[test]
    fn free_cadence_gets_no_remark() {
        assert!(notes(&[block(9, 600.0, (80.0, 95.0), 270.0)], 250.0).is_empty());
    }

    #[test]
    fn each_excess_has_its_remark() {
        assert!(remarks(6, 240.0, (35.0, 45.0), 207.0).contains("down to 35 rpm"));
        assert!(remarks(3, 420.0, (50.0, 60.0), 207.0).contains("Reps of 7:00"));
        assert!(
            remarks(8, 240.0, (50.0, 60.0), 207.0)
                .contains("32:00 of low-cadence work in all is more")
        );
        assert!(
            remarks(8, 360.0, (50.0, 60.0), 207.0)
                .contains("48:00 of low-cadence work in all is far more")
        );
        assert!(
            remarks(6, 240.0, (50.0, 60.0), 260.0)
                .contains("260 W is above your threshold of 250 W")
        );
    }
}
