//! One claim beside what held, as it is stored. It tries nothing.

/// The columns of the file.
pub const HEAD: &str = "about,what,claimed,least,most,held,error,of,score,taxon_score,pooled_score";

/// One claim beside what held.
#[derive(Clone, Debug)]
pub struct Row {
    pub about: String,
    pub what: String,
    pub claimed: f64,
    pub bounds: [f64; 2],
    pub held: f64,
    /// Standard error of what held; what one run shows shares a fate.
    pub error: f64,
    /// How many cases, in all runs.
    pub of: f64,
    /// Ranked probability scores: of the forecast, of the taxon's mean, of the pooled mean.
    pub scores: Option<[f64; 3]>,
}

impl Row {
    pub fn line(&self) -> String {
        let Self {
            claimed,
            bounds: [least, most],
            held,
            error,
            of,
            ..
        } = self;
        let [about, what] = [&self.about, &self.what].map(|text| text.replace(',', ";"));
        let scores = self.scores.map_or_else(
            || ",,".to_owned(),
            |[own, taxon, pooled]| format!("{own:.2},{taxon:.2},{pooled:.2}"),
        );
        format!(
            "{about},{what},{claimed:.3},{least:.3},{most:.3},{held:.3},{error:.3},{of},{scores}"
        )
    }

    /// As it was written; nothing of a line that was cut short.
    pub fn read(line: &str) -> Option<Self> {
        let cells: Vec<&str> = line.split(',').collect();
        let [
            about,
            what,
            claimed,
            least,
            most,
            held,
            error,
            of,
            own,
            taxon,
            pooled,
        ] = cells[..]
        else {
            return None;
        };
        let number = |cell: &str| cell.parse::<f64>().ok();
        let scores = [own, taxon, pooled].map(number);
        Some(Self {
            about: about.replace(';', ","),
            what: what.replace(';', ","),
            claimed: number(claimed)?,
            bounds: [number(least)?, number(most)?],
            held: number(held)?,
            error: number(error)?,
            of: number(of)?,
            scores: match scores {
                [Some(own), Some(taxon), Some(pooled)] => Some([own, taxon, pooled]),
                _ => None,
            },
        })
    }
}
