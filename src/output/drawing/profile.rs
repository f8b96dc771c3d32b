//! The profile: distance across, elevation up, coloured by grade; reps hatched and numbered, climbs named.

use maud::{Markup, html};

use super::marks::{Mark, lanes};
use super::{grades, lines, n};
use crate::output::scale::{Scale, ticks};
use crate::output::text::Paper;
use crate::profile::Profile;

/// What is drawn, and how large.
#[derive(Debug, Clone, Copy)]
pub struct ProfilePicture<'a> {
    /// The road.
    pub profile: &'a Profile,
    /// The reps.
    pub reps: &'a [Mark],
    /// The climbs.
    pub climbs: &'a [Mark],
    /// Units.
    pub paper: &'a Paper,
    /// Width and height, in the picture's units.
    pub size: (f64, f64),
    /// What the ids in it begin with: different for each picture of a page.
    pub id: &'a str,
    /// Above the picture where it stands alone: whose profile it is. The key is under it then.
    pub heading: Option<&'a str>,
}

/// Room beside the plot: left, right.
const SIDES: (f64, f64) = (44.0, 14.0);
/// Height of a lane of reps, and of what lies under the plot.
const LANE: f64 = 30.0;
const BELOW: f64 = 70.0;
/// A flat road is not drawn as mountains: the least span of elevations, in metres.
const LEAST_SPAN_M: f64 = 60.0;
/// Narrowest bar of a rep or a climb.
const LEAST_BAR: f64 = 3.0;
/// Room for a number, and for a time between two reps.
const NUMBER: f64 = 15.0;
const TIME: f64 = 38.0;

struct Plot {
    x: Scale,
    y: Scale,
    top: f64,
    base: f64,
    left: f64,
    right: f64,
}

/// Height of the heading and of the key of a picture that stands alone.
const HEADING: f64 = 34.0;
const KEY: f64 = 40.0;
/// Height of a line of cautions.
const CAUTION: f64 = 16.0;

/// Pictures that stand alone, one under the other in one file, and what every plan says below them.
pub fn file(pictures: &[ProfilePicture], cautions: &[String]) -> String {
    let high = |p: &ProfilePicture| p.size.1 + HEADING + KEY;
    let width = pictures.iter().map(|p| p.size.0).fold(0.0, f64::max);
    let bottom: f64 = pictures.iter().map(high).sum();
    let height = bottom + CAUTION * (cautions.len() as f64 + 0.5);
    let tops = pictures.iter().scan(0.0, |top, p| {
        let here = *top;
        *top += high(p);
        Some(here)
    });
    super::standalone(&html! {
        svg.picture xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}")) {
            @for (picture, top) in pictures.iter().zip(tops) {
                text.heading x="14" y=(n(top + 22.0)) { (picture.heading.unwrap_or("")) }
                g transform=(format!("translate(0 {})", n(top + HEADING))) { (nested(picture)) }
                g transform=(format!("translate({} {})", SIDES.0, n(top + HEADING + picture.size.1))) {
                    text y="9" { "grade, %" }
                    g transform="translate(64 0)" { (grades::swatches()) }
                }
            }
            @for (i, caution) in cautions.iter().enumerate() {
                text.small x="14" y=(n(bottom + CAUTION * (i + 1) as f64)) { (caution) }
            }
        }
    })
}

/// The picture as a part of another.
fn nested(picture: &ProfilePicture) -> Markup {
    html! { svg width=(picture.size.0) height=(picture.size.1) { (svg(picture)) } }
}

/// Draws the profile.
pub fn svg(picture: &ProfilePicture) -> Markup {
    let ProfilePicture { profile, id, .. } = picture;
    let (width, height) = picture.size;
    let plain = Scale::new(
        (0.0, *profile.given_m.last().unwrap_or(&1.0)),
        (SIDES.0, width - SIDES.1),
    );
    let spans = spans(picture.reps, &plain);
    let rep_lanes = lanes(&spans, 1.0);
    let lane_count = rep_lanes.iter().max().map_or(0, |l| l + 1);
    let plot = Plot {
        x: plain,
        y: Scale::new(
            elevations(profile, picture.paper),
            (height - BELOW, LANE * lane_count as f64 + 14.0),
        ),
        top: LANE * lane_count as f64 + 6.0,
        base: height - BELOW,
        left: SIDES.0,
        right: width - SIDES.1,
    };
    let title_id = format!("{id}-title");
    let about_id = format!("{id}-about");
    html! {
        svg.picture.profile xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {width} {height}")) role="img"
            aria-labelledby=(format!("{title_id} {about_id}"))
            data-left=(n(plot.left)) data-right=(n(plot.right)) data-length=(n(plain.domain().1)) {
            title id=(title_id) { "Profile: elevation along the route, coloured by grade" }
            desc id=(about_id) { (about(picture)) }
            (hatch(id))
            @for (mark, lane) in picture.reps.iter().zip(&rep_lanes) { (curtain(&plot, mark, *lane, id)) }
            (ground(profile, &plot))
            (axes(&plot, picture.paper))
            @for (i, mark) in picture.reps.iter().enumerate() {
                (bar(&plot, mark, rep_lanes[i], id))
                @if lane_count == 1 && i + 1 < picture.reps.len() { (between(&plot, mark, &picture.reps[i + 1])) }
            }
            (climbs(&plot, picture.climbs))
            g.cursor visibility="hidden" {
                line x1="0" x2="0" y1=(n(plot.top)) y2=(n(plot.base)) {}
            }
        }
    }
}

/// The hatch that reps are filled with.
pub(super) fn hatch(id: &str) -> Markup {
    html! {
        defs {
            pattern id=(format!("{id}-hatch")) width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)" {
                rect.hatch-ground width="6" height="6" {}
                rect.hatch-line width="2.2" height="6" {}
            }
        }
    }
}

fn about(picture: &ProfilePicture) -> String {
    let ProfilePicture { profile, paper, .. } = picture;
    let (low, high) = extremes(&profile.elevation_m);
    let mut text = format!(
        "{} long, from {} to {} above the sea.",
        paper.far(*profile.given_m.last().unwrap_or(&0.0)),
        paper.short(low),
        paper.short(high)
    );
    let marks = if picture.reps.is_empty() {
        picture.climbs
    } else {
        picture.reps
    };
    for mark in marks {
        text += &format!(
            " {} from {} to {}.",
            mark.words,
            paper.far_number(mark.from_m),
            paper.far(mark.to_m)
        );
    }
    text
}

fn extremes(values: &[f64]) -> (f64, f64) {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (low, high)
}

/// Elevations of the plot's lower and upper edge, in metres.
fn elevations(profile: &Profile, paper: &Paper) -> (f64, f64) {
    let (low, high) = extremes(&profile.elevation_m);
    let missing = (LEAST_SPAN_M - (high - low)).max(0.0);
    let high = high + missing;
    let step = ticks((paper.height(low), paper.height(high)), 4);
    let floor = match step[..] {
        [first, second, ..] => {
            let step = second - first;
            paper.metres_of_height(((paper.height(low) / step).floor() * step).max(first - step))
        }
        _ => low,
    };
    (floor.min(low), high)
}

/// From and to on the page, at least as wide as the number above.
fn spans(marks: &[Mark], x: &Scale) -> Vec<(f64, f64)> {
    let wide = |mark: &Mark| {
        let (from, to) = (x.at(mark.from_m), x.at(mark.to_m));
        let middle = 0.5 * (from + to);
        let half = 0.5 * NUMBER.max(8.5 * mark.label.chars().count() as f64);
        (from.min(middle - half), to.max(middle + half))
    };
    marks.iter().map(wide).collect()
}

/// The hatched band over the road where a rep is ridden.
fn curtain(plot: &Plot, mark: &Mark, lane: usize, id: &str) -> Markup {
    let (from, to) = (plot.x.at(mark.from_m), plot.x.at(mark.to_m));
    let top = LANE * (lane + 1) as f64 - 4.0;
    html! {
        rect.curtain x=(n(from)) width=(n((to - from).max(LEAST_BAR))) y=(n(top)) height=(n(plot.base - top))
            fill=(format!("url(#{id}-hatch)")) {}
    }
}

fn bar(plot: &Plot, mark: &Mark, lane: usize, id: &str) -> Markup {
    let (from, to) = (plot.x.at(mark.from_m), plot.x.at(mark.to_m));
    let width = (to - from).max(LEAST_BAR);
    let top = LANE * lane as f64;
    html! {
        text.number x=(n(from + width / 2.0)) y=(n(top + 14.0)) text-anchor="middle" { (mark.label) }
        rect.rep x=(n(from)) width=(n(width)) y=(n(top + 18.0)) height="8" fill=(format!("url(#{id}-hatch)")) {}
    }
}

/// The easy way from a rep to the next, with how long it takes where there is room.
fn between(plot: &Plot, mark: &Mark, next: &Mark) -> Markup {
    let (from, to) = (plot.x.at(mark.to_m), plot.x.at(next.from_m));
    html! {
        @if to - from > 4.0 {
            line.rest x1=(n(from)) x2=(n(to)) y1="22" y2="22" {}
        }
        @if let Some(then) = mark.then.as_ref().filter(|_| to - from > TIME) {
            text.small x=(n(0.5 * (from + to))) y="15" text-anchor="middle" { (then) }
        }
    }
}

/// The road, a column a unit of the page.
fn ground(profile: &Profile, plot: &Plot) -> Markup {
    let columns = (plot.right - plot.left) as usize;
    let nodes = profile.nodes();
    let count = nodes.min(2 * columns).max(2);
    let node = |k: usize| (k * (nodes - 1)) / (count - 1);
    let point = |k: usize| {
        let i = node(k);
        (
            plot.x.at(profile.given_m[i]),
            plot.y.at(profile.elevation_m[i]),
        )
    };
    let points: Vec<(f64, f64)> = (0..count).map(point).collect();
    let class = |k: usize| {
        let (a, b) = (node(k), node(k + 1));
        let run_m = (b - a) as f64 * profile.spacing_m;
        let rise_m = profile.elevation_m[b] - profile.elevation_m[a];
        grades::class(100.0 * rise_m / run_m.max(1.0))
    };
    let mut areas = vec![String::new(); 8];
    let mut from = 0;
    for k in 1..count {
        let here = class(k - 1);
        if k == count - 1 || class(k) != here {
            let run = lines::simplified(&points[from..=k], lines::TOLERANCE);
            areas[here] += &lines::area(&run, plot.base);
            from = k;
        }
    }
    html! {
        @for (class, area) in areas.iter().enumerate().filter(|(_, a)| !a.is_empty()) {
            path class=(format!("ground g{class}")) d=(area) {}
        }
        path.skyline d=(lines::path(&lines::simplified(&points, lines::TOLERANCE))) {}
    }
}

fn axes(plot: &Plot, paper: &Paper) -> Markup {
    let far = |m: f64| paper.far_value(m);
    let (length_m, heights) = (plot.x.domain().1, plot.y.domain());
    let per_far = length_m / far(length_m).max(1e-9);
    let most = ((plot.right - plot.left) / 52.0) as usize;
    html! {
        @for tick in ticks((paper.height(heights.0), paper.height(heights.1)), 4) {
            @let y = plot.y.at(paper.metres_of_height(tick));
            line.grid x1=(n(plot.left)) x2=(n(plot.right)) y1=(n(y)) y2=(n(y)) {}
            text x=(n(plot.left - 6.0)) y=(n(y + 4.0)) text-anchor="end" { (tick) }
        }
        line.axis x1=(n(plot.left)) x2=(n(plot.right)) y1=(n(plot.base)) y2=(n(plot.base)) {}
        @for tick in ticks((0.0, far(length_m)), most.max(2)) {
            @let x = plot.x.at(tick * per_far);
            line.axis x1=(n(x)) x2=(n(x)) y1=(n(plot.base + 34.0)) y2=(n(plot.base + 39.0)) {}
            text x=(n(x)) y=(n(plot.base + 53.0)) text-anchor="middle" { (tick) }
        }
        line.grid x1=(n(plot.left)) x2=(n(plot.right)) y1=(n(plot.base + 34.0)) y2=(n(plot.base + 34.0)) {}
        text.small x=(n(plot.right)) y=(n(plot.base + 67.0)) text-anchor="end" { "distance, " (paper.far_unit()) }
        text.small x="2" y="12" { "elevation, " (paper.height_unit()) }
    }
}

/// The climbs between the road and the axis: a bar each, its number where there is room.
fn climbs(plot: &Plot, marks: &[Mark]) -> Markup {
    let mut last = [f64::NEG_INFINITY; 2];
    let mut row_of = |middle: f64| {
        let free = |row: &usize| middle - last[*row] >= NUMBER;
        let row = [0, 1].into_iter().find(free)?;
        last[row] = middle;
        Some(row)
    };
    html! {
        @for mark in marks {
            @let (from, to) = (plot.x.at(mark.from_m), plot.x.at(mark.to_m));
            @let middle = 0.5 * (from + to);
            rect.climb x=(n(from)) width=(n((to - from).max(LEAST_BAR) - 0.8)) y=(n(plot.base + 3.0)) height="5" {}
            @if let Some(row) = row_of(middle) {
                text.small x=(n(middle)) y=(n(plot.base + 19.0 + 11.0 * row as f64)) text-anchor="middle" { (mark.label) }
            }
        }
    }
}
