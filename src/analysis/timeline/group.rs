//! Groups of batches with their figures: how many, what share reached each milestone, by which days. It words
//! nothing.

use super::days::{MilestoneDays, days};
use super::figure::{Figure, Missing};
use super::sample::TimelineOptions;
use super::sample::{GroupMember, Sample};
use super::share::{BandPoint, ReachedShare, ShareSpread};
use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection, Milestone};
use crate::fold::intervals::Account;
use crate::fold::selection::IncludedBatch;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::text::folded;
use crate::stats::correlation::CorrelationPrior;
use crate::stats::npmle::{Estimate, Mass};
use chrono::NaiveDate;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// A group's figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TimelineGroup {
    /// The taxon as it is shown.
    pub taxon: String,
    /// The other keys with their values; nothing where it was not recorded.
    #[serde(serialize_with = "by_key")]
    pub by: Vec<(GroupKey, Option<String>)>,
    /// How many batches, replicates and cuttings it holds.
    #[serde(flatten)]
    pub size: GroupSize,
    /// The share that rooted: the root milestone's.
    pub strike: Figure<ReachedShare>,
    /// Rooted of those stuck, in closed batches.
    #[serde(rename = "yield")]
    pub yielded: Figure<Yield>,
    /// The figures by milestone: callus, root, bottom.
    #[serde(serialize_with = "by_milestone")]
    pub milestones: [MilestoneFigures; 3],
    /// What to bear in mind.
    pub cautions: Vec<TimelineCaution>,
}

impl TimelineGroup {
    /// The figures of one milestone.
    #[must_use]
    pub fn figures(&self, milestone: Milestone) -> &MilestoneFigures {
        &self.milestones[milestone as usize]
    }
}

fn by_key<S: Serializer>(keys: &[(GroupKey, Option<String>)], to: S) -> Result<S::Ok, S::Error> {
    to.collect_map(keys.iter().map(|(key, value)| (key, value)))
}

fn by_milestone<S: Serializer>(each: &[MilestoneFigures; 3], to: S) -> Result<S::Ok, S::Error> {
    to.collect_map(Milestone::ALL.into_iter().zip(each))
}

/// How many make up a group.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct GroupSize {
    /// Batches.
    pub batches: usize,
    /// Replicates: batches that do not share a fate.
    pub replicates: usize,
    /// Cuttings stuck.
    pub stuck: u32,
    /// Cuttings lost on the bench, for any cause.
    pub lost: u32,
    /// Cuttings on the bench that were not rooted when last examined.
    pub watched: f64,
}

/// Rooted of those stuck, uncensored, since it is of closed batches only.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Yield {
    /// The share, 0 to 1.
    pub value: f64,
    /// How many closed batches it rests on.
    pub batches: usize,
}

/// A milestone's figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MilestoneFigures {
    /// Masses of reached, in order of time. With `lost` and `later` they sum to 1.
    pub curve: Vec<Mass>,
    /// How sure the curve is on each of its days, in order of time; empty unless asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub band: Vec<BandPoint>,
    /// Masses of lost first, in order of time.
    pub lost: Vec<Mass>,
    /// Mass watched, neither yet.
    pub later: f64,
    /// No curve has a log-likelihood higher by more than this.
    pub gap: f64,
    /// The log-likelihood of the curve.
    #[serde(skip)]
    pub loglik: f64,
    /// The share reached.
    pub reached: Figure<ReachedShare>,
    /// The days by which shares of them had.
    pub days: MilestoneDays,
}

/// What to bear in mind when reading a group's figures.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "caution", rename_all = "kebab-case")]
pub enum TimelineCaution {
    /// All cuttings share one fate: how batches differ is taken from the journal's other groups.
    OneReplicate,
    /// Looks were read from spoken guesses.
    Guesses {
        /// How many looks.
        looks: u32,
    },
    /// Looks saw only a part of the batch.
    Sampled {
        /// How many looks.
        looks: u32,
    },
    /// Cuttings were discarded without a reason, and count as not yet.
    Unexplained {
        /// How many cuttings.
        cuttings: u32,
    },
    /// Counts went backwards.
    Backwards {
        /// For this milestone.
        milestone: Milestone,
        /// In so many batches.
        batches: usize,
    },
    /// Seen on the day of sticking, and put in the first day.
    AtSticking {
        /// This milestone.
        milestone: Milestone,
        /// In so many batches.
        batches: usize,
    },
    /// The estimate could not be certified as the maximum.
    Uncertified {
        /// The milestone.
        milestone: Milestone,
        /// How far it may be from the maximum.
        gap: f64,
    },
}

/// A group before its figures.
pub(super) struct Gathered<'a> {
    taxon: String,
    by: Vec<(GroupKey, Option<String>)>,
    pub(super) members: Vec<GroupMember<'a>>,
    pub(super) replicates: usize,
}

/// The groups of the batches, by taxon, then key by key; what is not recorded comes last.
pub(super) fn gather<'a>(
    book: &Book,
    counted: &'a [IncludedBatch],
    by: &[GroupKey],
) -> Vec<Gathered<'a>> {
    let mut groups: BTreeMap<Vec<(bool, String)>, Vec<&'a IncludedBatch>> = BTreeMap::new();
    for item in counted {
        let values = by.iter().map(|key| {
            let value = key.value_for(book, item.batch);
            let text = value.as_deref().map(folded).unwrap_or_default();
            (value.is_none(), text)
        });
        let taxon = (false, item.batch.taxon.key());
        let place = std::iter::once(taxon).chain(values).collect();
        groups.entry(place).or_default().push(item);
    }
    groups
        .into_values()
        .map(|group| gathered(book, &group, by))
        .collect()
}

fn gathered<'a>(book: &Book, group: &[&'a IncludedBatch], by: &[GroupKey]) -> Gathered<'a> {
    let mut stands: Vec<&Id> = group.iter().map(|item| item.replicate).collect();
    stands.sort_unstable();
    stands.dedup();
    let member = |item: &&'a IncludedBatch| GroupMember {
        batch: item.batch,
        account: &item.account,
        // Found, since it was put in.
        replicate: stands.binary_search(&item.replicate).unwrap_or(0),
    };
    // The batches come by day of sticking, so the first shows a name as first written.
    let first = group.first().map(|item| item.batch);
    let shown = |batch: &Batch| {
        by.iter()
            .map(|key| (*key, key.value_for(book, batch)))
            .collect()
    };
    Gathered {
        taxon: first.map_or_else(String::new, |batch| batch.taxon.shown()),
        by: first.map_or_else(Vec::new, shown),
        members: group.iter().map(member).collect(),
        replicates: stands.len(),
    }
}

/// The figures of a group, from those of its milestones.
pub(super) fn figures(
    group: &Gathered,
    mut milestones: [MilestoneFigures; 3],
    options: &TimelineOptions,
) -> TimelineGroup {
    hold_order(&mut milestones);
    TimelineGroup {
        taxon: group.taxon.clone(),
        by: group.by.clone(),
        size: size(group),
        strike: milestones[Milestone::Root as usize].reached,
        yielded: yielded(group),
        cautions: cautions(group, &milestones, options.about.as_of),
        milestones,
    }
}

/// The figures of one milestone, `prior` being the journal's correlation. `None` if `go_on` says no.
pub(super) fn milestone_figures(
    group: &Gathered,
    milestone: Milestone,
    prior: &CorrelationPrior,
    options: &TimelineOptions,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<MilestoneFigures> {
    let sample = Sample::new(milestone, &group.members, group.replicates);
    let estimate = sample.rows.whole()?;
    let missing = missing(group, milestone, &estimate);
    let (reached, band) = match missing {
        None => {
            let spread = ShareSpread::new(&sample, &estimate, prior, options, go_on)?;
            let band = options.band.then(|| spread.band());
            (Figure::Value(spread.share()), band.unwrap_or_default())
        }
        Some(missing) => (Figure::Missing(missing), Vec::new()),
    };
    Some(MilestoneFigures {
        band,
        reached,
        days: days(&sample, &estimate, missing, options, go_on)?,
        curve: estimate.curve,
        lost: estimate.lost,
        later: estimate.later,
        gap: estimate.gap,
        loglik: estimate.loglik,
    })
}

/// The reason why a milestone has no figures, if it has none.
fn missing(group: &Gathered, milestone: Milestone, estimate: &Estimate) -> Option<Missing> {
    let accounts = || group.members.iter().map(|member| member.account);
    if !accounts().any(|account| account.milestone(milestone).examined) {
        return Some(Missing::NotExamined);
    }
    let closed = accounts().any(Account::is_closed);
    (estimate.curve.is_empty() && !closed).then_some(Missing::TooSoon)
}

/// A cutting calluses before it roots, and roots before it fills the cell; milestones are examined at different
/// looks, so that their curves, each made by itself, may say otherwise. Root is what is examined most and
/// stands; what would come out of order beside it is not told.
fn hold_order(milestones: &mut [MilestoneFigures; 3]) {
    use Milestone::{Bottom, Callus, Root};
    for (earlier, later, yields) in [
        (Callus, Root, Callus),
        (Root, Bottom, Bottom),
        (Callus, Bottom, Bottom),
    ] {
        let beside = if yields == earlier { later } else { earlier };
        let [first, second] = [earlier, later].map(|m| milestones[m as usize].clone());
        let yielding = &mut milestones[yields as usize];
        let why = Missing::OutOfOrder { beside };
        if let (Some(a), Some(b)) = (first.reached.value(), second.reached.value())
            && a.value + SLACK < b.value
        {
            yielding.reached = Figure::Missing(why);
        }
        let days = [
            (first.days.all, second.days.all, &mut yielding.days.all),
            (
                first.days.reached,
                second.days.reached,
                &mut yielding.days.reached,
            ),
        ];
        for (first, second, yielding) in days {
            for (at, day) in yielding.0.iter_mut().enumerate() {
                if let (Some(a), Some(b)) = (first.0[at].value(), second.0[at].value())
                    && (a.by > b.by || a.at_or_by() > b.at_or_by() + SLACK)
                {
                    *day = Figure::Missing(why);
                }
            }
        }
    }
}

/// Slack when figures of two curves are compared.
const SLACK: f64 = 1e-9;

fn size(group: &Gathered) -> GroupSize {
    let accounts = || group.members.iter().map(|member| member.account);
    GroupSize {
        batches: group.members.len(),
        replicates: group.replicates,
        stuck: accounts().map(|it| it.stuck).sum(),
        lost: accounts().map(|it| it.lost).sum(),
        watched: accounts()
            .map(|it| it.milestone(Milestone::Root).watched)
            .sum(),
    }
}

fn yielded(group: &Gathered) -> Figure<Yield> {
    let accounts = group.members.iter().map(|member| member.account);
    let closed: Vec<_> = accounts.filter(|account| account.is_closed()).collect();
    let stuck: u32 = closed.iter().map(|account| account.stuck).sum();
    let reached: f64 = closed
        .iter()
        .map(|it| it.milestone(Milestone::Root).reached)
        .sum();
    if stuck == 0 {
        return Figure::Missing(Missing::NoneClosed);
    }
    Figure::Value(Yield {
        value: reached / f64::from(stuck),
        batches: closed.len(),
    })
}

/// How many batches of a group were counted backwards for a milestone, by the end of a day.
fn fallen(group: &Gathered, milestone: Milestone, as_of: Option<NaiveDate>) -> usize {
    let falls = |look: &Inspection| {
        let by_then = as_of.is_none_or(|day| look.day <= day);
        by_then && look.falls.iter().any(|fall| fall.milestone == milestone)
    };
    let members = group.members.iter();
    members
        .filter(|member| member.batch.inspections.iter().any(falls))
        .count()
}

fn cautions(
    group: &Gathered,
    milestones: &[MilestoneFigures; 3],
    as_of: Option<NaiveDate>,
) -> Vec<TimelineCaution> {
    let accounts = || group.members.iter().map(|member| member.account);
    let mut out = Vec::new();
    out.extend((group.replicates == 1).then_some(TimelineCaution::OneReplicate));
    let looks: u32 = accounts().map(|it| it.guesses).sum();
    out.extend((looks > 0).then_some(TimelineCaution::Guesses { looks }));
    let looks: u32 = accounts().map(|it| it.sampled).sum();
    out.extend((looks > 0).then_some(TimelineCaution::Sampled { looks }));
    let cuttings: u32 = accounts().map(|it| it.unexplained).sum();
    out.extend((cuttings > 0).then_some(TimelineCaution::Unexplained { cuttings }));
    for (milestone, figures) in Milestone::ALL.into_iter().zip(milestones) {
        let those = || accounts().map(|account| account.milestone(milestone));
        let batches = fallen(group, milestone, as_of);
        out.extend((batches > 0).then_some(TimelineCaution::Backwards { milestone, batches }));
        let batches = those().filter(|it| it.at_sticking > 0.0).count();
        out.extend((batches > 0).then_some(TimelineCaution::AtSticking { milestone, batches }));
        let gap = figures.gap;
        let certified = gap <= Estimate::CERTIFIED;
        out.extend((!certified).then_some(TimelineCaution::Uncertified { milestone, gap }));
    }
    out
}
