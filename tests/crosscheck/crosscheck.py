"""Compares our figures with general-purpose Python libraries on seeded random sets.

    pip install -r tests/crosscheck/requirements.txt
    cargo bench --bench crosscheck_sets -- "$PWD/sets.json"
    python tests/crosscheck/crosscheck.py sets.json

Likelihoods are compared before masses: the libraries stop short of the maximum, and masses need
not be unique. An interval (l, r] of whole days is the closed interval [l + 1/2, r] of lifelines.
The command prints the worst disagreement of each kind and fails if one passes its limit.
"""

import json
import os
import sys
import warnings

# The matrices are small: threads would only get in each other's way.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from lifelines import AalenJohansenFitter, KaplanMeierFitter
from lifelines.fitters.npmle import npmle
from scipy import optimize, stats

warnings.filterwarnings("ignore")
WORST = {}


def note(check, error, limit, where=""):
    """Remembers the largest error of a check, and whether it ever passed its limit."""
    error = float(error)
    before = WORST.get(check, (-np.inf, limit, "", 0))
    worst = (error, limit, where) if error > before[0] or np.isnan(error) else before[:3]
    WORST[check] = (*worst, before[3] + 1)


def cells(rows):
    """Every unit day of either outcome and the time beyond, and which rows allow each."""
    last = int(max(r[1] if r[1] is not None else r[0] for r in rows)) + 1
    days = np.arange(last)
    allowed = np.zeros((len(rows), 2 * last + 1))
    for i, (left, right, outcome, _) in enumerate(rows):
        inside = (days >= left) & (days + 1 <= (np.inf if right is None else right))
        allowed[i, :last] = inside & (outcome in ("reached", None))
        allowed[i, last : 2 * last] = inside & (outcome in ("lost", None))
        allowed[i, 2 * last] = outcome is None
    return allowed


def chances(rows, estimate):
    """The probability our masses give to each row, summed mass by mass."""
    out = []
    for left, right, outcome, _ in rows:
        right = np.inf if right is None else right
        total = estimate["later"] if outcome is None else 0.0
        for name in ("reached", "lost"):
            if outcome in (name, None):
                total += sum(m for a, b, m in estimate[name] if a >= left and b <= right)
        out.append(total)
    return np.array(out)


def check_certificate(rows, weights, estimate, where):
    """The optimality conditions, by dense matrices over unit days."""
    chance = chances(rows, estimate)
    loglik = float(weights @ np.log(chance))
    note("our log-likelihood recomputed", abs(loglik - estimate["loglik"]), 1e-8, where)
    slopes = cells(rows).T @ (weights / chance)
    note("gradient above n", slopes.max() - weights.sum(), 1e-7, where)
    total = estimate["later"] + sum(m[2] for k in ("reached", "lost") for m in estimate[k])
    note("masses sum to 1", abs(total - 1), 1e-12, where)


def check_general_optimiser(rows, weights, estimate, where):
    """scipy's general optimiser on the same likelihood, over the logarithms of the masses."""
    allowed = np.unique(cells(rows), axis=1)
    n = weights.sum()

    def loss(logits):
        p = np.exp(logits - logits.max())
        p /= p.sum()
        chance = allowed @ p
        slope = allowed.T @ (weights / chance)
        return -float(weights @ np.log(chance)) / n, -p * (slope - n) / n

    # A few EM steps first: a mass thrown to nothing by an early leap would not come back.
    p = np.full(allowed.shape[1], 1 / allowed.shape[1])
    for _ in range(500):
        p *= allowed.T @ (weights / (allowed @ p)) / n
    start = np.log(np.maximum(p, 1e-12))
    options = {"maxiter": 20000, "maxfun": 40000, "maxcor": 30, "ftol": 0, "gtol": 1e-9}
    found = optimize.minimize(loss, start, jac=True, method="L-BFGS-B", options=options)
    theirs = -found.fun * n
    note("scipy above us", theirs - estimate["loglik"], 1e-7, where)
    note("scipy below us", estimate["loglik"] - theirs, 1e-2, where)


def check_turnbull(rows, weights, estimate, where):
    """lifelines' NPMLE for interval censoring."""
    left = np.array([r[0] + 0.5 for r in rows])
    right = np.array([np.inf if r[1] is None else r[1] for r in rows])
    p, intervals = npmle(left, right, weights=weights, tol=1e-6, max_iter=2000)
    p = p / p.sum()
    theirs = 0.0
    for a, b, w in zip(left, right, weights):
        theirs += w * np.log(sum(m for m, t in zip(p, intervals) if t.left >= a and t.right <= b))
    note("lifelines above us", theirs - estimate["loglik"], 1e-7, where)
    # It stops at a small change of the log-likelihood, which need not be near the maximum.
    note("lifelines below us", estimate["loglik"] - theirs, 0.1, where)
    ours = {(a, b): m for a, b, m in estimate["reached"]}
    known = {(t.left - 0.5, t.right) for t in intervals if np.isfinite(t.right)}
    note("support outside lifelines'", len(set(ours) - known), 0, where)
    support = np.array([[a + 0.0 >= r[0] and b <= (r[1] or np.inf) for a, b in ours] for r in rows])
    unique = np.linalg.matrix_rank(np.column_stack([support, np.ones(len(rows))])) > len(ours)
    if ours and unique and estimate["loglik"] - theirs < 1e-4:
        error = max(
            abs(m - ours.get((t.left - 0.5, t.right), 0.0))
            for m, t in zip(p, intervals)
            if np.isfinite(t.right)
        )
        note("masses against lifelines", error, 5e-3, where)


def check_exact(rows, estimate, where):
    """Distinct exact days: Kaplan-Meier of either event, Aalen-Johansen of each."""
    days = np.array([r[0] if r[1] is None else r[1] for r in rows])
    cause = np.array([{"reached": 1, "lost": 2, None: 0}[r[2]] for r in rows])
    either = KaplanMeierFitter().fit(days, cause > 0)
    for k, name in ((1, "reached"), (2, "lost")):
        if not (cause == k).any():
            continue
        fitter = AalenJohansenFitter(calculate_variance=False).fit(days, cause, event_of_interest=k)
        curve = fitter.cumulative_density_.iloc[:, 0]
        for day in days:
            ours = sum(m for _, b, m in estimate[name] if b <= day)
            note("Aalen-Johansen", abs(ours - curve.loc[:day].iloc[-1]), 1e-9, where)
    for day in days:
        ours = sum(m for k in ("reached", "lost") for _, b, m in estimate[k] if b <= day)
        theirs = 1 - either.survival_function_.loc[:day].iloc[-1, 0]
        note("Kaplan-Meier of either", abs(ours - theirs), 1e-9, where)


LIBRARY = {
    "t_quantile": lambda p, df: stats.t.ppf(p, df),
    "normal_quantile": stats.norm.ppf,
    "normal_cdf": stats.norm.cdf,
    "wilson": lambda x, n: list(stats.binomtest(x, n).proportion_ci(method="wilson")),
}


def main(path):
    with open(path, encoding="utf-8") as file:
        everything = json.load(file)
    for name, args, ours in everything["distributions"]:
        theirs = np.array(LIBRARY[name](*args))
        scale = np.maximum(np.abs(theirs), 1e-3)
        note(f"{name} (relative)", np.max(np.abs(np.array(ours) - theirs) / scale), 1e-9, args)
    for number, case in enumerate(everything["sets"]):
        where = f"set {number}"
        rows, estimate = case["rows"], case["estimate"]
        weights = np.array([r[3] for r in rows], dtype=float)
        note("certified gap", estimate["gap"], 1e-8, where)
        check_certificate(rows, weights, estimate, where)
        check_general_optimiser(rows, weights, estimate, where)
        if case["kind"] == "exact":
            check_exact(rows, estimate, where)
        if case["kind"] == "single":
            check_turnbull(rows, weights, estimate, where)
    failed = 0
    for check, (error, limit, where, times) in sorted(WORST.items()):
        good = error <= limit
        failed += not good
        print(f"{'ok  ' if good else 'FAIL'} {check:34} worst {error:10.2e} limit {limit:.0e} of {times} ({where})")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
