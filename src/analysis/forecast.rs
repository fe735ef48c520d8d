//! Forecasts of open batches: how many will root, and when, conditioned on all that was seen of each and borrowing
//! from others of its kind. The answer of `forecast`; what to expect is learnt elsewhere.

use super::expect::failing::FailingSign;
use super::expect::{DayForecast, DaySpan, Forecast, Kin, Model};
use super::plan::{Choice, CountRange};
use crate::fold::Book;
use crate::fold::batch::Batch;
use crate::model::id::Id;
use crate::model::listed::Wood;
use crate::stats::workers;
use chrono::{Days, NaiveDate};
use serde::Serialize;

/// The forecasts of open batches, and who has none.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Forecasts {
    /// The day at whose end the journal is read.
    pub on: NaiveDate,
    /// Replicates that tell of rooting; 0: there is no history to borrow from.
    pub history: u32,
    /// The forecasts, by day of sticking, then code.
    pub batches: Vec<BatchForecast>,
    /// Open batches without an entry for 180 days, by code.
    pub silent: Vec<String>,
    /// Open batches left out: set aside, or failed cuttings stuck again, by code.
    pub left_out: Vec<String>,
    /// Wait or stick again, if it was asked for.
    pub choice: Option<Choice>,
}

/// The forecast of one batch: what is expected of its end, beside what was seen.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BatchForecast {
    /// Its code.
    pub batch: String,
    /// Its identity.
    pub stick: Id,
    /// The taxon as it is shown.
    pub taxon: String,
    /// The wood stage, if recorded.
    pub wood: Option<Wood>,
    /// The day of sticking.
    pub stuck_on: NaiveDate,
    /// Days since then.
    pub day: i64,
    /// Cuttings stuck, parts that left taken off.
    pub stuck: u32,
    /// Seen rooted so far.
    pub rooted: f64,
    /// Waiting on the bench, not rooted when last examined.
    pub waiting: f64,
    /// Days since sticking of the last look; 0 without any.
    pub looked: u32,
    /// Days since the last look, or since sticking without any.
    pub unseen_days: u32,
    /// The chance that a cutting seen on the bench still stands.
    pub standing: f64,
    /// Not looked at for so long past the day by which its like are cleared that plans count on nothing of it.
    pub lost_sight_of: bool,
    /// Why it is failing, what decides first: its loss is taken to go on. Empty if it is not.
    pub failing: Vec<FailingSign>,
    /// How many are expected to have rooted in the end.
    pub count: ExpectedCount,
    /// The day by which half of those that root in the end are expected to have.
    pub half: Option<ExpectedDate>,
    /// The day on which it is expected to be ready for potting; absent once all that rooted are potted.
    pub potting: Option<ExpectedDate>,
    /// Ready for potting already, and not potted.
    pub ready_to_pot: bool,
    /// All that were seen rooted have left the bench.
    pub potted: bool,
    /// The batches from which it borrows.
    pub kin: Kin,
}

/// A count that is expected.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ExpectedCount {
    /// The count that is as likely exceeded as not.
    pub middle: usize,
    /// The mean.
    pub mean: f64,
    /// Holds as likely as not.
    pub p50: CountRange,
    /// Holds in four of five cases.
    pub p80: CountRange,
}

/// A day that is expected, in days since sticking.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ExpectedDate {
    /// The day, counted from sticking, that is as likely to be passed as not.
    pub middle: f64,
    /// The same as a date.
    pub date: NaiveDate,
    /// Holds as likely as not.
    pub p50: DaySpan,
    /// Holds in four of five cases.
    pub p80: DaySpan,
    /// It was seen already.
    pub seen: bool,
}

/// The day of the calendar that is so many days after sticking.
#[must_use]
pub fn date(stuck_on: NaiveDate, day: f64) -> NaiveDate {
    let days = Days::new(day.round().clamp(0.0, 36_500.0) as u64);
    stuck_on.checked_add_days(days).unwrap_or(stuck_on)
}

impl ExpectedDate {
    fn new(when: &DayForecast, stuck_on: NaiveDate) -> Self {
        Self {
            middle: when.middle,
            date: date(stuck_on, when.middle),
            p50: when.half,
            p80: when.wide,
            seen: when.draws.len() == 1,
        }
    }
}

impl ExpectedCount {
    fn new(forecast: &Forecast) -> Self {
        let range = |chance| {
            let (low, high) = forecast.count_range(chance);
            CountRange { low, high }
        };
        Self {
            middle: forecast.middle(),
            mean: forecast.count.mean(),
            p50: range(0.5),
            p80: range(0.8),
        }
    }
}

impl BatchForecast {
    /// Of a batch, by the model; nothing if it has not seen it.
    #[must_use]
    pub fn new(model: &Model, batch: &Batch) -> Option<Self> {
        let forecast = model.forecast(batch)?;
        let on = model.on();
        let potted = forecast.is_potted(batch, on);
        let when = |when: &Option<DayForecast>| {
            when.as_ref()
                .map(|when| ExpectedDate::new(when, batch.stuck_on))
        };
        Some(Self {
            batch: batch.code.clone(),
            taxon: batch.taxon.shown(),
            wood: batch.stick.wood,
            stuck_on: batch.stuck_on,
            day: (on - batch.stuck_on).num_days(),
            stuck: forecast.stuck,
            rooted: forecast.rooted,
            waiting: forecast.waiting,
            looked: forecast.looked,
            unseen_days: forecast.unseen_days,
            standing: forecast.standing,
            lost_sight_of: forecast.is_lost_sight_of,
            count: ExpectedCount::new(&forecast),
            half: when(&forecast.half),
            potting: when(&forecast.potting).filter(|_| !potted),
            ready_to_pot: forecast.ready_to_pot && !potted,
            potted,
            kin: forecast.kin,
            stick: forecast.key,
            failing: forecast.failing,
        })
    }

    /// The day since which nobody looked at it: of its last look, or of sticking.
    #[must_use]
    pub fn last_look(&self) -> NaiveDate {
        date(self.stuck_on, f64::from(self.looked))
    }
}

/// The forecasts of all batches with cuttings on the bench on the day learnt, of those that are meant.
#[must_use]
pub fn forecasts(book: &Book, model: &Model, is_meant: &dyn Fn(&Batch) -> bool) -> Forecasts {
    let on = model.on();
    let mut out = Forecasts {
        on,
        history: model.history(),
        batches: Vec::new(),
        silent: Vec::new(),
        left_out: Vec::new(),
        choice: None,
    };
    let mut open = Vec::new();
    for batch in book.batches() {
        if !model.is_open(batch) || !is_meant(batch) {
            continue;
        }
        if batch.is_silent(on) {
            out.silent.push(batch.code.clone());
        } else if batch.stick.aside.is_some() || batch.stick.again.is_some() {
            out.left_out.push(batch.code.clone());
        } else {
            open.push(batch);
        }
    }
    let found = workers::map(open.len(), |at| BatchForecast::new(model, open[at]));
    out.batches = found.into_iter().flatten().collect();
    out
}
