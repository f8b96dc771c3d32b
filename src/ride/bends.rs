//! How fast a rider goes through bends.

/// Side acceleration that is comfortable on an unknown road, in m/s²; about a third of what a dry tyre holds (common
/// practice, no source).
pub const SIDE_ACCELERATION_M_S2: f64 = 3.0;
/// Slowing down that is comfortable, in m/s² (common practice, no source).
pub const BRAKING_M_S2: f64 = 2.0;
/// Length over which a bend's turn is measured, in metres: a hairpin's arc. Over less, a receiver's jitter of a metre or
/// two looks like bends; over more, hairpins are cut.
const ARC_M: f64 = 40.0;

/// The fastest speed on each stretch between nodes (metres per second): slow enough for its own bend, and to brake
/// for those that follow. Infinite on straight road.
///
/// `bearing_rad` has the direction at each node, `spacing_m` apart.
pub fn limits_ms(bearing_rad: &[f64], spacing_m: f64) -> Vec<f64> {
    let cells = bearing_rad.len().saturating_sub(1);
    let half = ((0.5 * ARC_M / spacing_m).round() as usize).max(1);
    let mut limits: Vec<f64> = (0..cells)
        .map(|i| {
            let (from, to) = (i.saturating_sub(half - 1), (i + half).min(cells));
            let turn_rad = shorter_turn_rad(bearing_rad[to] - bearing_rad[from]).abs();
            let radius_m = (to - from) as f64 * spacing_m / turn_rad.max(1e-9);
            (SIDE_ACCELERATION_M_S2 * radius_m).sqrt()
        })
        .collect();
    for i in (0..cells.saturating_sub(1)).rev() {
        let can_brake_from = (limits[i + 1].powi(2) + 2.0 * BRAKING_M_S2 * spacing_m).sqrt();
        limits[i] = limits[i].min(can_brake_from);
    }
    limits
}

fn shorter_turn_rad(turn_rad: f64) -> f64 {
    let whole = std::f64::consts::TAU;
    (turn_rad + 0.5 * whole).rem_euclid(whole) - 0.5 * whole
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hairpin_of_twelve_metres_is_taken_at_six_metres_a_second() {
        // Half a turn over 40 m is a radius of 40/π = 12.7 m; √(3 × 12.7) = 6.18 m/s.
        let mut bearing_rad = vec![0.0; 40];
        for (i, bearing) in bearing_rad.iter_mut().enumerate() {
            *bearing = std::f64::consts::PI * (((i as f64) - 20.0) / 4.0).clamp(0.0, 1.0);
        }
        let limits = limits_ms(&bearing_rad, 10.0);
        let slowest = limits.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((slowest - 6.18).abs() < 0.01, "{slowest}");
        // Slowing down at 2 m/s² over 10 m takes 2 × 2 × 10 = 40 m²/s² off the squared speed, and no more.
        assert!(
            limits
                .windows(2)
                .all(|w| w[0].powi(2) <= (w[1].powi(2) + 40.0) * (1.0 + 1e-9))
        );
    }

    #[test]
    fn a_straight_road_through_north_has_no_bend() {
        let bearing_rad: Vec<f64> = (0..20)
            .map(|i| {
                if i % 2 == 0 {
                    0.0
                } else {
                    std::f64::consts::TAU - 1e-12
                }
            })
            .collect();
        assert!(limits_ms(&bearing_rad, 10.0).iter().all(|l| *l > 1e3));
    }
}
