//! Whether what is said of a pool is true: simulated pools of a known truth, how often ranges hold it, how often a
//! comparison tells a difference where there is none; and the same of the naive pool, which takes all batches for one
//! nursery's.
#![allow(dead_code)]

use crate::pool_maker::{PoolPlan, taxon_name};
use struck::analysis::pool::{
    CompareRows, Pool, PoolCompareOptions, PoolOptions, PooledTimeline, WholePart,
    pooled_comparison, pooled_expectations, pooled_timeline,
};
use struck::analysis::timeline::{Figure, TimelineOptions};
use struck::analysis::trials::answer::VerdictKind;
use struck::fold::batch::Milestone;
use struck::model::filter::GroupKey;
use struck::stats::workers;

/// How often something held, of how many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    pub held: usize,
    pub of: usize,
}

impl Tally {
    pub fn add(&mut self, held: bool) {
        self.held += usize::from(held);
        self.of += 1;
    }

    pub fn rate(&self) -> f64 {
        self.held as f64 / self.of.max(1) as f64
    }

    fn join(&mut self, other: Self) {
        self.held += other.held;
        self.of += other.of;
    }
}

/// What held in pools of one plan.
#[derive(Clone, Copy, Debug, Default)]
pub struct Truth {
    /// 95 % ranges of the share that roots.
    pub share: Tally,
    pub naive_share: Tally,
    /// 95 % ranges of the days by which 10, 50 and 90 % of those that root have.
    pub days: [Tally; 3],
    pub naive_days: [Tally; 3],
    /// Ranges of the next batch: half, four of five.
    pub next: [Tally; 2],
    /// Comparisons without a true difference that tell one.
    pub alarms: Tally,
    pub naive_alarms: Tally,
}

impl Truth {
    fn join(&mut self, other: &Self) {
        self.share.join(other.share);
        self.naive_share.join(other.naive_share);
        let days = self.days.iter_mut().zip(other.days);
        days.for_each(|(all, own)| all.join(own));
        let days = self.naive_days.iter_mut().zip(other.naive_days);
        days.for_each(|(all, own)| all.join(own));
        let next = self.next.iter_mut().zip(other.next);
        next.for_each(|(all, own)| all.join(own));
        self.alarms.join(other.alarms);
        self.naive_alarms.join(other.naive_alarms);
    }
}

/// What is asked of each pool.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    /// Resamples for the days; 0 asks for no days.
    pub resamples: usize,
    /// Whether arms are compared.
    pub compares: bool,
}

/// Simulates pools of a plan, seeds one after the other, and judges them.
pub fn truth(plan: &PoolPlan, pools: usize, asked: Asked) -> Truth {
    let each = workers::share_out(pools, &mut |_| true, |at, _| {
        let seed = plan.seed * 1_000_003 + at as u64;
        Some(one(&PoolPlan { seed, ..*plan }, asked))
    });
    let mut whole = Truth::default();
    each.unwrap().iter().for_each(|own| whole.join(own));
    whole
}

fn one(plan: &PoolPlan, asked: Asked) -> Truth {
    let parts: Vec<WholePart> = plan.parts().map(|part| part.whole()).collect();
    let naive = as_one_nursery(&parts);
    let mut out = Truth::default();
    let ask = |parts: &[WholePart]| timeline(parts, asked.resamples);
    judge(plan, &ask(&parts), &mut out.share, &mut out.days);
    judge(
        plan,
        &ask(&naive),
        &mut out.naive_share,
        &mut out.naive_days,
    );
    next_batches(plan, &parts, &mut out.next);
    if asked.compares {
        out.alarms.add(tells(&parts));
        out.naive_alarms.add(tells(&naive));
    }
    out
}

fn filled(parts: &[WholePart]) -> Pool {
    let mut pool = Pool::new(Vec::new());
    for part in parts {
        part.clone()
            .groups(&[])
            .into_iter()
            .for_each(|group| pool.add(group));
    }
    pool
}

fn options(resamples: usize) -> PoolOptions {
    PoolOptions {
        figures: TimelineOptions {
            resamples,
            ..TimelineOptions::default()
        },
        ..PoolOptions::default()
    }
}

fn timeline(parts: &[WholePart], resamples: usize) -> PooledTimeline {
    pooled_timeline(
        filled(parts),
        Vec::new(),
        &options(resamples),
        &mut |_, _| true,
    )
    .unwrap()
}

/// All batches as if one nursery had stuck them, a season's in one part.
fn as_one_nursery(parts: &[WholePart]) -> Vec<WholePart> {
    let mut seasons: std::collections::BTreeMap<i32, WholePart> = Default::default();
    let mut next = 0;
    for part in parts {
        let whole = seasons.entry(part.season).or_insert_with(|| WholePart {
            name: format!("naive-{}", part.season),
            nursery: "naive".to_owned(),
            season: part.season,
            batches: Vec::new(),
            intervals: Vec::new(),
            aliases: Vec::new(),
        });
        for (facts, measures) in &part.batches {
            next += 1;
            let (mut facts, mut measures) = (facts.clone(), measures.clone());
            let own = part
                .intervals
                .iter()
                .filter(|it| it.batch == measures.batch);
            whole.intervals.extend(own.map(|it| {
                let mut it = *it;
                it.batch = next;
                it
            }));
            facts.nursery = "naive".to_owned();
            facts.batch = next;
            (measures.batch, measures.replicate) = (next, next);
            whole.batches.push((facts, measures));
        }
    }
    seasons.into_values().collect()
}

fn judge(plan: &PoolPlan, found: &PooledTimeline, share: &mut Tally, days: &mut [Tally; 3]) {
    for taxon in 0..plan.taxa {
        let name = taxon_name(taxon);
        let Some(group) = found.groups.iter().find(|it| it.figures.taxon == name) else {
            continue;
        };
        if let Some(told) = group.figures.strike.value() {
            let truth = plan.share(taxon);
            share.add(told.low <= truth && truth <= told.high);
        }
        let root = &group.figures.figures(Milestone::Root).days.reached.0;
        for ((day, z), tally) in root.iter().zip([-1.2816, 0.0, 1.2816]).zip(days.iter_mut()) {
            let Figure::Value(day) = day else { continue };
            if let (Figure::Value(low), high) = (day.low, day.high) {
                let truth = plan.day(taxon, z);
                let beyond = high.value().copied().unwrap_or(f64::INFINITY);
                tally.add(low <= truth && truth <= beyond);
            }
        }
    }
}

/// Whether the first batches of one more nursery fall where the pool without it expects them.
fn next_batches(plan: &PoolPlan, parts: &[WholePart], next: &mut [Tally; 2]) {
    let more = PoolPlan {
        nurseries: plan.nurseries + 1,
        ..*plan
    };
    let mut taxa = std::collections::BTreeSet::new();
    for part in more.nursery(plan.nurseries) {
        for (facts, measures, _) in part.batches {
            if !taxa.insert(facts.taxon.clone()) {
                continue;
            }
            let asked = (measures.stuck, None);
            let found = pooled_expectations(
                filled(parts),
                Vec::new(),
                &options(0),
                asked,
                &mut |_, _| true,
            )
            .unwrap();
            let own = found.expectations.iter().find(|it| it.taxon == facts.taxon);
            let Some(Figure::Value(expected)) = own.map(|it| it.next) else {
                continue;
            };
            for (tally, [low, high]) in next.iter_mut().zip([expected.p50, expected.p80]) {
                let rooted = measures.root.reached as usize;
                tally.add(low <= rooted && rooted <= high);
            }
        }
    }
}

/// Whether a comparison of wood stages tells a difference.
fn tells(parts: &[WholePart]) -> bool {
    let mut rows = CompareRows::new(Milestone::Root, None);
    parts.iter().for_each(|part| rows.add(part.clone()));
    let options = PoolCompareOptions {
        by: vec![GroupKey::Wood],
        within: Vec::new(),
        milestone: Milestone::Root,
        worth: 0.15,
        level: 0.95,
        seed: 1,
    };
    let found = pooled_comparison(rows, Vec::new(), &options);
    found
        .pairs
        .iter()
        .any(|pair| pair.verdict == VerdictKind::Difference)
}

/// The plans judged, each with its words.
pub fn plans() -> [(&'static str, PoolPlan); 5] {
    let plain = PoolPlan {
        batches: 3,
        ..PoolPlan::default()
    };
    let of = |nurseries: usize| PoolPlan { nurseries, ..plain };
    [
        ("4 nurseries", of(4)),
        ("8 nurseries", of(8)),
        ("20 nurseries", of(20)),
        ("60 nurseries", of(60)),
        (
            "20 nurseries that hardly differ",
            PoolPlan {
                nursery_spread: 0.1,
                nursery_days: 0.02,
                ..of(20)
            },
        ),
    ]
}
