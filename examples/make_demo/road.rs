//! A road: evenly spaced nodes with their elevations.

/// A road on the plane. Its nodes are `step_m` apart along it; a closed road's last node is its first one again.
pub(crate) struct Road {
    pub(crate) nodes: Vec<[f64; 2]>,
    pub(crate) elevations_m: Vec<f64>,
    pub(crate) step_m: f64,
}

impl Road {
    /// The length of the road, in metres.
    pub(crate) fn length_m(&self) -> f64 {
        (self.nodes.len() - 1) as f64 * self.step_m
    }

    /// The place at a distance along the road.
    pub(crate) fn place(&self, distance_m: f64) -> [f64; 2] {
        let (node, share) = self.node_before(distance_m);
        let ([x, y], [next_x, next_y]) = (self.nodes[node], self.nodes[node + 1]);
        [x + share * (next_x - x), y + share * (next_y - y)]
    }

    /// The elevation at a distance along the road.
    pub(crate) fn elevation_m(&self, distance_m: f64) -> f64 {
        let (node, share) = self.node_before(distance_m);
        self.elevations_m[node] + share * (self.elevations_m[node + 1] - self.elevations_m[node])
    }

    /// The mean grade over 10 m around a distance, in per cent.
    pub(crate) fn grade_pct(&self, distance_m: f64) -> f64 {
        (self.elevation_m(distance_m + 5.0) - self.elevation_m(distance_m - 5.0)) / 10.0 * 100.0
    }

    /// How sharply the road bends at a distance, over 20 m: one over the radius, in 1/m.
    pub(crate) fn bend_per_m(&self, distance_m: f64) -> f64 {
        let at_m = distance_m.clamp(10.0, (self.length_m() - 10.0).max(10.0));
        let [back, here, ahead] =
            [at_m - 10.0, at_m, at_m + 10.0].map(|distance_m| self.place(distance_m));
        let (from, to) = (
            [here[0] - back[0], here[1] - back[1]],
            [ahead[0] - here[0], ahead[1] - here[1]],
        );
        let cross = from[0] * to[1] - from[1] * to[0];
        let dot = from[0] * to[0] + from[1] * to[1];
        (cross.atan2(dot) / 10.0).abs()
    }

    fn node_before(&self, distance_m: f64) -> (usize, f64) {
        let place = (distance_m / self.step_m).clamp(0.0, (self.nodes.len() - 1) as f64);
        let node = (place as usize).min(self.nodes.len() - 2);
        (node, place - node as f64)
    }
}

/// The distance along a line to each of its points.
pub(crate) fn distances_m(points: &[[f64; 2]]) -> Vec<f64> {
    let mut distance_m = 0.0;
    std::iter::once(0.0)
        .chain(points.windows(2).map(|pair| {
            distance_m += (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]);
            distance_m
        }))
        .collect()
}

/// `steps + 1` points along a line, each `step_m` further along it than the one before.
pub(crate) fn evenly_spaced(points: &[[f64; 2]], steps: usize, step_m: f64) -> Vec<[f64; 2]> {
    let distances_m = distances_m(points);
    let mut after = 1;
    (0..=steps)
        .map(|step| {
            let wanted_m = step as f64 * step_m;
            while after + 1 < points.len() && distances_m[after] < wanted_m {
                after += 1;
            }
            let span_m = distances_m[after] - distances_m[after - 1];
            let share = (wanted_m - distances_m[after - 1]) / span_m;
            let ([x, y], [next_x, next_y]) = (points[after - 1], points[after]);
            [x + share * (next_x - x), y + share * (next_y - y)]
        })
        .collect()
}
