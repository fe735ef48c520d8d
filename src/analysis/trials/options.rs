//! What a comparison is asked: which batches, told apart by what, within what. It compares nothing.

use crate::fold::batch::Milestone;
use crate::fold::selection::Selection;
use crate::model::filter::GroupKey;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialOptions {
    /// The batches meant.
    pub about: Selection,
    /// By what the arms differ; the trial's `arm` if empty.
    pub by: Vec<GroupKey>,
    /// Within what like is compared with like, beside the taxon and the wood stage.
    pub within: Vec<GroupKey>,
    /// For these milestones, in this order.
    pub milestones: Vec<Milestone>,
    /// Shares alone are asked: no days, and no course of the shares.
    pub only_shares: bool,
    /// Compare by this day since sticking, whether or not enough batches have ended.
    pub by_day: Option<u32>,
    /// A difference of strike worth having, as a share: 0.15.
    pub worth_strike: f64,
    /// A difference of days worth having.
    pub worth_days: f64,
    /// Confidence level, 0.95; a verdict of a difference takes p up to 1 − level.
    pub level: f64,
    /// Arrangements drawn when there are too many to look at all: 9 999.
    pub draws: usize,
    /// Seed of the draw.
    pub seed: u64,
    /// Seasons are compared whole, not to the same day of the year.
    pub whole_seasons: bool,
}

impl Default for TrialOptions {
    fn default() -> Self {
        Self {
            about: Selection::default(),
            by: Vec::new(),
            within: Vec::new(),
            milestones: vec![Milestone::Root, Milestone::Callus, Milestone::Bottom],
            only_shares: false,
            by_day: None,
            worth_strike: 0.15,
            worth_days: 7.0,
            level: 0.95,
            draws: crate::stats::permute::DRAWS,
            seed: 1,
            whole_seasons: false,
        }
    }
}

impl TrialOptions {
    /// The keys that tell the arms apart.
    #[must_use]
    pub fn split(&self) -> Vec<GroupKey> {
        match self.by.as_slice() {
            [] => vec![GroupKey::Arm],
            by => by.to_vec(),
        }
    }

    /// The keys of a stratum: taxon and wood stage, unless the arms are such, then `within`.
    #[must_use]
    pub fn strata(&self) -> Vec<GroupKey> {
        let split = self.split();
        let mut keys = vec![GroupKey::Taxon, GroupKey::Wood];
        keys.extend(&self.within);
        keys.retain(|key| !split.contains(key));
        let mut out = Vec::new();
        for key in keys {
            if !out.contains(&key) {
                out.push(key);
            }
        }
        out
    }
}
