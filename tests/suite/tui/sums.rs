//! Sums that cannot be, and their mends one key away; rounds; what the pad writes.

use super::face::Face;
use super::recording::NURSERY;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;

#[test]
fn too_many_counted_is_told_and_mended_by_one_key() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>20 6<Enter>");
    assert!(
        face.screen()
            .contains("You counted 26, but 24 should be there"),
        "{}",
        face.screen()
    );
    assert_eq!(face.lines("look").len(), 1);
    face.keys("=<Enter>");
    assert_eq!(face.lines("look").len(), 2, "{}", face.screen());
    let amend = face.lines("amend");
    assert!(amend[0].contains("\"set\":{\"stuck\":26}"), "{amend:?}");
}

#[test]
fn a_typed_line_that_counts_backwards_is_saved_and_told() {
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("llook 001: rooted 3, callused 9<Enter>").screen();
    assert_eq!(face.lines("look").len(), 2, "{screen}");
    assert!(
        screen.contains("26-001: 3 rooted now, but 4 before."),
        "{screen}"
    );
    assert!(
        screen.contains("If that is a slip, u undoes it."),
        "{screen}"
    );
    // What is taken back is said without it.
    let screen = face.keys("u").screen();
    assert!(!screen.contains("rooted now, but"), "{screen}");
    face.keys("u");
    let screen = face.keys("llook 001: rooted 4, callused 8<Enter>").screen();
    assert!(!screen.contains("rooted now, but"), "{screen}");
}

#[test]
fn a_loss_entered_late_or_put_right_takes_the_looks_along_by_one_key() {
    // All 24 were seen on the 7th.
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("llook 001: black 2, on 30 May<Enter>").screen();
    assert!(
        screen.contains("= 22 were seen on 7 Jun, not 24"),
        "{screen}"
    );
    assert_eq!(face.lines("look").len(), 1);
    let screen = face.keys("=").screen();
    assert_eq!(face.lines("look").len(), 2, "{screen}");
    assert!(
        face.lines("amend")[0].contains("\"set\":{\"seen\":22}"),
        "{screen}"
    );
    // The look of the 7th put right takes its own number seen along.
    let screen = face
        .keys("001i<PageUp><Down><Down>e, mould 1<Enter>")
        .screen();
    let amends = face.lines("amend");
    assert_eq!(amends.len(), 2, "{screen}");
    assert!(amends[1].contains("\"seen\":21"), "{amends:?}");
}

#[test]
fn a_typed_look_of_more_than_were_stuck_is_let_in_by_one_key() {
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("llook 001: rooted 30<Enter>").screen();
    assert!(screen.contains("= 30 were stuck, not 24"), "{screen}");
    let screen = face.keys("=").screen();
    let look = face.lines("look").pop().unwrap();
    assert!(look.contains("\"seen\":30"), "{look} {screen}");
}

#[test]
fn a_mend_of_an_earlier_days_sum_stands_over_an_amend_of_today() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("lamend 001: stuck 26<Enter>");
    let screen = face
        .keys("llook 001: black 28, on yesterday<Enter>")
        .screen();
    assert!(screen.contains("= 28 were stuck, not 26"), "{screen}");
    let screen = face.keys("=").screen();
    let amend = face.lines("amend").pop().unwrap();
    assert!(amend.contains("\"set\":{\"stuck\":28}"), "{amend}");
    assert!(amend.contains("\"at\":\"2026-06-14"), "{amend}");
    // Nothing is left that does not fit.
    assert!(!screen.contains("only"), "{screen}");
}

#[test]
fn an_amend_that_nothing_but_itself_could_mend_offers_none() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001p22<Enter>");
    let screen = face.keys("lamend 001: stuck 20<Enter>").screen();
    assert!(screen.contains("Nothing was saved."), "{screen}");
    assert!(!screen.contains("amend that and save"), "{screen}");
}

#[test]
fn an_amend_that_counts_backwards_is_told() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>4 8<Enter>");
    let erased = "<Backspace>";
    let screen = face.keys(&format!("001ie{erased}2<Enter>")).screen();
    assert!(screen.contains("2 rooted now, but 4 before."), "{screen}");
}

#[test]
fn a_guess_is_shown_as_it_was_said_not_as_a_count() {
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("001<Enter>mr<Enter>").screen();
    assert!(screen.contains("most rooted"), "{screen}");
}

#[test]
fn the_rest_unseen_writes_what_was_seen() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>4 3.<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(look.contains("\"seen\":7"), "{look}");
}

#[test]
fn the_bench_tells_that_a_look_saw_a_part() {
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("001<Enter>4 3.<Enter>").screen();
    assert!(screen.contains("7 seen: 4 rooted, 3 callused"), "{screen}");
}

#[test]
fn the_rest_gone_is_lost_to_an_unknown_cause() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>4 3/<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(look.contains("\"lost\":{\"unknown\":17}"), "{look}");
}

#[test]
fn a_count_that_goes_backwards_is_told_before_it_is_saved() {
    // Seen before: 4 rooted, 8 callused.
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("001<Enter>3 9<Enter>").screen();
    let told = "4 were rooted or further, now 3: Enter once more saves it so.";
    assert!(screen.contains(told), "{screen}");
    assert_eq!(face.lines("look").len(), 1);
    // Another sum is asked about anew, one that can be is not.
    face.keys("<Backspace>8<Enter>");
    assert_eq!(face.lines("look").len(), 1);
    face.keys("<Enter>");
    assert_eq!(face.lines("look").len(), 2);
    for keys in ["3 8 0 1k", "4 8", "3.", "4 t", "mr", "1k"] {
        let mut face = Face::new(NURSERY, (80, 24));
        face.keys(&format!("001<Enter>{keys}<Enter>"));
        assert_eq!(face.lines("look").len(), 2, "{keys}: {}", face.screen());
    }
}

#[test]
fn how_it_was_looked_at_is_said_by_a_letter() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("002<Enter>9 t<Enter>003<Enter>2c u<Enter>");
    let looks = face.lines("look");
    assert_eq!(looks.len(), 2, "{looks:?}");
    let tug = r#""how":"tug","seen":84,"rooted":9"#;
    assert!(looks.iter().any(|line| line.contains(tug)), "{looks:?}");
    let screen = face.screen();
    assert!(
        screen.contains("roots at the bottom alone: leave out callused"),
        "{screen}"
    );
}

#[test]
fn a_potting_day_is_one_act_with_its_look_and_its_rest() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>15 3 0 2 15p g<Enter>");
    let written = |face: &Face| ["look", "pot", "discard"].map(|kind| face.lines(kind).len());
    assert_eq!(written(&face), [2, 1, 1]);
    let discard = face.lines("discard").pop().unwrap();
    assert!(
        discard.contains(r#""count":7,"why":"given-up""#),
        "{discard}"
    );
    // One act: one undo takes all of it back.
    face.keys("uu");
    assert_eq!(face.lines("withdraw").len(), 3, "{}", face.screen());
    // What is stuck again goes on in the sticking, for as many, and nothing is saved before it.
    let screen = face.keys("002<Enter>60 0 0 4 60p s<Enter>").screen();
    assert!(
        screen.contains("Saved with it: 26-002: 60 rooted"),
        "{screen}"
    );
    assert_eq!(written(&face), [2, 1, 1], "{screen}");
    face.keys("<Enter>");
    let discard = face.lines("discard").pop().unwrap();
    assert!(
        discard.contains(r#""count":20,"why":"restuck""#),
        "{discard}"
    );
    let stick = face.lines("stick").pop().unwrap();
    assert!(
        stick.contains(r#""stuck":20"#) && stick.contains("\"again\""),
        "{stick}"
    );
    // The look, the potting, the rest's leaving and the new tray: one act, of one moment, back on the bench.
    let at = |line: &str| line.split(r#""at":""#).nth(1).unwrap()[..25].to_owned();
    assert_eq!(at(&stick), at(&discard));
    let on_top = face.state.number();
    assert_eq!(on_top, 0, "{}", face.screen());
    face.keys("uu");
    assert_eq!(face.lines("withdraw").len(), 7, "{}", face.screen());
}

#[test]
fn a_potting_left_before_its_rest_is_stuck_again_saves_nothing_and_stays_typed() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>15 3 15p s<Enter>20, in sand<Esc><Esc>");
    assert!(face.lines("pot").is_empty(), "{}", face.screen());
    assert!(face.screen().contains("15 3 15p s"), "{}", face.screen());
    // A day of its own would tear the act apart.
    let screen = face.keys("<Enter>, on 1 Jun<Enter>").screen();
    assert!(screen.contains("leave out the day"), "{screen}");
    assert!(face.lines("pot").is_empty(), "{screen}");
}

#[test]
fn a_potting_cut_off_while_its_rest_is_stuck_again_is_taken_up_with_all_that_was_typed() {
    for (keys, offered) in [
        (
            "001<Enter>15 3 15p s<Enter>6, in sand",
            "look 26-001: 15 3 15p s",
        ),
        ("001p15 s, 9 cm<Enter>6, in sand", "pot 26-001: 15 s, 9 cm"),
    ] {
        let mut face = Face::new(NURSERY, (80, 24));
        face.keys(keys);
        let folder = face.folder.clone();
        drop(face);
        let mut face = Face::over(&folder, (80, 24), Charset::Utf8, Colours::Sixteen);
        let screen = face.screen();
        assert!(screen.contains(offered), "{screen}");
        assert!(screen.contains("stick again: 6, in sand"), "{screen}");
        let screen = face.keys("z<Enter><Enter>").screen();
        let stick = face.lines("stick").pop().unwrap();
        assert!(stick.contains(r#""stuck":6"#), "{stick} {screen}");
        assert!(stick.contains("sand"), "{stick}");
        assert_eq!(face.lines("pot").len(), 1, "{screen}");
        assert_eq!(face.state.number(), 0, "{screen}");
    }
}

#[test]
fn on_a_round_the_next_batch_waits_while_the_rest_is_stuck_again() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001w15 3 15p s<Enter>");
    assert!(face.lines("pot").is_empty(), "{}", face.screen());
    let before = face.lines("stick").len();
    face.keys("<Enter>");
    assert_eq!(face.lines("stick").len(), before + 1, "{}", face.screen());
    // The next key ends the label; it is typed for the next batch.
    face.keys("1");
    assert!(face.screen().contains("Round"), "{}", face.screen());
}

#[test]
fn a_potting_of_more_than_there_are_is_mended_by_one_key() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001p30<Enter>");
    assert!(face.lines("pot").is_empty());
    assert!(
        face.screen().contains("30 were stuck, not 24"),
        "{}",
        face.screen()
    );
    face.keys("=");
    assert_eq!(face.lines("pot").len(), 1, "{}", face.screen());
    assert!(face.lines("amend")[0].contains("\"stuck\":30"));
}

#[test]
fn a_part_that_was_larger_than_said_is_mended_one_key_at_a_time_up_to_its_batch() {
    let mut face = Face::new(NURSERY, (80, 24));
    // Of 24 stuck, 10 leave as a part; then 30 are potted of it.
    face.keys("001m10 frame 2<Enter>");
    let part = face.lines("move").pop().unwrap();
    assert!(part.contains("\"into\":\"26-005\""), "{part}");
    face.keys("005p30<Enter>");
    assert!(
        face.screen().contains("30 were moved, not 10"),
        "{}",
        face.screen()
    );
    // More than its batch had: the batch's own number is offered after the part's.
    face.keys("=");
    assert!(face.lines("pot").is_empty());
    let asked = face.screen();
    assert!(asked.contains("were stuck, not 24"), "{asked}");
    face.keys("=");
    assert_eq!(face.lines("pot").len(), 1, "{}", face.screen());
    let amends = face.lines("amend");
    let sets = |field: &str| amends.iter().any(|line| line.contains(field));
    assert!(
        sets("\"set\":{\"count\":30}") && sets("\"set\":{\"stuck\":"),
        "{amends:?}"
    );
    assert!(face.state.common.book.faults().is_empty());
}

#[test]
fn a_look_at_a_part_is_mended_on_the_pad_up_to_its_batch() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001m10 frame 2<Enter>");
    face.keys("005<Enter>40<Enter>=<Enter>");
    let asked = face.screen();
    assert!(asked.contains("were stuck, not 24"), "{asked}");
    face.keys("=");
    assert!(face.lines("look").len() > 1, "{}", face.screen());
    assert!(face.state.common.book.faults().is_empty());
}

#[test]
fn a_mend_offered_for_one_sum_is_not_made_for_another() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001m10 frame 2<Enter>");
    face.keys("005<Enter>40<Enter>=<Enter>");
    let asked = face.screen();
    assert!(asked.contains("were stuck, not 24"), "{asked}");
    face.keys("<Backspace>");
    let asked = face.screen();
    assert!(!asked.contains("were stuck, not 24"), "{asked}");
    face.keys("=<Enter>");
    assert!(face.lines("look").len() > 1, "{}", face.screen());
    assert_eq!(face.lines("amend"), Vec::<String>::new());
}

#[test]
fn a_round_goes_back_by_one_key_and_never_drops_what_is_typed() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("o001w-");
    assert!(
        face.screen().contains("first of the round"),
        "{}",
        face.screen()
    );
    face.keys("<Enter>4-");
    assert!(face.screen().contains("2 of 4"), "{}", face.screen());
    assert!(face.screen().contains("> 4"), "{}", face.screen());
    face.keys("<Backspace>-");
    assert!(face.screen().contains("1 of 4"), "{}", face.screen());
}

#[test]
fn a_round_passes_by_enter_and_says_how_far() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("o001w");
    let first = face.screen();
    assert!(first.contains("1 of 4"), "{first}");
    face.keys("<Enter>");
    assert!(face.screen().contains("2 of 4"), "{}", face.screen());
    assert_eq!(face.lines("look").len(), 1, "passing writes nothing");
    face.keys("0<Enter>");
    assert_eq!(face.lines("look").len(), 2);
    assert!(face.screen().contains("3 of 4"), "{}", face.screen());
    face.keys("2k<Enter>");
    assert!(face.screen().contains("next frame 2"), "{}", face.screen());
    face.keys("<Enter>");
    assert!(face.screen().starts_with("Bench"), "{}", face.screen());
    let glance = face.lines("look").pop().unwrap();
    assert!(glance.contains("\"how\":\"glance\""), "{glance}");
}

#[test]
fn three_trays_at_once_are_three_batches() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("s3x 84 Weigela florida, softwood, at bench A<Enter>");
    let sticks = face.lines("stick");
    assert_eq!(sticks.len(), 7);
    for code in ["26-005", "26-006", "26-007"] {
        assert!(sticks.iter().any(|line| line.contains(code)), "{code}");
    }
}

#[test]
fn the_wood_stage_is_never_carried_from_another_day() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("s24 Weigela florida<Enter>");
    let line = face.lines("stick").pop().unwrap();
    assert!(!line.contains("\"wood\""), "{line}");
}

#[test]
fn a_caution_stands_once_a_day_and_person() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001tspray, with soap");
    assert!(face.screen().contains("Sprays:"), "{}", face.screen());
    face.keys("<Enter>tspray, with soap");
    assert!(!face.screen().contains("Sprays:"), "{}", face.screen());
    face.keys("<Esc><Esc>bJo<Enter>tspray, with soap");
    assert!(
        face.screen().contains("Sprays:"),
        "another person: {}",
        face.screen()
    );
}

#[test]
fn a_day_that_has_yet_to_come_is_told_while_it_is_typed() {
    let ahead = "which has yet to come";
    for keys in [
        "llook 001: callused 3, on tomorrow",
        "s24 Weigela florida, softwood, on 2027-06-01",
        "001p6, on tomorrow",
    ] {
        let mut face = Face::new(NURSERY, (80, 24));
        let screen = face.keys(keys).screen();
        assert!(screen.contains(ahead), "{keys}: {screen}");
    }
    let mut face = Face::new(NURSERY, (80, 24));
    for keys in [
        "llook 001: callused 3, on yesterday<Esc>",
        "<Esc>llook 001: callused 3, again in 3 days",
    ] {
        let screen = face.keys(keys).screen();
        assert!(!screen.contains(ahead), "{keys}: {screen}");
    }
    // Of an amend too.
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("001ie").screen();
    assert!(screen.contains("It said:"), "{screen}");
    let screen = face
        .keys("<Esc>stick 24 Weigela florida, on 29 June 2026")
        .screen();
    assert!(screen.contains(ahead), "{screen}");
}

#[test]
fn a_nought_only_holds_the_place_of_the_numbers_after_it() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("002<Enter>9 0 t<Enter>");
    let look = face.lines("look").pop().unwrap();
    assert!(
        look.contains(r#""how":"tug","seen":84,"rooted":9"#),
        "{look}"
    );
    assert!(!look.contains("callused"), "{look}");
    // What cannot be is quoted as it was typed.
    let screen = face.keys("003<Enter>4 8r").screen();
    assert!(
        screen.contains("`8r` says again what was said before it."),
        "{screen}"
    );
}

#[test]
fn more_potted_than_counted_with_roots_is_told_before_it_is_saved() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001<Enter>3 1 0 0 20p g<Enter>");
    assert!(face.lines("pot").is_empty(), "{}", face.screen());
    assert!(
        face.screen()
            .contains("20 potted, but 3 counted with roots"),
        "{}",
        face.screen()
    );
    face.keys("<Enter>");
    assert_eq!(face.lines("pot").len(), 1, "{}", face.screen());
}

#[test]
fn several_trays_may_be_said_in_any_of_the_usual_ways() {
    for typed in [
        "3x 24 Hebe albicans",
        "24 x3 Hebe albicans",
        "3 x 24 Hebe albicans",
        "3 trays of 24 Hebe albicans",
        "24 Hebe albicans x3, in bark",
    ] {
        let mut face = Face::new(NURSERY, (80, 24));
        let before = face.lines("stick").len();
        let screen = face.keys(&format!("s{typed}<Enter>")).screen();
        let sticks = face.lines("stick");
        assert_eq!(sticks.len(), before + 3, "{typed}: {screen}");
        let hebe = sticks
            .iter()
            .filter(|line| line.contains(r#""taxon":"Hebe albicans","stuck":24"#));
        assert_eq!(hebe.count(), 3, "{typed}: {sticks:?}");
    }
}

#[test]
fn one_key_puts_right_what_a_word_was_meant_for() {
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("llook 001: roted 4").screen();
    assert!(screen.contains("= rooted 4"), "{screen}");
    let screen = face.keys("=").screen();
    assert!(screen.contains("> look 001: rooted 4"), "{screen}");
    // Sticking takes the same, in the middle of the line.
    let mut face = Face::new(NURSERY, (80, 24));
    let screen = face.keys("s24 Hebe albicans softwod, nodal=").screen();
    assert!(
        screen.contains("> 24 Hebe albicans softwood, nodal"),
        "{screen}"
    );
}

#[test]
fn a_sign_of_equality_is_a_sign_where_there_is_nothing_to_take() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("001nweig = bad, pH = 6<Enter>");
    let remark = face.lines("remark").pop().unwrap();
    assert!(remark.contains("weig = bad, pH = 6"), "{remark}");
}

#[test]
fn a_place_moved_to_is_named_without_its_small_word() {
    let mut face = Face::new(NURSERY, (80, 24));
    face.keys("002m10, at bench Z<Enter>");
    let part = face.lines("move").pop().unwrap();
    assert!(part.contains(r#""place":"bench Z""#), "{part}");
}

#[test]
fn leaving_an_amend_first_brings_the_entry_back_as_it_was() {
    let mut face = Face::new(NURSERY, (80, 24));
    let as_it_was = face.keys("001ie").screen();
    let line = as_it_was
        .lines()
        .find(|l| l.starts_with("> "))
        .unwrap()
        .to_owned();
    let screen = face.keys("x<Esc>").screen();
    assert!(screen.contains(&line), "{screen}");
    assert!(screen.contains("As it was"), "{screen}");
    face.keys("<Esc>");
    assert!(!face.screen().contains("It said:"), "{}", face.screen());
    // Retyped short, it says what is lost by that.
    let rubbed: String = "<Backspace>".repeat(60);
    let screen = face
        .keys("e")
        .keys(&rubbed)
        .keys("look 26-001: rooted 4")
        .screen();
    let lost = screen.lines().find(|line| line.contains("Left out now:"));
    assert!(
        lost.is_some_and(|line| line.contains("callused")),
        "{screen}"
    );
}

#[test]
fn a_whole_code_finds_its_batch_before_all_that_are_like_it() {
    let mut face = Face::new(NURSERY, (80, 24));
    for code in ["001", "002", "003", "26-002"] {
        let screen = face.keys(&format!("f{code}")).screen();
        let first = screen
            .lines()
            .find(|line| line.starts_with("> 26-"))
            .unwrap();
        assert!(first.contains(&code[code.len() - 3..]), "{code}: {screen}");
        face.keys("<Esc><Esc>");
    }
}
