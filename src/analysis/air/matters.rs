//! Whether the air went with what became of the cuttings: strike and losses by cause against the VPD and the medium
//! warmth that batches lived in. An association, never a cause; too few is undecided.
//!
//! Batches are set beside others of their taxon, wood stage and season. Places are the replicates: what one place does
//! to all its batches is one thing seen once, whatever of it is the air. So each place has the mean of how far its
//! batches lay from their likes, in air and in outcome, and places are permuted whole.

use super::lived::{PlaceAirs, USUAL_BASE_C, kind};
use crate::fold::batch::Milestone;
use crate::fold::past::last_day;
use crate::fold::selection::{IncludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use crate::model::listed::Cause;
use crate::stats::association::{Association, association};
use crate::stats::bootstrap::Resampling;
use crate::stats::permute::holm;
use chrono::Days;
use std::collections::{BTreeMap, BTreeSet};

/// Least share of the days looked at that must have a reading.
pub const LEAST_READ: f64 = 0.25;
/// Fewest places for a verdict: of four the clearest order has p 2/24.
pub const FEWEST: usize = 5;
/// Level of a verdict.
pub const LEVEL: f64 = 0.05;

/// What is asked: which batches, over how many days, and how they are resampled.
#[derive(Clone, Debug)]
pub struct TieQuestion {
    /// The batches meant.
    pub question: Selection,
    /// Days from sticking over which the air is taken.
    pub days: u32,
    /// Resamples, seed and level.
    pub how: Resampling,
    /// Permutations.
    pub draws: usize,
}

/// A measure of what a batch lived in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AirMeasure {
    /// Mean vapour pressure deficit.
    Vpd,
    /// Mean warmth of the medium.
    Medium,
}

impl AirMeasure {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Vpd, Self::Medium];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Vpd => "vpd",
            Self::Medium => "medium",
        }
    }

    /// The step for which its slope is given: 0.1 kPa, 1 °C.
    #[must_use]
    pub fn step(self) -> f64 {
        match self {
            Self::Vpd => 0.1,
            Self::Medium => 1.0,
        }
    }
}

/// What became of the cuttings, as a share of those stuck.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FateMeasure {
    /// Rooted.
    Strike,
    /// Lost on the bench, whatever the cause.
    Lost,
    /// Lost to a cause.
    To(Cause),
}

impl FateMeasure {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Strike => "rooted",
            Self::Lost => "lost",
            Self::To(cause) => cause.word(),
        }
    }
}

/// What the figures support.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TieVerdict {
    /// More of the outcome where the measure was higher.
    More,
    /// Less of it.
    Less,
    /// Neither is established.
    Undecided,
    /// Too few to say either.
    TooFew,
}

impl TieVerdict {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::More => "more",
            Self::Less => "less",
            Self::Undecided => "undecided",
            Self::TooFew => "too-few",
        }
    }
}

/// One measure against one outcome.
#[derive(Clone, Debug)]
pub struct AirTie {
    /// The measure.
    pub measure: AirMeasure,
    /// The outcome.
    pub outcome: FateMeasure,
    /// The figures; none where a measure or an outcome never varied.
    pub figures: Option<Association>,
    /// p corrected for all ties tested at once (Holm 1979).
    pub holm: f64,
    /// The verdict.
    pub verdict: TieVerdict,
}

/// The batches of one place, taxon, wood stage and season, with their air and their fate.
#[derive(Clone, Debug)]
struct Unit {
    place: String,
    stratum: String,
    stuck: f64,
    rooted: f64,
    lost: BTreeMap<usize, f64>,
    /// Sums of the means weighted by cuttings, and the cuttings.
    vpd: (f64, f64),
    medium: (f64, f64),
}

/// All ties, and who was left out.
#[derive(Clone, Debug)]
pub struct AirTies {
    /// The ties, by measure and outcome.
    pub ties: Vec<AirTie>,
    /// Places with any air, which are the replicates.
    pub places: usize,
    /// Batches still open, whose fate is not known yet.
    pub open: usize,
    /// Batches with too few readings over these days.
    pub unread: usize,
    /// Batches left out of all figures.
    pub skipped: usize,
}

/// Sets strike and losses against the air.
#[must_use]
pub fn matters(airs: &mut PlaceAirs<'_>, ask: &TieQuestion) -> AirTies {
    let (counted, skipped) = select(airs.book(), &ask.question);
    let mut units: BTreeMap<(String, String), Unit> = BTreeMap::new();
    let (mut open, mut unread) = (0, 0);
    for one in &counted {
        if !one.account.is_closed() {
            open += 1;
        } else if !take(airs, one, ask, &mut units) {
            unread += 1;
        }
    }
    let units: Vec<Unit> = units.into_values().collect();
    let mut ties: Vec<AirTie> = Vec::new();
    for measure in AirMeasure::ALL {
        for outcome in outcomes(&units) {
            ties.push(tie(&units, measure, outcome, ask));
        }
    }
    correct(&mut ties);
    AirTies {
        ties,
        places: units
            .iter()
            .map(|unit| &unit.place)
            .collect::<BTreeSet<_>>()
            .len(),
        open,
        unread,
        skipped: skipped.len(),
    }
}

/// Strike, all losses, and each cause that took anything.
fn outcomes(units: &[Unit]) -> Vec<FateMeasure> {
    let mut out = vec![FateMeasure::Strike, FateMeasure::Lost];
    for (at, cause) in Cause::ALL.iter().enumerate() {
        if units
            .iter()
            .any(|unit| unit.lost.get(&at).is_some_and(|n| *n > 0.0))
        {
            out.push(FateMeasure::To(*cause));
        }
    }
    out
}

/// Adds a batch to its like at its place; false if its air is not known well enough.
fn take(
    airs: &mut PlaceAirs<'_>,
    one: &IncludedBatch<'_>,
    ask: &TieQuestion,
    units: &mut BTreeMap<(String, String), Unit>,
) -> bool {
    let batch = one.batch;
    let until = batch.stuck_on + Days::new(u64::from(ask.days.max(1)) - 1);
    let until = until.min(last_day(batch, until));
    let lived = airs.lived(batch, until, USUAL_BASE_C);
    if f64::from(lived.read) < LEAST_READ * f64::from(lived.days) {
        return false;
    }
    let stuck = f64::from(one.account.stuck);
    let book = airs.book();
    // Where it stood at first; one without a place has no air.
    let place = GroupKey::Place.value_for(book, batch).unwrap_or_default();
    let stratum = format!("{}\n{}", kind(book, batch), book.season(batch.stuck_on));
    let like = (place.clone(), stratum.clone());
    let unit = units.entry(like).or_insert_with(|| Unit {
        place,
        stratum,
        stuck: 0.0,
        rooted: 0.0,
        lost: BTreeMap::new(),
        vpd: (0.0, 0.0),
        medium: (0.0, 0.0),
    });
    unit.stuck += stuck;
    unit.rooted += one.account.milestone(Milestone::Root).reached;
    for (at, cause) in Cause::ALL.iter().enumerate() {
        let lost = f64::from(batch.counts.lost.count(*cause));
        *unit.lost.entry(at).or_default() += lost;
    }
    let add = |sum: &mut (f64, f64), value: Option<f64>| {
        if let Some(value) = value {
            *sum = (sum.0 + value * stuck, sum.1 + stuck);
        }
    };
    add(&mut unit.vpd, lived.air.vpd_kpa.value());
    add(&mut unit.medium, lived.air.medium_c.value());
    true
}

fn tie(units: &[Unit], measure: AirMeasure, outcome: FateMeasure, ask: &TieQuestion) -> AirTie {
    let mut strata: BTreeMap<&str, Vec<Likeness>> = BTreeMap::new();
    for unit in units {
        let (sum, weight) = match measure {
            AirMeasure::Vpd => unit.vpd,
            AirMeasure::Medium => unit.medium,
        };
        let count = match outcome {
            FateMeasure::Strike => unit.rooted,
            FateMeasure::Lost => unit.lost.values().sum(),
            FateMeasure::To(cause) => {
                let at = Cause::ALL.iter().position(|each| *each == cause);
                at.and_then(|at| unit.lost.get(&at)).copied().unwrap_or(0.0)
            }
        };
        if weight > 0.0 && unit.stuck > 0.0 {
            strata.entry(&unit.stratum).or_default().push(Likeness {
                place: &unit.place,
                air: sum / weight,
                outcome: count / unit.stuck,
                weight: unit.stuck,
            });
        }
    }
    let places = by_place(strata.values());
    AirTie {
        measure,
        outcome,
        figures: association(&[places], &ask.how, ask.draws),
        holm: 1.0,
        verdict: TieVerdict::TooFew,
    }
}

/// What one place's batches of a kind and season lived in and came to.
struct Likeness<'u> {
    place: &'u str,
    air: f64,
    outcome: f64,
    weight: f64,
}

/// For each place the means of how far its batches lay from the mean of their likes, in air and in outcome. Likes that
/// stood at one place alone say nothing.
fn by_place<'u>(strata: impl Iterator<Item = &'u Vec<Likeness<'u>>>) -> Vec<(f64, f64)> {
    let mut places: BTreeMap<&str, [f64; 3]> = BTreeMap::new();
    for likes in strata.filter(|likes| likes.len() > 1) {
        let whole: f64 = likes.iter().map(|it| it.weight).sum();
        let mean = |of: fn(&Likeness) -> f64| {
            likes.iter().map(|it| it.weight * of(it)).sum::<f64>() / whole
        };
        let (air, outcome) = (mean(|it| it.air), mean(|it| it.outcome));
        for it in likes {
            let [sum_air, sum_outcome, weight] = places.entry(it.place).or_default();
            *sum_air += it.weight * (it.air - air);
            *sum_outcome += it.weight * (it.outcome - outcome);
            *weight += it.weight;
        }
    }
    let means = places.into_values();
    means
        .map(|[air, outcome, weight]| (steady(air / weight), steady(outcome / weight)))
        .collect()
}

/// Without the last digits, which differ by the order of adding up and would part equal ranks.
fn steady(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

/// Corrects p for the number of ties and gives each its verdict, the first that holds: too few if there are
/// fewer than [`FEWEST`] places or no p could be small enough; more or less if the corrected p is at most
/// 0.05 and the correlation's interval excludes 0; else undecided.
fn correct(ties: &mut [AirTie]) {
    let ps: Vec<f64> = ties.iter().filter_map(|t| t.figures.map(|f| f.p)).collect();
    let mut corrected = holm(&ps).into_iter();
    for tie in ties {
        let Some(figures) = &tie.figures else {
            continue;
        };
        tie.holm = corrected.next().unwrap_or(1.0);
        let clear = figures
            .rho_interval
            .is_some_and(|ends| ends.low > 0.0 || ends.high < 0.0);
        tie.verdict = if figures.pairs < FEWEST || figures.smallest_p > LEVEL {
            TieVerdict::TooFew
        } else if tie.holm > LEVEL || !clear {
            TieVerdict::Undecided
        } else if figures.rho > 0.0 {
            TieVerdict::More
        } else {
            TieVerdict::Less
        };
    }
}
