//! The help on phrases, made of the tables alone.

use super::lists::listed;
use super::phrases::{ROWS, Shape};
use super::verbs::VERBS;

/// All that a line may say: for each verb its words, an example, and each of its phrases with the other first
/// words that mean the same. One item a line, phrases indented by two spaces.
#[must_use]
pub fn phrases_help() -> String {
    let mut out = String::new();
    for verb in VERBS {
        let also = others(verb.words, verb.kind);
        out.push_str(&format!("{}{also}\n  {}\n", verb.kind, verb.example));
        for row in ROWS.iter().filter(|row| row.kinds.contains(&verb.kind)) {
            let also = match row.shape {
                Shape::Listed(list) if listed(list, row.example).is_some() => {
                    let words: Vec<&str> = list.iter().map(|(word, _)| *word).collect();
                    format!("  (one of {})", words.join(", "))
                }
                _ => row
                    .keys
                    .first()
                    .map_or(String::new(), |first| others(row.keys, first)),
            };
            out.push_str(&format!("  {}{also}\n", row.example));
        }
        out.push('\n');
    }
    out.push_str(RULES);
    out
}

/// What the tables cannot tell.
const RULES: &str = "\
A comma before a space parts phrases; any order will do; quotes hold a text with commas together.
A text that the journal holds already (a place, a medium, a container, a person) needs no first word.
Any field can also be said by its own name: stuck=26.
A look counts each cutting once, at its most advanced stage.
";

/// The other words that mean the same.
fn others(words: &[&str], shown: &str) -> String {
    let others: Vec<&str> = words
        .iter()
        .copied()
        .filter(|word| *word != shown)
        .collect();
    match others.is_empty() {
        true => String::new(),
        false => format!("  (also {})", others.join(", ")),
    }
}
