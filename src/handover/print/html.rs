//! The skeleton of a printed page and the escaping of text in it. It knows no plant.

use crate::text::cautions::{FIRST, caution_line};
use crate::text::clean::shown;

/// The paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 × 11 in (ANSI/ASME Y14.1).
    Letter,
}

impl Paper {
    /// Width and height in mm.
    #[must_use]
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// The style of a page upright on it, with a bare edge of so many mm; on a screen the text is as wide as on paper.
    #[must_use]
    pub fn style(self, margin_mm: f64) -> String {
        let inner = self.size_mm().0 - 2.0 * margin_mm;
        format!(
            "@page{{size:{} portrait;margin:{margin_mm}mm}}@media screen{{.paper{{width:{inner}mm}}}}",
            self.word()
        )
    }

    /// Its name in CSS.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "letter",
        }
    }
}

/// A text as it may stand in HTML, in an element or in a quoted attribute: nothing in it is markup, and no control
/// character or mark of direction is left.
#[must_use]
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in shown(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// The caution that comes before all, then those on these hazards, a line each.
#[must_use]
pub fn cautions_on(hazards: &[&str]) -> String {
    let lines = hazards.iter().map(|hazard| caution_line(hazard));
    let lines = lines.map(|line| format!("<br>{}", escaped(line)));
    escaped(FIRST) + &lines.collect::<String>()
}

/// What every page's style begins with.
const STYLE: &str = "\
*{box-sizing:border-box}\
html{-webkit-print-color-adjust:exact;print-color-adjust:exact}\
body{margin:0;color:#000;background:#fff;font-family:'DejaVu Sans','Liberation Sans',Helvetica,Arial,sans-serif}\
svg{display:block}\
@media screen{.paper{margin:6mm auto;outline:0.3mm solid #999}}";

/// A whole page. The policy in its head lets a browser load nothing from anywhere and run nothing, whatever stands in it.
/// `title` is text; `style` and `body` are CSS and HTML.
#[must_use]
pub fn page(title: &str, style: &str, body: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{}</title>\n<style>{STYLE}{style}</style>\n</head>\n<body>\n{body}</body>\n</html>\n",
        escaped(title)
    )
}
