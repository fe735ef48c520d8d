//! Names that say nothing, names that two public types bear, and names given anew on import.

use super::paths;
use super::source::Source;
use std::collections::BTreeMap;

/// Words that may name no public item.
const EMPTY: [&str; 8] = ["of", "told", "seen", "found", "known", "it", "said", "one"];

/// What may be public and bears a name.
const ITEMS: [&str; 8] = [
    "fn", "struct", "enum", "trait", "type", "const", "static", "mod",
];

/// The breaches of the rules on names, as `room: kind name`, each with how often it stands.
pub fn breaches(sources: &[Source]) -> BTreeMap<String, usize> {
    let mut breaches = BTreeMap::new();
    let mut types: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for source in sources {
        let code: Vec<&str> = source.code_lines().collect();
        let tokens = paths::tokens(&code.join("\n"));
        for (kind, name) in public_items(&tokens) {
            if EMPTY.contains(&name.to_lowercase().as_str()) {
                *breaches
                    .entry(format!("{}: {kind} {name}", source.room()))
                    .or_default() += 1;
            }
            if ["struct", "enum", "trait", "type"].contains(&kind) {
                types
                    .entry(name.to_owned())
                    .or_default()
                    .push(source.room());
            }
        }
        for import in paths::named(&tokens).0 {
            if let Some(alias) = import.alias.filter(|alias| alias != "_") {
                *breaches
                    .entry(format!("{}: as {alias}", source.room()))
                    .or_default() += 1;
            }
        }
    }
    for (name, rooms) in types.into_iter().filter(|(_, rooms)| rooms.len() > 1) {
        for room in &rooms {
            *breaches
                .entry(format!("{room}: type {name}, which another type bears"))
                .or_default() += 1;
        }
    }
    breaches
}

fn public_items(tokens: &[String]) -> Vec<(&str, &str)> {
    let mut items = Vec::new();
    for (at, _) in tokens
        .iter()
        .enumerate()
        .filter(|(_, token)| *token == "pub")
    {
        let mut rest = tokens[at + 1..].iter().map(String::as_str).peekable();
        if rest.peek() == Some(&"(") {
            rest.by_ref().find(|token| *token == ")");
        }
        let mut kind = rest.next();
        // `pub const fn`, `pub unsafe fn`, `pub async fn`.
        if rest.peek() == Some(&"fn") {
            kind = rest.next();
        }
        if let (Some(kind), Some(name)) = (kind, rest.next())
            && ITEMS.contains(&kind)
            && !name.starts_with('$')
        {
            items.push((kind, name));
        }
    }
    items
}
