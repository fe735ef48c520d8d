//! Comparisons as JSON: the documented shape, in the documented order.

use super::json::{number, optional};
use crate::analysis::trials::{
    Arm, Comparison, DaysApart, Difference, Left, Pair, SecondOpinions, Stratum, Strike, Test,
    Trials, Verdict,
};
use crate::stats::permute::Permuted;
use crate::stats::shares::Interval;
use crate::stats::tables::ChiSquare;
use crate::text::verdicts;
use serde_json::{Map, Value, json};

/// The whole answer.
#[must_use]
pub fn of(trials: &Trials) -> Value {
    let options = &trials.options;
    let keys = |keys: &[crate::model::filter::GroupKey]| {
        keys.iter().map(|key| key.word()).collect::<Vec<_>>()
    };
    let comparisons = trials.comparisons.iter();
    json!({
        "by": keys(&trials.by),
        "within": keys(&trials.within),
        "as_of": options.about.as_of.map(|day| day.to_string()),
        "same_day": trials.same_day.map(|day| day.to_string()),
        "level": number(options.level),
        "worth": {"strike": number(options.worth_strike), "days": number(options.worth_days)},
        "seed": options.seed,
        "draws": {"strike": options.draws, "days": options.draws_days},
        "comparisons": comparisons.map(|it| comparison(trials, it)).collect::<Vec<_>>(),
    })
}

fn comparison(trials: &Trials, it: &Comparison) -> Value {
    let pairs = it.pairs.iter().map(|pair| self::pair(trials, it, pair));
    let cautions = it.cautions.iter();
    let overall = it.overall.map(|all| {
        json!({
            "strike": all.strike.as_ref().map(permuted),
            "days": all.days.as_ref().map(permuted),
        })
    });
    json!({
        "milestone": it.milestone.word(),
        "horizon": it.horizon,
        "strata": it.strata.iter().map(|stratum| self::stratum(it, stratum)).collect::<Vec<_>>(),
        "arms": it.arms.iter().map(arm).collect::<Vec<_>>(),
        "pairs": pairs.collect::<Vec<_>>(),
        "overall": overall,
        "left_out": it.left_out.iter().map(left_out).collect::<Vec<_>>(),
        "cautions": cautions.map(|caution| verdicts::caution(it, caution)).collect::<Vec<_>>(),
        "reasons": reasons(it),
    })
}

fn stratum(it: &Comparison, stratum: &Stratum) -> Value {
    let replicates: Map<String, Value> = it
        .arms
        .iter()
        .zip(&stratum.replicates)
        .map(|(arm, &count)| (arm.name.clone(), Value::from(count)))
        .collect();
    let mut fields = Map::new();
    for (key, value) in &stratum.by {
        fields.insert(key.word().to_owned(), Value::from(value.clone()));
    }
    fields.insert("replicates".into(), replicates.into());
    fields.into()
}

fn arm(arm: &Arm) -> Value {
    let end = |of: fn(&Interval) -> f64| {
        let interval = arm.days.and_then(|days| days.interval);
        optional(interval.as_ref().map(of))
    };
    json!({
        "name": arm.name,
        "batches": arm.batches.len(),
        "replicates": arm.replicates,
        "stuck": arm.stuck,
        "followed": number(arm.followed),
        "reached": arm.reached.map(|share| json!({
            "value": number(share.value),
            "low": number(share.interval.low),
            "high": number(share.interval.high),
        })),
        "days": arm.days.map(|days| json!({
            "value": number(days.value),
            "low": end(|it| it.low),
            "high": end(|it| it.high),
            "of_reached": optional(days.of_reached),
        })),
    })
}

fn pair(trials: &Trials, it: &Comparison, pair: &Pair) -> Value {
    let options = &trials.options;
    let says = verdicts::strike(it, pair, options.worth_strike);
    let waits = verdicts::waited(it, pair, options.worth_days);
    json!({
        "arms": pair.arms.map(|arm| it.arms[arm].name.clone()),
        "strata": pair.strata,
        "replicates": pair.replicates,
        "strike": strike(&pair.strike, says),
        "days": days(&pair.days, waits),
    })
}

fn strike(strike: &Strike, says: String) -> Value {
    json!({
        "difference": difference(strike.difference.as_ref()),
        "permutation": test(strike.test.as_ref()),
        "second_opinions": second(&strike.second),
        "homogeneity": strike.homogeneity.map(|it| json!({
            "q": number(it.chi2), "df": it.df, "p": number(it.p),
        })),
        "verdict": verdict(&strike.verdict, says),
    })
}

fn days(days: &DaysApart, says: String) -> Value {
    json!({
        "difference": difference(days.difference.as_ref()),
        "of_reached": optional(days.of_reached),
        "permutation": test(days.test.as_ref()),
        "score_test": days.score.map(|(z, p)| json!({"z": number(z), "p": number(p)})),
        "verdict": verdict(&days.verdict, says),
    })
}

fn difference(difference: Option<&Difference>) -> Value {
    difference.map_or(Value::Null, |it| {
        json!({
            "value": number(it.value),
            "low": number(it.interval.low),
            "high": number(it.interval.high),
        })
    })
}

fn test(test: Option<&Test>) -> Value {
    test.map_or(Value::Null, |it| {
        json!({
            "p": number(it.permuted.p),
            "p_holm": number(it.holm),
            "arrangements": it.permuted.arrangements,
            "exact": it.permuted.exact,
        })
    })
}

fn permuted(it: &Permuted) -> Value {
    json!({
        "sum_of_squares": number(it.observed),
        "p": number(it.p),
        "arrangements": it.arrangements,
        "exact": it.exact,
    })
}

fn second(second: &SecondOpinions) -> Value {
    let chi =
        |it: Option<ChiSquare>| it.map(|it| json!({"chi2": number(it.chi2), "p": number(it.p)}));
    json!({
        "fisher_p": optional(second.fisher_p),
        "cmh": chi(second.cmh),
        "cmh_corrected": chi(second.cmh_corrected),
        "mh_odds_ratio": optional(second.odds_ratio),
        "standard_error": optional(second.standard_error),
        "icc": optional(second.icc),
        "design_effect": optional(second.design_effect),
        "rounded": second.rounded,
    })
}

fn verdict(verdict: &Verdict, text: String) -> Value {
    json!({
        "kind": verdict.kind.word(),
        "text": text,
        "smallest_p": optional(verdict.smallest_p),
        "batches_needed": verdict.batches_needed,
        "cuttings": verdict.cuttings,
    })
}

fn left_out(left: &Left) -> Value {
    json!({"batch": left.batch, "reason": verdicts::left_out(&left.reason)})
}

/// Why what is null is null, by path.
fn reasons(it: &Comparison) -> Value {
    let mut out = Map::new();
    let mut say = |path: String, reason: &str| out.insert(path, Value::from(reason));
    if it.pairs.is_empty() {
        say("pairs".into(), "no two arms meet in a stratum");
    }
    if it.overall.is_none() {
        say("overall".into(), "it takes three arms");
    }
    for (at, arm) in it.arms.iter().enumerate() {
        if arm.reached.is_none() {
            say(format!("arms.{at}.reached"), "no batch of this arm counts");
        } else if arm.days.is_some_and(|days| days.interval.is_none()) {
            say(
                format!("arms.{at}.days.low"),
                "a range of days takes five replicates and resamples",
            );
        }
    }
    for (at, pair) in it.pairs.iter().enumerate() {
        let ends = [
            ("strike", pair.strike.difference, &pair.strike.verdict),
            ("days", pair.days.difference, &pair.days.verdict),
        ];
        for (part, difference, verdict) in ends {
            let path = format!("pairs.{at}.{part}");
            if difference.is_some_and(|it| it.interval.low.is_infinite()) {
                say(
                    format!("{path}.difference.low"),
                    "so few replicates exclude nothing",
                );
            }
            if verdict.batches_needed.is_none() {
                say(
                    format!("{path}.verdict.batches_needed"),
                    "the spread between batches is unknown, no difference was seen, or it takes over 999",
                );
            }
        }
        if pair.strike.second.icc.is_none() {
            say(
                format!("pairs.{at}.strike.second_opinions.icc"),
                "no arm has replicates with both outcomes",
            );
        }
        if pair.strike.homogeneity.is_none() {
            say(
                format!("pairs.{at}.strike.homogeneity"),
                "it takes two strata",
            );
        }
    }
    out.into()
}
