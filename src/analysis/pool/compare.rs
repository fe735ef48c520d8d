//! Two or more ways side by side over a pool, each nursery's batches compared with that nursery's own. It words nothing.
//!
//! With six nurseries or more in which two arms meet, nurseries are what varies: each brings one difference, weighing as a
//! Mantel–Haenszel difference does, and p is by turning nurseries' differences round. With fewer, batches within
//! nurseries are permuted, and the answer is of these nurseries alone.

use super::compare_rows::{CompareBatch, CompareRows, PoolCompareOptions};
use super::parts::UncountedPart;
use super::row::PUBLISHED_KEYS;
use super::store::PoolSums;
use super::synonyms::{Synonym, SynonymConflict};
use crate::analysis::trials::answer::{Difference, Fact, PermutationTest, VerdictKind};
use crate::analysis::trials::{
    FACT_DRAWS, Levels, NAMED, VerdictRule, correct, every_two, inverted, numbered, permutation,
    verdict_kind,
};
use crate::fold::batch::Milestone;
use crate::model::filter::GroupKey;
use crate::stats::arrange::ALL_UP_TO;
use crate::stats::association::{Membership, cramers_v};
use crate::stats::permute::{DRAWS, Draw, Replicate, Studentised};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Nurseries from which they are what varies: with fewer no p could be small enough.
const FEWEST_NURSERIES: usize = 6;

/// What was compared, and what was not.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledComparison {
    /// The milestone.
    pub milestone: Milestone,
    /// How large the pool is.
    #[serde(flatten)]
    pub sums: PoolSums,
    /// The arms.
    pub arms: Vec<PooledArm>,
    /// Every two arms that meet in a nursery.
    pub pairs: Vec<PooledPair>,
    /// Batches that do not count, by reason.
    pub left_out: BTreeMap<&'static str, usize>,
    /// Facts that a journal's own comparison tries and published rows do not say.
    pub not_tried: Vec<Fact>,
    /// Names counted under another.
    pub synonyms: Vec<Synonym>,
    /// Names that nurseries take for different taxa.
    pub conflicts: Vec<SynonymConflict>,
    /// Parts that do not count.
    pub uncounted: Vec<UncountedPart>,
}

/// An arm.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledArm {
    /// Its name.
    pub name: String,
    /// Nurseries with batches that count.
    pub nurseries: usize,
    /// Such batches.
    pub batches: usize,
    /// Cuttings that count.
    pub counted: f64,
    /// The share of them that reached the milestone, 0 to 1, nurseries not evened out.
    pub share: Option<f64>,
}

/// What varies in a comparison.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum PairBasis {
    /// Nurseries: the answer is of nurseries like these.
    Nurseries,
    /// Batches within nurseries: the answer is of these nurseries alone.
    Batches,
}

/// Two arms within nurseries.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PooledPair {
    /// Their numbers.
    pub arms: [usize; 2],
    /// Their names.
    pub names: [String; 2],
    /// Nurseries in which they meet.
    pub nurseries: usize,
    /// Batches there, by arm.
    pub batches: [usize; 2],
    /// What varies.
    pub basis: PairBasis,
    /// The first less the second, within nurseries.
    pub difference: Option<Difference>,
    /// Its test.
    pub permutation: Option<PermutationTest>,
    /// What the figures support.
    pub verdict: VerdictKind,
    /// For 'no larger than': the far end.
    pub at_most: Option<f64>,
    /// Facts that go with the arms within nurseries.
    pub also_differ: Vec<AlsoDiffers>,
}

/// A fact that goes with two arms.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AlsoDiffers {
    /// The fact.
    pub key: GroupKey,
    /// 0 where it does not go with them, 1 where each has a value of its own.
    pub v: f64,
    /// By permuting the fact.
    pub p: f64,
}

/// Facts that a journal's own comparison tries and that are not published.
const NOT_PUBLISHED: [Fact; 4] = [
    Fact::Container,
    Fact::Key(GroupKey::Source),
    Fact::Key(GroupKey::Place),
    Fact::Key(GroupKey::Month),
];

/// Compares arms over what was published; `short` are parts that never became whole.
#[must_use]
pub fn pooled_comparison(
    mut rows: CompareRows,
    short: Vec<UncountedPart>,
    options: &PoolCompareOptions,
) -> PooledComparison {
    let mut uncounted = short;
    uncounted.extend(rows.take_out_versions());
    uncounted.sort();
    let sums = rows.sums();
    let judged = rows.judged(options);
    let arms = judged.arms.len();
    let met = every_two(arms).map(|arms| (arms, meeting(&judged.batches, arms)));
    let met: Vec<_> = met.filter(|(_, meeting)| !meeting.is_empty()).collect();
    let levels = Levels::among(met.len(), options.level);
    let pairs = met.iter();
    let mut pairs: Vec<PooledPair> = pairs
        .map(|(arms, meeting)| pair(meeting, *arms, &judged.arms, options, levels))
        .collect();
    judge(&mut pairs, options);
    PooledComparison {
        milestone: options.milestone,
        sums,
        arms: (0..arms)
            .map(|at| arm(&judged.batches, at, &judged.arms))
            .collect(),
        pairs,
        left_out: judged.left_out,
        not_tried: NOT_PUBLISHED.to_vec(),
        synonyms: judged.synonyms.used,
        conflicts: judged.synonyms.conflicts,
        uncounted,
    }
}

fn arm(batches: &[CompareBatch], at: usize, names: &[String]) -> PooledArm {
    let mine = || batches.iter().filter(|it| it.arm == at);
    let counted: f64 = mine().map(|it| it.n).sum();
    let x: f64 = mine().map(|it| it.x).sum();
    PooledArm {
        name: names[at].clone(),
        nurseries: mine().map(|it| it.nursery).collect::<BTreeSet<_>>().len(),
        batches: mine().count(),
        counted,
        share: (counted > 0.0).then(|| x / counted),
    }
}

/// The batches of two arms in strata where both are.
fn meeting(batches: &[CompareBatch], arms: [usize; 2]) -> Vec<&CompareBatch> {
    let mine = || batches.iter().filter(|it| arms.contains(&it.arm));
    let mut met: BTreeMap<usize, [bool; 2]> = BTreeMap::new();
    for it in mine() {
        met.entry(it.stratum).or_default()[usize::from(it.arm == arms[1])] = true;
    }
    mine()
        .filter(|it| met.get(&it.stratum) == Some(&[true, true]))
        .collect()
}

/// The replicates of each stratum, in order of nursery and number.
fn strata(meeting: &[&CompareBatch], arms: [usize; 2]) -> BTreeMap<usize, Vec<Replicate>> {
    let mut replicates: BTreeMap<(usize, u32, u8), Replicate> = BTreeMap::new();
    for it in meeting {
        let arm = u8::from(it.arm == arms[1]);
        let place = (it.stratum, it.replicate, arm);
        let own = replicates.entry(place).or_insert(Replicate {
            arm,
            sum: 0.0,
            weight: 0.0,
        });
        own.sum += it.x;
        own.weight += it.n;
    }
    let mut out: BTreeMap<usize, Vec<Replicate>> = BTreeMap::new();
    for ((stratum, ..), replicate) in replicates {
        out.entry(stratum).or_default().push(replicate);
    }
    out
}

/// For each nursery a pair of one replicate an arm, whose difference and weight are those of its strata together.
fn nursery_pairs(meeting: &[&CompareBatch], arms: [usize; 2]) -> Vec<Vec<Replicate>> {
    let mut sums: BTreeMap<(usize, usize), [[f64; 2]; 2]> = BTreeMap::new();
    for it in meeting {
        let own = sums.entry((it.nursery, it.stratum)).or_default();
        let own = &mut own[usize::from(it.arm == arms[1])];
        own[0] += it.x;
        own[1] += it.n;
    }
    let mut nurseries: BTreeMap<usize, [f64; 3]> = BTreeMap::new();
    for ((nursery, _), [[x, n], [y, m]]) in sums {
        if n > 0.0 && m > 0.0 {
            let weight = n * m / (n + m);
            let own = nurseries.entry(nursery).or_default();
            own[0] += weight * (x / n - y / m);
            own[1] += weight;
            own[2] += weight * 0.5 * (x / n + y / m);
        }
    }
    let pair = |[apart, weight, middle]: [f64; 3]| {
        [(0, 0.5), (1, -0.5)]
            .map(|(arm, side)| Replicate {
                arm,
                sum: 2.0 * (middle + side * apart),
                weight: 2.0 * weight,
            })
            .to_vec()
    };
    nurseries.into_values().map(pair).collect()
}

fn pair(
    meeting: &[&CompareBatch],
    arms: [usize; 2],
    names: &[String],
    options: &PoolCompareOptions,
    levels: Levels,
) -> PooledPair {
    let nurseries: BTreeSet<usize> = meeting.iter().map(|it| it.nursery).collect();
    let basis = if nurseries.len() >= FEWEST_NURSERIES {
        PairBasis::Nurseries
    } else {
        PairBasis::Batches
    };
    let replicates = match basis {
        PairBasis::Nurseries => nursery_pairs(meeting, arms),
        PairBasis::Batches => strata(meeting, arms).into_values().collect(),
    };
    let draw = Draw {
        seed: options.seed,
        draws: DRAWS,
        all_up_to: ALL_UP_TO,
    };
    let test = Studentised::new(&replicates, draw);
    PooledPair {
        arms,
        names: arms.map(|at| names[at].clone()),
        nurseries: nurseries.len(),
        batches: arms.map(|at| meeting.iter().filter(|it| it.arm == at).count()),
        basis,
        difference: test.as_ref().map(|test| inverted(test, levels)),
        permutation: test.as_ref().map(permutation),
        verdict: VerdictKind::Undecided,
        at_most: None,
        also_differ: also_differ(meeting, arms, options),
    }
}

/// Facts that go with two arms within the strata.
fn also_differ(
    meeting: &[&CompareBatch],
    arms: [usize; 2],
    options: &PoolCompareOptions,
) -> Vec<AlsoDiffers> {
    let strata = options.strata();
    let mut out = Vec::new();
    for (at, key) in PUBLISHED_KEYS.into_iter().enumerate() {
        if options.by.contains(&key) || strata.contains(&key) || key == GroupKey::Week {
            continue;
        }
        let levels = numbered(meeting.iter().map(|it| it.facts[at].as_deref()));
        let unit = |(it, level): (&&CompareBatch, usize)| Membership {
            stratum: it.stratum,
            arm: usize::from(it.arm == arms[1]),
            level,
        };
        let units: Vec<Membership> = meeting.iter().zip(levels).map(unit).collect();
        if let Some(found) = cramers_v(&units, NAMED, FACT_DRAWS, options.seed) {
            out.push(AlsoDiffers {
                key,
                v: found.v,
                p: found.p,
            });
        }
    }
    out
}

/// Corrects for how many pairs there are, and gives the verdicts.
fn judge(pairs: &mut [PooledPair], options: &PoolCompareOptions) {
    correct(pairs.iter_mut().filter_map(|it| it.permutation.as_mut()));
    let rule = VerdictRule {
        worth: options.worth,
        level: options.level,
        may_be_small: true,
    };
    for pair in pairs {
        let (kind, at_most) =
            verdict_kind(pair.permutation.as_ref(), pair.difference.as_ref(), rule);
        (pair.verdict, pair.at_most) = (kind, at_most);
    }
}
