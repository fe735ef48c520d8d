//! Random entries of every kind, made from the book's own table of fields. It checks nothing.

use proptest::prelude::*;
use struck::model::entry::{Entry, Kind};
use struck::model::value::Value;

/// Text with quotes, escapes, controls and letters of several scripts; never blank.
pub fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[A-Za-z0-9 './-]{0,12}[A-Za-z0-9]",
        1 => "[\\x00-\\x7fäöüß×\u{2028}\u{202e}\u{1f33f}\u{feff}]{0,8}x",
    ]
}

fn number(low: f64, high: f64) -> BoxedStrategy<Value> {
    prop_oneof![
        (low..=high).prop_map(Value::Number),
        (low as i64..=high as i64).prop_map(|it| Value::Number(it as f64)),
        Just(Value::Number(0.1 + 0.2)),
    ]
    .boxed()
}

fn count() -> BoxedStrategy<Value> {
    (1u32..=1_000_000)
        .prop_map(|it| Value::Number(f64::from(it)))
        .boxed()
}

fn text() -> BoxedStrategy<Value> {
    any_text().prop_map(Value::Text).boxed()
}

fn day() -> BoxedStrategy<Value> {
    (2000..2100, 1..13, 1..29)
        .prop_map(|(y, m, d)| Value::Text(format!("{y}-{m:02}-{d:02}")))
        .boxed()
}

fn at() -> BoxedStrategy<Value> {
    let time = (
        "2026-0[1-9]-[01][1-9]T[01][0-9]:[0-5][0-9]:[0-5][0-9]",
        "(\\.[0-9]{3})?",
        "[+-](0[0-9]|1[0-3]):(00|30|45)",
    );
    let time = time.prop_map(|(time, part, zone)| Value::Text(format!("{time}{part}{zone}")));
    prop_oneof![day(), time].boxed()
}

fn word(wanted: &str) -> BoxedStrategy<Value> {
    let words = wanted.strip_prefix("one of ").unwrap();
    let words: Vec<String> = words.split(", ").map(Into::into).collect();
    proptest::sample::select(words)
        .prop_map(Value::Text)
        .boxed()
}

fn id() -> BoxedStrategy<Value> {
    prop_oneof![
        "01J[0-9A-HJKMNP-TV-Z]{23}",
        "[0-9A-Za-z_-]{1,64}",
        "line:[0-9a-f]{16}",
        "line:[0-9a-f]{16}-[2-9]"
    ]
    .prop_map(Value::Text)
    .boxed()
}

/// Values of a field, by its name or by what its type says it wants.
fn values(name: &str, wanted: &str) -> BoxedStrategy<Value> {
    let dose = || {
        let parts = (
            any_text(),
            proptest::option::of(number(0.0, 100_000.0)),
            proptest::option::of(word("one of talc, gel, liquid, spray")),
        );
        parts.prop_map(|(active, ppm, carrier)| {
            let mut fields = vec![("active".to_owned(), Value::Text(active))];
            fields.extend(ppm.map(|it| ("ppm".to_owned(), it)));
            fields.extend(carrier.map(|it| ("carrier".to_owned(), it)));
            Value::Map(fields)
        })
    };
    match name {
        "hormone" => prop_oneof![
            Just(Value::Text("none".into())),
            dose(),
            proptest::collection::vec(dose(), 2..4).prop_map(Value::List)
        ]
        .boxed(),
        "heat_c" => prop_oneof![Just(Value::Text("none".into())), number(-60.0, 80.0)].boxed(),
        "about" => word("one of none, few, half, most, all")
            .prop_map(|it| Value::Map(vec![("rooted".into(), it)]))
            .boxed(),
        "lost" => (count(), count())
            .prop_map(|(a, b)| Value::Map(vec![("blackened".into(), a), ("mould".into(), b)]))
            .boxed(),
        "set" => (text(), count())
            .prop_map(|(a, b)| {
                Value::Map(vec![
                    ("note".into(), a),
                    ("stuck".into(), b),
                    ("place".into(), Value::Null),
                    ("rh_pct".into(), Value::List(vec![Value::Bool(true)])),
                ])
            })
            .boxed(),
        "season_from" => Just(Value::Text("08-01".into())).boxed(),
        "of" | "stick" | "again" => id(),
        "taken" => at(),
        "aliases" => proptest::collection::vec(any_text(), 0..3)
            .prop_map(|it| Value::List(it.into_iter().map(Value::Text).collect()))
            .boxed(),
        _ if wanted.starts_with("one of ") => word(wanted),
        _ if wanted.starts_with("a whole number") => count(),
        _ if wanted.starts_with("a number from ") => range(wanted),
        _ if wanted.starts_with("a day") => day(),
        _ if wanted.starts_with("true") => any::<bool>().prop_map(Value::Bool).boxed(),
        _ => text(),
    }
}

fn range(wanted: &str) -> BoxedStrategy<Value> {
    let numbers: Vec<f64> = wanted
        .split([' ', '°', '%'])
        .filter_map(|it| it.parse().ok())
        .collect();
    number(numbers[0], numbers[1])
}

fn kind(word: &'static str) -> BoxedStrategy<Vec<(String, Value)>> {
    let fields = Kind::fields_of(word).unwrap();
    let each = fields.into_iter().map(|field| {
        let value = values(field.name, &(field.wanted)());
        let kept = if field.required {
            Just(true).boxed()
        } else {
            any::<bool>().boxed()
        };
        (Just(field.name.to_owned()), value, kept)
    });
    each.collect::<Vec<_>>()
        .prop_map(|all| {
            all.into_iter()
                .filter(|it| it.2)
                .map(|it| (it.0, it.1))
                .collect()
        })
        .boxed()
}

/// An entry of any kind, with an id of its own.
pub fn any_entry() -> impl Strategy<Value = Entry> {
    let own_id = prop_oneof!["01J[0-9A-HJKMNP-TV-Z]{23}", "[0-9A-Za-z_-]{1,64}"];
    let kinds =
        proptest::sample::select(Kind::WORDS).prop_flat_map(|word| (Just(word), kind(word)));
    let common = (
        own_id,
        at(),
        proptest::option::of(any_text()),
        proptest::option::of(any_text()),
    );
    (kinds, common).prop_filter_map(
        "rules that join fields",
        |((word, fields), (id, at, by, note))| {
            let mut all = vec![
                ("v".to_owned(), Value::Number(1.0)),
                ("id".to_owned(), Value::Text(id)),
                ("at".to_owned(), at),
                ("kind".to_owned(), Value::Text(word.into())),
            ];
            all.extend(fields);
            all.extend(by.map(|it| ("by".to_owned(), Value::Text(it))));
            all.extend(note.map(|it| ("note".to_owned(), Value::Text(it))));
            Entry::from_fields(all, || unreachable!("it bears an id")).ok()
        },
    )
}

#[test]
fn entries_of_every_kind_are_made() {
    use proptest::strategy::ValueTree;
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut met = std::collections::BTreeSet::new();
    for _ in 0..1_500 {
        met.insert(
            any_entry()
                .new_tree(&mut runner)
                .unwrap()
                .current()
                .kind
                .word(),
        );
    }
    assert_eq!(met.len(), Kind::WORDS.len(), "{met:?}");
}
