//! Breaks text into lines that fit a width. It never loses a letter.

use super::clean::{Charset, shown_in, width};
use unicode_segmentation::UnicodeSegmentation;

/// The cleaned text in lines of at most `cols` columns, broken between words; a word longer than a
/// line is broken between letters. Always at least one line; `cols` below 2 counts as 2, since a
/// wide letter takes two.
#[must_use]
pub fn wrap(text: &str, cols: usize, charset: Charset) -> Vec<String> {
    let cols = cols.max(2);
    let clean = shown_in(text, charset);
    let mut lines = vec![String::new()];
    for word in clean.split_whitespace() {
        let line = lines.len() - 1;
        let used = width(&lines[line]);
        let gap = usize::from(used > 0);
        if used + gap + width(word) <= cols {
            lines[line].push_str(&" ".repeat(gap));
            lines[line].push_str(word);
            continue;
        }
        let mut pieces = break_word(word, cols);
        if used == 0 {
            lines.pop();
        }
        lines.append(&mut pieces);
    }
    lines
}

fn break_word(word: &str, cols: usize) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let mut used = 0;
    for letter in word.graphemes(true) {
        let wide = width(letter);
        if used > 0 && used + wide > cols {
            pieces.push(String::new());
            used = 0;
        }
        let last = pieces.len() - 1;
        pieces[last].push_str(letter);
        used += wide;
    }
    pieces
}
