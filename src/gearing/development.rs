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

/// One chainring with one sprocket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gear {
    /// Teeth of the chainring.
    pub chainring: u32,
    /// Teeth of the sprocket.
    pub sprocket: u32,
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
        let circumference_m = self.tyre.circumference_m();
        let mut sprockets = self.sprockets.clone();
        sprockets.sort_unstable();
        sprockets.dedup();
        let mut chainrings = self.chainrings.clone();
        chainrings.sort_unstable();
        chainrings.dedup();
        let mut gears = Vec::with_capacity(chainrings.len() * sprockets.len());
        for (r, &chainring) in chainrings.iter().enumerate() {
            for (s, &sprocket) in sprockets.iter().enumerate() {
                let can_cross = chainrings.len() > 1 && sprockets.len() >= LEAST_SPROCKETS_TO_CROSS;
                let largest_two = s + CROSSED_SPROCKETS >= sprockets.len();
                let crossed = can_cross
                    && ((r + 1 == chainrings.len() && largest_two)
                        || (r == 0 && s < CROSSED_SPROCKETS));
                let development_m = circumference_m * f64::from(chainring) / f64::from(sprocket);
                gears.push(Gear {
                    chainring,
                    sprocket,
                    development_m,
                    crossed,
                });
            }
        }
        gears.sort_by(|a, b| {
            let ratio = u64::from(a.chainring) * u64::from(b.sprocket);
            let other = u64::from(b.chainring) * u64::from(a.sprocket);
            ratio.cmp(&other).then(b.chainring.cmp(&a.chainring))
        });
        gears
    }
}
