//! How plans and progress are worded, on paper and on screens alike. It plans nothing.

use super::dates::{Calendar, day_month};
use super::figures::{chance, percent};
use crate::analysis::expect::ladder::Rung;
use crate::analysis::plan::{Choice, InHand, Offer, Plan, RoomAsked, StickingWindow};
use crate::analysis::plan::{PlantsInPots, TaxonInPots};

/// What counts as a plant, by the last rung that the journal knows.
#[must_use]
pub fn unit(rung: Rung, count: u32) -> &'static str {
    match (rung, count) {
        (Rung::Ready, 1) => "saleable plant",
        (Rung::Ready, _) => "saleable plants",
        (Rung::Potted, 1) => "young plant in its pot",
        (Rung::Potted, _) => "young plants in pots",
        (Rung::Rooted, 1) => "rooted cutting",
        (Rung::Rooted, _) => "rooted cuttings",
    }
}

/// What is wanted: `60 Weigela florida by 30 Sep, with 90 % assurance`.
#[must_use]
pub fn wanted(plan: &Plan, calendar: Calendar) -> String {
    let wanted = &plan.wanted;
    let wood = wanted
        .wood
        .map_or_else(String::new, |wood| format!(", {}", wood.word()));
    format!(
        "{} {}{wood} by {}, with {} % assurance",
        wanted.plants,
        wanted.taxon.shown(),
        calendar.day(wanted.by),
        percent(wanted.assurance)
    )
}

/// What is in hand, in a sentence; nothing if no batch counts.
#[must_use]
pub fn in_hand(plan: &Plan) -> Option<String> {
    let InHand {
        batches,
        ready,
        expected,
        p80,
        chance: enough,
        ..
    } = &plan.hand;
    if batches.is_empty() {
        return None;
    }
    let codes: Vec<&str> = batches.iter().map(|b| b.code.as_str()).collect();
    let ready = match ready {
        0 => String::new(),
        n => format!(", {n} saleable now"),
    };
    let range = if p80.low == p80.high {
        String::new()
    } else {
        format!(" ({}-{})", p80.low, p80.high)
    };
    Some(format!(
        "In hand ({}){ready}: expect {expected:.0}{range} {} by then; chance that this is enough: {}.{}",
        codes.join(", "),
        unit(plan.rung, plan.wanted.plants),
        chance(*enough),
        warned(&plan.hand)
    ))
}

/// What must be known of the batches in hand, by the plant wanted: one sentence each.
#[must_use]
pub fn warned_of(plan: &Plan) -> Vec<String> {
    let said = warned(&plan.hand);
    let taxon = plan.wanted.taxon.shown();
    let some = (!said.is_empty()).then(|| format!("{taxon}:{said}"));
    some.into_iter().collect()
}

/// The same in sentences with a space before each.
fn warned(hand: &InHand) -> String {
    let codes = |is: fn(&crate::analysis::plan::BatchInHand) -> bool| -> String {
        let those = hand.batches.iter().filter(|batch| is(batch));
        those
            .map(|b| b.code.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    let mut out = String::new();
    for (codes, what) in [
        (codes(|b| b.failing), "Failing, and expected to lose more"),
        (
            codes(|b| b.lost_sight_of),
            "Not looked at for so long that their cuttings are not counted",
        ),
    ] {
        if !codes.is_empty() {
            out.push_str(&format!(" {what}: {codes}."));
        }
    }
    out
}

/// A taxon's plants in pots: `42 Weigela florida, 12 ready; 60 wanted by 30 Sep`.
#[must_use]
pub fn pots(held: &TaxonInPots, calendar: Calendar) -> String {
    let plants: u32 = held.batches.iter().map(|batch| batch.plants).sum();
    let ready: u32 = held.batches.iter().map(|batch| batch.ready).sum();
    let wanted = held
        .wanted
        .iter()
        .map(|(count, by)| format!("; target {count} by {}", calendar.day(*by)));
    let (taxon, wanted) = (held.taxon.shown(), wanted.collect::<String>());
    format!("{plants} {taxon}, {ready} saleable{wanted}")
}

/// One batch's plants in pots: `26-001: 18, none saleable, potted 3 Jul, 48 d ago; expect half of them saleable by 12 Sep`.
#[must_use]
pub fn potted(batch: &PlantsInPots, calendar: Calendar) -> String {
    let PlantsInPots {
        code,
        plants,
        ready,
        potted_on,
        ready_on,
    } = batch;
    let (ready, those) = match ready {
        0 => ("none saleable".to_owned(), "them"),
        n => (format!("{n} saleable"), "the others"),
    };
    let since = potted_on.map_or_else(String::new, |day| {
        let days = (calendar.today - day).num_days();
        format!(", potted {}, {days} d ago", calendar.day(day))
    });
    let to_come = ready_on.map_or_else(String::new, |day| {
        format!("; expect half of {those} saleable by {}", calendar.day(day))
    });
    format!("{code}: {plants}, {ready}{since}{to_come}")
}

/// Whether nothing more need be stuck.
#[must_use]
pub fn is_covered(plan: &Plan) -> bool {
    plan.hand.chance >= plan.wanted.assurance
}

/// The days of a window: `18 May to 25 Jun`.
#[must_use]
pub fn window(window: &StickingWindow, calendar: Calendar) -> String {
    let year = chrono::Datelike::year(&calendar.today);
    let Some((first, last)) = window.days_in(year) else {
        return String::new();
    };
    if first == last {
        return format!("on {}", day_month(first));
    }
    format!("between {} and {}", day_month(first), day_month(last))
}

/// An offer as a command to oneself: `Stick 76 softwood, 2 batches of 38, 2 trays, by Thu 25 Jun: 91 %.`
#[must_use]
pub fn offer(offer: &Offer, more: bool, calendar: Calendar) -> String {
    let wood = offer.wood.map_or("", |wood| wood.word());
    let cuttings = offer.stick;
    if cuttings == 0 {
        let none = "no number of cuttings gives that assurance";
        return match wood {
            "" => format!("By what is known, {none}."),
            wood => format!("{wood}: {none}."),
        };
    }
    let each = offer.batches.first().copied().unwrap_or(0);
    let about = if offer.batches.iter().all(|n| *n == each) {
        ""
    } else {
        "about "
    };
    let batches = match offer.batches.len() {
        1 => "1 batch".to_owned(),
        n => format!("{n} batches of {about}{each}"),
    };
    let trays = match offer.trays {
        None => String::new(),
        Some(1) => ", 1 tray".to_owned(),
        Some(n) => format!(", {n} trays"),
    };
    let more = if more { " more" } else { "" };
    let wood = if wood.is_empty() {
        String::new()
    } else {
        format!(" {wood}")
    };
    let chance = chance(offer.chance);
    let what = format!("{cuttings}{more}{wood}, {batches}{trays}");
    match offer.latest {
        Some(day) if day == calendar.today => {
            format!("Stick {what}, today at the latest: {chance} chance.")
        }
        Some(day) => format!(
            "Stick {what}, by {} at the latest: {chance} chance.",
            calendar.day(day)
        ),
        None => {
            format!("Too late for that day. For a later day, stick {what}: {chance} chance.")
        }
    }
}

/// How many batches a figure rests on.
fn history(told: u32) -> String {
    match told {
        0 => "no batch of this kind to go by".to_owned(),
        1 => "from 1 batch of this kind".to_owned(),
        n => format!("from {n} batches of this kind"),
    }
}

/// More cuttings to a plant than this are no plan, but a want of knowledge.
const MOST_A_PLANT: u32 = 10;

/// What an offer rests on, in a few sentences.
#[must_use]
pub fn grounds(offer: &Offer, plan: &Plan, calendar: Calendar) -> Vec<String> {
    let mut out = Vec::new();
    if offer.stick > MOST_A_PLANT.saturating_mul(plan.wanted.plants) {
        out.push(
            "That is more than ten cuttings to a plant: too little is known of this kind to plan by. Stick one batch, see how it does, and plan anew."
                .to_owned(),
        );
    }
    if !offer.fewer.is_empty() {
        let each = offer
            .fewer
            .iter()
            .map(|f| format!("{} give {}", f.cuttings, chance(f.chance)));
        out.push(format!(
            "With fewer the chance falls: {}.",
            each.collect::<Vec<_>>().join(", ")
        ));
    }
    // Of plants in pots the day is that on which they can be potted, which may wait for hands.
    let about = match plan.rung {
        Rung::Potted => " ready to pot",
        Rung::Rooted | Rung::Ready => "",
    };
    let days = match offer.latest {
        Some(_) => format!(
            "half of them{about} by day {:.0}; allow {:.0} days for the assurance",
            offer.days.middle, offer.days.assured
        ),
        None => format!("half of them{about} by day {:.0}", offer.days.middle),
    };
    out.push(format!(
        "Expect {} % of the cuttings to become {}, {days} ({}).",
        percent(offer.share),
        unit(plan.rung, 2),
        history(offer.told)
    ));
    if let Some(held) = &offer.window {
        let whose = if held.own { "it" } else { "this wood" };
        out.push(format!(
            "In past years you stuck {whose} {}.",
            window(held, calendar)
        ));
    }
    if let Some(day) = offer.instead {
        out.push(format!(
            "Stuck at the next such time, they are expected{about} by {}.",
            calendar.day(day)
        ));
    }
    out
}

/// Chances closer than this are one to a grower (our own rule).
const LITTLE: f64 = 0.05;

/// Wait or stick again, in two or three sentences.
#[must_use]
pub fn choice(choice: &Choice, calendar: Calendar) -> Vec<String> {
    let mut out = vec![format!(
        "Wait: {} chance of {} {} by {}.",
        chance(choice.wait),
        choice.plants,
        unit(choice.rung, choice.plants),
        calendar.day(choice.by)
    )];
    let Some(fresh) = &choice.fresh else {
        out.push("Stick again: nobody can tell, since this plant was never stuck at this time of the year.".into());
        return out;
    };
    let wood = fresh
        .wood
        .map_or_else(String::new, |wood| format!(" {}", wood.word()));
    out.push(format!(
        "Stick again today, {}{wood}: {} chance ({}).",
        fresh.stuck,
        chance(fresh.chance),
        history(fresh.told)
    ));
    out.push(match (choice.wait >= 0.1, choice.wait >= fresh.chance) {
        (false, _) if fresh.chance < 0.1 => {
            "Neither is likely: stick more, or choose a later day.".into()
        }
        _ if (choice.wait - fresh.chance).abs() < LITTLE => {
            "Both chances are much the same; waiting takes no more cuttings.".into()
        }
        (_, true) => "Waiting has the better chance.".into(),
        (_, false) => "Sticking again has the better chance.".into(),
    });
    out
}

/// The room at a place: `mist bench: 15 of 36 trays free, 12 asked for`.
#[must_use]
pub fn room(asked: &RoomAsked) -> String {
    let room = &asked.room;
    let short = if asked.asked > room.free() {
        ": not enough"
    } else {
        ""
    };
    format!(
        "{}: {} of {} trays are free, {} needed{short}.",
        room.place,
        room.free(),
        room.trays,
        asked.asked
    )
}
