//! The batches that a question means: with their accounts and replicates, and which of them are left
//! out of the figures, and why. It computes no figure.

use super::Book;
use super::batch::Batch;
use super::intervals::{Account, accounts};
use super::replicates::replicates;
use crate::model::filter::Filter;
use crate::model::id::Id;
use chrono::NaiveDate;
use std::fmt;

/// Which batches are meant, and as of when.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Question {
    /// The batches meant.
    pub filter: Filter,
    /// Whether failed cuttings stuck again count.
    pub again: bool,
    /// Entries after this day are not seen; all are, if absent.
    pub as_of: Option<NaiveDate>,
}

/// A batch that counts.
#[derive(Clone, Debug)]
pub struct Counted<'a> {
    /// The batch.
    pub batch: &'a Batch,
    /// What became of its cuttings.
    pub account: Account,
    /// The batch that stands for its replicate.
    pub replicate: &'a Id,
}

/// A batch left out, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Skipped {
    /// Its code.
    pub batch: String,
    /// Its identity.
    pub key: Id,
    /// Why.
    pub reason: LeftOut,
}

/// Why a batch is left out of the figures.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// Nobody has looked at it yet.
    NeverLooked,
    /// It was set aside, for this reason.
    Aside(String),
    /// Its cuttings are failed ones, cut anew.
    Again,
    /// All its cuttings became parts.
    Parted,
}

impl fmt::Display for LeftOut {
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
pub fn meant<'a>(book: &'a Book, question: &Question) -> (Vec<Counted<'a>>, Vec<Skipped>) {
    let mut batches: Vec<&Batch> = book
        .batches()
        .iter()
        .map(AsRef::as_ref)
        .filter(|batch| question.as_of.is_none_or(|day| batch.stuck_on <= day))
        .filter(|batch| question.filter.admits(book, batch))
        .collect();
    batches.sort_by_key(|batch| (batch.stuck_on, &batch.key));
    let accounts = accounts(&batches, question.as_of);
    let stands = replicates(book, &batches);
    let (mut counted, mut skipped) = (Vec::new(), Vec::new());
    for ((&batch, account), stands) in batches.iter().zip(accounts).zip(stands) {
        // A part that is split off later is not there yet.
        if batch.part.is_some() && account.stuck == 0 {
            continue;
        }
        match left_out(batch, &account, question.again) {
            Some(reason) => skipped.push(Skipped {
                batch: batch.code.clone(),
                key: batch.key.clone(),
                reason,
            }),
            None => counted.push(Counted {
                batch,
                account,
                replicate: &batches[stands].key,
            }),
        }
    }
    (counted, skipped)
}

fn left_out(batch: &Batch, account: &Account, again: bool) -> Option<LeftOut> {
    if let Some(why) = &batch.stick.aside {
        return Some(LeftOut::Aside(why.clone()));
    }
    if batch.stick.again.is_some() && !again {
        return Some(LeftOut::Again);
    }
    if account.stuck == 0 {
        return Some(LeftOut::Parted);
    }
    (!account.looked).then_some(LeftOut::NeverLooked)
}
