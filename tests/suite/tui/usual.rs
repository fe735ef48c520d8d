//! The rule by which a batch is called early, late or as usual for its kind, on journals built for it.
//!
//! By hand, of thirteen batches of forty, twelve with half rooted and one with 38: the group's share is
//! 278/520 = 0.535, the variance between batches over the binomial one 2.5, so that the one counts as sixteen
//! cuttings; Wilson's interval of 0.95 of sixteen begins at 0.72, above 0.535: early.

use super::face::{Face, journal};
use super::views::SIZES;
use struck::text::clean::Charset;
use struck::tui::batch::usual::usual;
use struck::tui::canvas::Colours;

/// So many batches of one kind with half of forty rooted on day 28, and one more with so many.
fn lines(others: usize, own: u32) -> Vec<String> {
    let mut out = Vec::new();
    for n in 1..=others {
        let day = 1 + n;
        out.push(format!(
            "2026-03-{day:02} stick 40 Hebe rakaiensis, softwood, at bench {n}"
        ));
        let look =
            chrono::NaiveDate::from_ymd_opt(2026, 3, day as u32).unwrap() + chrono::Days::new(28);
        out.push(format!("{look} look 26-{n:03}: rooted 20"));
    }
    out.push("2026-05-01 stick 40 Hebe rakaiensis, softwood, at frame 9".to_owned());
    let last = others + 1;
    out.push(format!("2026-05-29 look 26-{last:03}: rooted {own}"));
    out
}

fn face(others: usize, own: u32, size: (u16, u16)) -> Face {
    let lines = lines(others, own);
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    Face::over(&journal(&lines), size, Charset::Utf8, Colours::None)
}

/// What is said of the batch stuck last.
fn said(others: usize, own: u32) -> String {
    let face = face(others, own, (80, 24));
    let book = &face.state.common.book;
    usual(book, book.batches().last().unwrap(), &mut || true).unwrap()
}

#[test]
fn a_batch_whose_interval_lies_above_its_kind_s_curve_is_early() {
    assert_eq!(
        said(12, 38),
        "Early: 95 % rooted by day 28; softwood of its taxon: 53 %, 13 batches."
    );
}

#[test]
fn a_batch_whose_interval_lies_below_is_late() {
    assert_eq!(
        said(12, 2),
        "Late: 5 % rooted by day 28; softwood of its taxon: 47 %, 13 batches."
    );
}

#[test]
fn a_batch_whose_interval_holds_the_curve_is_as_usual() {
    assert!(
        said(12, 22).starts_with("As usual: 55 %"),
        "{}",
        said(12, 22)
    );
    // Three others that agree say little of how batches differ: one far off is still as usual.
    assert!(said(3, 38).starts_with("As usual: 95 %"), "{}", said(3, 38));
}

#[test]
fn too_few_of_its_kind_say_nothing() {
    assert!(
        said(1, 38).starts_with("Too few to compare with"),
        "{}",
        said(1, 38)
    );
    let face = Face::new(&["2026-05-01 stick 40 Hebe rakaiensis"], (80, 24));
    let book = &face.state.common.book;
    let mut asked = 0;
    let mut go_on = || {
        asked += 1;
        true
    };
    let told = usual(book, &book.batches()[0], &mut go_on).unwrap();
    assert!(told.starts_with("Not lifted yet"), "{told}");
}

#[test]
fn it_is_said_on_the_batch_s_screen_at_every_size() {
    for size in SIZES {
        let mut face = face(12, 2, size);
        let screen = face.keys("013i").screen();
        let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            words.contains("Late: 5 % rooted by day 28;"),
            "{size:?}\n{screen}"
        );
        assert!(words.contains("of its taxon: 47 %"), "{size:?}\n{screen}");
    }
}
