//! Forecasts as JSON: the documented shape, in the documented order.

use super::forecast::Of;
use super::json::number;
use crate::analysis::expect::{DayForecast, Forecast, Forecasts};
use crate::analysis::plan::Choice;
use crate::text::forecast::date;
use chrono::NaiveDate;
use serde_json::{Value, json};

/// The whole answer.
#[must_use]
pub fn of(all: &Forecasts, meant: &[Of<'_>], choice: Option<&Choice>) -> Value {
    json!({
        "on": all.on.to_string(),
        "history": all.history,
        "batches": meant.iter().map(|one| batch(*one, all.on)).collect::<Vec<_>>(),
        "silent": all.silent,
        "left_out": all.left_out,
        "choice": choice.map(wait_or_again),
    })
}

fn wait_or_again(choice: &Choice) -> Value {
    json!({
        "plants": choice.plants,
        "by": choice.by.to_string(),
        "wait": number(choice.wait),
        "again": choice.fresh.map(|fresh| {
            json!({"wood": fresh.wood.map(|wood| wood.word()), "stick": fresh.stuck, "chance": number(fresh.chance), "told": fresh.told})
        }),
    })
}

fn batch((batch, forecast): Of<'_>, on: NaiveDate) -> Value {
    let potted = forecast.is_potted(batch, on);
    let potting = forecast.potting.as_ref().filter(|_| !potted);
    json!({
        "batch": batch.code,
        "stick": batch.key.to_string(),
        "taxon": batch.taxon.shown(),
        "wood": batch.stick.wood.map(|wood| wood.word()),
        "stuck_on": batch.stuck_on.to_string(),
        "stuck": forecast.stuck,
        "rooted": number(forecast.rooted),
        "waiting": number(forecast.waiting),
        "looked": forecast.looked,
        "count": count(forecast),
        "half": when(forecast.half.as_ref(), batch.stuck_on),
        "potting": when(potting, batch.stuck_on),
        "ready_to_pot": forecast.ready_to_pot && !potted,
        "kin": {
            "same": forecast.kin.same,
            "taxon": forecast.kin.taxon,
            "genus": forecast.kin.genus,
            "all": forecast.kin.all,
        },
    })
}

fn count(forecast: &Forecast) -> Value {
    let range = |chance| {
        let (low, high) = forecast.count_range(chance);
        json!({"low": low, "high": high})
    };
    json!({
        "middle": forecast.middle(),
        "mean": number(forecast.count.mean()),
        "p50": range(0.5),
        "p80": range(0.8),
    })
}

/// A day; null where there is none to come.
fn when(when: Option<&DayForecast>, stuck_on: NaiveDate) -> Value {
    when.map_or(Value::Null, |when| {
        let range = |range: &crate::analysis::expect::DayRange| {
            json!({"low": number(range.low), "high": number(range.high)})
        };
        json!({
            "middle": number(when.middle),
            "date": date(stuck_on, when.middle).to_string(),
            "p50": range(&when.half),
            "p80": range(&when.wide),
        })
    })
}
