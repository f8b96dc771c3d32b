//! Tyre and teeth: metres per turn of the cranks.

use super::{Bike, Tyre};

impl Tyre {
    /// Distance along the road in one turn of the wheel, in metres.
    ///
    /// From the marking (ISO 5775-1): π times the rim diameter plus twice the section width; printed tables of rolled
    /// circumferences agree within 1 %, as they do among each other (`tests/reference/values/tyre.json`).
    ///
    /// ```
    /// use hillwright::gearing::Tyre;
    /// let tyre = Tyre::Marked { width_mm: 28.0, diameter_mm: 622.0 };
    /// assert!((tyre.circumference_m() - 2.130).abs() < 0.001);
    /// ```
    pub fn circumference_m(&self) -> f64 {
        match *self {
            Tyre::Marked {
                width_mm,
                diameter_mm,
            } => std::f64::consts::PI * (diameter_mm + 2.0 * width_mm) / 1000.0,
            Tyre::Measured { circumference_mm } => circumference_mm / 1000.0,
        }
    }
}

/// One chainring with one sprocket, and one ratio of the hub where it has gears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gear {
    /// Teeth of the chainring.
    pub chainring: u32,
    /// Teeth of the sprocket.
    pub sprocket: u32,
    /// Wheel turns per sprocket turn; `None` where the hub has no gears.
    pub hub_ratio: Option<f64>,
    /// Metres along the road in one turn of the cranks.
    pub development_m: f64,
    /// Whether the chain runs askew: the largest chainring with one of the two largest sprockets, or the smallest with
    /// one of the two smallest (common practice, no source). Such a gear works, but wears and drags.
    pub crossed: bool,
}

/// Sprockets at each end that a far chainring is not meant for (common practice, no source).
const CROSSED_SPROCKETS: usize = 2;
/// Fewer sprockets than this lie so close that no chain runs askew (common practice, no source).
const LEAST_SPROCKETS_TO_CROSS: usize = 7;

impl Bike {
    /// Every gear of the bike, lowest development first; of two equal ones the larger chainring first.
    pub fn gears(&self) -> Vec<Gear> {
        let (chainrings, sprockets) = (in_order(&self.chainrings), in_order(&self.sprockets));
        let circumference_m = self.tyre.circumference_m();
        let hub: Vec<Option<f64>> = if self.hub_ratios.is_empty() {
            vec![None]
        } else {
            self.hub_ratios.iter().map(|ratio| Some(*ratio)).collect()
        };
        let mut gears = Vec::with_capacity(chainrings.len() * sprockets.len() * hub.len());
        for (r, &chainring) in chainrings.iter().enumerate() {
            for (s, &sprocket) in sprockets.iter().enumerate() {
                let can_cross = chainrings.len() > 1 && sprockets.len() >= LEAST_SPROCKETS_TO_CROSS;
                let on_largest =
                    r + 1 == chainrings.len() && s + CROSSED_SPROCKETS >= sprockets.len();
                let on_smallest = r == 0 && s < CROSSED_SPROCKETS;
                let crossed = can_cross && (on_largest || on_smallest);
                let by_chain = circumference_m * f64::from(chainring) / f64::from(sprocket);
                gears.extend(hub.iter().map(|&hub_ratio| Gear {
                    chainring,
                    sprocket,
                    hub_ratio,
                    development_m: by_chain * hub_ratio.unwrap_or(1.0),
                    crossed,
                }));
            }
        }
        gears.sort_by(|a, b| {
            a.development_m
                .total_cmp(&b.development_m)
                .then(b.chainring.cmp(&a.chainring))
        });
        gears
    }
}

impl std::fmt::Display for Gear {
    /// As riders write it: `34×17`, with a gear hub `42×18 · 1.36`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&gear_name(self.chainring, self.sprocket, self.hub_ratio))
    }
}

/// A gear as riders write it: `34×17`, with a gear hub `42×18 · 1.36`.
pub fn gear_name(chainring: u32, sprocket: u32, hub_ratio: Option<f64>) -> String {
    match hub_ratio {
        Some(ratio) => format!("{chainring}×{sprocket} · {ratio:.2}"),
        None => format!("{chainring}×{sprocket}"),
    }
}

fn in_order(teeth: &[u32]) -> Vec<u32> {
    let mut teeth = teeth.to_vec();
    teeth.sort_unstable();
    teeth.dedup();
    teeth
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gearing::PowerMeasuredAt;

    fn bike(chainrings: &[u32], sprockets: &[u32], hub_ratios: &[f64]) -> Bike {
        Bike {
            mass_kg: 8.0,
            kit_kg: 4.0,
            tyre: Tyre::Measured {
                circumference_mm: 2000.0,
            },
            chainrings: chainrings.to_vec(),
            sprockets: sprockets.to_vec(),
            hub_ratios: hub_ratios.to_vec(),
            crank_mm: 170.0,
            power_measured_at: PowerMeasuredAt::Crank,
        }
    }

    #[test]
    fn of_two_equal_ratios_the_larger_chainring_comes_first() {
        // 48/24 and 32/16 are both 2.
        let gears = bike(&[32, 48], &[16, 24], &[]).gears();
        let twos: Vec<u32> = gears
            .iter()
            .filter(|g| g.development_m == 4.0)
            .map(|g| g.chainring)
            .collect();
        assert_eq!(twos, [48, 32]);
    }

    #[test]
    fn a_gear_hub_multiplies_the_chain_s_ratio() {
        // 40/20 × 2 m = 4 m; with hub ratios 0.5, 1 and 1.5: 2, 4 and 6 m.
        let developments: Vec<f64> = bike(&[40], &[20], &[1.0, 0.5, 1.5])
            .gears()
            .iter()
            .map(|g| g.development_m)
            .collect();
        assert_eq!(developments, [2.0, 4.0, 6.0]);
    }

    #[test]
    fn a_single_chainring_has_no_crossed_gear() {
        let sprockets = [10, 12, 14, 16, 18, 21, 24, 28, 32, 36, 42];
        assert!(
            bike(&[40], &sprockets, &[])
                .gears()
                .iter()
                .all(|g| !g.crossed)
        );
        let crossed = bike(&[34, 50], &sprockets, &[])
            .gears()
            .iter()
            .filter(|g| g.crossed)
            .count();
        assert_eq!(crossed, 4);
    }
}
