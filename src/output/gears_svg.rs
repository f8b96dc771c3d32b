//! The gear chart as a picture: grade across, cadence up, one line a gear, the band shaded, labels on the lines.

use maud::{Markup, PreEscaped, html};

use super::document::{GearEntry, GearsDocument};
use super::scale::{Scale, ticks};

const WIDTH: f64 = 860.0;
const HEIGHT: f64 = 520.0;
/// Room for the labels of the axes: left, right, top, bottom.
const MARGIN: (f64, f64, f64, f64) = (58.0, 18.0, 42.0, 52.0);
/// How much of the picture's height lies outside the band, as shares of the band's width below and above it.
const BELOW: f64 = 1.5;
const ABOVE: f64 = 2.0;
/// Labels of neighbouring gears are put at these shares of the band in turn, so that they don't cover each other.
const LABEL_LEVELS: [f64; 3] = [0.2, 0.5, 0.8];

const STYLE: &str = "\
svg{font:13px system-ui,sans-serif;background:#fff;color:#1b1b1b}\
.axis{stroke:currentColor;stroke-width:1}.grid{stroke:currentColor;stroke-opacity:.14}\
.band{fill:#7c7b78;fill-opacity:.22}.gear{fill:none;stroke:#4d6a8f;stroke-width:1.4}\
.crossed{stroke-dasharray:5 4}.suits{stroke:#00204d;stroke-width:2.4}\
text{fill:currentColor}.label{paint-order:stroke;stroke:#fff;stroke-width:4px;font-weight:600;font-size:12px}\
.aim{stroke:currentColor;stroke-dasharray:2 4}\
@media (prefers-color-scheme:dark){svg{background:#16181c;color:#ececec}.gear{stroke:#8aa0bf}.suits{stroke:#fdea45}\
.label{stroke:#16181c}.band{fill:#bab9b4;fill-opacity:.2}}";

/// Draws the chart; empty where it has fewer than two grades, since there are no lines then.
pub fn svg(document: &GearsDocument) -> String {
    let grades: Vec<f64> = document.grades.iter().map(|g| g.grade_pct).collect();
    let (Some(first), Some(last)) = (grades.first(), grades.last()) else {
        return String::new();
    };
    if grades.len() < 2 {
        return String::new();
    }
    let band = document.cadence_band_rpm;
    let width = (band.to - band.from).max(4.0);
    let (left, right, top, bottom) = MARGIN;
    let x = Scale::new((*first, *last), (left, WIDTH - right));
    let y = Scale::new(
        (
            (band.from - BELOW * width).max(0.0),
            band.to + ABOVE * width,
        ),
        (HEIGHT - bottom, top),
    );
    let power = document.power_band_w;
    let title = format!(
        "Cadence at {:.0} W by grade and gear; shaded: {:.0} to {:.0} rpm",
        power.aim, band.from, band.to
    );
    let markup = html! {
        svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img"
            aria-labelledby="gears-title gears-description" {
            title id="gears-title" { (title) }
            desc id="gears-description" { (description(document)) }
            style { (PreEscaped(STYLE)) }
            defs { clipPath id="gears-plot" {
                rect x=(left) y=(top) width=(WIDTH - left - right) height=(HEIGHT - top - bottom) {}
            } }
            text x=(left) y="22" font-size="15" font-weight="600" { (title) }
            rect.band x=(left) width=(WIDTH - left - right) y=(n(y.at(band.to)))
                height=(n(y.at(band.from) - y.at(band.to))) {}
            line.aim x1=(left) x2=(WIDTH - right) y1=(n(y.at(band.aim))) y2=(n(y.at(band.aim))) {}
            (axes(&x, &y))
            g clip-path="url(#gears-plot)" {
                @for gear in 0..document.grades[0].gears.len() { (line(document, gear, &x, &y)) }
            }
            @for gear in 0..document.grades[0].gears.len() { (label(document, gear, &x, &y)) }
        }
    };
    markup.into_string() + "\n"
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

fn axes(x: &Scale, y: &Scale) -> Markup {
    let (left, right, top, bottom) = MARGIN;
    html! {
        @for tick in ticks(x.domain(), 10) {
            line.grid x1=(n(x.at(tick))) x2=(n(x.at(tick))) y1=(top) y2=(HEIGHT - bottom) {}
            text x=(n(x.at(tick))) y=(HEIGHT - bottom + 18.0) text-anchor="middle" { (tick) " %" }
        }
        @for tick in ticks(y.domain(), 8) {
            line.grid x1=(left) x2=(WIDTH - right) y1=(n(y.at(tick))) y2=(n(y.at(tick))) {}
            text x=(left - 8.0) y=(n(y.at(tick) + 4.0)) text-anchor="end" { (tick) }
        }
        line.axis x1=(left) x2=(WIDTH - right) y1=(HEIGHT - bottom) y2=(HEIGHT - bottom) {}
        line.axis x1=(left) x2=(left) y1=(top) y2=(HEIGHT - bottom) {}
        text x=(n((left + WIDTH - right) / 2.0)) y=(HEIGHT - 12.0) text-anchor="middle" { "grade" }
        text x="14" y=(n((top + HEIGHT - bottom) / 2.0)) text-anchor="middle"
            transform=(format!("rotate(-90 14 {})", n((top + HEIGHT - bottom) / 2.0))) { "cadence, rpm" }
    }
}

/// The cadence of one gear over the grades, thick where it suits.
fn line(document: &GearsDocument, gear: usize, x: &Scale, y: &Scale) -> Markup {
    let point = |i: usize| {
        let column = &document.grades[i];
        format!(
            "{} {}",
            n(x.at(column.grade_pct)),
            n(y.at(column.gears[gear].cadence_rpm))
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

/// The gear's name where its line passes its level in the band; nothing where it doesn't.
fn label(document: &GearsDocument, gear: usize, x: &Scale, y: &Scale) -> Markup {
    let band = document.cadence_band_rpm;
    let level = band.from + LABEL_LEVELS[gear % LABEL_LEVELS.len()] * (band.to - band.from);
    let cadence = |i: usize| document.grades[i].gears[gear].cadence_rpm;
    let crossing =
        (0..document.grades.len() - 1).find(|&i| cadence(i) >= level && cadence(i + 1) < level);
    let Some(i) = crossing else { return html! {} };
    let share = (cadence(i) - level) / (cadence(i) - cadence(i + 1));
    let (a, b) = (
        document.grades[i].grade_pct,
        document.grades[i + 1].grade_pct,
    );
    let entry: &GearEntry = &document.grades[i].gears[gear];
    let at_x = x
        .at(a + share * (b - a))
        .clamp(MARGIN.0 + 20.0, WIDTH - MARGIN.1 - 20.0);
    html! {
        text.label x=(n(at_x)) y=(n(y.at(level) + 4.0)) text-anchor="middle" {
            (entry.gear) @if entry.crossed { " ×" }
        }
    }
}

/// A coordinate, to a tenth of a unit.
fn n(value: f64) -> f64 {
    super::rounded(value, 1)
}
