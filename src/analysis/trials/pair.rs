//! Two arms against each other within strata, and all arms at once. It takes out no batch and words
//! nothing.

use super::gather::{Ground, Member, Table};
use super::side::Arm;
use super::unit::{self, Unit};
use super::{DaysApart, Difference, Overall, Pair, SecondOpinions, Strike, Test, Verdict, judge};
use crate::stats::arrange::ALL_UP_TO;
use crate::stats::clusters;
use crate::stats::clusters::Cluster;
use crate::stats::invert;
use crate::stats::logrank;
use crate::stats::npmle::Row;
use crate::stats::permute;
use crate::stats::permute::{Draw, Permuted, Replicate};
use crate::stats::power;
use crate::stats::power::Design;
use crate::stats::shares::Interval;
use crate::stats::tables;
use crate::stats::tables::Table2x2;
use crate::stats::tables::WholeTable;

/// Power and level for which batches are counted: 80 %, two-sided 5 %.
const POWER: f64 = 0.8;
const ALPHA: f64 = 0.05;

/// No more batches an arm than this are counted.
const MOST_BATCHES: u32 = 999;

/// The strata where two arms meet, with the replicates of either.
struct Met<'g, 'a> {
    arms: [usize; 2],
    /// Which strata, as positions in the ground's cells.
    places: Vec<usize>,
    strata: Vec<[&'g [Member<'a>]; 2]>,
}

impl<'g, 'a> Met<'g, 'a> {
    fn new(ground: &'g Ground<'a>, arms: [usize; 2]) -> Self {
        let [first, second] = arms;
        let both = ground.cells.iter().enumerate().filter_map(|(at, cell)| {
            let sides = [cell[first].as_slice(), cell[second].as_slice()];
            let meet = sides.iter().all(|side| !side.is_empty());
            meet.then_some((at, sides))
        });
        let (places, strata) = both.unzip();
        Self {
            arms,
            places,
            strata,
        }
    }

    fn replicates(&self, make: fn(&Unit, u8) -> Replicate) -> Vec<Vec<Replicate>> {
        let one = |sides: &[&[Member]; 2]| {
            let side = |arm: u8| {
                sides[usize::from(arm)]
                    .iter()
                    .map(move |it| make(&it.unit, arm))
            };
            side(0).chain(side(1)).collect()
        };
        self.strata.iter().map(one).collect()
    }

    fn units(&self, arm: usize) -> impl Iterator<Item = &Unit> {
        let sides = self.strata.iter().flat_map(move |sides| sides[arm]);
        sides.map(|member| &member.unit)
    }

    fn all_units(&self) -> impl Iterator<Item = &Unit> {
        self.units(0).chain(self.units(1))
    }

    /// Each arm of each stratum.
    fn groups(&self) -> impl Iterator<Item = &'g [Member<'a>]> {
        self.strata.iter().flat_map(|sides| sides.iter().copied())
    }

    fn clusters(&self) -> Vec<Vec<Cluster>> {
        self.groups()
            .map(|group| group.iter().map(|it| it.unit.rounded()).collect())
            .collect()
    }

    fn tables(&self) -> Vec<Table2x2> {
        let one = |sides: &[&[Member]; 2]| {
            let sum = |arm: usize, of: fn(&Unit) -> f64| -> f64 {
                sides[arm].iter().map(|it| of(&it.unit)).sum()
            };
            Table2x2 {
                yes: [0, 1].map(|arm| sum(arm, |unit| unit.x)),
                no: [0, 1].map(|arm| sum(arm, |unit| unit.n - unit.x)),
            }
        };
        self.strata.iter().map(one).collect()
    }

    /// The same in whole cuttings.
    fn rounded(&self) -> Vec<Table2x2> {
        let one = |sides: &[&[Member]; 2]| {
            let sum = |arm: usize, of: fn(Cluster) -> u32| -> f64 {
                let counts = sides[arm].iter().map(|it| of(it.unit.rounded()));
                f64::from(counts.sum::<u32>())
            };
            Table2x2 {
                yes: [0, 1].map(|arm| sum(arm, |it| it.reached)),
                no: [0, 1].map(|arm| sum(arm, |it| it.of - it.reached)),
            }
        };
        self.strata.iter().map(one).collect()
    }
}

/// Every two arms that meet, with Holm's correction over them. `None` if told to stop.
pub(super) fn pairs(
    table: &Table,
    ground: &Ground,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Vec<Pair>> {
    let arms = table.arms.len();
    let mut out = Vec::new();
    for first in 0..arms {
        for second in first + 1..arms {
            let met = Met::new(ground, [first, second]);
            if met.strata.is_empty() {
                continue;
            }
            if !go_on() {
                return None;
            }
            out.push(pair(table, ground, &met, [first, second]));
        }
    }
    correct(&mut out, |pair| &mut pair.strike.test);
    correct(&mut out, |pair| &mut pair.days.test);
    let options = table.options;
    for pair in &mut out {
        let Pair { strike, days, .. } = pair;
        let (test, apart) = (strike.test.as_ref(), strike.difference.as_ref());
        strike.verdict.kind = judge::kind(test, apart, options.worth_strike, options.level);
        let (test, apart) = (days.test.as_ref(), days.difference.as_ref());
        days.verdict.kind = judge::kind(test, apart, options.worth_days, options.level);
    }
    Some(out)
}

fn correct(pairs: &mut [Pair], test: fn(&mut Pair) -> &mut Option<Test>) {
    let ps: Vec<f64> = pairs
        .iter_mut()
        .filter_map(|pair| test(pair).map(|test| test.permuted.p))
        .collect();
    let mut corrected = permute::holm(&ps).into_iter();
    for test in pairs.iter_mut().filter_map(|pair| test(pair).as_mut()) {
        test.holm = corrected.next().unwrap_or(1.0);
    }
}

fn pair(table: &Table, ground: &Ground, met: &Met, arms: [usize; 2]) -> Pair {
    Pair {
        arms,
        strata: met.strata.len(),
        replicates: [0, 1].map(|arm| met.units(arm).count()),
        strike: strike(table, met),
        days: days(table, ground, met),
    }
}

fn draw(table: &Table, draws: usize) -> Draw {
    Draw {
        seed: table.options.seed,
        draws,
        all_up_to: ALL_UP_TO,
    }
}

/// The test before its correction.
fn tested(permuted: Option<Permuted>) -> Option<Test> {
    let whole = |permuted: Permuted| Test {
        permuted,
        holm: permuted.p,
    };
    permuted.map(whole)
}

fn difference(strata: &[Vec<Replicate>], level: f64, draw: Draw) -> Option<Difference> {
    invert::interval(strata, level, draw).map(|it| Difference {
        value: it.value,
        interval: it.interval,
    })
}

fn strike(table: &Table, met: &Met) -> Strike {
    let draw = draw(table, table.options.draws);
    let replicates = met.replicates(Unit::strike);
    let second = second_opinions(met, table.options.level);
    let apart = difference(&replicates, table.options.level, draw);
    let test = tested(permute::difference(&replicates, draw));
    let verdict = Verdict {
        kind: judge::Kind::Undecided,
        smallest_p: test.map(|test| test.permuted.smallest_p),
        batches_needed: batches_needed(met, &second),
        cuttings: cuttings(met),
    };
    Strike {
        difference: apart.map(within_shares),
        test,
        second,
        homogeneity: tables::homogeneity(&met.tables(), second.design_effect.unwrap_or(1.0)),
        verdict,
    }
}

/// A difference of shares lies between −1 and 1; ends that exclude nothing stay infinite.
fn within_shares(mut apart: Difference) -> Difference {
    let kept = |end: f64| {
        if end.is_finite() {
            end.clamp(-1.0, 1.0)
        } else {
            end
        }
    };
    apart.interval = Interval {
        low: kept(apart.interval.low),
        high: kept(apart.interval.high),
    };
    apart
}

fn second_opinions(met: &Met, level: f64) -> SecondOpinions {
    let whole = met.rounded();
    let sum = |of: fn(&Table2x2) -> [f64; 2]| {
        [0, 1].map(|arm| whole.iter().map(|it| of(it)[arm]).sum::<f64>() as u32)
    };
    let counts = WholeTable {
        yes: sum(|it| it.yes),
        no: sum(|it| it.no),
    };
    let clusters = met.clusters();
    let sizes: Vec<f64> = met.all_units().map(|unit| unit.n).collect();
    let icc = clusters::common_rho(&clusters);
    SecondOpinions {
        fisher_p: Some(tables::fisher_exact(counts).p),
        cmh: tables::cochran_mantel_haenszel(&whole, false),
        cmh_corrected: tables::cochran_mantel_haenszel(&whole, true),
        odds_ratio: tables::odds_ratio(&whole, level).map(|it| it.value),
        standard_error: tables::risk_difference(&met.tables(), level, 1.0)
            .map(|it| it.standard_error),
        icc,
        design_effect: icc.and_then(|rho| clusters::design_effect(&sizes, rho)),
        rounded: met.all_units().any(Unit::is_fractional),
    }
}

/// The mean size of a replicate, in cuttings.
fn cuttings(met: &Met) -> u32 {
    let n: f64 = met.all_units().map(|unit| unit.n).sum();
    (n / met.all_units().count() as f64).round().max(1.0) as u32
}

/// Batches an arm that would find the shares seen to differ, at the correlation and size seen.
fn batches_needed(met: &Met, second: &SecondOpinions) -> Option<u32> {
    let share = |arm: usize| {
        let n: f64 = met.units(arm).map(|unit| unit.n).sum();
        met.units(arm).map(|unit| unit.x).sum::<f64>() / n
    };
    let design = Design::new([share(0), share(1)], second.icc?, cuttings(met)).ok()?;
    design.batches_needed(POWER, ALPHA, MOST_BATCHES)
}

fn days(table: &Table, ground: &Ground, met: &Met) -> DaysApart {
    let draw = draw(table, table.options.draws_days);
    let replicates = met.replicates(Unit::waited);
    let apart = difference(&replicates, table.options.level, draw);
    let test = tested(permute::difference(&replicates, draw));
    let verdict = Verdict {
        kind: judge::Kind::Undecided,
        smallest_p: test.map(|test| test.permuted.smallest_p),
        batches_needed: apart.and_then(|it| days_needed(met, it.value)),
        cuttings: cuttings(met),
    };
    DaysApart {
        difference: apart,
        of_reached: of_reached(met),
        test,
        score: score(ground, met),
        verdict,
    }
}

/// Replicates an arm that would find means so far apart, varying as they do within arms and strata.
fn days_needed(met: &Met, gap: f64) -> Option<u32> {
    let (mut squares, mut df) = (0.0, 0usize);
    for group in met.groups() {
        let means: Vec<f64> = group.iter().map(|it| it.unit.days / it.unit.n).collect();
        let mean = means.iter().sum::<f64>() / means.len() as f64;
        squares += means.iter().map(|it| (it - mean).powi(2)).sum::<f64>();
        df += means.len() - 1;
    }
    let sd = (squares / df as f64).sqrt();
    let some = df > 0 && gap.abs() > 1e-9;
    some.then(|| power::replicates_needed(gap, sd, [POWER, ALPHA], MOST_BATCHES))?
}

/// The difference of days among those that reached the milestone, strata pooled with the weights of
/// all stuck.
fn of_reached(met: &Met) -> Option<f64> {
    let (mut above, mut below) = (0.0, 0.0);
    for sides in &met.strata {
        let sum = |arm: usize, of: fn(&Unit) -> f64| -> f64 {
            sides[arm].iter().map(|it| of(&it.unit)).sum()
        };
        let mean = |arm: usize| sum(arm, |it| it.days_reached) / sum(arm, |it| it.reached);
        let (first, second) = (sum(0, |it| it.n), sum(1, |it| it.n));
        let apart = mean(0) - mean(1);
        if apart.is_finite() {
            let weight = first * second / (first + second);
            above += weight * apart;
            below += weight;
        }
    }
    (below > 0.0).then(|| above / below)
}

/// Sun's scores of all cuttings, each stratum with its own; batches not followed to the horizon too,
/// since waits of any length tell something.
fn score(ground: &Ground, met: &Met) -> Option<(f64, f64)> {
    let rows = |stratum: usize, arm: usize| -> Vec<Row> {
        let subjects = ground.watched.iter();
        let subjects = subjects.filter(|it| it.stratum == stratum && it.arm == arm);
        let pieces = subjects.flat_map(|it| &it.account(ground.milestone).pieces);
        pieces.map(unit::row).collect()
    };
    let one = |&stratum: &usize| met.arms.map(|arm| rows(stratum, arm));
    let strata: Vec<[Vec<Row>; 2]> = met.places.iter().map(one).collect();
    logrank::log_rank_within(&strata).map(|it| (it.z, it.p))
}

/// All arms at once; none for fewer than three, or more than 255.
pub(super) fn overall(table: &Table, ground: &Ground, arms: &[Arm]) -> Option<Overall> {
    let held: Vec<usize> = (0..arms.len())
        .filter(|&at| arms[at].replicates > 0)
        .collect();
    if held.len() < 3 || held.len() > usize::from(u8::MAX) {
        return None;
    }
    let strata = |make: fn(&Unit, u8) -> Replicate| -> Vec<Vec<Replicate>> {
        let one = |cell: &Vec<Vec<Member>>| {
            let arms = (0u8..).zip(&held);
            let units = arms.flat_map(|(arm, &at)| cell[at].iter().map(move |it| (arm, it)));
            units
                .map(|(arm, it)| make(&it.unit, arm))
                .collect::<Vec<_>>()
        };
        let strata = ground.cells.iter().map(one);
        strata.filter(|stratum| !stratum.is_empty()).collect()
    };
    let options = table.options;
    Some(Overall {
        strike: permute::several(&strata(Unit::strike), draw(table, options.draws)),
        days: permute::several(&strata(Unit::waited), draw(table, options.draws_days)),
    })
}
