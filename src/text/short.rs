//! Shortens the plant names that stand on one screen so that they stay told apart. It knows names,
//! not what they are shown beside.

use super::clean::{Charset, fit, fit_ends, shown_in, width};
use crate::model::taxon::Taxon;
use std::collections::{HashMap, HashSet};

/// The names, each in at most `cols` columns, in the given order.
///
/// A name loses first its species (and what stands below it), then its genus down to the first
/// letter, which stays; its last part (the cultivar; failing that the Group, failing that the
/// last epithet) goes last, cut with an ellipsis. A form that another name on the screen could
/// also take is passed over, so two plants never look alike unless `cols` is too narrow for any
/// cut to part them. Spellings of one plant take the same form.
#[must_use]
pub fn short(names: &[&Taxon], cols: usize, charset: Charset) -> Vec<String> {
    let keys: Vec<String> = names.iter().map(|name| name.key()).collect();
    let ladders: Vec<Vec<String>> = names.iter().map(|name| ladder(name, charset)).collect();
    let mut takers: HashMap<&str, HashSet<&str>> = HashMap::new();
    for (key, ladder) in keys.iter().zip(&ladders) {
        for form in ladder {
            takers.entry(form).or_default().insert(key);
        }
    }
    let own = |form: &&String| takers.get(form.as_str()).is_none_or(|who| who.len() < 2);
    let mut chosen: HashMap<&str, String> = HashMap::new();
    for (key, ladder) in keys.iter().zip(&ladders) {
        let fits = ladder.iter().filter(own).find(|form| width(form) <= cols);
        if let Some(form) = fits {
            chosen.entry(key).or_insert_with(|| form.clone());
        }
    }
    let mut used: HashSet<String> = chosen.values().cloned().collect();
    for (key, ladder) in keys.iter().zip(&ladders) {
        if !chosen.contains_key(key.as_str()) {
            let last = ladder.iter().rev().find(own).or(ladder.first());
            let cut = cut(last.map_or("", String::as_str), cols, charset, &used);
            used.insert(cut.clone());
            chosen.insert(key, cut);
        }
    }
    let found = |key: &String| chosen.get(key.as_str()).cloned().unwrap_or_default();
    keys.iter().map(found).collect()
}

/// Cut at the end, or, where that is taken, in the middle with ever more of the end kept.
fn cut(form: &str, cols: usize, charset: Charset, used: &HashSet<String>) -> String {
    let plain = fit(form, cols, charset);
    if !used.contains(&plain) {
        return plain;
    }
    let ends = (1..cols).map(|tail| fit_ends(form, cols, tail, charset));
    let mut free = ends.filter(|cut| !used.contains(cut));
    free.next().unwrap_or(plain)
}

/// The forms of one name, longest first; formulae, and what was not understood, have one form.
fn ladder(name: &Taxon, charset: Charset) -> Vec<String> {
    let mut forms = vec![name.shown()];
    forms.extend(shorter(name));
    forms.iter().map(|form| shown_in(form, charset)).collect()
}

fn shorter(name: &Taxon) -> Vec<String> {
    let mut forms = Vec::new();
    let Some(genus) = name.genus().filter(|_| name.has_parts()) else {
        return forms;
    };
    let (middle, last) = parts(name);
    if last.is_empty() {
        return forms;
    }
    let sign = name.sign().mark();
    let initial: String = genus.chars().take(1).collect();
    if !middle.is_empty() {
        forms.push(format!("{sign}{genus} {last}"));
    }
    if genus.chars().count() > 5 {
        let brief: String = genus.chars().take(4).collect();
        forms.push(format!("{sign}{brief}. {last}"));
    }
    forms.push(format!("{sign}{initial}. {last}"));
    forms
}

/// What stands between genus and last part, and the last part, as shown. A part that was not
/// understood is last only where no cultivar and no Group is.
fn parts(name: &Taxon) -> (String, String) {
    let cross = if name.is_nothospecies() { "×" } else { "" };
    let species = name.species().map(|s| format!("{cross}{s}"));
    let infra = name.rank().zip(name.infra());
    let infra = infra.map(|(rank, epithet)| format!("{} {epithet}", rank.shown()));
    let group = name.group_or_grex().map(|group| group.shown());
    let cultivar = name.cultivar().map(|c| format!("'{c}'"));
    let all = [species, infra, name.unread(), group, cultivar];
    let mut all: Vec<String> = all.into_iter().flatten().collect();
    let last = all.pop().unwrap_or_default();
    (all.join(" "), last)
}
