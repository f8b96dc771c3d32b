"""Makes the reference values, or with --check makes them again and compares them with the kept ones.

    python make.py             writes values/*.json
    python make.py --check     exit status 1 and the differences where the kept values are not what is made
    python make.py gravity     only this topic (several may be named)
"""

import argparse
import importlib
import json
import pathlib
import sys
import tempfile

import document

TOPICS = ["geodesic", "air_density", "gravity", "ride", "development", "tyre", "fit", "smoother"]
VALUES = pathlib.Path(__file__).resolve().parent / "values"
DIFFERENCES_SHOWN = 20


def main():
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--check", action="store_true", help="compare with the kept values, write nothing there")
    arguments.add_argument("topics", nargs="*", metavar="TOPIC", help=", ".join(TOPICS))
    given = arguments.parse_args()
    unknown = sorted(set(given.topics) - set(TOPICS))
    if unknown:
        arguments.error(f"no topic {', '.join(unknown)}; there are {', '.join(TOPICS)}")
    topics = given.topics or TOPICS
    if not given.check:
        for topic in topics:
            print(f"{topic}: written to {write(topic, VALUES)}")
        return 0
    with tempfile.TemporaryDirectory() as folder:
        return 0 if all([agrees(topic, pathlib.Path(folder)) for topic in topics]) else 1


def write(topic, folder):
    folder.mkdir(exist_ok=True)
    path = folder / f"{topic}.json"
    path.write_text(document.text_of(importlib.import_module(topic).document()), encoding="utf-8", newline="\n")
    return path


def agrees(topic, folder):
    kept_path = VALUES / f"{topic}.json"
    if not kept_path.exists():
        print(f"{topic}: {kept_path} is missing")
        return False
    made = json.loads(write(topic, folder).read_text(encoding="utf-8"))
    kept = json.loads(kept_path.read_text(encoding="utf-8"))
    found = list(document.differences(kept, made, made["remade_within"]))
    for difference in found[:DIFFERENCES_SHOWN]:
        print(f"{topic}: {difference}")
    if len(found) > DIFFERENCES_SHOWN:
        print(f"{topic}: and {len(found) - DIFFERENCES_SHOWN} more differences")
    print(f"{topic}: {'agrees' if not found else f'{len(found)} differences'}")
    return not found


if __name__ == "__main__":
    sys.exit(main())
