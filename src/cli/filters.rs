//! The filters and group keys that every reading command shares.

use crate::app::failure::Failure;
use crate::model::filter::{Filter, GroupKey};
use crate::model::listed::Wood;
use chrono::NaiveDate;
use clap::Args;

/// Which batches are meant.
#[derive(Args, Clone, Debug, Default)]
#[command(next_help_heading = "Which batches")]
pub struct Filters {
    /// Only this taxon, genus, or part of a name
    #[arg(long, value_name = "NAME")]
    pub taxon: Option<String>,
    /// Only this wood stage
    #[arg(long, value_name = "STAGE")]
    pub wood: Option<String>,
    /// Only batches stuck in this season
    #[arg(long, value_name = "YEAR")]
    pub season: Option<i32>,
    /// Only batches stuck at this place
    #[arg(long)]
    pub place: Option<String>,
    /// Only batches of this trial
    #[arg(long, value_name = "NAME")]
    pub trial: Option<String>,
    /// Only batches stuck on this day or later
    #[arg(long, value_name = "DAY")]
    pub since: Option<String>,
    /// Only batches stuck on this day or earlier
    #[arg(long, value_name = "DAY")]
    pub until: Option<String>,
}

impl Filters {
    /// The filter that they stand for. `read_day` understands a day as typed.
    ///
    /// # Errors
    /// If a stage or a day is not understood.
    pub fn read(
        &self,
        read_day: &dyn Fn(&str) -> Result<NaiveDate, Failure>,
    ) -> Result<Filter, Failure> {
        let day = |text: &Option<String>| text.as_deref().map(read_day).transpose();
        Ok(Filter {
            taxon: self.taxon.clone(),
            wood: self.wood.as_deref().map(wood).transpose()?,
            season: self.season,
            place: self.place.clone(),
            trial: self.trial.clone(),
            since: day(&self.since)?,
            until: day(&self.until)?,
            ..Filter::default()
        })
    }
}

/// A wood stage as typed.
///
/// # Errors
/// If it is none.
pub fn wood(text: &str) -> Result<Wood, Failure> {
    Wood::from_word(&text.to_lowercase()).ok_or_else(|| {
        let words: Vec<_> = Wood::ALL.iter().map(|wood| wood.word()).collect();
        Failure::usage(format!("'{text}' is no wood stage."))
            .hint(format!("Say {}.", words.join(", ")))
    })
}

/// Group keys as typed: words set off by commas.
///
/// # Errors
/// If one is no key, or stands twice.
pub fn group_keys(text: &str) -> Result<Vec<GroupKey>, Failure> {
    let mut keys = Vec::new();
    for word in text
        .split(',')
        .map(str::trim)
        .filter(|word| !word.is_empty())
    {
        let key = GroupKey::from_word(&word.to_lowercase()).ok_or_else(|| {
            let words: Vec<_> = GroupKey::ALL.iter().map(|key| key.word()).collect();
            Failure::usage(format!("'{word}' is nothing to group by."))
                .hint(format!("Say {}.", words.join(", ")))
        })?;
        if keys.contains(&key) {
            return Err(Failure::usage(format!("'{word}' stands twice in --by.")));
        }
        keys.push(key);
    }
    Ok(keys)
}
