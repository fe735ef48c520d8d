//! What is to come of a batch, in one line: its share in the end and when it can be potted. It draws nothing.

use crate::analysis::expect::Model;
use crate::fold::batch::Batch;
use crate::text::dates::Calendar;
use crate::text::forecast::{in_the_end_short, short};
use chrono::NaiveDate;
use std::sync::Arc;

/// The line; for a closed batch what came of it.
#[must_use]
pub fn ahead(batch: &Batch, model: &dyn Fn() -> Arc<Model>, calendar: Calendar) -> String {
    let today: NaiveDate = calendar.today;
    if batch.stick.aside.is_some() || batch.stick.again.is_some() {
        return "Not forecast: it is kept out of the figures.".into();
    }
    if batch.is_open() && batch.is_silent(today) {
        return "Not forecast: no entry for 180 days.".into();
    }
    match model().forecast(batch) {
        None => String::new(),
        Some(forecast) if !batch.is_open() => in_the_end_short(&forecast),
        Some(forecast) if forecast.kin.all == 0 => {
            format!("{} (no history)", short(&forecast, batch, calendar))
        }
        Some(forecast) => short(&forecast, batch, calendar),
    }
}
