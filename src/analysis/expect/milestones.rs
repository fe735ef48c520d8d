//! The days by which cuttings of a kind that come to a milestone are expected to have: the part of the one model that a
//! comparison asks for the age from which a batch is judged. It learns nothing itself.

use super::days::Days;
use super::expected::FEWEST;
use super::groups::Groups;
use super::ready::{PlantDays, ReadyTimes};
use crate::fold::batch::Milestone;
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::stats::crossed::{ClassShifts, blended};
use crate::stats::pooling::Spot;

/// ln of the day of callus over half the middle day of rooting, and its spread (common practice: callus comes in half to
/// three quarters of the time).
pub(super) const CALLUS: (f64, f64) = (0.2, 0.25);
/// ln of that half: ratios are learnt on a grid that begins there.
pub(super) const HALF: f64 = -std::f64::consts::LN_2;

/// The days of milestones, as learnt from the journal up to a day. It holds no reference to the book.
#[derive(Clone, Debug)]
pub struct MilestoneTimes {
    pub(super) groups: Groups,
    pub(super) days: Days,
    /// By how much the days of a season are shifted, in ln days.
    pub(super) shifts: ClassShifts,
    pub(super) callus: PlantDays,
    pub(super) bottom: PlantDays,
    /// What was seen in closed replicates, by leaf and by taxon.
    pub(super) seen: [Vec<SeenClosed>; 2],
}

/// What closed replicates of a group showed.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct SeenClosed {
    pub replicates: u32,
    /// By milestone the last day since sticking by which any cutting was seen to come to it.
    pub last: [u32; 3],
}

impl SeenClosed {
    /// Counts one more replicate.
    pub fn add(&mut self, last: [u32; 3]) {
        self.replicates += 1;
        let each = self.last.iter_mut().zip(last);
        each.for_each(|(known, day)| *known = day.max(*known));
    }
}

impl MilestoneTimes {
    /// The day since sticking by which that part (0 to 1) of those cuttings of a taxon and wood stage that come to the
    /// milestone are expected to have, in a season of which nothing is known: never past the last day on which any was seen to
    /// in closed batches, since what had not come when they were cleared never will. None while too few of its taxon have
    /// ended.
    #[must_use]
    pub fn day_by(
        &self,
        taxon: &Taxon,
        wood: Option<Wood>,
        milestone: Milestone,
        part: f64,
    ) -> Option<u32> {
        let leaf = self.groups.leaf(taxon, wood)?;
        let [by_leaf, by_taxon] = &self.seen;
        let above = *self.groups.tree.up.first()?.get(leaf)?;
        let mut seen = [by_leaf.get(leaf), by_taxon.get(above)]
            .into_iter()
            .flatten();
        let seen = seen.find(|seen| seen.replicates >= FEWEST)?;
        let last = seen.last[milestone as usize];
        if last == 0 {
            return None;
        }
        let spot = Spot::Leaf(leaf);
        let later = |stage: &PlantDays, from: f64| {
            let rooting = self.days.middle_moments(spot, wood);
            let (shift, variance) = self.shifts.moments(None);
            let shift = (shift + from, variance);
            ReadyTimes::after(rooting, shift, stage.moments(spot), stage.scale).day_by(part)
        };
        let day = match milestone {
            Milestone::Callus => later(&self.callus, HALF),
            Milestone::Bottom => later(&self.bottom, 0.0),
            Milestone::Root => {
                let prior = self.days.prior(spot, wood, None);
                let places = blended(&prior, &self.shifts.chances(None, None));
                self.days.day_by(&places, part)
            }
        };
        // A day counts once it is over.
        Some((day.max(1.0).ceil() as u32).min(last))
    }
}
