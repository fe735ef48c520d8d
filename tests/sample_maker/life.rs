//! The life of one sample batch as the nursery enters it: sticking, looks of every sort, potting, giving up.

use super::air::Spot;
use super::dice::Dice;
use super::fate::{self, Cutting, Stage};
use super::pen::Pen;
use super::taxa::{Nature, Plant};
use chrono::{Days, NaiveDate};
use struck::model::composite::{Dose, Heat, Hormone, Lost, SpokenGuesses};
use struck::model::entry::{Discard, Kind, Look, Move, Pot, Ready, Sold, Stick};
use struck::model::id::Id;
use struck::model::listed::{
    Carrier, Cause, CountedFrom, Cover, Cut, CuttingPiece, DiscardReason, Firmness, Guess,
    LookMethod, Wood,
};
use struck::model::value::{Celsius, Millimetres, Ppm};

/// What is decided before a batch is stuck.
#[derive(Clone, Copy, Debug)]
pub struct Order<'a> {
    /// The plant.
    pub plant: &'a Plant,
    /// At which wood stage.
    pub nature: &'a Nature,
    /// How many.
    pub stuck: u32,
    /// The day.
    pub on: NaiveDate,
    /// Where.
    pub spot: &'a Spot,
    /// Where on it, if the place has spots.
    pub position: Option<u32>,
    /// Trial and arm.
    pub trial: Option<(&'a str, &'a str)>,
    /// The stock plant.
    pub source: Option<&'a str>,
    /// Rooting hormone in ppm, 0 for none.
    pub ppm: f64,
}

impl Order<'_> {
    /// The place as the nursery writes it.
    #[must_use]
    pub fn place(&self) -> String {
        match self.position {
            Some(position) => format!("{}/{position}", self.spot.name),
            None => self.spot.name.to_owned(),
        }
    }

    fn stick(&self, code: &str, dice: &mut Dice) -> Stick {
        let soft = self.nature.wood == Wood::Softwood;
        let hormone = if self.ppm > 0.0 {
            Hormone::Doses(vec![Dose {
                active: "IBA".into(),
                ppm: Some(Ppm(self.ppm)),
                carrier: Some(Carrier::Talc),
                dip_s: None,
            }])
        } else {
            Hormone::None
        };
        Stick {
            batch: code.into(),
            taxon: self.plant.name.into(),
            stuck: self.stuck,
            taken: None,
            wood: Some(self.nature.wood),
            cut: Some(if soft || dice.chance(0.7) {
                Cut::Nodal
            } else {
                Cut::Heel
            }),
            piece: Some(CuttingPiece::Tip),
            firmness: dice.chance(0.5).then_some(if soft {
                Firmness::Bends
            } else {
                Firmness::Snaps
            }),
            nodes: Some(dice.whole(2, 4)),
            length_mm: dice
                .chance(0.6)
                .then(|| Millimetres(f64::from(dice.whole(6, 12)) * 10.0)),
            leaves: None,
            wounded: None,
            hormone: dice.chance(0.92).then_some(hormone),
            medium: Some(
                (*dice.one_of(&["bark:perlite 1:1", "bark:perlite 1:1", "peat-free:grit 2:1"]))
                    .into(),
            ),
            container: Some("tray".into()),
            per_container: Some(self.stuck.min(48)),
            per_plant: None,
            place: Some(self.place().into()),
            cover: Some(self.spot.cover),
            heat_c: Some(
                self.spot
                    .heat
                    .map_or(Heat::None, |heat| Heat::To(Celsius(heat))),
            ),
            blade: None,
            source: self.source.map(Into::into),
            trial: self.trial.map(|(trial, _)| trial.into()),
            arm: self.trial.map(|(_, arm)| arm.into()),
            again: None,
            aside: None,
        }
    }
}

/// A batch while it lives: which cuttings are still on the bench, and what was already removed.
pub struct Life<'a> {
    order: &'a Order<'a>,
    code: String,
    key: Id,
    bench: Vec<Cutting>,
    pots: u32,
}

/// Enters a batch from sticking to its end, or to the end of the sample. A batch that is to be
/// `parted` has a part of it moved to the frame at the second look, under the next code.
pub fn enter(
    order: &Order<'_>,
    codes: [&str; 2],
    parted: bool,
    pens: [&mut Pen; 2],
    dice: &mut Dice,
) {
    let [code, part_code] = codes;
    let [pen, other] = pens;
    let stick = order.stick(code, dice);
    let Some(key) = pen.enter(order.on, None, stick, dice) else {
        return;
    };
    let bench = fate::draw(order.nature, order.stuck, order.on, order.spot.name, dice);
    let mut life = Life {
        order,
        code: code.into(),
        key,
        bench,
        pots: 0,
    };
    let ages = visits(order.nature, dice);
    let mut part = None;
    for (at, age) in ages.iter().copied().enumerate() {
        if parted && at == 2 {
            part = life.part(ages[1], part_code, pen, dice);
        }
        life.pass(age, pen, other, dice);
    }
    life.sell(pen, dice);
    if let Some(mut part) = part {
        ages[2..]
            .iter()
            .for_each(|age| part.pass(*age, pen, other, dice));
        part.sell(pen, dice);
    }
}

/// The ages at which the nursery means to look, late ones among them.
fn visits(nature: &Nature, dice: &mut Dice) -> Vec<u32> {
    let (first, step) = match nature.wood {
        Wood::Softwood => (dice.whole(8, 13), (5, 9)),
        Wood::Hardwood => (dice.whole(30, 45), (14, 25)),
        _ => (dice.whole(14, 22), (6, 12)),
    };
    let mut ages = vec![first];
    while let Some(last) = ages
        .last()
        .copied()
        .filter(|last| *last < fate::LONGEST - 40)
    {
        let late = if dice.chance(0.08) {
            dice.whole(9, 20)
        } else {
            0
        };
        ages.push(last + dice.whole(step.0, step.1) + late);
    }
    ages
}

impl Life<'_> {
    fn day(&self, age: u32) -> NaiveDate {
        self.order.on + Days::new(u64::from(age))
    }

    /// Takes the dead away and says of what they died; some causes nobody can tell.
    fn clear_dead(&mut self, age: u32, dice: &mut Dice) -> Option<Lost> {
        let mut lost = Lost::default();
        self.bench.retain(|cutting| match cutting.dead(age) {
            Some(cause) => {
                lost.add(
                    if dice.chance(0.04) {
                        Cause::Unknown
                    } else {
                        cause
                    },
                    1,
                );
                false
            }
            None => true,
        });
        (lost.total() > 0).then_some(lost)
    }

    /// One day on which the nursery means to look, on whichever machine is at hand.
    fn pass(&mut self, age: u32, pen: &mut Pen, other: &mut Pen, dice: &mut Dice) {
        let pen = if dice.chance(0.25) { other } else { pen };
        if !self.bench.is_empty() && pen.reaches(self.day(age)) {
            self.visit(age, pen, dice);
        }
    }

    /// Half of what remains goes to the frame as a batch of its own.
    fn part(&mut self, age: u32, code: &str, pen: &mut Pen, dice: &mut Dice) -> Option<Self> {
        let count = self.bench.len() / 2;
        let moved = Move {
            batch: self.code.as_str().into(),
            stick: Some(self.key.clone()),
            place: Some("closed frame/3".into()),
            cover: Some(Cover::Frame),
            heat_c: None,
            count: Some(count as u32),
            into: Some(code.into()),
            again_on: None,
        };
        let key = pen
            .enter(self.day(age), None, moved, dice)
            .filter(|_| count > 0)?;
        let bench = self.bench.split_off(self.bench.len() - count);
        Some(Self {
            order: self.order,
            code: code.into(),
            key,
            bench,
            pots: 0,
        })
    }

    fn visit(&mut self, age: u32, pen: &mut Pen, dice: &mut Dice) {
        let lost = self.clear_dead(age, dice);
        let rooted = self.at_least(age, Stage::Rooted);
        let bottom = self.at_least(age, Stage::Bottom);
        let remain = self.bench.len() as u32;
        let full = remain > 0 && f64::from(bottom) >= 0.6 * f64::from(remain);
        let over = age > self.order.nature.patience();
        if full || over {
            self.finish(age, rooted, over, lost, pen, dice);
        } else {
            let look = self.look(age, lost, dice);
            pen.enter(self.day(age), None, look, dice);
        }
    }

    fn at_least(&self, age: u32, stage: Stage) -> u32 {
        self.bench
            .iter()
            .filter(|cutting| cutting.stage(age) >= stage)
            .count() as u32
    }

    /// One look in the way that the day's haste allows.
    fn look(&self, age: u32, lost: Option<Lost>, dice: &mut Dice) -> Look {
        let remain = self.bench.len();
        let mut look = Look {
            batch: self.code.as_str().into(),
            stick: Some(self.key.clone()),
            how: Some(LookMethod::Glance),
            seen: None,
            callused: None,
            rooted: None,
            bottom: None,
            about: None,
            lost: lost.map(Box::new),
            again_on: None,
        };
        match dice.share() {
            _ if remain == 0 => {}
            s if s < 0.07 && look.lost.is_some() => {}
            s if s < 0.17 => {
                look.how = Some(LookMethod::Tug);
                look.seen = Some(remain as u32);
                look.rooted = Some(self.at_least(age, Stage::Rooted));
            }
            s if s < 0.24 => {
                look.how = Some(LookMethod::Under);
                look.seen = Some(remain as u32);
                look.bottom = Some(self.at_least(age, Stage::Bottom));
            }
            s if s < 0.29 => self.speak(age, &mut look),
            s => self.lift(
                age,
                if s < 0.55 && remain > 24 {
                    dice.whole(10, 16) as usize
                } else {
                    remain
                },
                &mut look,
                dice,
            ),
        }
        look
    }

    /// Some or all lifted and counted.
    fn lift(&self, age: u32, seen: usize, look: &mut Look, dice: &mut Dice) {
        let mut order: Vec<usize> = (0..self.bench.len()).collect();
        for at in (1..order.len()).rev() {
            order.swap(at, dice.whole(0, at as u32) as usize);
        }
        let count = |stage| {
            let at = |i: &&usize| self.bench[**i].stage(age) == stage;
            order.iter().take(seen).filter(at).count() as u32
        };
        let some = |n: u32| (n > 0).then_some(n);
        look.how = Some(LookMethod::Lift);
        look.seen = Some(seen as u32);
        look.callused = some(count(Stage::Callused));
        look.rooted = some(count(Stage::Rooted));
        look.bottom = some(count(Stage::Bottom));
    }

    /// A guess from the path.
    fn speak(&self, age: u32, look: &mut Look) {
        let remain = self.bench.len() as f64;
        let callused = self
            .bench
            .iter()
            .filter(|c| c.stage(age) == Stage::Callused)
            .count() as f64;
        let rooted = self
            .bench
            .iter()
            .filter(|c| c.stage(age) == Stage::Rooted)
            .count() as f64;
        let bottom = f64::from(self.at_least(age, Stage::Bottom));
        let guess = |n: f64| match n / remain {
            s if s <= 0.01 => Guess::None,
            s if s <= 0.30 => Guess::Few,
            s if s <= 0.70 => Guess::Half,
            s if s <= 0.95 => Guess::Most,
            _ => Guess::All,
        };
        look.how = Some(LookMethod::Lift);
        look.seen = Some(self.bench.len() as u32);
        look.about = Some(SpokenGuesses {
            callused: Some(guess(callused)),
            rooted: Some(guess(rooted)),
            bottom: Some(guess(bottom)),
        });
    }

    /// Potting day, or the day that patience ends: look, pot what has rooted, and decide on the rest.
    fn finish(
        &mut self,
        age: u32,
        rooted: u32,
        over: bool,
        lost: Option<Lost>,
        pen: &mut Pen,
        dice: &mut Dice,
    ) {
        let day = self.day(age);
        let mut look = self.look(age, lost, dice);
        look.about = None;
        let all = self.bench.len();
        self.lift(age, all, &mut look, dice);
        pen.enter(day, None, look, dice);
        if rooted > 0 {
            let pot = Pot {
                container: Some("9 cm".into()),
                count: rooted,
                batch: self.code.as_str().into(),
                stick: Some(self.key.clone()),
                place: Some("potting tunnel".into()),
            };
            pen.enter(day, None, pot, dice);
            self.bench
                .retain(|cutting| cutting.stage(age) < Stage::Rooted);
            self.pots += rooted;
        }
        let left = self.bench.len() as u32;
        if left > 0 && (over || (left < 6 && dice.chance(0.7))) {
            let rest = self.discard(left, CountedFrom::Bench, Some(DiscardReason::GivenUp));
            pen.enter(day, None, rest, dice);
            self.bench.clear();
        }
    }

    fn discard(&self, count: u32, from: CountedFrom, why: Option<DiscardReason>) -> Kind {
        let from = (from == CountedFrom::Pots).then_some(from);
        Discard {
            batch: self.code.as_str().into(),
            stick: Some(self.key.clone()),
            count,
            from,
            why,
        }
        .into()
    }

    /// What becomes of the pots: a few die, the rest are made ready and most are sold.
    fn sell(&self, pen: &mut Pen, dice: &mut Dice) {
        let Some(potted_on) = pen
            .entries
            .iter()
            .rev()
            .find_map(|entry| match &entry.kind {
                Kind::Pot(pot) if pot.stick.as_ref() == Some(&self.key) => Some(entry.at.day()),
                _ => None,
            })
        else {
            return;
        };
        let dead = (f64::from(self.pots) * dice.share() * 0.12) as u32;
        let after = |days: u32| potted_on + Days::new(u64::from(days));
        if dead > 0 {
            let why = *dice.one_of(&[
                DiscardReason::Wilted,
                DiscardReason::Eaten,
                DiscardReason::Blackened,
            ]);
            let lost = self.discard(dead, CountedFrom::Pots, Some(why));
            pen.enter(after(dice.whole(10, 30)), None, lost, dice);
        }
        let ready = self.pots - dead;
        if ready == 0 {
            return;
        }
        let when = dice.whole(42, 75);
        let stick = Some(self.key.clone());
        pen.enter(
            after(when),
            None,
            Ready {
                batch: self.code.as_str().into(),
                stick: stick.clone(),
                count: ready,
                from: None,
            },
            dice,
        );
        let sold = (f64::from(ready) * (0.6 + 0.4 * dice.share())) as u32;
        if sold > 0 {
            pen.enter(
                after(when + dice.whole(5, 90)),
                None,
                Sold {
                    batch: self.code.as_str().into(),
                    stick,
                    count: sold,
                },
                dice,
            );
        }
    }
}

impl Nature {
    /// After how many days on the bench the nursery gives up: twice the usual time to the bottom.
    #[must_use]
    pub fn patience(&self) -> u32 {
        (1.9 * (self.callus_days + self.root_days + self.bottom_days)) as u32
    }
}
