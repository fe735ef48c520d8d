//! Learns a model from the journal as of a day. It forecasts nothing.

use super::days::{Days, Unit};
use super::evidence::{Evidence, Scales};
use super::expected::FEWEST;
use super::failing::{OrdinaryLoss, failing};
use super::groups::Groups;
use super::growth::{BOTTOM, Growth, GrowthRecord, WITHIN, milestone_lots};
use super::losses::{Callus, Lift};
use super::losses::{Losses, Watched, rooting};
use super::milestones::{CALLUS, HALF, MilestoneTimes, SeenClosed};
use super::model::{BatchState, Model};
use super::observed::{Observed, split};
use super::outlook;
use super::outlook::Case;
use super::ready::PlantDays;
use super::shares::{NO_HISTORY, SHARES, ShareEvidence, Shares, share};
use crate::fold::Book;
use crate::fold::batch::{Batch, Milestone};
use crate::fold::intervals::{Account, IntervalStatus, accounts};
use crate::fold::names::Rests;
use crate::fold::selection::replicates;
use crate::model::id::Id;
use crate::model::listed::DiscardReason;
use crate::stats::crossed::{ClassShifts, ShiftPrior, blended, likelihoods};
use crate::stats::workers;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// Shares of closed batches are kept this far off 0 and 1 where they stand for chances.
const EDGE: f64 = 0.02;
/// What is believed of the shifts of seasons: in logits of the share, a step of the grid of shares wide …
const SHARE_SHIFTS: ShiftPrior = ShiftPrior {
    step: 0.1875,
    reach: 8,
    spreads: &[0.05, 0.15, 0.3, 0.5, 0.8],
    scale: 0.5,
};
/// … and in ln days, a step of the grid of places wide.
const DAY_SHIFTS: ShiftPrior = ShiftPrior {
    step: 0.05,
    reach: 9,
    spreads: &[0.02, 0.05, 0.09, 0.15, 0.25],
    scale: 0.12,
};
/// Before any are seen, cuttings lost a week of those that stand there, worth so many weeks of one cutting (common practice:
/// one in a hundred).
const WEEKLY_LOSS: (f64, f64) = (0.01, 200.0);
/// Before any are seen, a batch is cleared at twice its middle day of rooting, worth so many batches (common practice).
const CLOSING: (f64, f64) = (0.7, 3.0);

/// One batch while learning.
struct Member<'a> {
    batch: &'a Batch,
    account: Account,
    seen: Observed,
    leaf: usize,
    /// Whether the model learns from it.
    counts: bool,
    /// The position of the batch that stands for its replicate.
    replicate: usize,
    /// The number of its season.
    season: usize,
}

/// What is worked out of the units before shares are: the days of each, with what all others say of its place.
struct Places {
    shifts: ClassShifts,
    /// By unit: the chances of its place by all others; none of a closed one, whose share is counted.
    priors: Vec<Vec<f64>>,
    /// By member: the middle of its place in ln days, by all that is known.
    middles: Vec<f64>,
}

/// The first of what is learnt: the days of rooting.
struct Rooting<'a> {
    batches: Vec<&'a Batch>,
    groups: Groups,
    /// The nursery's years in which anything was stuck, ascending.
    seasons: Vec<i32>,
    members: Vec<Member<'a>>,
    units: Vec<Vec<usize>>,
    days: Days,
    places: Places,
}

impl<'a> Rooting<'a> {
    fn learn(book: &'a Book, on: NaiveDate, without: &[&Id]) -> Self {
        let without: HashSet<&Id> = without.iter().copied().collect();
        let batches: Vec<&Batch> = book
            .batches()
            .iter()
            .map(AsRef::as_ref)
            .filter(|b| b.stuck_on <= on && !without.contains(&b.key))
            .collect();
        let groups = Groups::new(batches.iter().map(|b| (&*b.taxon, b.stick.wood)));
        let mut seasons: Vec<i32> = batches.iter().map(|b| book.season(b.stuck_on)).collect();
        seasons.sort_unstable();
        seasons.dedup();
        let members = members(book, &batches, &groups, &seasons, on);
        let units = units(&members);
        let days = Days::learn(&groups, &days_of(&members, &units));
        let places = places(&groups, &days, &members, &units, seasons.len());
        Self {
            batches,
            groups,
            seasons,
            members,
            units,
            days,
            places,
        }
    }
}

impl MilestoneTimes {
    /// Learns from all entries of days up to `on`, as [`Model::learn`] does.
    #[must_use]
    pub fn learn(book: &Book, on: NaiveDate) -> Self {
        let learnt = Rooting::learn(book, on, &[]);
        let Rooting { groups, days, .. } = &learnt;
        let of = |milestone, guess, from: f64| {
            let each = learnt.members.iter().zip(&learnt.places.middles);
            let counts = each.filter(|(m, middle)| m.counts && middle.is_finite());
            let lots = counts.map(|(member, middle)| {
                let rooting = rooting(days, *middle).ln() + from;
                let lots = milestone_lots(&member.account, milestone, rooting);
                (member.leaf, lots)
            });
            PlantDays::learn(groups, &lots.collect::<Vec<_>>(), guess, WITHIN)
        };
        let (callus, bottom) = workers::both(
            || of(Milestone::Callus, CALLUS, HALF),
            || of(Milestone::Bottom, BOTTOM, 0.0),
        );
        Self {
            callus,
            bottom,
            seen: seen_closed(groups, &learnt.members, &learnt.units),
            groups: learnt.groups,
            days: learnt.days,
            shifts: learnt.places.shifts,
        }
    }
}

/// What closed units showed, by leaf and by taxon.
fn seen_closed(
    groups: &Groups,
    members: &[Member<'_>],
    units: &[Vec<usize>],
) -> [Vec<SeenClosed>; 2] {
    let mut by_leaf = vec![SeenClosed::default(); groups.len()];
    let taxa = groups.tree.up.first().map_or(&[][..], Vec::as_slice);
    let most = taxa.iter().max().map_or(0, |last| last + 1);
    let mut by_taxon = vec![SeenClosed::default(); most];
    for unit in units {
        let unit: Vec<&Member<'_>> = unit.iter().map(|&at| &members[at]).collect();
        if !unit.iter().all(|member| member.seen.closed) {
            continue;
        }
        let last = Milestone::ALL.map(|milestone| {
            let pieces = unit
                .iter()
                .flat_map(|member| &member.account.milestone(milestone).pieces);
            let reached = pieces.filter(|piece| piece.status == IntervalStatus::Reached);
            reached.filter_map(|piece| piece.right).max().unwrap_or(0)
        });
        let leaf = unit[0].leaf;
        by_leaf[leaf].add(last);
        by_taxon[taxa[leaf]].add(last);
    }
    [by_leaf, by_taxon]
}

impl Model {
    /// Learns from all entries of days up to `on`, the batches `without` left out as if they had never been stuck.
    #[must_use]
    pub fn learn(book: &Book, on: NaiveDate, without: &[&Id]) -> Self {
        let Rooting {
            batches,
            groups,
            seasons,
            members,
            units,
            days,
            places,
        } = Rooting::learn(book, on, without);
        let (losses, callus) = losses_and_callus(&days, &members, &places.middles);
        let scales = Scales {
            days: &days,
            losses: &losses,
            callus: callus.as_ref(),
        };
        let (known, evidence) = known(scales, &members, &units, &places.priors);
        let shares = Shares::learn(&groups, &known, NO_HISTORY);
        let share_shifts = share_shifts(&groups, &shares, &members, &units, &known, seasons.len());
        let growth = Growth::learn(&groups, &records(&days, &members, &places.middles, on));
        let mut by_leaf = vec![0; groups.len()];
        for unit in &units {
            by_leaf[members[unit[0]].leaf] += 1;
        }
        let mut of_unit: HashMap<usize, usize> = HashMap::new();
        for (number, unit) in units.iter().enumerate() {
            of_unit.extend(unit.iter().map(|&at| (at, number)));
        }
        let cases = cases(&members, &of_unit);
        let mut model = Self {
            on,
            setback: 0.0,
            weekly_loss: weekly_loss(&batches, on),
            closing: closing(&days, &members, &places.middles),
            held: held(&members, &of_unit, &book.rests(on), on),
            failing: HashMap::new(),
            members: groups.sizes(&by_leaf),
            groups,
            seasons,
            share_shifts,
            day_shifts: places.shifts,
            days,
            losses,
            callus,
            shares,
            growth,
            evidence,
        };
        model.setback = outlook::learn_setback(&model, &cases);
        model.judge_failing(book, cases.len() as u32);
        model
    }

    /// Works out which open batches are failing, and how fast; `closed`: batches whose losses are known to the end.
    fn judge_failing(&mut self, book: &Book, closed: u32) {
        let mut open = book.batches_on(self.on);
        open.retain(|b: &Arc<Batch>| b.is_open() && self.held.contains_key(&b.key));
        let ordinary = |batch: &Batch, from: u32, until: u32| {
            let held = self.held.get(&batch.key)?;
            (closed >= FEWEST).then(|| self.loss_between(held, [from, until]))
        };
        let signs = failing(book, &open, self.on, &ordinary);
        for (key, signs) in &signs {
            if let Some(held) = self.held.get_mut(key) {
                held.pace = signs.iter().map(|sign| sign.pace()).fold(0.0, f64::max);
            }
        }
        self.failing = signs;
    }

    /// The loss to be expected between two days, of those that stand there at the first.
    fn loss_between(&self, held: &BatchState, [from, until]: [u32; 2]) -> OrdinaryLoss {
        // By all other batches: what befell it itself is not what is ordinary.
        let (observed, unit) = (&held.observed, held.unit);
        let spot = self.groups.spot(&observed.taxon, observed.wood);
        let mean = |values: &[f64], points: &mut dyn Iterator<Item = f64>| -> f64 {
            let whole: f64 = values.iter().sum();
            points.zip(values).map(|(x, w)| x * w).sum::<f64>() / whole.max(1e-12)
        };
        let shares = self.share_prior(spot, unit, held.season);
        let dies = mean(
            &shares,
            &mut SHARES.points().map(|logit| 1.0 - share(logit)),
        );
        let square = mean(
            &shares,
            &mut SHARES.points().map(|logit| (1.0 - share(logit)).powi(2)),
        );
        let places = self.day_prior(spot, observed.wood, unit, held.season);
        let m = mean(&places, &mut self.days.grid.points());
        let alive = |day: u32| (-self.losses.hazard(f64::from(day), m)).exp();
        let (before, after) = (alive(from), alive(until));
        let standing = (1.0 - dies + dies * before).max(1e-6);
        let lost = (dies * (before - after) / standing).clamp(1e-4, 0.9);
        // Batches differ in how many will not root, and in how fast these die.
        let differs = square / (dies * dies).max(1e-6);
        let excess = (differs * self.losses.frailty_square() - 1.0).max(0.0);
        OrdinaryLoss {
            share: lost,
            correlation: (lost * excess / (1.0 - lost)).clamp(0.01, 0.2),
        }
    }
}

fn members<'a>(
    book: &Book,
    batches: &[&'a Batch],
    groups: &Groups,
    seasons: &[i32],
    on: NaiveDate,
) -> Vec<Member<'a>> {
    let accounts = accounts(batches, Some(on), book.threads());
    let seen = workers::map(batches.len(), |at| {
        Observed::new(batches[at], &accounts[at], on)
    });
    let stands = replicates(book, batches);
    let each = batches.iter().zip(accounts).zip(seen).zip(stands);
    each.map(|(((&batch, account), seen), replicate)| {
        let aside = batch.stick.aside.is_some() || batch.stick.again.is_some();
        Member {
            batch,
            seen,
            leaf: groups.leaf(&batch.taxon, batch.stick.wood).unwrap_or(0),
            counts: !aside && account.stuck > 0 && account.looked,
            account,
            replicate,
            season: seasons
                .binary_search(&book.season(batch.stuck_on))
                .unwrap_or(0),
        }
    })
    .collect()
}

/// The batches that count, by replicate and leaf: those of one unit share a fate.
fn units(members: &[Member<'_>]) -> Vec<Vec<usize>> {
    let mut found: HashMap<(usize, usize), usize> = HashMap::new();
    let mut units: Vec<Vec<usize>> = Vec::new();
    for (at, member) in members.iter().enumerate().filter(|(_, m)| m.counts) {
        let unit = *found
            .entry((member.replicate, member.leaf))
            .or_insert_with(|| {
                units.push(Vec::new());
                units.len() - 1
            });
        units[unit].push(at);
    }
    units
}

/// The units as the days of rooting are learnt from them.
fn days_of<'a>(members: &'a [Member<'_>], units: &[Vec<usize>]) -> Vec<Unit<'a>> {
    let unit = |unit: &Vec<usize>| {
        let seen = unit.iter().map(|&at| &members[at].seen).collect();
        (members[unit[0]].leaf, seen)
    };
    units.iter().map(unit).collect()
}

/// The places of all batches, the shifts of seasons counted in.
fn places(
    groups: &Groups,
    days: &Days,
    members: &[Member<'_>],
    units: &[Vec<usize>],
    seasons: usize,
) -> Places {
    let own = workers::map(units.len(), |number| {
        let unit = &units[number];
        let first = &members[unit[0]];
        let spot = groups.spot(&first.seen.taxon, first.seen.wood);
        let prior = days.prior(spot, first.seen.wood, Some(number));
        let logs = days.curve(number).map_or_else(
            || vec![0.0; DAY_SHIFTS.count()],
            |curve| likelihoods(&prior, &curve.weights(prior.len()), DAY_SHIFTS.reach),
        );
        ((first.season, logs), prior)
    });
    let (said, unshifted): (Vec<_>, Vec<_>) = own.into_iter().unzip();
    let shifts = ClassShifts::learn(DAY_SHIFTS, seasons, said);
    let shifted = workers::map(units.len(), |number| {
        let season = members[units[number][0]].season;
        let chances = shifts.chances(Some(season), Some(number));
        let prior = blended(&unshifted[number], &chances);
        let middle = days.middle(&prior, days.curve(number));
        let is_open = units[number].iter().any(|&at| !members[at].seen.closed);
        (if is_open { prior } else { Vec::new() }, middle)
    });
    let mut middles = vec![f64::NAN; members.len()];
    let mut priors = Vec::with_capacity(units.len());
    for (unit, (prior, middle)) in units.iter().zip(shifted) {
        unit.iter().for_each(|&at| middles[at] = middle);
        priors.push(prior);
    }
    Places {
        shifts,
        priors,
        middles,
    }
}

/// By how much the shares of seasons are shifted.
fn share_shifts(
    groups: &Groups,
    shares: &Shares,
    members: &[Member<'_>],
    units: &[Vec<usize>],
    known: &[(usize, ShareEvidence)],
    seasons: usize,
) -> ClassShifts {
    let said = workers::map(units.len().min(known.len()), |number| {
        let (first, (_, known)) = (&members[units[number][0]], &known[number]);
        let spot = groups.spot(&first.seen.taxon, first.seen.wood);
        let prior = shares.prior(spot, Some(number));
        let logs = likelihoods(&prior, &known.likelihood(), SHARE_SHIFTS.reach);
        (first.season, logs)
    });
    ClassShifts::learn(SHARE_SHIFTS, seasons, said)
}

/// Cuttings lost a week on the bench, of those that stand there.
fn weekly_loss(batches: &[&Batch], on: NaiveDate) -> f64 {
    let (rate, worth) = WEEKLY_LOSS;
    let (mut lost, mut weeks) = (rate * worth, worth);
    for batch in batches {
        let (mut before, mut standing) = (0, f64::from(batch.stick.stuck));
        for look in batch.inspections.iter().filter(|look| look.day <= on) {
            let dead = look
                .discarded
                .iter()
                .filter(|(why, _)| why.and_then(DiscardReason::cause).is_some());
            lost += f64::from(look.lost.total() + dead.map(|(_, n)| n).sum::<u32>());
            weeks += standing * f64::from(look.age - before.min(look.age)) / 7.0;
            (before, standing) = (look.age, f64::from(look.remain));
        }
    }
    lost / weeks
}

/// ln of the day of closing over the middle day of rooting, over all closed batches.
fn closing(days: &Days, members: &[Member<'_>], middles: &[f64]) -> f64 {
    let (guess, worth) = CLOSING;
    let (mut sum, mut count) = (guess * worth, worth);
    for (member, middle) in members.iter().zip(middles) {
        let last = member.batch.inspections.last().map(|look| look.age);
        let closed = member.counts && member.seen.closed && middle.is_finite();
        if let Some(last) = last.filter(|last| closed && *last > 0) {
            sum += (f64::from(last) / rooting(days, *middle))
                .ln()
                .clamp(-1.0, 2.5);
            count += 1.0;
        }
    }
    sum / count
}

/// The closed batches of which the middle of their looks is forecast.
fn cases<'a>(members: &[Member<'a>], of_unit: &HashMap<usize, usize>) -> Vec<Case<'a>> {
    let parents: HashSet<&Id> = members
        .iter()
        .filter_map(|m| m.batch.parent.as_ref())
        .collect();
    let whole = |m: &Member<'_>| m.batch.parent.is_none() && !parents.contains(&m.batch.key);
    let each = members.iter().enumerate();
    each.filter(|(_, m)| m.counts && m.seen.closed && whole(m))
        .map(|(at, m)| Case {
            batch: m.batch,
            unit: of_unit.get(&at).copied(),
            season: Some(m.season),
            reached: m.seen.reached,
            stuck: m.seen.stuck,
        })
        .collect()
}

/// All batches as the model holds them.
fn held(
    members: &[Member<'_>],
    of_unit: &HashMap<usize, usize>,
    rests: &Rests<'_>,
    on: NaiveDate,
) -> HashMap<Id, BatchState> {
    let held = workers::map(members.len(), |at| {
        let member = &members[at];
        let asked = rests.asked(member.batch).filter(|day| *day > on);
        let held = BatchState {
            unit: of_unit.get(&at).copied(),
            rests: asked.is_some() && member.batch.last_day() <= on,
            ..BatchState::new(member.batch, &member.account, on, Some(member.season))
        };
        (held.observed.key.clone(), held)
    });
    held.into_iter().collect()
}

fn losses_and_callus(
    days: &Days,
    members: &[Member<'_>],
    middles: &[f64],
) -> (Losses, Option<Callus>) {
    let closed: Vec<(&Member<'_>, f64)> = members
        .iter()
        .zip(middles.iter().copied())
        .filter(|(m, middle)| m.counts && m.seen.closed && middle.is_finite())
        .collect();
    let watched: Vec<Watched> = workers::map(closed.len(), |at| {
        let (member, middle) = closed[at];
        let (stuck, reached) = (member.seen.stuck, member.seen.reached);
        Watched::new(member.batch, stuck, reached, rooting(days, middle))
    });
    let each: Vec<f64> = watched.iter().map(|w| w.rooting.ln()).collect();
    let typical = if each.is_empty() {
        30.0
    } else {
        (each.iter().sum::<f64>() / each.len() as f64).exp()
    };
    let losses = Losses::learn(&watched, typical);
    let mut lifts = Vec::new();
    for (member, middle) in closed {
        let stuck = f64::from(member.seen.stuck);
        for look in &member.batch.inspections {
            lifts.extend(split(look).filter(|s| s.age >= 1.0).map(|split| Lift {
                split,
                share: (member.seen.reached / stuck).clamp(EDGE, 1.0 - EDGE),
                m: middle,
            }));
        }
    }
    let callus = Callus::learn(&lifts, days, &losses);
    (losses, callus)
}

/// What is known of the share of each unit, with the evidence of open batches worked out on the way.
fn known(
    scales: Scales<'_>,
    members: &[Member<'_>],
    units: &[Vec<usize>],
    priors: &[Vec<f64>],
) -> (Vec<(usize, ShareEvidence)>, HashMap<Id, Evidence>) {
    let found = workers::map(units.len(), |number| {
        let (unit, prior) = (&units[number], &priors[number]);
        let leaf = members[unit[0]].leaf;
        if unit.iter().all(|&at| members[at].seen.closed) {
            let sum = |of: fn(&Observed) -> f64| -> f64 {
                unit.iter().map(|&at| of(&members[at].seen)).sum()
            };
            let reached = sum(|s| s.reached);
            let counted = ShareEvidence::Counted(reached, reached + sum(|s| s.lost));
            return ((leaf, counted), Vec::new());
        }
        let mut held = Vec::new();
        let mut sum: Option<Vec<f64>> = None;
        for &at in unit {
            let seen = &members[at].seen;
            let evidence = Evidence::new(seen, scales, prior);
            let logs = evidence.of_share();
            sum = Some(match sum {
                None => logs,
                Some(sum) => sum.iter().zip(logs).map(|(a, b)| a + b).collect(),
            });
            if !seen.closed {
                held.push((seen.key.clone(), evidence));
            }
        }
        let curve = ShareEvidence::Curve(sum.unwrap_or_default());
        ((leaf, curve), held)
    });
    let (known, held): (Vec<_>, Vec<_>) = found.into_iter().unzip();
    (known, held.into_iter().flatten().collect())
}

/// What batches tell of the steps beyond rooting.
fn records(
    days: &Days,
    members: &[Member<'_>],
    middles: &[f64],
    on: NaiveDate,
) -> Vec<GrowthRecord> {
    let found = workers::map(members.len(), |at| {
        let (member, middle) = (&members[at], middles[at]);
        let told = member.counts && middle.is_finite();
        let rooted = (member.leaf, rooting(days, middle));
        let record = || GrowthRecord::new(member.batch, &member.account, &member.seen, on, rooted);
        told.then(record).flatten()
    });
    found.into_iter().flatten().collect()
}
