//! Rows of published check values: read, run against a figure, counted, so that none is dropped unseen.

use std::collections::BTreeMap;
use std::path::PathBuf;

/// One expected value.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub dataset: String,
    pub group: String,
    pub quantity: String,
    pub arg: String,
    pub expected: String,
    pub tolerance: String,
    pub source: String,
}

impl Row {
    /// The expected number; `Inf` is infinite and `NA` not a number.
    pub fn expected(&self) -> f64 {
        match self.expected.as_str() {
            "NA" => f64::NAN,
            "Inf" => f64::INFINITY,
            number => number.parse().unwrap(),
        }
    }

    /// The tolerance as an absolute number.
    pub fn tolerance(&self) -> f64 {
        match self.tolerance.split_once(' ') {
            Some((number, "relative")) => number.parse::<f64>().unwrap() * self.expected().abs(),
            _ => self.tolerance.parse().unwrap(),
        }
    }

    /// Panics unless `got` is the expected number within the row's tolerance (and rounding).
    pub fn check(&self, got: f64) {
        self.check_within(got, self.tolerance());
    }

    /// As [`Row::check`] with another absolute tolerance, for rows computed by another formula.
    pub fn check_within(&self, got: f64, tolerance: f64) {
        let expected = self.expected();
        // The expected values are printed with ten digits.
        let allowed = tolerance + 1e-9 * expected.abs();
        let equal = got == expected || (got.is_nan() && expected.is_nan());
        assert!(
            equal || (got - expected).abs() <= allowed,
            "{self:?}: got {got}, off by {:e}",
            got - expected
        );
    }

    /// The numbers in `arg` or another text of the row, in order, whatever stands between them.
    pub fn numbers(text: &str) -> Vec<f64> {
        let mut words = vec![String::new()];
        let mut before = ' ';
        for c in text.chars() {
            // A minus between two numbers is a dash.
            let sign = c == '-' && !before.is_ascii_digit();
            match words.last_mut() {
                Some(word) if c.is_ascii_digit() || c == '.' => word.push(c),
                _ => words.push(if sign { "-".into() } else { String::new() }),
            }
            before = c;
        }
        words
            .iter()
            .filter_map(|word| word.trim_end_matches('.').parse().ok())
            .collect()
    }

    /// The number after `key` in `text`: `named("n=60 p=0.8", "p=")` is 0.8.
    pub fn named(text: &str, key: &str) -> Option<f64> {
        let at = text
            .match_indices(key)
            .find(|(at, _)| *at == 0 || !text.as_bytes()[at - 1].is_ascii_alphanumeric())?;
        Self::numbers(&text[at.0 + key.len()..]).first().copied()
    }
}

fn path(name: &str) -> PathBuf {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    root.join("tests/data/published")
        .join(format!("{name}.csv"))
}

/// The records of a data file, keyed by its headings.
pub fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path(name)).unwrap();
    let headings = reader.headers().unwrap().clone();
    let record = |r: csv::StringRecord| {
        let pairs = headings.iter().zip(r.iter());
        pairs.map(|(k, v)| (k.to_owned(), v.to_owned())).collect()
    };
    reader.records().map(|r| record(r.unwrap())).collect()
}

/// The rows of an `expected_*.csv`.
pub fn rows(name: &str) -> Vec<Row> {
    let field = |r: &BTreeMap<String, String>, key: &str| r[key].clone();
    table(name)
        .iter()
        .map(|r| Row {
            dataset: field(r, "dataset"),
            group: field(r, "group"),
            quantity: field(r, "quantity"),
            arg: field(r, "arg"),
            expected: field(r, "expected"),
            tolerance: field(r, "tolerance"),
            source: field(r, "source"),
        })
        .collect()
}

/// Runs `check` on each row, which says whether it checked it. Every row not checked must have a
/// quantity in `skipped` (name, reason), and every name there must be of use; returns rows checked.
pub fn run(rows: &[Row], skipped: &[(&str, &str)], mut check: impl FnMut(&Row) -> bool) -> usize {
    let mut checked = 0;
    let mut used = vec![false; skipped.len()];
    for row in rows {
        if check(row) {
            checked += 1;
            continue;
        }
        let listed = skipped.iter().position(|(name, _)| *name == row.quantity);
        let place = listed.unwrap_or_else(|| panic!("neither checked nor listed: {row:?}"));
        used[place] = true;
    }
    for ((name, reason), used) in skipped.iter().zip(used) {
        assert!(used && !reason.is_empty(), "{name} skips nothing");
    }
    checked
}

#[test]
fn text_of_rows_is_read() {
    assert_eq!(Row::named("n=60 p=0.8 k=45 rho=0.02", "p="), Some(0.8));
    assert_eq!(Row::named("Tmin=-3 Tmax=11", "Tmin="), Some(-3.0));
    assert_eq!(Row::named("k=50 p=0.8 assurance=0.8", "rho="), None);
    assert_eq!(Row::numbers("56/70-48/80"), [56.0, 70.0, 48.0, 80.0]);
}
