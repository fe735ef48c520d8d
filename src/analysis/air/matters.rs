//! Whether the air went with what became of the cuttings: strike and losses by cause against the VPD and the medium
//! warmth that batches lived in. An association within taxon and wood stage, never a cause; too few is undecided.

use super::lived::{PlaceAirs, USUAL_BASE_C, kind};
use crate::fold::batch::Milestone;
use crate::fold::past::last_day;
use crate::fold::selection::{IncludedBatch, Selection, select};
use crate::model::id::Id;
use crate::model::listed::Cause;
use crate::stats::association::{Association, association};
use crate::stats::bootstrap::Resampling;
use crate::stats::permute::holm;
use chrono::Days;
use std::collections::BTreeMap;

/// Least share of the days looked at that must have a reading.
pub const LEAST_READ: f64 = 0.25;
/// Fewest replicates, in strata of two and more, for a verdict.
pub const FEWEST: usize = 8;
/// Level of a verdict.
pub const LEVEL: f64 = 0.05;

/// How to ask.
#[derive(Clone, Debug)]
pub struct Ask {
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
pub enum Measure {
    /// Mean vapour pressure deficit.
    Vpd,
    /// Mean warmth of the medium.
    Medium,
}

impl Measure {
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

    /// The step by which its slope is told: 0.1 kPa, 1 °C.
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
pub enum Outcome {
    /// Rooted.
    Strike,
    /// Lost on the bench, whatever the cause.
    Lost,
    /// Lost to a cause.
    To(Cause),
}

impl Outcome {
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
pub enum Verdict {
    /// More of the outcome where the measure was higher.
    More,
    /// Less of it.
    Less,
    /// Neither can be said.
    Undecided,
    /// Too few to say either.
    TooFew,
}

impl Verdict {
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
pub struct Tie {
    /// The measure.
    pub measure: Measure,
    /// The outcome.
    pub outcome: Outcome,
    /// The figures; none where a measure or an outcome never varied.
    pub figures: Option<Association>,
    /// p corrected for all ties told at once (Holm 1979).
    pub holm: f64,
    /// The verdict.
    pub verdict: Verdict,
}

/// A replicate with its air and its fate.
#[derive(Clone, Debug)]
struct Unit {
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
pub struct Matters {
    /// The ties, by measure and outcome.
    pub ties: Vec<Tie>,
    /// Replicates with any air.
    pub replicates: usize,
    /// Batches still open, whose fate is not known yet.
    pub open: usize,
    /// Batches with too few readings over these days.
    pub unread: usize,
    /// Batches left out of all figures.
    pub skipped: usize,
}

/// Sets strike and losses against the air.
#[must_use]
pub fn matters(airs: &mut PlaceAirs<'_>, ask: &Ask) -> Matters {
    let (counted, skipped) = select(airs.book(), &ask.question);
    let mut units: BTreeMap<Id, Unit> = BTreeMap::new();
    let (mut open, mut unread) = (0, 0);
    for one in &counted {
        if !one.account.is_closed() {
            open += 1;
        } else if !take(airs, one, ask, &mut units) {
            unread += 1;
        }
    }
    let units: Vec<Unit> = units.into_values().collect();
    let mut ties: Vec<Tie> = Vec::new();
    for measure in Measure::ALL {
        for outcome in outcomes(&units) {
            ties.push(tie(&units, measure, outcome, ask));
        }
    }
    correct(&mut ties);
    Matters {
        ties,
        replicates: units.len(),
        open,
        unread,
        skipped: skipped.len(),
    }
}

/// Strike, all losses, and each cause that took anything.
fn outcomes(units: &[Unit]) -> Vec<Outcome> {
    let mut out = vec![Outcome::Strike, Outcome::Lost];
    for (at, cause) in Cause::ALL.iter().enumerate() {
        if units
            .iter()
            .any(|unit| unit.lost.get(&at).is_some_and(|n| *n > 0.0))
        {
            out.push(Outcome::To(*cause));
        }
    }
    out
}

/// Adds a batch to its replicate; false if its air is not known well enough.
fn take(
    airs: &mut PlaceAirs<'_>,
    one: &IncludedBatch<'_>,
    ask: &Ask,
    units: &mut BTreeMap<Id, Unit>,
) -> bool {
    let batch = one.batch;
    let until = batch.stuck_on + Days::new(u64::from(ask.days.max(1)) - 1);
    let until = until.min(last_day(batch, until));
    let lived = airs.lived(batch, until, USUAL_BASE_C);
    if f64::from(lived.read) < LEAST_READ * f64::from(lived.days) {
        return false;
    }
    let stuck = f64::from(one.account.stuck);
    let unit = units.entry(one.replicate.clone()).or_insert_with(|| Unit {
        stratum: kind(airs.book(), batch),
        stuck: 0.0,
        rooted: 0.0,
        lost: BTreeMap::new(),
        vpd: (0.0, 0.0),
        medium: (0.0, 0.0),
    });
    unit.stuck += stuck;
    unit.rooted += one.account.of(Milestone::Root).reached;
    for (at, cause) in Cause::ALL.iter().enumerate() {
        let lost = f64::from(batch.counts.lost.of(*cause));
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

fn tie(units: &[Unit], measure: Measure, outcome: Outcome, ask: &Ask) -> Tie {
    let mut strata: BTreeMap<&str, Vec<(f64, f64)>> = BTreeMap::new();
    for unit in units {
        let (sum, weight) = match measure {
            Measure::Vpd => unit.vpd,
            Measure::Medium => unit.medium,
        };
        let count = match outcome {
            Outcome::Strike => unit.rooted,
            Outcome::Lost => unit.lost.values().sum(),
            Outcome::To(cause) => {
                let at = Cause::ALL.iter().position(|each| *each == cause);
                at.and_then(|at| unit.lost.get(&at)).copied().unwrap_or(0.0)
            }
        };
        if weight > 0.0 && unit.stuck > 0.0 {
            let pair = (steady(sum / weight), steady(count / unit.stuck));
            strata.entry(&unit.stratum).or_default().push(pair);
        }
    }
    let strata: Vec<Vec<(f64, f64)>> = strata.into_values().collect();
    Tie {
        measure,
        outcome,
        figures: association(&strata, &ask.how, ask.draws),
        holm: 1.0,
        verdict: Verdict::TooFew,
    }
}

/// Without the last digits, which differ by the order of adding up and would part equal ranks.
fn steady(value: f64) -> f64 {
    (value * 1e9).round() / 1e9
}

/// Corrects p for the number of ties and gives each its verdict, the first that holds: too few if there are
/// fewer than [`FEWEST`] replicates or no p could be small enough; more or less if the corrected p is at most
/// 0.05 and the correlation's interval excludes 0; else undecided.
fn correct(ties: &mut [Tie]) {
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
            Verdict::TooFew
        } else if tie.holm > LEVEL || !clear {
            Verdict::Undecided
        } else if figures.rho > 0.0 {
            Verdict::More
        } else {
            Verdict::Less
        };
    }
}
