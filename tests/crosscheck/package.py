"""Reads a data package of `struck export` with other people's programs.

    struck --journal sample-journals/nursery export PACKAGE
    python tests/crosscheck/package.py STRUCK PACKAGE

frictionless validates types, keys, links and checksums, and reads hostile text back as it was written; pandas and DuckDB read
the tables as the package's README says, and their sums agree; icalendar reads the calendar. What is not at hand is said loudly.
"""

import csv
import json
import pathlib
import subprocess
import sys
import tempfile

HOSTILE = [
    "=1+1",
    "@SUM(A1)",
    "-2+3",
    'quoted "medium", with a comma',
    "two\nlines",
    "carriage\rreturn",
    "  spaces around  ",
    "right to left \u202e mark",
    "<script>alert(1)</script>",
    "NaN",
    "null",
    "ünïcödé · 培地",
]


def at_hand(name):
    try:
        return __import__(name)
    except ImportError:
        print(f"!! NOT CHECKED HERE: reading the data package with {name} (not installed)")
        return None


def validate(frictionless, folder):
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert report.valid, report.flatten(["fieldName", "rowNumber", "note", "message"])
    counts = [task.stats.get("rows", 0) for task in report.tasks]
    print(f"frictionless {frictionless.__version__}: valid, {len(counts)} tables, {sum(counts)} rows")


def hostile(frictionless, struck):
    """Texts of a journal come back letter by letter."""
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        journal = scratch / "journal"
        journal.mkdir()
        lines = [
            {"v": 1, "id": f"H{at}", "at": f"2026-06-{at + 1:02}", "kind": "stick", "batch": f"26-{at:03}",
             "taxon": "Weigela florida", "stuck": 10, "medium": text, "note": text}
            for at, text in enumerate(HOSTILE)
        ]
        (journal / "h.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
        for safe in ([], ["--spreadsheet-safe"]):
            folder = scratch / f"package{len(safe)}"
            run = [struck, "--journal", str(journal), "export", str(folder), "--resamples", "0", *safe]
            subprocess.run(run, check=True, capture_output=True, env={"HOME": str(scratch), "LANG": "C.UTF-8"})
            validate(frictionless, folder)
            resource = frictionless.Package(str(folder / "datapackage.json")).get_resource("batches")
            read = [(row["batch_id"], row["medium"], row["note"]) for row in resource.read_rows()]
            assert len(read) == len(HOSTILE), read
            for (key, medium, note), text in zip(sorted(read, key=lambda row: int(row[0][1:])), HOSTILE):
                wanted = "'" + text if safe and text.lstrip()[:1] in ("=", "+", "-", "@") else text
                assert note == wanted, (key, note, wanted)
                assert medium == wanted, (key, medium, wanted)
    print(f"frictionless: {len(HOSTILE)} hostile texts read back as written, and marked on request")


def tables(folder):
    """Sums by the standard library, against which others are held."""
    with open(folder / "batches.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    shares = {}
    for row in rows:
        if row["rooted_share"]:
            shares.setdefault(row["wood"] or None, []).append(float(row["rooted_share"]))
    return len(rows), {wood: sum(each) / len(each) for wood, each in shares.items()}


def calendar(icalendar, struck):
    """The calendar of the sample nursery: whole days, one event a batch, an alarm on each that stands."""
    with tempfile.TemporaryDirectory() as scratch:
        run = [struck, "--journal", "sample-journals/nursery", "print", "calendar", "--alarm", "07:30"]
        surroundings = {"HOME": scratch, "LANG": "C.UTF-8", "STRUCK_NOW": "2026-08-20T12:00:00+01:00"}
        file = subprocess.run(run, check=True, capture_output=True, env=surroundings).stdout
    events = icalendar.Calendar.from_ical(file).walk("VEVENT")
    assert len(events) > 10 and len({str(event["UID"]) for event in events}) == len(events)
    for event in events:
        start, end = event.decoded("DTSTART"), event.decoded("DTEND")
        assert (end - start).days == 1 and not hasattr(start, "hour"), event
        assert len(event.walk("VALARM")) == (str(event["STATUS"]) == "CONFIRMED"), event
        assert str(event["SUMMARY"]) and event.decoded("SEQUENCE") > 0, event
    print(f"icalendar {icalendar.__version__}: {len(events)} events read")


def main(struck, folder):
    folder = pathlib.Path(folder)
    count, shares = tables(folder)
    assert count > 20 and len(shares) > 1, (count, shares)
    if frictionless := at_hand("frictionless"):
        validate(frictionless, folder)
        hostile(frictionless, struck)
    if icalendar := at_hand("icalendar"):
        calendar(icalendar, struck)
    if pandas := at_hand("pandas"):
        batches = pandas.read_csv(folder / "batches.csv", parse_dates=["stuck_on"], keep_default_na=False, na_values=[""])
        means = batches.groupby("wood")["rooted_share"].mean()
        assert len(batches) == count and batches["stuck_on"].dtype.kind == "M"
        assert all(abs(means[wood] - mean) < 1e-9 for wood, mean in shares.items() if wood)
        print(f"pandas {pandas.__version__}: {count} batches, means agree")
    if duckdb := at_hand("duckdb"):
        query = "SELECT wood, avg(rooted_share) FROM read_csv('{}', header = true, nullstr = '') GROUP BY wood"
        means = dict(duckdb.sql(query.format(folder / "batches.csv")).fetchall())
        assert all(abs(means[wood] - mean) < 1e-9 for wood, mean in shares.items()), (means, shares)
        print(f"duckdb {duckdb.__version__}: means agree")


main(*sys.argv[1:])
