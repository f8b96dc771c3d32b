"""The cheapest plans of 40 small random instances, found by OR-Tools' CP-SAT.

    python matching_reference.py             writes values/matching.json
    python matching_reference.py --check     solves the kept instances again; exit status 1 where a cost differs

Needs requirements-matching.txt. Written from the model as docs/method.md states it, not from the program: a plan is a closed walk
from a depot through chosen places and back, places of later reps after those of earlier ones; every arc has the cost of the cheapest
way there is. All costs and times are whole numbers.
"""

import json
import pathlib
import random
import sys

from ortools.sat.python import cp_model

VALUES = pathlib.Path(__file__).resolve().parent / "values" / "matching.json"
INSTANCES = 40
SEED = 20_260_101
# More than any instance's whole cost, so that a rep left out comes before everything.
LEFT_OUT = 1_000_000


def road(rng):
    """Ascents of 300 m with descents of 200 m between them, and some level stretches of 60 m."""
    ascents = [(500 * i, 500 * i + 300) for i in range(rng.randint(1, 4))]
    levels = sorted(rng.randrange(0, 2000) for _ in range(rng.randint(0, 4)))
    return ascents, levels


def mark(at, level):
    """A place (m) on the clocks (s): easy riding, what counts of it as rest, rolling back."""
    easy = at + at // 3
    return {"at": at, "easy": easy, "rest": easy - easy // 5, "back": at // 4, "level": level}


def choice(rng, ascents, levels):
    number = rng.randrange(len(ascents))
    foot, top = ascents[number]
    start = rng.randrange(foot, top - 20)
    end = min(top, start + rng.randint(40, 160))
    before = [level for level in levels if level + 60 <= start]
    after = [level + 60 for level in levels if level >= end]
    return {
        "allowed": rng.random() < 0.9,
        "climb": number + 1,
        "ascent": number + 1,
        "cost": rng.randint(0, 60),
        "first": None if rng.random() < 0.2 else rng.choice([0, 0, 5, 20]),
        "start": mark(start, max(before, default=None)),
        "end": mark(end, min(after, default=None)),
    }


def instance(rng):
    ascents, levels = road(rng)
    blocks = []
    for _ in range(rng.randint(1, 2)):
        at_least = rng.randint(20, 250)
        choices = [choice(rng, ascents, levels) for _ in range(rng.randint(3, 9))]
        blocks.append({
            "reps": rng.randint(1, 4),
            "at_least": at_least,
            "at_most": None if rng.random() < 0.2 else at_least + rng.randint(0, 200),
            "choices": sorted(choices, key=lambda c: (c["start"]["at"], c["end"]["at"])),
        })
    reps = sum(block["reps"] for block in blocks)
    return {
        "over_rest_rate": rng.randint(0, 3),
        "waiting_rate": rng.randint(0, 2),
        "soft_pedal": rng.choice([None, 0, 10, 40]),
        "roll_back": rng.choice([None, {"turning": 30, "cost": rng.randint(0, 40)}]),
        "pins": [[rng.randrange(reps), rng.randint(1, len(ascents))]] if rng.random() < 0.3 else [],
        "blocks": blocks,
    }


def way_cost(problem, block, a, b):
    """The cheapest way from the end of a (a rep of this block) to the start of b, or None."""
    end, start, least, most = a["end"], b["start"], block["at_least"], block["at_most"]
    costs = []
    rest = start["rest"] - end["rest"]
    elapsed = start["easy"] - end["easy"]
    if rest >= least:
        over = 0 if most is None else max(0, elapsed - most)
        costs.append(problem["over_rest_rate"] * over)
    elif problem["soft_pedal"] is not None and start["level"] is not None and end["at"] <= start["level"]:
        costs.append(problem["soft_pedal"] + problem["waiting_rate"] * (least - rest))
    roll = problem["roll_back"]
    if roll is not None and a["ascent"] == b["ascent"] and start["at"] <= end["at"]:
        elapsed = roll["turning"] + end["back"] - start["back"]
        over = 0 if most is None else max(0, elapsed - most)
        costs.append(roll["cost"] + problem["waiting_rate"] * max(0, least - elapsed) + problem["over_rest_rate"] * over)
    return min(costs, default=None)


def solve(problem):
    """Reps left out, and the cost of the others."""
    blocks = [block for block in problem["blocks"] for _ in range(block["reps"])]
    pins = dict(map(tuple, problem["pins"]))
    nodes = [
        (rep, block, place)
        for rep, block in enumerate(blocks)
        for place in block["choices"]
        if place["allowed"] and pins.get(rep, place["climb"]) == place["climb"]
    ]
    model = cp_model.CpModel()
    arcs, terms = [], []

    def arc(tail, head, cost):
        used = model.NewBoolVar("")
        arcs.append((tail, head, used))
        terms.append(cost * used)

    arc(0, 0, 0)
    for i, (rep, block, place) in enumerate(nodes, 1):
        visited = model.NewBoolVar("")
        arcs.append((i, i, visited.Not()))
        terms.append((place["cost"] - LEFT_OUT) * visited)
        if place["first"] is not None:
            arc(0, i, place["first"])
        arc(i, 0, 0)
        for j, (later, _, there) in enumerate(nodes, 1):
            cost = way_cost(problem, block, place, there) if later > rep else None
            if cost is not None:
                arc(i, j, cost)
    if not nodes:
        return len(blocks), 0
    model.AddCircuit(arcs)
    model.Minimize(sum(terms) + LEFT_OUT * len(blocks))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    if solver.Solve(model) != cp_model.OPTIMAL:
        raise SystemExit("an instance was not solved to the end")
    total = round(solver.ObjectiveValue())
    return total // LEFT_OUT, total % LEFT_OUT


def main():
    if "--check" in sys.argv[1:]:
        kept = json.loads(VALUES.read_text(encoding="utf-8"))["instances"]
        wrong = [i for i, each in enumerate(kept) if solve(each["problem"]) != (each["left_out"], each["cost"])]
        print(f"matching: {len(kept) - len(wrong)} of {len(kept)} agree" + (f"; not {wrong}" if wrong else ""))
        return 1 if wrong else 0
    rng = random.Random(SEED)
    instances = []
    for _ in range(INSTANCES):
        problem = instance(rng)
        left_out, cost = solve(problem)
        instances.append({"left_out": left_out, "cost": cost, "problem": problem})
    lines = ",\n".join("    " + json.dumps(each) for each in instances)
    head = {
        "source": "OR-Tools CP-SAT, version in requirements-matching.txt",
        "how": "matching_reference.py: random instances of the model in docs/method.md, whole numbers, solved to the proven optimum",
    }
    text = "{\n" + "".join(f"  {json.dumps(k)}: {json.dumps(v)},\n" for k, v in head.items())
    VALUES.write_text(text + '  "instances": [\n' + lines + "\n  ]\n}\n", encoding="utf-8", newline="\n")
    print(f"matching: written to {VALUES}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
