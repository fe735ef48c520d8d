//! Plant names against published examples of the codes, and the laws a comparing key must keep.
//!
//! `tests/data/published/names.csv` names the source of each row: examples of ICN (Shenzhen 2018)
//! Art. H.2 and H.3 (iapt-taxon.org), ICNCP 9th ed. 2016 (article numbers partly from memory), and
//! the public issue threads of gnames/gnparser.

use proptest::prelude::*;
use struck::model::taxon::{NameVerdict, Sign, Taxon};

fn rows() -> Vec<csv::StringRecord> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/data/published/names.csv"
    );
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader.records().map(Result::unwrap).collect()
}

/// A common name cannot be told from a genus without a list.
fn is_common_name(row: &csv::StringRecord) -> bool {
    &row[9] == "common name + cultivar"
}

#[test]
fn published_names_get_their_verdict() {
    let rows = rows();
    assert_eq!(rows.len(), 30);
    for row in rows.iter().filter(|row| !is_common_name(row)) {
        let verdict = match Taxon::parse(&row[0]).verdict() {
            NameVerdict::Valid => "valid",
            NameVerdict::Tolerate => "tolerate",
            NameVerdict::Invalid => "invalid",
        };
        assert_eq!(verdict, &row[1], "{}", &row[0]);
    }
}

#[test]
fn published_names_fall_into_their_parts() {
    // Rows without a normal form are names the codes reject; how we show them is tested below.
    for row in rows()
        .iter()
        .filter(|row| !is_common_name(row) && !row[2].is_empty())
    {
        let taxon = Taxon::parse(&row[0]);
        assert_eq!(taxon.shown(), row[2], "{}", &row[0]);
        let group = taxon.group_or_grex().map(|g| g.shown());
        let parts = [
            taxon.genus().unwrap_or("").to_owned(),
            taxon.species().unwrap_or("").to_owned(),
            taxon.rank().map_or(String::new(), |r| r.shown()),
            taxon.infra().unwrap_or("").to_owned(),
            taxon.cultivar().unwrap_or("").to_owned(),
            group.unwrap_or_default(),
        ];
        let expected: Vec<&str> = row.iter().skip(3).take(6).collect();
        assert_eq!(parts.to_vec(), expected, "{}", &row[0]);
    }
}

/// What kind of name this is, such as `nothospecies+cultivar`, by its parts.
fn kind_of(taxon: &Taxon) -> String {
    if !taxon.has_parts() {
        let parents = [" × ", " + "]
            .iter()
            .any(|sign| taxon.shown().contains(sign));
        return if parents {
            "hybrid formula"
        } else {
            "as typed"
        }
        .to_owned();
    }
    let base = match (taxon.sign(), taxon.rank().map(|rank| rank.shown())) {
        (Sign::Graft, _) => "graft-chimaera".to_owned(),
        (_, Some(rank)) => rank
            .replace("subsp.", "subspecies")
            .replace("var.", "variety")
            .replace("f.", "form"),
        _ if taxon.is_nothospecies() => "nothospecies".to_owned(),
        (Sign::Cross, _) => "nothogenus".to_owned(),
        _ => String::new(),
    };
    let group = taxon.group_or_grex();
    let group = group.map_or("", |group| if group.grex { "grex" } else { "Group" });
    let cultivar = taxon.cultivar().map_or("", |_| "cultivar");
    let parts: Vec<&str> = [base.as_str(), group, cultivar]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect();
    match (parts.is_empty(), taxon.species()) {
        (false, _) => parts.join("+"),
        (true, Some(_)) => "species".to_owned(),
        (true, None) => "genus".to_owned(),
    }
}

#[test]
fn published_names_are_of_their_kind() {
    for row in rows()
        .iter()
        .filter(|row| &row[1] != "invalid" && !is_common_name(row))
    {
        // Remarks in this column that are no kinds.
        let kind = match &row[9] {
            "cultivar, no species" | "apostrophe inside epithet" | "typographic quotes" => {
                "cultivar".to_owned()
            }
            other => other.replace(" in brackets", "").replace(" + ", "+"),
        };
        assert_eq!(kind_of(&Taxon::parse(&row[0])), kind, "{}", &row[0]);
    }
}

/// Typed, shown. Our own choices, after the rules named in `taxon.rs`.
const SHOWN: [(&str, &str); 41] = [
    ("weigela x 'red wall'", "Weigela 'Red Wall'"),
    (
        "Brassica oleracea (capitata group) 'Early Wall'",
        "Brassica oleracea (Capitata Group) 'Early Wall'",
    ),
    (
        "Salix x sepulcralis var chrysocoma",
        "Salix ×sepulcralis var. chrysocoma",
    ),
    ("Hebe 'One' hort.", "Hebe 'One' hort."),
    ("HYDRANGEA MACROPHYLLA 'ONE'", "Hydrangea macrophylla 'ONE'"),
    (
        "Prunus ×subhirtella 'Rosea' (standard)",
        "Prunus ×subhirtella 'Rosea' (standard)",
    ),
    ("", ""),
    (
        "escallonia  \"apple blossom\"",
        "Escallonia 'Apple Blossom'",
    ),
    ("Escallonia ‘apple blossom’ ", "Escallonia 'Apple Blossom'"),
    ("Escallonia “Apple Blossom”", "Escallonia 'Apple Blossom'"),
    ("Escallonia 'Apple Blossom", "Escallonia 'Apple Blossom'"),
    (
        "Cryptomeria japonica \"Elegans\"",
        "Cryptomeria japonica 'Elegans'",
    ),
    ("Escallonia'Apple'", "Escallonia 'Apple'"),
    ("Escallonia‘Apple Blossom’", "Escallonia 'Apple Blossom'"),
    ("Escallonia'Apple' hort.", "Escallonia 'Apple' hort."),
    ("Weigela O'Neill", "Weigela O'Neill"),
    ("Weigela florida'Variegata'", "Weigela florida 'Variegata'"),
    ("Rosa cv. Peace", "Rosa 'Peace'"),
    (
        "weigela 'pride of the bench'",
        "Weigela 'Pride of the Bench'",
    ),
    ("weigela 'McBench red'", "Weigela 'McBench Red'"),
    ("LAVANDULA ANGUSTIFOLIA", "Lavandula angustifolia"),
    ("xCupressocyparis leylandii", "×Cupressocyparis leylandii"),
    ("x Agropogon littoralis", "×Agropogon littoralis"),
    (
        "acer palmatum ssp matsumurae var dissectum",
        "Acer palmatum subsp. matsumurae var. dissectum",
    ),
    (
        "Viburnum plicatum f.tomentosum",
        "Viburnum plicatum f. tomentosum",
    ),
    (
        "polypodium vulgare nsubsp. mantoniae",
        "Polypodium vulgare nothosubsp. mantoniae",
    ),
    ("hydrangea teller group", "Hydrangea Teller Group"),
    (
        "Hydrangea macrophylla Teller Group 'Fire Work Roze'",
        "Hydrangea macrophylla (Teller Group) 'Fire Work Roze'",
    ),
    ("paphiopedilum sorel gx", "Paphiopedilum Sorel grex"),
    (
        "kunzea linearis x kunzea robusta",
        "Kunzea linearis × Kunzea robusta",
    ),
    ("Crataegus + Mespilus", "Crataegus + Mespilus"),
    (
        "Lavandula ×intermedia × Lavandula dentata",
        "Lavandula ×intermedia × Lavandula dentata",
    ),
    (
        "Choisya ternata MIST ('Pale Wall')",
        "Choisya ternata MIST 'Pale Wall'",
    ),
    ("Weigela 'Growers' Choice'", "Weigela 'Growers' Choice'"),
    ("Weigela 'One' from the wall", "Weigela 'One' from the wall"),
    ("Lavandula Hidcote", "Lavandula Hidcote"),
    ("Salix sp.", "Salix sp."),
    ("no. 14, from the gate", "no. 14, from the gate"),
    ("Kunzea linearis × robusta", "Kunzea linearis × robusta"),
    ("Weigela 'One' x 'Two'", "Weigela 'One' x 'Two'"),
    ("'Hidcote'", "'Hidcote'"),
];

#[test]
fn names_are_shown_in_one_form() {
    for (typed, shown) in SHOWN {
        assert_eq!(Taxon::parse(typed).shown(), shown, "{typed}");
    }
}

/// Lines of names that are one plant.
const SAME: [&[&str]; 8] = [
    &[
        "escallonia  \"apple blossom\"",
        "Escallonia 'Apple Blossom'",
        "ESCALLONIA ‘APPLE BLOSSOM’",
        "Escallonia\u{a0}'Apple\tBlossom'",
        "Escallonia cv. Apple Blossom",
    ],
    &[
        "Lavandula ×intermedia",
        "Lavandula x intermedia",
        "lavandula intermedia",
        "Lavandula × intermedia",
    ],
    &[
        "×Agropogon littoralis",
        "Agropogon littoralis",
        "xAgropogon littoralis",
    ],
    &[
        "Polypodium vulgare nothosubsp. mantoniae",
        "Polypodium vulgare ssp. mantoniae",
    ],
    &[
        "Kunzea linearis × K. robusta",
        "Kunzea robusta x Kunzea linearis",
    ],
    &[
        "Leucocasia gigantea 'Jack's Giant'",
        "leucocasia gigantea ‘jack’s giant’",
    ],
    &[
        "Rhododendron boothii Mishmiense Group",
        "rhododendron boothii (mishmiense group)",
    ],
    &[
        "Acer palmatum var. dissectum",
        "Acer palmatum subsp. matsumurae var. dissectum",
    ],
];

/// Pairs that are not one plant.
const APART: [(&str, &str); 8] = [
    ("+Crataegomespilus", "×Crataegomespilus"),
    ("Weigela 'One'", "Weigela One Group"),
    ("Weigela one", "Weigela 'One'"),
    ("Acer palmatum var. rubrum", "Acer palmatum f. rubrum"),
    ("Kunzea linearis × K. robusta", "Kunzea linearis"),
    ("Lavandula 'Hidcote'", "Lavandula 'Hidcote Pink'"),
    ("Lavandula angustifolia 'Hidcote'", "Lavandula 'Hidcote'"),
    ("Crataegus + Mespilus", "Crataegus × Mespilus"),
];

#[test]
fn keys_join_what_is_one_plant_and_part_the_rest() {
    for names in SAME {
        for name in names {
            assert_eq!(
                Taxon::parse(name).key(),
                Taxon::parse(names[0]).key(),
                "{name}"
            );
        }
    }
    for (one, other) in APART {
        assert_ne!(Taxon::parse(one).key(), Taxon::parse(other).key(), "{one}");
    }
}

#[test]
fn the_genus_serves_for_pooling() {
    assert_eq!(
        Taxon::parse("x cupressocyparis leylandii").genus(),
        Some("Cupressocyparis")
    );
    assert_eq!(
        Taxon::parse("Kunzea linearis × robusta").genus(),
        Some("Kunzea")
    );
    assert_eq!(Taxon::parse("L. angustifolia").genus(), None);
    assert_eq!(Taxon::parse("+Crataegomespilus").sign(), Sign::Graft);
}

#[test]
fn what_was_not_understood_is_kept() {
    let taxon = Taxon::parse("Lavandula angustifolia Mill. 'Hidcote'");
    assert_eq!(taxon.unread().as_deref(), Some("Mill."));
    assert_eq!(taxon.verdict(), NameVerdict::Valid);
    // A parent in a formula needs its genus, or its initial (ICN Art. H.2.1).
    let verdict = |text| Taxon::parse(text).verdict();
    let formula = Taxon::parse("Kunzea linearis × K. robusta");
    assert_eq!(kind_of(&formula), "hybrid formula");
    assert_eq!(verdict("Kunzea linearis × robusta"), NameVerdict::Invalid);
}

/// Pieces of names, sound and broken, to be strung together.
fn typed() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        "[A-Za-z]{1,8}",
        "['‘’\"“(×x+) .]{1,3}",
        Just("subsp.".to_owned()),
        Just("Group".to_owned()),
        Just("grex".to_owned()),
        Just("cv.".to_owned()),
        "\\PC{0,3}",
    ];
    let gap = prop_oneof![Just(""), Just(" "), Just("  ")];
    proptest::collection::vec((piece, gap), 0..9)
        .prop_map(|parts| parts.iter().map(|(p, g)| format!("{p}{g}")).collect())
}

proptest! {
    #[test]
    fn any_text_is_read_and_settles(text in typed()) {
        let once = Taxon::parse(&text);
        let twice = Taxon::parse(&once.shown());
        prop_assert_eq!(twice.shown(), once.shown());
        prop_assert_eq!(twice.key(), once.key());
    }

    #[test]
    fn no_letter_is_lost(text in "([A-EH-UWYZa-eh-uwyz]{1,8}|['‘\"“(×+) .]{1,3}| ){0,12}") {
        // No x, v, f, g: those may stand for a sign or a mark, which is spelled anew.
        let letters = |s: &str| {
            let lower = s.to_lowercase();
            let mut kept: Vec<char> = lower.chars().filter(char::is_ascii_alphabetic).collect();
            kept.sort_unstable();
            kept
        };
        prop_assert_eq!(letters(&Taxon::parse(&text).shown()), letters(&text));
    }

    #[test]
    fn case_spaces_and_quotes_part_nothing(
        genus in "[A-Z][a-z]{3,8}", species in "[a-z]{4,9}", cultivar in "[A-Z][a-z]{3,8}( [A-Z][a-z]{3,8})?"
    ) {
        prop_assume!(species != "grex" && species != "group" && species != "form" && species != "forma");
        let name = format!("{genus} {species} '{cultivar}'");
        let key = Taxon::parse(&name).key();
        let other = format!("  {}  {species}\t“{}”", genus.to_lowercase(), cultivar.to_uppercase());
        prop_assert_eq!(Taxon::parse(&other).key(), key.clone());
        let crossed = format!("{genus} x {species} ‘{cultivar}’");
        prop_assert_eq!(Taxon::parse(&crossed).key(), key);
        prop_assert_eq!(Taxon::parse(&name).shown(), name);
    }
}
