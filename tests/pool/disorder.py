"""Copies a pool into disorder: parts split over two files, a nursery's parts merged into one, lines reordered, files
repeated, one file cut short.

    python tests/pool/disorder.py SRC DEST

Prints the path of the file that was cut short.
"""

import pathlib
import random
import sys


def main():
    source, target = map(pathlib.Path, sys.argv[1:])
    dice = random.Random(1)
    files = sorted(source.rglob("*.jsonl"))
    cut = files[len(files) // 2]
    for number, path in enumerate(files):
        lines = path.read_bytes().splitlines(keepends=True)
        place = target / path.relative_to(source)
        place.parent.mkdir(parents=True, exist_ok=True)
        sort = number % 5
        if path == cut:
            whole = b"".join(lines)
            place.write_bytes(whole[: 2 * len(whole) // 3])
        elif sort == 0:
            half = len(lines) // 2
            place.with_suffix(".one.jsonl").write_bytes(b"".join(lines[:half]))
            place.with_suffix(".two.jsonl").write_bytes(b"".join(lines[half:]))
        elif sort == 1:
            with (target / "merged.jsonl").open("ab") as merged:
                merged.write(b"".join(lines))
        elif sort == 2:
            dice.shuffle(lines)
            place.write_bytes(b"".join(lines))
        elif sort == 3:
            place.write_bytes(b"".join(lines))
            place.with_suffix(".again.jsonl").write_bytes(b"".join(lines))
        else:
            place.write_bytes(b"".join(lines))
    print(cut.relative_to(source))


if __name__ == "__main__":
    main()
