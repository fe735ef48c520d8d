//! The stored rows as the two tables that the page for contributors shows. It computes none.

use super::rows::Row;

/// What was claimed of how often something holds, and what held; then forecasts, beside their rivals.
pub fn of(rows: &[Row]) -> String {
    let mut out = String::from(
        "| tried | what | claimed | held | standard error | of |\n|---|---|---|---|---|---|\n",
    );
    for row in rows.iter().filter(|row| row.scores.is_none()) {
        let claimed = match row.bounds {
            [0.0, most] => format!("at most {most:.2}"),
            [least, 1.0] => format!("at least {least:.2}"),
            [least, most] => format!("{least:.2} to {most:.2}"),
        };
        out.push_str(&format!(
            "| {} | {} | {claimed} | {:.3} | {:.3} | {} |\n",
            row.about, row.what, row.held, row.error, row.of
        ));
    }
    out.push_str("\n| journal, asked | what | judged | 50 %: claimed, held | 80 % | 90 % | score | taxon's mean | pooled mean |\n|---|---|---|---|---|---|---|---|---|\n");
    let forecasts: Vec<&Row> = rows.iter().filter(|row| row.scores.is_some()).collect();
    for three in forecasts.chunks(3) {
        let [first, ..] = three else { continue };
        let what = first.what.split(',').next().unwrap_or_default();
        out.push_str(&format!("| {} | {what} | {} |", first.about, first.of));
        for row in three {
            out.push_str(&format!(" {:.3}, {:.3} |", row.claimed, row.held));
        }
        let [own, taxon, pooled] = first.scores.unwrap_or_default();
        out.push_str(&format!(" {own:.2} | {taxon:.2} | {pooled:.2} |\n"));
    }
    out
}

/// The page before the tables, the tables, the page after them.
pub fn parts(page: &str) -> [&str; 3] {
    let (mark, end) = ("bench calibration -->\n", "<!-- end of calibration -->");
    let from = page.find(mark).unwrap() + mark.len();
    let to = page.find(end).unwrap();
    [&page[..from], &page[from..to], &page[to..]]
}

/// A stored file: the value of the answers that it was made with, then its rows.
pub fn stored(file: &str) -> (&str, Vec<Row>) {
    let mut lines = file.lines();
    let made_with = lines.next().and_then(|line| line.strip_prefix(MADE_WITH));
    let rows = lines.skip(1).filter_map(Row::read).collect();
    (made_with.unwrap_or_default(), rows)
}

/// What the first line of the file says before the value.
pub const MADE_WITH: &str = "# made with answers ";
