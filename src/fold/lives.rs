//! The lives of all batches. Those of a family, a stick and all parts that come of it, are folded together, when first
//! asked for, and serve the next book where nothing touched them.

use super::assign::EntryNumbers;
use super::batch::Batch;
use super::life::{Birth, NamesRead, live};
use super::parts::in_parts;
use super::settle::Standing;
use crate::model::fault::BookFault;
use crate::model::id::Id;
use foldhash::HashMap;
use std::cell::OnceCell;
use std::sync::{Arc, OnceLock};

/// A batch as folded, with its faults by the number of the event that shows each.
#[derive(Clone, Debug)]
pub struct FoldedBatch {
    /// A batch of the family as it stands.
    pub batch: Arc<Batch>,
    /// What does not fit, with the place of its entry in fold order.
    pub faults: Vec<(usize, BookFault)>,
}

/// Where a batch stands among its kin.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kinship {
    /// The number of its family.
    pub family: usize,
    /// Its number in the family: 0 is the stick.
    pub member: usize,
}

/// All entries that stand, and the families whose lives they tell.
#[derive(Debug, Default)]
pub struct Lives {
    standing: Vec<Standing>,
    entries: EntryNumbers,
    /// Each shared with the next book as long as nothing touches it.
    families: Vec<Arc<Family>>,
    /// On so many threads what there is much of is worked out.
    pub(super) threads: usize,
}

/// The batches of a family with the entries of each, the stick first.
#[derive(Debug)]
struct Family {
    members: Vec<Member>,
    /// What came of them, by member.
    folded: OnceLock<Vec<FoldedBatch>>,
}

/// A batch of a family.
#[derive(Clone, Debug)]
struct Member {
    /// The member that it was split from.
    parent: Option<usize>,
    /// Its number among all batches.
    batch: usize,
}

/// Fewer families than this are not worth a thread.
const FEW: usize = 256;

impl Lives {
    /// The families of batches with these parents, a parent always before its parts, and the place of each batch among
    /// them. None is folded yet; they will be, on so many threads.
    pub fn new(
        standing: Vec<Standing>,
        (parents, entries): (&[Option<usize>], EntryNumbers),
        threads: usize,
    ) -> (Self, Vec<Kinship>) {
        let mut families: Vec<Family> = Vec::with_capacity(parents.len());
        let mut kinships: Vec<Kinship> = Vec::with_capacity(parents.len());
        for (batch, parent) in parents.iter().copied().enumerate() {
            let family = match parent {
                Some(parent) => kinships[parent].family,
                None => {
                    families.push(Family {
                        members: Vec::with_capacity(1),
                        folded: OnceLock::new(),
                    });
                    families.len() - 1
                }
            };
            let members = &mut families[family].members;
            let member = members.len();
            members.push(Member {
                parent: parent.map(|parent| kinships[parent].member),
                batch,
            });
            kinships.push(Kinship { family, member });
        }
        let lives = Self {
            standing,
            entries,
            families: families.into_iter().map(Arc::new).collect(),
            threads,
        };
        (lives, kinships)
    }

    /// The same with some entries more, later than all others, and each with the batch that it is about, if any. Families
    /// that none is about are shared.
    pub fn with(&self, more: Vec<(Standing, Option<Kinship>)>) -> Self {
        let mut lives = Self {
            standing: Vec::with_capacity(self.standing.len() + more.len()),
            entries: EntryNumbers::default(),
            families: self.families.clone(),
            threads: self.threads,
        };
        lives.standing.extend_from_slice(&self.standing);
        let mut given: Vec<(u32, u32)> = Vec::with_capacity(more.len());
        for (standing, about) in more {
            if let Some(about) = about {
                let family = &mut lives.families[about.family];
                *family = Arc::new(Family {
                    members: family.members.clone(),
                    folded: OnceLock::new(),
                });
                // There are no more batches, nor entries, than lines, whose numbers are as wide.
                let number = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
                let batch = family.members[about.member].batch;
                given.push((number(batch), number(lives.standing.len())));
            }
            lives.standing.push(standing);
        }
        lives.entries = self.entries.with(&given);
        lives
    }

    /// Whether a batch's family is the very one of another book.
    pub fn shares_family(&self, of: Kinship, other: &Self) -> bool {
        let [own, held] = [self, other].map(|lives| lives.families.get(of.family));
        own.zip(held)
            .is_some_and(|(own, held)| Arc::ptr_eq(own, held))
    }

    /// All entries that stand, in fold order.
    pub fn standing(&self) -> &[Standing] {
        &self.standing
    }

    /// The entries of a batch, the one that began it first.
    pub fn entries(&self, of: Kinship) -> impl ExactSizeIterator<Item = &Standing> {
        self.entries_of(&self.families[of.family].members[of.member])
    }

    /// The entries of a member, the one that began it first.
    fn entries_of(&self, member: &Member) -> impl ExactSizeIterator<Item = &Standing> + Clone {
        let numbers = self.entries.of_batch(member.batch).iter();
        numbers.map(|at| &self.standing[*at as usize])
    }

    /// The identity of a member.
    fn key_of(&self, member: &Member) -> Option<&Id> {
        Some(&self.entries_of(member).next()?.entry.id)
    }

    /// The identity of the batch that one was split from.
    pub fn parent(&self, of: Kinship) -> Option<&Id> {
        let members = &self.families[of.family].members;
        let parent = members[of.member].parent?;
        self.key_of(members.get(parent)?)
    }

    /// Takes over what was folded for an earlier book of families that have the same entries still.
    pub fn take_over(&self, before: &Self) {
        if before.families.iter().all(|it| it.folded.get().is_none()) {
            return;
        }
        for (family, held) in self.alike(before) {
            if let Some(folded) = held.folded.get() {
                // It was empty, so nothing is refused.
                let _ = family.folded.set(folded.clone());
            }
        }
    }

    /// The families that another book has with the very same entries, and as that book has them.
    fn alike<'a>(&'a self, other: &'a Self) -> impl Iterator<Item = (&'a Family, &'a Family)> {
        let keyed = OnceCell::new();
        let by_key = move || {
            let each = other.families.iter().map(AsRef::as_ref);
            let each = each.filter_map(|it| Some((it.key(other)?, it)));
            each.collect::<HashMap<&Id, &Family>>()
        };
        self.families
            .iter()
            .enumerate()
            .filter_map(move |(at, family)| {
                let there = other.families.get(at);
                if there.is_some_and(|there| Arc::ptr_eq(there, family)) {
                    return Some((family.as_ref(), family.as_ref()));
                }
                let key = family.key(self)?;
                // Mostly both have the same families in the same places, and none need be looked up.
                let there = there
                    .map(AsRef::as_ref)
                    .filter(|it| it.key(other) == Some(key));
                let held = there.or_else(|| keyed.get_or_init(by_key).get(key).copied())?;
                let same = family.is_alike(self, held, other);
                same.then_some((family.as_ref(), held))
            })
    }

    /// A batch as folded; nothing if its family ends before it.
    pub fn folded(&self, of: Kinship) -> Option<&FoldedBatch> {
        let family = self.families.get(of.family)?;
        let fold = || family.fold(self, &mut NamesRead::default());
        family.folded.get_or_init(fold).get(of.member)
    }

    /// Folds all families that are not.
    pub fn fold_all(&self) {
        let each = self.families.iter().map(AsRef::as_ref);
        let unfolded: Vec<&Family> = each.filter(|it| it.folded.get().is_none()).collect();
        in_parts(&unfolded, self.threads, FEW, |_, part| {
            let mut names = NamesRead::default();
            for family in part {
                let fold = || family.fold(self, &mut names);
                family.folded.get_or_init(fold);
            }
        });
    }

    /// What `tell` makes of each batch, family by family; a life that is folded for this alone is not kept.
    pub fn gathered<T: Send>(&self, tell: impl Fn(&FoldedBatch) -> Vec<T> + Sync) -> Vec<T> {
        let all: Vec<&Family> = self.families.iter().map(AsRef::as_ref).collect();
        self.gathered_of(&all, tell)
    }

    /// As [`Lives::gathered`], but for the families that another book has with the very same entries.
    pub fn gathered_beside<T: Send>(
        &self,
        other: &Self,
        tell: impl Fn(&FoldedBatch) -> Vec<T> + Sync,
    ) -> Vec<T> {
        let alike = self.alike(other).map(|(family, _)| family);
        let mut alike = alike.map(std::ptr::from_ref).peekable();
        let is_new = |it: &&Family| alike.next_if(|same| std::ptr::eq(*same, *it)).is_none();
        let own = self.families.iter().map(AsRef::as_ref);
        let new: Vec<&Family> = own.filter(is_new).collect();
        self.gathered_of(&new, tell)
    }

    fn gathered_of<T: Send>(
        &self,
        families: &[&Family],
        tell: impl Fn(&FoldedBatch) -> Vec<T> + Sync,
    ) -> Vec<T> {
        let parts = in_parts(families, self.threads, FEW, |_, part| {
            let (mut names, mut out) = (NamesRead::default(), Vec::new());
            for family in part {
                match family.folded.get() {
                    Some(folded) => out.extend(folded.iter().flat_map(&tell)),
                    None => {
                        let folded = family.fold(self, &mut names);
                        out.extend(folded.iter().flat_map(&tell));
                    }
                }
            }
            out
        });
        parts.into_iter().flatten().collect()
    }
}

impl Family {
    /// The id of the stick that it comes of.
    fn key<'a>(&self, lives: &'a Lives) -> Option<&'a Id> {
        lives.key_of(self.members.first()?)
    }

    /// Whether another, of a book of its own, has the very same batches with the very same entries.
    fn is_alike(&self, own: &Lives, other: &Self, others: &Lives) -> bool {
        let same = |one: &Member, two: &Member| {
            let (one, two) = (own.entries_of(one), others.entries_of(two));
            one.len() == two.len() && one.zip(two).all(|(a, b)| a.is_same(b))
        };
        let mut pairs = self.members.iter().zip(&other.members);
        self.members.len() == other.members.len() && pairs.all(|(one, two)| same(one, two))
    }

    /// Folds it: a parent stands before its parts, which begin with what left it.
    fn fold(&self, lives: &Lives, names: &mut NamesRead) -> Vec<FoldedBatch> {
        let mut to_come: HashMap<Id, Birth> = HashMap::default();
        let mut out = Vec::with_capacity(self.members.len());
        for member in &self.members {
            let mut entries = lives.entries_of(member);
            let Some(began) = entries.next() else {
                continue;
            };
            let part = to_come.remove(&began.entry.id);
            let Some(birth) = part.or_else(|| Birth::from_stick(began, names)) else {
                continue;
            };
            let lived = live(birth, entries);
            let parts = lived.parts.into_iter();
            to_come.extend(parts.map(|part| (part.event.entry.id.clone(), part)));
            out.push(FoldedBatch {
                batch: Arc::new(lived.batch),
                faults: lived.faults,
            });
        }
        out
    }
}
