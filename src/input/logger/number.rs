//! A cell's number, with a decimal point or comma and perhaps its unit behind it. It converts nothing.

use super::column::Unit;

/// What loggers write where there is no value.
const BLANK: [&str; 12] = [
    "", "-", "--", "---", "nan", "n/a", "na", "null", "none", "#n/a", "ol", "err",
];

/// Whether a cell holds no value.
#[must_use]
pub fn is_blank(cell: &str) -> bool {
    cell.is_empty() || (cell.len() <= 4 && BLANK.contains(&&*cell.to_ascii_lowercase()))
}

/// The number in a trimmed cell, if it is one; `comma` says that the decimal sign is a comma. Its unit may
/// stand behind it, if it is the column's own.
#[must_use]
pub fn number(cell: &str, comma: bool, unit: Unit) -> Option<f64> {
    let digits = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}');
    let end = cell.find(|c| !digits(c)).unwrap_or(cell.len());
    let (digits, mut rest) = cell.split_at(end);
    let mut text = digits;
    // An exponent, as some scripts print small numbers.
    if rest.starts_with(['e', 'E']) && rest[1..].starts_with(['+', '-', '0', '1']) {
        let tail = rest[1..]
            .find(|c: char| !c.is_ascii_digit() && !matches!(c, '+' | '-'))
            .map_or(cell.len(), |at| end + 1 + at);
        (text, rest) = cell.split_at(tail);
    }
    let rest = rest.trim();
    if !(rest.is_empty() || rest == "°" || Unit::of(rest) == Some(unit)) {
        return None;
    }
    let plain = !text.contains([',', '\u{2212}']);
    let value: f64 = if plain {
        text.parse().ok()?
    } else {
        let text = text.replace('\u{2212}', "-");
        match (comma, text.matches(',').count(), text.contains('.')) {
            (true, 0 | 1, false) => text.replace(',', ".").parse().ok()?,
            (_, 0, _) => text.parse().ok()?,
            _ => return None,
        }
    };
    value.is_finite().then_some(value)
}

/// Whether a cell can only be a number with a decimal comma.
#[must_use]
pub fn has_decimal_comma(cell: &str) -> bool {
    let mut parts = cell.trim().splitn(2, ',');
    let (Some(whole), Some(rest)) = (parts.next(), parts.next()) else {
        return false;
    };
    let whole = whole.trim_start_matches(['-', '+', '\u{2212}']);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    digits(whole) && digits(rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_loggers_write_them() {
        for (cell, comma, unit, value) in [
            ("21.5", false, Unit::C, Some(21.5)),
            ("-3.25", false, Unit::C, Some(-3.25)),
            ("\u{2212}3,25", true, Unit::C, Some(-3.25)),
            ("21,5", true, Unit::C, Some(21.5)),
            ("21,5", false, Unit::C, None),
            ("1,234.5", true, Unit::Umol, None),
            ("82 %", false, Unit::Percent, Some(82.0)),
            ("72 F", false, Unit::F, Some(72.0)),
            ("72 F", false, Unit::C, None),
            ("1.2e-3", false, Unit::C, Some(0.0012)),
            ("1e999", false, Unit::C, None),
            ("inf", false, Unit::C, None),
            ("12:30", false, Unit::C, None),
            ("", false, Unit::C, None),
        ] {
            assert_eq!(number(cell, comma, unit), value, "{cell}");
        }
    }
}
