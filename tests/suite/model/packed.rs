//! Entries held in few bytes: whatever was packed comes out as it was.

use crate::journal::samples::any_entry;
use proptest::prelude::*;
use std::cmp::Ordering;
use struck::model::at::At;
use struck::model::entry::{Climate, Entry, Look};
use struck::model::id::Id;
use struck::model::packed::PackedEntry;
use struck::model::value::{Celsius, Value};

fn made(fields: &[(&str, &str)]) -> Entry {
    let fields = fields.iter().map(|(name, text)| {
        let value = text
            .parse()
            .map_or_else(|_| Value::Text((*text).to_owned()), Value::Number);
        ((*name).to_owned(), value)
    });
    Entry::from_fields(fields.collect(), || Id::for_line(7, 3)).unwrap()
}

proptest! {
    #[test]
    fn any_entry_comes_out_as_it_was(entry in any_entry()) {
        let packed = PackedEntry::from(entry.clone());
        // Their words too, which tell zero from minus zero.
        prop_assert_eq!(format!("{:?}", packed.whole()), format!("{entry:?}"));
        prop_assert_eq!(packed.whole(), entry.clone());
        prop_assert_eq!((&packed.id, packed.at), (&entry.id, entry.at));
        prop_assert_eq!((packed.by(), packed.note()), (entry.by.as_deref(), entry.note.as_deref()));
        prop_assert_eq!(packed.name().word(), entry.kind.word());
        prop_assert_eq!(packed.kind(), entry.kind.clone());
        prop_assert_eq!(packed.get::<Look>(), entry.kind.get::<Look>().cloned());
        prop_assert_eq!(packed.is::<Climate>(), entry.kind.get::<Climate>().is_some());
        prop_assert_eq!(packed.target(), entry.kind.target().cloned());
        prop_assert_eq!(packed.name().corrects(), entry.kind.target().is_some());
    }

    #[test]
    fn packed_entries_are_equal_where_entries_are(a in any_entry(), b in any_entry()) {
        let [one, two, other] = [&a, &a, &b].map(|it| PackedEntry::from(it.clone()));
        prop_assert!(one == two && !one.is_shared_with(&two) && one.is_shared_with(&one.clone()));
        prop_assert_eq!(one == other, a == b);
        prop_assert_eq!(one.fold_order(&other), other.fold_order(&one).reverse());
        prop_assert!(a.at.cmp(&b.at) == Ordering::Equal || one.fold_order(&other) == a.at.cmp(&b.at));
    }
}

#[test]
fn minus_zero_is_kept_and_equal_to_zero() {
    let frost = |degrees: &str| {
        made(&[
            ("at", "2026-01-02"),
            ("kind", "climate"),
            ("place", "frame"),
            ("air_c", degrees),
        ])
    };
    let [plus, minus] = ["0", "-0"].map(|degrees| PackedEntry::from(frost(degrees)));
    assert_eq!(plus, minus);
    let Some(Celsius(degrees)) = minus.get::<Climate>().and_then(|it| it.air_c) else {
        panic!("{minus:?}")
    };
    assert!(degrees == 0.0 && degrees.is_sign_negative());
    assert_ne!(plus, PackedEntry::from(frost("1")));
}

#[test]
fn entries_of_a_bare_day_fold_in_the_order_of_the_work() {
    let of = |kind: &str, at: &str, field: (&str, &str)| {
        let entry = made(&[
            ("id", "z"),
            ("at", at),
            ("kind", kind),
            ("batch", "26-1"),
            field,
        ]);
        PackedEntry::from(entry)
    };
    let [look, pot] = [("look", ("rooted", "3")), ("pot", ("count", "3"))]
        .map(|(kind, field)| of(kind, "2026-06-14", field));
    assert_eq!(look.fold_order(&pot), Ordering::Less);
    let early = of("sold", "2026-06-14T06:00:00Z", ("count", "1"));
    let late = of("look", "2026-06-14T07:00:00Z", ("rooted", "3"));
    assert_eq!(early.fold_order(&late), Ordering::Less);
    assert_eq!(pot.fold_order(&early), Ordering::Less);
    assert!(matches!(pot.at, At::Day(_)));
}
