//! The batches that a question means, with their accounts, replicates and groups, and which of them are left out of the
//! figures, and why. It computes no figure.

use super::batch::{Batch, forebears};
use super::book::Book;
use super::intervals::{Account, kin_places, of_accounts};
use super::names::{ByName, hormone_text};
use super::parts::in_parts;
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::model::text::{folded, place_key, split_spot};
use chrono::{Datelike, NaiveDate};
use compact_str::CompactString;
use serde::Serialize;
use std::cell::RefCell;
use std::collections::HashMap;
use std::fmt;

/// Which batches are meant, and as of when.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Selection {
    /// The batches meant.
    pub filter: Filter,
    /// Whether failed cuttings stuck again count.
    pub again: bool,
    /// Entries after this day are not seen; all are, if absent.
    pub as_of: Option<NaiveDate>,
}

/// A batch that counts.
#[derive(Clone, Debug)]
pub struct IncludedBatch<'a, A = Account> {
    /// The batch.
    pub batch: &'a Batch,
    /// What became of its cuttings, or what is wanted of that.
    pub account: A,
    /// The batch that stands for its replicate.
    pub replicate: &'a Id,
}

/// A batch left out, and why.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ExcludedBatch {
    /// Its code.
    pub batch: String,
    /// The id of its stick.
    #[serde(rename = "stick")]
    pub key: Id,
    /// Why.
    #[serde(flatten)]
    pub reason: ExclusionReason,
}

/// Why a batch is left out of the figures.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "reason", content = "why", rename_all = "kebab-case")]
pub enum ExclusionReason {
    /// Nobody has looked at it yet.
    NeverLooked,
    /// It was set aside, for this reason.
    Aside(String),
    /// Its cuttings are failed ones, cut anew.
    Again,
    /// All its cuttings became parts.
    Parted,
}

impl fmt::Display for ExclusionReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NeverLooked => write!(f, "never looked at"),
            Self::Aside(why) => write!(f, "set aside: {why}"),
            Self::Again => write!(f, "failed cuttings stuck again"),
            Self::Parted => write!(f, "all moved into parts"),
        }
    }
}

/// The batches meant, by day of sticking and key: those that count, and those left out.
#[must_use]
pub fn select<'a>(
    book: &'a Book,
    question: &Selection,
) -> (Vec<IncludedBatch<'a>>, Vec<ExcludedBatch>) {
    select_among(book, book.batches().iter().map(AsRef::as_ref), question)
}

/// As [`select`], where only `among` can be meant.
#[must_use]
pub fn select_among<'a>(
    book: &'a Book,
    among: impl Iterator<Item = &'a Batch>,
    question: &Selection,
) -> (Vec<IncludedBatch<'a>>, Vec<ExcludedBatch>) {
    select_wanted(book, among, question, |account| account)
}

/// As [`select_among`], keeping only what is `wanted` of the accounts.
pub fn select_wanted<'a, A: Send>(
    book: &'a Book,
    among: impl Iterator<Item = &'a Batch>,
    question: &Selection,
    wanted: impl Fn(Account) -> A + Sync,
) -> (Vec<IncludedBatch<'a, A>>, Vec<ExcludedBatch>) {
    let admits = question.filter.within(book);
    let mut batches: Vec<&Batch> = among
        .filter(|batch| question.as_of.is_none_or(|day| batch.stuck_on <= day))
        .filter(|batch| admits(batch))
        .collect();
    batches.sort_by_key(|batch| (batch.stuck_on, &batch.key));
    let judge = |batch: &Batch, account: Account| {
        // A part that is split off later is not there yet.
        let is_there = batch.part.is_none() || account.stuck > 0;
        is_there.then(|| match left_out(batch, &account, question.again) {
            Some(reason) => Err(reason),
            None => Ok(wanted(account)),
        })
    };
    let judged = of_accounts(&batches, question.as_of, book.threads(), judge);
    let stands = replicates(book, &batches);
    let (mut counted, mut skipped) = (Vec::new(), Vec::new());
    for ((&batch, judged), stands) in batches.iter().zip(judged).zip(stands) {
        match judged {
            None => {}
            Some(Err(reason)) => skipped.push(ExcludedBatch {
                batch: batch.code.clone(),
                key: batch.key.clone(),
                reason,
            }),
            Some(Ok(account)) => counted.push(IncludedBatch {
                batch,
                account,
                replicate: &batches[stands].key,
            }),
        }
    }
    (counted, skipped)
}

fn left_out(batch: &Batch, account: &Account, again: bool) -> Option<ExclusionReason> {
    if let Some(why) = &batch.stick.aside {
        return Some(ExclusionReason::Aside(why.to_string()));
    }
    if batch.stick.again.is_some() && !again {
        return Some(ExclusionReason::Again);
    }
    if account.stuck == 0 {
        return Some(ExclusionReason::Parted);
    }
    (!account.looked).then_some(ExclusionReason::NeverLooked)
}

/// Fewer batches than this are not worth a thread of their own.
const FEW: usize = 1024;

// Which batches are one replicate: cuttings that share a fate and may not be counted as several
// trials. It computes no figure.

/// What makes two batches one replicate.
#[derive(PartialEq, Eq, Hash)]
enum Bond {
    /// In a trial only parts of one batch share a replicate.
    Own(Id),
    /// Outside a trial batches of one taxon, source, place and day of sticking share a replicate.
    Bucket {
        taxon: String,
        source: Option<String>,
        place: Option<String>,
        day: NaiveDate,
    },
}

/// For each batch the position of the one that stands for its replicate: the first by day of
/// sticking, then by key.
///
/// Parts are one replicate with what they were split from; so are batches outside a trial of one
/// taxon, source, place (its spot aside) and day of sticking. What is not recorded compares as
/// equal: fewer replicates are claimed, not more.
#[must_use]
pub fn replicates(book: &Book, batches: &[&Batch]) -> Vec<usize> {
    let places = kin_places(batches);
    let bonds = in_parts(batches, book.threads(), FEW, |_, some| {
        let bonds = some.iter();
        let bonds = bonds.map(|batch| bond(book, root(batch, batches, &places)));
        bonds.collect::<Vec<Bond>>()
    });
    let bonds: Vec<Bond> = bonds.into_iter().flatten().collect();
    let mut order: Vec<usize> = (0..batches.len()).collect();
    order.sort_by_key(|&at| (batches[at].stuck_on, &batches[at].key));
    let mut first: HashMap<&Bond, usize> = HashMap::new();
    for at in order {
        first.entry(&bonds[at]).or_insert(at);
    }
    bonds
        .iter()
        .zip(0..)
        .map(|(bond, at)| first.get(bond).copied().unwrap_or(at))
        .collect()
}

/// The batch that a part goes back to; one whose parent is not there stands for itself.
fn root<'a>(batch: &'a Batch, batches: &[&'a Batch], places: &HashMap<&Id, usize>) -> &'a Batch {
    let found = |id: &Id| places.get(id).map(|&at| batches[at]);
    forebears(batch, batches.len(), found)
        .last()
        .unwrap_or(batch)
}

fn bond(book: &Book, batch: &Batch) -> Bond {
    if batch.stick.trial.is_some() {
        return Bond::Own(batch.key.clone());
    }
    let said = |key: GroupKey| Some(folded(&key.value_for(book, batch)?));
    Bond::Bucket {
        taxon: batch.taxon.key(),
        source: said(GroupKey::Source),
        place: said(GroupKey::Place),
        day: batch.stuck_on,
    }
}

impl Filter {
    /// Whether the filter admits a batch of the book.
    #[must_use]
    pub fn admits(&self, book: &Book, batch: &Batch) -> bool {
        let is_meant = |text: &str| book.taxa().is_meant(text, &batch.taxon);
        self.admits_named(book, batch, is_meant)
    }

    /// As [`Filter::admits`], for many batches of a book: whether a name is meant is found out once.
    pub fn within<'a>(&'a self, book: &'a Book) -> impl Fn(&Batch) -> bool + 'a {
        let meant = RefCell::new(ByName::default());
        move |batch| {
            self.admits_named(book, batch, |text| {
                let find_out = |_: &str| book.taxa().is_meant(text, &batch.taxon);
                *meant.borrow_mut().get_or_make(&batch.stick.taxon, find_out)
            })
        }
    }

    fn admits_named(&self, book: &Book, batch: &Batch, is_meant: impl Fn(&str) -> bool) -> bool {
        let trial = |text: &String| {
            let own = batch.stick.trial.as_deref();
            own.is_some_and(|own| folded(own) == folded(text))
        };
        self.taxon.as_ref().is_none_or(|text| is_meant(text))
            && self
                .only
                .as_ref()
                .is_none_or(|key| batch.taxon.key() == *key)
            && self.wood.is_none_or(|wood| batch.stick.wood == Some(wood))
            && self
                .season
                .is_none_or(|season| book.season(batch.stuck_on) == season)
            && self.place.as_ref().is_none_or(|p| at_place(book, batch, p))
            && self.trial.as_ref().is_none_or(trial)
            && self.since.is_none_or(|day| batch.stuck_on >= day)
            && self.until.is_none_or(|day| batch.stuck_on <= day)
    }
}

/// Whether a batch was stuck at a place; on that spot if one is given.
fn at_place(book: &Book, batch: &Batch, wanted: &str) -> bool {
    let Some(place) = batch.stick.place.as_deref() else {
        return false;
    };
    let (place, wanted) = (book.places().shown(place), book.places().shown(wanted));
    match split_spot(&wanted) {
        (_, Some(_)) => folded(&place) == folded(&wanted),
        (name, None) => place_key(&place) == folded(name),
    }
}

impl GroupKey {
    /// The group of a batch, as the journal first wrote it; nothing if not recorded.
    #[must_use]
    pub fn value_for(self, book: &Book, batch: &Batch) -> Option<String> {
        let stick = &batch.stick;
        let text = |value: &Option<CompactString>| {
            let value = value.as_deref()?;
            Some(book.spelling().first(self.word(), value))
        };
        let day = batch.stuck_on;
        match self {
            Self::Taxon => Some(batch.taxon.shown()),
            Self::Wood => stick.wood.map(|w| w.word().to_owned()),
            Self::Season => Some(book.season(day).to_string()),
            Self::Month => Some(format!("{:04}-{:02}", day.year(), day.month())),
            Self::Week => {
                let week = day.iso_week();
                Some(format!("{:04}-W{:02}", week.year(), week.week()))
            }
            Self::Place => {
                let shown = book.places().shown(stick.place.as_deref()?);
                Some(split_spot(&shown).0.to_owned())
            }
            Self::Cover => stick.cover.map(|c| c.word().to_owned()),
            Self::Hormone => {
                let hormone = hormone_text(stick.hormone.as_ref()?);
                Some(book.spelling().first("hormone", &hormone))
            }
            Self::Medium => text(&stick.medium),
            Self::Cut => stick.cut.map(|c| c.word().to_owned()),
            Self::Piece => stick.piece.map(|p| p.word().to_owned()),
            Self::Source => text(&stick.source),
            Self::Trial => text(&stick.trial),
            Self::Arm => text(&stick.arm),
        }
    }
}
