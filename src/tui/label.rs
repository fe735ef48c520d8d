//! A code drawn large, for writing the label at arm's length. It knows no batch.

use super::canvas::Canvas;
use super::ink::Meaning;

/// Each sign in five rows of three cells, the top row in the highest bits.
const SIGNS: &[(char, u16)] = &[
    ('0', 0b111_101_101_101_111),
    ('1', 0b010_110_010_010_111),
    ('2', 0b111_001_111_100_111),
    ('3', 0b111_001_111_001_111),
    ('4', 0b101_101_111_001_001),
    ('5', 0b111_100_111_001_111),
    ('6', 0b111_100_111_101_111),
    ('7', 0b111_001_001_010_010),
    ('8', 0b111_101_111_101_111),
    ('9', 0b111_101_111_001_111),
    ('-', 0b000_000_111_000_000),
    ('a', 0b010_101_111_101_101),
    ('b', 0b110_101_110_101_110),
    ('c', 0b011_100_100_100_011),
    ('d', 0b110_101_101_101_110),
    ('e', 0b111_100_110_100_111),
    ('f', 0b111_100_110_100_100),
    ('g', 0b011_100_101_101_011),
    ('h', 0b101_101_111_101_101),
    ('j', 0b001_001_001_101_010),
    ('k', 0b101_101_110_101_101),
    ('m', 0b101_111_111_101_101),
    ('n', 0b110_101_101_101_101),
    ('p', 0b110_101_110_100_100),
    ('q', 0b010_101_101_011_001),
    ('r', 0b110_101_110_101_101),
    ('t', 0b111_010_010_010_010),
    ('u', 0b101_101_101_101_111),
    ('v', 0b101_101_101_101_010),
    ('w', 0b101_101_111_111_101),
    ('x', 0b101_101_010_101_101),
    ('y', 0b101_101_010_010_010),
    ('z', 0b111_001_010_100_111),
];

/// Rows of a large code.
pub const ROWS: usize = 5;

/// Draws the codes one under the other as far as they fit; a sign without a form stands as it is.
pub fn draw(codes: &[String], canvas: &mut Canvas<'_>) {
    let needs = codes.len() * (ROWS + 1);
    if needs > canvas.height() {
        for (row, code) in codes.iter().enumerate() {
            canvas.text(row, 2, &spaced(code), Meaning::Heading);
        }
        return;
    }
    for (at, code) in codes.iter().enumerate() {
        large(code, at * (ROWS + 1) + 1, canvas);
    }
}

fn large(code: &str, row: usize, canvas: &mut Canvas<'_>) {
    let mut column = 2;
    for sign in code.chars() {
        match SIGNS.iter().find(|(is, _)| *is == sign) {
            Some((_, form)) => {
                for line in 0..ROWS {
                    let bits = form >> (3 * (ROWS - 1 - line));
                    for cell in 0..3 {
                        if bits >> (2 - cell) & 1 == 1 {
                            canvas.text(row + line, column + cell, "#", Meaning::Heading);
                        }
                    }
                }
            }
            None => {
                let shown = sign.to_uppercase().to_string();
                canvas.text(row + ROWS / 2, column + 1, &shown, Meaning::Heading);
            }
        }
        column += 5;
    }
}

fn spaced(code: &str) -> String {
    code.chars().map(|c| format!("{c} ")).collect()
}
