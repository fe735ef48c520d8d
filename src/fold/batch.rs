//! A batch as its entries make it: facts, running counts, inspections, events. Filled by the fold.

use super::settle::Standing;
use crate::model::composite::{Heat, Lost, SpokenGuesses};
use crate::model::entry::Stick;
use crate::model::fault::{BookFault, Origin};
use crate::model::id::Id;
use crate::model::listed::{Cover, DiscardReason, LookMethod};
use crate::model::packed::PackedEntry;
use crate::model::takes::Takes;
use crate::model::taxon::Taxon;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use thin_vec::ThinVec;

/// What has become of a batch's cuttings. In cuttings, `ready` and `sold` in plants. It always holds that
/// `stuck` = `remain()` + `lost` + `given_up` + `potted` + `finished_on_bench`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BatchCounts {
    /// Cuttings stuck (for a part: moved in; for a parent the parts that left are taken off).
    pub stuck: u32,
    /// Still on the bench, by highest stage last tallied: bare, callused, rooted, bottom.
    pub bench: [u32; 4],
    /// Lost on the bench by cause.
    pub lost: Lost,
    /// Discarded from the bench for other reasons than a cause of loss.
    pub given_up: u32,
    /// Potted into their first own pots, ever.
    pub potted: u32,
    /// Lost or discarded in pots.
    pub lost_in_pots: u32,
    /// Ready for sale, ever (from pots or bench).
    pub ready: u32,
    /// Plants that were ready straight from the bench; `ready` counts them too.
    pub ready_from_bench: u32,
    /// Cuttings that left the bench in those plants.
    pub finished_on_bench: u32,
    /// Sold, ever.
    pub sold: u32,
}

impl BatchCounts {
    /// Plants in pots, whether ready or not, that are neither lost nor sold.
    #[must_use]
    pub fn in_pots(&self) -> u32 {
        let potted = self.potted + self.ready_from_bench;
        potted.saturating_sub(self.lost_in_pots + self.sold)
    }

    /// Cuttings still on the bench.
    #[must_use]
    pub fn remain(&self) -> u32 {
        self.bench.iter().sum()
    }
}

/// One day's inspection of a batch: the day's removals added up, the last tally standing.
#[derive(Clone, Debug, PartialEq)]
pub struct Inspection {
    /// The day.
    pub day: NaiveDate,
    /// Days since sticking.
    pub age: u32,
    /// How the batch was looked at, if it was (the standing tally's way).
    pub how: Option<LookMethod>,
    /// The standing tally, if any.
    pub tally: Option<Tally>,
    /// Found dead and removed that day.
    pub lost: Lost,
    /// Cuttings potted that day, or gone from the bench as plants ready for sale.
    pub potted: u32,
    /// Discarded from the bench that day, by reason.
    pub discarded: ThinVec<(Option<DiscardReason>, u32)>,
    /// Cuttings that remained after the day.
    pub remain: u32,
    /// Cuttings that remained when the tally was made (after the losses of its own look and all before it).
    pub remain_at_tally: u32,
    /// Milestones of which the tally counts fewer than there must be.
    pub falls: ThinVec<Fall>,
}

/// Fewer at or past a milestone than an earlier count of all and the losses since leave: one of the two counts is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fall {
    /// The milestone.
    pub milestone: Milestone,
    /// How many there should be at least.
    pub expected: u32,
    /// How many were counted.
    pub seen: u32,
}

/// Counts by highest stage among those seen; what was not examined is absent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tally {
    /// How it was made: lift, tug or under.
    pub how: LookMethod,
    /// How many were examined.
    pub seen: u32,
    /// At or past callus, if examined.
    pub callus: Option<u32>,
    /// At or past root, if examined.
    pub root: Option<u32>,
    /// At bottom, if examined.
    pub bottom: Option<u32>,
    /// Spoken guesses that the numbers were read from, if any.
    pub about: Option<SpokenGuesses>,
}

/// The batches that a part goes back to, its parent first, as far as they are found among so many.
pub fn forebears<'a>(
    batch: &'a Batch,
    among: usize,
    found: impl Fn(&Id) -> Option<&'a Batch>,
) -> impl Iterator<Item = &'a Batch> {
    let parent = move |of: &&'a Batch| found(of.parent.as_ref()?);
    // A batch has fewer forebears than there are batches, whatever the parents say.
    std::iter::successors(parent(&batch), parent).take(among)
}

/// One line of a batch's life, in fold order.
#[derive(Clone, Debug, PartialEq)]
pub struct Event {
    /// The entry as it stands (amends applied).
    pub entry: PackedEntry,
    /// Where it was written.
    pub origin: Origin,
    /// Days since sticking.
    pub age: u32,
    /// Whether an amend changed it.
    pub amended: bool,
}

impl Event {
    /// The entry as it stands, to be lived anew.
    pub(super) fn standing(&self) -> Standing {
        Standing {
            entry: self.entry.clone(),
            origin: self.origin,
            amended: self.amended,
        }
    }
}

/// A batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// Its identity: the id of its stick, or of the move that made the part.
    pub key: Id,
    /// Its code as it stands.
    pub code: String,
    /// The batch that it was split from.
    pub parent: Option<Id>,
    /// How many of the parent's cuttings it began with at each stage, when it is a part.
    pub part: Option<[u32; 4]>,
    /// The facts at sticking (a part has its parent's, with its own count).
    pub stick: Arc<Stick>,
    /// The name read, aliases resolved, as the journal first wrote it.
    pub taxon: Arc<Taxon>,
    /// The day of sticking: the clock's start.
    pub stuck_on: NaiveDate,
    /// Where it stands now, as first written, spot and all.
    pub place: Option<String>,
    /// What covers it now.
    pub cover: Option<Cover>,
    /// Bottom heat now.
    pub heat: Option<Heat>,
    /// Counts now.
    pub counts: BatchCounts,
    /// Inspections by day.
    pub inspections: Vec<Inspection>,
    /// All its entries, the stick first, in fold order.
    pub events: Vec<Event>,
    /// Look again on this day, if asked for and no look came since.
    pub again_on: Option<NaiveDate>,
    /// What does not fit.
    pub faults: Vec<BookFault>,
}

/// Days without an entry after which a batch is silent.
pub const SILENT_DAYS: i64 = 180;

impl Batch {
    /// How many cuttings the last tally saw, and of how many, if it saw only a part of the batch. The stages of the whole
    /// batch are then scaled from that part.
    #[must_use]
    pub fn partly_seen(&self) -> Option<(u32, u32)> {
        let mut looks = self.inspections.iter().rev();
        let (seen, of) = looks.find_map(|it| Some((it.tally?.seen, it.remain_at_tally)))?;
        (seen < of).then_some((seen, of))
    }

    /// Whether nothing was heard of it for [`SILENT_DAYS`] up to the end of a day. A day on which the grower
    /// asked to look again counts like an entry of that day, unless it was asked for later than `on`.
    #[must_use]
    pub fn is_silent(&self, on: NaiveDate) -> bool {
        let days = self.events.iter().map(|event| event.entry.at.day());
        let last = days.take_while(|day| *day <= on).last();
        let asked = self.again_on.filter(|_| self.last_day() <= on);
        let heard = last.max(asked).unwrap_or(self.stuck_on);
        (on - heard).num_days() >= SILENT_DAYS
    }

    /// How many cuttings remained at the end of a day, parts that left by then taken off.
    #[must_use]
    pub fn remain_on(&self, day: NaiveDate) -> u32 {
        let before = self.inspections.iter().rev().find(|seen| seen.day <= day);
        let (known, remain) = match before {
            Some(seen) => (Some(seen.day), seen.remain),
            None => (None, self.stick.stuck),
        };
        let since = self.events.iter().filter(|event| {
            let of = event.entry.at.day();
            known.is_none_or(|known| of > known) && of <= day
        });
        let left = since.filter_map(|event| match event.entry.kind().takes() {
            Takes::Part(count) if event.entry.id != self.key => Some(count),
            _ => None,
        });
        left.fold(remain, u32::saturating_sub)
    }

    /// Whether any cutting remains on the bench.
    #[must_use]
    pub fn is_open(&self) -> bool {
        self.counts.remain() > 0
    }

    /// Whether any standing tally was read from spoken guesses.
    #[must_use]
    pub fn rests_on_guesses(&self) -> bool {
        let mut tallies = self.inspections.iter().filter_map(|i| i.tally);
        tallies.any(|tally| tally.about.is_some())
    }

    /// The day of its last entry.
    #[must_use]
    pub fn last_day(&self) -> NaiveDate {
        self.events
            .last()
            .map_or(self.stuck_on, |event| event.entry.at.day())
    }
}

/// A stage whose first day is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Milestone {
    /// Callused or further.
    Callus,
    /// Rooted or further.
    Root,
    /// Roots at the bottom.
    Bottom,
}

impl Milestone {
    /// All, in the order in which a cutting meets them.
    pub const ALL: [Self; 3] = [Self::Callus, Self::Root, Self::Bottom];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Callus => "callus",
            Self::Root => "root",
            Self::Bottom => "bottom",
        }
    }

    /// The milestone of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|m| m.word() == word)
    }

    /// The place of the lowest stage that has it behind it, in counts by stage: bare, callused, rooted, bottom.
    #[must_use]
    pub fn stage(self) -> usize {
        match self {
            Self::Callus => 1,
            Self::Root => 2,
            Self::Bottom => 3,
        }
    }

    /// How many of those seen were at or past it; nothing if the tally did not examine it.
    #[must_use]
    pub fn counted(self, tally: &Tally) -> Option<u32> {
        match self {
            Self::Callus => tally.callus,
            Self::Root => tally.root,
            Self::Bottom => tally.bottom,
        }
    }

    /// Whether the tally's number of those at or past it rests on a spoken guess.
    #[must_use]
    pub fn is_guessed(self, tally: &Tally) -> bool {
        let Some(about) = &tally.about else {
            return false;
        };
        match self {
            Self::Callus => about.callused.or(about.rooted).or(about.bottom).is_some(),
            Self::Root => about.rooted.or(about.bottom).is_some(),
            Self::Bottom => about.bottom.is_some(),
        }
    }

    /// Whether cuttings potted up count as having it: they are callused and rooted, but may
    /// not have filled the cell.
    #[must_use]
    pub fn implied_by_potting(self) -> bool {
        self != Self::Bottom
    }
}
