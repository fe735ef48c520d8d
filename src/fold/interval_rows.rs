//! The intervals of each batch as a flat table for any statistics package. It writes no file.

use super::Book;
use super::batch::Milestone;
use super::intervals::{IntervalStatus, WeightedInterval};
use super::selection::{ExcludedBatch, IncludedBatch, Selection, select};
use crate::model::filter::GroupKey;
use serde::Serialize;
use std::rc::Rc;

/// The intervals of the batches meant.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Intervals<'a> {
    /// The rows, by day of sticking and key, then milestone, fate and days.
    #[serde(rename = "intervals")]
    pub rows: Vec<IntervalRow<'a>>,
    /// The batches left out.
    pub skipped: Vec<ExcludedBatch>,
}

/// One row: some cuttings of one batch, of one fate for one milestone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct IntervalRow<'a> {
    /// What is the same in all rows of the batch.
    #[serde(flatten)]
    pub facts: Rc<RowFacts<'a>>,
    /// The milestone.
    pub milestone: Milestone,
    /// Days since sticking on which it had not come.
    pub left: u32,
    /// Days since sticking by which it had; absent only for not yet.
    pub right: Option<u32>,
    /// How many cuttings.
    pub weight: f64,
    /// Their fate.
    pub status: IntervalStatus,
}

/// What the table says of a batch; absent where it was not recorded.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RowFacts<'a> {
    /// Its code.
    pub batch: &'a str,
    /// The id of its stick, or of the move that made it.
    pub stick: String,
    /// The taxon as it is shown.
    pub taxon: String,
    /// Wood stage.
    pub wood: Option<&'static str>,
    /// The nursery's year of sticking.
    pub season: Option<String>,
    /// The place at sticking.
    pub place: Option<&'a str>,
    /// The trial.
    pub trial: Option<&'a str>,
    /// Its arm.
    pub arm: Option<&'a str>,
    /// The id of the batch that stands for its replicate.
    pub replicate: String,
}

impl IntervalRow<'_> {
    /// The headings of the table, in the order of [`IntervalRow::cells`].
    pub const HEADINGS: [&'static str; 14] = [
        "batch",
        "stick",
        "taxon",
        "wood",
        "season",
        "place",
        "trial",
        "arm",
        "replicate",
        "milestone",
        "left",
        "right",
        "weight",
        "status",
    ];

    /// The row as texts; empty where nothing was recorded.
    #[must_use]
    pub fn cells(&self) -> [String; 14] {
        let facts = &self.facts;
        let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
        [
            facts.batch.to_owned(),
            facts.stick.clone(),
            facts.taxon.clone(),
            text(facts.wood),
            text(facts.season.as_deref()),
            text(facts.place),
            text(facts.trial),
            text(facts.arm),
            facts.replicate.clone(),
            self.milestone.word().to_owned(),
            self.left.to_string(),
            self.right.map(|day| day.to_string()).unwrap_or_default(),
            self.weight.to_string(),
            self.status.word().to_owned(),
        ]
    }
}

/// The intervals of the batches meant.
#[must_use]
pub fn interval_rows<'a>(book: &'a Book, question: &Selection) -> Intervals<'a> {
    let (counted, skipped) = select(book, question);
    let mut rows = Vec::new();
    for item in &counted {
        let facts = Rc::new(facts(book, item));
        for milestone in Milestone::ALL {
            let pieces = &item.account.milestone(milestone).pieces;
            rows.extend(pieces.iter().map(|piece| row(&facts, milestone, piece)));
        }
    }
    Intervals { rows, skipped }
}

fn facts<'a>(book: &Book, item: &IncludedBatch<'a>) -> RowFacts<'a> {
    let batch = item.batch;
    let stick = &batch.stick;
    RowFacts {
        batch: &batch.code,
        stick: batch.key.to_string(),
        taxon: batch.taxon.shown(),
        wood: stick.wood.map(crate::model::listed::Wood::word),
        season: GroupKey::Season.value_for(book, batch),
        place: stick.place.as_deref(),
        trial: stick.trial.as_deref(),
        arm: stick.arm.as_deref(),
        replicate: item.replicate.to_string(),
    }
}

fn row<'a>(
    facts: &Rc<RowFacts<'a>>,
    milestone: Milestone,
    piece: &WeightedInterval,
) -> IntervalRow<'a> {
    IntervalRow {
        facts: facts.clone(),
        milestone,
        left: piece.left,
        right: piece.right,
        weight: piece.weight,
        status: piece.status,
    }
}
