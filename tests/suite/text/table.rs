//! Tables fit the width they are given, whatever it is, and say what they can.

use proptest::prelude::*;
use struck::text::clean::wrap;
use struck::text::clean::{Charset, width};
use struck::text::table::{Column, table};

fn columns() -> Vec<Column> {
    vec![
        Column::text("code").at_least(6),
        Column::text("taxon"),
        Column::number("stuck"),
        Column::number("rooted %").dropping(1),
        Column::text("place").dropping(2),
    ]
}

fn rows() -> Vec<Vec<String>> {
    let row = |cells: [&str; 5]| cells.map(str::to_owned).to_vec();
    vec![
        row([
            "26-041",
            "Escallonia 'Apple Blossom'",
            "60",
            "72",
            "bench A/3",
        ]),
        row([
            "26-042",
            "Lavandula ×intermedia 'Grosso'",
            "240",
            "",
            "frame",
        ]),
    ]
}

#[test]
fn a_wide_table_is_plain() {
    let text = table(&columns(), &rows(), 80, Charset::Utf8);
    let expected = "\
code    taxon                           stuck  rooted %  place
26-041  Escallonia 'Apple Blossom'         60        72  bench A/3
26-042  Lavandula ×intermedia 'Grosso'    240            frame
";
    assert_eq!(text, expected);
}

#[test]
fn columns_drop_out_and_texts_shrink() {
    let text = table(&columns(), &rows(), 40, Charset::Utf8);
    let expected = "\
code    taxon            stuck  rooted %
26-041  Escallonia 'Ap…     60        72
26-042  Lavandula ×int…    240
";
    assert_eq!(text, expected);
    let text = table(&columns(), &rows(), 30, Charset::Ascii);
    let expected = "\
code    taxon            stuck
26-041  Escallonia 'Ap~     60
26-042  Lavandula xint~    240
";
    assert_eq!(text, expected);
}

#[test]
fn rows_are_stacked_where_nothing_else_fits() {
    let text = table(&columns(), &rows(), 24, Charset::Utf8);
    let expected = "\
code: 26-041
taxon: Escallonia
  'Apple Blossom'
stuck: 60
rooted %: 72
place: bench A/3

code: 26-042
taxon: Lavandula
  ×intermedia 'Grosso'
stuck: 240
place: frame
";
    assert_eq!(text, expected);
}

#[test]
fn lines_break_between_words() {
    assert_eq!(
        wrap("roots at the bottom", 9, Charset::Utf8),
        ["roots at", "the", "bottom"]
    );
    assert_eq!(
        wrap("abcdefgh ij", 5, Charset::Utf8),
        ["abcde", "fgh", "ij"]
    );
    assert_eq!(wrap("挿し木", 3, Charset::Utf8), ["挿", "し", "木"]);
    // A hand with a Limbu letter, which joins it, takes three columns: no line holds both.
    assert_eq!(wrap("🫰ᤰ", 2, Charset::Utf8), ["🫰", "ᤰ"]);
    assert_eq!(wrap("", 5, Charset::Utf8), [""]);
}

proptest! {
    #[test]
    fn tables_fit_any_width(
        cells in proptest::collection::vec(proptest::collection::vec("[a-z ]{0,30}|\\PC{0,9}|[0-9]{1,5}", 5), 0..5),
        cols in 4usize..100
    ) {
        for charset in [Charset::Utf8, Charset::Ascii] {
            let text = table(&columns(), &cells, cols, charset);
            for line in text.lines() {
                prop_assert!(width(line) <= cols, "{cols}: {line}");
                prop_assert_eq!(line, line.trim_end());
            }
        }
    }

    #[test]
    fn wrapping_loses_no_letter(text in "\\PC{0,60}|[a-z ]{0,60}", cols in 2usize..40) {
        let lines = wrap(&text, cols, Charset::Ascii);
        let letters = |s: &str| s.split_whitespace().collect::<String>();
        let clean = struck::text::clean::shown_in(&text, Charset::Ascii);
        prop_assert_eq!(letters(&lines.join(" ")), letters(&clean));
        prop_assert!(lines.iter().all(|line| width(line) <= cols));
    }
}
