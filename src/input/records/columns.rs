//! What the columns of old records mean, guessed from their headings and their cells.

use super::days;
use super::grid::{Cell, RecordGrid};
use std::collections::BTreeMap;

/// Rows from whose cells a column's contents are judged.
const SAMPLE_ROWS: usize = 400;
/// Rows among which the heading is sought.
const HEADING_ROWS: usize = 12;

/// What the cells of a column mostly are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ColumnContent {
    /// Days.
    Days,
    /// Whole numbers, or a share written with `%`.
    Numbers,
    /// Anything else.
    Text,
}

macro_rules! roles {
    ($($(#[$doc:meta])* $role:ident = $word:literal, $meaning:literal, $content:ident, [$($heading:literal),*];)*) => {
        /// What a column of old records holds.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum RecordRole { $($(#[$doc])* $role,)* }

        impl RecordRole {
            /// All roles, in the order in which headings are matched.
            pub const ALL: &'static [Self] = &[$(Self::$role,)*];

            /// Those without which a row makes no batch.
            pub const NEEDED: [Self; 3] = [Self::Plant, Self::Stuck, Self::DateStuck];

            /// The word of the role in a mapping.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$role => $word,)* }
            }

            /// What it is called to a person.
            #[must_use]
            pub fn meaning(self) -> &'static str {
                match self { $(Self::$role => $meaning,)* }
            }

            /// What its cells must mostly be.
            #[must_use]
            pub fn content(self) -> ColumnContent {
                match self { $(Self::$role => ColumnContent::$content,)* }
            }

            /// Headings under which growers write it (common practice), in lower-case words.
            fn headings(self) -> &'static [&'static str] {
                match self { $(Self::$role => &[$($heading,)*],)* }
            }
        }
    };
}

roles! {
    /// The batch's code or number.
    Code = "code", "the batch's code", Text, ["code", "batch", "batch code", "batch no", "batch number", "label", "tray no", "id", "ref", "lot", "charge"];
    /// The plant's whole name.
    Plant = "plant", "plant", Text, ["plant", "plant name", "taxon", "name", "species name", "cuttings of", "what", "subject", "pflanze", "plante"];
    /// The genus, where the parts of a name stand apart.
    Genus = "genus", "genus", Text, ["genus", "gattung", "genre"];
    /// The species, likewise.
    Species = "species", "species", Text, ["species", "epithet", "art", "espece"];
    /// The cultivar, likewise.
    Cultivar = "cultivar", "cultivar", Text, ["cultivar", "variety", "cv", "selection", "form", "sorte", "cultivar name"];
    /// How many cuttings were stuck.
    Stuck = "stuck", "number stuck", Numbers, ["number stuck", "no stuck", "stuck", "cuttings", "number of cuttings", "no of cuttings", "quantity", "qty", "number", "no", "count", "how many", "amount", "total", "anzahl", "stuck no", "nr"];
    /// The day of sticking.
    DateStuck = "date_stuck", "day of sticking", Days, ["date stuck", "stuck", "stuck on", "day stuck", "date", "date taken", "taken", "date of sticking", "sticking date", "when", "date inserted", "inserted", "planted", "datum", "gesteckt", "start", "date started"];
    /// The day on which callus was seen.
    DateCallused = "date_callused", "day when callus was seen", Days, ["date callused", "callused", "callus", "callused on", "date callus"];
    /// The day on which roots were seen.
    DateRooted = "date_rooted", "day when roots were seen", Days, ["date rooted", "rooted", "rooted on", "roots", "roots seen", "date roots", "rooting date", "bewurzelt"];
    /// The day of potting.
    DatePotted = "date_potted", "day of potting", Days, ["date potted", "potted", "potted on", "potted up", "date potted up", "potting", "potting date", "lined out", "getopft"];
    /// The day of counting.
    DateCounted = "date_counted", "day of counting", Days, ["date counted", "counted", "counted on", "checked", "date checked", "looked", "assessed", "date assessed", "end", "finished", "result date"];
    /// How many had callused by the count.
    Callused = "callused", "number callused", Numbers, ["callused", "number callused", "no callused", "callus"];
    /// How many had rooted by the count; a share of those stuck where written with `%`.
    Rooted = "rooted", "number rooted", Numbers, ["number rooted", "no rooted", "rooted", "rooted no", "roots", "success", "successful", "took", "take", "strike", "rooted percent", "percent rooted", "percent", "success rate", "strike rate", "bewurzelt"];
    /// How many had died by the count.
    Died = "died", "number died", Numbers, ["died", "dead", "number died", "no dead", "no died", "lost", "losses", "failed", "failures", "rotted", "deaths", "ausfall"];
    /// How many were potted.
    Potted = "potted", "number potted", Numbers, ["number potted", "no potted", "potted", "potted up", "potted on", "potted no", "getopft"];
    /// The wood stage.
    Wood = "wood", "wood stage", Text, ["wood", "wood stage", "stage", "type", "cutting type", "type of cutting", "kind", "ripeness", "material", "softwood semi ripe"];
    /// The rooting hormone, with its strength or without.
    Hormone = "hormone", "hormone", Text, ["hormone", "rooting hormone", "treatment", "hormone treatment", "auxin", "rooting powder", "dip", "treated", "iba"];
    /// The hormone's strength.
    Strength = "strength", "hormone's strength", Text, ["strength", "ppm", "concentration", "hormone strength", "conc", "dose", "rate", "iba ppm"];
    /// The medium.
    Medium = "medium", "medium", Text, ["medium", "compost", "mix", "substrate", "rooting medium", "growing medium", "substrat"];
    /// Where they stood.
    Place = "place", "place", Text, ["place", "where", "location", "bench", "position", "house", "site", "standort"];
    /// What covered them.
    Cover = "cover", "cover", Text, ["cover", "covered", "environment", "system", "mist or cover"];
    /// The container.
    Container = "container", "container", Text, ["container", "tray", "pot", "pot size", "tray size", "cell", "module"];
    /// The stock plant.
    Source = "source", "stock plant", Text, ["source", "stock", "stock plant", "mother plant", "parent", "from", "origin"];
    /// Anything else worth keeping.
    Remarks = "remarks", "note", Text, ["remarks", "notes", "note", "comment", "comments", "remark", "observations", "bemerkung"];
}

impl RecordRole {
    /// The role of a mapping's word.
    #[must_use]
    pub fn parse(word: &str) -> Option<Self> {
        let word = word.trim();
        Self::ALL.iter().copied().find(|role| role.word() == word)
    }
}

/// A heading in lower-case words, signs left out: `No. rooted` is `no rooted`, `Rooted %` is `rooted percent`.
#[must_use]
pub fn heading_words(text: &str) -> String {
    let spelt = text
        .to_lowercase()
        .replace('%', " percent ")
        .replace('#', " no ");
    let plain = |c: char| match c {
        'é' | 'è' | 'ê' => 'e',
        c if c.is_alphanumeric() => c,
        _ => ' ',
    };
    let words: String = spelt.chars().map(plain).collect();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The row that bears the headings: the first of the early rows most of whose cells are texts, with the most
/// cells that some role goes by.
#[must_use]
pub fn heading_row(grid: &RecordGrid) -> usize {
    let score = |index: &usize| {
        let cells = &grid.rows[*index].cells;
        let matched = cells.iter().filter(|cell| {
            let Cell::Text(text) = cell else { return false };
            let words = heading_words(text);
            RecordRole::ALL
                .iter()
                .any(|role| closeness(*role, &words) > 0)
        });
        (matched.count(), std::cmp::Reverse(*index))
    };
    let early = 0..grid.rows.len().min(HEADING_ROWS);
    early.max_by_key(score).unwrap_or(0)
}

/// How well a heading fits a role: 0 not at all; more, the better.
fn closeness(role: RecordRole, words: &str) -> usize {
    let fit = |known: &&str| {
        if words == *known {
            return 1000 + known.len();
        }
        let has = |word: &str| words.split(' ').any(|one| one == word);
        if known.contains(' ') && known.split(' ').all(has) {
            return 100 + known.len();
        }
        // One telling word among others, as in `date when stuck`; short words tell too little.
        if !known.contains(' ') && known.len() > 3 && has(known) {
            return known.len();
        }
        0
    };
    role.headings().iter().map(fit).max().unwrap_or(0)
}

/// What the cells of a column below the heading mostly are; nothing if they are all empty.
#[must_use]
pub fn content(grid: &RecordGrid, heading: usize, column: usize) -> Option<ColumnContent> {
    let (mut days_seen, mut numbers, mut all) = (0_usize, 0_usize, 0_usize);
    for row in grid.rows.iter().skip(heading + 1).take(SAMPLE_ROWS) {
        let cell = row.cell(column);
        if cell.is_empty() {
            continue;
        }
        all += 1;
        if days::is_day(cell) {
            days_seen += 1;
        } else if count_of(cell, None).is_some() {
            numbers += 1;
        }
    }
    match all {
        0 => None,
        _ if days_seen * 2 > all => Some(ColumnContent::Days),
        _ if numbers * 2 > all => Some(ColumnContent::Numbers),
        _ => Some(ColumnContent::Text),
    }
}

/// Whether a heading speaks of a day, so that numbers under it may be serial days.
fn says_day(words: &str) -> bool {
    let telling = ["date", "day", "on", "datum", "when"];
    words.split(' ').any(|word| telling.contains(&word))
}

/// A whole number; or, with the number stuck, a share written with `%` of it, rounded.
#[must_use]
pub fn count_of(cell: &Cell, stuck: Option<u32>) -> Option<u32> {
    let whole = |number: f64| {
        let fits = (0.0..=1e6).contains(&number) && number.fract() == 0.0;
        fits.then_some(number as u32)
    };
    match cell {
        Cell::Number(number) => whole(*number),
        Cell::Text(text) => {
            let text = text.trim_start_matches('~').trim();
            if let Some(share) = text.strip_suffix('%') {
                let share: f64 = share.trim().replace(',', ".").parse().ok()?;
                let share = (0.0..=100.0).contains(&share).then_some(share)?;
                return Some((share / 100.0 * f64::from(stuck.unwrap_or(100))).round() as u32);
            }
            let whole_part = text.strip_suffix(".0").or_else(|| text.strip_suffix(",0"));
            let text = whole_part.unwrap_or(text);
            let digits = (1..=7).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
            digits
                .then(|| text.parse().ok())
                .flatten()
                .filter(|n| *n <= 1_000_000)
        }
        Cell::Empty | Cell::Day(_) => None,
    }
}

/// The role of each column of which one can be told: those that fit best first, each role once.
#[must_use]
pub fn guess(grid: &RecordGrid, heading: usize) -> BTreeMap<usize, RecordRole> {
    let mut fits: Vec<(usize, usize, RecordRole)> = Vec::new();
    let Some(row) = grid.rows.get(heading) else {
        return BTreeMap::new();
    };
    if row.cells.is_empty() {
        return guess_without_headings(grid, heading);
    }
    for (column, cell) in row.cells.iter().enumerate() {
        let Cell::Text(text) = cell else { continue };
        let words = heading_words(text);
        let Some(content) = content(grid, heading, column) else {
            continue;
        };
        for role in RecordRole::ALL {
            let suits = match role {
                // A code or a strength may be a number or a text.
                RecordRole::Code | RecordRole::Strength => content != ColumnContent::Days,
                // Serial days stand as numbers where a spreadsheet was saved as text.
                _ if role.content() == ColumnContent::Days && content == ColumnContent::Numbers => {
                    says_day(&words) && days::are_serials(grid, heading, column)
                }
                _ => role.content() == content,
            };
            let close = closeness(*role, &words);
            if suits && close > 0 {
                fits.push((close, column, *role));
            }
        }
    }
    fits.sort_by_key(|(close, column, role)| (std::cmp::Reverse(*close), *role, *column));
    let mut roles: BTreeMap<usize, RecordRole> = BTreeMap::new();
    for (_, column, role) in fits {
        let taken = roles.values().any(|held| *held == role);
        if !taken && !roles.contains_key(&column) {
            roles.insert(column, role);
        }
    }
    roles
}

/// The roles of a table without headings: the first column of texts is the plant, of numbers the number stuck, of days the
/// day of sticking.
fn guess_without_headings(grid: &RecordGrid, heading: usize) -> BTreeMap<usize, RecordRole> {
    let width = grid.rows.iter().map(|row| row.cells.len()).max();
    let mut roles = BTreeMap::new();
    for role in RecordRole::NEEDED {
        let mut columns = 0..width.unwrap_or(0);
        let first = columns.find(|column| content(grid, heading, *column) == Some(role.content()));
        if let Some(column) = first {
            roles.insert(column, role);
        }
    }
    roles
}
