//! The answer to a comparison: plain structs that give the JSON as they stand. It computes nothing.

use crate::fold::batch::Milestone;
use crate::fold::selection::ExclusionReason;
use crate::model::filter::GroupKey;
use crate::model::id::Id;
use crate::stats::shares::Interval;
use chrono::NaiveDate;
use serde::{Serialize, Serializer};

/// A comparison for each milestone asked for, with the settings that it was made with.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trials {
    /// The facts in which the arms differ.
    pub by: Vec<GroupKey>,
    /// Within what like is compared with like.
    pub within: Vec<GroupKey>,
    /// The settings.
    pub settings: TrialSettings,
    /// With seasons for arms: the day to which the last one was seen; the others were seen to the same day of
    /// their year.
    pub same_day: Option<NaiveDate>,
    /// One for each milestone, in the order asked for.
    pub comparisons: Vec<Comparison>,
}

/// What the answer depends on beside the journal.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TrialSettings {
    /// Entries after this day were not seen; all were, if absent.
    pub as_of: Option<NaiveDate>,
    /// Confidence level, 0.95; a verdict of a difference takes p up to 1 − level.
    pub level: f64,
    /// A difference of the share reached that would be worth having: 0.15.
    pub worth_strike: f64,
    /// A difference of days that would be worth having.
    pub worth_days: f64,
    /// Arrangements drawn when there are too many to look at all.
    pub draws: usize,
    /// Seed of the draw.
    pub seed: u64,
}

/// What batches are compared by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Basis {
    /// How they ended: batches old enough, with all that became of them.
    AsTheyEnded,
    /// What had reached the milestone by a day since sticking.
    ByDay {
        /// The day.
        day: u32,
        /// Whether this day was asked for; else too few batches have ended.
        asked: bool,
    },
    /// No two arms meet.
    Nothing,
}

impl Basis {
    /// The day since sticking to which batches are compared, if they are compared by a day.
    #[must_use]
    pub fn day(self) -> Option<u32> {
        match self {
            Self::ByDay { day, .. } => Some(day),
            Self::AsTheyEnded | Self::Nothing => None,
        }
    }
}

/// The comparison for one milestone.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comparison {
    /// The milestone.
    pub milestone: Milestone,
    /// What batches are compared by.
    pub basis: Basis,
    /// The strata in which two or more arms meet.
    pub strata: Vec<Stratum>,
    /// The arms, by name (wood stages as they ripen).
    pub arms: Vec<Arm>,
    /// Every two arms that meet in a stratum.
    pub pairs: Vec<ArmPair>,
    /// Facts that define the arms, and so are not held against them.
    pub defined_by: Vec<Fact>,
    /// Batches meant but left out, by day of sticking and identity.
    pub left_out: Vec<BatchLeftOut>,
    /// What to bear in mind.
    pub cautions: Vec<ComparisonCaution>,
}

/// A stratum: batches alike in all that is held fixed, so that like is compared with like.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stratum {
    /// Its keys with their values; nothing where not recorded.
    pub by: Vec<(GroupKey, Option<String>)>,
    /// Replicates of each arm, in the order of the arms.
    pub replicates: Vec<usize>,
    /// The day since sticking by which 95 % of those that reach the milestone are expected to have, in its slowest
    /// arm; absent in a journal too young to tell.
    pub expected_by: Option<u32>,
}

/// One arm's own figures.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Arm {
    /// Its name: the values of its keys.
    pub name: String,
    /// Its keys with their values.
    #[serde(skip)]
    pub by: Vec<(GroupKey, String)>,
    /// Batches that count.
    #[serde(serialize_with = "number_of")]
    pub batches: Vec<Id>,
    /// Replicates among them.
    pub replicates: usize,
    /// Cuttings stuck in these batches.
    pub stuck: u32,
    /// Of them counted: those taken away before they had their time are not.
    pub counted: f64,
    /// Batches too young to say how they ended.
    pub too_young: usize,
    /// Share that reached the milestone.
    pub reached: Option<ArmShare>,
    /// Why there is no share.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reached_missing: Option<NoFigure>,
    /// Mean days of those that reached it, from batches judged as they ended.
    pub days: Option<ArmDays>,
    /// Why there are no days.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub days_missing: Option<NoFigure>,
    /// Days that trays stood on the bench for each cutting that reached the milestone.
    pub tray_days_each: Option<f64>,
    /// Share that reached the milestone by each day of a look.
    pub curve: Vec<CurvePoint>,
}

/// An arm's share with its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ArmShare {
    /// The share, 0 to 1, of those counted.
    pub value: f64,
    /// Wilson's interval with the design effect, the correlation within batches pooled with the journal's.
    #[serde(flatten)]
    pub interval: Interval,
    /// The design effect that the interval allows for.
    pub design_effect: f64,
}

/// Mean days of an arm's cuttings that reached the milestone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ArmDays {
    /// The mean, in days since sticking.
    pub value: f64,
    /// Its interval by the replicate jackknife with Student's t; none with one replicate.
    pub interval: Option<Interval>,
}

/// A point of an arm's curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Days since sticking.
    pub day: u32,
    /// Share known to have reached the milestone by then.
    #[serde(flatten)]
    pub share: ArmShare,
}

/// Why a figure is missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum NoFigure {
    /// No batch of the arm counts.
    NoBatchCounts,
    /// No batch that ended has a cutting that reached the milestone.
    NoneReached,
    /// No two arms meet in batches that ended.
    NoneMeet,
    /// Replicates are too few to tell how they differ.
    TooFewReplicates,
    /// There is one stratum only.
    OneStratum,
    /// No difference was seen.
    NoDifferenceSeen,
    /// It would take more batches than anyone sticks.
    TooManyBatches,
    /// It was not asked.
    NotAsked,
}

/// A batch left out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BatchLeftOut {
    /// Its code.
    pub batch: String,
    /// Its identity.
    pub id: Id,
    /// Why.
    pub reason: WhyLeftOut,
}

/// Why a batch is left out of a comparison.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum WhyLeftOut {
    /// It is left out of all figures.
    OfAllFigures {
        /// Why it is.
        #[serde(serialize_with = "in_words")]
        why: ExclusionReason,
    },
    /// What tells the arms apart was not recorded.
    NotRecorded {
        /// The key that is missing.
        key: GroupKey,
    },
    /// The milestone was never examined.
    NotExamined,
    /// Its stratum has only this arm, so there is nothing to compare it with.
    Alone {
        /// The arm.
        arm: String,
        /// The stratum in words; empty if there is but one.
        stratum: String,
    },
    /// It was younger than cuttings of its kind take, on the last day anyone looked at its place.
    TooYoung {
        /// Its age on that day.
        age: u32,
        /// The age at which it is judged.
        judged_from: u32,
    },
    /// Too few batches of its taxon have ended to tell how long its cuttings take.
    TooFewEnded,
    /// It is old enough, but its cuttings on the bench were not looked at late enough.
    NotLookedAtLateEnough {
        /// The age at which it is judged.
        judged_from: u32,
    },
    /// Its cuttings on the bench were not followed to the day of comparison.
    NotFollowed {
        /// The day since sticking.
        to: u32,
    },
    /// All its cuttings were taken away before they had their time.
    TakenAway,
}

/// Two arms, first less second.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ArmPair {
    /// Their names.
    #[serde(rename = "arms")]
    pub names: [String; 2],
    /// Which arms, as positions in the comparison's.
    #[serde(skip)]
    pub arms: [usize; 2],
    /// In how many strata they meet.
    pub strata: usize,
    /// Replicates of each where they meet.
    pub replicates: [usize; 2],
    /// Facts that differ along with the arms.
    pub likeness: Vec<Likeness>,
    /// Those of them that cannot be told apart from the arms.
    pub goes_along: Vec<Fact>,
    /// Shares that reached the milestone.
    pub strike: Strike,
    /// Days of those that reached it.
    pub days: DaysApart,
}

/// A fact recorded at sticking that may differ between arms unmeant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fact {
    /// One that batches can be grouped by.
    Key(GroupKey),
    /// The container.
    Container,
}

impl Fact {
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Key(key) => key.word(),
            Self::Container => "container",
        }
    }
}

impl Serialize for Fact {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.word())
    }
}

/// How far a fact goes with the arms.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Likeness {
    /// The fact.
    pub key: Fact,
    /// Cramér's V over batches within strata, bias-corrected, 0 to 1.
    pub v: f64,
    /// p of permuting the fact within strata.
    pub p: f64,
    /// The commonest value in either arm; absent where that is 'not recorded'.
    pub commonest: [Option<String>; 2],
}

/// A difference with its interval. An end is infinite where these numbers exclude nothing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Difference {
    /// First arm less second.
    pub value: f64,
    /// Its interval, the level shared among all pairs (Bonferroni).
    #[serde(flatten)]
    pub interval: Interval,
    /// This pair's own interval, at the level itself.
    pub alone: Interval,
}

/// A permutation test of whole replicates within strata.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct PermutationTest {
    /// Two-sided p of this pair.
    pub p: f64,
    /// p by Holm's correction over all pairs; the same as p for one pair.
    pub p_holm: f64,
    /// Arrangements looked at, the observed one included.
    pub arrangements: usize,
    /// Whether these were all there are.
    pub exact: bool,
    /// The smallest p that these numbers could give.
    pub smallest_p: f64,
}

/// Two arms' shares.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Strike {
    /// Difference of shares, strata pooled with Mantel–Haenszel weights.
    pub difference: Option<Difference>,
    /// Its test.
    pub permutation: Option<PermutationTest>,
    /// Share of the cuttings whose fate by the day was filled in from the curve of all arms; 0 as they ended.
    pub filled: f64,
    /// What other tests say.
    pub second_opinions: SecondOpinions,
    /// Whether the strata agree: Cochran's Q with the design effect.
    pub homogeneity: Option<ChiSquared>,
    /// Why that is missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub homogeneity_missing: Option<NoFigure>,
    /// What follows.
    pub verdict: Verdict,
}

/// A χ² statistic with its p.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ChiSquared {
    /// The statistic.
    pub chi2: f64,
    /// Degrees of freedom.
    pub df: usize,
    /// Upper-tail p.
    pub p: f64,
}

/// Tests that take each cutting by itself, and how far that misleads.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct SecondOpinions {
    /// Fisher's exact test, strata added together.
    pub fisher_p: Option<f64>,
    /// Cochran–Mantel–Haenszel without correction.
    pub cmh: Option<ChiSquared>,
    /// With continuity correction.
    pub cmh_corrected: Option<ChiSquared>,
    /// Mantel–Haenszel odds ratio, first arm over second.
    pub mh_odds_ratio: Option<f64>,
    /// Greenland and Robins's standard error of the difference of shares.
    pub standard_error: Option<f64>,
    /// Correlation within a batch: beta-binomial, one for all, each arm of each stratum with its own share.
    pub icc: Option<f64>,
    /// Why that is missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub icc_missing: Option<NoFigure>,
    /// Design effect at that correlation.
    pub design_effect: Option<f64>,
    /// Counts were fractional and were rounded for these tests.
    pub rounded: bool,
}

/// Two arms' days, of cuttings that reached the milestone in batches judged as they ended.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DaysApart {
    /// Difference of mean days.
    pub difference: Option<Difference>,
    /// Why there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub difference_missing: Option<NoFigure>,
    /// Its test.
    pub permutation: Option<PermutationTest>,
    /// Sun's log-rank scores, permutation form, by the cutting.
    pub score_test: Option<ScoreTest>,
    /// What follows.
    pub verdict: Verdict,
}

/// A test of scores.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ScoreTest {
    /// Above 0 if the first arm is sooner.
    pub z: f64,
    /// Two-sided p.
    pub p: f64,
}

/// What the figures support.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum VerdictKind {
    /// The arms differ: p is small and the interval excludes 0.
    Difference,
    /// They differ by so little either way that it is not worth having.
    NoLargerThan,
    /// Neither a difference nor its absence is established.
    Undecided,
}

/// A verdict.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// What it is.
    pub kind: VerdictKind,
    /// In a sentence or two; worded by `text`, empty before.
    pub text: String,
    /// For 'no larger than': the far end of the interval, a share or days.
    pub at_most: Option<f64>,
    /// Batches an arm that would find a difference like the one seen, if it is real, 80 times of 100.
    pub batches_needed: Option<u32>,
    /// Why that is missing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub batches_needed_missing: Option<NoFigure>,
    /// Cuttings in each of them: the mean of those seen.
    pub cuttings: u32,
}

/// What to bear in mind.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum ComparisonCaution {
    /// Batches of an arm are too young to be judged as they ended.
    TooYoung {
        /// The number of the arm.
        arm: usize,
        /// How many batches.
        batches: usize,
    },
    /// Compared by a day, an arm had much to come after it.
    StillComing {
        /// Which arm.
        arm: usize,
        /// Cuttings that reached the milestone after that day.
        later: f64,
        /// Cuttings that ever did.
        ever: f64,
    },
    /// More than a tenth of the cuttings' fate by the day was filled in from the curve of all arms.
    Filled {
        /// Which arms.
        arms: [usize; 2],
        /// Which share.
        share: f64,
    },
    /// A fact differs along with the arms.
    AlsoDiffer {
        /// Which arms.
        arms: [usize; 2],
        /// In what.
        key: Fact,
        /// The commonest value in either.
        values: [Option<String>; 2],
        /// Whether it cannot be told apart from the arms.
        goes_along: bool,
    },
    /// Wood stages are taken at different times of the year.
    TimeOfYear {
        /// Which arms.
        arms: [usize; 2],
    },
    /// All looks at an arm were spoken guesses.
    OnlyGuesses {
        /// Which arm.
        arm: usize,
    },
    /// Some batches' looks were spoken guesses only.
    SomeGuesses {
        /// How many batches.
        batches: usize,
    },
    /// An arm has one replicate, so that its spread is unknown.
    OneReplicate {
        /// Which arm.
        arm: usize,
    },
    /// Batches that share a fate count as one replicate.
    Shared {
        /// Which arm.
        arm: usize,
        /// Its batches.
        batches: usize,
        /// Its replicates.
        replicates: usize,
    },
    /// So many cuttings were taken away before they had their time, and count nowhere.
    TakenAway {
        /// Cuttings.
        cuttings: f64,
    },
    /// Counts of a part of a batch were taken for the whole and rounded for tests by the cutting.
    Rounded,
}

impl ComparisonCaution {
    /// Whether it bears on the comparison of these two arms.
    #[must_use]
    pub fn is_about(&self, pair: [usize; 2]) -> bool {
        match self {
            Self::AlsoDiffer { arms, .. }
            | Self::TimeOfYear { arms }
            | Self::Filled { arms, .. } => *arms == pair,
            Self::StillComing { arm, .. }
            | Self::TooYoung { arm, .. }
            | Self::OnlyGuesses { arm }
            | Self::OneReplicate { arm }
            | Self::Shared { arm, .. } => pair.contains(arm),
            Self::SomeGuesses { .. } | Self::TakenAway { .. } | Self::Rounded => true,
        }
    }
}

fn number_of<S: Serializer>(batches: &[Id], to: S) -> Result<S::Ok, S::Error> {
    to.serialize_u64(batches.len() as u64)
}

fn in_words<S: Serializer>(why: &ExclusionReason, to: S) -> Result<S::Ok, S::Error> {
    to.collect_str(why)
}
