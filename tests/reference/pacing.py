"""A rider on a profile, cell by cell: the place is the horizontal run, the state is time and speed."""

import math

from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from profiles import STEP_M, grades_pct
from road_model import acceleration_m_s2, steady_power_w

ACCURACY = 1e-10


def ride_at_power(road, elevations, power_w, entry_speed_m_s):
    """Constant power; gives duration, exit speed and the lowest speed."""
    time_s, speed_m_s, lowest_m_s = 0.0, entry_speed_m_s, entry_speed_m_s
    for grade_pct in grades_pct(elevations):
        time_s, speed_m_s = integrated(road, grade_pct, power_w, time_s, speed_m_s, 0, STEP_M).y[:, -1]
        lowest_m_s = min(lowest_m_s, speed_m_s)
    return float(time_s), float(speed_m_s), float(lowest_m_s)


def integrated(road, grade_pct, power_w, time_s, speed_m_s, from_m, to_m, event=None, dense=False):
    """Time and speed over the run: dt/dx = s / v and dv/dx = s a / v, where s = ds/dx = sqrt(1 + grade^2)."""
    stretch = math.sqrt(1 + (grade_pct / 100) ** 2)

    def rates(_, state):
        speed = float(state[1])
        return stretch / speed, stretch * acceleration_m_s2(road, grade_pct, power_w, speed) / speed

    solution = solve_ivp(rates, (from_m, to_m), (time_s, speed_m_s), method="DOP853", rtol=ACCURACY, atol=ACCURACY,
                         events=event, dense_output=dense)
    assert solution.success, solution.message
    return solution


def hold_cadence(road, elevations, aim):
    """Holds aim["speed_m_s"] while that takes a power within [power_from_w, power_to_w], else rides at the nearer end of it.

    Below the aimed speed the power is power_to_w, above it power_from_w, until the aimed speed is reached.
    Gives the pieces of the ride, each with its speed as a function of the place.
    """
    pieces, time_s, speed_m_s = [], 0.0, aim["entry_speed_m_s"]
    for index, grade_pct in enumerate(grades_pct(elevations)):
        place_m, end_m = float(index * STEP_M), float((index + 1) * STEP_M)
        while end_m - place_m > 1e-9:
            piece = next_piece(road, grade_pct, aim, time_s, speed_m_s, place_m, end_m)
            pieces.append(piece)
            place_m, time_s, speed_m_s = piece["to_m"], piece["to_s"], piece["to_m_s"]
    return pieces


def next_piece(road, grade_pct, aim, time_s, speed_m_s, place_m, end_m):
    """Up to the end of the cell, or to where the aimed speed is reached."""
    aimed_m_s = aim["speed_m_s"]
    needed_w = steady_power_w(road, grade_pct, aimed_m_s)
    if speed_m_s == aimed_m_s and aim["power_from_w"] <= needed_w <= aim["power_to_w"]:
        return held_piece(grade_pct, needed_w, aimed_m_s, time_s, place_m, end_m)
    below = speed_m_s < aimed_m_s or (speed_m_s == aimed_m_s and needed_w > aim["power_to_w"])
    power_w = aim["power_to_w"] if below else aim["power_from_w"]

    def beyond_aim(_, state):
        return state[1] - aimed_m_s
    beyond_aim.terminal = True
    beyond_aim.direction = 1 if below else -1

    solution = integrated(road, grade_pct, power_w, time_s, speed_m_s, place_m, end_m, beyond_aim, dense=True)
    reached = solution.status == 1
    return {
        "from_m": place_m, "to_m": float(solution.t[-1]), "from_s": time_s, "to_s": float(solution.y[0, -1]),
        "from_m_s": speed_m_s, "to_m_s": aimed_m_s if reached else float(solution.y[1, -1]), "power_w": power_w,
        "time_at": lambda place: float(solution.sol(place)[0]), "speed_at": lambda place: float(solution.sol(place)[1]),
    }


def held_piece(grade_pct, needed_w, aimed_m_s, time_s, place_m, end_m):
    stretch = math.sqrt(1 + (grade_pct / 100) ** 2)
    return {
        "from_m": place_m, "to_m": end_m, "from_s": time_s, "to_s": time_s + (end_m - place_m) * stretch / aimed_m_s,
        "from_m_s": aimed_m_s, "to_m_s": aimed_m_s, "power_w": needed_w,
        "time_at": lambda place: time_s + (place - place_m) * stretch / aimed_m_s, "speed_at": lambda place: aimed_m_s,
    }


def distance_after_m(pieces, time_s):
    piece = next(piece for piece in pieces if piece["to_s"] >= time_s)
    return brentq(lambda place: piece["time_at"](place) - time_s, piece["from_m"], piece["to_m"], xtol=1e-9)


def time_within_s(pieces, low_m_s, high_m_s):
    """Time with the speed within the two; in a piece the speed only rises or only falls."""
    return math.fsum(piece_within_s(piece, low_m_s, high_m_s) for piece in pieces)


def piece_within_s(piece, low_m_s, high_m_s):
    slower, faster = sorted((piece["from_m_s"], piece["to_m_s"]))
    if slower >= low_m_s and faster <= high_m_s:
        return piece["to_s"] - piece["from_s"]
    if faster <= low_m_s or slower >= high_m_s:
        return 0.0
    enters, leaves = sorted(passing_s(piece, min(max(edge, slower), faster)) for edge in (low_m_s, high_m_s))
    return leaves - enters


def passing_s(piece, speed_m_s):
    if speed_m_s == piece["from_m_s"]:
        return piece["from_s"]
    if speed_m_s == piece["to_m_s"]:
        return piece["to_s"]
    place = brentq(lambda place: piece["speed_at"](place) - speed_m_s, piece["from_m"], piece["to_m"], xtol=1e-9)
    return piece["time_at"](place)


def mean_power_w(pieces):
    work_j = math.fsum(piece["power_w"] * (piece["to_s"] - piece["from_s"]) for piece in pieces)
    return work_j / (pieces[-1]["to_s"] - pieces[0]["from_s"])
