//! Simulated journals of which everything is known: batches with effects of their own and of their season on how many
//! root and how soon, losses, looks at a part, early potting, lots of readiness, failed trays thrown out. Pure and
//! seeded; it judges nothing.

use super::writing::{entry, normal};
use chrono::{Days, NaiveDate};
use struck::fold::Book;
use struck::model::entry::Entry;
use struck::stats::dice::Dice;

/// What is true of one way of doing it.
#[derive(Clone, Debug)]
pub struct Way {
    /// Facts at sticking, as `wood=softwood place=mist_bench`.
    pub facts: String,
    /// Batches, and cuttings in each.
    pub batches: (u32, u32),
    /// Share that roots, at the middle of the batches.
    pub strike: f64,
    /// Median days to root of those that do.
    pub days: f64,
    /// Standard deviation of a batch's effect on the logit of its share.
    pub spread: f64,
    /// The first batch is stuck on this day, each later one so many days on.
    pub stuck: (u64, u64),
}

/// What is true of the whole journal.
#[derive(Clone, Debug)]
pub struct World {
    /// Days between looks.
    pub every: u64,
    /// Every look falls on one of these days for all batches; else each batch has a rhythm of its own.
    pub together: bool,
    /// Standard deviation of ln days within a batch, between batches, between seasons.
    pub speeds: [f64; 3],
    /// Standard deviation of a season's effect on the logit of the share.
    pub season: f64,
    /// Chance that one which does not root is blackened rather than idle.
    pub losses: f64,
    /// Chance of a look at a part only.
    pub parts: f64,
    /// Share rooted from which the rooted are potted and the rest watched on; above 1 for never.
    pub potted_at: f64,
    /// A tray of which fewer than this share has rooted by day 35 is thrown out.
    pub thrown_out: f64,
    /// On this day since sticking all that is left is potted or given up; never, if absent.
    pub closed: Option<u64>,
    /// Nothing is known after this day of the journal.
    pub until: u64,
}

impl Default for World {
    fn default() -> Self {
        Self {
            every: 7,
            together: false,
            speeds: [0.2, 0.1, 0.0],
            season: 0.0,
            losses: 0.5,
            parts: 0.0,
            potted_at: 2.0,
            thrown_out: 0.0,
            closed: Some(84),
            until: 1_000,
        }
    }
}

/// A journal of these ways, all of one taxon.
pub fn journal(world: &World, ways: &[Way], seed: u64) -> Vec<Entry> {
    let mut dice = Dice::new(seed);
    let mut out = Vec::new();
    let mut number = 0;
    let seasons: Vec<[f64; 2]> = (0..8)
        .map(|_| {
            [
                world.season * normal(&mut dice),
                world.speeds[2] * normal(&mut dice),
            ]
        })
        .collect();
    for way in ways {
        for at in 0..way.batches.0 {
            let day = way.stuck.0 + u64::from(at) * way.stuck.1;
            let season = seasons[(day / 365) as usize % seasons.len()];
            let mut batch = Batch::new(world, way, day, season, &mut dice);
            batch.live(world, way, number, &mut dice, &mut out);
            number += 1;
        }
    }
    out
}

/// The same, folded.
pub fn book(world: &World, ways: &[Way], seed: u64) -> Book {
    Book::from_entries(journal(world, ways, seed))
}

/// A cutting still on the bench: the days of callus, root, roots at the bottom, and death.
struct Cutting {
    reached: [u64; 3],
    dies: u64,
}

/// A day that never comes.
const NEVER: u64 = u64::MAX;

struct Batch {
    stuck_on: u64,
    bench: Vec<Cutting>,
    potted: usize,
}

impl Batch {
    fn new(world: &World, way: &Way, day: u64, [more, slower]: [f64; 2], dice: &mut Dice) -> Self {
        let logit = (way.strike / (1.0 - way.strike)).ln() + way.spread * normal(dice) + more;
        let share = 1.0 / (1.0 + (-logit).exp());
        let middle = way.days.ln() + world.speeds[1] * normal(dice) + slower;
        let cutting = |dice: &mut Dice| {
            let root = (middle + world.speeds[0] * normal(dice)).exp();
            let at = |part: f64| (part * root).ceil().max(1.0) as u64;
            if dice.unit() < share {
                let reached = [at(0.6), at(1.0), at(1.25)];
                return Cutting {
                    reached,
                    dies: NEVER,
                };
            }
            let dies = 5 + u64::from(dice.below(60));
            let dies = if dice.unit() < world.losses {
                dies
            } else {
                NEVER
            };
            let callus = if dice.unit() < 0.5 { at(0.6) } else { NEVER };
            let reached = [callus, NEVER, NEVER];
            Cutting { reached, dies }
        };
        Self {
            stuck_on: day,
            bench: (0..way.batches.1).map(|_| cutting(dice)).collect(),
            potted: 0,
        }
    }

    fn live(
        &mut self,
        world: &World,
        way: &Way,
        number: u32,
        dice: &mut Dice,
        out: &mut Vec<Entry>,
    ) {
        let mut writer = Writer {
            number,
            lines: 0,
            out,
        };
        let n = way.batches.1;
        let stick = format!("stick taxon=Weigela_florida stuck={n} {}", way.facts);
        writer.write(self.stuck_on, &stick);
        let start = if world.together {
            world.every - self.stuck_on % world.every
        } else {
            1 + u64::from(dice.below(world.every as u32))
        };
        let last = world.closed.unwrap_or(NEVER - 1);
        let mut age = start;
        while !self.bench.is_empty() && self.stuck_on + age <= world.until {
            let closing = age >= last;
            self.look(world, age, closing, dice, &mut writer);
            self.leave(world, age, closing, &mut writer);
            if age > 400 {
                return;
            }
            age += world.every;
        }
        self.ready(age, world, dice, &mut writer);
    }

    /// A tally of all, or of a part, with what has died since.
    fn look(&mut self, world: &World, age: u64, whole: bool, dice: &mut Dice, writer: &mut Writer) {
        let before = self.bench.len();
        self.bench.retain(|it| it.dies > age);
        let lost = before - self.bench.len();
        let some = !whole && self.bench.len() > 8 && dice.unit() < world.parts;
        let seen = if some { 8 } else { self.bench.len() };
        dice.choose_first(&mut self.bench, seen);
        let past = |milestone: usize| {
            let tallied = self.bench[..seen].iter();
            tallied.filter(|it| it.reached[milestone] <= age).count()
        };
        let [callused, rooted, bottom] = [past(0), past(1), past(2)];
        let mut text = format!(
            "look how=lift seen={seen} callused={} rooted={} bottom={bottom}",
            callused - rooted,
            rooted - bottom
        );
        if lost > 0 {
            text.push_str(&format!(" lost.blackened={lost}"));
        }
        writer.write(self.stuck_on + age, &text);
    }

    /// What is potted, thrown out, or cleared away after a look.
    fn leave(&mut self, world: &World, age: u64, closing: bool, writer: &mut Writer) {
        let day = self.stuck_on + age;
        let rooted = self.bench.iter().filter(|it| it.reached[1] <= age).count();
        let share = rooted as f64 / self.bench.len().max(1) as f64;
        if rooted > 0 && (closing || share >= world.potted_at) {
            writer.write(day, &format!("pot count={rooted}"));
            self.bench.retain(|it| it.reached[1] > age);
            self.potted += rooted;
        }
        let failed = age >= 35 && self.potted == 0 && share < world.thrown_out;
        if (closing || failed) && !self.bench.is_empty() {
            let rest = self.bench.len();
            writer.write(day, &format!("discard count={rest} why=given-up"));
            self.bench.clear();
        }
    }

    /// Plants fit to sell, in lots.
    fn ready(&mut self, age: u64, world: &World, dice: &mut Dice, writer: &mut Writer) {
        let mut left = self.potted;
        for lot in 1..=4 {
            let day = self.stuck_on + age + 20 * lot;
            let take = if lot == 4 { left } else { (left / 2).min(left) };
            if take > 0 && day <= world.until && dice.unit() < 0.9 {
                writer.write(day, &format!("ready count={take} from=pots"));
                left -= take;
            }
        }
    }
}

/// Writes one batch's entries.
struct Writer<'o> {
    number: u32,
    lines: u32,
    out: &'o mut Vec<Entry>,
}

impl Writer<'_> {
    fn write(&mut self, day: u64, text: &str) {
        let start = NaiveDate::from_ymd_opt(2024, 3, 1).unwrap();
        let at = start + Days::new(day);
        let code = format!("S{:03}", self.number);
        let id = format!("{code}-{:03}", self.lines);
        self.lines += 1;
        self.out
            .push(entry(&id, at, &format!("{text} batch={code}")));
    }
}
