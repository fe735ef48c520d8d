//! How often a tie between the air and the cuttings' fate is declared where there is none. It sums nothing up.

use super::claims::{Claim, Experiment, Found};
use super::simulated::writing::entry;
use chrono::{Days, NaiveDate};
use struck::analysis::air::lived::PlaceAirs;
use struck::analysis::air::matters::{TieQuestion, TieVerdict, matters};
use struck::fold::Book;
use struck::fold::selection::Selection;
use struck::model::entry::Entry;
use struck::stats::bootstrap::Resampling;
use struck::stats::dice::Dice;

const TIES: &[Claim] = &[Claim::at_most(
    "any tie to the air where there is none",
    0.07,
)];

pub fn experiments() -> Vec<Experiment> {
    vec![
        Experiment::new("air, places of their own luck", [400, 300], TIES, |seed| {
            declared(0.0, seed)
        }),
        Experiment::new(
            "air, and a season's luck that goes with its weather",
            [400, 0],
            TIES,
            |seed| declared(0.01, seed),
        ),
    ]
}

/// Six places over three seasons, each with an air and a luck of its own that have nothing to do with each other, and a season's
/// weather with which luck goes by so much.
fn declared(weathers: f64, seed: u64) -> Vec<Found> {
    let mut dice = Dice::new(50_000 + seed);
    let places: Vec<(f64, f64)> = (0..6)
        .map(|_| (65.0 + 25.0 * dice.unit(), 0.3 + 0.5 * dice.unit()))
        .collect();
    let mut out: Vec<Entry> = Vec::new();
    for season in 0..3 {
        let weather = 8.0 * dice.unit();
        for (at, (humid, luck)) in places.iter().enumerate() {
            let start = NaiveDate::from_ymd_opt(2024 + season, 5, 1).unwrap();
            for ahead in (1..20).step_by(3) {
                let on = start + Days::new(ahead);
                let rh = (humid - weather + 2.0 * dice.unit()).round();
                for hour in [0, 6, 12, 18] {
                    let time = format!("{on}T{hour:02}:00:00Z");
                    let text = format!("climate place=bench_{at} air_c=22 rh_pct={rh} medium_c=20");
                    out.push(entry(&format!("C{}", out.len()), time, &text));
                }
            }
            for batch in 0..3 {
                let share = luck - weathers * weather + 0.1 * (dice.unit() - 0.5);
                let rooted = (40.0 * share.clamp(0.0, 1.0)).round() as u32;
                let lost = 40 - rooted;
                let lines = [
                    (
                        0,
                        format!(
                            "stick taxon=Hebe_albicans stuck=40 place=bench_{at} source=s{batch}"
                        ),
                    ),
                    (
                        21,
                        format!("look how=lift rooted={rooted} lost.blackened={lost}"),
                    ),
                    (22, format!("pot count={rooted}")),
                ];
                for (ahead, text) in lines {
                    if !text.ends_with("count=0") {
                        let text = format!("{text} batch=B{season}{at}{batch}");
                        out.push(entry(
                            &format!("E{}", out.len()),
                            start + Days::new(ahead),
                            &text,
                        ));
                    }
                }
            }
        }
    }
    let book = Book::from_entries(out);
    let ask = TieQuestion {
        question: Selection::default(),
        days: 20,
        how: Resampling {
            resamples: 199,
            seed: 1,
            level: 0.95,
        },
        draws: 999,
    };
    let told = matters(&mut PlaceAirs::new(&book), &ask);
    let tied = |verdict| matches!(verdict, TieVerdict::More | TieVerdict::Less);
    vec![Found::of(told.ties.iter().any(|tie| tied(tie.verdict)))]
}
