//! Reports to print or send: a season in review with its curves, its batches and what failed; one plant's page.

use super::chart::{ChartCurve, figure};
use super::html::{Paper, cautions_on, escaped, page};
use crate::analysis::air::lived::{PlaceAirs, base_of};
use crate::analysis::batches::{BatchOutcome, BatchSummary};
use crate::analysis::review::Review;
use crate::analysis::timeline::{Timeline, TimelineGroup};
use crate::fold::Book;
use crate::fold::batch::{Batch, Milestone};
use crate::text::bench::causes;
use crate::text::clean::Charset;
use crate::text::dates::{Calendar, day_month};
use crate::text::figures::percent;
use crate::text::review::{ParaKind, paras};
use crate::text::strip::{CuttingMark, strip, tally};
use crate::text::timelines;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Marks of a strip on paper.
const STRIP: usize = 40;

const STYLE: &str = "\
body{font-size:3.2mm;line-height:1.35}h1{font-size:6mm;margin:0 0 3mm}h2{font-size:4.2mm;margin:5mm 0 1mm;break-after:avoid}\
p{margin:0 0 1mm}p.detail{margin-left:6mm}\
.figures{display:grid;grid-template-columns:1fr 1fr;gap:3mm 6mm;align-items:start}figure{margin:0;break-inside:avoid;min-width:0}figcaption{font-weight:bold}figure svg{width:100%;height:auto}\
.key{margin:0;padding:0;list-style:none}\
table{border-collapse:collapse;width:100%}thead{display:table-header-group}th{text-align:left;font-weight:normal;font-size:2.8mm;vertical-align:bottom}\
td,th{padding:0.6mm 1.2mm 0.6mm 0}td{overflow-wrap:anywhere}td{border-top:0.2mm solid #000;vertical-align:top}tr{break-inside:avoid}.n{text-align:right}\
.strip{font-family:'DejaVu Sans Mono','Liberation Mono',monospace;white-space:nowrap;letter-spacing:-0.3mm}\
.caution{font-size:2.8mm;margin-top:4mm}";

fn style(paper: Paper) -> String {
    paper.style(15.0) + STYLE
}

/// A season: its review in words, the curves of its plants, its batches, and what failed with the air that it stood in.
/// `curves` are the season's timelines by wood stage; `batches` are those stuck in it.
#[must_use]
pub fn season(
    book: &Book,
    review: &Review,
    curves: &Timeline,
    batches: &[&Batch],
    calendar: Calendar,
    paper: Paper,
) -> String {
    let title = format!(
        "Season {}, as of {}",
        review.season,
        calendar.day(review.as_of)
    );
    let mut body = format!("<h1>{}</h1>\n", escaped(&title));
    for para in paras(review, calendar) {
        let text = escaped(&para.text);
        let _ = match para.kind {
            ParaKind::Head => writeln!(body, "<h2>{text}</h2>"),
            ParaKind::Item => writeln!(body, "<p>{text}</p>"),
            ParaKind::Detail => writeln!(body, "<p class=\"detail\">{text}</p>"),
        };
    }
    body.push_str("<h2>How they rooted</h2>\n<div class=\"figures\">");
    let mut by_taxon: BTreeMap<&str, Vec<&TimelineGroup>> = BTreeMap::new();
    for group in &curves.groups {
        by_taxon.entry(&group.taxon).or_default().push(group);
    }
    for (taxon, groups) in by_taxon {
        let curves: Vec<ChartCurve> = groups
            .iter()
            .map(|group| curve(group, Milestone::Root, wood(group)))
            .collect();
        body.push_str(&figure(&format!("{taxon}: rooted"), &curves));
    }
    body.push_str("</div>");
    body.push_str(&batch_table(batches, calendar));
    body.push_str(&failed_table(book, batches, calendar));
    body.push_str(&cautions());
    page(
        &title,
        &style(paper),
        &format!("<main class=\"paper\">{body}</main>\n"),
    )
}

/// One plant: its curves by wood stage and by season, its figures, and its batches. `by_wood` and `by_season` are its
/// timelines.
#[must_use]
pub fn taxon(
    name: &str,
    by_wood: &Timeline,
    by_season: &Timeline,
    batches: &[&Batch],
    calendar: Calendar,
    paper: Paper,
) -> String {
    let title = format!("{name}, as of {}", dated(calendar.today));
    let mut body = format!("<h1>{}</h1>\n<div class=\"figures\">", escaped(&title));
    let name_of = |group: &TimelineGroup| format!("{}, {}", group.taxon, wood(group));
    for (milestone, word) in [
        (Milestone::Callus, "callused"),
        (Milestone::Root, "rooted"),
        (Milestone::Bottom, "roots at the bottom"),
    ] {
        let curves: Vec<ChartCurve> = by_wood
            .groups
            .iter()
            .map(|group| curve(group, milestone, name_of(group)))
            .collect();
        body.push_str(&figure(&format!("By wood stage: {word}"), &curves));
    }
    let curves: Vec<ChartCurve> = by_season
        .groups
        .iter()
        .map(|group| curve(group, Milestone::Root, name_of(group)))
        .collect();
    body.push_str(&figure("By season: rooted", &curves));
    body.push_str("</div>");
    body.push_str(&figures(by_wood));
    body.push_str(&batch_table(batches, calendar));
    body.push_str(&cautions());
    page(
        &title,
        &style(paper),
        &format!("<main class=\"paper\">{body}</main>\n"),
    )
}

/// A day with its year, since a report may be read in another.
fn dated(day: NaiveDate) -> String {
    format!("{} {}", day_month(day), day.year())
}

/// The value of a group's key beside the taxon.
fn wood(group: &TimelineGroup) -> String {
    let value = group.by.first().and_then(|(_, value)| value.clone());
    value.unwrap_or_else(|| "not recorded".to_owned())
}

fn curve(group: &TimelineGroup, milestone: Milestone, name: String) -> ChartCurve {
    let figures = group.figures(milestone);
    let until = figures
        .reached
        .value()
        .map_or(0.0, |share| f64::from(share.by_day));
    ChartCurve::new(name, &figures.curve, until)
}

fn table(heads: &[&str], rows: &[Vec<String>]) -> String {
    let heads: String = heads
        .iter()
        .map(|head| format!("<th>{head}</th>"))
        .collect();
    let rows: String = rows
        .iter()
        .map(|cells| {
            let cells: String = cells
                .iter()
                .map(|cell| format!("<td>{cell}</td>"))
                .collect();
            format!("<tr>{cells}</tr>\n")
        })
        .collect();
    format!("<table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>\n")
}

fn figures(timeline: &Timeline) -> String {
    let rows: Vec<Vec<String>> = timeline
        .groups
        .iter()
        .map(|group| {
            let days = |milestone| escaped(&timelines::days(group.figures(milestone), ", "));
            vec![
                escaped(&format!("{}, {}", group.taxon, wood(group))),
                group.size.batches.to_string(),
                group.size.stuck.to_string(),
                escaped(&timelines::strike(group)),
                days(Milestone::Callus),
                days(Milestone::Root),
                days(Milestone::Bottom),
            ]
        })
        .collect();
    let heads = [
        "plant",
        "batches",
        "stuck",
        "rooted % (95 %)",
        "days to callus",
        "to roots",
        "to bottom",
    ];
    format!(
        "<h2>Seen so far</h2><p>Days since sticking by which 10, 50 and 90 % of those that got so far had done so.</p>{}",
        table(&heads, &rows)
    )
}

/// Every batch with its strip, and what the marks are.
fn batch_table(batches: &[&Batch], calendar: Calendar) -> String {
    let row = |batch: &&Batch| {
        let summary = BatchSummary::new(batch, calendar.today);
        let wood = batch
            .stick
            .wood
            .map_or(String::new(), |wood| format!(", {}", wood.word()));
        vec![
            escaped(&batch.code),
            escaped(&format!("{}{wood}", batch.taxon.shown())),
            calendar.day(batch.stuck_on),
            batch.counts.stuck.to_string(),
            format!(
                "<span class=\"strip\">{}</span>",
                escaped(&strip(tally(&batch.counts), STRIP).text(Charset::Utf8))
            ),
            summary.rooted.share.map_or(String::new(), percent),
            summary.lost.to_string(),
        ]
    };
    let rows: Vec<Vec<String>> = batches.iter().map(row).collect();
    let names = [
        "roots at the bottom",
        "rooted",
        "callused",
        "nothing yet",
        "potted",
        "given up",
        "lost",
    ];
    let key: Vec<String> = CuttingMark::ALL
        .iter()
        .zip(names)
        .map(|(mark, name)| {
            format!(
                "<span class=\"strip\">{}</span> {name}",
                escaped(&mark.sign(Charset::Utf8).to_string())
            )
        })
        .collect();
    let heads = [
        "code",
        "plant",
        "stuck on",
        "stuck",
        "what became of them",
        "rooted %",
        "lost",
    ];
    format!(
        "<h2>Batches</h2><p>One mark a cutting, or a share each: {}.</p>{}",
        key.join(", "),
        table(&heads, &rows)
    )
}

/// Those that are over and gave less than half, each with its losses and the air that it stood in.
fn failed_table(book: &Book, batches: &[&Batch], calendar: Calendar) -> String {
    let mut airs = PlaceAirs::new(book);
    let mut rows = Vec::new();
    for batch in batches {
        let summary = BatchSummary::new(batch, calendar.today);
        if summary.outcome != BatchOutcome::Failed {
            continue;
        }
        let lived = airs.lived(batch, summary.last_entry, base_of(book, batch, None));
        let words = ["drying", "easy", "wet", "hot"];
        let air: Vec<String> = words
            .iter()
            .zip(lived.senses)
            .filter(|(_, days)| *days > 0)
            .map(|(word, days)| format!("{days} {word}"))
            .collect();
        rows.push(vec![
            escaped(&batch.code),
            escaped(&batch.taxon.shown()),
            format!("{} of {}", summary.counts.potted, summary.counts.stuck),
            causes(&summary.counts.lost),
            summary.counts.given_up.to_string(),
            if air.is_empty() {
                "no readings".to_owned()
            } else {
                air.join(", ")
            },
        ]);
    }
    if rows.is_empty() {
        return String::new();
    }
    let heads = [
        "code",
        "plant",
        "potted",
        "lost",
        "given up",
        "days of its air",
    ];
    format!("<h2>What gave less than half</h2>{}", table(&heads, &rows))
}

fn cautions() -> String {
    let lines = cautions_on(&["hormone", "spray", "disinfectant"]);
    format!("<p class=\"caution\">{lines}</p>")
}
