//! Planning a trial: how many batches an arm, from the journal's own spread between batches, and which
//! tray gets which arm. It compares nothing that was stuck.

use crate::book::Book;
use crate::book::filter::GroupKey;
use crate::book::meant::{Question, meant};
use crate::book::milestone::Milestone;
use crate::figures::betafit::Cluster;
use crate::figures::dice::Dice;
use crate::figures::icc;
use crate::figures::power::{Design, Power};
use std::collections::BTreeMap;

/// No more batches an arm than this are planned.
const MOST_BATCHES: u32 = 200;

/// Trials simulated to find the power.
const TRIALS: u32 = 2_000;

/// What a trial is to find.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// The batches that it is planned from.
    pub about: Question,
    /// A difference of the share rooted worth having, as a share.
    pub worth: f64,
    /// Cuttings in a batch, at least 1.
    pub cuttings: u32,
    /// Chance of finding the difference, 0.8.
    pub power: f64,
    /// Two-sided level, 0.05.
    pub alpha: f64,
    /// Seed of the simulation.
    pub seed: u64,
}

/// How large the trial is to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Share rooted in the batches planned from.
    pub share: f64,
    /// The two arms' shares that are hardest to tell apart at the difference worth having.
    pub shares: [f64; 2],
    /// Correlation within a batch, taxon, wood, season and arm taken off.
    pub rho: f64,
    /// From so many batches.
    pub seen: usize,
    /// Cuttings in a batch.
    pub cuttings: u32,
    /// Batches an arm; none if over 200.
    pub batches: Option<u32>,
    /// The power that they have by simulation.
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
/// # Errors
/// If the journal has too little to go by, or a number asked for is out of range.
pub fn size(book: &Book, wanted: &Wanted) -> Result<Size, TooLittle> {
    let groups = groups(book, &wanted.about);
    let seen: usize = groups.iter().map(Vec::len).sum();
    let all = || groups.iter().flatten();
    let of: u32 = all().map(|it| it.of).sum();
    if of == 0 {
        return Err(TooLittle::NoBatch);
    }
    let share = f64::from(all().map(|it| it.reached).sum::<u32>()) / f64::from(of);
    let rho = icc::within_groups(&groups).ok_or(TooLittle::NoSpread)?;
    let rho = rho.clamp(0.0, 1.0);
    let other = if share > 0.5 {
        share - wanted.worth
    } else {
        share + wanted.worth
    };
    let shares = [share, other.clamp(0.0, 1.0)];
    let design = Design::new(shares, rho, wanted.cuttings).map_err(|_| TooLittle::OutOfRange)?;
    let found = enough(&design, wanted);
    Ok(Size {
        share,
        shares,
        rho,
        seen,
        cuttings: wanted.cuttings,
        batches: found.map(|(batches, _)| batches),
        power: found.map(|(_, power)| power),
    })
}

/// By the formula first, then up until the simulation agrees.
fn enough(design: &Design, wanted: &Wanted) -> Option<(u32, Power)> {
    let first = design.batches_needed(wanted.power, wanted.alpha, MOST_BATCHES)?;
    let tried = (first..=MOST_BATCHES).map(|batches| {
        let power = design.simulate(batches, wanted.alpha, TRIALS, wanted.seed);
        (batches, power)
    });
    tried
        .into_iter()
        .find(|(_, power)| power.value >= wanted.power)
}

/// Rooted of those stuck, batch by batch, alike ones together.
fn groups(book: &Book, about: &Question) -> Vec<Vec<Cluster>> {
    const ALIKE: [GroupKey; 5] = [
        GroupKey::Taxon,
        GroupKey::Wood,
        GroupKey::Season,
        GroupKey::Trial,
        GroupKey::Arm,
    ];
    let (counted, _) = meant(book, about);
    let mut groups: BTreeMap<Vec<Option<String>>, Vec<Cluster>> = BTreeMap::new();
    for it in counted.iter().filter(|it| it.account.is_closed()) {
        let root = it.account.of(Milestone::Root);
        let of = it.account.stuck;
        let reached = (root.reached.round() as u32).min(of);
        let alike = ALIKE.map(|key| key.of_batch(book, it.batch));
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

/// Which tray gets which arm: every place holds each arm equally often, as far as the number of
/// batches goes, in an order drawn by `seed`. Batches that do not go up into the places are dealt to
/// the first of them.
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
        let mut order: Vec<&String> = (0..rounds).flat_map(|_| arms).collect();
        dice.shuffle(&mut order);
        out.extend(order.into_iter().zip(1..).map(|(arm, spot)| Tray {
            place: place.clone(),
            spot,
            arm: arm.clone(),
        }));
    }
    out
}
