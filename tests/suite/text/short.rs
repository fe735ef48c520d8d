//! Names on one screen shorten species first, cultivar last, and stay told apart.

use proptest::prelude::*;
use std::collections::HashSet;
use struck::model::taxon::Taxon;
use struck::text::clean::{Charset, width};
use struck::text::short::short;

fn shorten(names: &[&str], cols: usize) -> Vec<String> {
    let taxa: Vec<Taxon> = names.iter().map(|name| Taxon::parse(name)).collect();
    let taxa: Vec<&Taxon> = taxa.iter().collect();
    short(&taxa, cols, Charset::Utf8)
}

#[test]
fn species_goes_first_then_genus_to_its_letter_and_the_cultivar_last() {
    let name = ["Lavandula angustifolia 'Hidcote'"];
    for (cols, form) in [
        (40, "Lavandula angustifolia 'Hidcote'"),
        (31, "Lavandula 'Hidcote'"),
        (18, "Lava. 'Hidcote'"),
        (14, "L. 'Hidcote'"),
        // The genus stays told.
        (11, "L. 'Hidcot…"),
        (8, "L. 'Hid…"),
    ] {
        assert_eq!(shorten(&name, cols), [form]);
    }
    assert_eq!(
        shorten(&["Lavandula angustifolia"], 16),
        ["L. angustifolia"]
    );
    assert_eq!(
        shorten(&["Acer palmatum var. dissectum"], 24),
        ["Acer var. dissectum"]
    );
    assert_eq!(
        shorten(&["×Cupressocyparis leylandii"], 13),
        ["×C. leylandii"]
    );
}

#[test]
fn what_was_not_understood_goes_before_the_cultivar() {
    let name = ["Lavandula angustifolia Mill. 'Hidcote' from the wall"];
    assert_eq!(shorten(&name, 20), ["Lavandula 'Hidcote'"]);
    assert_eq!(shorten(&["Lavandula Hidcote"], 15), ["Lava. Hidcote"]);
    assert_eq!(
        shorten(&["Kunzea linearis × K. robusta"], 17),
        ["Kunzea linearis…"]
    );
    assert_eq!(shorten(&["no. 14, by the gate"], 8), ["no. 14,…"]);
}

#[test]
fn a_form_that_fits_two_plants_is_passed_over() {
    let names = [
        "Lavandula angustifolia 'Alba'",
        "Lavandula dentata 'Alba'",
        "Weigela 'Alba'",
    ];
    let forms = shorten(&names, 20);
    assert_eq!(forms[2], "Weigela 'Alba'");
    let apart: HashSet<&String> = forms.iter().collect();
    assert_eq!(apart.len(), 3, "{forms:?}");
    let names = ["Weigela 'Bristol Snowflake'", "Weigela 'Bristol Snowfall'"];
    let forms = shorten(&names, 12);
    assert_ne!(forms[0], forms[1]);
}

#[test]
fn spellings_of_one_plant_take_one_form() {
    let forms = shorten(
        &["escallonia \"apple blossom\"", "Escallonia 'Apple Blossom'"],
        17,
    );
    assert_eq!(forms, ["E. 'Apple Blosso…", "E. 'Apple Blosso…"]);
}

proptest! {
    #[test]
    fn forms_fit_and_stay_apart(
        parts in proptest::collection::vec((0usize..3, 0usize..3, 0usize..4), 1..12), cols in 12usize..40
    ) {
        let genera = ["Lavandula", "Lavatera", "Salix"];
        let species = ["", "alba", "angustifolia"];
        let cultivars = ["", "'Alba'", "'Pale Wall'", "'Pale Window'"];
        let names: Vec<String> = parts
            .iter()
            .map(|(g, s, c)| format!("{} {} {}", genera[*g], species[*s], cultivars[*c]))
            .collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let forms = shorten(&names, cols);
        let keys: HashSet<String> = names.iter().map(|name| Taxon::parse(name).key()).collect();
        let apart: HashSet<&String> = forms.iter().collect();
        prop_assert!(forms.iter().all(|form| width(form) <= cols && !form.is_empty()));
        prop_assert_eq!(apart.len(), keys.len(), "{:?}", forms);
    }
}
