"""The figures of a pool by DuckDB, which aggregates, and `struck pool curve`, which estimates.

    python tests/pool/duckdb_job.py STRUCK SRC [ARGUMENT...] > figures.json

SRC is a folder that nurseries published to; the arguments are those of `struck pool curve`.
"""

import pathlib
import subprocess
import sys
import tempfile

import duckdb

SQL = pathlib.Path(__file__).with_name("aggregate.sql")


def main():
    struck, source, *arguments = sys.argv[1:]
    with tempfile.TemporaryDirectory() as work:
        aggregates = pathlib.Path(work) / "aggregates.jsonl"
        engine = duckdb.connect()
        engine.execute("SET VARIABLE src = ?", [f"{source}/**/*.jsonl"])
        engine.execute(SQL.read_text())
        for nursery, season, part, rows, of in engine.execute("FROM uncounted").fetchall():
            print(f"nursery {nursery}, season {season}, part {part}: only {rows} of {of} rows are here", file=sys.stderr)
        parts, rows = engine.execute("SELECT count(*), coalesce(sum(repeated), 0) FROM repeated").fetchone()
        if parts:
            print(f"{parts} parts came more than once ({rows} rows); each counts once", file=sys.stderr)
        engine.execute(f"COPY aggregate TO '{aggregates}' (FORMAT json)")
        with aggregates.open("rb") as lines:
            subprocess.run([struck, "pool", "curve", *arguments], stdin=lines, check=True)


if __name__ == "__main__":
    main()
