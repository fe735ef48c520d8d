//! Tests of the numbers room: lists the files and shares the reader of published values.

mod air;
mod curve_laws;
mod curves_published;
mod days;
mod mixing;
pub mod published;
mod shares;
mod special;

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

/// Fails unless the two agree to within `tolerance`.
pub fn assert_close(found: f64, wanted: f64, tolerance: f64) {
    let close = (found - wanted).abs() <= tolerance || found == wanted;
    assert!(close, "{found}, not {wanted} ± {tolerance}");
}
