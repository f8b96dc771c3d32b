"""Climbs handed on to engines: lines of JSON and GeoParquet written by the program, read by DuckDB, pyarrow and geopandas.

    check_engines.py PROGRAM FOLDER

PROGRAM is built with the feature `parquet`; FOLDER holds GPX files. Many files are made of them in three folders, each folder is one run of
the program, as partitions of an engine would be, and what the engines make of the parts must be what `climbs --format json` says of all.
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

import duckdb
import geopandas
import numpy
import pyarrow.parquet
import shapely

program, samples = sys.argv[1], Path(sys.argv[2])
COPIES = 12
SHIFT_DEG = 0.3


def near(a, b, tolerance, what):
    assert abs(a - b) <= tolerance, f"{what}: {a} and {b}"


def run(*arguments, statuses=(0,)):
    done = subprocess.run([program, "climbs", "--no-cache", *map(str, arguments)], capture_output=True, text=True)
    assert done.returncode in statuses, (done.returncode, done.stderr)
    return done.stdout


def make_files(folder):
    """The samples again and again, each time farther east; of one copy the climb that goes farthest east or west lies across the 180th meridian."""
    texts = [path.read_text() for path in sorted(samples.glob("*.gpx"))]
    found = json.loads(run(samples, "--format", "json"))["routes"]
    ends = [(climb["start"]["lon"], climb["end"]["lon"]) for route in found for climb in route["climbs"]]
    across = max(ends, key=lambda ends: abs(ends[1] - ends[0]))
    for copy in range(COPIES):
        part = folder / f"part-{copy % 3}"
        part.mkdir(exist_ok=True)
        east = SHIFT_DEG * copy if copy else 180.0 - sum(across) / 2
        for number, text in enumerate(texts):
            def moved(match):
                lon = (float(match.group(1)) + east + 540.0) % 360.0 - 180.0
                return f'lon="{lon:.6f}"'

            text = re.sub(r'lon="([-0-9.]+)"', moved, text)
            (part / f"ride-{copy:02}-{number}.gpx").write_text(text)
    return sorted(folder.glob("part-*"))


def check_lines(path, truth):
    documents = [json.loads(line) for line in path.read_text().splitlines()]
    assert all(d.pop("schema") == "hillwright.route/1" for d in documents)
    assert documents == truth, path


def check_rows(path, truth):
    table = pyarrow.parquet.read_table(path)
    file = pyarrow.parquet.ParquetFile(path)
    assert file.metadata.created_by.startswith("hillwright "), file.metadata.created_by
    geo = json.loads(file.schema_arrow.metadata[b"geo"])
    assert geo["version"] == "1.1.0" and geo["primary_column"] == "geometry", geo
    column = geo["columns"]["geometry"]
    assert column["encoding"] == "WKB" and "crs" not in column, column
    frame = geopandas.read_parquet(path)
    # Without a system named, longitude and latitude on WGS 84.
    assert frame.crs.equals("OGC:CRS84"), frame.crs
    climbs = [(route, climb) for route in truth for climb in route["climbs"]]
    assert len(frame) == table.num_rows == len(climbs), (len(frame), len(climbs))
    assert set(column["geometry_types"]) == {f"{kind} Z" for kind in frame.geometry.geom_type}, column
    geod = frame.crs.get_geod()
    # geopandas leaves out the boxes that `covering` names.
    boxes = table.column("bbox").to_pylist()
    for (route, climb), row, box in zip(climbs, frame.itertuples(), boxes):
        assert (row.source, row.route, row.climb, row.ascent) == (
            route["source"], route["name"], climb["id"], climb["ascent"])
        for name in ("length_m", "gain_m", "grade_pct", "grade_se_pct", "grade_sd_pct", "steepest_100m_pct"):
            assert getattr(row, name) == climb[name], name
        for end in ("start", "end"):
            for name in ("distance_m", "lat", "lon", "elevation_m"):
                assert getattr(row, f"{end}_{name}") == climb[end][name], (end, name)
        line = row.geometry
        assert line.has_z and line.is_valid
        near(geod.geometry_length(line), climb["length_m"], 0.01 * climb["length_m"] + 20.0, "length of a line")
        positions = shapely.get_coordinates(line, include_z=True)
        # Lines go from node to node of 10 m, so their ends may be half of that off.
        for position, end in ((positions[0], climb["start"]), (positions[-1], climb["end"])):
            near(geod.inv(position[0], position[1], end["lon"], end["lat"])[2], 0.0, 6.0, "end of a line")
            near(position[2], end["elevation_m"], 1.0, "elevation of an end")
        box = [box[side] for side in ("xmin", "ymin", "xmax", "ymax")]
        if line.geom_type == "LineString":
            assert numpy.allclose(box, line.bounds, atol=1e-7), (box, line.bounds)
        else:
            # RFC 7946, 5.2: west is greater than east across the 180th meridian.
            assert box[0] > 179.0 and box[2] < -179.0, box
        assert "physiotherapist" in row.cautions
    whole = column["bbox"]
    near(whole[2], min(shapely.get_coordinates(g, include_z=True)[:, 2].min() for g in frame.geometry), 1e-9, "lowest")
    near(whole[5], max(shapely.get_coordinates(g, include_z=True)[:, 2].max() for g in frame.geometry), 1e-9, "highest")
    near(whole[1], frame.total_bounds[1], 1e-7, "south")
    # A window around one climb, found by the boxes that the file's `covering` names.
    one = frame[frame.geometry.geom_type == "LineString"].geometry.iloc[-1]
    found = geopandas.read_parquet(path, bbox=one.bounds)
    assert 0 < len(found) < len(frame), (len(found), len(frame))
    return len(frame)


def check_duckdb(folder, truth):
    climbs = [climb for route in truth for climb in route["climbs"]]
    long = [c for c in climbs if c["length_m"] >= 1000.0]
    expected = (len(long), sum(c["gain_m"] for c in long), max(c["grade_pct"] for c in long))
    engine = duckdb.connect()
    rows = engine.execute(
        "SELECT count(*), sum(gain_m), max(grade_pct) FROM read_parquet(?) WHERE length_m >= 1000",
        [f"{folder}/*.parquet"],
    ).fetchone()
    lines = engine.execute(
        "SELECT count(*), sum(climb.gain_m), max(climb.grade_pct) "
        "FROM (SELECT unnest(climbs) AS climb FROM read_ndjson(?)) WHERE climb.length_m >= 1000",
        [f"{folder}/*.ndjson"],
    ).fetchone()
    for got, which in ((rows, "Parquet"), (lines, "NDJSON")):
        assert got[0] == expected[0] and got[2] == expected[2], (which, got, expected)
        near(got[1], expected[1], 1e-6 * expected[1], f"{which}: metres climbed")
    kept = engine.execute("SELECT count(*) FROM parquet_kv_metadata(?) WHERE key = 'geo'", [f"{folder}/*.parquet"])
    assert kept.fetchone()[0] == 3
    per_file = engine.execute("SELECT count(DISTINCT source) FROM read_parquet(?)", [f"{folder}/*.parquet"])
    assert per_file.fetchone()[0] == len({r["source"] for r in truth if r["climbs"]})
    return expected[0]


def check_none(folder):
    """A file without a climb makes a table without a row."""
    flat = folder / "flat.gpx"
    points = "".join(f'<trkpt lat="45" lon="{7 + i * 1e-4:.4f}"><ele>100</ele></trkpt>' for i in range(500))
    flat.write_text(f"<gpx><trk><trkseg>{points}</trkseg></trk></gpx>")
    path = folder / "none.parquet"
    run(flat, "--format", "ndjson", "-o", path, statuses=(1,))
    assert len(geopandas.read_parquet(path)) == 0
    assert duckdb.connect().execute("SELECT count(*) FROM read_parquet(?)", [str(path)]).fetchone()[0] == 0


with tempfile.TemporaryDirectory() as made, tempfile.TemporaryDirectory() as out:
    made, out = Path(made), Path(out)
    parts = make_files(made)
    truth, rows = [], 0
    for part in parts:
        lines, table = out / f"{part.name}.ndjson", out / f"{part.name}.parquet"
        printed = run(part, "--format", "ndjson", "-o", lines, "-o", table)
        assert lines.read_text() == printed
        of_part = json.loads(run(part, "--format", "json"))["routes"]
        check_lines(lines, of_part)
        rows += check_rows(table, of_part)
        truth += of_part
    cut = geopandas.read_parquet(out / "part-0.parquet").geometry.geom_type == "MultiLineString"
    assert cut.any(), "no climb lies across the 180th meridian"
    long = check_duckdb(out, truth)
    check_none(made)
    print(f"{len(truth)} files in {len(parts)} parts, {rows} climbs, {long} of them of 1 km or more: all read as written")
