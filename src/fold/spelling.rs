//! How the journal first wrote each name in free text, so that `perlite`, `Perlite ` and `PERLITE` are one.

use super::standing::Standing;
use crate::model::entry::Kind;
use crate::model::text::folded;
use std::collections::HashMap;

/// Names as first written at a stick, by field and folded text.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Spelling(HashMap<(&'static str, String), String>);

impl Spelling {
    /// Of entries in fold order.
    pub fn of(standing: &[Standing]) -> Self {
        let mut out = Self::default();
        for standing in standing {
            let Kind::Stick(it) = &standing.entry.kind else {
                continue;
            };
            let fields = [
                ("medium", &it.medium),
                ("source", &it.source),
                ("trial", &it.trial),
                ("arm", &it.arm),
            ];
            for (field, text) in fields {
                if let Some(text) = text {
                    out.note(field, text);
                }
            }
            if let Some(hormone) = &it.hormone {
                out.note("hormone", &super::group::hormone_text(hormone));
            }
        }
        out
    }

    fn note(&mut self, field: &'static str, text: &str) {
        let first = self.0.entry((field, folded(text)));
        first.or_insert_with(|| collapsed(text));
    }

    /// The text as first written.
    pub fn first(&self, field: &'static str, text: &str) -> String {
        let first = self.0.get(&(field, folded(text)));
        first.cloned().unwrap_or_else(|| collapsed(text))
    }
}

fn collapsed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
