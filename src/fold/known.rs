//! The journal's own words by field, the most recent first: what is offered when a word is being typed.

use super::whole::Book;
use crate::model::composite::Hormone;
use crate::model::entry::Kind;
use crate::model::text::folded;
use std::collections::{HashMap, HashSet};

/// Words by field.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Known {
    words: HashMap<&'static str, Vec<String>>,
    seen: HashSet<(&'static str, String)>,
}

impl Known {
    /// The words of a field (`medium`, `container`, `source`, `by`, `place`, `taxon`, `blade`, `with`, `trial`,
    /// `arm`, and `active` for hormones), as last written, the most recent first.
    #[must_use]
    pub fn of(&self, field: &str) -> &[String] {
        self.words.get(field).map_or(&[], Vec::as_slice)
    }

    fn note(&mut self, field: &'static str, word: Option<&str>) {
        let Some(word) = word else { return };
        if self.seen.insert((field, folded(word))) {
            let words = self.words.entry(field).or_default();
            words.push(word.trim().to_owned());
        }
    }

    fn note_kind(&mut self, kind: &Kind) {
        let fields = match kind {
            Kind::Stick(it) => {
                self.note_hormone(it.hormone.as_ref());
                vec![
                    ("taxon", Some(&it.taxon)),
                    ("medium", it.medium.as_ref()),
                    ("container", it.container.as_ref()),
                    ("place", it.place.as_ref()),
                    ("blade", it.blade.as_ref()),
                    ("source", it.source.as_ref()),
                    ("trial", it.trial.as_ref()),
                    ("arm", it.arm.as_ref()),
                ]
            }
            Kind::Pot(it) => vec![
                ("container", it.container.as_ref()),
                ("place", it.place.as_ref()),
            ],
            Kind::Move(it) => vec![("place", it.place.as_ref())],
            Kind::Treat(it) => vec![("with", it.with.as_ref()), ("place", it.place.as_ref())],
            Kind::Remark(it) => vec![("place", it.place.as_ref())],
            Kind::Place(it) => vec![("place", Some(&it.place))],
            Kind::Taxon(it) => vec![("taxon", Some(&it.taxon))],
            Kind::Target(it) => vec![("taxon", Some(&it.taxon))],
            _ => Vec::new(),
        };
        for (field, word) in fields {
            self.note(field, word.map(String::as_str));
        }
    }

    fn note_hormone(&mut self, hormone: Option<&Hormone>) {
        if let Some(Hormone::Doses(doses)) = hormone {
            for dose in doses {
                self.note("active", Some(&dose.active));
            }
        }
    }
}

impl Book {
    /// The journal's own words.
    #[must_use]
    pub fn known(&self) -> Known {
        let mut known = Known::default();
        for standing in self.entries().iter().rev() {
            known.note("by", standing.entry.by.as_deref());
            known.note_kind(&standing.entry.kind);
        }
        for place in self.places().all() {
            known.note("place", Some(&place.name));
        }
        known
    }
}
