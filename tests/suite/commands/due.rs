//! `due` on the sample nursery, on several days of its seasons: the list that a foreman would write.

use super::run::{Home, nursery};
use serde_json::Value;

fn nursery_on(day: &str, columns: usize) -> Home {
    nursery().at(&format!("{day}T07:30:00+01:00")).wide(columns)
}

#[test]
fn the_list_of_several_days_is_as_stored() {
    for day in [
        "2023-06-20",
        "2024-07-15",
        "2025-07-25",
        "2025-09-10",
        "2026-01-15",
        "2026-08-20",
    ] {
        for columns in [40, 80] {
            let said = nursery_on(day, columns).struck(&["due"]).done();
            for line in said.lines() {
                let wide = struck::text::clean::width(line);
                assert!(wide <= columns, "{columns}: {line}");
            }
            insta::assert_snapshot!(format!("due-{day}-{columns}"), said);
        }
    }
}

#[test]
fn ascii_is_ascii() {
    assert!(
        nursery_on("2025-07-25", 60)
            .struck(&["due", "--ascii"])
            .done()
            .is_ascii()
    );
}

#[test]
fn a_day_asked_for_is_told_as_on_that_day() {
    let that_day = nursery_on("2025-07-25", 80).struck(&["due"]).done();
    let asked = nursery_on("2026-08-20", 80)
        .struck(&["due", "--on", "2025-07-25"])
        .done();
    // The heading says of what year it is; from there on it is that day.
    let asked = asked.replacen("Fri 25 Jul 2025:", "Fri 25 Jul:", 1);
    assert_eq!(asked, that_day);
}

#[test]
fn days_ahead_only_add_what_is_to_come() {
    let count = |days: &str, list: &str| {
        let said = nursery_on("2025-09-10", 80)
            .struck(&["due", "--json", "--days", days])
            .done();
        let value: Value = serde_json::from_str(&said).unwrap();
        value[list].as_array().unwrap().len()
    };
    assert_eq!(count("0", "coming"), 0);
    assert!(count("3", "coming") > 0);
    assert!(count("14", "coming") > count("3", "coming"));
    assert_eq!(count("0", "due"), count("14", "due"));
}

#[test]
fn json_has_the_documented_shape_and_repeats_to_the_byte() {
    let home = nursery_on("2025-07-25", 80);
    let said = home.struck(&["due", "--json"]).done();
    assert_eq!(said, home.struck(&["due", "--json"]).done());
    let value: Value = serde_json::from_str(&said).unwrap();
    let keys = |value: &Value| {
        let keys = value.as_object().unwrap().keys().cloned();
        keys.collect::<Vec<_>>().join(" ")
    };
    assert_eq!(keys(&value), "struck unread on days open due coming silent");
    assert_eq!(keys(&value["silent"]), "days count batches");
    let lists = ["due", "coming"].map(|list| value[list].as_array().unwrap().clone());
    for item in lists.concat() {
        assert_eq!(
            keys(&item),
            "batch stick taxon wood place day remain press on in_days unseen_since reasons"
        );
        for reason in item["reasons"].as_array().unwrap() {
            assert_eq!(keys(reason), "rule figures");
        }
    }
}

#[test]
fn the_silent_are_counted_and_not_listed() {
    let home = nursery_on("2027-03-20", 80);
    let said = home.struck(&["due"]).done();
    assert_eq!(
        said,
        "Sat 20 Mar: 0 of 12 open batches due.\n\nLeft out: 12 batches with no entry for 180 days.\n"
    );
    let value: Value = serde_json::from_str(&home.struck(&["due", "--json"]).done()).unwrap();
    assert_eq!(value["silent"]["batches"].as_array().unwrap().len(), 12);
}

#[test]
fn the_filters_narrow_it() {
    let said = nursery_on("2025-07-25", 80)
        .struck(&["due", "--taxon", "escallonia"])
        .done();
    assert!(
        said.contains("Escallonia") && !said.contains("Ceanothus"),
        "{said}"
    );
    // A name that nothing bears is no empty list.
    let refused = nursery_on("2025-07-25", 80).struck(&["due", "--taxon", "escalonia"]);
    assert_eq!(refused.code, 2, "{}", refused.err);
    assert!(
        refused.err.contains("Near it: Escallonia"),
        "{}",
        refused.err
    );
}

#[test]
fn in_winter_what_nobody_looked_at_is_a_line_a_place_until_the_place_is_laid_to_rest() {
    let home = nursery();
    let said = home.struck(&["due", "--on", "2026-11-29"]).done();
    assert!(
        said.contains("* mist bench: 8 batches not looked at since 20 Aug"),
        "{said}"
    );
    // Of those only the line tells.
    assert!(!said.contains("26-012"), "{said}");
    let home = home.at("2026-11-28T12:00:00+00:00");
    let rest = home.struck(&["add", "remark mist bench: at rest, again on 1 Mar 2027"]);
    assert_eq!(rest.code, 0, "{}", rest.err);
    let said = home.struck(&["due", "--on", "2026-11-29"]).done();
    assert!(!said.contains("* mist bench: "), "{said}");
    // What stands elsewhere is not laid to rest with it; what was failing is told by itself, and is to be looked at first.
    assert!(said.contains("! 26-016"), "{said}");
    let words = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("Look first: that was long ago. Take out the blackened"),
        "{said}"
    );
}

#[test]
fn a_failing_batch_is_told_with_what_to_do() {
    let said = nursery().struck(&["due", "--on", "2026-08-20"]).done();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Take out the blackened"), "{said}");
}
