"""The figures of a pool by Spark, which runs `struck pool reduce` beside the rows, and `struck pool curve`, which estimates.

    spark-submit tests/pool/spark_job.py STRUCK SRC [--by KEY,...] [ARGUMENT...] > figures.json

SRC is a folder (or an object store's prefix) that nurseries published to, STRUCK the program's path on every worker. Rows
are read as text, so that their bytes, and with them their crc, stay as they were published; each part goes to one task, and
only aggregates go to the driver.
"""

import os
import subprocess
import sys

from pyspark.sql import SparkSession
from pyspark.sql import functions as f


def main():
    struck, source, *arguments = sys.argv[1:]
    by = arguments[arguments.index("--by") + 1] if "--by" in arguments else ""
    master = os.environ.get("SPARK_MASTER", "local[2]")
    session = (
        SparkSession.builder.master(master)
        .appName("struck pool")
        .config("spark.ui.enabled", "false")
        .config("spark.ui.showConsoleProgress", "false")
        .config("spark.sql.shuffle.partitions", os.environ.get("SPARK_TASKS", "8"))
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    lines = session.read.option("recursiveFileLookup", "true").option("pathGlobFilter", "*.jsonl").text(source)
    part = f.regexp_extract("value", r',"part":"([0-9a-f]+)","at":[0-9]+,"of":[0-9]+,"crc":"[0-9a-f]{8}"\}$', 1)
    rows = lines.withColumn("part", part)
    torn = rows.filter(f.col("part") == "").count()
    whole = rows.filter(f.col("part") != "")
    again = whole.count() - whole.distinct().count()
    if torn:
        print(f"{torn} lines were cut short or are no rows; they do not count", file=sys.stderr)
    if again:
        print(f"{again} rows came more than once; each counts once", file=sys.stderr)
    reduced = whole.repartition("part").rdd.map(lambda row: row.value).pipe(f"{struck} pool reduce --by '{by}'", checkCode=True)
    aggregates = reduced.collect()
    session.stop()
    text = "".join(f"{line}\n" for line in aggregates)
    subprocess.run([struck, "pool", "curve", *arguments], input=text.encode(), check=True)


if __name__ == "__main__":
    main()
