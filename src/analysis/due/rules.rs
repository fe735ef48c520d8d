//! The rules of what is due: their order, and the trade's figures that stand in where the journal says nothing.
//! It judges no batch.

/// Why a batch is on the list, the most telling first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// Blackening or mould found at two looks running, faster at the second.
    Spreading,
    /// A great share of what stood there was found dead at the last look.
    Heavy,
    /// Mould of late in two batches of one place.
    Mould,
    /// The grower asked for this day.
    Asked,
    /// Ready for potting.
    Pot,
    /// Past the day by which 90 % of those that root are expected to have, and some have not.
    Overdue,
    /// Never looked at, and its day has come.
    First,
    /// A milestone is expected of its taxon and wood stage.
    Expected,
    /// So many days since the last look.
    Interval,
}

/// Share of those left that must show roots at the bottom of their cells (common practice: half).
pub const AT_BOTTOM: f64 = 0.5;
/// Share of those left that must have rooted in an open tray, where they grow into each other (common
/// practice: three in four).
pub const ROOTED: f64 = 0.75;
/// Days that cuttings ready for potting can wait before that is late (common practice: a week).
pub const POTTING: i64 = 7;

/// The earliest and latest first look that a history may ask for (common practice: roots torn at a week
/// cost more than is learnt; no tray stays unseen for six weeks).
pub const FIRST: [u32; 2] = [7, 42];
/// Days from a look to the next that a history may ask for at least (common practice: let them settle).
pub const SETTLE: u32 = 4;
