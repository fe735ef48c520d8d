//! A code as a QR symbol (ISO/IEC 18004) drawn in SVG. The library makes the modules; they are drawn as one path.

use super::html::escaped;
use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write as _;

/// Modules left white around the symbol, as the standard asks.
const QUIET: usize = 4;

/// The symbol of a text; nothing if the text is too long for one.
pub fn svg(text: &str) -> Option<String> {
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    let colors = code.to_colors();
    let mut path = String::new();
    for (y, row) in colors.chunks(width).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                let length = run.len();
                // Writing into a String cannot fail.
                let _ = write!(path, "M{} {}h{length}v1h-{length}z", x + QUIET, y + QUIET);
            }
            x += run.len();
        }
    }
    let side = width + 2 * QUIET;
    let label = escaped(&format!("QR code of {text}"));
    Some(format!(
        "<svg class=\"qr\" role=\"img\" aria-label=\"{label}\" viewBox=\"0 0 {side} {side}\" shape-rendering=\"crispEdges\">\
         <path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path d=\"{path}\"/></svg>"
    ))
}
