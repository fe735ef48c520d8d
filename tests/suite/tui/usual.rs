//! The rule by which a batch is called early, late or as usual for its kind, on journals built for it: the share seen rooted
//! beside the share that the model expects by that day, the batch's own word left out.

use super::face::{Face, journal};
use super::views::SIZES;
use struck::analysis::expect::Model;
use struck::analysis::expect::beside_usual;
use struck::text::clean::Charset;
use struck::text::forecast;
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
        out.push(format!("{look} pot 26-{n:03} 20"));
        out.push(format!("{look} discard 26-{n:03} 20, given up"));
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
    let common = &face.state.common;
    let batch = common.book.batches().last().unwrap();
    let model = Model::learn(&common.book, common.today(), &[]);
    forecast::beside_usual(&beside_usual(&model, batch))
}

#[test]
fn a_batch_far_above_what_is_expected_of_its_kind_is_early() {
    let told = said(12, 38);
    assert!(
        told.starts_with("Rooting early: 95 % by day 28; others like it "),
        "{told}"
    );
    assert!(told.ends_with(" % (12 batches)."), "{told}");
}

#[test]
fn a_batch_far_below_is_late() {
    let told = said(12, 2);
    assert!(
        told.starts_with("Rooting late: 5 % by day 28; others like it "),
        "{told}"
    );
}

#[test]
fn a_batch_among_its_like_is_as_usual() {
    let told = said(12, 22);
    assert!(told.starts_with("Rooting as usual: 55 %"), "{told}");
    // Three others that agree say little of how batches differ.
    let told = said(3, 24);
    assert!(told.starts_with("Rooting as usual: 60 %"), "{told}");
}

#[test]
fn too_few_of_its_kind_say_nothing() {
    let told = said(2, 38);
    assert!(
        told.ends_with("closed batches like it; there are 2."),
        "{told}"
    );
    let face = Face::new(&["2026-05-01 stick 40 Hebe rakaiensis"], (80, 24));
    let common = &face.state.common;
    let batch = &common.book.batches()[0];
    let model = Model::learn(&common.book, common.today(), &[]);
    let told = forecast::beside_usual(&beside_usual(&model, batch));
    assert!(told.starts_with("Not lifted yet"), "{told}");
}

#[test]
fn it_is_said_on_the_batch_s_screen_at_every_size() {
    for size in SIZES {
        let mut face = face(12, 2, size);
        let screen = face.keys("013i").screen();
        let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.contains("Rooting late: 5 % b"), "{size:?}\n{screen}");
        // Narrow screens have room for the beginning alone, behind what is due.
        assert!(
            size.0 == 40 || words.contains("others like it"),
            "{size:?}\n{screen}"
        );
    }
}
