//! Labels for trays: on sheets of any grid, or one a page for a label printer. Each bears its code large, in letters and as
//! a QR symbol of the code alone.

use super::html::{Paper, escaped, page};
use super::qr;
use crate::fold::batch::Batch;
use crate::fold::names::hormone_text;
use crate::model::composite::Hormone;
use crate::model::taxon::Taxon;
use crate::text::clean::{Charset, fit};
use crate::text::dates::day_month;
use crate::text::short::short;
use chrono::Datelike;
use std::fmt::Write as _;

/// A sheet of labels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LabelSheet {
    /// Labels across.
    pub across: u32,
    /// Labels down.
    pub down: u32,
    /// The paper.
    pub paper: Paper,
    /// Bare edge of the sheet, mm.
    pub margin_mm: f64,
    /// Bare strip between labels, mm.
    pub gap_mm: f64,
}

/// How labels are set out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LabelLayout {
    /// So many across and down on a sheet.
    Sheet(LabelSheet),
    /// One label a page, of this width and height in mm.
    Single(f64, f64),
}

impl LabelLayout {
    /// Width and height of a label in mm.
    #[must_use]
    pub fn label_mm(self) -> (f64, f64) {
        match self {
            Self::Single(width, height) => (width, height),
            Self::Sheet(sheet) => {
                let (width, height) = sheet.paper.size_mm();
                let room = |whole: f64, count: u32| {
                    let count = f64::from(count.max(1));
                    (whole - 2.0 * sheet.margin_mm - sheet.gap_mm * (count - 1.0)) / count
                };
                (room(width, sheet.across), room(height, sheet.down))
            }
        }
    }

    /// Labels on a page.
    #[must_use]
    pub fn per_page(self) -> usize {
        match self {
            Self::Single(..) => 1,
            Self::Sheet(sheet) => sheet.across.saturating_mul(sheet.down).max(1) as usize,
        }
    }
}

/// Least width and height of a label that its code fits on, mm.
pub const LEAST_MM: (f64, f64) = (25.0, 12.0);
/// Bare edge inside a label, mm.
const PAD: f64 = 1.5;
/// Width of a letter of the font as a part of its height, on the wide side.
const LETTER: f64 = 0.57;
/// The same of bold letters.
const BOLD: f64 = 0.66;
/// Height of a line as a part of the font's.
const LINE: f64 = 1.22;

/// The sizes of a label in mm.
struct LabelSizes {
    width: f64,
    height: f64,
    qr: f64,
    text: f64,
    /// Letters of a line, and of the name, which is bold.
    columns: usize,
    name_columns: usize,
    lines: usize,
}

impl LabelSizes {
    fn new(layout: LabelLayout) -> Self {
        let (width, height) = layout.label_mm();
        let qr = (height - 2.0 * PAD).min(width * 0.3);
        let text = (height * 0.1).clamp(1.9, 3.4);
        let room = width - qr - 3.0 * PAD;
        let below = height - 2.0 * PAD - Self::code_height(height);
        Self {
            width,
            height,
            qr,
            text,
            columns: (room / (text * LETTER)) as usize,
            name_columns: (room / (text * BOLD)) as usize,
            lines: (below / (text * LINE)) as usize,
        }
    }

    fn code_height(height: f64) -> f64 {
        (height * 0.3).clamp(4.0, 14.0)
    }

    /// The height of a code's letters so that it fits beside the symbol.
    fn code(&self, code: &str) -> f64 {
        let room = self.width - self.qr - 3.0 * PAD;
        let letters = code.chars().count().max(1) as f64;
        (Self::code_height(self.height) / LINE).min(room / (letters * 0.7))
    }
}

/// Labels as a page of HTML.
#[must_use]
pub fn labels(batches: &[&Batch], layout: LabelLayout) -> String {
    let sizes = LabelSizes::new(layout);
    let taxa: Vec<&Taxon> = batches.iter().map(|batch| &*batch.taxon).collect();
    let names = short(&taxa, sizes.name_columns, Charset::Utf8);
    let each: Vec<String> = batches
        .iter()
        .zip(&names)
        .map(|(batch, name)| label(batch, name, &sizes))
        .collect();
    let mut body = String::new();
    for sheet in each.chunks(layout.per_page()) {
        // Writing into a String cannot fail.
        let _ = writeln!(
            body,
            "<section class=\"paper\">{}</section>",
            sheet.concat()
        );
    }
    page("Labels", &style(layout, &sizes), &body)
}

/// What stands below the code, the most telling first.
fn lines(batch: &Batch, name: &str) -> Vec<String> {
    let stick = &batch.stick;
    let stuck = batch.stuck_on;
    let mut lines = vec![
        name.to_owned(),
        format!("{} {}", day_month(stuck), stuck.year()),
    ];
    let wood = stick.wood.map(|wood| format!(" {}", wood.word()));
    lines.push(format!(
        "{}{}",
        batch.counts.stuck,
        wood.unwrap_or_default()
    ));
    lines.extend(stick.hormone.as_ref().map(|hormone| match hormone {
        Hormone::None => "no hormone".to_owned(),
        Hormone::Doses(_) => hormone_text(hormone),
    }));
    lines.extend(batch.place.clone());
    lines
}

fn label(batch: &Batch, name: &str, sizes: &LabelSizes) -> String {
    let lines: String = lines(batch, name)
        .iter()
        .take(sizes.lines)
        .map(|line| {
            format!(
                "<p>{}</p>",
                escaped(&fit(line, sizes.columns, Charset::Utf8))
            )
        })
        .collect();
    format!(
        "<article><div><h1 style=\"font-size:{:.2}mm\">{}</h1>{lines}</div>{}</article>\n",
        sizes.code(&batch.code),
        escaped(&batch.code),
        qr::svg(&batch.code).unwrap_or_default()
    )
}

fn style(layout: LabelLayout, sizes: &LabelSizes) -> String {
    let paper = match layout {
        LabelLayout::Single(width, height) => format!(
            "@page{{size:{width}mm {height}mm;margin:0}}.paper{{width:{width}mm;height:{height}mm}}"
        ),
        LabelLayout::Sheet(sheet) => {
            let (width, height) = sheet.paper.size_mm();
            format!(
                "@page{{size:{} portrait;margin:0}}.paper{{width:{width}mm;height:{height}mm;padding:{}mm;display:grid;\
                 grid-template-columns:repeat({},{:.3}mm);grid-template-rows:repeat({},{:.3}mm);gap:{}mm}}",
                sheet.paper.word(),
                sheet.margin_mm,
                sheet.across,
                sizes.width,
                sheet.down,
                sizes.height,
                sheet.gap_mm
            )
        }
    };
    format!(
        "{paper}.paper{{overflow:hidden;break-inside:avoid}}.paper+.paper{{break-before:page}}\
         article{{width:{:.3}mm;height:{:.3}mm;padding:{PAD}mm;display:flex;justify-content:space-between;align-items:flex-start;gap:{PAD}mm;overflow:hidden}}\
         article div{{min-width:0;flex:1}}h1{{margin:0;line-height:{LINE};font-family:'DejaVu Sans Mono','Liberation Mono',monospace;white-space:nowrap}}\
         p{{margin:0;font-size:{:.2}mm;line-height:{LINE};white-space:nowrap;overflow:hidden}}p:first-of-type{{font-weight:bold}}\
         .qr{{width:{:.2}mm;height:{:.2}mm;flex:none}}",
        sizes.width, sizes.height, sizes.text, sizes.qr, sizes.qr
    )
}
