//! Cautions: which entry calls for which, each by its thing. The rules are common practice; no dose, no cure.

use crate::support::lines::Pages;
use struck::model::entry::Kind;
use struck::text::cautions::{CAUTIONS, FIRST, cautions_due};

/// The keys of the cautions on the last sticking of these lines.
fn keys(lines: &[&str]) -> Vec<String> {
    let book = Pages::of(lines).book();
    let batch = book.batches().last().unwrap();
    let due = cautions_due(&Kind::Stick(batch.stick.clone()), &book);
    due.into_iter().map(|caution| caution.key).collect()
}

fn stick(taxon: &str, more: &str) -> String {
    format!(
        "{{\"at\":\"2026-06-14\",\"kind\":\"stick\",\"batch\":\"26-001\",\"taxon\":\"{taxon}\",\"stuck\":5{more}}}"
    )
}

#[test]
fn each_thing_has_a_caution_of_its_own() {
    assert_eq!(
        keys(&[&stick("Euphorbia myrsinites", "")]),
        ["sap euphorbia"]
    );
    assert_eq!(keys(&[&stick("Daphne odora", "")]), ["sap daphne"]);
    assert_eq!(
        keys(&[&stick("Buddleja davidii 'Ana'", "")]),
        ["invasive buddleja davidii"]
    );
    assert!(keys(&[&stick("Weigela florida", "")]).is_empty());
    let bleach = stick("Weigela florida", ",\"blade\":\"bleach\"");
    assert_eq!(keys(&[&bleach]), ["disinfectant bleach"]);
    let meths = stick("Weigela florida", ",\"blade\":\"Meths 70 %\"");
    assert_eq!(keys(&[&meths]), ["alcohol meths 70 %"]);
    let talc = stick(
        "Weigela florida",
        ",\"hormone\":{\"active\":\"IBA\",\"ppm\":3000,\"carrier\":\"talc\"},\"wounded\":true,\"heat_c\":21",
    );
    assert_eq!(keys(&[&talc]), ["powder iba", "blade", "electricity"]);
    let protected = "{\"at\":\"2026-06-01\",\"kind\":\"taxon\",\"taxon\":\"Weigela florida\",\"protected\":true}";
    assert_eq!(
        keys(&[protected, &stick("Weigela florida", "")]),
        ["protected weigela florida"]
    );
    let bought = stick("Weigela florida", ",\"source\":\"bought in, spring\"");
    assert_eq!(keys(&[&bought]), ["plant health"]);
}

#[test]
fn no_caution_gives_a_dose_and_all_hazards_of_the_work_have_one() {
    assert!(FIRST.contains("label") && FIRST.contains("rules"));
    for caution in CAUTIONS {
        for sentence in std::iter::once(&caution.line).chain(caution.more) {
            assert!(sentence.ends_with('.'), "{sentence}");
            let doses = ["ppm", " mg", " ml", " % "];
            assert!(
                !doses.iter().any(|dose| sentence.contains(dose)),
                "{sentence}"
            );
        }
    }
    let wanted = "hormone,powder,alcohol,hormone spray,disinfectant,spray,electricity,heat,mist,compost,sap,blade,protected,invasive,plant health";
    for hazard in wanted.split(',') {
        assert!(CAUTIONS.iter().any(|it| it.hazard == hazard), "{hazard}");
    }
}
