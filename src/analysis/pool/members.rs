//! A pool's groups as a timeline takes them: of one nursery alone its batches, of several the nurseries, each with all its
//! batches. It estimates nothing.

use super::cells::{Piece, PoolCell, merged};
use super::group::PoolGroup;
use super::row::PooledInterval;
use super::store::{GroupPlace, PoolPart, Stored};
use super::synonyms::Synonyms;
use crate::analysis::timeline::{Gathered, GroupMember, GroupUnit, MemberMilestone};
use crate::fold::batch::Milestone;
use crate::fold::intervals::WeightedInterval;
use crate::model::filter::GroupKey;
use crate::model::text::folded;
use crate::stats::nested::OuterCluster;
use crate::stats::shares::Count;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A member with its own intervals.
struct OwnMember {
    unit: usize,
    cell: PoolCell,
    pieces: [Vec<WeightedInterval>; 3],
}

impl OwnMember {
    /// Sums of one nursery in one group.
    fn of_cells<'c>(cells: impl Iterator<Item = &'c PoolCell>) -> Self {
        let mut whole = PoolCell::default();
        let mut pieces: [Vec<Piece>; 3] = Default::default();
        for cell in cells {
            whole.batches += cell.batches;
            whole.replicates += cell.replicates;
            whole.stuck += cell.stuck;
            whole.lost += cell.lost;
            whole.closed += cell.closed;
            whole.closed_stuck += cell.closed_stuck;
            whole.guesses += cell.guesses;
            whole.sampled += cell.sampled;
            whole.unexplained += cell.unexplained;
            let each = whole.milestones.iter_mut().zip(&cell.milestones);
            for ((whole, own), pieces) in each.zip(&mut pieces) {
                pieces.extend(own.pieces.iter());
                whole.examined |= own.examined;
                whole.counted += own.counted;
                whole.counted_squares += own.counted_squares;
                whole.watched += own.watched;
                whole.closed_reached += own.closed_reached;
                whole.at_sticking += own.at_sticking;
                whole.fallen += own.fallen;
            }
        }
        let pieces = pieces.map(|pieces| merged(pieces).iter().map(Piece::interval).collect());
        Self {
            unit: 0,
            cell: whole,
            pieces,
        }
    }

    fn member(&self) -> GroupMember<'_> {
        let cell = &self.cell;
        GroupMember {
            unit: self.unit,
            batches: cell.batches as usize,
            stuck: cell.stuck,
            lost: cell.lost,
            closed: cell.closed as usize,
            closed_stuck: cell.closed_stuck,
            guesses: cell.guesses,
            sampled: cell.sampled,
            unexplained: cell.unexplained,
            milestones: Milestone::ALL.map(|milestone| {
                let own = &cell.milestones[milestone as usize];
                MemberMilestone {
                    pieces: &self.pieces[milestone as usize],
                    examined: own.examined,
                    counted: own.counted,
                    counted_squares: own.counted_squares,
                    watched: own.watched,
                    closed_reached: own.closed_reached,
                    at_sticking: own.at_sticking as usize,
                    fallen: own.fallen as usize,
                }
            }),
        }
    }
}

/// A group with all that its figures are made of.
pub(super) struct OwnGroup {
    pub taxon: String,
    by: Vec<(GroupKey, Option<String>)>,
    members: Vec<OwnMember>,
    unit: GroupUnit,
    units: usize,
    replicates: usize,
    pub nurseries: usize,
    /// The nurseries, by unit; none of a pool of one.
    names: Vec<Arc<str>>,
}

/// What a nursery, or a group as a whole, shows of the share that roots, in cuttings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct RootedCount {
    /// Rooted in closed batches, of those stuck in them.
    pub closed: [f64; 2],
    /// Counted, and the sum of the squares over replicates.
    pub counted: [f64; 2],
    pub closed_batches: usize,
}

impl OwnGroup {
    /// What all show together, or one nursery; nothing where it has no batch of the group.
    pub(super) fn rooted(&self, nursery: Option<&str>) -> Option<RootedCount> {
        let mut out = RootedCount::default();
        let mine = self.members.iter().filter(|it| {
            let name = self.names.get(it.unit);
            nursery.is_none_or(|asked| name.is_some_and(|name| **name == *asked))
        });
        let mut some = false;
        for cell in mine.map(|it| &it.cell) {
            let root = &cell.milestones[Milestone::Root as usize];
            out.closed[0] += root.closed_reached;
            out.closed[1] += cell.closed_stuck as f64;
            out.counted[0] += root.counted;
            out.counted[1] += root.counted_squares;
            out.closed_batches += cell.closed as usize;
            some = true;
        }
        some.then_some(out)
    }

    pub(super) fn gathered(&self, taxon: String) -> Gathered<'_> {
        Gathered {
            taxon,
            by: self.by.clone(),
            members: self.members.iter().map(OwnMember::member).collect(),
            unit: self.unit,
            units: self.units,
            replicates: self.replicates,
        }
    }
}

/// How groups are made of a pool's.
pub(super) struct Grouping<'g> {
    /// Keys of the stored groups, in their order.
    pub stored: &'g [GroupKey],
    /// Keys asked for.
    pub by: &'g [GroupKey],
    pub synonyms: &'g Synonyms,
    /// The groups meant.
    pub admits: &'g dyn Fn(&str, &GroupPlace, i32) -> bool,
}

/// What sorts a group: its taxon's key, then key by key its value, folded; what is not recorded comes last.
type Rank = Vec<(bool, String)>;

/// The stored groups of one group, by nursery.
struct Gathering<'p> {
    by: Vec<(GroupKey, Option<String>)>,
    nurseries: BTreeMap<Arc<str>, Vec<&'p Stored>>,
}

/// The groups, by taxon, then key by key.
pub(super) fn groups(parts: &[PoolPart], grouping: &Grouping) -> Vec<OwnGroup> {
    let mut groups: BTreeMap<Rank, Gathering> = BTreeMap::new();
    for part in parts {
        for (place, stored) in &part.cells {
            let taxon = grouping.synonyms.resolve(&place.taxon);
            if !(grouping.admits)(taxon, place, part.season) {
                continue;
            }
            let by: Vec<(GroupKey, Option<String>)> = grouping
                .by
                .iter()
                .map(|key| (*key, value(*key, place, part, grouping)))
                .collect();
            let mut rank = vec![(false, taxon.to_owned())];
            rank.extend(by.iter().map(|(_, value)| {
                let text = value.as_deref().map(folded).unwrap_or_default();
                (value.is_none(), text)
            }));
            let group = groups.entry(rank).or_insert_with(|| Gathering {
                by,
                nurseries: BTreeMap::new(),
            });
            let own = group.nurseries.entry(part.nursery.clone()).or_default();
            own.push(stored);
        }
    }
    let each = groups.into_iter();
    each.map(|(mut rank, group)| own_group(std::mem::take(&mut rank[0].1), group))
        .collect()
}

fn value(
    key: GroupKey,
    place: &GroupPlace,
    part: &PoolPart,
    grouping: &Grouping,
) -> Option<String> {
    match key {
        GroupKey::Wood => place.wood.clone(),
        GroupKey::Season => Some(part.season.to_string()),
        _ => {
            let at = grouping.stored.iter().position(|stored| *stored == key)?;
            place.by.get(at).cloned().flatten()
        }
    }
}

fn own_group(taxon: String, group: Gathering) -> OwnGroup {
    let nurseries = group.nurseries.len();
    let wholes: Vec<&PoolGroup> = group
        .nurseries
        .values()
        .flatten()
        .filter_map(|stored| match stored {
            Stored::Whole(group) => Some(&**group),
            Stored::Sums(_) => None,
        })
        .collect();
    if !wholes.is_empty() {
        return of_one_nursery(taxon, group.by, &wholes);
    }
    let mut members = Vec::with_capacity(nurseries);
    for (unit, stored) in group.nurseries.values().enumerate() {
        let cells = stored.iter().filter_map(|stored| match stored {
            Stored::Sums(cell) => Some(&**cell),
            Stored::Whole(_) => None,
        });
        members.push(OwnMember {
            unit,
            ..OwnMember::of_cells(cells)
        });
    }
    OwnGroup {
        taxon,
        by: group.by,
        unit: GroupUnit::Nursery,
        units: nurseries,
        replicates: members.iter().map(|it| it.cell.replicates as usize).sum(),
        nurseries,
        names: group.nurseries.into_keys().collect(),
        members,
    }
}

/// The batches of a nursery that is alone in its pool, in the order in which its own journal has them.
fn of_one_nursery(
    taxon: String,
    by: Vec<(GroupKey, Option<String>)>,
    groups: &[&PoolGroup],
) -> OwnGroup {
    let mut replicates: Vec<u32> = groups
        .iter()
        .flat_map(|group| group.batches.iter().map(|it| it.replicate))
        .collect();
    replicates.sort_unstable();
    replicates.dedup();
    let mut members: Vec<(u32, OwnMember)> = Vec::new();
    for group in groups {
        let mut intervals = group.intervals.as_slice();
        for batch in &group.batches {
            let end = intervals.partition_point(|it| it.batch <= batch.batch);
            let (own, rest) = intervals.split_at(end);
            intervals = rest;
            let pieces = Milestone::ALL.map(|milestone| {
                let mine = own.iter().filter(|it| it.milestone == milestone);
                mine.map(PooledInterval::weighted).collect()
            });
            let member = OwnMember {
                // Found, since it was put in.
                unit: replicates.binary_search(&batch.replicate).unwrap_or(0),
                cell: PoolCell::new(std::slice::from_ref(batch), &[]),
                pieces,
            };
            members.push((batch.batch, member));
        }
    }
    members.sort_by_key(|(batch, _)| *batch);
    OwnGroup {
        taxon,
        by,
        members: members.into_iter().map(|(_, member)| member).collect(),
        unit: GroupUnit::Batch,
        units: replicates.len(),
        replicates: replicates.len(),
        nurseries: 1,
        names: Vec::new(),
    }
}

/// The counts of each nursery's replicates.
pub(super) type CountsByNursery = BTreeMap<Arc<str>, Vec<Count>>;

/// What each replicate of a nursery's closed batches reached, in each nursery, taxon and wood stage.
pub(super) fn closed_by_nursery(
    parts: &[PoolPart],
    synonyms: &Synonyms,
    milestone: Milestone,
) -> BTreeMap<(String, Option<String>), CountsByNursery> {
    let mut kinds: BTreeMap<_, CountsByNursery> = BTreeMap::new();
    for part in parts {
        for (place, stored) in &part.cells {
            let Stored::Sums(cell) = stored else { continue };
            let taxon = synonyms.resolve(&place.taxon).to_owned();
            let kind: &mut CountsByNursery = kinds.entry((taxon, place.wood.clone())).or_default();
            let counts = cell.milestones[milestone as usize].closed.iter();
            let counts = counts.map(|&(x, n)| Count {
                x: x.into(),
                n: n.into(),
            });
            kind.entry(part.nursery.clone()).or_default().extend(counts);
        }
    }
    kinds
}

/// A nursery's replicates as one cluster with them inside.
pub(super) fn outer(counts: &[Count]) -> OuterCluster {
    OuterCluster {
        count: Count {
            x: counts.iter().map(|it| it.x).sum(),
            n: counts.iter().map(|it| it.n).sum(),
        },
        inner_squares: counts.iter().map(|it| it.n * it.n).sum(),
    }
}
