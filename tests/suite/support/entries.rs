//! Random entries for property tests: of every kind, few enough names that they meet, some of them impossible.

use proptest::prelude::*;
use struck::model::entry::Entry;
use struck::model::id::Id;
use struck::model::value::Value;

/// Any entry of any kind, fit by itself; what it says of others may be impossible.
pub fn entry() -> impl Strategy<Value = Entry> {
    (id(), at(), kind(), common()).prop_filter_map("fit", |(id, at, kind, common)| {
        let mut fields = vec![("id".to_owned(), text(&id)), ("at".to_owned(), text(&at))];
        fields.extend(kind);
        fields.extend(common);
        Entry::from_fields(fields, || Id::for_line(0, 1)).ok()
    })
}

/// A journal's worth of entries.
pub fn entries(most: usize) -> impl Strategy<Value = Vec<Entry>> {
    prop::collection::vec(entry(), 0..most)
}

type Fields = Vec<(String, Value)>;

fn text(text: &str) -> Value {
    Value::Text(text.to_owned())
}

fn field<V: Into<Option<Value>>>(name: &str, value: V) -> Option<(String, Value)> {
    Some((name.to_owned(), value.into()?))
}

/// Thirty ids: most are ULIDs, so that entries meet and point at one another.
fn id() -> impl Strategy<Value = String> {
    (0..30_u128).prop_map(|n| match n {
        0..3 => format!("by-hand-{n}"),
        _ => Id::from_ulid(0x0197_0000_0000_0000_0000_0000_0000_0000 + n * 7919).to_string(),
    })
}

/// Days of three weeks, some bare, in two zones.
fn at() -> impl Strategy<Value = String> {
    (1..22_u32, 0..24_u32, 0..60_u32, 0..4_u32).prop_map(|(day, hour, minute, form)| match form {
        0 => format!("2026-06-{day:02}"),
        1 => format!("2026-06-{day:02}T{hour:02}:{minute:02}:00Z"),
        _ => format!("2026-06-{day:02}T{hour:02}:{minute:02}:07+02:00"),
    })
}

fn common() -> impl Strategy<Value = Fields> {
    let by = prop::option::weighted(0.2, word(&["Ada", "Bo", "ada"]));
    let note = prop::option::weighted(0.3, word(&["wet", "check the fogger", "two labels"]));
    (by, note).prop_map(|(by, note)| {
        let fields = [field("by", by), field("note", note)];
        fields.into_iter().flatten().collect()
    })
}

fn word(words: &'static [&'static str]) -> BoxedStrategy<Value> {
    prop::sample::select(words).prop_map(text).boxed()
}

fn count(most: u32) -> BoxedStrategy<Value> {
    (0..=most).prop_map(|n| Value::Number(f64::from(n))).boxed()
}

fn number(low: f64, high: f64) -> BoxedStrategy<Value> {
    // Hundredths as loggers give them, and now and then any number at all.
    let steps = (0..=1000_u32).prop_map(move |n| {
        let hundredths = (low * 100.0 + (high - low) * f64::from(n) / 10.0).round();
        Value::Number(hundredths / 100.0)
    });
    prop_oneof![9 => steps, 1 => (low..high).prop_map(Value::Number)].boxed()
}

fn a_id() -> BoxedStrategy<Value> {
    id().prop_map(|id| text(&id)).boxed()
}

fn a_day() -> BoxedStrategy<Value> {
    (1..29_u32)
        .prop_map(|day| text(&format!("2026-07-{day:02}")))
        .boxed()
}

fn code() -> BoxedStrategy<Value> {
    word(&["26-001", "26-002", "26-k003", "26-K003"])
}

fn place() -> BoxedStrategy<Value> {
    word(&["bench A", "Bench  a/3", "frame", "north frame", "outside"])
}

fn taxon() -> BoxedStrategy<Value> {
    word(&[
        "Weigela florida",
        "weigela florida",
        "Lavandula angustifolia 'Munstead'",
        "Escallonia",
    ])
}

/// Fields of a kind, each with how often it is there, in per cent.
fn kind_of(
    kind: &'static str,
    fields: Vec<(&'static str, u32, BoxedStrategy<Value>)>,
) -> BoxedStrategy<Fields> {
    let mut all: BoxedStrategy<Fields> = Just(vec![("kind".to_owned(), text(kind))]).boxed();
    for (name, often, value) in fields {
        let some = match often {
            100 => value.prop_map(Some).boxed(),
            _ => prop::option::weighted(f64::from(often) / 100.0, value).boxed(),
        };
        all = (all, some)
            .prop_map(move |(mut fields, value)| {
                fields.extend(field(name, value));
                fields
            })
            .boxed();
    }
    all
}

fn kind() -> BoxedStrategy<Fields> {
    prop_oneof![
        4 => stick(), 6 => look(), 2 => pot(), 2 => ready(), 1 => sold(), 2 => discard(), 2 => relocate(),
        1 => treat(), 3 => climate(), 1 => a_place(), 1 => a_taxon(), 1 => nursery(), 1 => target(), 1 => remark(),
        2 => amend(), 2 => withdraw(),
    ]
    .boxed()
}

fn stick() -> BoxedStrategy<Fields> {
    kind_of(
        "stick",
        vec![
            ("batch", 100, code()),
            ("taxon", 100, taxon()),
            ("stuck", 100, count(60)),
            ("wood", 50, word(&["softwood", "semi-ripe"])),
            ("hormone", 30, word(&["none"])),
            ("medium", 50, word(&["perlite", "Perlite", "bark and grit"])),
            ("per_plant", 20, count(3)),
            ("place", 70, place()),
            ("trial", 20, word(&["heat"])),
            ("arm", 20, word(&["warm", "cold"])),
        ],
    )
}

fn batch_and(
    fields: Vec<(&'static str, u32, BoxedStrategy<Value>)>,
) -> Vec<(&'static str, u32, BoxedStrategy<Value>)> {
    let mut all = vec![("batch", 100, code()), ("stick", 40, a_id())];
    all.extend(fields);
    all
}

fn look() -> BoxedStrategy<Fields> {
    let lost = (0..5_u32, 0..9_u32).prop_map(|(cause, n)| {
        let cause = ["blackened", "wilted", "mould", "eaten", "unknown"][cause as usize];
        Value::Map(vec![(cause.to_owned(), Value::Number(f64::from(n)))])
    });
    let guess = word(&["none", "few", "half", "most", "all"]);
    let about = (prop::option::of(guess.clone()), guess).prop_map(|(callused, rooted)| {
        let mut said = vec![("rooted".to_owned(), rooted)];
        said.extend(field("callused", callused));
        Value::Map(said)
    });
    kind_of(
        "look",
        batch_and(vec![
            ("how", 50, word(&["lift", "tug", "under", "glance"])),
            ("seen", 40, count(60)),
            ("callused", 50, count(40)),
            ("rooted", 50, count(40)),
            ("bottom", 30, count(20)),
            ("about", 20, about.boxed()),
            ("lost", 40, lost.boxed()),
            ("again_on", 20, a_day()),
        ]),
    )
}

fn pot() -> BoxedStrategy<Fields> {
    kind_of(
        "pot",
        batch_and(vec![("count", 100, count(30)), ("place", 30, place())]),
    )
}

fn ready() -> BoxedStrategy<Fields> {
    let from = word(&["bench", "pots"]);
    kind_of(
        "ready",
        batch_and(vec![("count", 100, count(20)), ("from", 40, from)]),
    )
}

fn sold() -> BoxedStrategy<Fields> {
    kind_of("sold", batch_and(vec![("count", 100, count(20))]))
}

fn discard() -> BoxedStrategy<Fields> {
    kind_of(
        "discard",
        batch_and(vec![
            ("count", 100, count(20)),
            ("from", 40, word(&["bench", "pots"])),
            (
                "why",
                70,
                word(&["given-up", "surplus", "restuck", "unlabelled", "mould"]),
            ),
        ]),
    )
}

fn relocate() -> BoxedStrategy<Fields> {
    let whole = batch_and(vec![("place", 100, place()), ("again_on", 30, a_day())]);
    let part = batch_and(vec![
        ("count", 100, count(30)),
        ("into", 100, word(&["26-001", "26-1a", "26-1b"])),
        ("place", 50, place()),
    ]);
    prop_oneof![kind_of("move", whole), kind_of("move", part)].boxed()
}

fn treat() -> BoxedStrategy<Fields> {
    let what = || word(&["mist", "feed", "wean"]);
    let batch = batch_and(vec![("what", 100, what())]);
    let at = vec![("what", 100, what()), ("place", 100, place())];
    prop_oneof![kind_of("treat", batch), kind_of("treat", at)].boxed()
}

fn climate() -> BoxedStrategy<Fields> {
    kind_of(
        "climate",
        vec![
            ("place", 100, place()),
            ("air_c", 70, number(-5.0, 40.0)),
            ("rh_pct", 70, number(0.0, 100.0)),
            ("mist_every_s", 10, number(10.0, 40_000.0)),
            ("vent", 10, word(&["shut", "half"])),
        ],
    )
}

fn a_place() -> BoxedStrategy<Fields> {
    let aliases = word(&["north frame", "bench A"]).prop_map(|alias| Value::List(vec![alias]));
    kind_of(
        "place",
        vec![
            ("place", 100, place()),
            ("aliases", 30, aliases.boxed()),
            ("trays", 40, count(40)),
        ],
    )
}

fn a_taxon() -> BoxedStrategy<Fields> {
    let aliases = taxon().prop_map(|alias| Value::List(vec![alias]));
    kind_of(
        "taxon",
        vec![
            ("taxon", 100, taxon()),
            ("aliases", 40, aliases.boxed()),
            ("first_look_days", 40, count(40)),
        ],
    )
}

fn nursery() -> BoxedStrategy<Fields> {
    let fields = vec![
        ("season_from", 60, word(&["01-01", "06-10"])),
        ("units", 50, word(&["C", "F"])),
    ];
    kind_of("nursery", fields)
}

fn target() -> BoxedStrategy<Fields> {
    let fields = vec![
        ("taxon", 100, taxon()),
        ("count", 100, count(99)),
        ("by_date", 100, a_day()),
    ];
    kind_of("target", fields)
}

fn remark() -> BoxedStrategy<Fields> {
    let note = || ("note", 100, word(&["roots look fine"]));
    let batch = batch_and(vec![note(), ("again_on", 50, a_day())]);
    prop_oneof![
        kind_of("remark", batch),
        kind_of("remark", vec![note(), ("place", 60, place())])
    ]
    .boxed()
}

fn amend() -> BoxedStrategy<Fields> {
    let one = prop_oneof![
        code().prop_map(|v| ("batch", v)),
        count(60).prop_map(|v| ("stuck", v)),
        count(9).prop_map(|v| ("count", v)),
        taxon().prop_map(|v| ("taxon", v)),
        at().prop_map(|v| ("at", text(&v))),
        number(0.0, 40.0).prop_map(|v| ("air_c", v)),
        Just(("note", Value::Null)),
        count(60).prop_map(|v| ("set", Value::Map(vec![("stuck".to_owned(), v)]))),
    ];
    let set = one.prop_map(|(name, value)| Value::Map(vec![(name.to_owned(), value)]));
    kind_of(
        "amend",
        vec![("of", 100, a_id()), ("set", 100, set.boxed())],
    )
}

fn withdraw() -> BoxedStrategy<Fields> {
    kind_of("withdraw", vec![("of", 100, a_id())])
}
