//! Groups of batches with their figures: how many, what share reached each milestone, by which days. It words
//! nothing.

use super::days::{MilestoneDays, days};
use super::figure::{Figure, Missing};
use super::sample::TimelineOptions;
use super::sample::{GroupMember, GroupUnit, MemberMilestone, Sample};
use super::share::{BandPoint, ReachedShare, ShareSpread};
use crate::fold::Book;
use crate::fold::batch::{Batch, Inspection, Milestone};
use crate::fold::selection::IncludedBatch;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::model::text::folded;
use crate::stats::correlation::SharePrior;
use crate::stats::npmle::{Estimate, Mass};
use crate::stats::workers;
use chrono::NaiveDate;
use serde::{Serialize, Serializer};
use std::collections::HashMap;

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

/// The keys of a group with their values, in the order asked for.
pub(in crate::analysis) fn by_key<S: Serializer>(
    keys: &[(GroupKey, Option<String>)],
    to: S,
) -> Result<S::Ok, S::Error> {
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
    pub stuck: u64,
    /// Cuttings lost on the bench, for any cause.
    pub lost: u64,
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
    /// All batches are of one nursery: how nurseries differ is taken from the pool's other groups.
    OneNursery,
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
pub(in crate::analysis) struct Gathered<'a> {
    pub taxon: String,
    pub by: Vec<(GroupKey, Option<String>)>,
    pub members: Vec<GroupMember<'a>>,
    /// What its members are drawn from, and how many of these there are.
    pub unit: GroupUnit,
    pub units: usize,
    /// Batches that do not share a fate.
    pub replicates: usize,
}

/// The groups of the batches with their figures to come, as [`grouped`] parts them.
pub(super) fn gather<'a>(
    book: &Book,
    counted: &'a [IncludedBatch],
    by: &[GroupKey],
    as_of: Option<NaiveDate>,
) -> Vec<Gathered<'a>> {
    let groups = grouped(book, counted, by);
    workers::map(groups.len(), |at| gathered(book, &groups[at], by, as_of))
}

/// The groups of the batches, by taxon, then key by key; what is not recorded comes last.
pub(super) fn grouped<'a, A: Sync>(
    book: &Book,
    counted: &'a [IncludedBatch<A>],
    by: &[GroupKey],
) -> Vec<Vec<&'a IncludedBatch<'a, A>>> {
    let places = workers::map(counted.len(), |at| {
        let item = &counted[at];
        let values = by.iter().map(|key| {
            let value = key.value_for(book, item.batch);
            let text = value.as_deref().map(folded).unwrap_or_default();
            (value.is_none(), text)
        });
        let taxon = (false, item.batch.taxon.key());
        std::iter::once(taxon).chain(values).collect()
    });
    let mut groups: HashMap<Vec<(bool, String)>, Vec<&IncludedBatch<A>>> = HashMap::new();
    for (place, item) in places.into_iter().zip(counted) {
        groups.entry(place).or_default().push(item);
    }
    let mut groups = Vec::from_iter(groups);
    groups.sort_unstable_by(|(one, _), (other, _)| one.cmp(other));
    groups.into_iter().map(|(_, group)| group).collect()
}

/// How many replicates a group's batches are of, and for each batch the number of its own.
pub(super) fn replicate_numbers<A>(group: &[&IncludedBatch<A>]) -> (usize, Vec<usize>) {
    let mut stands: Vec<&Id> = group.iter().map(|item| item.replicate).collect();
    stands.sort_unstable();
    stands.dedup();
    // Found, since it was put in.
    let number = |item: &&IncludedBatch<A>| stands.binary_search(&item.replicate).unwrap_or(0);
    (stands.len(), group.iter().map(number).collect())
}

fn gathered<'a>(
    book: &Book,
    group: &[&'a IncludedBatch],
    by: &[GroupKey],
    as_of: Option<NaiveDate>,
) -> Gathered<'a> {
    let (replicates, numbers) = replicate_numbers(group);
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
        members: group
            .iter()
            .zip(numbers)
            .map(|(item, unit)| member(item, unit, as_of))
            .collect(),
        unit: GroupUnit::Batch,
        units: replicates,
        replicates,
    }
}

/// A batch as a member of its group, its replicate numbered `unit`.
fn member<'a>(item: &'a IncludedBatch, unit: usize, as_of: Option<NaiveDate>) -> GroupMember<'a> {
    let account = &item.account;
    let closed = account.is_closed();
    let milestones = Milestone::ALL.map(|milestone| {
        let own = account.milestone(milestone);
        MemberMilestone {
            pieces: &own.pieces,
            examined: own.examined,
            counted: own.counted,
            counted_squares: own.counted * own.counted,
            watched: own.watched,
            closed_reached: if closed { own.reached } else { 0.0 },
            at_sticking: usize::from(own.at_sticking > 0.0),
            fallen: usize::from(is_fallen(item.batch, milestone, as_of)),
        }
    });
    GroupMember {
        unit,
        batches: 1,
        stuck: account.stuck.into(),
        lost: account.lost.into(),
        closed: usize::from(closed),
        closed_stuck: if closed { account.stuck.into() } else { 0 },
        guesses: account.guesses,
        sampled: account.sampled,
        unexplained: account.unexplained,
        milestones,
    }
}

/// Whether a batch was counted backwards for a milestone, by the end of a day.
pub fn is_fallen(batch: &Batch, milestone: Milestone, as_of: Option<NaiveDate>) -> bool {
    let falls = |look: &Inspection| {
        let by_then = as_of.is_none_or(|day| look.day <= day);
        by_then && look.falls.iter().any(|fall| fall.milestone == milestone)
    };
    batch.inspections.iter().any(falls)
}

/// The figures of a group, from those of its milestones.
pub(super) fn figures(group: &Gathered, mut milestones: [MilestoneFigures; 3]) -> TimelineGroup {
    hold_order(&mut milestones);
    TimelineGroup {
        taxon: group.taxon.clone(),
        by: group.by.clone(),
        size: size(group),
        strike: milestones[Milestone::Root as usize].reached,
        yielded: yielded(group),
        cautions: cautions(group, &milestones),
        milestones,
    }
}

/// The figures of one milestone, `prior` being how alike cuttings are in all groups. `None` if `go_on` says no.
pub(super) fn milestone_figures(
    group: &Gathered,
    milestone: Milestone,
    prior: &SharePrior,
    options: &TimelineOptions,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<MilestoneFigures> {
    let sample = Sample::new(milestone, &group.members, group.units, group.unit);
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
    let mut own = group.members.iter().map(|it| it.milestone(milestone));
    if !own.any(|own| own.examined) {
        return Some(Missing::NotExamined);
    }
    let closed = group.members.iter().any(|member| member.closed > 0);
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
    let members = || group.members.iter();
    GroupSize {
        batches: members().map(|it| it.batches).sum(),
        replicates: group.replicates,
        stuck: members().map(|it| it.stuck).sum(),
        lost: members().map(|it| it.lost).sum(),
        watched: members()
            .map(|it| it.milestone(Milestone::Root).watched)
            .sum(),
    }
}

fn yielded(group: &Gathered) -> Figure<Yield> {
    let members = || group.members.iter();
    let stuck: u64 = members().map(|it| it.closed_stuck).sum();
    let reached: f64 = members()
        .map(|it| it.milestone(Milestone::Root).closed_reached)
        .sum();
    if stuck == 0 {
        return Figure::Missing(Missing::NoneClosed);
    }
    Figure::Value(Yield {
        value: reached / stuck as f64,
        batches: members().map(|it| it.closed).sum(),
    })
}

fn cautions(group: &Gathered, milestones: &[MilestoneFigures; 3]) -> Vec<TimelineCaution> {
    let members = || group.members.iter();
    let mut out = Vec::new();
    let alone = match group.unit {
        GroupUnit::Batch => TimelineCaution::OneReplicate,
        GroupUnit::Nursery => TimelineCaution::OneNursery,
    };
    out.extend((group.units == 1).then_some(alone));
    let looks: u32 = members().map(|it| it.guesses).sum();
    out.extend((looks > 0).then_some(TimelineCaution::Guesses { looks }));
    let looks: u32 = members().map(|it| it.sampled).sum();
    out.extend((looks > 0).then_some(TimelineCaution::Sampled { looks }));
    let cuttings: u32 = members().map(|it| it.unexplained).sum();
    out.extend((cuttings > 0).then_some(TimelineCaution::Unexplained { cuttings }));
    for (milestone, figures) in Milestone::ALL.into_iter().zip(milestones) {
        let those = || members().map(|it| it.milestone(milestone));
        let batches = those().map(|it| it.fallen).sum();
        out.extend((batches > 0).then_some(TimelineCaution::Backwards { milestone, batches }));
        let batches = those().map(|it| it.at_sticking).sum();
        out.extend((batches > 0).then_some(TimelineCaution::AtSticking { milestone, batches }));
        let gap = figures.gap;
        let certified = gap <= Estimate::CERTIFIED;
        out.extend((!certified).then_some(TimelineCaution::Uncertified { milestone, gap }));
    }
    out
}
