//! The bench line's laws: no text does harm, an entry written as a line reads back the same, every field of every
//! kind can be said, and the help's own examples are understood.

use super::bench_line::{known, reading, reading_with};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;
use std::collections::BTreeSet;
use struck::input::bench_line::{Vocabulary, VocabularyBatch, line_of, phrases_help};
use struck::model::entry::{Entry, FieldSpec, Kind};
use struck::model::id::Id;
use struck::model::value::{FieldType, Value};

/// Texts that look like something else.
const NASTY: &[&str] = &[
    "bench A",
    "bench a",
    "mist",
    "none",
    "rooted 3",
    "a, b",
    "x: y",
    "\"q\"",
    "4\"",
    "at bench A",
    " lead",
    "26-041",
    "41",
    "14 days",
    "ü ✓",
    "\\",
    "line\nbreak",
    "a=b",
    "by 1 May",
    "of",
    "24 of x",
    "84 cell tray",
    "flat",
    "9 cm",
    "today",
    "+14",
    "4r 3c",
    "note",
    "drop medium",
    "with soap",
    "spray",
    "yesterday",
    "stuck=3",
    "3 trays",
    "a",
    "'x'",
    "Escallonia \"apple blossom\"",
    "x,",
    "x:",
    "—",
    "by Ana",
    "no heat",
    "again in 3 days",
    "two  spaces",
    "24",
    "[1]",
];

fn text() -> BoxedStrategy<Value> {
    let odd = ".{1,16}".prop_filter("not blank", |text: &String| !text.trim().is_empty());
    let nasty = select(NASTY).prop_map(str::to_owned);
    prop_oneof![3 => nasty, 1 => odd, 1 => "[a-z]{1,6}( [a-z]{1,6})?"]
        .prop_map(Value::Text)
        .boxed()
}

fn number(low: f64, high: f64) -> BoxedStrategy<Value> {
    let round = move |n: f64| ((low + n * (high - low)) * 10.0).round() / 10.0;
    let exact = (0.0..1.0_f64).prop_map(move |n| low + n * (high - low));
    prop_oneof![(0.0..1.0_f64).prop_map(round), exact, Just(low), Just(high)]
        .prop_map(Value::Number)
        .boxed()
}

fn count() -> BoxedStrategy<Value> {
    prop_oneof![0..40_u32, 0..=1_000_000_u32]
        .prop_map(|n| n.write())
        .boxed()
}

fn id() -> BoxedStrategy<Value> {
    let shapes = prop_oneof![
        Just("01JZ0000000000000000000000".to_owned()),
        "[0-9A-Za-z_-]{1,12}",
        Just("26-041".to_owned()),
        Just("41".to_owned()),
        Just("entry".to_owned()),
        Just("line:0123456789abcdef-2".to_owned()),
    ];
    shapes.prop_map(Value::Text).boxed()
}

fn day() -> BoxedStrategy<Value> {
    (1..=9999_i32, 1..=12_u32, 1..=28_u32)
        .prop_map(|(y, m, d)| Value::Text(format!("{y:04}-{m:02}-{d:02}")))
        .boxed()
}

fn moment() -> BoxedStrategy<Value> {
    let time = (
        1990..2100_i32,
        0..24_u32,
        0..60_u32,
        select(&["+02:00", "-07:30", "+00:00"][..]),
    )
        .prop_map(|(y, h, m, zone)| Value::Text(format!("{y}-06-14T{h:02}:{m:02}:07.25{zone}")));
    prop_oneof![day(), time].boxed()
}

fn word(wanted: &str) -> BoxedStrategy<Value> {
    let words: Vec<String> = wanted
        .trim_start_matches("one of ")
        .split(", ")
        .map(str::to_owned)
        .collect();
    select(words).prop_map(Value::Text).boxed()
}

fn map(parts: Vec<(&'static str, BoxedStrategy<Value>)>) -> BoxedStrategy<Value> {
    let names: Vec<&str> = parts.iter().map(|(name, _)| *name).collect();
    let values: Vec<_> = parts
        .into_iter()
        .map(|(_, value)| proptest::option::of(value))
        .collect();
    let join = move |values: Vec<Option<Value>>| {
        let said = names
            .iter()
            .zip(values)
            .filter_map(|(name, value)| Some(((*name).to_owned(), value?)));
        Value::Map(said.collect())
    };
    values.prop_map(join).boxed()
}

fn dose() -> BoxedStrategy<Value> {
    let active = prop_oneof![
        Just(Value::Text("IBA".into())),
        Just(Value::Text("iba".into())),
        text()
    ];
    let more = map(vec![
        ("ppm", number(0.0, 100_000.0)),
        ("carrier", word("one of talc, gel, liquid, spray")),
        ("dip_s", number(0.0, 600.0)),
    ]);
    let both = |(active, more): (Value, Value)| {
        let Value::Map(more) = more else {
            unreachable!()
        };
        Value::Map(
            [("active".to_owned(), active)]
                .into_iter()
                .chain(more)
                .collect(),
        )
    };
    (active, more).prop_map(both).boxed()
}

fn any_value() -> BoxedStrategy<Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::Bool),
        proptest::num::f64::NORMAL.prop_map(Value::Number),
        ".{0,8}".prop_map(Value::Text),
        text(),
    ];
    let nested = |inner: BoxedStrategy<Value>| {
        let names = proptest::collection::btree_map(".{0,5}", inner.clone(), 0..3);
        prop_oneof![
            vec(inner, 0..3).prop_map(Value::List),
            names.prop_map(|map| Value::Map(map.into_iter().collect())),
        ]
        .boxed()
    };
    leaf.prop_recursive(3, 8, 3, nested).boxed()
}

/// What an amend sets: fields of any kind with fit or unfit values, and fields of no kind.
fn set() -> BoxedStrategy<Value> {
    let known: Vec<(&str, FieldSpec)> = Kind::WORDS
        .iter()
        .filter(|kind| !matches!(**kind, "amend" | "withdraw"))
        .flat_map(|kind| {
            Kind::fields_of(kind)
                .unwrap()
                .into_iter()
                .map(move |field| (*kind, field))
        })
        .collect();
    let one = select(known).prop_flat_map(|(kind, field)| {
        let value = prop_oneof![4 => value(kind, &field), 1 => any_value()];
        value.prop_map(move |value| (field.name.to_owned(), value))
    });
    let strange = (".{0,6}", any_value());
    vec(prop_oneof![3 => one, 1 => strange], 1..4)
        .prop_map(|pairs| {
            let mut names = BTreeSet::new();
            let fixed = |name: &str| ["id", "v", "kind", "of", "crc"].contains(&name);
            let kept = pairs
                .into_iter()
                .filter(|(name, _)| !fixed(name) && names.insert(name.clone()));
            Value::Map(kept.collect())
        })
        .boxed()
}

fn value(kind: &str, field: &FieldSpec) -> BoxedStrategy<Value> {
    let wanted = (field.wanted)();
    match (kind, field.name) {
        (_, "set") => set(),
        (_, "hormone") => {
            let doses = vec(dose(), 2..4).prop_map(Value::List);
            prop_oneof![Just(Value::Text("none".into())), dose(), doses].boxed()
        }
        (_, "about") => {
            let guess = || word("one of none, few, half, most, all");
            map(vec![
                ("callused", guess()),
                ("rooted", guess()),
                ("bottom", guess()),
            ])
        }
        (_, "lost") => map(vec![
            ("blackened", count()),
            ("wilted", count()),
            ("mould", count()),
            ("unknown", count()),
        ]),
        (_, "heat_c") => prop_oneof![Just(Value::Text("none".into())), number(-60.0, 80.0)].boxed(),
        (_, "season_from") => (1..=12, 1..=28)
            .prop_map(|(m, d)| Value::Text(format!("{m:02}-{d:02}")))
            .boxed(),
        (_, "aliases") => vec(text(), 0..3).prop_map(Value::List).boxed(),
        (_, "taken") => moment(),
        (_, "stick" | "again" | "of") => id(),
        _ if wanted == "text" => text(),
        _ if wanted.starts_with("true") => any::<bool>().prop_map(Value::Bool).boxed(),
        _ if wanted.starts_with("a whole number") => count(),
        _ if wanted.starts_with("a day") => day(),
        _ if wanted.starts_with("one of") => word(&wanted),
        _ => {
            let bounds: Vec<f64> = wanted
                .split(' ')
                .filter_map(|part| part.parse().ok())
                .collect();
            number(bounds[0], bounds[1])
        }
    }
}

/// Entries of a kind with any of its fields.
fn entry(kind: &'static str) -> impl Strategy<Value = Entry> {
    let fields = Kind::fields_of(kind).unwrap();
    let names: Vec<&str> = fields.iter().map(|field| field.name).collect();
    let values: Vec<_> = fields
        .iter()
        .map(|field| match field.required {
            true => value(kind, field).prop_map(Some).boxed(),
            false => proptest::option::of(value(kind, field)).boxed(),
        })
        .collect();
    let common = (
        moment(),
        proptest::option::of(text()),
        proptest::option::weighted(0.7, text()),
    );
    (values, common, any::<bool>()).prop_filter_map(
        "no entry",
        move |(values, (at, by, note), side)| {
            let mut all: Vec<(String, Value)> = names
                .iter()
                .zip(values)
                .filter_map(|(name, value)| Some(((*name).to_owned(), value?)))
                .collect();
            if matches!(kind, "treat" | "remark") {
                all.retain(|(name, _)| name != if side { "batch" } else { "place" });
            }
            all.push(("kind".into(), Value::Text(kind.into())));
            all.push(("at".into(), at));
            all.extend(by.map(|by| ("by".into(), by)));
            all.extend(note.map(|note| ("note".into(), note)));
            Entry::from_fields(all, || Id::parse("own").unwrap()).ok()
        },
    )
}

fn any_entry() -> impl Strategy<Value = Entry> {
    select(Kind::WORDS).prop_flat_map(entry)
}

/// A journal that holds the entry's batch and a few texts that may stand in the way.
fn journal_of(entry: &Entry) -> Vocabulary {
    let mut known = known();
    known.learn("place", "rooted 3");
    known.learn("medium", "peat");
    known.learn("container", "9 cm");
    known.learn("trial", "a, b");
    let held = |wanted: &str| {
        let fields = entry.kind.write();
        fields
            .into_iter()
            .find(|(name, _)| *name == wanted)
            .and_then(|(_, value)| value.text().map(str::to_owned))
    };
    if let Some(code) = held("batch").filter(|_| entry.kind.word() != "stick") {
        let stick = held("stick").filter(|id| id.len() % 2 == 0);
        let key = Id::parse_reference(&stick.unwrap_or_else(|| "KEY".into())).unwrap();
        known.add_batches([VocabularyBatch {
            code,
            key,
            taxon: "Weigela florida".into(),
        }]);
    }
    known
}

fn sorted(fields: Vec<(String, Value)>) -> Vec<(String, Value)> {
    let mut fields = fields;
    fields.sort_by(|a, b| a.0.cmp(&b.0));
    fields
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn an_entry_written_as_a_line_reads_back_the_same(entry in any_entry()) {
        let known = journal_of(&entry);
        let line = line_of(&entry, &known);
        let reading = reading_with(&line, &known);
        prop_assert!(reading.is_whole(), "{}\n{}", line, reading.say_back());
        let mut wanted: Vec<(String, Value)> = entry.to_fields().into_iter()
            .filter(|(name, _)| !matches!(*name, "v" | "id" | "kind"))
            .map(|(name, value)| (name.to_owned(), value))
            .collect();
        let code = wanted.iter().find(|(name, _)| name == "batch").and_then(|(_, code)| code.text());
        let implied = code.filter(|_| reading.value("stick").is_some())
            .and_then(|code| known.batch(code)).map(|batch| batch.key.write());
        if let (Some(key), false) = (implied, wanted.iter().any(|(name, _)| name == "stick")) {
            wanted.push(("stick".into(), key));
        }
        prop_assert_eq!(sorted(reading.fields.clone()), sorted(wanted), "{}", line);
        prop_assert!(reading.changes_to(&entry).is_empty(), "{}", line);
    }

    #[test]
    fn any_text_is_read_without_harm(line in ".{0,60}") {
        harmless(&line)?;
    }

    #[test]
    fn any_mixture_of_words_is_read_without_harm(
        parts in vec((select(WORDS), select(&[" ", ", ", ": ", "", "\"", " \"", "="][..])), 0..14),
    ) {
        let line: String = parts.iter().flat_map(|(word, joint)| [*word, *joint]).collect();
        harmless(&line)?;
    }
}

/// Words of every verb, field and shape.
const WORDS: &[&str] = &[
    "stick",
    "look",
    "pot",
    "up",
    "ready",
    "sold",
    "discard",
    "move",
    "treat",
    "climate",
    "place",
    "taxon",
    "nursery",
    "target",
    "remark",
    "amend",
    "withdraw",
    "spray",
    "26-041",
    "041",
    "k41",
    "24",
    "3,5",
    "-",
    "0.3%",
    "iba",
    "3000",
    "ppm",
    "talc",
    "+",
    "dip",
    "5 s",
    "bench A",
    "frame 2",
    "at",
    "in",
    "into",
    "from",
    "by",
    "on",
    "rooted",
    "most",
    "lost",
    "black",
    "again",
    "+14",
    "14 days",
    "yesterday",
    "16:30",
    "vpd",
    "0.3-0.8",
    "mist",
    "10s/12min",
    "heat",
    "none",
    "no",
    "drop",
    "medium",
    "stuck=",
    "{",
    "}",
    "[",
    "]",
    "null",
    "ü",
    "→",
    "01JZ0000000000000000000000",
    "of",
    "with",
    "note",
    "who",
    "Ana",
    "4r",
    "3c",
    "mr",
    "nothing yet",
    "bare",
    "seen",
    "also",
    "per tray",
    "\\",
];

fn harmless(line: &str) -> Result<(), TestCaseError> {
    let reading = reading(line);
    let spans = reading.understood.iter().map(|one| &one.span);
    let wrong = reading
        .problems
        .iter()
        .chain(&reading.doubts)
        .map(|one| &one.span);
    for span in spans.chain(wrong) {
        prop_assert!(line.get(span.clone()).is_some(), "{:?} in {:?}", span, line);
    }
    prop_assert!(!reading.say_back().is_empty());
    Ok(())
}

#[test]
fn every_field_of_every_kind_can_be_said_and_the_help_shows_how() {
    let help = phrases_help();
    for kind in Kind::WORDS {
        let section = help
            .split("\n\n")
            .find(|part| part.split_whitespace().next() == Some(kind));
        let section = section.unwrap_or_else(|| panic!("no help on {kind}"));
        let mut said = BTreeSet::new();
        for phrase in section
            .lines()
            .skip(2)
            .map(|line| line.trim().split("  (").next().unwrap())
        {
            let head = match *kind {
                _ if phrase.starts_with("entry") => "",
                "stick" => "24 Weigela florida, ",
                "look" | "treat" | "amend" => "26-041, ",
                "pot" | "ready" | "sold" | "discard" | "move" => "26-041 18, ",
                "climate" | "place" => "bench A, ",
                "taxon" => "Weigela florida, ",
                "target" => "60 Weigela florida, ",
                "withdraw" => "01JZ0000000000000000000000, ",
                _ => "",
            };
            let line = format!("{kind} {head}{phrase}");
            let reading = reading(&line);
            let from = line.len() - phrase.len();
            let wrong = reading
                .problems
                .iter()
                .find(|problem| problem.span.start >= from);
            assert!(wrong.is_none(), "{line}: {wrong:?}");
            let understood = reading
                .understood
                .iter()
                .filter(|one| one.span.start >= from);
            let fields: Vec<String> = understood.map(|one| one.field.clone()).collect();
            assert!(!fields.is_empty(), "{line}");
            said.extend(fields);
            said.extend(reading.fields.into_iter().map(|(name, _)| name));
        }
        let fields = Kind::fields_of(kind).unwrap();
        for name in fields
            .iter()
            .map(|field| field.name)
            .chain(["at", "by", "note"])
        {
            assert!(said.contains(name), "{kind}: no phrase says {name}");
        }
    }
}

#[test]
fn the_examples_of_the_help_are_whole_lines() {
    let help = phrases_help();
    for kind in Kind::WORDS {
        let section = help
            .split("\n\n")
            .find(|part| part.split_whitespace().next() == Some(kind))
            .unwrap();
        let example = section.lines().nth(1).unwrap().trim();
        let reading = reading(example);
        assert!(reading.is_whole(), "{example}: {}", reading.say_back());
        assert_eq!(reading.kind, Some(*kind));
    }
}

#[test]
fn every_listed_word_of_the_journal_is_understood_as_itself() {
    for kind in Kind::WORDS
        .iter()
        .filter(|kind| !matches!(**kind, "amend" | "withdraw"))
    {
        for field in Kind::fields_of(kind).unwrap() {
            let wanted = (field.wanted)();
            let Some(words) = wanted.strip_prefix("one of ") else {
                continue;
            };
            for word in words.split(", ") {
                let reading = reading(&format!("{kind}: {} {word}", field.name));
                let found = reading.value(field.name).and_then(Value::text);
                let reading = super::bench_line::reading(&format!("{kind} {}={word}", field.name));
                let named = reading.value(field.name).and_then(Value::text);
                assert!(
                    found == Some(word) || named == Some(word),
                    "{kind} {} {word}",
                    field.name
                );
            }
        }
    }
}

#[test]
fn editing_a_line_in_place_tells_what_changed() {
    let line = "look 26-041: callused 4, rooted 3, black 1, on 2026-06-14";
    let at = struck::model::at::At::parse("2026-06-14").unwrap();
    let entry = Entry::from_fields(reading(line).entry_fields(&at, None), || {
        Id::parse("x").unwrap()
    })
    .unwrap();
    assert_eq!(
        line_of(&entry, &known()),
        "look 26-041: callused 4, rooted 3, blackened 1, on 2026-06-14"
    );
    let edited = reading("look 26-041: rooted 5, black 1, mould 2, on 2026-06-14");
    let lost = Value::Map(vec![
        ("blackened".into(), Value::Number(1.0)),
        ("mould".into(), Value::Number(2.0)),
    ]);
    let changes = sorted(edited.changes_to(&entry));
    let expected = [
        ("callused", Value::Null),
        ("lost", lost),
        ("rooted", Value::Number(5.0)),
    ];
    assert_eq!(
        changes,
        expected.map(|(name, value)| (name.to_owned(), value))
    );
}

#[test]
fn a_line_written_of_an_entry_looks_as_it_would_be_typed() {
    for line in [
        "stick 26-041: 24 Weigela florida, semi-ripe, nodal, tip, 4 nodes, IBA 3000 ppm talc, in bark:perlite 1:1, \
         tray, at bench A, mist, heat 21, on 2026-06-14",
        "climate bench A: air 24.5, rh 82, medium 21, mist 10s/12min, on 2026-06-14",
        "pot 26-041 18, 9 cm, on 2026-06-14",
        "remark 26-041: leaves yellow, on 2026-06-14",
        "amend KEY41: 26 cuttings, drop medium, amended on 2026-06-14",
    ] {
        let reading = reading(line);
        assert!(reading.is_whole(), "{}", reading.say_back());
        let at = struck::model::at::At::parse("2026-06-14").unwrap();
        let entry = Entry::from_fields(reading.entry_fields(&at, None), || Id::parse("x").unwrap())
            .unwrap();
        assert_eq!(line_of(&entry, &known()), line);
    }
}

/// In a moment: were every beginning of every rest tried, it would take minutes.
#[test]
fn a_paragraph_of_phrases_without_commas_is_read() {
    let run = "tip nodal ".repeat(2_000);
    let read = reading(&format!("stick 24 Weigela florida softwood {run}"));
    assert_eq!(read.problems, []);
    assert_eq!(read.understood.len(), 4_003);
    assert!(read.is_whole());
}
