"""Spark calling the program over partitions of files; run by hand, since pyspark is large and needs Java.

    pip install pyspark==4.3.0
    spark_climbs.py PROGRAM FOLDER [PARTITIONS]

Each partition is one call of `climbs --format ndjson` with the partition's files, whose lines become rows; no file passes through Spark itself.
On a cluster, FOLDER is one that all machines see, and the program is on all of them.
"""

import subprocess
import sys
from pathlib import Path

from pyspark.sql import SparkSession
from pyspark.sql.functions import col, explode

program, folder = sys.argv[1], Path(sys.argv[2])
partitions = int(sys.argv[3]) if len(sys.argv) > 3 else 4


def climbs(paths):
    paths = list(paths)
    if not paths:
        return
    command = [program, "climbs", "--format", "ndjson", "--no-cache", *paths]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as called:
        yield from called.stdout
    # 1 is no climb, 3 no usable file: both are answers for a partition.
    if called.returncode not in (0, 1, 3):
        raise RuntimeError(f"{program} ended with status {called.returncode}")


spark = SparkSession.builder.master("local[2]").appName("climbs").getOrCreate()
files = sorted(str(path) for path in folder.rglob("*.gpx"))
lines = spark.sparkContext.parallelize(files, partitions).mapPartitions(climbs).cache()
routes = spark.read.json(lines)
found = routes.select("source", explode("climbs").alias("climb")).select("source", "climb.*")
print(f"{len(files)} files, {routes.count()} routes, {found.count()} climbs")
found.where(col("length_m") >= 1000).orderBy(col("gain_m").desc()).select(
    "source", "id", "length_m", "grade_pct", "gain_m"
).show(5, truncate=False)
spark.stop()
