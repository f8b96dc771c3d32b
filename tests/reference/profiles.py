"""Random roads: elevations every 10 m of horizontal run, straight between."""

import math

from document import rounded

STEP_M = 10


def climb(chance, cells, base_pct, wander_pct):
    """A climb whose grade wanders smoothly, kept between 2 and 12 per cent."""
    waves = [(chance.uniform(80, 900), chance.uniform(0, 2 * math.pi), chance.uniform(0.3, 1)) for _ in range(5)]
    return [min(max(base_pct + wander_pct * wave(waves, index), 2), 12) for index in range(cells)]


def rolling(chance, cells, wander_pct):
    """A road of rises and descents, kept between -9 and 9 per cent."""
    waves = [(chance.uniform(250, 2500), chance.uniform(0, 2 * math.pi), chance.uniform(0.3, 1)) for _ in range(5)]
    return [min(max(wander_pct * wave(waves, index), -9), 9) for index in range(cells)]


def wave(waves, index):
    place_m = (index + 0.5) * STEP_M
    heights = [height * math.sin(2 * math.pi * place_m / length_m + phase) for length_m, phase, height in waves]
    return sum(heights) / math.sqrt(sum(height**2 for _, _, height in waves) / 2)


def elevations_m(grades_pct, start_m):
    elevations = [start_m]
    for grade_pct in grades_pct:
        elevations.append(elevations[-1] + grade_pct / 100 * STEP_M)
    return [rounded(elevation, 3) for elevation in elevations]


def grades_pct(elevations):
    return [100 * (after - before) / STEP_M for before, after in zip(elevations, elevations[1:])]
