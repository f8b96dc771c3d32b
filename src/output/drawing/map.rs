//! The map: the line on shaded relief or on plain ground, the reps on it, a scale bar and north.

use maud::{Markup, html};

use super::marks::Mark;
use super::relief::Relief;
use super::{lines, n};
use crate::output::rounded;
use crate::output::scale::ticks;
use crate::output::text::{Paper, Units};
use crate::profile::Profile;

/// What is drawn.
#[derive(Debug, Clone, Copy)]
pub struct MapPicture<'a> {
    /// The road.
    pub profile: &'a Profile,
    /// The reps, or the climbs where there are none.
    pub marks: &'a [Mark],
    /// The ground, if its tiles are here.
    pub relief: Option<&'a Relief>,
    /// Units.
    pub paper: &'a Paper,
    /// What the ids in it begin with: different for each picture of a page.
    pub id: &'a str,
}

/// Width of a map, and the least and the greatest height, in the picture's units.
const WIDTH: f64 = 460.0;
const HEIGHTS: (f64, f64) = (250.0, 430.0);
/// Room around the line.
const MARGIN: f64 = 34.0;
/// Metres in a degree of latitude of the mean sphere (6371.0088 km, IUGG 1980): maps need no ellipsoid.
const METRES_PER_DEGREE: f64 = 111_195.08;
/// The smallest piece of country that is drawn, in metres.
const LEAST_EXTENT_M: f64 = 300.0;
/// Radius of a number's disc.
const DISC: f64 = 10.0;

/// From degrees to the page: equirectangular, true to scale in the middle. Over 200 km that is within a per cent or two at
/// the edges, far less on a day's ride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Projection {
    lat_deg: f64,
    lon_deg: f64,
    /// Metres in a degree of longitude.
    east_m: f64,
    /// Units of the page in a metre.
    per_m: f64,
    /// Size of the page, in its units.
    pub size: (f64, f64),
}

impl Projection {
    /// One that shows a whole road.
    pub fn of(profile: &Profile) -> Projection {
        let first = profile.lon_deg[0];
        let east: Vec<f64> = profile
            .lon_deg
            .iter()
            .map(|lon| shorter_way_deg(lon - first))
            .collect();
        let (west, far_east) = bounds(&east);
        let (south, north) = bounds(&profile.lat_deg);
        let lat_deg = 0.5 * (south + north);
        let east_m = METRES_PER_DEGREE * lat_deg.to_radians().cos().max(0.01);
        let across_m = ((far_east - west) * east_m).max(LEAST_EXTENT_M);
        let up_m = ((north - south) * METRES_PER_DEGREE).max(LEAST_EXTENT_M);
        let room = (WIDTH - 2.0 * MARGIN, HEIGHTS.1 - 2.0 * MARGIN);
        let per_m = (room.0 / across_m).min(room.1 / up_m);
        Projection {
            lat_deg,
            lon_deg: first + 0.5 * (west + far_east),
            east_m,
            per_m,
            size: (
                WIDTH,
                (up_m * per_m + 2.0 * MARGIN).clamp(HEIGHTS.0, HEIGHTS.1),
            ),
        }
    }

    /// Where a place (degrees) lies on the page.
    pub fn at(&self, lat_deg: f64, lon_deg: f64) -> (f64, f64) {
        let east_m = shorter_way_deg(lon_deg - self.lon_deg) * self.east_m;
        let north_m = (lat_deg - self.lat_deg) * METRES_PER_DEGREE;
        (
            0.5 * self.size.0 + east_m * self.per_m,
            0.5 * self.size.1 - north_m * self.per_m,
        )
    }

    /// Which place (latitude, longitude in degrees) lies at a spot of the page.
    pub fn place(&self, x: f64, y: f64) -> (f64, f64) {
        let east_m = (x - 0.5 * self.size.0) / self.per_m;
        let north_m = (0.5 * self.size.1 - y) / self.per_m;
        (
            self.lat_deg + north_m / METRES_PER_DEGREE,
            shorter_way_deg(self.lon_deg + east_m / self.east_m),
        )
    }

    /// Metres on the ground in a unit of the page.
    pub fn metres_per_unit(&self) -> f64 {
        1.0 / self.per_m
    }
}

fn shorter_way_deg(step: f64) -> f64 {
    (step + 180.0).rem_euclid(360.0) - 180.0
}

fn bounds(values: &[f64]) -> (f64, f64) {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (low, high)
}

/// Draws the map.
pub fn svg(picture: &MapPicture) -> Markup {
    let MapPicture { profile, id, .. } = picture;
    let projection = Projection::of(profile);
    let (width, height) = projection.size;
    let at = |i: usize| projection.at(profile.lat_deg[i], profile.lon_deg[i]);
    let all: Vec<(f64, f64)> = (0..profile.nodes()).map(at).collect();
    let line = lines::path(&lines::simplified(&all, lines::TOLERANCE));
    let title_id = format!("{id}-title");
    let about_id = format!("{id}-about");
    html! {
        svg.picture.map xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {} {}", n(width), n(height))) role="img"
            aria-labelledby=(format!("{title_id} {about_id}")) {
            title id=(title_id) { "Map of the route" }
            desc id=(about_id) { (about(picture)) }
            rect.land width=(n(width)) height=(n(height)) {}
            @if let Some(relief) = picture.relief {
                image width=(n(width)) height=(n(height)) preserveAspectRatio="none" href=(relief.href()) {}
            }
            path.casing d=(line) {}
            path.road d=(line) {}
            (arrows(&all))
            @for mark in picture.marks {
                @let stretch = lines::path(&lines::simplified(&all[mark.nodes(profile)], 0.2));
                path.stretch d=(stretch) {}
                path.stretch-hatch d=(stretch) {}
            }
            (start(&all))
            (discs(picture.marks, profile, &all, (width, height)))
            (scale_bar(&projection, picture.paper))
            (north(width))
            circle.cursor visibility="hidden" r="6" cx="0" cy="0" {}
        }
    }
}

fn about(picture: &MapPicture) -> String {
    let profile = picture.profile;
    let last = profile.nodes() - 1;
    let ground = if picture.relief.is_some() {
        "shaded relief"
    } else {
        "plain ground"
    };
    format!(
        "The line of the route on {ground}, north up, from {:.4}, {:.4} to {:.4}, {:.4}, with {} numbered stretches.",
        profile.lat_deg[0],
        profile.lon_deg[0],
        profile.lat_deg[last],
        profile.lon_deg[last],
        picture.marks.len()
    )
}

/// Which way the route goes: a chevron now and then.
fn arrows(all: &[(f64, f64)]) -> Markup {
    const APART: f64 = 85.0;
    let mut shown = Vec::new();
    let mut since = APART / 2.0;
    for (i, pair) in all.windows(2).enumerate() {
        since += (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
        if since >= APART {
            since = 0.0;
            let (a, b) = (all[i.saturating_sub(3)], all[(i + 4).min(all.len() - 1)]);
            let turn_deg = (b.1 - a.1).atan2(b.0 - a.0).to_degrees();
            shown.push((pair[1], turn_deg));
        }
    }
    html! {
        @for ((x, y), turn_deg) in shown {
            path.arrow d="M-3.5 -4L3.5 0L-3.5 4" transform=(format!("translate({} {}) rotate({})", n(x), n(y), turn_deg.round())) {}
        }
    }
}

fn start(all: &[(f64, f64)]) -> Markup {
    html! {
        @if let Some((x, y)) = all.first() {
            circle.home cx=(n(*x)) cy=(n(*y)) r="4.5" {}
        }
    }
}

/// Numbers beside the starts of marks, where they cover neither each other nor more of the line than they must.
fn discs(marks: &[Mark], profile: &Profile, all: &[(f64, f64)], size: (f64, f64)) -> Markup {
    let road: Vec<(f64, f64)> = lines::simplified(all, 2.0);
    let mut taken: Vec<(f64, f64)> = Vec::new();
    let mut shown = Vec::new();
    for mark in marks {
        let nodes = mark.nodes(profile);
        let middle = all[(nodes.start() + nodes.end()) / 2];
        let spot = free_spot(middle, &taken, &road, size);
        taken.push(spot);
        shown.push((&mark.label, middle, spot));
    }
    html! {
        @for (_, from, to) in &shown {
            line.leader x1=(n(from.0)) y1=(n(from.1)) x2=(n(to.0)) y2=(n(to.1)) {}
        }
        @for (label, _, (x, y)) in &shown {
            @let half = DISC.max(4.0 + 4.2 * label.chars().count() as f64);
            rect.disc x=(n(x - half)) y=(n(y - DISC)) width=(n(2.0 * half)) height=(2.0 * DISC) rx=(DISC) {}
            text.on-disc x=(n(*x)) y=(n(y + 4.5)) text-anchor="middle" { (label) }
        }
    }
}

/// The best of some spots around a place: inside the page, off other discs, away from the road, near.
fn free_spot(
    around: (f64, f64),
    taken: &[(f64, f64)],
    road: &[(f64, f64)],
    size: (f64, f64),
) -> (f64, f64) {
    let tried = [18.0, 26.0, 36.0, 50.0]
        .into_iter()
        .flat_map(|far| (0..12).map(move |k| (far, f64::from(k) * std::f64::consts::PI / 6.0)));
    let spots = tried.map(|(far, turn)| {
        (
            around.0 + far * turn.cos(),
            around.1 + far * turn.sin(),
            far,
        )
    });
    let costs = spots.map(|(x, y, far)| {
        let outside = x < DISC || y < DISC || x > size.0 - DISC || y > size.1 - 2.0 * DISC;
        let near = |list: &[(f64, f64)]| {
            list.iter()
                .map(|p| (p.0 - x).hypot(p.1 - y))
                .fold(f64::INFINITY, f64::min)
        };
        let over_disc = (2.0 * DISC + 2.0 - near(taken)).max(0.0);
        let over_road = (DISC + 3.0 - near(road)).max(0.0);
        let cost = if outside { 1e6 } else { 0.0 } + 100.0 * over_disc + 8.0 * over_road + far;
        (cost, (x, y))
    });
    costs
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(around, |best| best.1)
}

/// A bar of a round length, about a quarter of the map.
fn scale_bar(projection: &Projection, paper: &Paper) -> Markup {
    let quarter = paper.far_value(0.25 * WIDTH * projection.metres_per_unit());
    let long = ticks((0.0, quarter), 2).last().copied().unwrap_or(quarter);
    let units = long / paper.far_value(projection.metres_per_unit());
    let y = projection.size.1 - 14.0;
    let label = if long < 1.0 && paper.units == Units::Metric {
        format!("{} m", rounded(1000.0 * long, 0))
    } else {
        format!("{long} {}", paper.far_unit())
    };
    html! {
        path.scale d=(format!("M14 {}V{}H{}V{}", n(y - 5.0), n(y), n(14.0 + units), n(y - 5.0))) {}
        text.halo x=(n(20.0 + units)) y=(n(y + 2.0)) { (label) }
    }
}

fn north(width: f64) -> Markup {
    html! {
        g transform=(format!("translate({} 18)", n(width - 20.0))) {
            path.north d="M0 -9L6 8L0 4L-6 8Z" {}
            text.halo y="21" text-anchor="middle" { "N" }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route;

    fn profile(lons: [f64; 2]) -> Profile {
        let text = format!(
            r#"{{"type":"LineString","coordinates":[[{},45,1],[{},45.01,30]]}}"#,
            lons[0], lons[1]
        );
        Profile::from_route(&route::read(text.as_bytes(), "x").unwrap()[0]).unwrap()
    }

    #[test]
    fn places_come_back_from_the_page() {
        for lons in [[7.0, 7.01], [179.995, -179.995]] {
            let projection = Projection::of(&profile(lons));
            let (x, y) = projection.at(45.003, lons[0]);
            assert!(x > 0.0 && x < WIDTH && y > 0.0 && y < projection.size.1);
            let (lat, lon) = projection.place(x, y);
            assert!((lat - 45.003).abs() < 1e-9 && (lon - lons[0]).abs() < 1e-9);
        }
    }

    #[test]
    fn a_metre_is_as_long_east_as_north_within_half_a_per_cent() {
        let projection = Projection::of(&profile([7.0, 7.01]));
        let (a, b) = (projection.at(45.0, 7.0), projection.at(45.01, 7.01));
        // On the WGS 84 ellipsoid at 45.005° a degree of latitude is 111,132 m and one of longitude 78,840 m (pyproj).
        let east_m = (b.0 - a.0) * projection.metres_per_unit();
        let north_m = (a.1 - b.1) * projection.metres_per_unit();
        assert!((east_m / 788.4 - 1.0).abs() < 0.005, "{east_m}");
        assert!((north_m / 1111.32 - 1.0).abs() < 0.005, "{north_m}");
    }

    #[test]
    fn discs_keep_off_each_other() {
        let road = [(100.0, 100.0), (120.0, 100.0)];
        let first = free_spot((110.0, 100.0), &[], &road, (400.0, 300.0));
        let second = free_spot((110.0, 100.0), &[first], &road, (400.0, 300.0));
        assert!((first.0 - second.0).hypot(first.1 - second.1) >= 2.0 * DISC);
    }
}
