"""Reads a data package of `struck export` with other people's programs.

    struck --journal sample-journals/nursery export PACKAGE
    python tests/crosscheck/package.py STRUCK PACKAGE

frictionless validates types, keys, links and checksums, and reads hostile text back as it was written; pandas and DuckDB read
the tables as the package's README says, and their sums agree; so does R, by the very lines of that README. A spreadsheet runs hostile
text of the plain package and none of the marked one. icalendar reads the calendar. What is not at hand is said loudly.
"""

import csv
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile

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


def program(*names):
    """The first of these programs that is installed."""
    found = next(filter(None, map(shutil.which, names)), None)
    if found is None:
        print(f"!! NOT CHECKED HERE: reading the data package with {names[0]} (not installed)")
    return found


def journal_of(scratch, texts):
    """A journal whose batches bear these texts as medium and note."""
    journal = scratch / "journal"
    journal.mkdir()
    lines = [
        {"v": 1, "id": f"H{at}", "at": f"2026-06-{at + 1:02}", "kind": "stick", "batch": f"26-{at:03}",
         "taxon": "Weigela florida", "stuck": 10, "medium": text, "note": text}
        for at, text in enumerate(texts)
    ]
    (journal / "h.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    return journal


def exported(struck, journal, folder, *more):
    run = [struck, "--journal", str(journal), "export", str(folder), "--resamples", "0", *more]
    subprocess.run(run, check=True, capture_output=True, env={"HOME": str(folder.parent), "LANG": "C.UTF-8"})


def validate(frictionless, folder):
    report = frictionless.validate(str(folder / "datapackage.json"))
    assert report.valid, report.flatten(["fieldName", "rowNumber", "note", "message"])
    counts = [task.stats.get("rows", 0) for task in report.tasks]
    print(f"frictionless {frictionless.__version__}: valid, {len(counts)} tables, {sum(counts)} rows")


def hostile(frictionless, struck):
    """Texts of a journal come back letter by letter."""
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        journal = journal_of(scratch, HOSTILE)
        for safe in ([], ["--spreadsheet-safe"]):
            folder = scratch / f"package{len(safe)}"
            exported(struck, journal, folder, *safe)
            validate(frictionless, folder)
            resource = frictionless.Package(str(folder / "datapackage.json")).get_resource("batches")
            read = [(row["batch_id"], row["medium"], row["note"]) for row in resource.read_rows()]
            assert len(read) == len(HOSTILE), read
            for (key, medium, note), text in zip(sorted(read, key=lambda row: int(row[0][1:])), HOSTILE):
                wanted = "'" + text if safe and text.lstrip()[:1] in ("=", "+", "-", "@") else text
                assert note == wanted, (key, note, wanted)
                assert medium == wanted, (key, medium, wanted)
    print(f"frictionless: {len(HOSTILE)} hostile texts read back as written, and marked on request")


# What the lines of the README leave in R: held against the standard library's reading.
R_CHECKS = """
stopifnot(inherits(batches$stuck_on, "Date"), !anyNA(batches$stuck_on), is.integer(batches$stuck), is.numeric(batches$rooted_share))
stopifnot(is.character(batches$taxon), is.integer(intervals$last_seen_without), is.numeric(intervals$cuttings), nrow(intervals) > 0)
means <- aggregate(rooted_share ~ wood, data = batches, FUN = mean)
cat(nrow(batches), "\\n")
cat(paste(means$wood, format(means$rooted_share, digits = 15), sep = "\\t"), sep = "\\n")
"""


def in_r(rscript, folder, count, shares):
    """The README's own lines, run in R."""
    begun = time.monotonic()
    readme = (folder / "README.md").read_text(encoding="utf-8")
    lines = re.search(r"```r\n(.*?)```", readme, re.S).group(1)
    said = subprocess.run([rscript, "--vanilla", "-e", lines + R_CHECKS], cwd=folder, capture_output=True, text=True)
    assert said.returncode == 0, said.stderr
    rows = said.stdout.splitlines()
    begins = rows.index(f"{count} ")
    means = dict(row.split("\t") for row in rows[begins + 1:])
    wanted = {wood: mean for wood, mean in shares.items() if wood}
    assert set(means) == set(wanted), (means, wanted)
    assert all(abs(float(means[wood]) - mean) < 1e-9 for wood, mean in wanted.items()), (means, wanted)
    print(f"R: {count} batches by the README's lines, types and means agree ({time.monotonic() - begun:.0f} s)")


# Comma, double quote, UTF-8, from the first line on; all else as a spreadsheet guesses it.
FROM_CSV = "Text - txt - csv (StarCalc):44,34,76,1"


def in_spreadsheet(office, struck):
    """A spreadsheet runs hostile text of the plain package, which shows that it would, and none of the marked one."""
    begun = time.monotonic()
    texts = ["=1+1", "+1+1", "-2+3", "@SUM(A1)", "\t=1+1", '=HYPERLINK("x")', "plain"]
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        journal = journal_of(scratch, texts)
        tables = []
        for name, more in (("plain", []), ("marked", ["--spreadsheet-safe"])):
            exported(struck, journal, scratch / name, *more)
            tables.append(str(shutil.copy(scratch / name / "batches.csv", scratch / f"{name}.csv")))
        settings = f"-env:UserInstallation={(scratch / 'office').as_uri()}"
        run = [office, settings, "--headless", f"--infilter={FROM_CSV}", "--convert-to", "xlsx", "--outdir", str(scratch), *tables]
        subprocess.run(run, check=True, capture_output=True, timeout=240)
        formulas, said = {}, {}
        for name in ("plain", "marked"):
            with zipfile.ZipFile(scratch / f"{name}.xlsx") as book:
                sheet = book.read("xl/worksheets/sheet1.xml").decode()
                formulas[name] = re.findall(r"<f[ >][^<]*", sheet)
                said[name] = book.read("xl/sharedStrings.xml").decode()
        assert formulas["plain"], "the spreadsheet ran nothing, so that this shows nothing"
        assert not formulas["marked"], formulas["marked"]
        assert "=1+1" in said["marked"] and "plain" in said["marked"]
    seconds = time.monotonic() - begun
    print(f"spreadsheet: {len(formulas['plain'])} cells run of the plain package, none of the marked one ({seconds:.0f} s)")


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
    if rscript := program("Rscript"):
        in_r(rscript, folder, count, shares)
    if office := program("soffice", "libreoffice"):
        in_spreadsheet(office, struck)
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
