//! Cleaned text is harmless, keeps its meaning, and fits the columns it is given.

use crate::support::harm::harm_in;
use proptest::prelude::*;
use struck::text::clean::{Align, Charset, fit, fit_ends, pad, shown, shown_in, width};

#[test]
fn controls_are_seen_and_not_obeyed() {
    // ECMA-48: ESC, CSI (C1, U+009B), DEL. Unicode Standard Annex 9: U+202E, U+2066.
    for (typed, seen) in [
        ("\x1b[2J", "\\x1b[2J"),
        ("a\u{9b}31m", "a\\x9b31m"),
        ("a\x7fb\0\n\r", "a\\x7fb\\x00\\x0a\\x0d"),
        ("x\u{202e}y\u{2066}", "x<U+202E>y<U+2066>"),
        ("a\u{200b}b\u{feff}", "a<U+200B>b<U+FEFF>"),
        ("a\u{e0041}", "a<U+E0041>"),
        ("a\u{2028}b", "a<U+2028>b"),
        ("\u{301}a", "<U+0301>a"),
    ] {
        assert_eq!(shown(typed), seen);
    }
}

#[test]
fn plain_text_of_any_script_is_left_alone() {
    for text in [
        "",
        "Escallonia 'Apple Blossom'",
        "Lavandula ×intermedia 24 °C ½ µ",
        "e\u{301}te\u{301}",
        "अनार कलम",
        "挿し木",
        "Việt Nam",
        "\u{1112}\u{1161}\u{11ab}",
    ] {
        assert_eq!(shown(text), text);
    }
}

#[test]
fn towers_of_marks_are_lowered() {
    let tower = format!("a{}b", "\u{301}".repeat(40));
    assert_eq!(shown(&tower), format!("a{}b", "\u{301}".repeat(4)));
}

#[test]
fn widths_follow_east_asian_width() {
    // Unicode Standard Annex 11, EastAsianWidth.txt: W and F two columns, Na and H one.
    for (text, cols) in [
        ("Salix", 5),
        ("挿し木", 6),
        ("Ａ", 2),
        ("ｱ", 1),
        ("é", 1),
        ("e\u{301}", 1),
        ("\x1b", 4),
    ] {
        assert_eq!(width(text), cols, "{text:?}");
    }
}

#[test]
fn what_is_too_long_is_cut_with_a_mark() {
    assert_eq!(fit("Escallonia", 10, Charset::Utf8), "Escallonia");
    assert_eq!(fit("Escallonia", 9, Charset::Utf8), "Escallon…");
    assert_eq!(fit("Escallonia", 9, Charset::Ascii), "Escallon~");
    assert_eq!(fit("Escallonia rubra", 12, Charset::Utf8), "Escallonia…");
    assert_eq!(fit("挿し木", 4, Charset::Utf8), "挿…");
    assert_eq!(fit("挿し木", 5, Charset::Utf8), "挿し…");
    assert_eq!(fit("abc", 1, Charset::Utf8), "…");
    assert_eq!(fit("abc", 0, Charset::Utf8), "");
    assert_eq!(
        fit_ends("'Apple Blossom'", 9, 3, Charset::Ascii),
        "'Appl~om'"
    );
    assert_eq!(pad("12", 4, Align::Right, Charset::Utf8), "  12");
    assert_eq!(pad("挿し木", 5, Align::Left, Charset::Utf8), "挿し…");
    assert_eq!(pad("挿し木", 4, Align::Left, Charset::Utf8), "挿… ");
}

#[test]
fn ascii_keeps_what_can_be_read() {
    for (text, spelled) in [
        (
            "Lavandula ×intermedia ‘Grosso’",
            "Lavandula xintermedia 'Grosso'",
        ),
        ("24 °C, 3–5 µm, ≥ ½", "24 C, 3-5 um, >= 1/2"),
        ("Élan Été Straße e\u{301}", "Elan Ete Strasse e"),
        ("挿 ✿", "?? ?"),
        ("\x1b", "\\x1b"),
    ] {
        assert_eq!(shown_in(text, Charset::Ascii), spelled);
    }
}

fn nasty() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        "[a-z ]{0,6}",
        "\\PC{0,4}",
        any::<char>().prop_map(String::from),
        (0u32..0x20).prop_map(|c| char::from_u32(c).unwrap().to_string()),
        (0x2000u32..0x2070).prop_map(|c| char::from_u32(c).unwrap().to_string()),
        (0x300u32..0x370).prop_map(|c| char::from_u32(c).unwrap().to_string()),
        (0xE0000u32..0xE01F0).prop_map(|c| char::from_u32(c).unwrap().to_string()),
        Just("挿し木".to_owned()),
        Just("👩\u{200d}🌾".to_owned()),
    ];
    proptest::collection::vec(piece, 0..12).prop_map(|parts| parts.concat())
}

proptest! {
    #[test]
    fn nothing_harmful_comes_through(text in nasty()) {
        let clean = shown(&text);
        prop_assert_eq!(harm_in(&clean), None);
        prop_assert_eq!(shown(&clean), clean);
    }

    #[test]
    fn fitted_text_fits(text in nasty(), cols in 0usize..30, tail in 0usize..10) {
        prop_assert!(fit(&text, cols, Charset::Ascii).chars().all(|c| (' '..='~').contains(&c)));
        for charset in [Charset::Utf8, Charset::Ascii] {
            let cut = fit(&text, cols, charset);
            prop_assert!(width(&cut) <= cols);
            prop_assert!(width(&fit_ends(&text, cols, tail, charset)) <= cols);
            prop_assert_eq!(width(&pad(&text, cols, Align::Left, charset)), cols);
            let whole = shown_in(&text, charset);
            if width(&whole) <= cols {
                prop_assert_eq!(cut, whole);
            } else if cols > 0 {
                prop_assert!(cut.ends_with(charset.ellipsis()));
            }
        }
    }
}
