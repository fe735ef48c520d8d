//! What each replicate brings to a comparison, in its arm and stratum: its share by the day or in the end, its days,
//! and each cell's own curve with every replicate left out in turn. It tests nothing.

use super::basis::{Ground, SLACK};
use super::table::{Subject, Table};
use crate::fold::batch::Milestone;
use crate::fold::intervals::{IntervalStatus, WeightedInterval};
use crate::model::id::Id;
use crate::stats::clusters::Cluster;
use crate::stats::members::MemberRows;
use crate::stats::npmle::reached_by;
use crate::stats::npmle::{Mass, Row, estimate};
use crate::stats::permute::Replicate;
use crate::stats::shares::{Count, jackknife_variance};
use crate::stats::workers;
use std::collections::BTreeMap;

/// A replicate's batches in one arm of one stratum, with `sum` over the `weight` cuttings: those that reached the
/// milestone of those counted, or the days of those that reached it.
pub(super) struct Member<'a> {
    pub id: &'a Id,
    pub subjects: Vec<Subject<'a>>,
    pub sum: f64,
    pub weight: f64,
    /// Cuttings whose part in `sum` was filled in from the curve of all arms.
    pub filled: f64,
    /// How many were examined at the last look, at most `weight`: what a binomial interval may count.
    pub examined: f64,
}

impl Member<'_> {
    pub(super) fn count(&self) -> Count {
        Count {
            x: self.sum,
            n: self.weight,
        }
    }

    pub(super) fn replicate(&self, arm: u8) -> Replicate {
        Replicate {
            arm,
            sum: self.sum,
            weight: self.weight,
        }
    }

    /// Whole cuttings, for tests that take nothing else.
    pub(super) fn rounded(&self) -> Cluster {
        let of = self.weight.round() as u32;
        Cluster {
            reached: (self.sum.round() as u32).min(of),
            of,
        }
    }

    pub(super) fn is_fractional(&self) -> bool {
        let off = |value: f64| (value - value.round()).abs() > SLACK;
        off(self.sum) || off(self.weight)
    }

    fn rows(&self, milestone: Milestone, wanted: fn(&WeightedInterval) -> bool) -> Vec<Row> {
        let pieces = self
            .subjects
            .iter()
            .flat_map(|it| &it.account(milestone).pieces);
        pieces.filter(|piece| wanted(piece)).map(row).collect()
    }
}

/// One arm of one stratum.
#[derive(Default)]
pub(super) struct TrialCell<'a> {
    /// In the order of their ids, so that the names of arms change nothing.
    pub members: Vec<Member<'a>>,
    pub own: Option<OwnCurve>,
}

/// A statistic of a cell's own curve.
#[derive(Clone, Copy, Debug)]
pub(super) struct OwnCurve {
    pub value: f64,
    /// By the replicate jackknife; none with one replicate.
    pub variance: Option<f64>,
}

/// The cells by stratum and arm.
pub(super) type TrialCells<'a> = Vec<Vec<TrialCell<'a>>>;

/// The replicates of an arm over all strata.
pub(super) fn members_of<'c, 'a>(cells: &'c TrialCells<'a>, arm: usize) -> Vec<&'c Member<'a>> {
    let cells = cells.iter().filter_map(|stratum| stratum.get(arm));
    cells.flat_map(|cell| &cell.members).collect()
}

/// Shares: by the day, or in the end.
pub(super) fn shares<'a>(table: &Table<'a>, ground: &Ground<'a>) -> TrialCells<'a> {
    let milestone = ground.milestone;
    let curves = ground.basis.day().map(|day| {
        let rows = |stratum: usize| {
            let here = ground.judged.iter().filter(|it| it.stratum == stratum);
            let pieces = here.flat_map(|it| &it.account(milestone).pieces);
            pieces.map(row).collect::<Vec<Row>>()
        };
        (
            day,
            workers::each(table.strata.len(), |at| curve(&rows(at))),
        )
    });
    let mut cells = cells(table, &ground.judged, |it, member| {
        let account = it.account(milestone);
        let stuck = f64::from(it.counted.account.stuck);
        let (from, x, filled) = match &curves {
            None => (
                ground.judged_from[it.stratum].unwrap_or(0),
                account.reached,
                0.0,
            ),
            Some((day, curves)) => {
                let (x, filled) = by_day(&account.pieces, *day, &curves[it.stratum]);
                (*day, x, filled)
            }
        };
        let n = (stuck - account.not_followed_to(from)).max(0.0);
        member.sum += x.min(n);
        member.weight += n;
        member.filled += filled;
        member.examined += account.counted.min(n);
    });
    if let Some((day, _)) = curves {
        let day = f64::from(day);
        add_own(
            &mut cells,
            milestone,
            |_| true,
            |curve| Some(reached_by(curve, day)),
        );
    }
    cells
}

/// Days of those that reached the milestone, in batches judged as they ended that have any.
pub(super) fn days<'a>(table: &Table<'a>, ground: &Ground<'a>) -> TrialCells<'a> {
    let milestone = ground.milestone;
    let reached: fn(&WeightedInterval) -> bool = |piece| piece.status == IntervalStatus::Reached;
    let mut subjects = ground.ended.clone();
    subjects.retain(|it| it.account(milestone).pieces.iter().any(reached));
    let curves = workers::each(table.strata.len(), |stratum| {
        let here = subjects.iter().filter(|it| it.stratum == stratum);
        let pieces = here.flat_map(|it| &it.account(milestone).pieces);
        let rows: Vec<Row> = pieces.filter(|piece| reached(piece)).map(row).collect();
        curve(&rows)
    });
    let mut cells = cells(table, &subjects, |it, member| {
        let pieces = it.account(milestone).pieces.iter();
        for piece in pieces.filter(|piece| reached(piece)) {
            let ends = (
                f64::from(piece.left),
                f64::from(piece.right.unwrap_or(piece.left)),
            );
            member.sum += piece.weight * mean_within(&curves[it.stratum], ends);
            member.weight += piece.weight;
        }
    });
    add_own(&mut cells, milestone, reached, mean_day);
    cells
}

fn cells<'a>(
    table: &Table<'a>,
    subjects: &[Subject<'a>],
    add: impl Fn(&Subject<'a>, &mut Member<'a>),
) -> TrialCells<'a> {
    let mut members: BTreeMap<(usize, usize, &Id), Member<'a>> = BTreeMap::new();
    for it in subjects {
        let id = it.counted.replicate;
        let member = members
            .entry((it.stratum, it.arm, id))
            .or_insert_with(|| Member {
                id,
                subjects: Vec::new(),
                sum: 0.0,
                weight: 0.0,
                filled: 0.0,
                examined: 0.0,
            });
        add(it, member);
        member.subjects.push(*it);
    }
    let arms = || {
        (0..table.arms.len())
            .map(|_| TrialCell::default())
            .collect()
    };
    let mut cells: TrialCells = table.strata.iter().map(|_| arms()).collect();
    for ((stratum, arm, _), member) in members {
        if member.weight > SLACK {
            cells[stratum][arm].members.push(member);
        }
    }
    cells
}

/// Each cell's own curve, and its jackknife.
fn add_own(
    cells: &mut TrialCells,
    milestone: Milestone,
    wanted: fn(&WeightedInterval) -> bool,
    statistic: impl Fn(&[Mass]) -> Option<f64> + Sync,
) {
    let each: Vec<&TrialCell> = cells.iter().flatten().collect();
    let found = workers::each(each.len(), |at| {
        own(each[at], milestone, wanted, &statistic)
    });
    for (cell, own) in cells.iter_mut().flatten().zip(found) {
        cell.own = own;
    }
}

fn own(
    cell: &TrialCell,
    milestone: Milestone,
    wanted: fn(&WeightedInterval) -> bool,
    statistic: impl Fn(&[Mass]) -> Option<f64>,
) -> Option<OwnCurve> {
    let members = cell.members.iter();
    let rows: Vec<Vec<Row>> = members.map(|it| it.rows(milestone, wanted)).collect();
    let rows = MemberRows::new(&rows);
    let whole = rows.whole()?;
    let value = statistic(&whole.curve)?;
    let members: Vec<usize> = (0..cell.members.len()).collect();
    Some(OwnCurve {
        value,
        variance: (members.len() > 1).then(|| {
            let curves = rows.without(&members, &whole).into_iter();
            let rest = |curve: Option<Vec<Mass>>| statistic(&curve.unwrap_or_default());
            let values: Vec<f64> = curves.map(|it| rest(it).unwrap_or(value)).collect();
            jackknife_variance(&values)
        }),
    })
}

fn curve(rows: &[Row]) -> Vec<Mass> {
    estimate(rows).map_or_else(Vec::new, |estimate| estimate.curve)
}

/// A piece as a row of an interval-censored estimate.
pub(super) fn row(piece: &WeightedInterval) -> Row {
    let (left, right) = (f64::from(piece.left), piece.right.map(f64::from));
    match (right, piece.status) {
        (Some(right), IntervalStatus::Reached) => Row::reached(left, right, piece.weight),
        (Some(right), IntervalStatus::Lost) => Row::lost(left, right, piece.weight),
        (_, IntervalStatus::NotYet) | (None, _) => Row::not_yet(left, piece.weight),
    }
}

/// How many reached the milestone by the day, and of how many that was filled in: those whose interval the day falls
/// into, by the curve's course inside it.
fn by_day(pieces: &[WeightedInterval], day: u32, curve: &[Mass]) -> (f64, f64) {
    let (mut x, mut filled) = (0.0, 0.0);
    for piece in pieces
        .iter()
        .filter(|piece| piece.status == IntervalStatus::Reached)
    {
        let right = piece.right.unwrap_or(piece.left);
        if right <= day {
            x += piece.weight;
        } else if piece.left < day {
            let [from, at, to] = [piece.left, day, right].map(f64::from);
            let [low, here, high] = [from, at, to].map(|day| reached_by(curve, day));
            let part = if high > low {
                (here - low) / (high - low)
            } else {
                (at - from) / (to - from)
            };
            x += piece.weight * part;
            filled += piece.weight;
        }
    }
    (x, filled)
}

/// The mean day of a curve, of those that reach the event.
fn mean_day(curve: &[Mass]) -> Option<f64> {
    let whole: f64 = curve.iter().map(|mass| mass.mass).sum();
    let days = curve.iter().map(|it| it.mass * 0.5 * (it.after + it.by));
    (whole > 0.0).then(|| days.sum::<f64>() / whole)
}

/// The mean day of the part of a curve inside (from, to], straight inside each of its intervals; the middle where
/// the curve has nothing there.
fn mean_within(curve: &[Mass], (from, to): (f64, f64)) -> f64 {
    let (mut whole, mut days) = (0.0, 0.0);
    for it in curve {
        let (after, by) = (it.after.max(from), it.by.min(to));
        if by > after {
            let mass = it.mass * (by - after) / (it.by - it.after);
            whole += mass;
            days += mass * 0.5 * (after + by);
        }
    }
    if whole > 0.0 {
        days / whole
    } else {
        0.5 * (from + to)
    }
}
