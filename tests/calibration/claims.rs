//! What is claimed, and what held of it in so many runs. It simulates nothing.

use super::rows::Row;
use struck::stats::workers::share_out;

/// What figures state of something tried.
#[derive(Clone, Copy, Debug)]
pub struct Claim {
    pub what: &'static str,
    /// What is claimed, and what it may be at least and at most.
    claimed: f64,
    bounds: [f64; 2],
}

impl Claim {
    pub const fn at_least(what: &'static str, share: f64) -> Self {
        Self {
            what,
            claimed: share,
            bounds: [share, 1.0],
        }
    }

    pub const fn at_most(what: &'static str, share: f64) -> Self {
        Self {
            what,
            claimed: share,
            bounds: [0.0, share],
        }
    }

    pub const fn between(what: &'static str, claimed: f64, bounds: [f64; 2]) -> Self {
        Self {
            what,
            claimed,
            bounds,
        }
    }
}

/// How often something held in one run.
#[derive(Clone, Copy, Debug, Default)]
pub struct Found {
    pub held: f64,
    pub of: f64,
}

impl Found {
    /// Nothing was to be seen.
    pub const NONE: Self = Self { held: 0.0, of: 0.0 };

    pub fn of(held: bool) -> Self {
        Self {
            held: f64::from(u8::from(held)),
            of: 1.0,
        }
    }

    pub fn sum(each: &[Self]) -> Self {
        each.iter().fold(Self::NONE, |sum, it| Self {
            held: sum.held + it.held,
            of: sum.of + it.of,
        })
    }
}

/// One run of a number: what was found of each claim.
type Run = Box<dyn Fn(u64) -> Vec<Found> + Sync>;

/// Something tried in many runs.
pub struct Experiment {
    pub name: String,
    /// In full, and in the short version; none there if 0.
    pub runs: [u64; 2],
    claims: Vec<Claim>,
    run: Run,
}

impl Experiment {
    pub fn new(
        name: &str,
        runs: [u64; 2],
        claims: &[Claim],
        run: impl Fn(u64) -> Vec<Found> + Sync + 'static,
    ) -> Self {
        Self {
            name: name.to_owned(),
            runs,
            claims: claims.to_vec(),
            run: Box::new(run),
        }
    }

    /// The rows of that many runs, shared out among the cores.
    pub fn rows(&self, runs: u64) -> Vec<Row> {
        let each = share_out(runs as usize, &mut |_| true, |seed, _| {
            Some((self.run)(seed as u64))
        });
        let each = each.unwrap();
        let row = |(at, claim): (usize, &Claim)| {
            let found: Vec<Found> = each.iter().map(|run| run[at]).collect();
            row_of(&self.name, claim, &found)
        };
        self.claims.iter().enumerate().map(row).collect()
    }
}

/// What held in all runs.
fn row_of(about: &str, claim: &Claim, found: &[Found]) -> Row {
    let all = Found::sum(found);
    let held = all.held / all.of.max(1.0);
    let off = found.iter().map(|it| (it.held - held * it.of).powi(2));
    Row {
        about: about.to_owned(),
        what: claim.what.to_owned(),
        claimed: claim.claimed,
        bounds: claim.bounds,
        held,
        error: off.sum::<f64>().sqrt() / all.of.max(1.0),
        of: all.of,
        scores: None,
    }
}
