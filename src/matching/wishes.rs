//! What the rider wants of a plan besides the set.

use super::candidates::Candidate;
use crate::climbs::{Climb, Climbs};
use crate::ride::Pacing;

/// What a plan may do and must keep to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wishes {
    /// Whether the rider may turn round after a rep and roll back down the same ascent.
    pub turn_round: bool,
    /// Reps (from 1 over all blocks) with the number of the climb that each must be ridden on.
    pub keep: Vec<(usize, usize)>,
    /// Numbers of the climbs that are left alone.
    pub avoid: Vec<usize>,
    /// What the rider holds in a rep.
    pub pacing: Pacing,
}

/// A rep or a climb that is wished for and not there.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WishError {
    /// No such climb.
    #[error("there is no climb {climb} on the route; {known}")]
    NoClimb {
        /// The number asked for.
        climb: usize,
        /// Which ones there are, in words.
        known: String,
    },
    /// A rep can be ridden only once.
    #[error("rep {rep} is kept on two climbs, {first} and {second}; keep it on one")]
    TwoClimbs {
        /// The rep's number.
        rep: usize,
        /// One of the climbs.
        first: usize,
        /// The other one.
        second: usize,
    },
    /// A climb is both kept and avoided.
    #[error("rep {rep} is kept on climb {climb}, which is to be avoided; leave out one of the two")]
    KeptAndAvoided {
        /// The rep's number.
        rep: usize,
        /// The climb's number.
        climb: usize,
    },
    /// No such rep.
    #[error("there is no rep {rep} in the set; it has reps 1 to {last}")]
    NoRep {
        /// The number asked for.
        rep: usize,
        /// The last rep's number.
        last: usize,
    },
}

impl Wishes {
    /// Whether the climbs and reps that are named exist.
    ///
    /// # Errors
    /// [`WishError`] for the first that doesn't.
    pub fn check(&self, climbs: &Climbs, reps: usize) -> Result<(), WishError> {
        for (i, &(rep, climb)) in self.keep.iter().enumerate() {
            if rep == 0 || rep > reps {
                return Err(WishError::NoRep { rep, last: reps });
            }
            if let Some(&(_, first)) = self.keep[..i].iter().find(|k| k.0 == rep && k.1 != climb) {
                let second = climb;
                return Err(WishError::TwoClimbs { rep, first, second });
            }
            if self.avoid.contains(&climb) {
                return Err(WishError::KeptAndAvoided { rep, climb });
            }
        }
        for climb in self
            .keep
            .iter()
            .map(|k| k.1)
            .chain(self.avoid.iter().copied())
        {
            if !climbs.climbs.iter().any(|c| c.id == climb) {
                let known = match climbs.climbs.iter().map(|c| c.id).max() {
                    Some(last) if last > 1 => format!("it has climbs 1 to {last}"),
                    Some(_) => "it has climb 1 alone".to_owned(),
                    None => "it has none".to_owned(),
                };
                return Err(WishError::NoClimb { climb, known });
            }
        }
        Ok(())
    }
}

/// Less of a climb than this is not ridden on it, in metres: three steps of the profile.
const LEAST_OVERLAP_M: f64 = 30.0;

/// The climbs that a stretch of road (from, to, in metres) lies on, the one with most of it first.
pub(super) fn climbs_under(climbs: &[Climb], from_m: f64, to_m: f64) -> Vec<usize> {
    let first = climbs.partition_point(|c| c.to_m <= from_m);
    let mut under: Vec<(f64, usize)> = climbs[first..]
        .iter()
        .take_while(|c| c.from_m < to_m)
        .map(|c| (c.to_m.min(to_m) - c.from_m.max(from_m), c.id))
        .filter(|(overlap_m, _)| *overlap_m > LEAST_OVERLAP_M)
        .collect();
    under.sort_by(|a, b| b.0.total_cmp(&a.0));
    under.into_iter().map(|(_, id)| id).collect()
}

/// The same for a candidate.
pub(super) fn climbs_of(climbs: &[Climb], candidate: &Candidate) -> Vec<usize> {
    climbs_under(climbs, candidate.start_m, candidate.end_m)
}
