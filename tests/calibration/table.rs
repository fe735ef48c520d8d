//! The rows of calibration as the table that the page for contributors shows. It computes none.

/// The rows as a table.
pub fn of(rows: &[String]) -> String {
    let mut out = String::from(
        "| journal | seen | of | judged | 50 %: claimed, held | 80 %: claimed, held | score | taxon's mean | pooled mean |\n|---|---|---|---|---|---|---|---|---|\n",
    );
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let [name, part, what, of, a, b, _, c, d, _, own, taxon, pooled] = cells[..] else {
            continue;
        };
        out.push_str(&format!(
            "| {} | {part} | {what} | {of} | {a}, {b} | {c}, {d} | {own} | {taxon} | {pooled} |\n",
            name.replace(';', ",")
        ));
    }
    out
}

/// The page before the table, the table, the page after it.
pub fn parts(page: &str) -> [&str; 3] {
    let (mark, end) = ("bench calibration -->\n", "<!-- end of calibration -->");
    let from = page.find(mark).unwrap() + mark.len();
    let to = page.find(end).unwrap();
    [&page[..from], &page[from..to], &page[to..]]
}
