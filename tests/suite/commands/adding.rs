//! `add`: what is understood is said back and saved; what is not is named, and nothing is written.

use super::run::Home;

#[test]
fn a_line_is_said_back_and_saved() {
    let home = Home::new();
    let line = "stick 24 Weigela florida, semi-ripe, nodal, tip, 4 nodes, iba 3000 talc, in bark:perlite 1:1, tray, at bench A, mist, heat 21";
    let said = home.struck(&["add", line]);
    assert_eq!((said.code, said.out.as_str()), (0, ""));
    assert!(
        said.err
            .contains("24 cuttings; Weigela florida; semi-ripe; nodal; tip; nodes 4"),
        "{}",
        said.err
    );
    assert!(said.err.contains("Saved: 26-001, entry "), "{}", said.err);
    let lines = home.lines();
    assert_eq!(lines.len(), 1);
    let after_id = lines[0].split_once("\",\"at\"").unwrap().1;
    let fields = r#":"2026-06-30T09:00:00+01:00","kind":"stick","batch":"26-001","taxon":"Weigela florida","stuck":24,"wood":"semi-ripe","cut":"nodal","piece":"tip","nodes":4,"hormone":{"active":"IBA","ppm":3000,"carrier":"talc"},"medium":"bark:perlite 1:1","container":"tray","place":"bench A","cover":"mist","heat_c":21,"crc":""#;
    assert!(after_id.starts_with(fields), "{after_id}");
}

#[test]
fn the_examples_of_the_bench_line_follow_one_another() {
    let home = Home::new();
    for line in [
        "stick 24 Weigela florida, semi-ripe, at bench A",
        "look 26-001: callused 4, rooted 3, bottom 2, black 1",
        "climate bench A: air 24.5, rh 82, medium 21, mist 10s/12min",
        "pot 001 5, 9 cm",
    ] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
    }
    let lines = home.lines();
    assert_eq!(lines.len(), 4);
    assert!(
        lines[1].contains(
            r#""how":"lift","seen":23,"callused":4,"rooted":3,"bottom":2,"lost":{"blackened":1}"#
        ),
        "{}",
        lines[1]
    );
    assert!(
        lines[2].contains(
            r#""air_c":24.5,"rh_pct":82,"medium_c":21,"mist_on_s":10,"mist_every_s":720"#
        ),
        "{}",
        lines[2]
    );
    let stick = lines[0].split('"').nth(5).unwrap();
    assert!(
        lines[3].contains(&format!(
            r#""batch":"26-001","stick":"{stick}","count":5,"container":"9 cm""#
        )),
        "{}",
        lines[3]
    );
}

#[test]
fn what_is_not_understood_is_named_with_the_nearest_and_nothing_is_written() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe, semi-ripe, at bench A"]);
    let said = home.struck(&["add", "stick 24 Hebe, semi-rip, at bench A"]);
    assert_eq!(said.code, 2);
    assert!(
        said.err.contains("semi-rip") && said.err.contains("semi-ripe"),
        "{}",
        said.err
    );
    assert!(said.err.contains("Nothing was saved."), "{}", said.err);
    assert_eq!(home.lines().len(), 1);
}

#[test]
fn a_dry_run_shows_the_entry_and_makes_nothing() {
    let home = Home::new();
    let said = home.struck(&["add", "--dry-run", "stick 24 Hebe, semi-ripe"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(
        said.out.contains(
            r#""kind":"stick","batch":"26-001","taxon":"Hebe","stuck":24,"wood":"semi-ripe""#
        ),
        "{}",
        said.out
    );
    assert!(!home.journal().exists());
    assert_eq!(
        std::fs::read_dir(home.path()).unwrap().count(),
        0,
        "a dry run leaves no trace"
    );
}

#[test]
fn a_late_entry_takes_its_time_in_words() {
    let home = Home::new();
    let said = home.struck(&[
        "add",
        "stick 24 Hebe",
        "--at",
        "yesterday 16:30",
        "--by",
        "the helper",
    ]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(home.lines()[0].contains(r#""at":"2026-06-29T16:30:00+01:00""#));
    assert!(home.lines()[0].contains(r#""by":"the helper""#));
    let said = home.struck(&["add", "stick 24 Hebe", "--at", "03/06"]);
    assert_eq!(
        said.code, 2,
        "a day that can be read two ways is refused: {}",
        said.err
    );
}

#[test]
fn the_day_of_a_late_entry_is_said_back_so_that_a_slip_of_the_year_is_seen() {
    let home = Home::new();
    for (at, day) in [
        ("-3", "Dated 27 Jun, 3 days ago.\n"),
        ("yesterday", "Dated 29 Jun, yesterday.\n"),
        // The 3rd of July has yet to come, so last year's is meant.
        ("3 Jul", "Dated 3 Jul 2025, 362 days ago.\n"),
    ] {
        let said = home.struck(&["add", "--dry-run", "--at", at, "stick 10 Hebe"]);
        assert_eq!(said.code, 0, "{at}: {}", said.err);
        assert!(said.err.contains(day), "{at}: {}", said.err);
    }
    let own = home.struck(&["add", "stick 10 Hebe, on 8 Jun"]);
    assert!(
        own.err.contains("Dated 8 Jun, 22 days ago.\n"),
        "{}",
        own.err
    );
    let now = home.struck(&["add", "stick 10 Hebe"]);
    assert!(!now.err.contains("Dated"), "{}", now.err);
}

#[test]
fn every_option_that_wants_a_day_takes_one_of_days_ago() {
    let home = Home::with_sample("first-days").at("2026-06-30T09:00:00+01:00");
    for command in [
        "batches --since -3",
        "batches --until -3",
        "timeline --on -3",
        "due --on -3",
        "season --on -3",
        "climate --since -14 --until -3",
        "forecast --on -3",
    ] {
        let words: Vec<&str> = command.split(' ').collect();
        let said = home.struck(&words);
        assert_eq!(said.code, 0, "{command}: {}", said.err);
    }
    // An option is no day.
    let said = home.struck(&["batches", "--since", "--until"]);
    assert_eq!(said.code, 2, "{}", said.err);
}

#[test]
fn fewer_at_a_stage_than_before_is_told_with_its_remedy() {
    let home = Home::new();
    entered(
        &home,
        &[
            ("20 days ago", "stick 50 Hebe"),
            ("3 days ago", "look 001: rooted 9"),
        ],
    );
    let said = home.struck(&["add", "look 001: rooted 3"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(
        said.err.contains("26-001: 3 rooted now, but 9 before."),
        "{}",
        said.err
    );
    let (_, remedy) = said.err.split_once("struck add \"").unwrap();
    let (withdraw, _) = remedy.split_once('"').unwrap();
    assert_eq!(home.struck(&["add", withdraw]).code, 0, "{withdraw}");
    assert_eq!(home.struck(&["check"]).code, 0);
    let said = home.struck(&["add", "look 001: rooted 9"]);
    assert!(!said.err.contains("rooted now, but"), "{}", said.err);
}

fn id_of(line: &str) -> String {
    let (_, rest) = line.split_once(r#""id":""#).unwrap();
    rest.split('"').next().unwrap().to_owned()
}

/// Enters lines, each at its day.
fn entered(home: &Home, lines: &[(&str, &str)]) {
    for (at, line) in lines {
        let said = home.struck(&["add", "--at", at, line]);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
    }
}

#[test]
fn a_late_potting_is_let_in_by_putting_the_later_look_right_not_the_number_stuck() {
    let home = Home::new();
    entered(
        &home,
        &[
            ("20 days ago", "stick 40 Hebe"),
            ("today", "look 001: rooted 10"),
        ],
    );
    let pot = ["add", "--at", "3 days ago", "pot 001 5, 9 cm"];
    let said = home.struck(&pot);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(
        said.err
            .contains("If 35 were seen on 30 Jun, not 40: struck add"),
        "{}",
        said.err
    );
    assert!(!said.err.contains("stuck 45"), "{}", said.err);
    remedied(&home, &said.err);
    assert_eq!(home.struck(&pot).code, 0);
    assert_eq!(home.struck(&["check"]).code, 0);
}

/// Runs the commands that an error gives.
fn remedied(home: &Home, told: &str) {
    for command in told.split("struck add \"").skip(1) {
        let (line, _) = command.split_once('"').unwrap();
        assert_eq!(home.struck(&["add", line]).code, 0, "{line}");
    }
}

#[test]
fn a_loss_found_late_or_put_right_takes_the_looks_that_saw_all_there_were_along() {
    let home = Home::new();
    entered(
        &home,
        &[
            ("40 days ago", "stick 50 Hebe"),
            ("20 days ago", "look 001: rooted 10"),
            ("10 days ago", "look 001: rooted 12, black 1"),
        ],
    );
    let amend = format!("amend {}: black 3", id_of(&home.lines()[2]));
    for refused in [
        &[
            "add",
            "--at",
            "30 days ago",
            "look 001: callused 2, black 2",
        ][..],
        &["add", &amend],
    ] {
        let said = home.struck(refused);
        assert_eq!(said.code, 1, "{}", said.err);
        remedied(&home, &said.err);
        assert_eq!(home.struck(refused).code, 0);
        let sound = home.struck(&["check"]);
        assert_eq!(sound.code, 0, "{}", sound.out);
    }
}

/// What an add is refused with, after these lines.
fn refusal(lines: &[(&str, &str)], add: &[&str]) -> String {
    let home = Home::new();
    entered(&home, lines);
    let said = home.struck(&[&["add"], add].concat());
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("Nothing was saved."), "{}", said.err);
    said.err
}

#[test]
fn mends_are_offered_that_let_the_sum_in_and_never_two_that_stand_for_each_other() {
    let late = ["--at", "35 days ago", "look 001: black 2"];
    // All were potted or given up: fewer seen does not help.
    let cleared = refusal(
        &[
            ("40 days ago", "stick 24 Hebe"),
            ("30 days ago", "look 001: rooted 20"),
            ("30 days ago", "pot 001 20"),
            ("30 days ago", "discard 001 4, given up"),
        ],
        &late,
    );
    assert!(cleared.contains("If 26 were stuck, not 24"), "{cleared}");
    assert!(!cleared.contains("were seen"), "{cleared}");
    // Each of all that were seen was callused or rooted.
    let whole = refusal(
        &[
            ("40 days ago", "stick 24 Hebe"),
            ("30 days ago", "look 001: rooted 20, callused 4"),
        ],
        &late,
    );
    assert!(whole.contains("If 26 were stuck, not 24"), "{whole}");
    assert!(!whole.contains("were seen"), "{whole}");
    // Lost before a part left, of which all were seen.
    let part = refusal(
        &[
            ("40 days ago", "stick 10 Hebe"),
            ("30 days ago", "move 001 10 to frame 2, into 26-002"),
            ("20 days ago", "look 002: rooted 3"),
        ],
        &late,
    );
    assert!(part.contains("If 12 were stuck, not 10"), "{part}");
    assert!(!part.contains("were seen"), "{part}");
    // More counted than were looked at: however many were stuck.
    let of_some = refusal(
        &[("40 days ago", "stick 24 Hebe")],
        &["look 001: seen 10, rooted 12"],
    );
    assert!(!of_some.contains("were stuck"), "{of_some}");
    let of_all = refusal(
        &[("40 days ago", "stick 24 Hebe")],
        &["look 001: seen 24, rooted 26"],
    );
    assert!(!of_all.contains("were stuck"), "{of_all}");
    // What several lack of one batch is added up.
    let several = refusal(
        &[
            ("40 days ago", "stick 24 Hebe"),
            ("30 days ago", "pot 001 20"),
            ("20 days ago", "discard 001 4, given up"),
        ],
        &["--at", "35 days ago", "look 001: black 6"],
    );
    assert!(several.contains("If 30 were stuck, not 24"), "{several}");
    // Another entry of plants in pots is no hindrance.
    let other = refusal(
        &[
            ("40 days ago", "stick 24 Hebe"),
            ("30 days ago", "pot 001 20"),
            ("25 days ago", "ready 001 5"),
            ("20 days ago", "sold 001 2"),
        ],
        &["pot 001 6"],
    );
    assert!(other.contains("If 26 were stuck, not 24"), "{other}");
}

#[test]
fn a_look_after_a_part_left_saw_all_that_stayed() {
    let home = Home::new();
    entered(
        &home,
        &[
            ("40 days ago", "stick 24 Hebe"),
            ("20 days ago", "look 001: rooted 3"),
            ("18 days ago", "move 001 8 to frame 2"),
            ("10 days ago", "look 001: rooted 3"),
            // Before it left, entered late.
            ("19 days ago", "look 001: rooted 3"),
        ],
    );
    let seen = |line: usize| {
        let line = home.lines()[line].clone();
        let (_, rest) = line.split_once("\"seen\":").unwrap();
        rest.split([',', '}']).next().unwrap().to_owned()
    };
    assert_eq!([seen(1), seen(3), seen(4)], ["24", "16", "24"]);
    assert_eq!(home.struck(&["check"]).code, 0);
}

#[test]
fn what_keeps_a_sum_from_being_is_explained() {
    let home = Home::new();
    entered(&home, &[("20 days ago", "stick 34 Hebe")]);
    for (line, why) in [
        (
            "look 001: rooted 25, bottom 10",
            "Each cutting is counted once, at its most advanced stage.",
        ),
        (
            "sold 001 3",
            "Plants are potted, then saleable, then sold: enter what is missing first.",
        ),
        (
            "ready 001 3",
            "Plants are potted, then saleable, then sold: enter what is missing first.",
        ),
    ] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 1, "{line}: {}", said.err);
        assert!(said.err.contains(why), "{line}: {}", said.err);
    }
    // Fewer stuck than were looked at since: the same number is no mend.
    entered(&home, &[("today", "look 001: rooted 3")]);
    let id = id_of(&home.lines()[0]);
    let said = home.struck(&["add", &format!("amend {id}: stuck 5")]);
    assert!(!said.err.contains("were stuck"), "{}", said.err);
}

#[test]
fn what_the_journal_shows_as_odd_once_an_entry_is_in_is_told() {
    let home = Home::new();
    entered(
        &home,
        &[("today", "stick 34 Hebe"), ("today", "stick 20 Cistus")],
    );
    let id = id_of(&home.lines()[1]);
    let said = home.struck(&["add", &format!("amend {id}: code 26-001")]);
    assert!(
        said.err.contains("A second batch has the code 26-001."),
        "{}",
        said.err
    );
    let said = home.struck(&["add", "amend 01J00000000000000000000000: stuck 5"]);
    assert!(
        said.err
            .contains("No entry 01J00000000000000000000000 is in the journal."),
        "{}",
        said.err
    );
}

#[test]
fn the_help_says_all_that_a_line_may_say() {
    let home = Home::new();
    let short = home.struck(&["add", "-h"]).done();
    assert!(
        short.contains("All that a line may say: struck add --help"),
        "{short}"
    );
    let long = home.struck(&["add", "--help"]).done();
    for said in [
        "target 60 Weigela florida by",
        "  from pots",
        "counts each cutting once",
    ] {
        assert!(long.contains(said), "{said}: {long}");
    }
}

#[test]
fn which_of_two_batches_of_one_code_is_meant_is_told_and_how_to_mean_the_other() {
    let home = Home::new();
    entered(
        &home,
        &[
            ("20 days ago", "stick 34 Hebe"),
            ("10 days ago", "stick 30 Cistus, code 26-001"),
        ],
    );
    let said = home.struck(&["add", "look 001: rooted 3"]);
    assert!(
        said.err.contains(
            "Another batch has the code 26-001 too. This entry is for Cistus; for Hebe add `id "
        ),
        "{}",
        said.err
    );
    let (_, rest) = said.err.split_once("add `id ").unwrap();
    let (id, _) = rest.split_once('`').unwrap();
    let line = format!("look 001: rooted 5, id {id}");
    let said = home.struck(&["add", &line]);
    assert!(
        said.err.contains("This entry is for Hebe; for Cistus"),
        "{}",
        said.err
    );
}

#[test]
fn what_is_not_understood_is_not_its_own_mend() {
    let home = Home::new();
    entered(
        &home,
        &[("today", "stick 34 Hebe"), ("today", "look 001: black 2")],
    );
    let line = format!("amend {}: drop blackened", id_of(&home.lines()[1]));
    let said = home.struck(&["add", &line]);
    assert_eq!(said.code, 2, "{}", said.err);
    assert!(
        !said.err.contains("did you mean `drop blackened`"),
        "{}",
        said.err
    );
}

#[test]
fn what_goes_with_a_withdrawn_sticking_is_told() {
    let home = Home::new();
    entered(
        &home,
        &[
            ("20 days ago", "stick 34 Hebe"),
            ("10 days ago", "look 001: rooted 3"),
            ("9 days ago", "move 001 10, at bench B"),
            ("today", "look 002: rooted 3"),
        ],
    );
    let id = id_of(&home.lines()[0]);
    let said = home.struck(&["add", &format!("withdraw {id}")]);
    assert!(
        said.err
            .contains("With it go the 3 later entries of its batch."),
        "{}",
        said.err
    );
}

#[test]
fn more_sold_than_ready_is_no_matter_of_how_many_were_stuck() {
    let home = Home::new();
    for line in ["stick 50 Hebe", "look 001: rooted 50", "pot 001 30"] {
        assert_eq!(home.struck(&["add", line]).code, 0, "{line}");
    }
    for line in [
        "sold 001 1",
        "ready 001 31",
        "discard 001 31, from pots, given up",
    ] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 1, "{line}: {}", said.err);
        assert!(said.err.contains("were there"), "{line}: {}", said.err);
        assert!(!said.err.contains("were stuck"), "{line}: {}", said.err);
    }
    let said = home.struck(&["add", "ready 001 21, from bench"]);
    assert!(said.err.contains("were stuck, not 50"), "{}", said.err);
}

#[test]
fn a_sum_that_cannot_be_is_refused_with_its_mend() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    let said = home.struck(&["add", "look 001: black 26"]);
    assert_eq!(said.code, 1);
    assert!(
        said.err.contains("says 26, but only 24 were there"),
        "{}",
        said.err
    );
    assert!(
        said.err.contains("stuck 26"),
        "the mend is spelled out: {}",
        said.err
    );
    assert_eq!(home.lines().len(), 1);
    let mend = said
        .err
        .split("struck add \"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap()
        .to_owned();
    assert_eq!(home.struck(&["add", &mend]).code, 0);
    assert_eq!(home.struck(&["add", "look 001: black 26"]).code, 0);
    let shown = home.struck(&["show", "001"]).done();
    assert!(
        shown.contains("26 stuck on 2026-06-30: 26 lost."),
        "{shown}"
    );
}

#[test]
fn a_batch_that_is_not_there_is_named() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    let said = home.struck(&["add", "look 017: rooted 3"]);
    assert_ne!(said.code, 0);
    assert!(said.err.contains("017"), "{}", said.err);
}

#[test]
fn what_cannot_be_saved_is_kept_as_a_draft() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    let file = std::fs::read_dir(home.journal())
        .unwrap()
        .map(|i| i.unwrap().path())
        .find(|p| p.extension().is_some_and(|e| e == "jsonl"))
        .unwrap();
    // A folder where the file should be: nobody, not even root, can append to it.
    std::fs::remove_file(&file).unwrap();
    std::fs::create_dir(&file).unwrap();
    let said = home.struck(&["add", "stick 12 Cistus"]);
    assert_eq!(said.code, 1, "{}", said.err);
    assert!(said.err.contains("The line is kept in"), "{}", said.err);
    let path = said
        .err
        .split("kept in ")
        .nth(1)
        .unwrap()
        .trim()
        .trim_end_matches('.')
        .replace("HOME", home.path().to_str().unwrap());
    let kept = std::fs::read_to_string(path).unwrap();
    assert_eq!(kept, "line\t\t\tstick 12 Cistus");
}

#[test]
fn an_entry_of_a_day_before_its_batch_is_refused_with_its_mend() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    let said = home.struck(&["add", "--at", "3 Jun", "look 001: callused 1"]);
    assert_eq!(said.code, 1, "{}", said.err);
    for part in [
        "26-001 was stuck on 2026-06-30, later than the day of this entry, 2026-06-03.",
        ": dated 2026-06-03\", then enter this once more.",
        "Nothing was saved.",
    ] {
        assert!(said.err.contains(part), "{}", said.err);
    }
    assert_eq!(home.lines().len(), 1);
    // The mend offered mends it.
    let mend = said.err.split("struck add \"").nth(1).unwrap();
    let mend = mend.split('"').next().unwrap();
    assert_eq!(home.struck(&["add", mend]).code, 0);
    let again = home.struck(&["add", "--at", "3 Jun", "look 001: callused 1"]);
    assert_eq!(again.code, 0, "{}", again.err);
    // Nor may an amended day turn their order.
    let look = home.lines()[2].split('"').nth(5).unwrap().to_owned();
    let stick = home.lines()[0].split('"').nth(5).unwrap().to_owned();
    for line in [
        format!("amend {look}: dated 1 Jun"),
        format!("amend {stick}: dated 5 Jun"),
    ] {
        let said = home.struck(&["add", &line]);
        assert_eq!(said.code, 1, "{line}: {}", said.err);
    }
    assert_eq!(home.lines().len(), 3);
    assert_eq!(home.struck(&["check"]).code, 0);
}

#[test]
fn a_day_to_come_is_told_and_a_short_code_still_means_this_season() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    for day in ["tomorrow", "2027-06-01"] {
        let said = home.struck(&["add", "--at", day, "look 001: callused 1"]);
        assert_eq!(said.code, 0, "{day}: {}", said.err);
        assert!(
            said.err.contains("which has yet to come"),
            "{day}: {}",
            said.err
        );
    }
    assert!(home.lines()[2].contains(r#""at":"2027-06-01","kind":"look","batch":"26-001""#));
    let said = home.struck(&["add", "look 001: callused 1"]);
    assert!(!said.err.contains("yet to come"), "{}", said.err);
}

#[test]
fn a_name_that_begins_one_of_the_journal_is_doubted_and_saved() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Weigela florida"]);
    home.struck(&["add", "taxon Escallonia rubra: also redclaws"]);
    let said = home.struck(&["add", "stick 24 weigela"]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(
        said.err.contains("did you mean `Weigela florida`?"),
        "{}",
        said.err
    );
    for line in ["stick 24 weigela", "stick 24 redclaws", "stick 24 Weig"] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
        let near = said.err.contains("did you mean");
        assert_eq!(near, line.ends_with("Weig"), "{line}: {}", said.err);
    }
}

#[test]
fn a_remark_takes_a_code_without_a_colon_and_asks_where_it_may_be_a_number() {
    let home = Home::new();
    home.struck(&["add", "stick 26-001: 24 Hebe"]);
    home.struck(&["add", "stick 26-120: 24 Hebe"]);
    home.struck(&["add", "stick 26-k003: 24 Hebe"]);
    for (line, batch) in [
        ("remark 001 leaves pale", Some("26-001")),
        ("remark k003 leaves pale", Some("26-k003")),
        ("remark 26-120 leaves pale: north end", Some("26-120")),
        ("remark 12 trays came", None),
        ("remark 300 trays came", None),
        ("remark \"120 trays came\"", None),
        ("remark 120: leaves pale", Some("26-120")),
    ] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 0, "{line}: {}", said.err);
        let last = home.lines().pop().unwrap();
        match batch {
            Some(batch) => assert!(
                last.contains(&format!(r#""batch":"{batch}""#))
                    && last.contains(r#""note":"leaves"#),
                "{line}: {last}"
            ),
            None => assert!(!last.contains("\"batch\""), "{line}: {last}"),
        }
    }
    let before = home.lines().len();
    let said = home.struck(&["add", "remark 120 leaves pale"]);
    assert_eq!(said.code, 2, "{}", said.err);
    assert!(said.err.contains("`26-120:`"), "{}", said.err);
    assert_eq!(home.lines().len(), before);
}

#[test]
fn a_count_of_none_or_less_is_refused_by_name() {
    let home = Home::new();
    home.struck(&["add", "stick 24 Hebe"]);
    for line in ["pot 001 0", "ready 001 0", "discard 001 0", "sold 001 0"] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 2, "{line}: {}", said.err);
        assert!(said.err.contains("a count is at least 1"), "{}", said.err);
    }
    for (line, number) in [("stick -5 Weigela", "`-5`"), ("stick 2.5 Weigela", "`2.5`")] {
        let said = home.struck(&["add", line]);
        assert_eq!(said.code, 2, "{line}: {}", said.err);
        assert!(said.err.contains(number), "{}", said.err);
    }
    assert_eq!(home.lines().len(), 1);
}
