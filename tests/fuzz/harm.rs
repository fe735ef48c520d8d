//! What no text on its way out may hold, written out anew from the standards, apart from the program's own table.

/// General category Cc; and of Unicode's Bidi_Control, zero-width, filling, separating and tag characters, each.
pub fn harmful(c: char) -> bool {
    c.is_control()
        || "\u{ad}\u{34f}\u{61c}\u{180e}\u{2028}\u{2029}\u{feff}\u{3164}\u{ffa0}".contains(c)
        || ('\u{200b}'..='\u{200f}').contains(&c)
        || ('\u{202a}'..='\u{202e}').contains(&c)
        || ('\u{2060}'..='\u{206f}').contains(&c)
        || ('\u{fe00}'..='\u{fe0f}').contains(&c)
        || ('\u{e0000}'..='\u{e01ef}').contains(&c)
}

/// The first harm in a text: such a character, or a fifth of the marks of U+0300 to U+036F on one letter, which climb
/// into the line above.
pub fn harm_in(text: &str) -> Option<String> {
    let mut marks = 0;
    for (at, c) in text.char_indices() {
        marks = match c {
            '\u{300}'..='\u{36f}' => marks + 1,
            _ => 0,
        };
        if harmful(c) || marks > 4 {
            return Some(format!("U+{:04X} at byte {at} of {text:?}", u32::from(c)));
        }
    }
    None
}
