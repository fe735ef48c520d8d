//! Learns a model from the journal as of a day. It forecasts nothing.

use super::callus::{Callus, Lift};
use super::days::{Days, Unit};
use super::evidence::{Evidence, Scales};
use super::groups::Groups;
use super::growth::{Growth, GrowthRecord, Steps, age, first_ready, ready_to_pot};
use super::losses::{Losses, Watched, rooting};
use super::observed::{Observed, split};
use super::setback;
use super::setback::Case;
use super::shares::{ShareEvidence, Shares};
use super::{BatchState, Model};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::fold::intervals::{Account, accounts};
use crate::fold::selection::replicates;
use crate::model::id::Id;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};

/// Shares of closed batches are kept this far off 0 and 1 where they stand for chances.
const EDGE: f64 = 0.02;

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
}

impl Model {
    /// Learns from all entries of days up to `on`, the batches `without` left out as if they had never been stuck.
    #[must_use]
    pub fn learn(book: &Book, on: NaiveDate, without: &[&Id]) -> Self {
        let without: HashSet<&Id> = without.iter().copied().collect();
        let batches: Vec<&Batch> = book
            .batches()
            .iter()
            .map(AsRef::as_ref)
            .filter(|b| b.stuck_on <= on && !without.contains(&b.key))
            .collect();
        let groups = Groups::of(batches.iter().map(|b| (&b.taxon, b.stick.wood)));
        let members = members(book, &batches, &groups, on);
        let units = units(&members);
        let for_days: Vec<Unit<'_>> = units
            .iter()
            .map(|unit| {
                (
                    members[unit[0]].leaf,
                    unit.iter().map(|&at| &members[at].seen).collect(),
                )
            })
            .collect();
        let days = Days::learn(&groups, &for_days);
        let middles = middles(&groups, &days, &members, &units);
        let (losses, callus) = losses_and_callus(&days, &members, &middles);
        let scales = Scales {
            days: &days,
            losses: &losses,
            callus: callus.as_ref(),
        };
        let (shares, evidence) = shares(&groups, scales, &members, &units);
        let growth = Growth::learn(&groups, &told(&days, &members, &middles, on));
        let mut of_unit: HashMap<usize, usize> = HashMap::new();
        for (number, unit) in units.iter().enumerate() {
            of_unit.extend(unit.iter().map(|&at| (at, number)));
        }
        let mut by_leaf = vec![0; groups.len()];
        for unit in &units {
            by_leaf[members[unit[0]].leaf] += 1;
        }
        let parents: HashSet<&Id> = batches.iter().filter_map(|b| b.parent.as_ref()).collect();
        let whole = |m: &Member<'_>| m.batch.parent.is_none() && !parents.contains(&m.batch.key);
        let cases: Vec<Case<'_>> = members
            .iter()
            .enumerate()
            .filter(|(_, m)| m.counts && m.seen.closed && whole(m))
            .map(|(at, m)| Case {
                batch: m.batch,
                unit: of_unit.get(&at).copied(),
                reached: m.seen.reached,
                stuck: m.seen.stuck,
            })
            .collect();
        let held = members.into_iter().enumerate().map(|(at, member)| {
            let held = BatchState {
                unit: of_unit.get(&at).copied(),
                sold: first_ready(member.batch, on),
                age: age(member.batch, on),
                ready: ready_to_pot(member.batch, &member.account, &member.seen, on),
                observed: member.seen,
            };
            (held.observed.key.clone(), held)
        });
        let mut model = Self {
            on,
            setback: 0.0,
            held: held.collect(),
            members: by_leaf,
            groups,
            days,
            losses,
            callus,
            shares,
            growth,
            evidence,
        };
        model.setback = setback::learn(&model, &cases);
        model
    }
}

fn members<'a>(
    book: &Book,
    batches: &[&'a Batch],
    groups: &Groups,
    on: NaiveDate,
) -> Vec<Member<'a>> {
    let accounts = accounts(batches, Some(on));
    let stands = replicates(book, batches);
    let each = batches.iter().zip(accounts).zip(stands);
    each.map(|((&batch, account), replicate)| {
        let aside = batch.stick.aside.is_some() || batch.stick.again.is_some();
        Member {
            batch,
            seen: Observed::of(batch, &account, on),
            leaf: groups.leaf(&batch.taxon, batch.stick.wood).unwrap_or(0),
            counts: !aside && account.stuck > 0 && account.looked,
            account,
            replicate,
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

/// For each member the middle of its place in ln days, by all that is known.
fn middles(groups: &Groups, days: &Days, members: &[Member<'_>], units: &[Vec<usize>]) -> Vec<f64> {
    let mut middles = vec![f64::NAN; members.len()];
    for (number, unit) in units.iter().enumerate() {
        let first = &members[unit[0]].seen;
        let spot = groups.spot(&first.taxon, first.wood);
        let prior = days.prior(spot, first.wood, Some(number));
        let seen: Vec<&Observed> = unit.iter().map(|&at| &members[at].seen).collect();
        let middle = days.middle(&prior, &seen);
        unit.iter().for_each(|&at| middles[at] = middle);
    }
    middles
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
    let watched: Vec<Watched> = closed
        .iter()
        .map(|(m, middle)| {
            Watched::of(
                m.batch,
                m.seen.stuck,
                m.seen.reached,
                rooting(days, *middle),
            )
        })
        .collect();
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

/// Shares, with the evidence of open batches worked out on the way.
fn shares(
    groups: &Groups,
    scales: Scales<'_>,
    members: &[Member<'_>],
    units: &[Vec<usize>],
) -> (Shares, HashMap<Id, Evidence>) {
    let mut held = HashMap::new();
    let mut known = Vec::with_capacity(units.len());
    for (number, unit) in units.iter().enumerate() {
        let first = &members[unit[0]];
        if unit.iter().all(|&at| members[at].seen.closed) {
            let sum = |of: fn(&Observed) -> f64| -> f64 {
                unit.iter().map(|&at| of(&members[at].seen)).sum()
            };
            let reached = sum(|s| s.reached);
            known.push((
                first.leaf,
                ShareEvidence::Counted(reached, reached + sum(|s| s.lost)),
            ));
            continue;
        }
        let spot = groups.spot(&first.seen.taxon, first.seen.wood);
        let prior = scales.days.prior(spot, first.seen.wood, Some(number));
        let mut sum: Option<Vec<f64>> = None;
        for &at in unit {
            let seen = &members[at].seen;
            let evidence = Evidence::of(seen, scales, &prior);
            let logs = evidence.of_share();
            sum = Some(match sum {
                None => logs,
                Some(sum) => sum.iter().zip(logs).map(|(a, b)| a + b).collect(),
            });
            if !seen.closed {
                held.insert(seen.key.clone(), evidence);
            }
        }
        known.push((first.leaf, ShareEvidence::Curve(sum.unwrap_or_default())));
    }
    (Shares::learn(groups, &known), held)
}

fn told(days: &Days, members: &[Member<'_>], middles: &[f64], on: NaiveDate) -> Vec<GrowthRecord> {
    let each = members
        .iter()
        .zip(middles)
        .filter(|(m, middle)| m.counts && middle.is_finite());
    each.filter_map(|(member, middle)| {
        let steps = Steps::of(member.batch, on, member.seen.reached, member.seen.closed)?;
        Some(GrowthRecord {
            leaf: member.leaf,
            rooting: rooting(days, *middle),
            potting: ready_to_pot(member.batch, &member.account, &member.seen, on),
            steps,
        })
    })
    .collect()
}
