#!/usr/bin/env python3
"""The climbs that an analyst would script from gpxpy, scipy and ruptures in an afternoon.

    pip install -r requirements-analyst.txt
    cargo run --release --example accuracy -- --seeds 1000..1040 --write-gpx FOLDER
    python analyst.py FOLDER FOLDER/analyst.json
    cargo run --release --example accuracy -- --score FOLDER/analyst.json

Each track is cleaned of standing still and of jumps, spaced evenly, smoothed by a Savitzky-Golay filter over 300 m,
cut where its grade changes by KernelCPD, and every piece that is long, steep and even enough is a climb.
"""

import json
import sys
from pathlib import Path

import gpxpy
import numpy as np
import ruptures
from scipy.signal import medfilt, savgol_filter

SPACING_M = 10.0
SMOOTHING_M = 300.0
LEAST_LENGTH_M = 400.0
LEAST_GRADE_PCT = 3.0
SHORTEST_PIECE_M = 100.0
TOLERANCE_SHARE = 0.2
# Penalty of a cut, in squared points of grade times samples; of 10 to 240,
# 130 had the best mean F1 over the five kinds on roads 1 to 10.
PENALTY = 130.0
EARTH_RADIUS_M = 6_371_008.8


def read_track(path):
    """Latitude, longitude and elevation of the points that have all three."""
    with open(path, encoding="utf-8") as file:
        gpx = gpxpy.parse(file)
    rows = [
        (point.latitude, point.longitude, point.elevation)
        for track in gpx.tracks
        for segment in track.segments
        for point in segment.points
        if point.elevation is not None
    ]
    return np.array(rows).T


def steps_m(lat, lon):
    """Great-circle distance between neighbours."""
    lat, lon = np.radians(lat), np.radians(lon)
    across = np.diff(lon) * np.cos(0.5 * (lat[1:] + lat[:-1]))
    return EARTH_RADIUS_M * np.hypot(np.diff(lat), across)


def drop_position_spikes(lat, lon, elevation):
    """Points that lie far off while their neighbours are close together."""
    there, back = steps_m(lat, lon)[:-1], steps_m(lat, lon)[1:]
    direct = EARTH_RADIUS_M * np.hypot(
        np.radians(lat[2:] - lat[:-2]),
        np.radians(lon[2:] - lon[:-2]) * np.cos(np.radians(lat[1:-1])),
    )
    bad = (there > 20) & (back > 20) & (there + back > 3 * direct)
    keep = np.concatenate(([True], ~bad, [True]))
    return lat[keep], lon[keep], elevation[keep]


def thin(lat, lon, elevation):
    """Only points at least 5 m from the last one kept, which takes out standing still."""
    kept = [0]
    scale = np.cos(np.radians(lat))
    for i in range(1, len(lat)):
        last = kept[-1]
        away = EARTH_RADIUS_M * np.hypot(
            np.radians(lat[i] - lat[last]), np.radians(lon[i] - lon[last]) * scale[i]
        )
        if away >= 5.0:
            kept.append(i)
    return lat[kept], lon[kept], elevation[kept]


def find_climbs(path):
    lat, lon, elevation = thin(*drop_position_spikes(*read_track(path)))
    middle = medfilt(elevation, 5)
    elevation = np.where(np.abs(elevation - middle) > 15.0, middle, elevation)

    distance = np.concatenate(([0.0], np.cumsum(steps_m(lat, lon))))
    even = np.arange(0.0, distance[-1], SPACING_M)
    heights = np.interp(even, distance, elevation)
    window = int(SMOOTHING_M / SPACING_M) | 1
    grade = 100 * savgol_filter(heights, window, 2, deriv=1, delta=SPACING_M)

    detector = ruptures.KernelCPD(kernel="linear", min_size=int(SHORTEST_PIECE_M / SPACING_M))
    cuts = [0, *detector.fit(grade.reshape(-1, 1)).predict(pen=PENALTY)]

    climbs = []
    for start, end in zip(cuts[:-1], cuts[1:]):
        end = min(end, len(even) - 1)
        length = even[end] - even[start]
        inside = grade[start:end]
        if length < LEAST_LENGTH_M or inside.mean() < LEAST_GRADE_PCT:
            continue
        if np.std(inside) > TOLERANCE_SHARE * (inside.mean() + 1):
            continue
        climbs.append(
            {
                "start": place(even[start], distance, lat, lon),
                "end": place(even[end], distance, lat, lon),
                "grade_pct": float(inside.mean()),
            }
        )
    return climbs


def place(at, distance, lat, lon):
    return {
        "lat": float(np.interp(at, distance, lat)),
        "lon": float(np.interp(at, distance, lon)),
    }


def main():
    folder, out = Path(sys.argv[1]), Path(sys.argv[2])
    answers = {path.stem: find_climbs(path) for path in sorted(folder.glob("*.gpx"))}
    out.write_text(json.dumps(answers, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
