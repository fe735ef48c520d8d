//! Days far from today, as a slip of the pen or a clock that was never set writes them: no command breaks on one.

use super::run::Home;
use super::unread::ANSWERS;

/// The first and the last day that a journal can write, and the one before instants are counted from.
pub const FAR_DAYS: [&str; 3] = ["0001-01-01", "1969-12-31", "9999-12-31"];

/// What follows a far day in an entry's `at`: nothing, or a time at either end of the zones.
const TIMES: [&str; 3] = ["", "T00:00:00+14:00", "T23:59:59-12:00"];

/// The lines of a journal with an entry of every kind at `at`, beside a batch of 2026 that has one too.
pub fn lines_at(at: &str) -> String {
    let each = [
        r#""id":"S1","kind":"stick","batch":"26-001","taxon":"Weigela florida","stuck":24,"wood":"softwood","taken":"DAY","place":"bench A","trial":"heat","arm":"warm""#,
        r#""id":"L1","kind":"look","batch":"26-001","stick":"S1","how":"lift","seen":24,"callused":4,"rooted":3,"again_on":"DAY""#,
        r#""id":"M1","kind":"move","batch":"26-001","stick":"S1","place":"frame","count":4,"into":"26-003""#,
        r#""id":"P1","kind":"pot","batch":"26-001","stick":"S1","count":3"#,
        r#""id":"R1","kind":"ready","batch":"26-001","stick":"S1","count":2"#,
        r#""id":"D1","kind":"sold","batch":"26-001","stick":"S1","count":1"#,
        r#""id":"X1","kind":"discard","batch":"26-001","stick":"S1","count":2,"why":"given-up""#,
        r#""id":"T1","kind":"treat","what":"mist","place":"bench A""#,
        r#""id":"C1","kind":"climate","place":"bench A","air_c":24.5,"rh_pct":82,"medium_c":21"#,
        r#""id":"C2","kind":"climate","place":"bench A","air_c":20,"rh_pct":70,"by":"ana""#,
        r#""id":"B1","kind":"place","place":"bench A","vpd_low_kpa":0.2,"vpd_high_kpa":0.9,"trays":6"#,
        r#""id":"N1","kind":"nursery","season_from":"03-01","units":"F""#,
        r#""id":"G1","kind":"target","taxon":"Weigela florida","count":60,"by_date":"DAY""#,
        r#""id":"K1","kind":"remark","note":"fog","again_on":"DAY""#,
        r#""id":"A1","kind":"amend","of":"L1","set":{"rooted":4}"#,
        r#""id":"W1","kind":"withdraw","of":"K1""#,
        r#""id":"L2","kind":"look","batch":"26-002","stick":"S2","how":"lift","seen":40,"rooted":9"#,
    ];
    let day = at.get(..10).unwrap();
    let line = |fields: &str| format!("{{\"at\":\"{at}\",{}}}\n", fields.replace("DAY", day));
    let far: String = each.iter().map(|fields| line(fields)).collect();
    let near = r#"{"at":"2026-05-20","id":"S2","kind":"stick","batch":"26-002","taxon":"Weigela florida","stuck":40,"wood":"semi-ripe","place":"bench A","trial":"heat","arm":"cold"}
{"at":"2026-06-20","id":"L3","kind":"look","batch":"26-002","stick":"S2","how":"lift","seen":40,"rooted":9}
"#;
    far + near
}

#[test]
fn no_command_breaks_on_an_entry_of_a_far_day() {
    for day in FAR_DAYS {
        for time in TIMES {
            let home = Home::new();
            std::fs::create_dir(home.journal()).unwrap();
            std::fs::write(
                home.journal().join("a.jsonl"),
                lines_at(&format!("{day}{time}")),
            )
            .unwrap();
            let log = home.path().join("log.csv");
            std::fs::write(&log, format!("time,air C,rh %\n{day} 09:00,20,80\n")).unwrap();
            let at_the_day = ["batches|--open", "due|--on|DAY", "timeline|--on|DAY"];
            let extra = at_the_day.iter().chain(&[
                "forecast|--on|DAY",
                "plan|--on|DAY",
                "compare|--by|wood|--on|DAY",
                "climate|bench A|--since|DAY|--until|DAY",
                "climate|batch|26-001|--until|DAY",
                "add|look 26-002: rooted 10|--at|DAY",
                "add|amend L3: dated DAY",
            ]);
            for words in ANSWERS.iter().map(|(words, _)| words).chain(extra) {
                let words: Vec<String> = words
                    .split('|')
                    .map(|word| match word {
                        "LOG" => log.to_string_lossy().into_owned(),
                        "NEW" => home.path().join("new").to_string_lossy().into_owned(),
                        word => word.replace("DAY", day),
                    })
                    .collect();
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                let said = home.struck(&words);
                let case = format!("{day}{time} {words:?}: {} {}", said.out, said.err);
                assert!([0, 1, 2, 3].contains(&said.code), "{}: {case}", said.code);
                assert!(!said.err.contains("panicked"), "{case}");
            }
            let read = home.struck(&["batches", "--json"]);
            assert!(read.out.contains("26-001"), "{day}{time}: {}", read.out);
        }
    }
}

#[test]
fn no_command_breaks_on_a_clock_that_stands_on_a_far_day() {
    for day in FAR_DAYS {
        let now = format!("{day}T12:00:00+01:00");
        let home = Home::with_sample("first-days").at(&now);
        let new = home.path().join("new");
        for (words, _) in ANSWERS {
            let words = words.split('|').map(|word| match word {
                "NEW" => new.to_str().unwrap(),
                word => word,
            });
            let words: Vec<&str> = words.collect();
            let said = home.struck(&words);
            let case = format!("{now} {words:?}: {} {}", said.out, said.err);
            assert!([0, 1, 2, 3].contains(&said.code), "{}: {case}", said.code);
            assert!(!said.err.contains("panicked"), "{case}");
        }
        let said = home.struck(&["add", "stick 24 Weigela florida, softwood"]);
        assert_eq!(said.code, 0, "{now}: {}", said.err);
    }
}
