//! Tests of the numbers room: lists the files and shares the reader of published values.

mod air;
mod arrange;
mod association;
mod counts;
mod curve_laws;
mod curves_published;
mod days;
mod distributions;
mod laws;
mod logrank;
mod members;
mod mixing;
mod negative_binomial;
mod pooling;
mod proportions;
pub mod published;
mod shares;
mod simulated;
mod workers;

use struck::stats::counts::{BetaBinomial, Discrete};
use struck::stats::npmle::{Estimate, Row};
use struck::stats::permute::{DRAWS, Draw};
use struck::stats::power::{Fewest, search};

/// One row of a table of published values: what is expected, how closely, and from where.
pub struct Expected {
    pub dataset: String,
    pub group: String,
    pub quantity: String,
    pub arg: String,
    pub value: f64,
    pub tolerance: f64,
}

/// The records of a file in `tests/data/published`, the header line left out.
pub fn published(file: &str) -> Vec<Vec<String>> {
    let path = format!(
        "{}/tests/data/published/{file}.csv",
        env!("CARGO_MANIFEST_DIR")
    );
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader
        .records()
        .map(|r| r.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

/// The expected values of a file; a value that is not a number reads as NaN, `Inf` as infinite.
pub fn expected(file: &str) -> Vec<Expected> {
    let row = |r: Vec<String>| Expected {
        dataset: r[0].clone(),
        group: r[1].clone(),
        quantity: r[2].clone(),
        arg: r[3].clone(),
        value: r[4].parse().unwrap_or(f64::NAN),
        tolerance: r[5].parse().unwrap_or(f64::NAN),
    };
    published(file).into_iter().map(row).collect()
}

impl Expected {
    /// Fails, naming the row, unless `found` is as close as the table asks.
    pub fn check(&self, found: f64) {
        let close = (found - self.value).abs() <= self.tolerance || found == self.value;
        let Self {
            dataset,
            group,
            quantity,
            arg,
            value,
            tolerance,
        } = self;
        assert!(
            close,
            "{dataset} {group} {quantity} {arg}: {found}, not {value} ± {tolerance}"
        );
    }
}

/// Rows (L, R, group, count) of a file for one group; `pooled` and `all` take every row.
pub fn intervals(file: &str, group: &str) -> Vec<Row> {
    let every = ["pooled", "all"].contains(&group);
    let records = published(file)
        .into_iter()
        .filter(|r| every || r[2] == group);
    let row = |r: Vec<String>| {
        let (left, right) = (r[0].parse().unwrap(), r[1].parse::<f64>().unwrap());
        let weight = r.get(3).map_or(1.0, |count| count.parse().unwrap());
        match right.is_finite() {
            true => Row::reached(left, right, weight),
            false => Row::not_yet(left, weight),
        }
    };
    records.map(row).collect()
}

/// The share that met the competing event first.
pub fn lost_first(found: &Estimate) -> f64 {
    found.lost.iter().map(|mass| mass.mass).sum()
}

/// The usual draw of arrangements: all up to 100 000, else 9 999 drawn.
pub fn seeded(seed: u64) -> Draw {
    Draw {
        seed,
        draws: DRAWS,
        all_up_to: struck::stats::arrange::ALL_UP_TO,
    }
}

/// The fewest in one cluster with P(at least `wanted` reach) ≥ `assurance`.
pub fn fewest(model: BetaBinomial, wanted: u32, assurance: f64, limit: u32) -> Option<Fewest> {
    search(wanted, limit, assurance, |n| {
        model.counts(n).at_least(wanted as usize)
    })
}

/// The count reached over independent clusters of these sizes.
pub fn over_clusters(model: BetaBinomial, sizes: &[u32]) -> Discrete {
    sizes.iter().fold(Discrete::certain(0), |sum, &size| {
        sum.plus(&model.counts(size))
    })
}

/// Fails unless the two agree to within `tolerance`.
pub fn assert_close(found: f64, wanted: f64, tolerance: f64) {
    let close = (found - wanted).abs() <= tolerance || found == wanted;
    assert!(close, "{found}, not {wanted} ± {tolerance}");
}
