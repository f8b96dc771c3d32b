//! A rep enlarged: cadence in its gear with the band, power and torque beneath, the grade under them.

use maud::{Markup, html};

use super::{grades, lines, n};
use crate::gearing::{Band, Bands};
use crate::matching::PlacedRep;
use crate::output::document::GearName;
use crate::output::scale::{Scale, ticks};
use crate::prescription::duration_text;
use crate::profile::Profile;

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct RepPicture<'a> {
    /// The rep.
    pub rep: &'a PlacedRep,
    /// The road.
    pub profile: &'a Profile,
    /// What is asked for.
    pub bands: &'a Bands,
    /// What the ids in it begin with: different for each picture of a page.
    pub id: &'a str,
}

const WIDTH: f64 = 360.0;
const SIDES: (f64, f64) = (62.0, 10.0);
/// Top and height of each panel.
const CADENCE: (f64, f64) = (8.0, 72.0);
const POWER: (f64, f64) = (92.0, 40.0);
const TORQUE: (f64, f64) = (144.0, 40.0);
const GRADE: (f64, f64) = (196.0, 34.0);
const HEIGHT: f64 = 256.0;
/// Height of a label.
const LABEL: f64 = 15.0;
/// Seconds before the cadence is judged.
const RUN_IN_S: f64 = crate::matching::candidates::RUN_IN_S;

/// Draws a rep.
pub fn svg(picture: &RepPicture) -> Markup {
    let RepPicture { rep, bands, id, .. } = picture;
    let x = Scale::new((0.0, rep.duration_s), (SIDES.0, WIDTH - SIDES.1));
    let torque = bands.torque_nm;
    let title_id = format!("{id}-title");
    let about_id = format!("{id}-about");
    html! {
        svg.picture.strip xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img"
            aria-labelledby=(format!("{title_id} {about_id}")) {
            title id=(title_id) { "Rep " (rep.rep) ": cadence, power, torque and grade over time" }
            desc id=(about_id) { (about(picture)) }
            @if !rep.maximal {
                (panel(rep, &x, CADENCE, "rpm", Some(&bands.cadence_rpm), |m| m.cadence_rpm))
                (panel(rep, &x, POWER, "W", Some(&bands.power_w), |m| m.power_w))
                (panel(rep, &x, TORQUE, "N·m", torque.as_ref(), |m| m.torque_nm))
                rect.run-in x=(n(x.at(0.0))) width=(n(x.at(RUN_IN_S.min(rep.duration_s)) - x.at(0.0))) y=(CADENCE.0)
                    height=(TORQUE.0 + TORQUE.1 - CADENCE.0) {}
                (shifts(rep, &x))
            }
            (grade(picture, &x))
            (clock(rep, &x))
        }
    }
}

fn about(picture: &RepPicture) -> String {
    let rep = picture.rep;
    let gear = GearName::from(&rep.gear);
    if rep.maximal {
        return format!("All out in {gear} on {:.1} per cent.", rep.grade_pct);
    }
    format!(
        "In {gear}: {:.0} rpm ({:.0} to {:.0}), {:.0} W ({:.0} to {:.0}), {:.0} N·m on {:.1} per cent; {:.0} per cent of the time in the band of {:.0} to {:.0} rpm.",
        rep.cadence_rpm,
        rep.cadence_range_rpm.0,
        rep.cadence_range_rpm.1,
        rep.power_w,
        rep.power_range_w.0,
        rep.power_range_w.1,
        rep.torque_nm,
        rep.grade_pct,
        rep.in_band_pct,
        picture.bands.cadence_rpm.from,
        picture.bands.cadence_rpm.to
    )
}

/// One quantity over time, with its band.
fn panel(
    rep: &PlacedRep,
    x: &Scale,
    (top, height): (f64, f64),
    unit: &str,
    band: Option<&Band>,
    value: impl Fn(&crate::matching::Moments) -> f64,
) -> Markup {
    let judged = || rep.course.iter().filter(|m| m.time_s >= RUN_IN_S);
    let low = judged().map(&value).fold(f64::INFINITY, f64::min);
    let high = judged().map(&value).fold(f64::NEG_INFINITY, f64::max);
    let (low, high) = match band {
        Some(band) => (low.min(band.from), high.max(band.to)),
        None => (low, high),
    };
    if rep.course.iter().all(|m| m.time_s < RUN_IN_S) {
        return html! {};
    }
    let room = (0.3 * (high - low)).max(0.04 * high.abs()).max(0.5);
    let domain = (low - room, high + room);
    let y = Scale::new(domain, (top + height, top));
    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut before_s = 0.0;
    for m in &rep.course {
        let at_y = y.at(value(m).clamp(domain.0, domain.1));
        points.extend([(x.at(before_s), at_y), (x.at(m.time_s), at_y)]);
        before_s = m.time_s;
    }
    let label_y = top + height / 2.0 + 4.0;
    let marks = match band {
        Some(band) => vec![band.from, band.to],
        None => ticks((low, high), 2),
    };
    let mut last_y = f64::INFINITY;
    let marks: Vec<f64> = marks
        .into_iter()
        .filter(|mark| {
            let free = last_y - y.at(*mark) >= LABEL;
            if free {
                last_y = y.at(*mark);
            }
            free
        })
        .collect();
    html! {
        rect.plot x=(n(x.at(0.0))) width=(n(WIDTH - SIDES.0 - SIDES.1)) y=(top) height=(height) {}
        @if let Some(band) = band {
            rect.band x=(n(x.at(0.0))) width=(n(WIDTH - SIDES.0 - SIDES.1)) y=(n(y.at(band.to))) height=(n(y.at(band.from) - y.at(band.to))) {}
            line.aim x1=(n(x.at(0.0))) x2=(n(WIDTH - SIDES.1)) y1=(n(y.at(band.aim))) y2=(n(y.at(band.aim))) {}
        }
        @for mark in &marks {
            text.small x=(n(SIDES.0 - 6.0)) y=(n(y.at(*mark) + 4.0)) text-anchor="end" { (crate::output::rounded(*mark, 0)) }
        }
        text.unit x="2" y=(n(label_y)) { (unit) }
        path.trace d=(lines::path(&lines::simplified(&points, 0.2))) {}
    }
}

/// Rear shifts, with the gear that they are into.
fn shifts(rep: &PlacedRep, x: &Scale) -> Markup {
    let time_s = |at_m: f64| {
        let after = rep.course.partition_point(|m| m.distance_m < at_m);
        rep.course.get(after).map_or(rep.duration_s, |m| m.time_s)
    };
    let at_x: Vec<f64> = rep.shifts.iter().map(|s| x.at(time_s(s.at_m))).collect();
    html! {
        @for ((shift, at_x), row) in rep.shifts.iter().zip(&at_x).zip(rows(&at_x)) {
            @let (label_x, anchor) = if at_x + GEAR_WIDTH > WIDTH { (at_x - 3.0, "end") } else { (at_x + 3.0, "start") };
            line.shift x1=(n(*at_x)) x2=(n(*at_x)) y1=(CADENCE.0) y2=(TORQUE.0 + TORQUE.1) {}
            text.small.halo x=(n(label_x)) y=(n(CADENCE.0 + 11.0 + LABEL * row as f64)) text-anchor=(anchor) { (GearName::from(&shift.gear)) }
        }
    }
}

/// Width of the widest gear's label, with room to the next.
const GEAR_WIDTH: f64 = 44.0;

/// In which row each label goes, so that none lies on another: the first that is free, of as many as the panel has room for.
fn rows(at_x: &[f64]) -> Vec<usize> {
    let mut taken_to = [f64::NEG_INFINITY; (CADENCE.1 / LABEL) as usize];
    let row = |&label_x: &f64| {
        let free = taken_to.iter().position(|&to_x| to_x <= label_x);
        let row = free.unwrap_or(0);
        taken_to[row] = label_x + GEAR_WIDTH;
        row
    };
    at_x.iter().map(row).collect()
}

/// The grade under the wheels, three seconds by three seconds.
fn grade(picture: &RepPicture, x: &Scale) -> Markup {
    let RepPicture { rep, profile, .. } = picture;
    let lap_m = (rep.start_m / profile.length_m()).floor() * profile.length_m();
    let z = |at_m: f64| profile.elevation_at_m(at_m - lap_m);
    let mut from = (0.0, rep.start_m);
    let mut bars = Vec::new();
    for m in &rep.course {
        let run_m = (m.distance_m - from.1).max(0.1);
        let grade_pct = 100.0 * (z(m.distance_m) - z(from.1)) / run_m;
        bars.push((from.0, m.time_s, grade_pct));
        from = (m.time_s, m.distance_m);
    }
    let highest = bars.iter().map(|b| b.2).fold(rep.grade_pct, f64::max);
    let y = Scale::new(
        (0.0, (highest * 1.15).max(4.0)),
        (GRADE.0 + GRADE.1, GRADE.0),
    );
    let (base, mean_y) = (GRADE.0 + GRADE.1, y.at(rep.grade_pct));
    html! {
        @for (from_s, to_s, grade_pct) in &bars {
            @let top = y.at(grade_pct.max(0.0));
            rect class=(format!("bar g{}", grades::class(*grade_pct))) x=(n(x.at(*from_s))) width=(n(x.at(*to_s) - x.at(*from_s)))
                y=(n(top)) height=(n(base - top)) {}
        }
        text.unit x="2" y=(n(GRADE.0 + GRADE.1 / 2.0 + 4.0)) { "%" }
        text.small x=(n(SIDES.0 - 6.0)) y=(n(mean_y + 4.0)) text-anchor="end" { (format!("{:.1}", rep.grade_pct)) }
    }
}

/// The clock along the bottom.
fn clock(rep: &PlacedRep, x: &Scale) -> Markup {
    let y = GRADE.0 + GRADE.1;
    let step_s = [5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0]
        .into_iter()
        .find(|step| rep.duration_s / step <= 5.0)
        .unwrap_or(3600.0);
    let count = (rep.duration_s / step_s + 1e-6) as usize;
    html! {
        line.axis x1=(n(x.at(0.0))) x2=(n(WIDTH - SIDES.1)) y1=(n(y)) y2=(n(y)) {}
        @for k in 0..=count {
            @let time_s = step_s * k as f64;
            @let at_x = x.at(time_s);
            line.axis x1=(n(at_x)) x2=(n(at_x)) y1=(n(y)) y2=(n(y + 4.0)) {}
            text.small x=(n(at_x.min(WIDTH - SIDES.1 - 10.0))) y=(n(y + 17.0)) text-anchor="middle" { (duration_text(time_s)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::rows;

    #[test]
    fn labels_of_shifts_close_together_lie_below_one_another() {
        assert_eq!(rows(&[100.0, 150.0, 250.0]), [0, 0, 0]);
        assert_eq!(rows(&[100.0, 110.0, 120.0, 150.0]), [0, 1, 2, 0]);
        assert_eq!(rows(&[]), [0; 0]);
    }
}
