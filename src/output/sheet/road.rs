//! Map and profile of a route, tied together by the points that the script walks along.

use std::fmt::Write;

use maud::{Markup, PreEscaped, html};

use crate::output::drawing::map::{MapPicture, Projection};
use crate::output::drawing::profile::ProfilePicture;
use crate::output::drawing::relief::Relief;
use crate::output::drawing::{Mark, grades, map, profile};
use crate::output::rounded;
use crate::output::text::Paper;
use crate::profile::Profile;

/// A road to draw.
#[derive(Debug, Clone, Copy)]
pub struct RoadFigures<'a> {
    /// The road.
    pub profile: &'a Profile,
    /// The reps.
    pub reps: &'a [Mark],
    /// The climbs.
    pub climbs: &'a [Mark],
    /// The ground, if its tiles are here.
    pub relief: Option<&'a Relief>,
    /// Units.
    pub paper: &'a Paper,
    /// What ids begin with: different for each road of a page.
    pub id: &'a str,
}

/// Sizes of the profile: on a wide page, and on a phone.
const WIDE: (f64, f64) = (1120.0, 300.0);
const NARROW: (f64, f64) = (344.0, 270.0);
/// The most points that the script walks along.
const MOST_POINTS: usize = 700;

impl RoadFigures<'_> {
    /// The map in its figure.
    pub fn map(&self) -> Markup {
        let marks = if self.reps.is_empty() {
            self.climbs
        } else {
            self.reps
        };
        let ground = if self.relief.is_some() {
            " Relief from the elevation tiles, lit from the north-west."
        } else {
            ""
        };
        let numbers = match (self.reps, self.climbs) {
            ([], []) => "",
            ([], _) => "Numbers: the climbs. ",
            _ => "Numbers: the reps. ",
        };
        html! {
            figure.map-figure {
                (map::svg(&MapPicture {
                    profile: self.profile,
                    marks,
                    relief: self.relief,
                    paper: self.paper,
                    id: &format!("{}-map", self.id),
                }))
                figcaption { (numbers) "Ring: the route's start." (ground) }
            }
        }
    }

    /// The profile in its figure, wide and narrow, of which a page shows one.
    pub fn profile(&self) -> Markup {
        let picture = |size: (f64, f64), id: &str| {
            let id = format!("{}-{id}", self.id);
            profile::svg(&ProfilePicture {
                profile: self.profile,
                reps: self.reps,
                climbs: self.climbs,
                paper: self.paper,
                size,
                id: &id,
                heading: None,
            })
        };
        let slider_id = format!("{}-walk", self.id);
        let last = self.points().len() - 1;
        html! {
            figure.profile-figure {
                div.wide { (picture(WIDE, "wide")) }
                div.narrow { (picture(NARROW, "narrow")) }
                div.walk hidden {
                    label for=(slider_id) { "Along the route" }
                    input id=(slider_id) type="range" min="0" max=(last) value="0" step="1";
                    output for=(slider_id) { "" }
                }
                figcaption {
                    div.key-line { "Grade, per cent: " (grades::key()) }
                    @if !self.reps.is_empty() || !self.climbs.is_empty() {
                        p {
                            @if !self.reps.is_empty() { "Hatched: the reps, with the easy time between them. " }
                            @if !self.climbs.is_empty() { "Bars under the road: the steady climbs by number." }
                        }
                    }
                }
                (self.data())
            }
        }
    }

    fn points(&self) -> Vec<usize> {
        let nodes = self.profile.nodes();
        let count = nodes.min(MOST_POINTS);
        (0..count).map(|k| k * (nodes - 1) / (count - 1)).collect()
    }

    /// Distance (m), place on the map, elevation (m) and grade (%) of points along the road.
    fn data(&self) -> Markup {
        let projection = Projection::of(self.profile);
        let p = self.profile;
        let mut text = String::from("[");
        for (k, &i) in self.points().iter().enumerate() {
            let (x, y) = projection.at(p.lat_deg[i], p.lon_deg[i]);
            let comma = if k == 0 { "" } else { "," };
            // Writing to a string can't fail.
            let _ = write!(
                text,
                "{comma}[{},{},{},{},{}]",
                rounded(p.given_m[i], 0),
                rounded(x, 1),
                rounded(y, 1),
                rounded(p.elevation_m[i], 0),
                rounded(p.grade_pct[i], 1)
            );
        }
        text.push(']');
        let far = 1.0 / self.paper.far_value(1.0);
        let high = 1.0 / self.paper.height(1.0);
        html! {
            script type="application/json" data-far=(far) data-far-unit=(self.paper.far_unit())
                data-high=(high) data-high-unit=(self.paper.height_unit()) { (PreEscaped(text)) }
        }
    }
}
