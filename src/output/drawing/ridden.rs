//! A rep as it was ridden: cadence and power second by second over the bands that were planned.

use maud::{Markup, html};

use super::{lines, n};
use crate::gearing::{Band, Bands};
use crate::output::scale::Scale;
use crate::prescription::duration_text;
use crate::review::measure::RUN_IN_S;
use crate::review::seconds::Seconds;

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct RiddenPicture<'a> {
    /// What it is called: "Rep 3".
    pub name: &'a str,
    /// The recording.
    pub seconds: &'a Seconds,
    /// Its first second and the one after its last.
    pub span: (usize, usize),
    /// How long it was to last, in seconds.
    pub planned_s: f64,
    /// What was asked for.
    pub bands: &'a Bands,
    /// What the ids in it begin with: different for each picture of a page.
    pub id: &'a str,
}

const WIDTH: f64 = 360.0;
const SIDES: (f64, f64) = (62.0, 10.0);
/// Top and height of each panel.
const CADENCE: (f64, f64) = (8.0, 72.0);
const POWER: (f64, f64) = (92.0, 72.0);
const HEIGHT: f64 = 190.0;
/// Seconds over which the lines are means, as the shares in the bands are.
const MEANS_S: (usize, usize) = (3, 10);
/// How far a line may leave its band before it is cut, in widths of the band.
const BEYOND: f64 = 1.0;

/// Draws a rep.
pub fn svg(picture: &RiddenPicture) -> Markup {
    let RiddenPicture {
        seconds,
        span,
        bands,
        id,
        ..
    } = *picture;
    let lasted_s = (span.1 - span.0) as f64;
    let x = Scale::new(
        (0.0, lasted_s.max(picture.planned_s)),
        (SIDES.0, WIDTH - SIDES.1),
    );
    let title_id = format!("{id}-title");
    let about_id = format!("{id}-about");
    let (cadence, power) = (&seconds.cadence_rpm, &seconds.power_w);
    html! {
        svg.picture.strip xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img"
            aria-labelledby=(format!("{title_id} {about_id}")) {
            title id=(title_id) { (picture.name) ": cadence and power over time, as ridden, over the bands as planned" }
            desc id=(about_id) {
                (format!(
                    "{} of {}; bands {:.0} to {:.0} rpm and {:.0} to {:.0} W.",
                    duration_text(lasted_s), duration_text(picture.planned_s),
                    bands.cadence_rpm.from, bands.cadence_rpm.to, bands.power_w.from, bands.power_w.to
                ))
            }
            (panel(&x, CADENCE, "rpm", &bands.cadence_rpm, &means(cadence, span, MEANS_S.0)))
            (panel(&x, POWER, "W", &bands.power_w, &means(power, span, MEANS_S.1)))
            rect.run-in x=(n(x.at(0.0))) width=(n(x.at((RUN_IN_S as f64).min(lasted_s)) - x.at(0.0))) y=(CADENCE.0)
                height=(POWER.0 + POWER.1 - CADENCE.0) {}
            line.shift x1=(n(x.at(picture.planned_s))) x2=(n(x.at(picture.planned_s))) y1=(CADENCE.0) y2=(POWER.0 + POWER.1) {}
            (clock(&x))
        }
    }
}

/// Means around each second of a span; `None` where nothing is known.
fn means(values: &[Option<f64>], (from, to): (usize, usize), width: usize) -> Vec<Option<f64>> {
    (from..to)
        .map(|i| {
            let around = i.saturating_sub(width / 2).max(from)..(i + width - width / 2).min(to);
            let known: Vec<f64> = values[around].iter().flatten().copied().collect();
            (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
        })
        .collect()
}

fn panel(
    x: &Scale,
    (top, height): (f64, f64),
    unit: &str,
    band: &Band,
    values: &[Option<f64>],
) -> Markup {
    let room = BEYOND * (band.to - band.from).max(0.1 * band.aim);
    let (low, high) = ((band.from - room).max(0.0), band.to + room);
    let y = Scale::new((low, high), (top + height, top));
    let point = |(i, value): (usize, &Option<f64>)| {
        value.map(|v| (x.at(i as f64 + 0.5), y.at(v.clamp(low, high))))
    };
    let points: Vec<Option<(f64, f64)>> = values.iter().enumerate().map(point).collect();
    let width = WIDTH - SIDES.0 - SIDES.1;
    html! {
        rect.plot x=(n(SIDES.0)) width=(n(width)) y=(top) height=(height) {}
        rect.band x=(n(SIDES.0)) width=(n(width)) y=(n(y.at(band.to))) height=(n(y.at(band.from) - y.at(band.to))) {}
        line.aim x1=(n(SIDES.0)) x2=(n(WIDTH - SIDES.1)) y1=(n(y.at(band.aim))) y2=(n(y.at(band.aim))) {}
        @for mark in [band.from, band.to] {
            text.small x=(n(SIDES.0 - 6.0)) y=(n(y.at(mark) + 4.0)) text-anchor="end" { (crate::output::rounded(mark, 0)) }
        }
        text.unit x="2" y=(n(top + height / 2.0 + 4.0)) { (unit) }
        @for run in points.split(Option::is_none).filter(|run| run.len() > 1) {
            @let run: Vec<(f64, f64)> = run.iter().flatten().copied().collect();
            path.trace d=(lines::path(&lines::simplified(&run, 0.2))) {}
        }
    }
}

/// The clock along the bottom.
fn clock(x: &Scale) -> Markup {
    let y = POWER.0 + POWER.1;
    let lasted_s = x.domain().1;
    let step_s = [5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0]
        .into_iter()
        .find(|step| lasted_s / step <= 5.0)
        .unwrap_or(3600.0);
    html! {
        line.axis x1=(n(SIDES.0)) x2=(n(WIDTH - SIDES.1)) y1=(n(y)) y2=(n(y)) {}
        @for k in 0..=(lasted_s / step_s + 1e-6) as usize {
            @let at_x = x.at(step_s * k as f64);
            line.axis x1=(n(at_x)) x2=(n(at_x)) y1=(n(y)) y2=(n(y + 4.0)) {}
            text.small x=(n(at_x.min(WIDTH - SIDES.1 - 10.0))) y=(n(y + 17.0)) text-anchor="middle" { (duration_text(step_s * k as f64)) }
        }
    }
}
