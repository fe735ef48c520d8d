//! The filters and group keys that every reading command shares, and the check that the journal has the names in them:
//! a slip gets the names near it instead of an empty answer.

use crate::app::failure::Failure;
use crate::fold::Book;
use crate::input::fuzzy;
use crate::model::filter::{Filter, GroupKey};
use crate::model::listed::Wood;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use crate::text::clean::shown;
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

/// At most so many near names are offered.
const MOST: usize = 4;

/// Refuses a filter with a name that is not in the journal.
///
/// # Errors
/// The first such name, with those near it.
pub fn check_names(book: &Book, filter: &Filter) -> Result<(), Failure> {
    if let Some(taxon) = &filter.taxon
        && !has_taxon(book, taxon)
    {
        return Err(no_taxon(book, taxon));
    }
    let held = |only: Filter| book.batches().iter().any(|batch| only.admits(book, batch));
    if let Some(trial) = &filter.trial
        && !held(Filter {
            trial: Some(trial.clone()),
            ..Filter::default()
        })
    {
        let trials = book
            .batches()
            .iter()
            .filter_map(|b| Some(b.stick.trial.as_ref()?.to_string()));
        return Err(missing("trial", trial, &trials.collect::<Vec<_>>()));
    }
    if let Some(place) = &filter.place
        && book.places().get(place).is_none()
        && !held(Filter {
            place: Some(place.clone()),
            ..Filter::default()
        })
    {
        let places = book.places().all().iter().map(|p| p.name.clone());
        return Err(missing("place", place, &places.collect::<Vec<_>>()));
    }
    Ok(())
}

/// Whether the text may mean a taxon of the journal.
pub fn has_taxon(book: &Book, text: &str) -> bool {
    let mut all = book.taxa().all().iter();
    all.any(|known| book.taxa().is_meant(text, &known.taxon))
}

/// The failure for a text that means no taxon of the journal; it offers the nearest names.
pub fn no_taxon(book: &Book, text: &str) -> Failure {
    let names = book.taxa().all().iter().map(|known| known.taxon.shown());
    missing("taxon", text, &names.collect::<Vec<_>>())
}

/// The failure for a code that no batch bears; it offers the nearest codes.
pub fn no_batch(book: &Book, code: &str) -> Failure {
    let codes = book.roster().iter().map(|row| row.code.to_string());
    missing("batch", code, &codes.collect::<Vec<_>>())
}

/// The taxa that a text may mean: the one that bears the name, else all with that part; none if the journal has none.
pub fn taxa_meant(book: &Book, text: &str) -> Vec<Taxon> {
    let exact = book.taxa().resolve(text).key();
    let all = book.taxa().all().iter().map(|known| &known.taxon);
    let meant = all.filter(|taxon| book.taxa().is_meant(text, taxon));
    let meant: Vec<Taxon> = meant.cloned().collect();
    match meant.iter().find(|taxon| taxon.key() == exact) {
        Some(one) => vec![one.clone()],
        None => meant,
    }
}

/// The failure for a text that may mean several taxa.
pub fn ambiguous_taxon<'a>(typed: &str, taxa: impl IntoIterator<Item = &'a Taxon>) -> Failure {
    let names: Vec<String> = taxa.into_iter().take(6).map(Taxon::shown).collect();
    Failure::usage(format!("'{}' may mean {}.", shown(typed), names.join(", "))).hint("Say which.")
}

fn missing(what: &str, typed: &str, names: &[String]) -> Failure {
    let failure = Failure::usage(format!("The journal has no {what} '{}'.", shown(typed)));
    let near = near(typed, names);
    if near.is_empty() {
        return failure.hint(match what {
            "batch" => "See the codes with `struck batches`.",
            _ => "See what there is with `struck batches`.",
        });
    }
    failure.hint(format!("Near it: {}.", near.join(", ")))
}

/// The names near a text: those that hold it or are held by it, else those with words that it may be a slip for.
fn near(typed: &str, names: &[String]) -> Vec<String> {
    let wanted = folded(typed);
    let mut told: Vec<&String> = Vec::new();
    let holds = |name: &&String| {
        let name = folded(name);
        name.contains(&wanted) || wanted.contains(&name)
    };
    told.extend(names.iter().filter(holds));
    // A paragraph is no slip for a name, and comparing it would take long.
    if told.is_empty() && wanted.len() <= 80 {
        told.extend(names.iter().filter(|name| is_slip(&wanted, &folded(name))));
    }
    let mut out: Vec<String> = Vec::new();
    for name in told.into_iter().map(|name| shown(name)) {
        if !out.contains(&name) && out.len() < MOST {
            out.push(name);
        }
    }
    out
}

/// Whether a text may be a slip for so many words of a name.
fn is_slip(typed: &str, name: &str) -> bool {
    let words: Vec<&str> = name.split_whitespace().collect();
    let length = typed.split_whitespace().count().max(1);
    let spans: Vec<String> = match words.len() > length {
        true => words.windows(length).map(|span| span.join(" ")).collect(),
        false => vec![words.join(" ")],
    };
    let spans: Vec<&str> = spans.iter().map(String::as_str).collect();
    fuzzy::nearest(typed, &spans).is_some()
}
