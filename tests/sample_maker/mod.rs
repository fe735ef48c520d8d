//! Makes the sample journals: an invented nursery's seasons drawn by seed from a truth that is written beside them.

mod air;
mod dice;
mod fate;
mod life;
mod mess;
mod pen;
mod season;
mod taxa;
mod truth;

use chrono::NaiveDate;
use dice::Dice;
use pen::Pen;
use struck::app::writer;
use struck::model::entry::Entry;

/// One file of the sample.
#[derive(Clone, Debug, PartialEq)]
pub enum Page {
    /// Entries as the program writes them.
    Entries(Vec<Entry>),
    /// Text as it stands: lines by hand, the truth.
    Text(String),
}

/// The sample's files by name.
///
/// Two machines' journals, a page by hand, and the truth: `truth.csv` with the true strike and
/// days by taxon and wood stage, `truth-air.csv` with the days on which the air was wrong.
#[must_use]
pub fn draw(seed: u64) -> Vec<(String, Page)> {
    let mut dice = Dice::new(seed);
    let (Some(first), Some(last)) = (
        NaiveDate::from_ymd_opt(2023, 3, 1),
        NaiveDate::from_ymd_opt(2026, 8, 20),
    ) else {
        return Vec::new();
    };
    let mut bench = Pen::new("potting-shed-grower-4t7m.jsonl", "the grower", last);
    let mut frame = Pen::new("tunnel-helper-k2fd.jsonl", "the helper", last);
    mess::set_down(first, &mut bench, &mut dice);
    for year in season::SEASONS[0]..=season::SEASONS[1] {
        mess::targets(year, &mut bench, &mut dice);
        mess::climate(year, &mut bench, &mut dice);
        let mut next = [
            writer::next_code(year, None, [].into_iter()),
            writer::next_code(year, Some('k'), [].into_iter()),
        ];
        for (at, order) in season::orders(year, &mut dice).iter().enumerate() {
            let by_helper = dice.chance(0.2);
            let code = &mut next[usize::from(by_helper)];
            let part = writer::following_code(code);
            let parted = at % 23 == 9;
            let pens = if by_helper {
                [&mut frame, &mut bench]
            } else {
                [&mut bench, &mut frame]
            };
            life::enter(order, [code, &part], parted, pens, &mut dice);
            *code = if parted {
                writer::following_code(&part)
            } else {
                part
            };
        }
    }
    mess::slips(&mut bench, &mut dice);
    let mut files: Vec<(String, Page)> = [bench, frame]
        .into_iter()
        .map(|pen| {
            let mut entries = pen.entries;
            // As they would stand in a file that is only ever appended to.
            entries.sort_by(|a, b| a.id.cmp(&b.id));
            (pen.file.to_owned(), Page::Entries(entries))
        })
        .collect();
    files.push(("by-hand.jsonl".into(), Page::Text(mess::BY_HAND.into())));
    files.push(("truth.csv".into(), Page::Text(truth::of_plants(seed))));
    files.push(("truth-air.csv".into(), Page::Text(truth::of_air())));
    files
}
