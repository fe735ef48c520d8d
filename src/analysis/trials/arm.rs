//! One arm's own figures: share, days, curve. It compares nothing.

use super::answer::{Arm, ArmDays, ArmShare, CurvePoint, NoFigure};
use super::basis::Ground;
use super::cells::{Member, TrialCells, members_of};
use super::table::{Table, name_of};
use crate::fold::intervals::MilestoneAccount;
use crate::fold::past;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::stats::correlation::{CorrelationPrior, correlated_share};
use crate::stats::distributions::t_quantile;
use crate::stats::shares::{self, Count, Interval};
use crate::stats::workers::share_out;

/// All arms' figures. `None` if `go_on` says no.
pub(super) fn arms(
    table: &Table,
    ground: &Ground,
    cells: [&TrialCells; 2],
    go_on: &mut dyn FnMut() -> bool,
) -> Option<Vec<Arm>> {
    share_out(table.arms.len(), &mut |_| go_on(), |at, _| {
        Some(arm(table, ground, cells, at))
    })
}

fn arm(table: &Table, ground: &Ground, [strikes, days]: [&TrialCells; 2], at: usize) -> Arm {
    let (level, only_shares) = (table.options.level, table.options.only_shares);
    let prior = &table.correlations[ground.milestone as usize];
    let figures = Figures { prior, level };
    let members = members_of(strikes, at);
    let subjects = || members.iter().flat_map(|member| &member.subjects);
    let reached: Vec<f64> = members.iter().map(|it| it.sum).collect();
    let by = &table.arms[at];
    let by_value = |(key, value): &(GroupKey, Option<String>)| Some((*key, value.clone()?));
    let mut batches: Vec<Id> = subjects().map(|it| it.batch().key.clone()).collect();
    batches.sort_unstable();
    let mut reached = share(&members, &reached, &figures);
    // By a day the share is that of the arm's own timelines.
    if let (Some(share), Some(own)) = (&mut reached, own_mean(strikes, at)) {
        share.value = own.clamp(0.0, 1.0);
    }
    let days = mean_days(days, at, level);
    Arm {
        name: name_of(by),
        by: by.iter().filter_map(by_value).collect(),
        batches,
        replicates: members.len(),
        stuck: subjects().map(|it| it.counted.account.stuck).sum(),
        counted: members.iter().map(|it| it.weight).sum(),
        too_young: ground.too_young[at],
        reached_missing: reached.is_none().then_some(NoFigure::NoBatchCounts),
        reached,
        days_missing: days.is_none().then_some(if only_shares {
            NoFigure::NotAsked
        } else {
            NoFigure::NoneReached
        }),
        days,
        tray_days_each: tray_days_each(table, ground, at),
        curve: if only_shares {
            Vec::new()
        } else {
            curve(&members, ground, &figures)
        },
    }
}

/// The pooled share; what was examined of each replicate makes its binomial n.
fn share(members: &[&Member], x: &[f64], figures: &Figures) -> Option<ArmShare> {
    let counts: Vec<Count> = members
        .iter()
        .zip(x)
        .map(|(member, &x)| Count {
            x: x.min(member.weight),
            n: member.weight,
        })
        .collect();
    let n: f64 = counts.iter().map(|count| count.n).sum();
    if n <= 0.0 {
        return None;
    }
    let value = (counts.iter().map(|count| count.x).sum::<f64>() / n).min(1.0);
    let sizes: Vec<f64> = members
        .iter()
        .map(|member| member.examined.max(1.0))
        .collect();
    let variance = shares::cluster_variance(&counts);
    let range = correlated_share(value, &sizes, variance, figures.prior, figures.level);
    Some(ArmShare {
        value,
        interval: range.interval,
        design_effect: range.deff,
    })
}

/// What an arm's ranges are made with.
struct Figures<'p> {
    prior: &'p CorrelationPrior,
    level: f64,
}

/// What an arm's own curves say, each stratum weighing as many cuttings as it holds; none where they were not asked.
fn own_mean(cells: &TrialCells, arm: usize) -> Option<f64> {
    let (mut above, mut below) = (0.0, 0.0);
    for cell in cells.iter().filter_map(|stratum| stratum.get(arm)) {
        if let Some(own) = cell.own {
            let weight: f64 = cell.members.iter().map(|it| it.weight).sum();
            above += weight * own.value;
            below += weight;
        }
    }
    (below > 0.0).then(|| above / below)
}

fn mean_days(cells: &TrialCells, arm: usize, level: f64) -> Option<ArmDays> {
    let value = own_mean(cells, arm)?;
    let members = members_of(cells, arm);
    let counts: Vec<Count> = members.iter().map(|it| it.count()).collect();
    let df = counts.len() as f64 - 1.0;
    let interval = (df > 0.0).then(|| {
        let reach = t_quantile(0.5 + 0.5 * level, df) * shares::cluster_variance(&counts).sqrt();
        Interval {
            low: (value - reach).max(0.0),
            high: value + reach,
        }
    });
    Some(ArmDays { value, interval })
}

/// Days that the trays of batches judged as they ended stood on the bench, for each cutting that reached the
/// milestone.
fn tray_days_each(table: &Table, ground: &Ground, arm: usize) -> Option<f64> {
    let mine = || ground.ended.iter().filter(|it| it.arm == arm);
    let reached: f64 = mine().map(|it| it.account(ground.milestone).reached).sum();
    let days = mine().map(|it| {
        let batch = it.batch();
        let today = it.until.or(table.options.about.as_of);
        let last = past::last_day(batch, today.unwrap_or_else(|| batch.last_day()));
        (last - batch.stuck_on).num_days() as f64
    });
    (reached > 0.0).then(|| days.sum::<f64>() / reached)
}

/// Shares by each day on which something was seen, up to the day of comparison or the last.
fn curve(members: &[&Member], ground: &Ground, figures: &Figures) -> Vec<CurvePoint> {
    let accounts = || -> Vec<&MilestoneAccount> {
        let subjects = members.iter().flat_map(|member| &member.subjects);
        subjects.map(|it| it.account(ground.milestone)).collect()
    };
    let pieces = accounts().into_iter().flat_map(|it| &it.pieces);
    let mut days: Vec<u32> = pieces.filter_map(|piece| piece.right).collect();
    if let Some(last) = ground.basis.day() {
        days.retain(|&day| day < last);
        days.push(last);
    }
    days.sort_unstable();
    days.dedup();
    let point = |day: u32| {
        let reached = |member: &&Member| {
            let subjects = member.subjects.iter();
            let reached = subjects.map(|it| it.account(ground.milestone).reached_by(day));
            reached.sum::<f64>()
        };
        let reached: Vec<f64> = members.iter().map(reached).collect();
        let share = share(members, &reached, figures)?;
        Some(CurvePoint { day, share })
    };
    days.into_iter().filter_map(point).collect()
}
