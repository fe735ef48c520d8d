//! Why a batch wants something, and when: the reasons, their order, and the trade's figures that stand in where the
//! journal says nothing. It judges no batch.

use crate::analysis::expect::ExpectedDay;
use crate::analysis::expect::failing::FailingSign;
use crate::fold::batch::Milestone;
use crate::model::listed::Wood;
use chrono::NaiveDate;
use serde::Serialize;

/// How pressing something is; the first is the most.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Urgency {
    /// Losses are growing.
    Failing,
    /// Its day is past.
    Late,
    /// Its day is today.
    Due,
    /// It waits for its day.
    Waiting,
}

/// What the day of a first look rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FirstLookBasis {
    /// The journal's own words on the taxon (`first_look_days`).
    Taxon,
    /// The day by which 10 % of those that root are expected to have.
    Expected {
        /// That day since sticking, before the bounds of a first look.
        p10_day: u32,
        /// Batches of the taxon and wood stage that it rests on.
        batches: usize,
    },
    /// Common practice for the wood stage, its cover and its heat.
    CommonPractice,
}

/// Why a batch is on the list, with the figures that say so.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "rule", content = "figures", rename_all = "kebab-case")]
pub enum DueReason {
    /// The grower asked for this day.
    Asked {
        /// The day asked for.
        on: NaiveDate,
    },
    /// Ready for potting.
    #[serde(rename = "ready-to-pot")]
    Pot {
        /// By roots at the bottom, or by having rooted in an open tray.
        milestone: Milestone,
        /// How many are ready.
        ready: u32,
        /// Of so many left.
        of: u32,
        /// When they were counted.
        seen: NaiveDate,
    },
    /// Some have not come so far though most of those that do should have.
    Overdue {
        /// The milestone: root, or bottom.
        milestone: Milestone,
        /// The day since sticking by which 90 % of those that reach it are expected to have.
        #[serde(rename = "p90_day")]
        age: u32,
        /// Batches of the taxon and wood stage that it rests on.
        batches: usize,
        /// How many have not reached it.
        waiting: u32,
        /// Of so many left.
        of: u32,
        /// The day of the last look.
        seen: NaiveDate,
    },
    /// Never looked at.
    #[serde(rename = "first-look")]
    First {
        /// The day since sticking for it.
        #[serde(rename = "day")]
        age: u32,
        /// The wood stage, if recorded.
        wood: Option<Wood>,
        /// What that day rests on.
        basis: FirstLookBasis,
    },
    /// A milestone is expected.
    Expected {
        /// Which, when, and for what share: of those that have come due the one that says most.
        by: ExpectedDay,
        /// The one that came first, if the day of the look goes by it and not by the other.
        first: Option<ExpectedDay>,
        /// Batches of the taxon and wood stage that it rests on.
        batches: usize,
        /// The day of the last look.
        seen: NaiveDate,
    },
    /// Not looked at for so many days.
    Interval {
        /// The days from one look to the next.
        days: u32,
        /// The day of the last look.
        seen: NaiveDate,
        /// Whether a history is known, and expects nothing sooner.
        known: bool,
    },
    /// It is failing.
    #[serde(untagged)]
    Failing(FailingSign),
}

impl DueReason {
    /// The rule that it follows.
    #[must_use]
    pub fn rule(&self) -> Rule {
        match self {
            Self::Failing(FailingSign::Spreading { .. }) => Rule::Spreading,
            Self::Failing(FailingSign::Heavy { .. }) => Rule::Heavy,
            Self::Failing(FailingSign::Mould { .. }) => Rule::Mould,
            Self::Asked { .. } => Rule::Asked,
            Self::Pot { .. } => Rule::Pot,
            Self::Overdue { .. } => Rule::Overdue,
            Self::First { .. } => Rule::First,
            Self::Expected { .. } => Rule::Expected,
            Self::Interval { .. } => Rule::Interval,
        }
    }
}

/// A reason with its day.
#[derive(Clone)]
pub(super) struct Request {
    pub on: NaiveDate,
    /// The last day on which it is due and not late.
    pub late_after: NaiveDate,
    pub reason: DueReason,
}

impl Request {
    pub fn on(day: NaiveDate, reason: DueReason) -> Self {
        Self {
            on: day,
            late_after: day,
            reason,
        }
    }

    pub fn urgency(&self, today: NaiveDate) -> Urgency {
        match self.reason {
            _ if self.on > today => Urgency::Waiting,
            DueReason::Failing(_) => Urgency::Failing,
            _ if today > self.late_after => Urgency::Late,
            _ => Urgency::Due,
        }
    }
}

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
