//! Scales of a comparison: shares with their intervals on one line, curves with their bands over each other,
//! the days of each arm on a ruler. Arms are told apart by signs, in either character set the same. It
//! computes no figure but where a sign stands.

use crate::analysis::trials::answer::{Arm, ArmPair, ArmShare, Comparison, CurvePoint, Trials};
use crate::analysis::trials::{TrialOptions, compare};
use crate::fold::Book;
use crate::fold::batch::Milestone;
use crate::fold::batch::{Batch, BatchCounts};
use crate::fold::selection::Selection;
use crate::model::filter::{Filter, GroupKey};
use crate::model::id::Id;
use crate::text::strip::tally;
use crate::tui::canvas::Canvas;
use crate::tui::canvas::Tone;
use crate::tui::canvas::{MARGIN, Scale, draw_ruler, draw_run, level_row, scale_to};
use crate::tui::effect::GoOn;
use chrono::Days;

/// The signs of the arms, in turn: unlike each other from afar, and unlike the marks of a strip.
const SIGNS: [&str; 8] = ["x", "+", "#", "=", "*", "@", "%", "$"];

/// The sign of an arm.
#[must_use]
pub fn sign(arm: usize) -> &'static str {
    SIGNS[arm % SIGNS.len()]
}

/// The column of a share on a scale of so many columns.
fn column(share: f64, columns: usize) -> usize {
    let last = columns.saturating_sub(1) as f64;
    (share.clamp(0.0, 1.0) * last).round() as usize
}

/// The words of the scale of shares, from that column on.
pub fn shares(row: usize, from: usize, columns: usize, canvas: &mut Canvas<'_>) {
    let step = if columns >= 40 { 25 } else { 50 };
    for percent in (0..=100usize).step_by(step) {
        let word = percent.to_string();
        let at = column(percent as f64 / 100.0, columns);
        // The last word ends where the scale does.
        let at = at.min(columns.saturating_sub(word.len()));
        canvas.text(row, from + at, &word, Tone::Heading);
    }
}

/// A share with its interval on that scale: `(....x....)`.
pub fn interval(
    share: &ArmShare,
    arm: usize,
    (row, from, columns): (usize, usize, usize),
    canvas: &mut Canvas<'_>,
) {
    let ends = [share.interval.low, share.interval.high].map(|end| column(end, columns));
    for at in ends[0]..=ends[1] {
        canvas.text(row, from + at, ".", Tone::Arm(arm));
    }
    canvas.text(row, from + ends[0], "(", Tone::Arm(arm));
    canvas.text(row, from + ends[1], ")", Tone::Arm(arm));
    let at = column(share.value, columns);
    canvas.text(row, from + at, sign(arm), Tone::Arm(arm));
}

/// A curve's share, low and high at a day: straight lines between its points, from 0 at sticking.
fn at(curve: &[CurvePoint], day: f64) -> [f64; 3] {
    let three = |point: &CurvePoint| {
        let share = point.share;
        [share.value, share.interval.low, share.interval.high]
    };
    let mut before = (0.0, [0.0; 3]);
    for point in curve {
        let here = (f64::from(point.day), three(point));
        if day <= here.0 {
            let gone = (day - before.0) / (here.0 - before.0).max(1e-9);
            return [0, 1, 2]
                .map(|i| before.1[i] + gone.clamp(0.0, 1.0) * (here.1[i] - before.1[i]));
        }
        before = here;
    }
    before.1
}

/// The days on the canvas: a little beyond the last on which any curve rises, or to the horizon.
fn days(figures: &ArmFigures, canvas: &Canvas<'_>) -> Option<(Scale, u32)> {
    let it = figures.comparison()?;
    let risen = it.arms.iter().filter_map(|arm| day_of(&arm.curve, 1.0));
    let last = risen.fold(0.0, f64::max).ceil() as u32;
    let last = (last + last / 10).clamp(1, it.basis.day().unwrap_or(u32::MAX).max(1));
    Some((scale_to(last, canvas), last))
}

/// The curves of all arms over each other in so many rows, with the bands of the pair, and the ruler
/// beneath. The lower arm's band is `.`, the other's `'`, both together `:`.
pub fn curves(figures: &ArmFigures, pair: &[usize], tall: usize, canvas: &mut Canvas<'_>) {
    let Some((scale, last)) = days(figures, canvas) else {
        return;
    };
    let arms = figures.comparison().map_or(&[][..], |it| &it.arms);
    let top = top_of(arms);
    let up = tall.saturating_sub(1).max(1);
    let level = |share: f64| level_row(share / top, up);
    for share in [top, 0.5 * top, 0.0] {
        let word = format!("{:.0} %", 100.0 * share);
        canvas.text(level(share), 0, &word, Tone::Plain);
    }
    let across = |column: usize| f64::from(scale.day(column));
    for column in 0..scale.columns() {
        let bands: Vec<(usize, usize)> = pair
            .iter()
            .map(|&arm| {
                let [_, low, high] = at(&arms[arm].curve, across(column));
                (level(high), level(low))
            })
            .collect();
        for row in 0..=up {
            let within: Vec<bool> = bands.iter().map(|b| (b.0..=b.1).contains(&row)).collect();
            let fill = match within.as_slice() {
                [true, true] => Some((":", Tone::Plain)),
                [true, ..] => Some((".", Tone::Arm(pair[0]))),
                [_, true] => Some(("'", Tone::Arm(pair[1]))),
                _ => None,
            };
            if let Some((fill, meaning)) = fill {
                canvas.text(row, MARGIN + column, fill, meaning);
            }
        }
    }
    // Those of the pair last, so that no other covers them.
    let others = (0..arms.len()).filter(|arm| !pair.contains(arm));
    for arm in others.chain(pair.iter().copied()) {
        if arms[arm].curve.is_empty() {
            continue;
        }
        for column in 0..scale.columns() {
            let [share, ..] = at(&arms[arm].curve, across(column));
            let row = level(share);
            canvas.text(row, MARGIN + column, sign(arm), Tone::Arm(arm));
        }
    }
    draw_ruler(&scale, last, tall, canvas);
}

/// The share at the top of the curves: the nearest quarter above all bands.
fn top_of(arms: &[Arm]) -> f64 {
    let highs = arms.iter().filter_map(|arm| arm.curve.last());
    let high = highs
        .map(|point| point.share.interval.high)
        .fold(0.0, f64::max);
    ((4.0 * high).ceil() / 4.0).clamp(0.25, 1.0)
}

/// A ruler of days and a line for each of these arms: its sign from the day of 10 % to that of 90 % of
/// those that got there by the horizon, with the middle one. Gives the row after.
pub fn rulers(
    figures: &ArmFigures,
    arms: impl Iterator<Item = usize>,
    row: usize,
    canvas: &mut Canvas<'_>,
) -> usize {
    let Some((scale, last)) = days(figures, canvas) else {
        return row;
    };
    draw_ruler(&scale, last, row, canvas);
    let mut row = row + 1;
    let all = figures.comparison().map_or(&[][..], |it| &it.arms);
    for (number, arm) in arms.filter_map(|arm| Some((arm, all.get(arm)?))) {
        canvas.text(row, 2, sign(number), Tone::Arm(number));
        let marks = [0.1, 0.5, 0.9].map(|q| day_of(&arm.curve, q));
        let [Some(ten), Some(fifty), Some(ninety)] = marks else {
            canvas.text(row, MARGIN, "none yet", Tone::Plain);
            row += 1;
            continue;
        };
        let sign = (sign(number), Tone::Arm(number));
        draw_run([ten, fifty, ninety], sign, (&scale, row), canvas);
        row += 1;
    }
    row
}

/// The day by which so large a part had got there of those that did by the curve's end.
fn day_of(curve: &[CurvePoint], q: f64) -> Option<f64> {
    let wanted = q * curve.last()?.share.value;
    let mut before = (0.0, 0.0);
    for point in curve {
        let here = (f64::from(point.day), point.share.value);
        if wanted > 0.0 && here.1 >= wanted - 1e-9 {
            let gone = (wanted - before.1) / (here.1 - before.1).max(1e-9);
            return Some(before.0 + gone.clamp(0.0, 1.0) * (here.0 - before.0));
        }
        before = here;
    }
    None
}

/// A comparison for one milestone, with what its arms looked like at the horizon.
#[derive(Clone, Debug)]
pub struct ArmFigures {
    /// The comparison.
    pub trials: Trials,
    /// Cuttings of each arm by what had become of them by the horizon, in the order of the strip.
    pub strips: Vec<[u32; 7]>,
}

impl ArmFigures {
    /// The one comparison that was asked for.
    #[must_use]
    pub fn comparison(&self) -> Option<&Comparison> {
        self.trials.comparisons.first()
    }

    /// The pair of these two arms, in either order.
    #[must_use]
    pub fn pair(&self, one: usize, other: usize) -> Option<&ArmPair> {
        let wanted = [one.min(other), one.max(other)];
        let mut pairs = self.comparison()?.pairs.iter();
        pairs.find(|pair| pair.arms == wanted)
    }

    /// The arms that this one meets, those with most replicates first: they tell most.
    #[must_use]
    pub fn rivals(&self, arm: usize) -> Vec<usize> {
        let pairs = self.comparison().into_iter().flat_map(|it| &it.pairs);
        let other = |pair: &ArmPair| match pair.arms {
            [first, second] if first == arm => Some(second),
            [first, second] if second == arm => Some(first),
            _ => None,
        };
        let mut out: Vec<usize> = pairs.filter_map(other).collect();
        let arms = self.comparison().map_or(&[][..], |it| &it.arms);
        out.sort_by_key(|&at| std::cmp::Reverse(arms.get(at).map(|arm| arm.replicates)));
        out
    }
}

/// Computes the figures; gives nothing if nobody waits for them any more.
#[must_use]
pub fn figures(
    book: &Book,
    (by, filter): (GroupKey, &Filter),
    milestone: Milestone,
    go_on: GoOn<'_>,
) -> Option<ArmFigures> {
    let options = TrialOptions {
        about: Selection {
            filter: filter.clone(),
            ..Selection::default()
        },
        by: vec![by],
        milestones: vec![milestone],
        ..TrialOptions::default()
    };
    let trials = compare(book, &options, &mut |_, _| go_on())?;
    let comparison = trials.comparisons.first()?;
    let horizon = comparison.basis.day();
    let strips = comparison.arms.iter();
    let strips = strips.map(|arm| of_arm(book, arm, horizon)).collect();
    Some(ArmFigures { trials, strips })
}

fn of_arm(book: &Book, arm: &Arm, horizon: Option<u32>) -> [u32; 7] {
    let mut out = [0u32; 7];
    for batch in arm.batches.iter().filter_map(|key: &Id| book.batch(key)) {
        for (sum, n) in out.iter_mut().zip(tally(&at_horizon(batch, horizon))) {
            *sum = sum.saturating_add(n);
        }
    }
    out
}

/// A batch's counts at the end of its day of that number since sticking.
#[must_use]
pub fn at_horizon(batch: &Batch, horizon: Option<u32>) -> BatchCounts {
    let ahead = horizon.map(|day| Days::new(u64::from(day)));
    let day = ahead.and_then(|ahead| batch.stuck_on.checked_add_days(ahead));
    day.and_then(|day| batch.counts_on(day))
        .unwrap_or(batch.counts)
}

/// What a split is called.
pub fn split_name(trial: Option<&str>, by: GroupKey) -> String {
    match trial {
        Some(trial) => format!("trial {trial}"),
        None => format!("by {}", by.word()),
    }
}
