//! Names that the journal has not: told with those near them, before an empty answer is given for one. It reads
//! the book alone.

use crate::app::failure::Failure;
use crate::fold::Book;
use crate::input::fuzzy;
use crate::model::filter::Filter;
use crate::model::taxon::Taxon;
use crate::model::text::folded;
use crate::text::clean::shown;

/// Most names that are told as near.
const MOST: usize = 4;

/// Refuses a filter with a name that nothing in the journal bears.
///
/// # Errors
/// The first such name, with those near it.
pub fn check(book: &Book, filter: &Filter) -> Result<(), Failure> {
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
        let trials = book.batches().iter().filter_map(|b| b.stick.trial.clone());
        return Err(none("trial", trial, &trials.collect::<Vec<_>>()));
    }
    if let Some(place) = &filter.place
        && book.places().get(place).is_none()
        && !held(Filter {
            place: Some(place.clone()),
            ..Filter::default()
        })
    {
        let places = book.places().all().iter().map(|p| p.name.clone());
        return Err(none("place", place, &places.collect::<Vec<_>>()));
    }
    Ok(())
}

/// Whether any taxon of the journal may be meant by a text.
pub fn has_taxon(book: &Book, text: &str) -> bool {
    let mut all = book.taxa().all().iter();
    all.any(|known| book.taxa().is_meant(text, &known.taxon))
}

/// That no taxon of the journal is meant by a text, with those near it.
pub fn no_taxon(book: &Book, text: &str) -> Failure {
    let names = book.taxa().all().iter().map(|known| known.taxon.shown());
    none("taxon", text, &names.collect::<Vec<_>>())
}

/// That no batch bears a code, with those near it.
pub fn no_batch(book: &Book, code: &str) -> Failure {
    let codes = book.batches().iter().map(|batch| batch.code.clone());
    none("batch", code, &codes.collect::<Vec<_>>())
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

/// That a text may mean several taxa.
pub fn which<'a>(typed: &str, taxa: impl IntoIterator<Item = &'a Taxon>) -> Failure {
    let names: Vec<String> = taxa.into_iter().take(6).map(Taxon::shown).collect();
    Failure::usage(format!("'{}' may mean {}.", shown(typed), names.join(", "))).hint("Say which.")
}

fn none(what: &str, typed: &str, names: &[String]) -> Failure {
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
