//! A season at the bench, told by keys: who sits down, what a place brings, a slip put right, the round, the morning
//! after, plants wanted in November. Each chapter is what a grower did and what stood on the screen then.

use super::face::{Face, journal};
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;

/// Two places in June; Ana stuck and looked.
const JUNE: &[&str] = &[
    "2026-05-10 stick 24 Weigela florida, softwood, at bench A/1, mist",
    "2026-05-12 stick 84 Escallonia rubra, softwood, at bench A/2, mist",
    "2026-05-20 stick 120 Lavandula angustifolia 'Hidcote', softwood, at frame 2, frame",
    "2026-06-07 look 26-001: callused 8, rooted 4",
];

const PHONE: (u16, u16) = (40, 12);
const LAPTOP: (u16, u16) = (80, 24);

#[test]
fn june_two_phones_on_one_account_keep_their_own_names_and_trays() {
    let folder = journal(JUNE);
    let mut ben = Face::as_user("Ben", &folder, LAPTOP);
    assert_eq!(ben.asked, None, "one person writes: nobody is asked");
    ben.keys("s30 Hebe albicans, softwood, at frame 2, frame<Enter>");

    // Now two write: the next sitting asks once who it is, and one key answers.
    let mut ana = Face::as_user("Ana", &folder, LAPTOP);
    let asked = ana.asked.clone().unwrap();
    assert!(asked.contains("Enter if it is Ana"), "{asked}");

    // Ben's tray is not Ana's last one.
    let form = ana.keys("s").screen();
    assert!(!form.contains("Hebe"), "{form}");
    ana.keys("24 Weigela florida, softwood, at bench A, mist<Enter>");
    let form = ana.keys("s").screen();
    assert!(form.contains("Weigela florida"), "{form}");

    // Undo takes back what its own person entered.
    ana.keys("<Esc>bBen<Enter>u");
    let said = ana.screen();
    assert!(
        said.contains("Nothing was entered in this sitting"),
        "{said}"
    );
}

#[test]
fn june_a_dropped_line_offers_the_entry_with_its_owner_s_name_and_saves_it_so() {
    let folder = journal(JUNE);
    let mut ben = Face::as_user("Ben", &folder, LAPTOP);
    ben.keys("001<Enter>4 8");
    drop(ben);
    let mut ana = Face::as_user("Ana", &folder, LAPTOP);
    let offered = ana.screen();
    assert!(
        offered.contains("Left unfinished by Ben: look 26-001: 4 8"),
        "{offered}"
    );
    ana.keys("z<Enter>");
    let look = ana.lines("look").pop().unwrap();
    assert!(look.contains("\"by\":\"Ben\""), "{look}");
}

#[test]
fn june_a_place_brings_its_own_cover_and_nothing_follows_a_tray_elsewhere() {
    let mut face = Face::new(&[], LAPTOP);
    face.keys("24 Weigela florida, softwood, at bench A, mist<Enter>");
    face.keys("s40 Philadelphus coronarius, at lidded box 2<Enter>");
    let boxed = face.lines("stick").pop().unwrap();
    assert!(
        boxed.contains("lidded box 2") && !boxed.contains("mist"),
        "{boxed}"
    );
    // Back at the bench it is what that place last had today.
    face.keys("s30 Hebe albicans, at bench A<Enter>");
    let misted = face.lines("stick").pop().unwrap();
    assert!(misted.contains("\"cover\":\"mist\""), "{misted}");
}

#[test]
fn june_undo_held_down_takes_back_one_act() {
    let mut face = Face::new(JUNE, LAPTOP);
    face.keys("001<Enter>4 8<Enter>002<Enter>2<Enter>");
    face.keys("uuuuuuuu");
    assert_eq!(face.lines("withdraw").len(), 1, "{}", face.screen());
    assert!(
        face.screen().contains("press any other key, then"),
        "{}",
        face.screen()
    );
    face.keys(".uu");
    assert_eq!(face.lines("withdraw").len(), 2, "{}", face.screen());
}

#[test]
fn july_six_dead_typed_for_one_are_put_right_on_the_pad() {
    let mut face = Face::new(JUNE, LAPTOP);
    face.keys("001<Enter>4 3 0 6<Enter>");
    let pad = face.keys("<Enter>").screen();
    assert!(
        pad.contains("= amends today 09:30: 4r 3c 0b 6k") || pad.contains(": 4r 3c 0b 6k"),
        "{pad}"
    );
    let right = face.keys("=").screen();
    assert!(right.contains("> 4r 3c 0b 6k"), "{right}");
    assert!(
        right.contains("of 24"),
        "what it took off stands again: {right}"
    );
    face.keys("<Backspace><Backspace>1k<Enter>");
    assert_eq!(face.lines("look").len(), 2, "no second look is added");
    let amend = face.lines("amend").pop().unwrap();
    assert!(amend.contains("\"lost\":{\"blackened\":1}"), "{amend}");
    assert!(
        amend.contains("\"seen\":23"),
        "all that follows from it: {amend}"
    );
    let life = face.keys("i").screen();
    assert!(life.contains("1 lost"), "{life}");
}

#[test]
fn july_the_round_goes_on_to_the_next_place_with_something_due() {
    let mut face = Face::new(JUNE, LAPTOP);
    let first = face.keys("o001w").screen();
    assert!(first.contains("1 of 3 in 1 of 2 places"), "{first}");
    let next = face.keys("<Enter><Enter>").screen();
    assert!(next.contains("bench A is done; next frame 2."), "{next}");
    assert!(next.contains("3 of 3 in 2 of 2 places"), "{next}");
    let done = face.keys("<Enter>").screen();
    assert!(
        done.contains("Round done: 3 batches in 2 places."),
        "{done}"
    );
    // The walking order stays, the next morning too.
    let folder = std::sync::Arc::clone(&face.folder);
    drop(face);
    let next = Face::over(&folder, LAPTOP, Charset::Utf8, Colours::Sixteen);
    assert!(
        next.screen().starts_with("Bench, walking"),
        "{}",
        next.screen()
    );
}

#[test]
fn july_help_and_the_way_out_are_one_key_away_from_the_first_form_and_the_pad() {
    let mut first = Face::new(&[], LAPTOP);
    let form = first.screen();
    assert!(
        form.contains("? shows the keys, Ctrl-C leaves struck"),
        "{form}"
    );
    let help = first.keys("?").screen();
    assert!(help.contains("While typing"), "{help}");
    let mut pad = Face::new(JUNE, PHONE);
    let signs = pad.keys("001<Enter>4 ?").screen();
    assert!(signs.contains("What the pad understands"), "{signs}");
    let back = pad.keys("<Backspace>").screen();
    assert!(
        back.contains("> 4"),
        "what was typed is still there: {back}"
    );
    // In a note a question mark is a question mark.
    let mut note = Face::new(JUNE, LAPTOP);
    let said = note.keys("001nwhy?").screen();
    assert!(said.contains("> why?"), "{said}");
}

#[test]
fn august_an_accident_at_a_place_stands_in_the_lives_there_and_is_found() {
    let mut face = Face::new(JUNE, LAPTOP);
    face.keys("lremark bench A: vent left open all night<Enter>");
    assert_eq!(face.lines("remark").len(), 1, "{}", face.screen());
    let there = face.keys("001i").screen();
    assert!(there.contains("vent left open"), "{there}");
    let elsewhere = face.keys("<Backspace>003i").screen();
    assert!(!elsewhere.contains("vent left open"), "{elsewhere}");
    let found = face.keys("<Backspace>fvent left").screen();
    assert!(found.contains("vent left open"), "{found}");
    let pages = face.keys("<Enter>").screen();
    assert!(
        pages.starts_with("Journal") && pages.contains("vent left open"),
        "{pages}"
    );
}

#[test]
fn august_a_morning_tells_what_others_entered_since_and_yesterday_s_notes() {
    let lines = [JUNE, &["2026-06-13 remark bench A: mice at the lavender"]].concat();
    let folder = journal(&lines);
    let mut ben = Face::as_user("Ben", &folder, LAPTOP);
    ben.keys("002<Enter>2<Enter>");
    let ana = Face::as_user("Ana", &folder, LAPTOP);
    let morning = ana
        .screen()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(morning.contains("Since your last entry"), "{morning}");
    assert!(
        morning.contains("Ben 1 entry, the last: look 26-002"),
        "{morning}"
    );
    assert!(morning.contains("mice at the lavender"), "{morning}");
}

#[test]
fn september_a_search_does_the_same_for_open_and_closed() {
    let mut face = Face::new(JUNE, LAPTOP);
    face.keys("001d24, given up<Enter>");
    for (sought, code) in [("fweigela<Enter>", "001"), ("fhidcote<Enter>", "003")] {
        let page = face.keys(sought).screen();
        assert!(page.starts_with(code), "{page}");
        // Digits that follow fall on no form.
        assert_eq!(
            face.keys("4 3 0").screen().lines().next(),
            page.lines().next()
        );
        face.keys("<Backspace>");
    }
}

#[test]
fn november_a_target_counts_what_stands_in_pots_and_is_asked_about_twice() {
    let mut face = Face::new(JUNE, LAPTOP);
    face.keys("001p4, 9 cm<Enter>");
    let said = face.keys("ltarget 60 Weigela florida by 30 Sep").screen();
    assert!(said.contains("Counted towards it: 4 in pots"), "{said}");
    face.keys("<Enter>");
    assert_eq!(face.lines("target").len(), 1, "{}", face.screen());
    let again = face
        .keys("ltarget 40 Weigela florida by 30 Sep<Enter>")
        .screen();
    assert!(
        again.contains("already. Enter once more sets this one too."),
        "{again}"
    );
    assert_eq!(face.lines("target").len(), 1);
    face.keys("<Enter>");
    assert_eq!(face.lines("target").len(), 2);
}
