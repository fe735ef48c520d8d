//! How a season in review is worded, paragraph by paragraph, for a page of any width. It decides nothing.

use super::bench::by_cause;
use super::dates::{Calendar, day_month};
use super::figures::{many, percent};
use super::verdicts;
use crate::analysis::review::{Advice, KindReview, Review, TargetProgress, WayArm, WayComparison};
use crate::analysis::timeline::{Figure, ReachedShare};
use crate::analysis::trials::answer::ComparisonCaution;
use crate::model::composite::Lost;
use crate::model::id::Id;
use crate::model::listed::Wood;
use chrono::NaiveDate;

/// Whether a paragraph is a heading, an item or a detail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ParaKind {
    /// A heading.
    Head,
    /// A paragraph of the review.
    Item,
    /// What belongs to the paragraph before it.
    Detail,
}

/// A paragraph of the review.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Para {
    /// What it is.
    pub kind: ParaKind,
    /// Its words, not broken into lines.
    pub text: String,
    /// The batches that it is about.
    pub behind: ParaBehind,
}

/// The batches that a paragraph is about.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum ParaBehind {
    /// None.
    #[default]
    Nothing,
    /// All of the season.
    Season,
    /// Those of a taxon, as it is shown, at a wood stage that were stuck in the season.
    Kind(String, Option<Wood>),
    /// Those of a taxon, at a wood stage or any, for plants wanted by a day, in whichever season they were stuck.
    Wanted(String, Option<Wood>, NaiveDate),
    /// These.
    These(Vec<Id>),
}

impl ParaBehind {
    fn kind(kind: &KindReview) -> Self {
        Self::Kind(kind.taxon.clone(), kind.wood)
    }

    fn wanted(wanted: &TargetProgress) -> Self {
        Self::Wanted(wanted.taxon.clone(), wanted.wood, wanted.by)
    }

    fn way(way: &WayComparison) -> Self {
        let arms = way.comparison.arms.iter();
        Self::These(arms.flat_map(|arm| arm.batches.clone()).collect())
    }

    fn advice(advice: &Advice) -> Self {
        match advice {
            Advice::Prefer { way } | Advice::Try { way } => Self::way(way),
            Advice::DoesNotPay { kind } => Self::kind(kind),
            Advice::Late { wanted, .. } | Advice::Short { wanted } => Self::wanted(wanted),
        }
    }
}

/// The whole review.
#[must_use]
pub fn paras(review: &Review, calendar: Calendar) -> Vec<Para> {
    let mut page = Page {
        paras: Vec::new(),
        calendar,
    };
    page.whole(review);
    page.planned(&review.planned);
    page.advice(&review.advice);
    page.kinds(&review.kinds);
    page.methods(review);
    page.paras
}

struct Page {
    paras: Vec<Para>,
    calendar: Calendar,
}

/// How many were lost and of what, the most first.
fn lost(lost: &Lost) -> String {
    let mut causes: Vec<_> = lost.each().collect();
    // Stable: equals stay in the order of the trade.
    causes.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    let causes: Vec<String> = causes.into_iter().map(by_cause).collect();
    match causes.is_empty() {
        true => "none lost".to_owned(),
        false => format!("lost {} ({})", lost.total(), causes.join(", ")),
    }
}

fn kind_name(taxon: &str, wood: Option<Wood>) -> String {
    match wood {
        Some(wood) => format!("{taxon}, {}", wood.word()),
        None => taxon.to_owned(),
    }
}

impl Page {
    fn add(&mut self, kind: ParaKind, text: impl Into<String>) {
        self.add_about(ParaBehind::Nothing, kind, text);
    }

    fn add_about(&mut self, behind: ParaBehind, kind: ParaKind, text: impl Into<String>) {
        let text = text.into();
        self.paras.push(Para { kind, text, behind });
    }

    fn whole(&mut self, review: &Review) {
        let until = match review.as_of > review.to {
            true => String::new(),
            false => format!(", as far as {}", self.calendar.day(review.as_of)),
        };
        self.add(ParaKind::Head, format!("Season {}{until}", review.season));
        let sum = &review.whole;
        // Each cutting stands in one part, so that the parts make up all that were stuck.
        let mut parts = Vec::new();
        parts.extend((sum.potted > 0).then(|| format!("{} potted", sum.potted)));
        let rooted_yet = sum.rooted.saturating_sub(sum.potted);
        parts.extend((sum.remain > 0).then(|| match rooted_yet {
            0 => format!("{} still on the bench", sum.remain),
            n => format!("{} still on the bench, {n} of them rooted", sum.remain),
        }));
        parts.push(lost(&sum.lost));
        parts.extend((sum.given_up > 0).then(|| format!("{} given up", sum.given_up)));
        self.add_about(
            ParaBehind::Season,
            ParaKind::Item,
            format!(
                "{} of {}, {} stuck: {}.",
                many(sum.batches as u64, "batch", "batches"),
                many(review.taxa as u64, "taxon", "taxa"),
                sum.stuck,
                parts.join("; ")
            ),
        );
        if let Some(share) = sum.share() {
            let yet = match sum.remain.saturating_sub(rooted_yet) {
                0 => String::new(),
                n => format!("; {n} on the bench may still root"),
            };
            let of = format!("{} of {} ({} %)", sum.rooted, sum.stuck, percent(share));
            self.add_about(
                ParaBehind::Season,
                ParaKind::Item,
                format!("Rooted so far, the potted among them: {of}{yet}."),
            );
        }
        if sum.potted + sum.ready + sum.sold == 0 {
            return;
        }
        self.add_about(
            ParaBehind::Season,
            ParaKind::Item,
            format!(
                "Of this season's cuttings {} were potted; of these {} were lost in pots, {} became saleable, {} were sold.",
                sum.potted, sum.lost_in_pots, sum.ready, sum.sold
            ),
        );
    }

    fn planned(&mut self, planned: &[TargetProgress]) {
        self.add(
            ParaKind::Head,
            "Targets due this season; plants stuck earlier count too",
        );
        if planned.is_empty() {
            self.add(ParaKind::Item, "No target was set.");
        }
        for it in planned {
            let short = it.count.saturating_sub(it.ready);
            let end = match (short, it.over, it.met_on) {
                (0, ..) => "met".to_owned(),
                (_, true, Some(day)) => {
                    format!("{short} short then, met on {}", self.calendar.day(day))
                }
                (_, true, None) => format!("{short} short"),
                (_, false, _) => format!("{short} to go"),
            };
            self.add_about(
                ParaBehind::wanted(it),
                ParaKind::Item,
                format!(
                    "{}: {} by {}; {} saleable, {end}; {} stuck this season.",
                    kind_name(&it.taxon, it.wood),
                    it.count,
                    day_month(it.by),
                    it.ready,
                    it.stuck
                ),
            );
        }
    }

    fn kinds(&mut self, kinds: &[KindReview]) {
        self.add(ParaKind::Head, "What came of each");
        if kinds.is_empty() {
            self.add(ParaKind::Item, "No batch was stuck.");
        }
        for kind in kinds {
            let sum = &kind.sum;
            let mut parts = vec![rooted(&kind.strike)];
            parts.extend((sum.potted > 0).then(|| format!("potted {}", sum.potted)));
            parts.push(lost(&sum.lost));
            parts.extend((sum.given_up > 0).then(|| format!("{} given up", sum.given_up)));
            parts.extend((sum.remain > 0).then(|| format!("{} still on the bench", sum.remain)));
            self.add_about(
                ParaBehind::kind(kind),
                ParaKind::Item,
                format!(
                    "{}: {}, {} stuck; {}.",
                    kind_name(&kind.taxon, kind.wood),
                    many(sum.batches as u64, "batch", "batches"),
                    sum.stuck,
                    parts.join("; ")
                ),
            );
        }
    }

    fn advice(&mut self, advice: &[Advice]) {
        self.add(ParaKind::Head, "For the next season");
        if advice.is_empty() {
            let none = "Nothing is sure enough to change anything.";
            self.add(ParaKind::Item, none);
        }
        for (at, advice) in advice.iter().enumerate() {
            self.add_about(
                ParaBehind::advice(advice),
                ParaKind::Item,
                format!("{}. {}", at + 1, self::advice(advice)),
            );
            if let Advice::Prefer { way: method } = advice {
                self.cautions(method);
            }
        }
    }

    fn methods(&mut self, review: &Review) {
        let head = "Arms compared, from all batches stuck by this season's end";
        self.add(ParaKind::Head, head);
        if review.methods.is_empty() && review.still_rooting == 0 {
            let none = "None: it takes two batches of one taxon in each arm.";
            self.add(ParaKind::Item, none);
            return;
        }
        for method in &review.methods {
            self.add_about(ParaBehind::way(method), ParaKind::Item, way(method));
            self.cautions(method);
        }
        if review.still_rooting > 0 {
            self.add(
                ParaKind::Item,
                format!(
                    "Left out: {} in which one arm was still rooting when the other was last looked at.",
                    many(review.still_rooting as u64, "pair", "pairs")
                ),
            );
        }
        if review.methods.is_empty() {
            return;
        }
        self.add(
            ParaKind::Item,
            format!(
                "{}: each p is raised for their number (Holm's correction), since among many one may differ by luck.",
                many(review.methods.len() as u64, "comparison", "comparisons")
            ),
        );
    }

    fn cautions(&mut self, method: &WayComparison) {
        // How batches make replicates is in the interval already.
        let told =
            |caution: &&ComparisonCaution| !matches!(caution, ComparisonCaution::Shared { .. });
        for caution in method.cautions.iter().filter(told) {
            let words = verdicts::caution(&method.comparison, caution);
            self.add(ParaKind::Detail, format!("Mind: {words}."));
        }
    }
}

/// The share that rooted with how sure that is.
fn rooted(strike: &Figure<ReachedShare>) -> String {
    match strike {
        Figure::Value(it) => format!(
            "rooted {} % ({}-{}) by day {}",
            percent(it.value),
            percent(it.low),
            percent(it.high),
            it.by_day
        ),
        Figure::Missing(_) => "too soon to say what roots".to_owned(),
    }
}

fn side(arm: &WayArm) -> String {
    format!(
        "{} {} % ({}-{}, {})",
        arm.name,
        percent(arm.share),
        percent(arm.interval.low),
        percent(arm.interval.high),
        many(arm.batches as u64, "batch", "batches")
    )
}

/// Points of a difference with their interval, as far as it is known.
fn apart(method: &WayComparison) -> String {
    let ends = method.difference.interval;
    let points = percent(method.difference.value);
    match ends.low.is_finite() && ends.high.is_finite() {
        true => format!(
            "{points} points ({} to {})",
            percent(ends.low),
            percent(ends.high)
        ),
        false => format!("{points} points, from too few batches to say how sure"),
    }
}

/// A comparison in one sentence.
#[must_use]
pub fn way(method: &WayComparison) -> String {
    let [first, second] = &method.arms;
    let verdict = match method.decided {
        true => "a difference",
        false => "undecided",
    };
    format!(
        "{} by {}: {verdict}. {}, rooted: {}, {}; like with like {}, p {}.",
        method.taxon,
        method.by.word(),
        verdicts::basis(method.comparison.basis),
        side(first),
        side(second),
        apart(method),
        verdicts::p(method.holm)
    )
}

/// A suggestion in words, with its figures.
#[must_use]
pub fn advice(advice: &Advice) -> String {
    match advice {
        Advice::Prefer { way: method } => {
            let [first, second] = &method.arms;
            format!(
                "{}: {} rather than {}. It rooted {} % ({}-{}) against {} % ({}-{}), in {} and {}: {} more.",
                method.taxon,
                first.name,
                second.name,
                percent(first.share),
                percent(first.interval.low),
                percent(first.interval.high),
                percent(second.share),
                percent(second.interval.low),
                percent(second.interval.high),
                first.batches,
                many(second.batches as u64, "batch", "batches"),
                apart(method)
            )
        }
        Advice::Try { way: method } => {
            let [first, second] = &method.arms;
            let trial = method.needed.map_or_else(String::new, |size| {
                format!(
                    " A trial of about {} of {} cuttings in each arm would tell (`lay-out` plans it).",
                    many(size.batches.into(), "batch", "batches"),
                    size.cuttings
                )
            });
            format!(
                "{}: {} or {} is undecided ({} % and {} %).{trial}",
                method.taxon,
                first.name,
                second.name,
                percent(first.share),
                percent(second.share)
            )
        }
        Advice::DoesNotPay { kind } => format!(
            "{}: {} this season, {} over all seasons. That is under half even at best, and at least half must root to pay (Luna 2009): do it another way, or stick none of it.",
            kind_name(&kind.taxon, kind.wood),
            rooted(&kind.strike),
            rooted(&kind.strike_so_far)
        ),
        Advice::Late {
            wanted: planned,
            days,
        } => format!(
            "{}: the {} for {} were saleable {}: stick that much sooner, or stick what roots faster.",
            kind_name(&planned.taxon, planned.wood),
            planned.count,
            day_month(planned.by),
            many(*days as u64, "day late", "days late")
        ),
        Advice::Short { wanted: planned } => format!(
            "{}: of the {} for {}, {} were saleable; {} were stuck this season. `plan` says how many to stick.",
            kind_name(&planned.taxon, planned.wood),
            planned.count,
            day_month(planned.by),
            planned.ready,
            planned.stuck
        ),
    }
}
