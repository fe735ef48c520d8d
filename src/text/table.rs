//! Lays out plain tables within a given width. It prints nothing and knows nothing of what it shows.

use super::clean::wrap;
use super::clean::{Align, Charset, pad, shown_in, width};

/// Spaces between columns.
const GAP: usize = 2;

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// The heading.
    pub title: String,
    /// Right for numbers, which are never cut; left for text, which may be.
    pub align: Align,
    /// 0: the table does without other columns before this one, and is stacked rather than losing
    /// it. Else the columns with the greatest number drop out first when space is short.
    pub drop: u8,
    /// Columns to which a text may shrink before others drop out.
    pub least: usize,
}

impl Column {
    /// A column of text that stays, and shrinks to ten columns.
    #[must_use]
    pub fn text(title: &str) -> Column {
        Column {
            title: title.to_owned(),
            align: Align::Left,
            drop: 0,
            least: 10,
        }
    }

    /// A column of numbers that stays.
    #[must_use]
    pub fn number(title: &str) -> Column {
        Column {
            align: Align::Right,
            ..Column::text(title)
        }
    }

    /// The same column, dropping out in this turn: the greatest number first.
    #[must_use]
    pub fn dropping(self, drop: u8) -> Column {
        Column { drop, ..self }
    }

    /// The same column, shrinking to this width at least.
    #[must_use]
    pub fn at_least(self, least: usize) -> Column {
        Column { least, ..self }
    }
}

/// A heading line and one line a row, at most `cols` columns wide, each ended by a newline.
///
/// Where space is short, columns drop out as their `drop` says, then texts shrink with an
/// ellipsis; where even the columns that stay do not fit, each row becomes a block of
/// `heading: value` lines with every column that has a value, blocks parted by an empty line.
/// `rows`: cells in the order of `columns`; missing ones are empty.
#[must_use]
pub fn table(columns: &[Column], rows: &[Vec<String>], cols: usize, charset: Charset) -> String {
    let natural = natural_widths(columns, rows, charset);
    let mut kept: Vec<usize> = (0..columns.len()).collect();
    while least_total(columns, &natural, &kept) > cols {
        let last = kept
            .iter()
            .enumerate()
            .max_by_key(|(_, c)| columns[**c].drop);
        match last {
            Some((place, column)) if columns[*column].drop > 0 => {
                kept.remove(place);
            }
            _ => return stacked(columns, rows, cols, charset),
        }
    }
    let widths = shrink(columns, &natural, &kept, cols);
    let titles: Vec<String> = columns.iter().map(|c| c.title.clone()).collect();
    let lines = std::iter::once(&titles).chain(rows);
    lines
        .map(|cells| line(columns, cells, &widths, charset))
        .collect()
}

fn natural_widths(columns: &[Column], rows: &[Vec<String>], charset: Charset) -> Vec<usize> {
    let wide = |text: &str| width(&shown_in(text, charset));
    let widest = |(at, column): (usize, &Column)| {
        let cells = rows.iter().filter_map(|row| row.get(at));
        let cells = cells.map(|cell| wide(cell)).max().unwrap_or(0);
        cells.max(wide(&column.title))
    };
    columns.iter().enumerate().map(widest).collect()
}

/// The narrowest that a column can be.
fn floor(column: &Column, natural: usize) -> usize {
    match column.align {
        Align::Left => natural.min(column.least.max(1)),
        Align::Right => natural,
    }
}

fn least_total(columns: &[Column], natural: &[usize], kept: &[usize]) -> usize {
    let cells: usize = kept.iter().map(|c| floor(&columns[*c], natural[*c])).sum();
    cells + GAP * kept.len().saturating_sub(1)
}

/// Column and width of all that are kept: the widest text gives way first.
fn shrink(
    columns: &[Column],
    natural: &[usize],
    kept: &[usize],
    cols: usize,
) -> Vec<(usize, usize)> {
    let mut widths: Vec<(usize, usize)> = kept.iter().map(|c| (*c, natural[*c])).collect();
    let gaps = GAP * kept.len().saturating_sub(1);
    let total = |widths: &[(usize, usize)]| widths.iter().map(|w| w.1).sum::<usize>() + gaps;
    while total(&widths) > cols {
        let can = widths
            .iter_mut()
            .filter(|(c, width)| *width > floor(&columns[*c], natural[*c]));
        let Some(widest) = can.max_by_key(|(_, width)| *width) else {
            break;
        };
        widest.1 -= 1;
    }
    widths
}

fn line(
    columns: &[Column],
    cells: &[String],
    widths: &[(usize, usize)],
    charset: Charset,
) -> String {
    let mut parts = Vec::new();
    for (column, width) in widths {
        let cell = cells.get(*column).map_or("", String::as_str);
        parts.push(pad(cell, *width, columns[*column].align, charset));
    }
    let joined = parts.join(&" ".repeat(GAP));
    format!("{}\n", joined.trim_end())
}

fn stacked(columns: &[Column], rows: &[Vec<String>], cols: usize, charset: Charset) -> String {
    let blocks = rows.iter().map(|row| block(columns, row, cols, charset));
    blocks.collect::<Vec<_>>().join("\n")
}

/// One row as `heading: value` lines; what is too long runs on, set in by two.
fn block(columns: &[Column], row: &[String], cols: usize, charset: Charset) -> String {
    let mut out = String::new();
    for (column, cell) in columns.iter().zip(row) {
        if cell.trim().is_empty() {
            continue;
        }
        let text = format!("{}: {cell}", column.title);
        let whole = shown_in(&text, charset);
        if width(&whole) <= cols {
            out.push_str(&format!("{}\n", whole.trim_end()));
            continue;
        }
        for (place, line) in wrap(&text, cols.saturating_sub(2), charset)
            .iter()
            .enumerate()
        {
            let set_in = if place == 0 { "" } else { "  " };
            out.push_str(&format!("{set_in}{line}\n"));
        }
    }
    out
}
