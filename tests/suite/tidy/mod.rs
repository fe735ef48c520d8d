//! The house rules, held by a test: who may import whom, circles, names, fenced words, header lines, sizes.

mod graph;
mod names;
mod owed;
mod paths;
mod rules;
mod source;

use graph::Graph;
use owed::{CIRCLES, NAMES};
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

/// The circles that are not allowed for, and the allowances that nothing needs any more.
fn circle_breaches(sources: &[Source], allowed: &[&[&str]]) -> Vec<String> {
    let graph = Graph::new(sources);
    let circles = graph.circles();
    let within = |circle: &[&str], listed: &[&str]| circle.iter().all(|file| listed.contains(file));
    let new = circles
        .iter()
        .filter(|circle| !allowed.iter().any(|listed| within(circle, listed)))
        .map(|circle| format!("import each other in a circle: {}", circle.join(", ")));
    let gone = allowed
        .iter()
        .filter(|listed| !circles.iter().any(|circle| within(circle, listed)))
        .map(|listed| {
            format!(
                "no circle any more, strike it from the list: {}",
                listed.join(", ")
            )
        });
    new.chain(gone).collect()
}

/// The names that are not allowed for, and the allowances that nothing needs any more.
fn name_breaches(sources: &[Source], allowed: &[(&str, usize)]) -> Vec<String> {
    let breaches = names::breaches(sources);
    let most = |name: &str| {
        let listed = allowed.iter().find(|(listed, _)| *listed == name);
        listed.map_or(0, |(_, most)| *most)
    };
    let new = breaches
        .iter()
        .filter(|(name, count)| **count > most(name))
        .map(|(name, count)| format!("{name} ({count}, allowed {})", most(name)));
    let gone = allowed
        .iter()
        .filter(|(listed, _)| !breaches.contains_key(*listed))
        .map(|(listed, _)| format!("stands nowhere any more, strike it from the list: {listed}"));
    new.chain(gone).collect()
}

#[test]
fn no_two_files_import_each_other_in_a_circle() {
    let found = circle_breaches(&source::all(), &CIRCLES);
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn names_say_what_they_name_and_name_one_thing() {
    let found = name_breaches(&source::all(), &NAMES);
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn planted_circles_are_found() {
    for (what, files) in rules::CIRCULAR {
        let sources: Vec<Source> = files
            .iter()
            .map(|(path, text)| Source::new(path, text))
            .collect();
        let found = circle_breaches(&sources, &[]);
        assert_eq!(found.len(), 1, "{what}: {found:?}");
    }
    let straight: Vec<Source> = rules::STRAIGHT
        .iter()
        .map(|(path, text)| Source::new(path, text))
        .collect();
    assert_eq!(circle_breaches(&straight, &[]), Vec::<String>::new());
    let listed: &[&str] = &["src/fold/a.rs", "src/fold/b.rs"];
    assert!(circle_breaches(&straight, &[listed])[0].contains("no circle any more"));
}

#[test]
fn planted_names_are_found() {
    for (path, text, told) in rules::MISNAMED {
        let twin = Source::new("src/model/twin.rs", "//! Job.\npub struct Twin;\n");
        let found = name_breaches(&[Source::new(path, text), twin], &[]);
        assert!(
            found.iter().any(|f| f.contains(told)),
            "{told:?} not among {found:?}"
        );
    }
    let sound = "//! Job.\nuse std::fmt::Write as _;\npub fn offset() {}\nfn of() {}\n";
    let sound = [Source::new("src/fold/a.rs", sound)];
    assert_eq!(name_breaches(&sound, &[]), Vec::<String>::new());
    assert!(name_breaches(&sound, &[("fold: fn of", 1)])[0].contains("strike it"));
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
