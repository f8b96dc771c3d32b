//! The gear chart as a picture: grade across, cadence up, one line a gear, the band shaded, labels on the lines.

use maud::{Markup, html};

use super::document::{GearEntry, GearName, GearsDocument};
use super::drawing;
use super::scale::{Scale, ticks};

/// Sizes of the chart: alone in a file, on a wide page, on a phone.
const ALONE: (f64, f64) = (860.0, 520.0);
/// On a wide page.
pub const WIDE: (f64, f64) = (640.0, 380.0);
/// On a phone.
pub const NARROW: (f64, f64) = (344.0, 330.0);
/// Room for the labels of the axes: left, right, top, bottom.
const MARGIN: (f64, f64, f64, f64) = (46.0, 18.0, 12.0, 44.0);
/// Room for the title where the chart stands alone.
const TITLE: f64 = 30.0;
/// How much of the picture's height lies outside the band, as shares of the band's width below and above it.
const BELOW: f64 = 1.5;
const ABOVE: f64 = 2.0;
/// Labels of neighbouring gears are wanted at these shares of the band in turn.
const LABEL_LEVELS: [f64; 3] = [0.2, 0.5, 0.8];

/// Draws the chart as a file; empty where it has fewer than two grades, since there are no lines then.
pub fn svg(document: &GearsDocument) -> String {
    if document.grades.len() < 2 {
        return String::new();
    }
    drawing::standalone(&picture(document, "gears", ALONE, None))
}

/// Draws the chart for a page, with the names of the gears that are used there; nothing where it has fewer than two grades. Ids in
/// it begin with `id`.
pub fn chart(document: &GearsDocument, id: &str, size: (f64, f64), used: &[GearName]) -> Markup {
    if document.grades.len() < 2 {
        return html! {};
    }
    picture(document, id, size, Some(used))
}

struct Plot {
    x: Scale,
    y: Scale,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

/// `used` are the gears that a page is about; without it the picture stands alone, and every gear has its name.
fn picture(
    document: &GearsDocument,
    id: &str,
    (width, height): (f64, f64),
    used: Option<&[GearName]>,
) -> Markup {
    let titled = used.is_none();
    let named = |gear: usize| {
        let gear = document.grades[0].gears[gear].gear;
        used.is_none_or(|used| used.contains(&gear))
    };
    let band = document.cadence_band_rpm;
    let band_rpm = (band.to - band.from).max(4.0);
    let domain_rpm = (
        (band.from - BELOW * band_rpm).max(0.0),
        band.to + ABOVE * band_rpm,
    );
    let domain_pct = (
        document.grades[0].grade_pct,
        document.grades[document.grades.len() - 1].grade_pct,
    );
    let (left, right) = (MARGIN.0, width - MARGIN.1);
    let top = MARGIN.2 + if titled { TITLE } else { 0.0 };
    let bottom = height - MARGIN.3;
    let plot = Plot {
        x: Scale::new(domain_pct, (left, right)),
        y: Scale::new(domain_rpm, (bottom, top)),
        left,
        right,
        top,
        bottom,
    };
    let title = format!(
        "Cadence at {:.0} W by grade and gear; shaded: {:.0} to {:.0} rpm; dashed: the chain runs askew",
        document.power_band_w.aim, band.from, band.to
    );
    let clip = format!("{id}-plot");
    let (title_id, about_id) = (format!("{id}-title"), format!("{id}-about"));
    html! {
        svg.picture.chart xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}")) role="img"
            aria-labelledby=(format!("{title_id} {about_id}")) {
            title id=(title_id) { (title) }
            desc id=(about_id) { (description(document)) }
            defs { clipPath id=(clip) { rect x=(left) y=(top) width=(right - left) height=(bottom - top) {} } }
            @if titled { text.heading x=(left) y="26" { (title) } }
            rect.band x=(left) width=(right - left) y=(n(plot.y.at(band.to))) height=(n(plot.y.at(band.from) - plot.y.at(band.to))) {}
            line.aim x1=(left) x2=(right) y1=(n(plot.y.at(band.aim))) y2=(n(plot.y.at(band.aim))) {}
            (axes(&plot))
            g clip-path=(format!("url(#{clip})")) {
                @for gear in 0..document.grades[0].gears.len() {
                    g.unused[!named(gear)] { (line(document, gear, &plot)) }
                }
            }
            @for (gear, spot) in spots(document, &plot, named).iter().enumerate() {
                @if let Some(spot) = spot { (label(document, gear, spot)) }
            }
        }
    }
}

/// What the picture shows, for those who don't see it.
fn description(document: &GearsDocument) -> String {
    let best = document
        .grades
        .iter()
        .filter_map(|g| g.best.map(|b| format!("{} %: {b}", g.grade_pct)));
    format!(
        "The gear nearest to the aim by grade. {}.",
        best.collect::<Vec<_>>().join("; ")
    )
}

fn axes(plot: &Plot) -> Markup {
    let (left, right, top, bottom) = (plot.left, plot.right, plot.top, plot.bottom);
    let most = ((right - left) / 48.0) as usize;
    html! {
        @for tick in ticks(plot.x.domain(), most.max(2)) {
            line.grid x1=(n(plot.x.at(tick))) x2=(n(plot.x.at(tick))) y1=(n(top)) y2=(n(bottom)) {}
            text x=(n(plot.x.at(tick))) y=(n(bottom + 17.0)) text-anchor="middle" { (tick) " %" }
        }
        @for tick in ticks(plot.y.domain(), 8) {
            line.grid x1=(n(left)) x2=(n(right)) y1=(n(plot.y.at(tick))) y2=(n(plot.y.at(tick))) {}
            text x=(n(left - 7.0)) y=(n(plot.y.at(tick) + 4.0)) text-anchor="end" { (tick) }
        }
        line.axis x1=(n(left)) x2=(n(right)) y1=(n(bottom)) y2=(n(bottom)) {}
        line.axis x1=(n(left)) x2=(n(left)) y1=(n(top)) y2=(n(bottom)) {}
        text.small x=(n(right)) y=(n(bottom + 36.0)) text-anchor="end" { "grade" }
        text.small x="4" y=(n(bottom + 36.0)) { "cadence, rpm" }
    }
}

/// The cadence of one gear over the grades, thick where it suits.
fn line(document: &GearsDocument, gear: usize, plot: &Plot) -> Markup {
    let point = |i: usize| {
        let column = &document.grades[i];
        format!(
            "{} {}",
            n(plot.x.at(column.grade_pct)),
            n(plot.y.at(column.gears[gear].cadence_rpm))
        )
    };
    let all: Vec<String> = (0..document.grades.len()).map(point).collect();
    let entry = |i: usize| &document.grades[i].gears[gear];
    let class = if entry(0).crossed {
        "gear crossed"
    } else {
        "gear"
    };
    let both = |i: &usize| entry(*i).suits && entry(i + 1).suits;
    html! {
        path class=(class) d=(format!("M{}", all.join("L"))) {}
        @for i in (0..document.grades.len() - 1).filter(both) {
            path class=(format!("{class} suits")) d=(format!("M{}L{}", all[i], all[i + 1])) {}
        }
    }
}

/// A label's middle and half its width, on the page.
#[derive(Clone, Copy)]
struct Spot {
    x: f64,
    y: f64,
    half_width: f64,
}

impl Spot {
    /// Whether two labels would touch.
    fn touches(&self, other: &Spot) -> bool {
        (self.x - other.x).abs() < self.half_width + other.half_width + LABEL_GAP
            && (self.y - other.y).abs() < LABEL_HEIGHT
    }
}

/// Room between two labels beside each other: less reads as one on a phone.
const LABEL_GAP: f64 = 8.0;
/// Height of a label with the room around it, and width of one of its characters.
const LABEL_HEIGHT: f64 = 18.0;
const CHARACTER_WIDTH: f64 = 7.6;
/// Places that are tried for a label on each piece of its line.
const TRIES_A_PIECE: usize = 12;

/// Where each gear's name stands on its line: in the band where there is room, else beside it; never on another name.
fn spots(
    document: &GearsDocument,
    plot: &Plot,
    named: impl Fn(usize) -> bool,
) -> Vec<Option<Spot>> {
    let mut placed: Vec<Option<Spot>> = Vec::new();
    for gear in 0..document.grades[0].gears.len() {
        let free = |spot: &Spot| !placed.iter().flatten().any(|other| spot.touches(other));
        let spot = if named(gear) {
            places(document, gear, plot).into_iter().find(free)
        } else {
            None
        };
        placed.push(spot);
    }
    placed
}

/// Places on a gear's line inside the picture, those nearest to the gear's own level in the band first.
fn places(document: &GearsDocument, gear: usize, plot: &Plot) -> Vec<Spot> {
    let half_width = 0.5 * CHARACTER_WIDTH * name(document, gear).chars().count() as f64;
    let band = document.cadence_band_rpm;
    let level = band.from + LABEL_LEVELS[gear % LABEL_LEVELS.len()] * (band.to - band.from);
    let point = |i: usize| {
        let column = &document.grades[i];
        (
            plot.x.at(column.grade_pct),
            plot.y.at(column.gears[gear].cadence_rpm),
        )
    };
    let pieces = 0..document.grades.len() - 1;
    let mut places: Vec<Spot> = pieces
        .flat_map(|i| (0..=TRIES_A_PIECE).map(move |k| (i, k as f64 / TRIES_A_PIECE as f64)))
        .map(|(i, share)| {
            let ((x0, y0), (x1, y1)) = (point(i), point(i + 1));
            Spot {
                x: x0 + share * (x1 - x0),
                y: y0 + share * (y1 - y0),
                half_width,
            }
        })
        .filter(|spot| {
            (plot.left + half_width..=plot.right - half_width).contains(&spot.x)
                && (plot.top + LABEL_HEIGHT..=plot.bottom - LABEL_HEIGHT).contains(&spot.y)
        })
        .collect();
    let off = |spot: &Spot| (spot.y - plot.y.at(level)).abs();
    places.sort_by(|a, b| off(a).total_cmp(&off(b)));
    places
}

fn name(document: &GearsDocument, gear: usize) -> String {
    let entry: &GearEntry = &document.grades[0].gears[gear];
    let askew = if entry.crossed { " ×" } else { "" };
    format!("{}{askew}", entry.gear)
}

fn label(document: &GearsDocument, gear: usize, spot: &Spot) -> Markup {
    html! {
        text.halo x=(n(spot.x)) y=(n(spot.y + 4.0)) text-anchor="middle" { (name(document, gear)) }
    }
}

/// A coordinate, to a tenth of a unit.
fn n(value: f64) -> f64 {
    super::rounded(value, 1)
}
