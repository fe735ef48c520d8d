//! Inside a taxon: nothing is cut without a sign, everything is reached, and nothing unseen is meant.

use super::face::{Face, journal};
use super::views::SIZES;
use struck::text::clean::Charset;
use struck::tui::canvas::Colours;

/// Seven batches of one kind: enough for ranges; with guesses, parts seen and counts gone backwards.
fn many() -> Vec<String> {
    let mut lines = Vec::new();
    for n in 1..=7 {
        let day = 3 + n;
        lines.push(format!(
            "2026-03-{day:02} stick 40 Escallonia rubra, softwood, at bench {n}"
        ));
        lines.push(format!("2026-03-2{n} look 26-00{n}: most callused"));
        lines.push(format!(
            "2026-04-0{n} look 26-00{n}: 20 seen, rooted {n}, callused 4"
        ));
        lines.push(format!(
            "2026-04-1{n} look 26-00{n}: rooted {}, callused 8, blackened {n}",
            10 + n
        ));
        lines.push(format!(
            "2026-05-0{n} look 26-00{n}: rooted 9, bottom {}",
            10 + n
        ));
    }
    lines
}

fn face(size: (u16, u16), glyphs: Charset) -> Face {
    let lines = many();
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    let mut face = Face::over(&journal(&lines), size, glyphs, Colours::None);
    face.keys("v<Enter>");
    face
}

/// All pages, one after the other.
fn read_through(face: &mut Face) -> String {
    let mut out = face.screen();
    for _ in 0..20 {
        out.push('\n');
        out.push_str(&face.keys(" ").screen());
    }
    out
}

#[test]
fn all_is_reached_at_every_size_and_nothing_is_cut() {
    for size in SIZES {
        for glyphs in [Charset::Utf8, Charset::Ascii] {
            let read = read_through(&mut face(size, glyphs));
            let words = read.split_whitespace().collect::<Vec<_>>().join(" ");
            for wanted in [
                "7 looks counted from spoken guesses",
                "7 looks at a part of the batch, counted as the whole",
                "callused: ",
                "rooted: ",
                "to bottom: ",
                "26-001",
                "26-007",
            ] {
                assert!(words.contains(wanted), "{wanted} {size:?}\n{read}");
            }
            assert!(!read.contains(glyphs.ellipsis()), "{size:?}\n{read}");
        }
    }
}

#[test]
fn what_is_below_is_said() {
    let mut face = face((40, 12), Charset::Utf8);
    assert!(face.screen().contains("lines below"), "{}", face.screen());
    for _ in 0..20 {
        face.keys(" ");
    }
    let end = face.screen();
    assert!(
        !end.contains("below") && end.contains("lines above"),
        "{end}"
    );
}

#[test]
fn a_batch_out_of_sight_is_shown_before_it_is_opened_or_recorded_on() {
    let mut face = face((40, 12), Charset::Utf8);
    assert!(!face.screen().contains("26-007"), "{}", face.screen());
    face.keys("p");
    assert!(
        face.screen().contains("Choose a batch"),
        "{}",
        face.screen()
    );
    let shown = face.keys("<Enter>").screen();
    assert!(shown.contains("> 26-007"), "{shown}");
    assert!(
        face.keys("<Enter>").screen().starts_with("007 "),
        "{}",
        face.screen()
    );
}

#[test]
fn the_band_is_drawn_in_either_character_set_of_one_milestone_at_a_time() {
    for glyphs in [Charset::Utf8, Charset::Ascii] {
        let mut face = face((80, 24), glyphs);
        let root = face.screen();
        assert!(root.contains(":::"), "{root}");
        assert!(root.contains("95 % band of rooted"), "{root}");
        let bottom = face.keys("o").screen();
        assert!(bottom.contains("95 % band of to bottom"), "{bottom}");
        let callus = face.keys("o").screen();
        assert!(callus.contains("95 % band of callused"), "{callus}");
        assert_ne!(root, callus);
        assert_eq!(face.keys("o").screen(), root);
    }
}

#[test]
fn at_forty_columns_the_days_stand_with_their_ranges() {
    let mut face = face((40, 20), Charset::Utf8);
    let screen = face.screen();
    let ranged = screen
        .lines()
        .filter(|line| line.trim_start().starts_with("day ") && line.matches('(').count() == 3);
    assert!(ranged.count() >= 2, "{screen}");
    assert!(
        face.keys("o").screen().contains("64 columns"),
        "{}",
        face.screen()
    );
}

/// What is on the bench of a taxon is told with what is to come of it; nothing is told once the bench is clear.
#[test]
fn how_many_more_will_root_is_told_while_any_are_on_the_bench() {
    for size in [(80, 24), (40, 20)] {
        let mut face = face(size, Charset::Utf8);
        let read = read_through(&mut face);
        let words = read.split_whitespace().collect::<Vec<_>>().join(" ");
        let told = words
            .split("of 280 to root in 7 open batches; ")
            .collect::<Vec<_>>();
        let [before, after, ..] = told.as_slice() else {
            panic!("{read}");
        };
        // Of each seven 18 to 24 had rooted; most of those left may yet.
        let mean = before.rsplit(' ').nth(2).unwrap();
        let (mean, so_far): (f64, f64) = (
            mean.parse().unwrap(),
            after.split(' ').next().unwrap().parse().unwrap(),
        );
        assert!(so_far >= 100.0 && mean >= so_far && mean <= 280.0, "{read}");
    }
    let mut lines = many();
    for n in 1..=7 {
        let left = 40 - n;
        lines.push(format!("2026-05-1{n} discard 26-00{n} {left}, given up"));
    }
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    let mut face = Face::over(&journal(&lines), (80, 24), Charset::Utf8, Colours::None);
    let read = read_through(face.keys("v<Enter>"));
    assert!(!read.contains("to root in"), "{read}");
}
