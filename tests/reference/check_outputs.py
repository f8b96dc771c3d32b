"""Files that the program wrote, read by other libraries: GeoJSON by geojson and geopandas, KML by GDAL, CSV by csv and pandas.

    check_outputs.py FOLDER

FOLDER holds plan.json, plan.geojson, plan.kml, plan.csv and climbs.json, climbs.geojson, climbs.kml, climbs.csv of one route.
The JSON says what must be in the others.
"""

import csv
import json
import sys
from pathlib import Path

import geojson
import geopandas
import pandas
import pyogrio

folder = Path(sys.argv[1])


def near(a, b, tolerance, what):
    assert abs(a - b) <= tolerance, f"{what}: {a} and {b}"


def check_geojson(name, route, reps):
    document = geojson.loads((folder / f"{name}.geojson").read_text())
    assert document.is_valid, document.errors()
    frame = geopandas.read_file(folder / f"{name}.geojson")
    kinds = frame["hillwright"].value_counts().to_dict()
    assert kinds == {"route": 1, "climb": len(route["climbs"]), **({"rep": len(reps)} if reps else {})}, kinds
    assert frame.geometry.is_valid.all() and frame.crs.to_epsg() in (4326, 4979)
    west, south, east, north = frame.total_bounds
    for got, expected in zip(document["bbox"], (west, south, east, north)):
        near(got, expected, 1e-6, "bbox")
    # Lengths on the ellipsoid, of the two-dimensional line.
    geod = frame.crs.get_geod()
    climbs = frame[frame["hillwright"] == "climb"]
    for line, climb in zip(climbs.geometry, route["climbs"]):
        length = geod.line_length(*line.coords.xy)
        expected = climb["end"]["distance_m"] - climb["start"]["distance_m"]
        near(length, expected, 0.005 * expected + 2.0, f"length of climb {climb['id']}")
        near(line.coords[0][1], climb["start"]["lat"], 2e-5, "start of a climb")
    for line, rep in zip(frame[frame["hillwright"] == "rep"].geometry, reps):
        near(line.coords[0][0], rep["start"]["lon"], 3e-5, "start of a rep")


def check_kml(name, starts):
    layers = pyogrio.list_layers(folder / f"{name}.kml")
    frame = pandas.concat(geopandas.read_file(folder / f"{name}.kml", layer=layer) for layer in layers[:, 0])
    lines = frame[frame.geometry.geom_type == "LineString"]
    points = frame[frame.geometry.geom_type == "Point"]
    assert len(lines) == 1 and lines.geometry.iloc[0].has_z
    begun = points[points["Name"].str.contains("START")]
    assert len(begun) == len(starts), (len(begun), len(starts))
    for point, start in zip(begun.geometry, starts):
        near(point.x, start["lon"], 1e-9, "longitude of a start")
        near(point.y, start["lat"], 1e-9, "latitude of a start")


def check_csv(name, entries, number):
    path = folder / f"{name}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file, strict=True))
    assert len(rows) == len(entries) + 1 and len({len(row) for row in rows}) == 1
    frame = pandas.read_csv(path)
    assert frame[number].tolist() == [entry[number] for entry in entries]
    for start, entry in zip(frame["start_distance_m"], entries):
        near(start, entry["start"]["distance_m"], 1e-9, "start")
    assert frame["cautions"].str.contains("knee").all()
    for column in ("start_lat", "grade_pct", "duration_s"):
        assert pandas.api.types.is_numeric_dtype(frame[column]), column


plan = json.loads((folder / "plan.json").read_text())["routes"][0]
climbs = json.loads((folder / "climbs.json").read_text())["routes"][0]
assert plan["reps"] and climbs["climbs"]
check_geojson("plan", plan, plan["reps"])
check_geojson("climbs", climbs, [])
check_kml("plan", [rep["start"] for rep in plan["reps"]])
check_kml("climbs", [climb["start"] for climb in climbs["climbs"]])
check_csv("plan", plan["reps"], "rep")
check_csv("climbs", [{**c, "climb": c["id"]} for c in climbs["climbs"]], "climb")
print(f"{len(plan['reps'])} reps and {len(climbs['climbs'])} climbs read back by geojson, geopandas, GDAL, csv and pandas")
