//! A few letters find the name; a slip of the finger finds the word.

use struck::input::fuzzy::{nearest, rank};

const NAMES: [&str; 5] = [
    "Lavandula angustifolia 'Hidcote'",
    "Escallonia 'Apple Blossom'",
    "Weigela 'Bristol Snow'",
    "Philadelphus 'Belle Etoile'",
    "Escallonia rubra",
];

#[test]
fn letters_in_order_find_the_name() {
    let first = |query: &str| rank(query, &NAMES).first().map(|(index, _)| *index);
    assert_eq!(first("escap"), Some(1));
    assert_eq!(first("HID"), Some(0));
    assert_eq!(first("rub esc"), Some(4));
    assert_eq!(first("phb"), Some(3));
    assert_eq!(first("zzz"), None);
    let all: Vec<usize> = rank("", &NAMES).iter().map(|(index, _)| *index).collect();
    assert_eq!(all, [0, 1, 2, 3, 4]);
}

#[test]
fn accents_need_not_be_typed_and_may_be() {
    let names = [
        "Philadelphus 'Belle Étoile'",
        "Osmanthus ×burkwoodii",
        "e\u{301}te\u{301}",
    ];
    let first = |query: &str| rank(query, &names).first().map(|(index, _)| *index);
    assert_eq!(first("etoile"), Some(0));
    assert_eq!(first("ÉTOILE"), Some(0));
    assert_eq!(first("xburk"), Some(1));
    assert_eq!(first("ete"), Some(2));
}

#[test]
fn scores_fall_along_the_list() {
    let found = rank("es", &NAMES);
    assert!(found.len() >= 2);
    assert!(found.windows(2).all(|pair| pair[0].1 >= pair[1].1));
}

#[test]
fn a_slip_finds_the_word_meant() {
    let stages = ["callused", "rooted", "bottom", "blackened"];
    assert_eq!(nearest("calused", &stages), Some("callused"));
    assert_eq!(nearest("Rotoed", &stages), Some("rooted"));
    assert_eq!(nearest("blakcened", &stages), Some("blackened"));
    assert_eq!(nearest("potted", &stages), Some("rooted"));
    assert_eq!(nearest("wilted", &stages), None);
    assert_eq!(nearest("x", &stages), None);
    assert_eq!(nearest("rooted", &[]), None);
}
