//! Sheets to print or send: each one self-contained HTML file without script or outside address, readable without colour.

pub mod chart;
pub mod html;
pub mod labels;
pub mod looks;
mod qr;
pub mod report;
