//! What still breaks a rule of the house: these lists may only shrink.

/// Files that import each other in a circle.
pub const CIRCLES: [&[&str]; 0] = [];

/// Names that say nothing or that two bear, with how often each may stand at most.
pub const NAMES: [(&str, usize); 0] = [];
