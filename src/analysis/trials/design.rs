//! Planning a trial: how many batches an arm, from the journal's own spread between batches, and which
//! tray gets which arm. It compares nothing that was stuck.

use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::selection::{Selection, select};
use crate::model::filter::GroupKey;
use crate::stats::clusters;
use crate::stats::clusters::Cluster;
use crate::stats::dice::Dice;
use crate::stats::power::{Assurance, EstimatedSpread, OpenDesigns, Power};
use std::collections::BTreeMap;

/// No more batches an arm than this are planned.
const MOST_BATCHES: u32 = 200;

/// No more arms than this: their pairs share the level, and more arms would leave too little of it.
pub const MOST_ARMS: u32 = 8;

/// Trials simulated to find the power.
const TRIALS: u32 = 1_000;

/// What a trial is to find.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialWanted {
    /// The batches that it is planned from.
    pub about: Selection,
    /// A difference of the share rooted worth having, as a share.
    pub worth: f64,
    /// Arms, 2 to [`MOST_ARMS`].
    pub arms: u32,
    /// Cuttings in a batch, at least 1.
    pub cuttings: u32,
    /// Chance of finding the difference, averaged over what share and correlation may be: 0.8.
    pub power: f64,
    /// Two-sided level over all pairs of arms, 0.05.
    pub alpha: f64,
    /// Seed of the simulation.
    pub seed: u64,
}

/// How large the trial is to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlannedSize {
    /// Share rooted in the batches planned from.
    pub share: f64,
    /// The two arms' shares that are hardest to tell apart at the difference worth having.
    pub shares: [f64; 2],
    /// Correlation within a batch, taxon, wood, season and arm taken off.
    pub rho: f64,
    /// How many batches it was estimated from.
    pub seen: usize,
    /// Pairs of arms, which share the level.
    pub pairs: u32,
    /// Cuttings in a batch.
    pub cuttings: u32,
    /// Batches an arm; none if over 200.
    pub batches: Option<u32>,
    /// The power that they have by simulation, averaged over what share and correlation may be.
    pub power: Option<Power>,
}

/// Why no size can be given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TooLittle {
    /// No batch meant was looked at.
    NoBatch,
    /// No two batches of one taxon, wood and season tell how batches differ.
    NoSpread,
    /// A number asked for is out of range.
    OutOfRange,
}

/// The size of a trial, from the journal's own spread.
///
/// With more than two arms each pair is planned at the level divided by the number of pairs (Bonferroni's
/// share, the first step of Holm 1979, *Scandinavian Journal of Statistics* 6:65), so that a pair that
/// differs is found with at least that power whatever the others do.
///
/// # Errors
/// If the journal has too little to go by, or a number asked for is out of range.
pub fn size(book: &Book, wanted: &TrialWanted) -> Result<PlannedSize, TooLittle> {
    if !(2..=MOST_ARMS).contains(&wanted.arms) {
        return Err(TooLittle::OutOfRange);
    }
    let pairs = wanted.arms * (wanted.arms - 1) / 2;
    let groups = groups(book, &wanted.about);
    let seen: usize = groups.iter().map(Vec::len).sum();
    let all = || groups.iter().flatten();
    let of: u32 = all().map(|it| it.of).sum();
    if of == 0 {
        return Err(TooLittle::NoBatch);
    }
    let share = f64::from(all().map(|it| it.reached).sum::<u32>()) / f64::from(of);
    let rho = clusters::within_groups(&groups).ok_or(TooLittle::NoSpread)?;
    let rho = rho.clamp(0.0, 1.0);
    let other = if share > 0.5 {
        share - wanted.worth
    } else {
        share + wanted.worth
    };
    let shares = [share, other.clamp(0.0, 1.0)];
    let tell = groups.iter().filter(|group| group.len() > 1);
    let spread = EstimatedSpread {
        value: rho,
        freedom: tell.map(|group| group.len() as f64 - 1.0).sum(),
    };
    let designs =
        OpenDesigns::new(shares, spread, wanted.cuttings).map_err(|_| TooLittle::OutOfRange)?;
    let found = enough(&designs, wanted, wanted.alpha / f64::from(pairs));
    Ok(PlannedSize {
        share,
        shares,
        rho,
        seen,
        pairs,
        cuttings: wanted.cuttings,
        batches: found.map(|(batches, _)| batches),
        power: found.map(|(_, power)| power),
    })
}

/// By the formula first, then up until the simulation agrees.
fn enough(designs: &OpenDesigns, wanted: &TrialWanted, alpha: f64) -> Option<(u32, Power)> {
    let assurance = Assurance {
        power: wanted.power,
        alpha,
        limit: MOST_BATCHES,
    };
    let first = assurance.fewest(|batches| designs.power(batches, alpha))?;
    let mut tried = (first..=MOST_BATCHES).map(|batches| {
        let power = designs.simulate(batches, alpha, TRIALS, wanted.seed);
        (batches, power)
    });
    tried.find(|(_, power)| power.value >= wanted.power)
}

/// Rooted of those stuck, batch by batch, alike ones together.
fn groups(book: &Book, about: &Selection) -> Vec<Vec<Cluster>> {
    const ALIKE: [GroupKey; 5] = [
        GroupKey::Taxon,
        GroupKey::Wood,
        GroupKey::Season,
        GroupKey::Trial,
        GroupKey::Arm,
    ];
    let (counted, _) = select(book, about);
    let mut groups: BTreeMap<Vec<Option<String>>, Vec<Cluster>> = BTreeMap::new();
    for it in counted.iter().filter(|it| it.account.is_closed()) {
        let root = it.account.milestone(Milestone::Root);
        let of = it.account.stuck;
        let reached = (root.reached.round() as u32).min(of);
        let alike = ALIKE.map(|key| key.value_for(book, it.batch));
        let group = groups.entry(alike.to_vec()).or_default();
        group.push(Cluster { reached, of });
    }
    groups.into_values().collect()
}

/// A tray of the layout.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tray {
    /// Its place; none if no place was named.
    pub place: Option<String>,
    /// Its spot there, from 1.
    pub spot: u32,
    /// Its arm.
    pub arm: String,
}

/// Which tray gets which arm, in randomised complete blocks (Fisher 1935, *The Design of Experiments*;
/// Cochran & Cox 1957, *Experimental Designs*, chapter 4): at every place one tray of each arm, in an
/// order drawn by `seed`, then another of each, and so on. So each arm is spread along the bench, whatever
/// differs from one end to the other, and no arm stands more than twice in a row. The places hold each arm
/// equally often, as far as the number of batches goes; what does not go up into the places is dealt to
/// the first of them. A comparison that takes no account of the blocks errs on the safe side: what differs
/// between blocks widens its arrangements, not the difference of the arms.
#[must_use]
pub fn layout(arms: &[String], batches: u32, places: &[String], seed: u64) -> Vec<Tray> {
    let mut dice = Dice::new(seed);
    let blocks: Vec<Option<String>> = match places {
        [] => vec![None],
        places => places.iter().cloned().map(Some).collect(),
    };
    let (each, over) = (batches / blocks.len() as u32, batches % blocks.len() as u32);
    let mut out = Vec::new();
    for (place, block) in blocks.iter().zip(0u32..) {
        let rounds = each + u32::from(block < over);
        let mut order: Vec<&String> = Vec::new();
        for _ in 0..rounds {
            let mut round: Vec<&String> = arms.iter().collect();
            dice.shuffle(&mut round);
            order.extend(round);
        }
        out.extend(order.into_iter().zip(1..).map(|(arm, spot)| Tray {
            place: place.clone(),
            spot,
            arm: arm.clone(),
        }));
    }
    out
}
