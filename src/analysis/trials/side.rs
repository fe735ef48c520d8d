//! One arm's own figures: share, days, curve. It compares nothing.

use super::gather::{Cells, Ground, Member, Table, name};
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::stats::bootstrap::{Resampling, percentile_intervals};
use crate::stats::shares;
use crate::stats::shares::{Count, Interval};

/// An arm.
#[derive(Clone, Debug, PartialEq)]
pub struct Arm {
    /// Its name: the values of its keys.
    pub name: String,
    /// Its keys with their values.
    pub by: Vec<(GroupKey, String)>,
    /// Batches that count.
    pub batches: Vec<Id>,
    /// Replicates.
    pub replicates: usize,
    /// Cuttings stuck in these batches.
    pub stuck: u32,
    /// Of them followed to the horizon.
    pub followed: f64,
    /// Share that reached the milestone by the horizon.
    pub reached: Option<Share>,
    /// Days to the horizon.
    pub days: Option<ArmDays>,
    /// Share that reached the milestone by each day of a look, to the horizon.
    pub curve: Vec<Point>,
}

/// A share with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The share, 0 to 1, of those followed.
    pub value: f64,
    /// Wilson's interval with the design effect.
    pub interval: Interval,
    /// Variance between replicates over the binomial one; none with one replicate.
    pub deff: Option<f64>,
}

/// Mean days to the horizon.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ArmDays {
    /// The area under 1 − F: those that never reach the milestone count the whole horizon.
    pub value: f64,
    /// By resampling replicates; none under five.
    pub interval: Option<Interval>,
    /// Of those that reached it by the horizon; none if none did.
    pub of_reached: Option<f64>,
}

/// A point of an arm's curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Days since sticking.
    pub day: u32,
    /// Share known to have reached the milestone by then, with its interval.
    pub share: Share,
}

/// The replicates of an arm over all strata.
fn members<'c, 'a>(cells: &'c Cells<'a>, arm: usize) -> Vec<&'c Member<'a>> {
    cells.iter().flat_map(|cell| &cell[arm]).collect()
}

/// All arms' figures. `None` if told to stop.
pub(super) fn arms(
    table: &Table,
    ground: &Ground,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Vec<Arm>> {
    let each = 0..table.arms.len();
    each.map(|at| go_on().then(|| arm(table, ground, at)))
        .collect()
}

fn arm(table: &Table, ground: &Ground, at: usize) -> Arm {
    let members = members(&ground.cells, at);
    let subjects = || members.iter().flat_map(|member| &member.subjects);
    let counts: Vec<Count> = members.iter().map(|it| it.unit.share()).collect();
    let examined = members.iter().map(|it| it.unit.counted).sum();
    let by = &table.arms[at];
    let by_value = |(key, value): &(GroupKey, Option<String>)| Some((*key, value.clone()?));
    let mut batches: Vec<Id> = subjects().map(|it| it.counted.batch.key.clone()).collect();
    batches.sort_unstable();
    Arm {
        name: name(by),
        by: by.iter().filter_map(by_value).collect(),
        batches,
        replicates: members.len(),
        stuck: subjects().map(|it| it.counted.account.stuck).sum(),
        followed: counts.iter().map(|count| count.n).sum(),
        reached: share(&counts, examined, table.options.level),
        days: days(&members, table),
        curve: curve(&members, ground, table.options.level),
    }
}

/// The pooled share; `examined` cuttings make its binomial n.
fn share(counts: &[Count], examined: f64, level: f64) -> Option<Share> {
    let n: f64 = counts.iter().map(|count| count.n).sum();
    let x: f64 = counts.iter().map(|count| count.x).sum();
    if n <= 0.0 {
        return None;
    }
    let variance = shares::cluster_variance(counts);
    let binomial = examined.clamp(1.0, n.max(1.0));
    let share = shares::share_with_variance(x / n, binomial, counts.len(), variance, level);
    Some(Share {
        value: share.share,
        interval: share.interval,
        deff: share.deff,
    })
}

fn days(members: &[&Member], table: &Table) -> Option<ArmDays> {
    let mean = |times: &dyn Fn(usize) -> f64| {
        let units = || members.iter().enumerate();
        let days: f64 = units().map(|(at, it)| times(at) * it.unit.days).sum();
        let n: f64 = units().map(|(at, it)| times(at) * it.unit.n).sum();
        days / n
    };
    let reached: f64 = members.iter().map(|it| it.unit.reached).sum();
    let waited: f64 = members.iter().map(|it| it.unit.days_reached).sum();
    let how = Resampling {
        resamples: table.options.draws_days,
        seed: table.options.seed,
        level: table.options.level,
    };
    let ranges = percentile_intervals(members.len(), &how, |times| [mean(&|at| times[at] as f64)]);
    let value = mean(&|_| 1.0);
    value.is_finite().then(|| ArmDays {
        value,
        interval: ranges.map(|[range]| range),
        of_reached: (reached > 0.0).then(|| waited / reached),
    })
}

/// Shares by each day on which something was seen.
fn curve(members: &[&Member], ground: &Ground, level: f64) -> Vec<Point> {
    let accounts = || {
        let subjects = members.iter().flat_map(|member| &member.subjects);
        subjects.map(|it| it.account(ground.milestone))
    };
    let h = ground.horizon.unwrap_or(0);
    let ends = accounts().flat_map(|it| it.pieces.iter().filter_map(|piece| piece.right));
    let mut days: Vec<u32> = ends.filter(|&day| day < h).chain([h]).collect();
    days.sort_unstable();
    days.dedup();
    let examined: f64 = members.iter().map(|it| it.unit.counted).sum();
    let point = |day: u32| {
        let count = |member: &&Member| {
            let reached = member.subjects.iter();
            let reached = reached.map(|it| it.account(ground.milestone).reached_by(day));
            Count {
                x: reached.sum::<f64>().min(member.unit.n),
                n: member.unit.n,
            }
        };
        let counts: Vec<Count> = members.iter().map(count).collect();
        let share = share(&counts, examined, level)?;
        Some(Point { day, share })
    };
    days.into_iter().filter_map(point).collect()
}
