//! The bench line by example: every kind, the trade's other words, units, codes, slips. Facts marked
//! (common practice) are the trade's; the rest is the project's own grammar.

use chrono::{DateTime, FixedOffset, NaiveDateTime};
use struck::input::bench_line::{LineReading, Now, Vocabulary, VocabularyBatch, line_of, read};
use struck::model::at::At;
use struck::model::entry::{Entry, Kind};
use struck::model::id::Id;
use struck::model::listed::Units;
use struck::model::value::Value;

pub fn known() -> Vocabulary {
    let mut known = Vocabulary::new(2026);
    known.next_code = Some("26-043".into());
    let batches = [
        ("25-041", "OLD41", "Lavandula angustifolia"),
        ("26-012", "KEY12", "Weigela florida"),
        ("26-041", "KEY41", "Weigela florida"),
        ("26-k041", "KEYK41", "Escallonia 'Apple Blossom'"),
        ("26-042", "KEY42", "Philadelphus coronarius"),
    ];
    for (code, key, taxon) in batches {
        known.add_batches([VocabularyBatch {
            code: code.into(),
            key: Id::parse(key).unwrap(),
            taxon: taxon.into(),
        }]);
        known.learn("taxon", taxon);
    }
    for place in ["bench A", "bench B", "frame 2", "outside"] {
        known.learn("place", place);
    }
    known.learn("medium", "bark:perlite 1:1");
    known.learn("container", "84 cell tray");
    known.learn("by", "Ana");
    known
}

pub fn reading_with(line: &str, known: &Vocabulary) -> LineReading {
    let two = FixedOffset::east_opt(7200).unwrap();
    let offset_at = move |_: NaiveDateTime| two;
    let at = DateTime::parse_from_rfc3339("2026-06-14T09:30:00+02:00").unwrap();
    read(
        line,
        known,
        &Now {
            at,
            offset_at: &offset_at,
        },
    )
}

pub fn reading(line: &str) -> LineReading {
    reading_with(line, &known())
}

/// The fields as text, `name=value`, in the order said; fails on any problem.
fn fields(line: &str) -> Vec<String> {
    let reading = reading(line);
    assert!(
        reading.problems.is_empty() && reading.needs.is_empty(),
        "{line}: {}",
        reading.say_back()
    );
    reading
        .fields
        .iter()
        .map(|(name, value)| format!("{name}={}", short(value)))
        .collect()
}

fn short(value: &Value) -> String {
    match value {
        Value::Null => "null".into(),
        Value::Bool(flag) => flag.to_string(),
        Value::Number(n) => n.to_string(),
        Value::Text(text) => text.clone(),
        Value::List(items) => format!(
            "[{}]",
            items.iter().map(short).collect::<Vec<_>>().join(" ")
        ),
        Value::Map(map) => {
            let each = map
                .iter()
                .map(|(name, value)| format!("{name}:{}", short(value)));
            format!("{{{}}}", each.collect::<Vec<_>>().join(" "))
        }
    }
}

/// Each of these is among the fields of the line.
fn says(line: &str, wanted: &[&str]) {
    let fields = fields(line);
    for one in wanted {
        assert!(
            fields.iter().any(|field| field == one),
            "{line}: {one} not in {fields:?}"
        );
    }
}

#[test]
fn a_stick_with_everything_is_read() {
    let line = "stick 24 Weigela florida, semi-ripe, nodal, tip, 4 nodes, iba 3000 talc, in bark:perlite 1:1, tray, \
                at bench A, mist, heat 21";
    assert_eq!(
        fields(line),
        [
            "stuck=24",
            "taxon=Weigela florida",
            "wood=semi-ripe",
            "cut=nodal",
            "piece=tip",
            "nodes=4",
            "hormone={active:IBA ppm:3000 carrier:talc}",
            "medium=bark:perlite 1:1",
            "container=tray",
            "place=bench A",
            "cover=mist",
            "heat_c=21",
        ]
    );
    let reading = reading(line);
    assert_eq!(reading.allots, Some(("batch", Some("26-043".into()))));
    let at = At::parse("2026-06-14").unwrap();
    let entry = Entry::from_fields(reading.entry_fields(&at, Some("26-043")), || {
        Id::parse("x").unwrap()
    });
    assert!(
        matches!(entry.unwrap().kind, Kind::Stick(stick) if stick.batch == "26-043" && stick.stuck == 24)
    );
}

#[test]
fn a_look_a_climate_note_and_a_potting_are_read() {
    assert_eq!(
        fields("look 26-041: callused 4, rooted 3, bottom 2, black 1"),
        [
            "batch=26-041",
            "callused=4",
            "rooted=3",
            "bottom=2",
            "lost={blackened:1}",
            "stick=KEY41"
        ]
    );
    assert_eq!(
        fields("climate bench A: air 24.5, rh 82, medium 21, mist 10s/12min"),
        [
            "place=bench A",
            "air_c=24.5",
            "rh_pct=82",
            "medium_c=21",
            "mist_on_s=10",
            "mist_every_s=720"
        ]
    );
    assert_eq!(
        fields("pot 041 18, 9 cm"),
        ["batch=26-041", "count=18", "container=9 cm", "stick=KEY41"]
    );
}

#[test]
fn phrases_may_stand_in_any_order_and_case() {
    says(
        "Stick 12 Lavandula 'Hidcote', HEAT 70F, under mist, Bench a/3, Soft, from stock bed 2",
        &[
            "heat_c=21.11",
            "cover=mist",
            "place=bench A/3",
            "wood=softwood",
            "source=stock bed 2",
        ],
    );
}

#[test]
fn the_other_words_of_the_trade_are_understood() {
    for typed in [
        "semi-hardwood",
        "semi-hard",
        "half-ripe",
        "semi ripe",
        "Semi-Ripe",
    ] {
        says(&format!("stick 5 Escallonia, {typed}"), &["wood=semi-ripe"]);
    }
    says("stick 5 Escallonia, dormant", &["wood=hardwood"]);
    says(
        "stick 5 Escallonia, flat, compost peat",
        &["container=tray", "medium=peat"],
    );
    says(
        "stick 5 Escallonia, 84 plug tray",
        &["container=84 cell tray"],
    );
    says(
        "stick 5 Escallonia, module, mix coir",
        &["container=cell", "medium=coir"],
    );
    says(
        "look 041: mold 2, rot 1, 3 dried",
        &["lost={mould:2 blackened:1 wilted:3}"],
    );
    for verb in [
        "pot",
        "pot up",
        "pot on",
        "pot off",
        "line out",
        "potted",
        "Potted up",
    ] {
        says(&format!("{verb} 041 18"), &["count=18", "batch=26-041"]);
    }
    says("saleable 041 7", &["count=7"]);
    says("wean 041", &["what=wean", "batch=26-041"]);
    says("pick over bench A", &["what=pick-over", "place=bench A"]);
}

#[test]
fn every_kind_can_be_said() {
    says("ready 041 12, from pots", &["count=12", "from=pots"]);
    says("sold 041 10 plants", &["count=10"]);
    says("discard 041 5, given up", &["count=5", "why=given-up"]);
    says(
        "discard 041 5 from pots, rot",
        &["from=pots", "why=blackened"],
    );
    says(
        "move 041 to frame 2, heat off",
        &["place=frame 2", "heat_c=none"],
    );
    says(
        "treat bench A: spray, with soap",
        &["place=bench A", "what=spray", "with=soap"],
    );
    says(
        "spray bench A with soap",
        &["place=bench A", "what=spray", "with=soap"],
    );
    says(
        "place bench A: mist, 40 trays, 12 nozzles, vpd 0.3-0.8, area 60 sq ft, nozzle flow 5 gph, also old bench, also B1",
        &[
            "cover=mist",
            "trays=40",
            "nozzles=12",
            "vpd_low_kpa=0.3",
            "vpd_high_kpa=0.8",
            // NIST SP 811, appendix B.8: 1 square foot is 0.09290304 m², 1 US gallon 3.785412 L.
            "area_m2=5.57",
            "nozzle_l_h=18.93",
            "aliases=[old bench B1]",
        ],
    );
    says(
        "taxon Weigela florida: protected, base 5, first look 10 days",
        &[
            "taxon=Weigela florida",
            "protected=true",
            "base_c=5",
            "first_look_days=10",
        ],
    );
    says(
        "nursery season from 1 Aug, units F",
        &["season_from=08-01", "units=F"],
    );
    says("nursery: season 08-01", &["season_from=08-01"]);
    says(
        "target 60 Weigela florida by 1 May, softwood",
        &["count=60", "taxon=Weigela florida", "by_date=2027-05-01"],
    );
    says(
        "remark 26-041: leaves yellow, a bit limp, again in 3 days",
        &["note=leaves yellow, a bit limp", "again_on=2026-06-17"],
    );
    says(
        "remark bench A: at the far end, dry",
        &["place=bench A", "note=at the far end, dry"],
    );
    says("note fan broke", &["note=fan broke"]);
    says(
        "amend 26-041: stuck 26, no medium",
        &["of=KEY41", "set={stuck:26 medium:null}"],
    );
    says(
        "withdraw 01JZ0000000000000000000000, because wrong tray",
        &["of=01JZ0000000000000000000000", "why=wrong tray"],
    );
    says(
        "withdraw line:0123456789abcdef: because torn",
        &["of=line:0123456789abcdef", "why=torn"],
    );
}

#[test]
fn a_part_moved_waits_for_its_code() {
    let reading = reading("move 041 12 to frame 2");
    assert!(reading.is_whole(), "{}", reading.say_back());
    assert_eq!(reading.allots, Some(("into", Some("26-043".into()))));
    says(
        "move 041 12 to frame 2, into k50",
        &["count=12", "into=26-k050"],
    );
}

#[test]
fn units_are_turned_into_the_journals_own() {
    // NIST SP 811: t/°C = (t/°F - 32)/1.8; 1 inch is 25.4 mm exactly.
    says(
        "climate bench A: air 76F, leaf 24,5",
        &["air_c=24.44", "leaf_c=24.5"],
    );
    says("climate bench A: air -40F", &["air_c=-40"]);
    says("stick 5 Escallonia, 4in long", &["length_mm=101.6"]);
    says("stick 5 Escallonia, length 8,5 cm", &["length_mm=85"]);
    // 0.3 % of talc is 3000 ppm (common practice, and 1 % = 10 000 ppm by definition).
    says(
        "stick 5 Escallonia, IBA 0.3% talc",
        &["hormone={active:IBA ppm:3000 carrier:talc}"],
    );
    says(
        "stick 5 Escallonia, iba 0,8 % powder",
        &["hormone={active:IBA ppm:8000 carrier:talc}"],
    );
    says(
        "stick 5 Escallonia, kiba 1000 + naa 500 mg/L liquid dip 5 s",
        &[
            "hormone=[{active:K-IBA ppm:1000 carrier:liquid dip_s:5} {active:NAA ppm:500 carrier:liquid dip_s:5}]",
        ],
    );
    says(
        "stick 5 Escallonia, untreated, not wounded",
        &["hormone=none", "wounded=false"],
    );
    says(
        "climate bench A: mist 10 s every 12 min",
        &["mist_on_s=10", "mist_every_s=720"],
    );
    let mut fahrenheit = known();
    fahrenheit.units = Units::F;
    let warm = reading_with("climate bench A: air 77, medium 21 C", &fahrenheit);
    assert_eq!(warm.value("air_c"), Some(&Value::Number(25.0)));
    assert_eq!(warm.value("medium_c"), Some(&Value::Number(21.0)));
}

#[test]
fn a_number_that_reads_two_ways_is_not_guessed_at() {
    for line in [
        "stick 5 Escallonia, iba 3,000 talc",
        "stick 5 Escallonia, iba 3.000 talc",
        "stick 5 Escallonia, 9 cm",
        "climate bench A: mist 10/12",
        "look 041: again on 03/06",
    ] {
        assert!(!reading(line).problems.is_empty(), "{line}");
    }
}

#[test]
fn codes_are_this_seasons_unless_said_in_full() {
    for typed in ["041", "41", "26-041"] {
        says(
            &format!("look {typed}: tug, 1 rooted"),
            &["batch=26-041", "stick=KEY41"],
        );
    }
    says("look k41: glance", &["batch=26-k041", "stick=KEYK41"]);
    says("look 26-K041: glance", &["batch=26-k041"]);
    says("look 25-041: glance", &["batch=25-041", "stick=OLD41"]);
}

#[test]
fn looks_take_guesses_shares_and_the_pads_letters() {
    says(
        "look 041: most rooted, few callused",
        &["about={rooted:most callused:few}"],
    );
    says("look 041: about half rooted", &["about={rooted:half}"]);
    says(
        "look 041: 3 of 12 rooted, tug",
        &["rooted=3", "seen=12", "how=tug"],
    );
    says(
        "look 041: 4r 3c 1k",
        &["rooted=4", "callused=3", "lost={blackened:1}"],
    );
    says("look 041 nothing yet", &["rooted=0"]);
    says("look 041: under, nothing yet", &["how=under", "bottom=0"]);
    says("look 041: bare 5, rooted 3", &["seen=8", "rooted=3"]);
    says(
        "look 041: 2 dead, +14",
        &["lost={unknown:2}", "again_on=2026-06-28"],
    );
    says(
        "look 041: roots at bottom 2, yesterday 16:30, who Ana",
        &["bottom=2", "at=2026-06-13T16:30:00+02:00", "by=Ana"],
    );
}

#[test]
fn a_slip_is_named_with_its_place_and_the_nearest_that_is_known() {
    let line = "look 26-041: rotoed 3, callused 4";
    let slip = reading(line);
    let problem = &slip.problems[0];
    assert_eq!(problem.phrase, "rotoed 3");
    assert_eq!(&line[problem.span.clone()], "rotoed 3");
    assert_eq!(problem.nearest.as_deref(), Some("rooted 3"));
    assert_eq!(slip.value("callused"), Some(&Value::Number(4.0)));
    assert_eq!(
        reading("stick 5 Escallonia, semi-rip").problems[0]
            .nearest
            .as_deref(),
        Some("semi-ripe")
    );
    assert_eq!(
        reading("stcik 5 Escallonia").problems[0].nearest.as_deref(),
        Some("stick")
    );
    let elsewhere = reading("look 25-042: glance");
    assert_eq!(elsewhere.problems[0].nearest.as_deref(), Some("26-042"));
    assert!(!reading("look 041: rooted 3, rooted 4").problems.is_empty());
    assert!(!reading("look 041: air 20").problems.is_empty());
}

#[test]
fn a_new_text_almost_like_a_known_one_is_a_doubt_and_no_fault() {
    let doubted = reading("stick 5 Wiegela florida, at bench C");
    assert!(doubted.is_whole());
    assert_eq!(doubted.doubts.len(), 1, "{:?}", doubted.doubts);
    assert_eq!(
        doubted.doubts[0].nearest.as_deref(),
        Some("Weigela florida")
    );
}

#[test]
fn what_is_missing_is_asked_for() {
    let bare = reading("stick Weigela florida");
    assert_eq!(
        bare.needs
            .iter()
            .map(|need| need.field.as_str())
            .collect::<Vec<_>>(),
        ["stuck"]
    );
    assert!(!reading("move 041").is_whole());
    assert!(!reading("treat 041").is_whole());
    assert!(!reading("remark 26-041").is_whole());
    assert!(!reading("stick 0 Weigela florida").is_whole());
}

#[test]
fn the_line_is_said_back_in_plain_words() {
    let said = reading("stick 24 Weigela florida, semi-ripe, iba 3000 talc, at bench A, heat 21")
        .say_back();
    assert_eq!(
        said,
        "Stick: the next code 26-043; 24 cuttings; Weigela florida; semi-ripe; hormone IBA 3000 ppm in talc; \
         at bench A; bottom heat 21 °C."
    );
    let said = reading("look 041: most rooted, blak 1").say_back();
    assert_eq!(
        said,
        "Look: batch 26-041; about most rooted.\n`blak 1` is not understood; did you mean `black 1`?"
    );
}

#[test]
fn each_phrase_understood_tells_where_it_stands() {
    let line = "pot 041 18, 9 cm";
    let spans: Vec<_> = reading(line)
        .understood
        .into_iter()
        .map(|u| (line[u.span].to_owned(), u.field))
        .collect();
    let expected = [("041", "batch"), ("18", "count"), ("9 cm", "container")];
    assert_eq!(
        spans,
        expected.map(|(text, field)| (text.to_owned(), field.to_owned()))
    );
}

#[test]
fn a_batch_stuck_again_is_said_by_its_code_if_that_reads_back() {
    let known = known();
    let mut entry = entry_of("stick 12 Weigela florida, again 26-012");
    assert!(line_of(&entry, &known).contains("again 26-012"));
    // Two batches bear the code: of the older only the id says which.
    let mut known = known;
    known.add_batches([VocabularyBatch {
        code: "26-012".into(),
        key: Id::parse("LATER12").unwrap(),
        taxon: "Weigela florida".into(),
    }]);
    let line = line_of(&entry, &known);
    assert!(line.contains("again KEY12"), "{line}");
    entry = entry_of("stick 12 Weigela florida, again 25-041");
    assert!(line_of(&entry, &known).contains("again 25-041"));
}

/// The entry of a stick's line, with a code of its own.
fn entry_of(line: &str) -> Entry {
    let reading = reading(line);
    let at = At::parse("2026-06-14").unwrap();
    let fields = reading.entry_fields(&at, Some("26-043"));
    Entry::from_fields(fields, || Id::parse("own").unwrap()).unwrap()
}

#[test]
fn a_forgotten_comma_behind_the_name_is_no_part_of_it() {
    for (line, wanted) in [
        (
            "stick 24 Weigela florida softwood",
            &["taxon=Weigela florida", "wood=softwood"][..],
        ),
        (
            "stick 24 Weigela florida semi ripe at bench A, mist",
            &["taxon=Weigela florida", "wood=semi-ripe", "place=bench A"],
        ),
        (
            "stick 26-050: 12 Salix alba hardwood at bench A",
            &["taxon=Salix alba", "wood=hardwood", "place=bench A"],
        ),
        // The journal's own spelling; in quotes it stands as it is typed.
        ("stick 24 weigela FLORIDA", &["taxon=Weigela florida"]),
        ("stick 24 \"weigela softwood\"", &["taxon=weigela softwood"]),
        ("stick 24 Rosa 'At Last'", &["taxon=Rosa 'At Last'"]),
    ] {
        let said = fields(line);
        for field in wanted {
            assert!(said.iter().any(|one| one == field), "{line}: {said:?}");
        }
    }
    // Another wood stage of today's last plant.
    let alone = reading("stick 24 softwood");
    assert_eq!(alone.value("wood"), Some(&Value::Text("softwood".into())));
    assert_eq!(alone.value("taxon"), None);
    // What stands behind and is nothing is told of, not taken into the name.
    let reading = reading("stick 24 Weigela florida softwood quickly");
    assert_eq!(reading.problems[0].phrase, "quickly");
}

#[test]
fn a_slip_for_a_wood_stage_within_a_name_is_doubted() {
    for (line, meant) in [
        ("stick 24 Weigela florida softwod", Some("softwood")),
        ("stick 24 Weigela florida smiripr", Some("semi-ripe")),
        ("stick 24 Weigela florida semiripr", Some("semi-ripe")),
        ("stick 24 Weigela hortensis", None),
        ("stick 24 Philadelphus 'Softwod'", None),
    ] {
        let reading = reading(line);
        let mut told = reading.problems.iter().chain(&reading.doubts);
        let near = told.find_map(|one| one.nearest.clone());
        assert_eq!(near.as_deref(), meant, "{line}");
    }
}

#[test]
fn a_number_of_trays_and_a_line_without_commas_are_no_plants_name() {
    for line in [
        "stick 3 x 24 Weigela florida",
        "stick 3 trays of 24 Weigela florida",
        "stick 24 Weigela florida nodal tip iba 1000 talc in bark perlite 1:1 tray",
    ] {
        let reading = reading(line);
        assert!(
            !reading.problems.is_empty(),
            "{line}: {}",
            reading.say_back()
        );
    }
    for line in ["stick 24 × Heucherella alba", "stick 24 x Heucherella alba"] {
        assert!(reading(line).problems.is_empty(), "{line}");
    }
    // A figure in a name may be right: doubted, and taken.
    let doubted = reading("stick 24 Hebe seedling 7");
    assert!(doubted.problems.is_empty() && doubted.doubts.len() == 1);
    // Each word that is nothing is told of by itself, with what it was meant for.
    let run = reading("stick 24 Weigela florida softwod nodal at bench A");
    assert_eq!(run.problems.len(), 1, "{:?}", run.problems);
    assert_eq!(run.problems[0].nearest.as_deref(), Some("softwood"));
    assert_eq!(run.value("place"), Some(&Value::Text("bench A".into())));
}
