//! How many have ever reached a milestone: exact counts, and estimates fitted between them. It knows no losses.
//!
//! An exact count fixes the total. A look at a part of the batch, or a spoken guess, only says how the total was
//! spread in time: such estimates are made monotone (pool-adjacent-violators: Ayer et al. 1955, Annals of
//! Mathematical Statistics 26:641) and clamped to the exact counts around them. They never move an exact count.

/// The days (after, by] in which a gain came.
pub(super) type GainDays = (u32, u32);

/// What is known of the total at one time since the last exact count.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Bound {
    /// At least this many: they were potted, or taken away with the milestone behind them.
    AtLeast(f64),
    /// About this many, weighted by how many were seen.
    Estimate { total: f64, weight: f64 },
    /// At most this many: the others were seen at an earlier stage.
    AtMost(f64),
}

/// A bound, and the days in which a gain that it shows came.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Point {
    gained_in: GainDays,
    bound: Bound,
}

/// The total so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct ReachedTotal {
    /// The total at the last exact count.
    exact: f64,
    /// What made it up: days and how many. They sum to `exact`.
    gains: Vec<(GainDays, f64)>,
    /// What was seen since, in order of time.
    points: Vec<Point>,
}

impl ReachedTotal {
    /// The total now, estimates as they stand.
    pub(super) fn now(&self) -> f64 {
        if self.points.is_empty() {
            return self.exact;
        }
        self.fitted(f64::INFINITY)
            .last()
            .copied()
            .unwrap_or(self.exact)
    }

    /// The total that is certain: no estimate is in it.
    pub(super) fn certain(&self) -> f64 {
        let least = self.points.iter().map(|point| match point.bound {
            Bound::AtLeast(total) => total,
            Bound::Estimate { .. } | Bound::AtMost(_) => 0.0,
        });
        least.fold(self.exact, f64::max)
    }

    /// At least `total` by now.
    pub(super) fn at_least(&mut self, gained_in: GainDays, total: f64) {
        self.points.push(Point {
            gained_in,
            bound: Bound::AtLeast(total),
        });
    }

    /// About `total` now.
    pub(super) fn estimate(&mut self, gained_in: GainDays, total: f64, weight: f64) {
        self.points.push(Point {
            gained_in,
            bound: Bound::Estimate { total, weight },
        });
    }

    /// At most `total` on `day`.
    pub(super) fn at_most(&mut self, day: u32, total: f64) {
        self.points.push(Point {
            gained_in: (day, day),
            bound: Bound::AtMost(total),
        });
    }

    /// Exactly `total` now, not less than what is certain; what it is more than was seen before came in `gained_in`.
    pub(super) fn count(&mut self, gained_in: GainDays, total: f64) {
        let total = total.max(self.certain());
        self.fix(total);
        let before = self.exact;
        self.gain(gained_in, before, total);
        self.exact = total;
        self.points.clear();
    }

    /// Parts the level: `share` of every total goes to the one returned. What was at most there is forgotten, since
    /// nobody knows which cuttings went.
    pub(super) fn part(&mut self, share: f64) -> Self {
        self.points
            .retain(|point| !matches!(point.bound, Bound::AtMost(_)));
        let mut part = self.clone();
        part.scale(share);
        self.scale(1.0 - share);
        part
    }

    fn scale(&mut self, by: f64) {
        self.exact *= by;
        self.gains.iter_mut().for_each(|(_, gain)| *gain *= by);
        for point in &mut self.points {
            match &mut point.bound {
                Bound::AtLeast(total) | Bound::AtMost(total) => *total *= by,
                Bound::Estimate { total, .. } => *total *= by,
            }
        }
    }

    /// The gains: days and how many. They sum to the total now.
    pub(super) fn gains(mut self) -> Vec<(GainDays, f64)> {
        self.fix(f64::INFINITY);
        self.gains
    }

    /// Turns the points into gains, none of them above `most`; `exact` becomes the total that they come to.
    fn fix(&mut self, most: f64) {
        let fitted = self.fitted(most);
        for (at, total) in fitted.into_iter().enumerate() {
            let (before, gained_in) = (self.exact, self.points[at].gained_in);
            self.gain(gained_in, before, total);
            self.exact = self.exact.max(total);
        }
    }

    /// Adds a gain from `before` to `total`. What is above a bound on a day in between came after that day.
    fn gain(&mut self, (after, by): GainDays, before: f64, total: f64) {
        let mut top = total;
        for point in self.points.iter().rev() {
            let (day, _) = point.gained_in;
            let Bound::AtMost(most) = point.bound else {
                continue;
            };
            let most = most.max(before);
            if after < day && day < by && top > most {
                self.gains.push(((day, by), top - most));
                top = most;
            }
        }
        if top > before {
            self.gains.push(((after, by), top - before));
        }
    }

    /// The total at each point: never falling, not below the last exact count nor above `most`.
    fn fitted(&self, most: f64) -> Vec<f64> {
        let mut estimates = monotone(self.points.iter().filter_map(|point| match point.bound {
            Bound::Estimate { total, weight } => Some((total, weight)),
            Bound::AtLeast(_) | Bound::AtMost(_) => None,
        }))
        .into_iter();
        let mut caps: Vec<f64> = Vec::with_capacity(self.points.len());
        let mut cap = most;
        for point in self.points.iter().rev() {
            if let Bound::AtMost(total) = point.bound {
                cap = cap.min(total);
            }
            caps.push(cap);
        }
        let mut total = self.exact;
        let each = self.points.iter().zip(caps.into_iter().rev());
        each.map(|(point, cap)| {
            let seen = match point.bound {
                Bound::AtLeast(least) => least,
                Bound::Estimate { .. } => estimates.next().unwrap_or(total).min(cap),
                Bound::AtMost(_) => total,
            };
            total = total.max(seen);
            total
        })
        .collect()
    }
}

/// Weighted totals, the nearest that never fall.
fn monotone(totals: impl Iterator<Item = (f64, f64)>) -> Vec<f64> {
    let mut blocks: Vec<(f64, f64, usize)> = Vec::new();
    for (total, weight) in totals {
        let mut block = (total, weight, 1);
        while let Some((before, its, looks)) = blocks.pop_if(|before| before.0 > block.0) {
            let weight = its + block.1;
            let total = (before * its + block.0 * block.1) / weight;
            block = (total, weight, looks + block.2);
        }
        blocks.push(block);
    }
    let each = blocks.into_iter();
    each.flat_map(|(total, _, looks)| std::iter::repeat_n(total, looks))
        .collect()
}
