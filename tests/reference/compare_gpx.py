"""Holds a GPX reader against gpxpy, point by point.

    python compare_gpx.py FOLDER -- COMMAND...

COMMAND is run once for every .gpx file below FOLDER, with the file's path as its last argument. It prints CSV with the header
recording,segment,lat_deg,lon_deg,elevation_m,time_s: recordings in file order (tracks and routes as they come), empty where a value is missing, time in
seconds since 1970-01-01T00:00:00Z. Numbering is free, since only the order counts; recordings and segments without points are left out on both sides.
Latitude, longitude and elevation must be the same number, time within a millisecond. Exit status 1 where a file differs, or was not read by either side.
"""

import argparse
import csv
import datetime
import io
import itertools
import pathlib
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import gpxpy

HEADER = ["recording", "segment", "lat_deg", "lon_deg", "elevation_m", "time_s"]
TIME_WITHIN_S = 1e-3
DIFFERENCES_SHOWN = 5
PATIENCE_S = 600


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("folder", type=pathlib.Path)
    arguments.add_argument("command", nargs="+")
    given = arguments.parse_args()
    files = sorted(path for path in given.folder.rglob("*") if path.suffix.lower() == ".gpx" and path.is_file())
    if not files:
        print(f"no .gpx file below {given.folder}")
        return 1
    differing = [path for path in files if not same(path, given.command)]
    print(f"{len(files) - len(differing)} of {len(files)} files are read alike")
    return 1 if differing else 0


def same(path, command):
    try:
        expected, found = gpxpy_segments(path), command_segments(path, command)
    except Unread as refusal:
        print(f"{path}: {refusal}")
        return False
    differences = list(itertools.islice(segment_differences(expected, found), DIFFERENCES_SHOWN))
    for difference in differences:
        print(f"{path}: {difference}")
    if not differences:
        print(f"{path}: {sum(map(len, expected.values()))} points alike in {len(expected)} segments")
    return not differences


class Unread(Exception):
    """One of the two sides gave no points."""


def gpxpy_segments(path):
    """Points by (recording, segment), both counted from 0 in file order."""
    text = decoded(path.read_bytes())
    try:
        gpx = gpxpy.parse(text)
        order = recording_order(text)
    except (gpxpy.gpx.GPXException, ElementTree.ParseError) as error:
        raise Unread(f"gpxpy does not read it: {error}") from error
    tracks, routes = iter(gpx.tracks), iter(gpx.routes)
    recordings = [[segment.points for segment in next(tracks).segments] if kind == "trk" else [next(routes).points] for kind in order]
    return numbered((recording, segment, gpxpy_point(point)) for recording, segments in enumerate(recordings)
                    for segment, points in enumerate(segments) for point in points)


def decoded(content):
    """The text in the encoding that the file declares, UTF-8 where it declares none."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16")
    declared = re.match(rb"""(?:\xef\xbb\xbf)?\s*<\?xml[^>]*?encoding=["']([A-Za-z0-9._-]+)["']""", content)
    encoding = declared.group(1).decode() if declared else "utf-8"
    return content.decode("utf-8-sig" if encoding.lower() in ("utf-8", "utf8") else encoding)


def recording_order(text):
    """The kinds of the file's recordings as they come: gpxpy keeps tracks and routes apart."""
    declaration = re.compile(r"^\s*<\?xml.*?\?>", re.DOTALL)
    names = [child.tag.rpartition("}")[2] for child in ElementTree.fromstring(declaration.sub("", text))]
    return [name for name in names if name in ("trk", "rte")]


def gpxpy_point(point):
    return point.latitude, point.longitude, point.elevation, unix_s(point.time)


def unix_s(time):
    """A time without a zone is UTC, as the GPX schema says."""
    if time is None:
        return None
    return (time if time.tzinfo else time.replace(tzinfo=datetime.timezone.utc)).timestamp()


def command_segments(path, command):
    try:
        run = subprocess.run([*command, str(path)], capture_output=True, text=True, encoding="utf-8", timeout=PATIENCE_S)
    except (OSError, subprocess.TimeoutExpired) as error:
        raise Unread(f"the command could not be run: {error}") from error
    if run.returncode != 0:
        raise Unread(f"the command ended with status {run.returncode}: {run.stderr.strip()[-300:]}")
    rows = csv.reader(io.StringIO(run.stdout))
    header = next(rows, None)
    if header != HEADER:
        raise Unread(f"the command printed the header {header}, not {','.join(HEADER)}")
    return numbered(command_point(row) for row in rows)


def command_point(row):
    try:
        recording, segment, *values = row
        lat_deg, lon_deg, elevation_m, time_s = (float(value) if value else None for value in values)
    except ValueError as error:
        raise Unread(f"the command printed a line that is no point: {','.join(row)}") from error
    return recording, segment, (lat_deg, lon_deg, elevation_m, time_s)


def numbered(points):
    """Groups points under (recording, segment), numbering both anew from 0."""
    segments = {}
    recording = -1
    for _, members in itertools.groupby(points, key=lambda point: point[0]):
        recording += 1
        for segment, (_, group) in enumerate(itertools.groupby(members, key=lambda point: point[1])):
            segments[recording, segment] = [point for _, _, point in group]
    return segments


def segment_differences(expected, found):
    if expected.keys() != found.keys():
        yield f"segments of the recordings: {shape(expected)} by gpxpy, {shape(found)} by the command"
        return
    for (recording, segment), points in expected.items():
        others = found[recording, segment]
        place = f"recording {recording + 1}, segment {segment + 1}"
        if len(points) != len(others):
            yield f"{place}: {len(points)} points by gpxpy, {len(others)} by the command"
        for index, (point, other) in enumerate(zip(points, others)):
            if not alike(point, other):
                yield f"{place}, point {index + 1}: {point} by gpxpy, {other} by the command"


def shape(segments):
    """How many segments each recording has."""
    return [len(list(members)) for _, members in itertools.groupby(segments, key=lambda key: key[0])]


def alike(point, other):
    *place, time_s = point
    *other_place, other_time_s = other
    if place != other_place or (time_s is None) != (other_time_s is None):
        return False
    return time_s is None or abs(time_s - other_time_s) <= TIME_WITHIN_S


if __name__ == "__main__":
    sys.exit(main())
