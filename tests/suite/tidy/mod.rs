//! The house rules, held by a test: who may import whom, fenced words, header lines, sizes.

mod rules;
mod source;

use rules::{FENCES, Fence, IMPORTS, LONGEST_FILE, LONGEST_FUNCTION};
use source::Source;

/// Everything in the sources that breaks a house rule, one sentence each.
fn breaches(sources: &[Source]) -> Vec<String> {
    sources
        .iter()
        .flat_map(|source| {
            let mut found = Vec::new();
            found.extend(header_breach(source));
            found.extend(size_breaches(source));
            found.extend(import_breaches(source));
            found.extend(fence_breaches(source));
            found
        })
        .collect()
}

fn header_breach(source: &Source) -> Option<String> {
    let said = source
        .text
        .lines()
        .next()
        .is_some_and(|line| line.starts_with("//! "));
    (!said).then(|| format!("{} does not open with a `//!` line on its job", source.path))
}

fn size_breaches(source: &Source) -> Vec<String> {
    let mut found = Vec::new();
    let lines = source.code_lines().count();
    if lines > LONGEST_FILE {
        found.push(format!(
            "{} has {lines} lines without tests, over {LONGEST_FILE}",
            source.path
        ));
    }
    for (name, length) in source.functions() {
        if length > LONGEST_FUNCTION {
            found.push(format!(
                "{}: `{name}` has {length} lines, over {LONGEST_FUNCTION}",
                source.path
            ));
        }
    }
    found
}

fn import_breaches(source: &Source) -> Vec<String> {
    let room = source.room();
    let Some((_, allowed)) = IMPORTS.iter().find(|(name, _)| *name == room) else {
        return vec![format!("{} stands in no room of the house", source.path)];
    };
    source
        .rooms_named()
        .into_iter()
        .filter(|named| *named != room && !allowed.contains(named))
        .map(|named| format!("{} ({room}) imports {named}", source.path))
        .collect()
}

fn fence_breaches(source: &Source) -> Vec<String> {
    let broken = |fence: &&Fence| {
        let inside = fence
            .only
            .iter()
            .any(|place| source.path.starts_with(place));
        !inside
            && source
                .code_lines()
                .any(|line| fence.words.iter().any(|word| line.contains(word)))
    };
    FENCES
        .iter()
        .filter(broken)
        .map(|fence| {
            format!(
                "{} uses {}, which only {} may",
                source.path,
                fence.what,
                fence.only.join(", ")
            )
        })
        .collect()
}

#[test]
fn the_house_rules_hold() {
    let found = breaches(&source::all());
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn planted_breaches_are_found() {
    for (path, text, told) in rules::PLANTED {
        let found = breaches(&[Source::new(path, text)]);
        assert!(
            found.iter().any(|f| f.contains(told)),
            "{path}: {told:?} not among {found:?}"
        );
    }
    let long = format!(
        "//! Job.\nfn long() {{\n{}}}\n",
        "    step();\n".repeat(LONGEST_FUNCTION + 1)
    );
    assert!(breaches(&[Source::new("src/fold/long.rs", &long)])[0].contains("`long`"));
    let huge = format!(
        "//! Job.\n{}",
        "const A: u8 = 1;\n".repeat(LONGEST_FILE + 1)
    );
    assert!(breaches(&[Source::new("src/fold/huge.rs", &huge)])[0].contains("lines without tests"));
}

#[test]
fn sound_sources_pass() {
    let text =
        "//! Job.\nuse crate::model::at;\n\n#[cfg(test)]\nmod tests {\n    use crate::cli;\n}\n";
    assert_eq!(
        breaches(&[Source::new("src/fold/sound.rs", text)]),
        Vec::<String>::new()
    );
}

#[test]
fn no_test_file_is_forgotten() {
    let listed = source::test_modules();
    for path in source::test_files() {
        assert!(
            listed.contains(&path),
            "{} is listed by no `mod` line",
            path.display()
        );
    }
}
