"""Holds the figures of engines to those of `struck pool` on one machine, to 1e-9.

    python tests/pool/same.py FIGURES OTHER...
"""

import json
import pathlib
import sys

NEAR = 1e-9


def apart(one, other, path=""):
    """The first place at which two answers are not the same, if there is one."""
    if isinstance(one, bool) or isinstance(other, bool) or one is None or other is None:
        return None if one is other or one == other else path
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return None if abs(one - other) <= NEAR * max(1.0, abs(one)) else path
    if type(one) is not type(other) or (isinstance(one, (dict, list)) and len(one) != len(other)):
        return path
    if isinstance(one, dict):
        places = (apart(one[key], other.get(key), f"{path}.{key}") for key in one)
        return next((place for place in places if place), None)
    if isinstance(one, list):
        places = (apart(a, b, f"{path}[{at}]") for at, (a, b) in enumerate(zip(one, other)))
        return next((place for place in places if place), None)
    return None if one == other else path


def figures(path):
    with open(path) as file:
        answer = json.load(file)
    kept = ("level", "seed", "resamples", "nurseries", "parts", "correlations", "nursery_correlations", "groups", "synonyms", "conflicts")
    return {key: answer[key] for key in kept}


def main():
    first, *others = sys.argv[1:]
    wanted = figures(first)
    if not wanted["groups"] or not any(group["strike"]["value"] for group in wanted["groups"]):
        sys.exit(f"{first} has no figures")
    moved = json.loads(json.dumps(wanted))
    moved["groups"][0]["strike"]["value"] += 3e-9
    if apart(wanted, moved) is None:
        sys.exit("a figure moved by 3e-9 was not told")
    for other in others:
        place = apart(wanted, figures(other))
        if place:
            sys.exit(f"{other} differs from {first} at {place}")
    count = len(wanted["groups"])
    print(f"{count} groups of {wanted['nurseries']} nurseries: the same figures to {NEAR} in {', '.join(pathlib.Path(other).name for other in others)}")


if __name__ == "__main__":
    main()
