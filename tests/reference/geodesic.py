"""Lengths on the WGS 84 ellipsoid: published examples, random steps of six sizes, wiggly lines."""

import math
import random

from geographiclib.geodesic import Geodesic

from document import rounded

SEED = 20_240_101
STEPS_M = [1, 10, 100, 1_000, 10_000, 1_000_000]
PAIRS_A_STEP = 200
LINES = 20
POINTS_A_LINE = 50
COORDINATE_DECIMALS = 9
LENGTH_DECIMALS = 6

# Half a unit in the last printed place.
PUBLISHED = [
    {"name": "JFK to LHR", "published_in": "GeographicLib's documentation, example of Geodesic::Inverse (airports JFK and LHR); from memory",
     "from": [40.6, -73.8], "to": [51.6, -0.5], "length_m": 5_551_759.0, "published_to_m": 0.5},
    {"name": "Wellington to Salamanca", "published_in": "documentation of geographiclib for Python, Examples, Initializing; from memory",
     "from": [-41.32, 174.81], "to": [40.96, -5.50], "length_m": 19_959_679.267, "published_to_m": 0.0005},
    {"name": "nearly antipodal", "published_in": "Karney, Algorithms for geodesics, J. Geod. 87 (2013) 43-55, inverse problem example (Tables 4 to 6); from memory",
     "from": [-30.0, 0.0], "to": [29.9, 179.8], "length_m": 19_989_832.827_610, "published_to_m": 0.000_000_5},
    {"name": "ten thousand kilometres", "published_in": "Karney, Algorithms for geodesics, J. Geod. 87 (2013) 43-55, direct problem example (Table 2); from memory",
     "from": [40.0, 0.0], "to": [41.793_310_205_06, 137.844_900_043_77], "length_m": 10_000_000.0, "published_to_m": 0.000_002},
]


def length_m(from_, to):
    return Geodesic.WGS84.Inverse(*from_, *to, Geodesic.DISTANCE)["s12"]


def document():
    chance = random.Random(SEED)
    return {
        "source": "geographiclib 2.1 (PyPI) on WGS 84 (a = 6378137 m, 1/f = 298.257223563), method of Karney, J. Geod. 87 (2013) 43-55; "
                  "the published examples name their own source",
        "how": "Places are [lat_deg, lon_deg]. Published: the printed length, checked here against the library to the printed digits. Pairs: "
               f"{PAIRS_A_STEP} a step size, random (seed {SEED}), 0.5 to 1.5 times the step apart, at all latitudes, within 0.1 degrees of the "
               "poles, and across the 180th meridian; coordinates rounded to 9 decimals before the length is taken. Lines: the sum of the lengths "
               "between neighbouring points. Every length up to 10 km is checked against Vincenty's formula (Survey Review 23, 1975).",
        "remade_within": {"absolute": 2e-6, "relative": 0.0},
        "published": [published(example) for example in PUBLISHED],
        "pairs": [pair(chance, step_m, index) for step_m in STEPS_M for index in range(PAIRS_A_STEP)],
        "lines": [line(chance, index) for index in range(LINES)],
    }


def published(example):
    made_m = length_m(example["from"], example["to"])
    assert abs(made_m - example["length_m"]) <= example["published_to_m"], (example["name"], made_m)
    return {**example, "geographiclib_length_m": rounded(made_m, LENGTH_DECIMALS)}


def pair(chance, step_m, index):
    where = ["anywhere", "anywhere", "temperate", "temperate", "pole", "180"][index % 6]
    start = start_point(chance, where, step_m)
    to = moved(start, chance.uniform(-180, 180) if where != "180" else 90 + chance.uniform(-40, 40), step_m * chance.uniform(0.5, 1.5))
    length = length_m(start, to)
    if step_m <= 10_000:
        check_against_vincenty(start, to, length)
    return {"step_m": step_m, "where": where, "from": start, "to": to, "length_m": rounded(length, LENGTH_DECIMALS)}


def start_point(chance, where, step_m):
    lat_deg = {
        "anywhere": lambda: math.degrees(math.asin(chance.uniform(-1, 1))),
        "temperate": lambda: chance.choice([-1, 1]) * chance.uniform(30, 62),
        "pole": lambda: chance.choice([-1, 1]) * chance.uniform(89.9, 90),
        "180": lambda: chance.uniform(-75, 75),
    }[where]()
    lon_deg = chance.uniform(-180, 180)
    if where == "180":
        half_step_deg = 0.25 * step_m / (111_320 * math.cos(math.radians(lat_deg)))
        lon_deg = 180 - chance.uniform(0, half_step_deg)
    return place(lat_deg, lon_deg)


def moved(start, azimuth_deg, distance_m):
    end = Geodesic.WGS84.Direct(*start, azimuth_deg, distance_m)
    return place(end["lat2"], end["lon2"])


def place(lat_deg, lon_deg):
    return [rounded(lat_deg, COORDINATE_DECIMALS), rounded(lon_deg, COORDINATE_DECIMALS)]


def line(chance, index):
    where = ["temperate", "anywhere", "temperate", "180", "temperate", "pole"][index % 6]
    step_m = [2, 8, 25, 80, 250][index % 5]
    points = [start_point(chance, where, step_m)]
    heading_deg = 90 if where == "180" else chance.uniform(-180, 180)
    while len(points) < POINTS_A_LINE:
        heading_deg += chance.gauss(0, 25)
        points.append(moved(points[-1], heading_deg, step_m * chance.uniform(0.2, 1.8)))
    lengths_m = [length_m(*ends) for ends in zip(points, points[1:])]
    for ends, length in zip(zip(points, points[1:]), lengths_m):
        check_against_vincenty(*ends, length)
    return {"where": where, "length_m": rounded(math.fsum(lengths_m), LENGTH_DECIMALS), "points": points}


def check_against_vincenty(from_, to, length):
    other = vincenty_m(from_, to)
    assert abs(other - length) < 1e-3, (from_, to, length, other)


def vincenty_m(from_, to):
    """Vincenty, Survey Review 23 (1975), 88-93, equations 3, 4, 10, 11, 14 to 19."""
    a, f = 6_378_137.0, 1 / 298.257_223_563
    b = a * (1 - f)
    u1, u2 = (math.atan((1 - f) * math.tan(math.radians(lat))) for lat in (from_[0], to[0]))
    difference = math.radians((to[1] - from_[1] + 180) % 360 - 180)
    longitude = difference
    for _ in range(100):
        sin_sigma = math.hypot(math.cos(u2) * math.sin(longitude),
                               math.cos(u1) * math.sin(u2) - math.sin(u1) * math.cos(u2) * math.cos(longitude))
        if sin_sigma == 0:
            return 0.0
        cos_sigma = math.sin(u1) * math.sin(u2) + math.cos(u1) * math.cos(u2) * math.cos(longitude)
        sigma = math.atan2(sin_sigma, cos_sigma)
        sin_alpha = math.cos(u1) * math.cos(u2) * math.sin(longitude) / sin_sigma
        cos2_alpha = 1 - sin_alpha**2
        cos_2m = cos_sigma - 2 * math.sin(u1) * math.sin(u2) / cos2_alpha if cos2_alpha > 1e-18 else 0.0
        c = f / 16 * cos2_alpha * (4 + f * (4 - 3 * cos2_alpha))
        before = longitude
        longitude = difference + (1 - c) * f * sin_alpha * (
            sigma + c * sin_sigma * (cos_2m + c * cos_sigma * (2 * cos_2m**2 - 1)))
        if abs(longitude - before) < 1e-14:
            break
    u_squared = cos2_alpha * (a**2 - b**2) / b**2
    big_a = 1 + u_squared / 16384 * (4096 + u_squared * (-768 + u_squared * (320 - 175 * u_squared)))
    big_b = u_squared / 1024 * (256 + u_squared * (-128 + u_squared * (74 - 47 * u_squared)))
    delta = big_b * sin_sigma * (cos_2m + big_b / 4 * (
        cos_sigma * (2 * cos_2m**2 - 1) - big_b / 6 * cos_2m * (4 * sin_sigma**2 - 3) * (4 * cos_2m**2 - 3)))
    return b * big_a * (sigma - delta)
