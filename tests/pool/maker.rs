//! Simulated nurseries whose truth is known, as the parts that they publish: shares and days differ between nurseries, and
//! within a nursery between batches.
#![allow(dead_code)]

use struck::analysis::pool::{
    PersonalFacts, PooledFacts, PooledInterval, PooledMeasures, PooledMilestone, WholePart,
};
use struck::fold::batch::Milestone;
use struck::fold::intervals::IntervalStatus;
use struck::handover::HandoverFile;
use struck::handover::published::PartWriter;
use struck::stats::dice::Dice;

/// What simulated nurseries are like.
#[derive(Clone, Copy, Debug)]
pub struct PoolPlan {
    /// Nurseries.
    pub nurseries: usize,
    /// Seasons of each.
    pub seasons: usize,
    /// Taxa that there are.
    pub taxa: usize,
    /// Taxa that a nursery grows.
    pub grown: usize,
    /// Batches of a taxon in a season, at most; at least one.
    pub batches: usize,
    /// How far nurseries differ: standard deviation of the logit of the share.
    pub nursery_spread: f64,
    /// How far batches of one nursery differ.
    pub batch_spread: f64,
    /// The same of the logarithm of the day to root.
    pub nursery_days: f64,
    pub batch_days: f64,
    /// What softwood adds to the logit of the share of semi-ripe.
    pub wood_effect: f64,
    /// Whether nurseries that do better have more softwood.
    pub wood_goes_with_nursery: bool,
    /// The last season is still open.
    pub open: bool,
    pub seed: u64,
}

impl Default for PoolPlan {
    fn default() -> Self {
        Self {
            nurseries: 20,
            seasons: 2,
            taxa: 6,
            grown: 6,
            batches: 4,
            nursery_spread: 0.7,
            batch_spread: 0.5,
            nursery_days: 0.15,
            batch_days: 0.1,
            wood_effect: 0.0,
            wood_goes_with_nursery: false,
            open: false,
            seed: 1,
        }
    }
}

/// Spread of the logarithm of the day within a batch.
const WITHIN: f64 = 0.25;

/// The day of the last look.
const LAST: u32 = 98;

/// Epithets enough for four hundred taxa, all invented.
pub fn taxon_name(taxon: usize) -> String {
    const GENERA: [&str; 8] = [
        "Weigela",
        "Hebe",
        "Salvia",
        "Viburnum",
        "Lavandula",
        "Cistus",
        "Fuchsia",
        "Buddleja",
    ];
    format!(
        "{} simulata{}",
        GENERA[taxon % GENERA.len()],
        letters(taxon)
    )
}

fn letters(number: usize) -> String {
    let letter = |at: usize| char::from(b'a' + (at % 26) as u8);
    [letter(number / 26), letter(number)].iter().collect()
}

/// The logit of a taxon's share in the middle nursery, for semi-ripe wood.
pub fn logit(taxon: usize) -> f64 {
    [0.4, -0.3, 1.1, 0.0, 0.7, -0.7][taxon % 6]
}

/// The middle day to root.
pub fn middle_day(taxon: usize) -> f64 {
    [24.0, 30.0, 18.0, 36.0, 27.0, 21.0][taxon % 6]
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

impl PoolPlan {
    /// The share of a taxon that roots, over all nurseries and batches; of semi-ripe wood.
    pub fn share(&self, taxon: usize) -> f64 {
        let spread = self.nursery_spread.hypot(self.batch_spread);
        const STEPS: i32 = 4000;
        let mut sums = (0.0, 0.0);
        for step in -STEPS..=STEPS {
            let z = 8.0 * f64::from(step) / f64::from(STEPS);
            let weight = (-0.5 * z * z).exp();
            sums.0 += weight * logistic(logit(taxon) + spread * z);
            sums.1 += weight;
        }
        sums.0 / sums.1
    }

    /// The day by which a part of those that root had done so, `z` standard deviations from the middle.
    pub fn day(&self, taxon: usize, z: f64) -> f64 {
        let spread = self.nursery_days.hypot(self.batch_days).hypot(WITHIN);
        middle_day(taxon) * (spread * z).exp()
    }

    /// All parts, nursery by nursery.
    pub fn parts(&self) -> impl Iterator<Item = SimulatedPart> + '_ {
        (0..self.nurseries).flat_map(|nursery| self.nursery(nursery))
    }

    /// The parts of one nursery.
    pub fn nursery(&self, nursery: usize) -> Vec<SimulatedPart> {
        let mut dice = Dice::stream(self.seed, nursery as u64);
        let first = dice.place(self.taxa);
        let effects: Vec<(usize, f64, f64)> = (0..self.grown)
            .map(|at| {
                let taxon = (first + at) % self.taxa;
                let share = self.nursery_spread * normal(&mut dice);
                (taxon, share, self.nursery_days * normal(&mut dice))
            })
            .collect();
        let mut batch = 0;
        let mut seasons = Vec::new();
        for season in 0..self.seasons {
            let open = self.open && season + 1 == self.seasons;
            let mut part = SimulatedPart {
                nursery: format!("nursery-{nursery:05}"),
                season: 2022 + season as i32,
                batches: Vec::new(),
            };
            for &(taxon, share, days) in &effects {
                for _ in 0..=dice.place(self.batches) {
                    batch += 1;
                    let tilt = if self.wood_goes_with_nursery {
                        logistic(3.0 * share)
                    } else {
                        0.5
                    };
                    let soft = dice.unit() < tilt;
                    let softwood = if soft { self.wood_effect } else { 0.0 };
                    let way = BatchWay {
                        taxon,
                        soft,
                        share: logistic(
                            logit(taxon) + share + softwood + self.batch_spread * normal(&mut dice),
                        ),
                        day: middle_day(taxon) * (days + self.batch_days * normal(&mut dice)).exp(),
                        open,
                    };
                    part.batches.push(simulated(&mut dice, &part, batch, way));
                }
            }
            seasons.push(part);
        }
        seasons
    }
}

/// A normal deviate, by the polar method's plain form (Box & Muller 1958).
pub fn normal(dice: &mut Dice) -> f64 {
    let radius = (-2.0 * (1.0 - dice.unit()).ln()).sqrt();
    radius * (std::f64::consts::TAU * dice.unit()).cos()
}

/// A nursery's season.
#[derive(Clone, Debug)]
pub struct SimulatedPart {
    pub nursery: String,
    pub season: i32,
    pub batches: Vec<(PooledFacts, PooledMeasures, Vec<PooledInterval>)>,
}

impl SimulatedPart {
    /// As it is published.
    pub fn file(&self) -> HandoverFile {
        let mut writer = PartWriter::new(&self.nursery, self.season);
        for (facts, measures, intervals) in &self.batches {
            writer
                .batch(facts, measures, &PersonalFacts::default())
                .unwrap();
            for interval in intervals {
                writer.interval(facts, measures, interval).unwrap();
            }
        }
        let (mut file, _) = writer.finish();
        file.name = format!("nursery={}/{}", self.nursery, file.name);
        file
    }

    /// As it is gathered, under a name of its own.
    pub fn whole(self) -> WholePart {
        let name = format!("{}-{}", self.nursery, self.season);
        let intervals = self.batches.iter().flat_map(|it| it.2.clone()).collect();
        WholePart {
            name,
            nursery: self.nursery,
            season: self.season,
            batches: self.batches.into_iter().map(|it| (it.0, it.1)).collect(),
            intervals,
            aliases: Vec::new(),
        }
    }
}

struct BatchWay {
    taxon: usize,
    soft: bool,
    share: f64,
    day: f64,
    open: bool,
}

fn simulated(
    dice: &mut Dice,
    part: &SimulatedPart,
    batch: u32,
    way: BatchWay,
) -> (PooledFacts, PooledMeasures, Vec<PooledInterval>) {
    let stuck = 24 + dice.below(25);
    let offset = dice.below(7);
    let last = if way.open { 7 + dice.below(60) } else { LAST };
    let looks: Vec<u32> = (0..)
        .map(|at| 5 + offset + 7 * at)
        .take_while(|day| *day < last)
        .chain([last])
        .collect();
    let mut intervals = Vec::new();
    let mut milestones = [None; 3];
    let mut fates = Vec::new();
    for _ in 0..stuck {
        let roots = dice.unit() < way.share;
        let day = way.day * (WITHIN * normal(dice)).exp();
        fates.push((roots, if roots { day } else { 5.0 + 80.0 * dice.unit() }));
    }
    for (milestone, pace) in Milestone::ALL.into_iter().zip([0.4, 1.0, 1.5]) {
        let mut counts = std::collections::BTreeMap::new();
        for (roots, day) in &fates {
            let day = if *roots { pace * day } else { *day };
            let status = if *roots {
                IntervalStatus::Reached
            } else {
                IntervalStatus::Lost
            };
            let at = looks.partition_point(|look| f64::from(*look) < day);
            let before = |at: usize| at.checked_sub(1).map_or(0, |at| looks[at]);
            let key = match looks.get(at) {
                Some(&right) => (status, before(at), Some(right)),
                // What is there when a batch is closed and has not rooted is given up.
                None if !way.open && milestone != Milestone::Bottom => {
                    (IntervalStatus::Lost, before(looks.len() - 1), Some(last))
                }
                None => (IntervalStatus::NotYet, last, None),
            };
            *counts.entry(key).or_insert(0.0) += 1.0;
        }
        let sum = |wanted: IntervalStatus| -> f64 {
            let of = counts.iter().filter(|it| it.0.0 == wanted);
            of.map(|it| it.1).sum()
        };
        milestones[milestone as usize] = Some(PooledMilestone {
            examined: true,
            reached: sum(IntervalStatus::Reached),
            counted: stuck.into(),
            watched: if way.open {
                sum(IntervalStatus::NotYet)
            } else {
                0.0
            },
            at_sticking: false,
            backwards: false,
        });
        intervals.extend(
            counts
                .iter()
                .map(|(&(status, left, right), &weight)| PooledInterval {
                    batch,
                    milestone,
                    left,
                    right,
                    status,
                    weight,
                }),
        );
    }
    let [callus, root, bottom] = milestones.map(Option::unwrap);
    let lost = fates
        .iter()
        .filter(|(roots, day)| !roots && *day <= f64::from(last))
        .count();
    let taxon = taxon_name(way.taxon);
    let facts = PooledFacts {
        nursery: part.nursery.clone(),
        season: part.season,
        batch,
        taxon_written: taxon.clone(),
        taxon,
        wood: Some(if way.soft { "softwood" } else { "semi-ripe" }.to_owned()),
        week: format!("{}-W{:02}", part.season, 20 + dice.below(20)),
        cover: Some(["mist", "frame"][dice.place(2)].to_owned()),
        hormone: Some("IBA 3000 ppm talc".to_owned()),
        medium: None,
        cut: Some("nodal".to_owned()),
        piece: None,
    };
    let measures = PooledMeasures {
        batch,
        replicate: batch,
        stuck,
        lost: lost as u32,
        closed: !way.open,
        age: if way.open { last } else { last + 300 },
        guesses: 0,
        sampled: 0,
        unexplained: 0,
        callus,
        root,
        bottom,
    };
    (facts, measures, intervals)
}
