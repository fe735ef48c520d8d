//! Lists for the pocket: the open batches in walking order with boxes to fill by hand, and a blank sheet for sticking.

use super::html::{Paper, cautions_on, escaped, page};
use super::qr;
use crate::analysis::due::{DueItem, DueList};
use crate::fold::batch::Batch;
use crate::model::text::{place_key, split_spot};
use crate::text::bench::{seen_words, walking_key};
use crate::text::cautions::caution_line;
use crate::text::clean::Charset;
use crate::text::dates::Calendar;
use crate::text::due::next;
use crate::text::strip::{strip, tally};
use std::fmt::Write as _;

/// The boxes of a look, by heading.
const BOXES: [&str; 8] = [
    "rooted",
    "callus",
    "to bottom",
    "black",
    "wilted",
    "mould",
    "other",
    "look again",
];
/// The columns of a sticking sheet, with their share of the width.
const STICKING: [(&str, u32); 8] = [
    ("code", 10),
    ("plant", 24),
    ("how many", 8),
    ("wood", 10),
    ("hormone, ppm, carrier", 16),
    ("medium", 11),
    ("tray", 9),
    ("place", 12),
];
/// Marks of a strip on paper.
const STRIP: usize = 24;

const STYLE: &str = "\
body{font-size:3mm;line-height:1.25}.paper{padding:0 0 2mm}\
h1{font-size:5mm;margin:0 0 2mm}h2{font-size:3.6mm;margin:0}\
table{border-collapse:collapse;width:100%;table-layout:fixed}thead{display:table-header-group}\
th{font-size:2.5mm;text-align:left;font-weight:normal;vertical-align:bottom;overflow:hidden}\
td{border-top:0.2mm solid #000;padding:0.8mm 0.6mm;vertical-align:top;overflow-wrap:anywhere}tr{break-inside:avoid}\
.box{border:0.25mm solid #000}.place td{border-top:0.5mm solid #000;background:#fff;font-weight:bold}\
.qr{width:12mm;height:12mm}.strip{font-family:'DejaVu Sans Mono','Liberation Mono',monospace;white-space:nowrap;overflow:hidden}\
.code{font-weight:bold;font-size:3.6mm}.caution{font-size:2.6mm;margin:2mm 0 0}";

fn style(paper: Paper) -> String {
    paper.style(10.0) + STYLE
}

/// The open batches in walking order. `due` is what is due of them.
#[must_use]
pub fn looks_page(batches: &[&Batch], due: &DueList, calendar: Calendar, paper: Paper) -> String {
    let place = |batch: &Batch| batch.place.clone().unwrap_or_default();
    let mut order: Vec<&Batch> = batches.to_vec();
    order.sort_by_cached_key(|batch| walking_key(&place(batch), &batch.code));
    let mut rows = String::new();
    let mut here: Option<String> = None;
    for batch in order {
        let whole = place(batch);
        let (name, spot) = split_spot(&whole);
        let key = place_key(name);
        if here.as_ref() != Some(&key) {
            here = Some(key);
            let name = if name.is_empty() { "no place" } else { name };
            // Writing into a String cannot fail.
            let _ = writeln!(
                rows,
                "<tr class=\"place\"><td colspan=\"{}\">{}</td></tr>",
                BOXES.len() + 2,
                escaped(name)
            );
        }
        let item = due.items.iter().find(|item| item.key == batch.key);
        rows.push_str(&row(batch, spot, item, calendar));
    }
    let heads: String = BOXES
        .iter()
        .map(|head| format!("<th>{head}</th>"))
        .collect();
    let columns: String = BOXES.iter().map(|_| "<col style=\"width:5.2%\">").collect();
    let title = format!("Looks, {}", calendar.day(calendar.today));
    let compost = escaped(caution_line("compost"));
    let body = format!(
        "<section class=\"paper\"><h1>{}</h1><table><colgroup><col style=\"width:8%\"><col>{columns}</colgroup>\
         <thead><tr><th></th><th>batch; what was last seen; what comes next</th>{heads}</tr></thead><tbody>{rows}</tbody></table>\
         <p class=\"caution\">Counts: each cutting once, at its furthest stage, and out of how many looked at; the dead are taken out. {compost}</p></section>",
        escaped(&title)
    );
    page(&title, &style(paper), &body)
}

fn row(batch: &Batch, spot: Option<&str>, item: Option<&DueItem>, calendar: Calendar) -> String {
    let day = (calendar.today - batch.stuck_on).num_days();
    let seen = seen_words(batch, calendar).map_or("no look yet".to_owned(), |(words, when)| {
        format!("{words}, {when}")
    });
    let next = item.map_or(String::new(), |item| next(item, calendar));
    let spot = spot.map_or(String::new(), |spot| format!(", spot {spot}"));
    let strip = strip(tally(&batch.counts), STRIP).text(Charset::Utf8);
    let told = format!("{} here; {seen}. {next}", batch.counts.remain());
    let boxes: String = BOXES.iter().map(|_| "<td class=\"box\"></td>").collect();
    format!(
        "<tr><td>{}</td><td><span class=\"code\">{}</span> {}<br>day {day}{}<br><span class=\"strip\" aria-hidden=\"true\">{}</span><br>{}</td>{boxes}</tr>\n",
        qr::svg(&batch.code).unwrap_or_default(),
        escaped(&batch.code),
        escaped(&batch.taxon.shown()),
        escaped(&spot),
        escaped(&strip),
        escaped(&told)
    )
}

/// A blank sheet for sticking, with so many rows.
#[must_use]
pub fn sticking_page(rows: u32, paper: Paper) -> String {
    let columns: String = STICKING
        .iter()
        .map(|(_, share)| format!("<col style=\"width:{share}%\">"))
        .collect();
    let heads: String = STICKING
        .iter()
        .map(|(head, _)| format!("<th>{head}</th>"))
        .collect();
    let cells: String = STICKING.iter().map(|_| "<td class=\"box\"></td>").collect();
    let row = format!("<tr style=\"height:9mm\">{cells}</tr>\n");
    let cautions = cautions_on(&["hormone", "powder", "alcohol", "disinfectant", "blade"]);
    let body = format!(
        "<section class=\"paper\"><h1>Sticking: day ____________ who ____________</h1><table><colgroup>{columns}</colgroup><thead><tr>{heads}</tr></thead>\
         <tbody>{}</tbody></table><p class=\"caution\">{cautions}</p></section>",
        row.repeat(rows as usize)
    );
    page("Sticking", &style(paper), &body)
}
