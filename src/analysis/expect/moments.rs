//! A middle that is not known for sure, with the spread of single batches around it. It learns nothing.

/// Middle and spreads of a number that differs between the batches of a group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Moments {
    /// The group's middle, as a mean over what it may be.
    pub mean: f64,
    /// The variance of what the group's middle may be.
    pub shared: f64,
    /// The variance between batches of the group.
    pub between: f64,
}

impl Moments {
    /// From the chances of the group's middle under each spread between batches; all chances together sum to 1.
    pub fn gathered(each: impl Iterator<Item = (f64, Vec<(f64, f64)>)>) -> Self {
        let (mut whole, mut sum, mut square, mut between) = (0.0, 0.0, 0.0, 0.0);
        for (spread, points) in each {
            for (value, weight) in points {
                whole += weight;
                sum += weight * value;
                square += weight * value * value;
                between += weight * spread * spread;
            }
        }
        let whole = f64::max(whole, 1e-12);
        let mean = sum / whole;
        Self {
            mean,
            shared: (square / whole - mean * mean).max(0.0),
            between: between / whole,
        }
    }
}
