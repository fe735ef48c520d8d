//! Ways of doing it compared for each taxon of a season: wood stage, cover, hormone and so on, from all
//! batches up to its end. Every comparison made counts against each: the verdicts hold for all of them
//! together (Holm 1979, Scandinavian Journal of Statistics 6:65). It words nothing.

use super::sums::KindReview;
use super::sums::ReviewOptions;
use crate::analysis::trials::answer::{ArmPair, Comparison, ComparisonCaution, Difference, Fact};
use crate::analysis::trials::{Sighting, TrialOptions, WholeJournal};
use crate::fold::Book;
use crate::fold::batch::{Batch, Milestone};
use crate::fold::selection::Selection;
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::model::text::folded;
use crate::stats::permute::holm;
use crate::stats::shares::Interval;
use crate::stats::workers::share_out;
use chrono::NaiveDate;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The ways compared.
pub const METHODS: [GroupKey; 7] = [
    GroupKey::Wood,
    GroupKey::Cover,
    GroupKey::Hormone,
    GroupKey::Medium,
    GroupKey::Cut,
    GroupKey::Piece,
    GroupKey::Source,
];

/// Fewer replicates a side than this are not compared at all: nothing could come of it.
const FEWEST: usize = 2;

/// What p must not exceed, with all comparisons of the review counted.
const ALPHA: f64 = 0.05;

/// One way of doing it, with what came of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WayArm {
    /// Its name.
    pub name: String,
    /// Batches.
    pub batches: usize,
    /// Replicates among them.
    pub replicates: usize,
    /// Share rooted, in the end or by the day of comparison, 0 to 1.
    #[serde(rename = "rooted")]
    pub share: f64,
    /// Its 95 % interval.
    #[serde(flatten)]
    pub interval: Interval,
}

/// Two ways of one taxon compared by the share that rooted.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WayComparison {
    /// The taxon as it is shown.
    pub taxon: String,
    /// The fact in which the ways differ.
    pub by: GroupKey,
    /// The day since sticking by which they are compared; none where they are as they ended.
    #[serde(rename = "day")]
    pub horizon: Option<u32>,
    /// The ways, the one with the greater share first.
    pub arms: [WayArm; 2],
    /// First less second.
    #[serde(serialize_with = "points")]
    pub difference: Difference,
    /// p of this comparison alone.
    pub p: f64,
    /// p with all comparisons of the review counted.
    #[serde(rename = "p_holm")]
    pub holm: f64,
    /// Whether it is a difference, all comparisons counted, and not luck.
    pub decided: bool,
    /// A trial that would find a difference of the size seen, if that is known.
    pub needed: Option<TrialSize>,
    /// What to bear in mind, with the comparison that it is worded by.
    #[serde(skip)]
    pub cautions: Vec<ComparisonCaution>,
    /// The comparison that the two ways come from, of shares alone.
    #[serde(skip)]
    pub comparison: Comparison,
    /// The numbers of the two ways among its arms.
    #[serde(skip)]
    pub pair: [usize; 2],
}

/// The size of a trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct TrialSize {
    /// Batches an arm.
    pub batches: u32,
    /// Cuttings in each.
    pub cuttings: u32,
}

/// A difference with the ends of its interval beside it; an end is null where these numbers exclude nothing.
fn points<S: serde::Serializer>(difference: &Difference, to: S) -> Result<S::Ok, S::Error> {
    let ends = difference.interval;
    let each = [
        ("value", difference.value),
        ("low", ends.low),
        ("high", ends.high),
    ];
    to.collect_map(each)
}

/// All comparisons of the season's taxa, and how many pairs were left out because one way was still rooting
/// when the other was last seen. `None` if `go_on` says no.
pub(super) fn methods(
    book: &Book,
    options: &ReviewOptions,
    kinds: &[KindReview],
    to: NaiveDate,
    go_on: &mut dyn FnMut(usize, usize) -> bool,
) -> Option<(Vec<WayComparison>, usize)> {
    let taxa: BTreeMap<&str, &str> = kinds
        .iter()
        .map(|kind| (kind.key.as_str(), kind.taxon.as_str()))
        .collect();
    let taxa: Vec<(&str, &str)> = taxa.into_iter().collect();
    let journal = WholeJournal::new(book, Some(options.as_of));
    let batches = by_taxon(book);
    let whole = taxa.len();
    let found = share_out(whole, &mut |done| go_on(done, whole), |at, go_on| {
        let (key, taxon) = taxa[at];
        let about = Selection {
            filter: Filter {
                season: None,
                only: Some(key.to_owned()),
                until: Some(options.filter.until.map_or(to, |until| until.min(to))),
                ..options.filter.clone()
            },
            again: false,
            as_of: Some(options.as_of),
        };
        let among = batches.get(key).map_or(&[][..], Vec::as_slice);
        let sighting = journal.sighting(among, &about);
        of_taxon((&journal, &sighting), options, &about, taxon, go_on)
    })?;
    let left_out = found.iter().map(|(_, left_out)| left_out).sum();
    let mut out: Vec<WayComparison> = found.into_iter().flat_map(|(ways, _)| ways).collect();
    let ps: Vec<f64> = out.iter().map(|method| method.p).collect();
    for (method, holm) in out.iter_mut().zip(holm(&ps)) {
        method.holm = holm;
        let ends = method.difference.alone;
        method.decided = holm <= ALPHA + 1e-9 && (ends.low > 0.0 || ends.high < 0.0);
    }
    Some((out, left_out))
}

/// The comparisons of one taxon, and how many pairs were left out. `None` if `go_on` says no.
fn of_taxon<'a>(
    seen: (&WholeJournal<'a>, &Sighting<'a>),
    options: &ReviewOptions,
    about: &Selection,
    taxon: &str,
    go_on: &mut dyn FnMut() -> bool,
) -> Option<(Vec<WayComparison>, usize)> {
    let (mut out, mut left_out) = (Vec::<WayComparison>::new(), 0);
    for by in METHODS {
        if !go_on() {
            return None;
        }
        if !are_worth_comparing(seen, by) {
            continue;
        }
        let mut found = compared(seen, options, about, (taxon, by))?;
        let whole = found.len();
        found.retain(|method| !is_early(method));
        left_out += whole - found.len();
        // What goes wholly with a way compared already is that comparison over again.
        let before: BTreeSet<GroupKey> = out.iter().map(|it| it.by).collect();
        found.retain(|method| !goes_with(method, &before));
        out.extend(found);
    }
    Some((out, left_out))
}

/// Whether two ways have replicates enough.
fn are_worth_comparing((journal, sighting): (&WholeJournal, &Sighting), by: GroupKey) -> bool {
    let book = journal.book();
    let mut ways: BTreeMap<String, BTreeSet<&Id>> = BTreeMap::new();
    for item in sighting.batches() {
        if let Some(way) = by.value_for(book, item.batch) {
            ways.entry(folded(&way)).or_default().insert(item.replicate);
        }
    }
    ways.values().filter(|way| way.len() >= FEWEST).count() > 1
}

/// All batches of the book by their taxon's key.
fn by_taxon(book: &Book) -> HashMap<String, Vec<&Batch>> {
    let mut out: HashMap<String, Vec<&Batch>> = HashMap::new();
    for batch in book.batches() {
        out.entry(batch.taxon.key()).or_default().push(batch);
    }
    out
}

/// The pairs of ways of a taxon.
fn compared<'a>(
    (journal, sighting): (&WholeJournal<'a>, &Sighting<'a>),
    options: &ReviewOptions,
    about: &Selection,
    (taxon, by): (&str, GroupKey),
) -> Option<Vec<WayComparison>> {
    let asked = TrialOptions {
        about: about.clone(),
        by: vec![by],
        milestones: vec![Milestone::Root],
        only_shares: true,
        draws: options.draws,
        seed: options.seed,
        ..TrialOptions::default()
    };
    let answer = journal.compare(sighting, &asked, &mut |_, _| true)?;
    let found = answer.comparisons.iter();
    let pairs = found.flat_map(|comparison| comparison.pairs.iter().map(move |p| (comparison, p)));
    let enough = pairs.filter(|(_, pair)| pair.replicates.iter().all(|n| *n >= FEWEST));
    Some(
        enough
            .filter_map(|(comparison, pair)| method(comparison, pair, taxon, by))
            .collect(),
    )
}

/// The interval of the second less the first.
fn turned(ends: Interval) -> Interval {
    Interval {
        low: -ends.high,
        high: -ends.low,
    }
}

fn method(
    comparison: &Comparison,
    pair: &ArmPair,
    taxon: &str,
    by: GroupKey,
) -> Option<WayComparison> {
    let arm = |at: usize| {
        let arm = &comparison.arms[pair.arms[at]];
        let share = arm.reached?;
        Some(WayArm {
            name: arm.name.clone(),
            batches: arm.batches.len(),
            replicates: pair.replicates[at],
            share: share.value,
            interval: share.interval,
        })
    };
    let (mut arms, mut difference) = ([arm(0)?, arm(1)?], pair.strike.difference?);
    if difference.value < 0.0 {
        arms.reverse();
        difference = Difference {
            value: -difference.value,
            interval: turned(difference.interval),
            alone: turned(difference.alone),
        };
    }
    let test = pair.strike.permutation?;
    let verdict = &pair.strike.verdict;
    // Tests by the cutting are not told here.
    let of_these = |it: &&ComparisonCaution| {
        it.is_about(pair.arms) && !matches!(it, ComparisonCaution::Rounded)
    };
    Some(WayComparison {
        taxon: taxon.to_owned(),
        by,
        horizon: comparison.basis.day(),
        arms,
        difference,
        p: test.p,
        holm: 1.0,
        decided: false,
        needed: verdict.batches_needed.map(|batches| TrialSize {
            batches,
            cuttings: verdict.cuttings,
        }),
        cautions: comparison
            .cautions
            .iter()
            .filter(of_these)
            .cloned()
            .collect(),
        comparison: comparison.clone(),
        pair: pair.arms,
    })
}

/// Whether a way still had much of its rooting before it on the day of comparison.
fn is_early(method: &WayComparison) -> bool {
    let mut cautions = method.cautions.iter();
    cautions.any(|caution| matches!(caution, ComparisonCaution::StillComing { .. }))
}

/// Whether the two ways differ throughout in a fact that was compared before.
fn goes_with(method: &WayComparison, before: &BTreeSet<GroupKey>) -> bool {
    method
        .cautions
        .iter()
        .any(|caution| matches!(caution, ComparisonCaution::AlsoDiffer { key: Fact::Key(key), goes_along: true, .. } if before.contains(key)))
}
