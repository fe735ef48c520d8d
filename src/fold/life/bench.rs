//! Moving cuttings between the stages of one bench in whole numbers. It knows no entry and no day.

use crate::fold::batch::Milestone;

/// Cuttings by highest stage: bare, callused, rooted, bottom.
pub(super) type Stages = [u32; 4];

/// Cuttings in all; the sum of a batch never passes what was stuck, so it cannot overflow.
pub(super) fn total(stages: &Stages) -> u32 {
    stages.iter().sum()
}

/// Cuttings at or past a milestone.
pub(super) fn at_least(stages: &Stages, milestone: Milestone) -> u32 {
    stages[milestone.stage()..].iter().sum()
}

/// Takes cuttings off, the lowest stage first; gives what was taken.
pub(super) fn take_lowest(stages: &mut Stages, count: u32) -> Stages {
    take(stages, count, [0, 1, 2, 3])
}

/// Takes cuttings off, the highest stage first; gives what was taken.
pub(super) fn take_highest(stages: &mut Stages, count: u32) -> Stages {
    take(stages, count, [3, 2, 1, 0])
}

fn take(stages: &mut Stages, mut count: u32, order: [usize; 4]) -> Stages {
    let mut taken = Stages::default();
    for at in order {
        let n = stages[at].min(count);
        stages[at] -= n;
        taken[at] = n;
        count -= n;
    }
    taken
}

/// Takes cuttings off in the proportion of the stages, since nobody said which; gives what was taken.
pub(super) fn take_evenly(stages: &mut Stages, count: u32) -> Stages {
    let taken = share_out(count.min(total(stages)), stages);
    for (left, gone) in stages.iter_mut().zip(taken) {
        *left -= gone;
    }
    taken
}

/// Shares a number out in the proportion of the weights, in whole numbers by the largest remainder
/// (Hamilton's method); equal remainders go to the lower stage. Without weights all are bare.
pub(super) fn share_out(count: u32, weights: &Stages) -> Stages {
    let sum: u64 = weights.iter().map(|w| u64::from(*w)).sum();
    if sum == 0 {
        return [count, 0, 0, 0];
    }
    let product = |at: usize| u64::from(count) * u64::from(weights[at]);
    // No quotient passes `count`, so the casts are exact.
    let mut shares: Stages = std::array::from_fn(|at| (product(at) / sum) as u32);
    let mut order = [0, 1, 2, 3];
    order.sort_by_key(|at| std::cmp::Reverse(product(*at) % sum));
    let short = count - total(&shares);
    for at in order.into_iter().take(short as usize) {
        shares[at] += 1;
    }
    shares
}

/// Makes so many stand at or past a milestone: more are taken from just below it, too many fall to just below it.
pub(super) fn set_at_least(stages: &mut Stages, milestone: Milestone, wanted: u32) {
    let level = milestone.stage();
    let have = at_least(stages, milestone);
    let (mut below, mut above) = (*stages, *stages);
    below[level..].fill(0);
    above[..level].fill(0);
    if wanted >= have {
        let risen = total(&take_highest(&mut below, wanted - have));
        above[level] += risen;
    } else {
        let fallen = total(&take_lowest(&mut above, have - wanted));
        below[level.saturating_sub(1)] += fallen;
    }
    *stages = std::array::from_fn(|at| below[at] + above[at]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_by_the_largest_remainder() {
        // Hamilton's method worked by hand: quotas 1.5, 1.5, 2, 0 of 5; the first half goes to the lower stage.
        assert_eq!(share_out(5, &[3, 3, 4, 0]), [2, 1, 2, 0]);
        assert_eq!(share_out(20, &[0, 5, 5, 0]), [0, 10, 10, 0]);
        assert_eq!(share_out(7, &[0; 4]), [7, 0, 0, 0]);
    }

    #[test]
    fn a_share_never_takes_more_than_a_stage_has() {
        let mut stages = [1, 1, 1, 1];
        assert_eq!(take_evenly(&mut stages, 3), [1, 1, 1, 0]);
        assert_eq!(stages, [0, 0, 0, 1]);
    }

    #[test]
    fn a_tug_moves_the_nearest() {
        let mut stages = [4, 2, 1, 0];
        set_at_least(&mut stages, Milestone::Root, 4);
        assert_eq!(stages, [3, 0, 4, 0]);
        set_at_least(&mut stages, Milestone::Root, 1);
        assert_eq!(stages, [3, 3, 1, 0]);
    }
}
