"""Holds elevations read from tiles against GDAL's bilinear ones, at random places with a fixed seed.

    python3.11 -m venv .venv && .venv/bin/pip install -r requirements-terrain.txt
    cargo build --release --example tile_points
    .venv/bin/python compare_terrain.py TILE... -- ../../target/release/examples/tile_points

TILE is an .hgt file, plain or .gz, such as ../../elevation-cache/S45W130.hgt.gz. COMMAND is run with a tile's folder as its last argument; it reads
latitude,longitude in degrees from standard input, a place a line, and prints an elevation in metres a line. Half of the places lie anywhere in the tile, a
quarter where the ground is steepest, the others on samples, between two of them, and within a millionth of a degree of the tile's borders. GDAL is given a copy
in floating point, since it rounds on bands of whole metres. It must be within 0.01 m everywhere. Exit status 1 where it is not.
"""

import argparse
import gzip
import pathlib
import re
import subprocess
import sys

import numpy
import rasterio
import rasterio.warp

SEED = 20260301
PLACES = 8000
WITHIN_M = 0.01
VOID = -32768
SIDES = {2 * side * side: side for side in (1201, 3601)}


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("tiles", nargs="+", type=pathlib.Path)
    before, _, command = " ".join(sys.argv[1:]).partition(" -- ")
    if not command:
        arguments.error("no command: put it after --")
    given = arguments.parse_args(before.split())
    agreed = [compare(tile, command.split()) for tile in given.tiles]
    return 0 if all(agreed) else 1


def compare(tile, command):
    south, west = corner(tile)
    samples = read(tile)
    places = random_places(samples, south, west)
    expected = numpy.array([gdal_elevation_m(samples, south, west, lat, lon) for lat, lon in places])
    found = elevations_m(command, tile.parent, places)
    apart = numpy.abs(found - expected)
    worst = int(numpy.argmax(apart))
    print(f"{tile.name}: {len(places)} places, elevations {expected.min():.1f} to {expected.max():.1f} m, GDAL {rasterio.__gdal_version__}: "
          f"mean difference {apart.mean():.1e} m, greatest {apart[worst]:.1e} m at {places[worst][0]!r},{places[worst][1]!r}")
    return bool((apart <= WITHIN_M).all())


def corner(tile):
    """The degrees of the south-west corner, from the file's name."""
    half_ns, lat, half_ew, lon = re.match(r"([NS])(\d\d)([EW])(\d\d\d)\.", tile.name.upper()).groups()
    return int(lat) * (1 if half_ns == "N" else -1), int(lon) * (1 if half_ew == "E" else -1)


def read(tile):
    content = tile.read_bytes()
    if content[:2] == b"\x1f\x8b" and len(content) not in SIDES:
        content = gzip.decompress(content)
    side = SIDES[len(content)]
    samples = numpy.frombuffer(content, ">i2").reshape(side, side)
    if (samples == VOID).any():
        raise SystemExit(f"{tile} has voids: GDAL and the command fill them in different ways")
    return samples.astype("float64")


def random_places(samples, south, west):
    """Latitudes and longitudes in degrees, inside the tile or on its borders."""
    random = numpy.random.default_rng(SEED)
    cells = samples.shape[0] - 1
    anywhere = random.uniform(0, 1, (PLACES // 2, 2))
    steepness = numpy.ptp(numpy.stack([samples[:-1, :-1], samples[1:, :-1], samples[:-1, 1:], samples[1:, 1:]]), axis=0)
    steepest = numpy.argsort(steepness, axis=None)[-20 * PLACES:]
    rows, columns = numpy.unravel_index(random.choice(steepest, PLACES // 4, replace=False), steepness.shape)
    steep = (numpy.stack([cells - 1 - rows, columns], axis=1) + random.uniform(0, 1, (PLACES // 4, 2))) / cells
    on_samples = random.integers(0, cells + 1, (PLACES // 12, 2)) / cells
    between_two = on_samples.copy()
    between_two[:, 1] = random.uniform(0, 1, PLACES // 12)
    borders = random.uniform(0, 1, (PLACES // 12, 2))
    edge = random.integers(0, 2, PLACES // 12).astype(float)
    inwards = random.choice([0.0, 1e-6, 1e-9], PLACES // 12)
    borders[numpy.arange(PLACES // 12), random.integers(0, 2, PLACES // 12)] = numpy.abs(edge - inwards)
    shares = numpy.concatenate([anywhere, steep, on_samples, between_two, borders])
    return [(south + float(up), west + float(right)) for up, right in shares]


def gdal_elevation_m(samples, south, west, lat, lon):
    """Warps the tile onto one pixel as large as its own whose middle is the place; each sample is the middle of a pixel."""
    side = samples.shape[0]
    size = 1 / (side - 1)
    # A few rows and columns around the place are enough, and quick.
    row, column = (south + 1 - lat) / size, (lon - west) / size
    first_row, first_column = (int(min(max(numpy.floor(position) - 4, 0), side - 10)) for position in (row, column))
    part = numpy.ascontiguousarray(samples[first_row:first_row + 10, first_column:first_column + 10])
    source = rasterio.Affine(size, 0, west + (first_column - 0.5) * size, 0, -size, south + 1 - (first_row - 0.5) * size)
    target = rasterio.Affine(size, 0, lon - 0.5 * size, 0, -size, lat + 0.5 * size)
    pixel = numpy.full((1, 1), numpy.nan)
    rasterio.warp.reproject(part, pixel, src_transform=source, dst_transform=target, src_crs="EPSG:4326", dst_crs="EPSG:4326",
                            resampling=rasterio.warp.Resampling.bilinear, tolerance=0.0, dst_nodata=numpy.nan)
    return float(pixel[0, 0])


def elevations_m(command, folder, places):
    lines = "".join(f"{lat!r},{lon!r}\n" for lat, lon in places)
    run = subprocess.run([*command, str(folder)], input=lines, capture_output=True, text=True, check=False, timeout=600)
    if run.returncode != 0 or run.stderr:
        raise SystemExit(f"the command ended with status {run.returncode}: {run.stderr.strip()[:300]}")
    return numpy.array([float(line) if line else numpy.nan for line in run.stdout.splitlines()])


if __name__ == "__main__":
    sys.exit(main())
