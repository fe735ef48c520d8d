//! Two arms against each other within strata: tests, differences, verdicts. It takes out no batch and words nothing.

use super::answer::{
    ArmPair, ChiSquared, ComparisonCaution, DaysApart, Difference, Likeness, NoFigure, ScoreTest,
    SecondOpinions, Strike, Verdict,
};
use super::basis::Ground;
use super::cells::{Member, TrialCell, TrialCells, row};
use super::likeness;
use super::table::{Table, name_of};
use super::tested::{Levels, correct, every_two, inverted, permutation};
use super::verdict::{Needed, VerdictRule, verdict};
use crate::stats::arrange::ALL_UP_TO;
use crate::stats::clusters::{self, Cluster};
use crate::stats::distributions::t_quantile;
use crate::stats::logrank;
use crate::stats::permute::{Draw, OnlyP, Permutation, Replicate, Studentised};
use crate::stats::power::{Assurance, EstimatedSpread, batches_for_means, batches_for_shares};
use crate::stats::shares::Interval;
use crate::stats::tables::{self, Table2x2, WholeTable};
use crate::stats::workers::share_out;

/// If more than this share of the cuttings is filled in, `no-larger-than` is not concluded (our own rule).
pub(super) const MOST_FILLED: f64 = 0.1;

/// The strata where two arms meet, with the cells of either.
struct Meeting<'g, 'a> {
    arms: [usize; 2],
    /// Which strata.
    places: Vec<usize>,
    strata: Vec<[&'g TrialCell<'a>; 2]>,
}

impl<'g, 'a> Meeting<'g, 'a> {
    fn new(cells: &'g TrialCells<'a>, arms: [usize; 2]) -> Self {
        let both = cells.iter().enumerate().filter_map(|(at, stratum)| {
            let sides = arms.map(|arm| &stratum[arm]);
            let meet = sides.iter().all(|cell| !cell.members.is_empty());
            meet.then_some((at, sides))
        });
        let (places, strata) = both.unzip();
        Self {
            arms,
            places,
            strata,
        }
    }

    fn is_empty(&self) -> bool {
        self.strata.is_empty()
    }

    /// For the test: each stratum's replicates in the order of their ids, whatever the arms are called.
    fn replicates(&self) -> Vec<Vec<Replicate>> {
        let one = |sides: &[&TrialCell; 2]| {
            let arm = |at: u8| {
                sides[usize::from(at)]
                    .members
                    .iter()
                    .map(move |it| (it.id, at, it))
            };
            let mut all: Vec<_> = arm(0).chain(arm(1)).collect();
            all.sort_by_key(|(id, ..)| *id);
            all.iter().map(|(_, at, it)| it.replicate(*at)).collect()
        };
        self.strata.iter().map(one).collect()
    }

    fn members(&self, arm: usize) -> impl Iterator<Item = &'g Member<'a>> {
        self.strata
            .iter()
            .flat_map(move |sides| &sides[arm].members)
    }

    fn all_members(&self) -> impl Iterator<Item = &'g Member<'a>> {
        self.members(0).chain(self.members(1))
    }

    /// Each arm of each stratum.
    fn cells(&self) -> impl Iterator<Item = &'g TrialCell<'a>> {
        self.strata.iter().flat_map(|sides| sides.iter().copied())
    }

    fn clusters(&self) -> Vec<Vec<Cluster>> {
        self.cells()
            .map(|cell| cell.members.iter().map(Member::rounded).collect())
            .collect()
    }

    /// Each stratum as a 2×2 table of sums.
    fn tables(&self, count: fn(&Member) -> [f64; 2]) -> Vec<Table2x2> {
        let one = |sides: &[&TrialCell; 2]| {
            let sum = |arm: usize, of: usize| -> f64 {
                sides[arm].members.iter().map(|it| count(it)[of]).sum()
            };
            Table2x2 {
                yes: [sum(0, 0), sum(1, 0)],
                no: [sum(0, 1), sum(1, 1)],
            }
        };
        self.strata.iter().map(one).collect()
    }

    /// Degrees of freedom between replicates within the cells.
    fn freedom(&self) -> usize {
        self.cells().map(|cell| cell.members.len() - 1).sum()
    }

    /// The mean size of a replicate, in cuttings.
    fn cuttings(&self) -> u32 {
        let n: f64 = self.all_members().map(|it| it.weight).sum();
        (n / self.all_members().count().max(1) as f64)
            .round()
            .max(1.0) as u32
    }

    fn share(&self, arm: usize) -> f64 {
        let n: f64 = self.members(arm).map(|it| it.weight).sum();
        self.members(arm).map(|it| it.sum).sum::<f64>() / n
    }
}

/// Every two arms that meet, with Holm's correction over them. `None` if `go_on` says no.
pub(super) fn pairs(
    table: &Table,
    ground: &Ground,
    [strikes, days]: [&TrialCells; 2],
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Vec<ArmPair>> {
    let met: Vec<Meeting> = every_two(table.arms.len())
        .map(|arms| Meeting::new(strikes, arms))
        .filter(|meeting| !meeting.is_empty())
        .collect();
    let levels = Levels::among(met.len(), table.options.level);
    let facts = likeness::facts(table, ground);
    let mut out = share_out(met.len(), &mut |_| go_on(), |at, _| {
        let by_days = Meeting::new(days, met[at].arms);
        let likeness = likeness::of_pair(table, ground, &facts, met[at].arms);
        Some(pair(table, ground, [&met[at], &by_days], likeness, levels))
    })?;
    correct(
        out.iter_mut()
            .filter_map(|it| it.strike.permutation.as_mut()),
    );
    correct(out.iter_mut().filter_map(|it| it.days.permutation.as_mut()));
    for pair in &mut out {
        judge(table, pair);
    }
    Some(out)
}

/// Gives the verdicts, now that all pairs are known.
fn judge(table: &Table, pair: &mut ArmPair) {
    let options = table.options;
    let needed = |verdict: &Verdict| -> Needed {
        let needed = verdict.batches_needed.ok_or(
            verdict
                .batches_needed_missing
                .unwrap_or(NoFigure::NoDifferenceSeen),
        );
        (needed, verdict.cuttings)
    };
    let strike = &mut pair.strike;
    let rule = VerdictRule {
        worth: options.worth_strike,
        level: options.level,
        may_be_small: strike.filled <= MOST_FILLED,
    };
    let (test, apart) = (strike.permutation.as_ref(), strike.difference.as_ref());
    strike.verdict = verdict(test, apart, rule, needed(&strike.verdict));
    let days = &mut pair.days;
    let rule = VerdictRule {
        worth: options.worth_days,
        level: options.level,
        may_be_small: true,
    };
    let (test, apart) = (days.permutation.as_ref(), days.difference.as_ref());
    days.verdict = verdict(test, apart, rule, needed(&days.verdict));
}

fn pair(
    table: &Table,
    ground: &Ground,
    [strikes, days]: [&Meeting; 2],
    likeness: Vec<Likeness>,
    levels: Levels,
) -> ArmPair {
    let goes_along = likeness.iter().filter(|it| likeness::goes_along(it));
    ArmPair {
        names: strikes.arms.map(|arm| name_of(&table.arms[arm])),
        arms: strikes.arms,
        strata: strikes.strata.len(),
        replicates: [0, 1].map(|arm| strikes.members(arm).count()),
        goes_along: goes_along.map(|it| it.key).collect(),
        strike: strike(table, ground, strikes, levels),
        days: days_apart(table, ground, strikes, days, levels),
        likeness,
    }
}

fn tested<const COLUMNS: usize>(meeting: &Meeting, table: &Table) -> Option<Permutation<COLUMNS>> {
    let draw = Draw {
        seed: table.options.seed,
        draws: table.options.draws,
        all_up_to: ALL_UP_TO,
    };
    Permutation::new(&meeting.replicates(), draw)
}

/// A verdict that knows only how many batches it would take.
fn only_needed((needed, cuttings): Needed) -> Verdict {
    let rule = VerdictRule {
        worth: 0.0,
        level: 0.95,
        may_be_small: false,
    };
    verdict(None, None, rule, (needed, cuttings))
}

fn strike(table: &Table, ground: &Ground, met: &Meeting, levels: Levels) -> Strike {
    let second = second_opinions(met, table.options.level);
    let (permuted, difference) = if ground.basis.day().is_none() {
        // As they ended: the interval by inverting the test.
        let test: Option<Studentised> = tested(met, table);
        let difference = test.as_ref().map(|test| inverted(test, levels));
        (test.as_ref().map(permutation), difference)
    } else {
        let test: Option<OnlyP> = tested(met, table);
        let difference = test.as_ref().map(|test| by_own_curves(met, test, levels));
        (test.as_ref().map(permutation), difference)
    };
    let n: f64 = met.all_members().map(|it| it.weight).sum();
    let filled: f64 = met.all_members().map(|it| it.filled).sum();
    let tables = met.tables(|it| [it.sum, it.weight - it.sum]);
    let homogeneity = tables::homogeneity(&tables, second.design_effect.unwrap_or(1.0));
    Strike {
        difference: difference.map(within_shares),
        permutation: permuted,
        filled: if n > 0.0 { filled / n } else { 0.0 },
        homogeneity_missing: homogeneity.is_none().then_some(NoFigure::OneStratum),
        homogeneity: homogeneity.map(chi_squared),
        verdict: only_needed((strike_needed(met, &second), met.cuttings())),
        second_opinions: second,
    }
}

/// From each arm's own curves: the jackknife's standard error with Welch's (1947, *Biometrika* 34:28) degrees of
/// freedom. Where a cell has one replicate, and so no jackknife, the test's own standard error serves; where none has a
/// curve, its difference does too.
fn by_own_curves(met: &Meeting, test: &OnlyP, levels: Levels) -> Difference {
    let (mut above, mut below) = (0.0, 0.0);
    let mut parts = Some(Vec::new());
    for sides in &met.strata {
        let weights = sides.map(|cell| cell.members.iter().map(|it| it.weight).sum::<f64>());
        let [Some(first), Some(second)] = sides.map(|cell| cell.own) else {
            continue;
        };
        let weight = weights[0] * weights[1] / (weights[0] + weights[1]);
        above += weight * (first.value - second.value);
        below += weight;
        for (own, cell) in [first, second].iter().zip(sides) {
            let part = own
                .variance
                .map(|variance| (weight * weight * variance, cell.members.len() as f64 - 1.0));
            parts = parts.zip(part).map(|(mut parts, part)| {
                parts.push(part);
                parts
            });
        }
    }
    let value = if below > 0.0 {
        above / below
    } else {
        test.difference()
    };
    let variances = parts.filter(|parts| !parts.is_empty());
    let (error, freedom) = match variances {
        Some(parts) => {
            let whole: f64 = parts.iter().map(|(variance, _)| variance).sum();
            let spread: f64 = parts
                .iter()
                .map(|(variance, df)| variance * variance / df)
                .sum();
            let freedom = if spread > 0.0 {
                whole * whole / spread
            } else {
                1.0
            };
            (whole.sqrt() / below, freedom)
        }
        None => (test.standard_error(), test.freedom()),
    };
    let around = |level: f64| {
        let reach = t_quantile(0.5 + 0.5 * level, freedom) * error;
        Interval {
            low: value - reach,
            high: value + reach,
        }
    };
    Difference {
        value,
        interval: around(levels.shared),
        alone: around(levels.alone),
    }
}

/// A difference of shares lies between −1 and 1; ends that exclude nothing stay infinite.
fn within_shares(apart: Difference) -> Difference {
    let kept = |end: f64| {
        if end.is_finite() {
            end.clamp(-1.0, 1.0)
        } else {
            end
        }
    };
    let both = |ends: Interval| Interval {
        low: kept(ends.low),
        high: kept(ends.high),
    };
    Difference {
        value: apart.value,
        interval: both(apart.interval),
        alone: both(apart.alone),
    }
}

fn chi_squared(it: tables::ChiSquare) -> ChiSquared {
    ChiSquared {
        chi2: it.chi2,
        df: it.df,
        p: it.p,
    }
}

fn second_opinions(met: &Meeting, level: f64) -> SecondOpinions {
    let whole = met.tables(|it| {
        let cluster = it.rounded();
        [
            f64::from(cluster.reached),
            f64::from(cluster.of - cluster.reached),
        ]
    });
    let sum = |of: fn(&Table2x2) -> [f64; 2]| {
        [0, 1].map(|arm| whole.iter().map(|it| of(it)[arm]).sum::<f64>() as u32)
    };
    let counts = WholeTable {
        yes: sum(|it| it.yes),
        no: sum(|it| it.no),
    };
    let split = met.tables(|it| [it.sum, it.weight - it.sum]);
    let sizes: Vec<f64> = met.all_members().map(|it| it.weight).collect();
    let icc = clusters::common_rho(&met.clusters());
    let cmh = |corrected| tables::cochran_mantel_haenszel(&whole, corrected).map(chi_squared);
    SecondOpinions {
        fisher_p: Some(tables::fisher_exact(counts).p),
        cmh: cmh(false),
        cmh_corrected: cmh(true),
        mh_odds_ratio: tables::odds_ratio(&whole, level).map(|it| it.value),
        standard_error: tables::risk_difference(&split, level, 1.0).map(|it| it.standard_error),
        icc,
        icc_missing: icc.is_none().then_some(NoFigure::TooFewReplicates),
        design_effect: icc.and_then(|rho| clusters::design_effect(&sizes, rho)),
        rounded: met.all_members().any(Member::is_fractional),
    }
}

/// What a difference is to be found with.
const WANTED: Assurance = Assurance {
    power: 0.8,
    alpha: 0.05,
    limit: 999,
};

/// Batches an arm that would find shares as far apart as those seen.
fn strike_needed(met: &Meeting, second: &SecondOpinions) -> Result<u32, NoFigure> {
    let icc = second.icc.ok_or(NoFigure::TooFewReplicates)?;
    let shares = [met.share(0), met.share(1)];
    if (shares[0] - shares[1]).abs() < 1e-9 {
        return Err(NoFigure::NoDifferenceSeen);
    }
    let spread = EstimatedSpread {
        value: icc,
        freedom: met.freedom() as f64,
    };
    batches_for_shares(shares, spread, met.cuttings(), WANTED).ok_or(NoFigure::TooManyBatches)
}

fn days_apart(
    table: &Table,
    ground: &Ground,
    strikes: &Meeting,
    met: &Meeting,
    levels: Levels,
) -> DaysApart {
    if table.options.only_shares {
        return DaysApart {
            difference: None,
            difference_missing: Some(NoFigure::NotAsked),
            permutation: None,
            score_test: None,
            verdict: only_needed((Err(NoFigure::NotAsked), strikes.cuttings())),
        };
    }
    let test: Option<OnlyP> = tested(met, table).filter(|_| !met.is_empty());
    let difference = test.as_ref().map(|test| by_own_curves(met, test, levels));
    let needed = days_needed(met, difference.map(|it| it.value));
    DaysApart {
        difference_missing: difference.is_none().then_some(NoFigure::NoneMeet),
        difference,
        permutation: test.as_ref().map(permutation),
        score_test: score(ground, strikes),
        verdict: only_needed((needed, strikes.cuttings())),
    }
}

/// Batches an arm that would find mean days as far apart, varying as they do within arms and strata.
fn days_needed(met: &Meeting, gap: Option<f64>) -> Result<u32, NoFigure> {
    let gap = gap.ok_or(NoFigure::NoneMeet)?;
    let mut squares = 0.0;
    for cell in met.cells() {
        let means: Vec<f64> = cell.members.iter().map(|it| it.sum / it.weight).collect();
        let mean = means.iter().sum::<f64>() / means.len() as f64;
        squares += means.iter().map(|it| (it - mean).powi(2)).sum::<f64>();
    }
    let freedom = met.freedom();
    if freedom == 0 {
        return Err(NoFigure::TooFewReplicates);
    }
    if gap.abs() < 1e-9 {
        return Err(NoFigure::NoDifferenceSeen);
    }
    let spread = EstimatedSpread {
        value: (squares / freedom as f64).sqrt(),
        freedom: freedom as f64,
    };
    batches_for_means(gap, spread, WANTED).ok_or(NoFigure::TooManyBatches)
}

/// Sun's scores of all cuttings, each stratum with its own; batches not judged too, since waits of any length tell
/// something.
fn score(ground: &Ground, met: &Meeting) -> Option<ScoreTest> {
    let mut places = vec![None; ground.judged_from.len()];
    for (at, &stratum) in met.places.iter().enumerate() {
        places[stratum] = Some(at);
    }
    let mut strata = vec![[Vec::new(), Vec::new()]; met.places.len()];
    for it in &ground.watched {
        let side = met.arms.iter().position(|arm| *arm == it.arm);
        if let (Some(at), Some(side)) = (places.get(it.stratum).copied().flatten(), side) {
            let pieces = it.account(ground.milestone).pieces.iter();
            strata[at][side].extend(pieces.map(row));
        }
    }
    logrank::log_rank_within(&strata).map(|it| ScoreTest { z: it.z, p: it.p })
}

/// What is to be borne in mind of a pair's figures.
pub(super) fn cautions(pair: &ArmPair, out: &mut Vec<ComparisonCaution>) {
    let also = |it: &Likeness| ComparisonCaution::AlsoDiffer {
        arms: pair.arms,
        key: it.key,
        values: it.commonest.clone(),
        goes_along: likeness::goes_along(it),
    };
    out.extend(pair.likeness.iter().map(also));
    if pair.strike.filled > MOST_FILLED {
        out.push(ComparisonCaution::Filled {
            arms: pair.arms,
            share: pair.strike.filled,
        });
    }
}
