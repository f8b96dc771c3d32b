"""The second way: the rides of values/ride.json again, in small steps of time, all cases side by side.

Where make.py integrates over the run with an adaptive solver and finds exactly where the rider's behaviour changes, this steps through time with
Runge-Kutta 4 and looks only at the present speed. It takes about five minutes and is not needed when values are made again.
"""

import json
import pathlib
import sys

import numpy as np

import road_model

STEP_S = 2e-3
TIME_WITHIN = 2e-5
SHARE_WITHIN = 1e-3
REP_S = 240
KEYS = ["total_mass_kg", "cda_m2", "crr", "air_density_kg_m3", "headwind_m_s", "drivetrain_efficiency"]


def main():
    values = json.loads((pathlib.Path(__file__).parent / "values" / "ride.json").read_text(encoding="utf-8"))
    agreed = [agrees("profiles", values["profiles"], ridden(values["profiles"], hold=False)),
              agrees("held", values["held"], ridden(values["held"], hold=True))]
    return 0 if all(agreed) else 1


def agrees(name, cases, found):
    worst = {}
    for key, within in [("duration_s", TIME_WITHIN), ("exit_speed_m_s", 5 * TIME_WITHIN), ("distance_after_240s_m", TIME_WITHIN),
                        ("in_band_share", SHARE_WITHIN), ("mean_power_w", 5 * TIME_WITHIN)]:
        if key in cases[0]:
            kept = np.array([case[key] for case in cases])
            worst[key] = (float(np.max(np.abs(found[key] / kept - 1))), within)
    for key, (apart, within) in worst.items():
        print(f"{name}: {key} at most {apart:.2e} apart, {within:.0e} allowed")
    return all(apart <= within for apart, within in worst.values())


def ridden(cases, hold):
    road = {key: np.array([case[key] for case in cases]) for key in KEYS}
    grades_pct, ends_m = grade_table(cases)
    rows = np.arange(len(cases))
    place_m, speed_m_s = np.zeros(len(cases)), np.array([case["entry_speed_m_s"] for case in cases])
    aim_m_s, from_w, to_w, low_m_s, high_m_s = aims(cases, hold)
    found = {key: np.zeros(len(cases)) for key in ["duration_s", "exit_speed_m_s", "distance_after_240s_m", "within_s", "work_j"]}
    time_s, riding = 0.0, np.full(len(cases), True)

    def grade_at(place):
        return grades_pct[rows, np.minimum((place / 10).astype(int), grades_pct.shape[1] - 1)]

    def power_at(grade, speed):
        needed_w = slope_resistance_n(road, grade, speed) * speed / road["drivetrain_efficiency"]
        return np.where(speed < aim_m_s, to_w, np.where(speed > aim_m_s, from_w, np.clip(needed_w, from_w, to_w)))

    while riding.any():
        grade = grade_at(place_m)
        power_w = power_at(grade, speed_m_s)
        run_rate, next_speed = runge_kutta(road, power_w, grade_at, place_m, speed_m_s)
        next_speed = np.where((speed_m_s - aim_m_s) * (next_speed - aim_m_s) < 0, aim_m_s, next_speed)
        held = (speed_m_s == aim_m_s) & (power_w > from_w) & (power_w < to_w)
        next_speed = np.where(held, aim_m_s, next_speed)
        next_place = place_m + run_rate * STEP_S
        ends = riding & (next_place >= ends_m)
        part = np.where(ends, (ends_m - place_m) / (next_place - place_m), 1.0)
        found["within_s"] += np.where(riding & (speed_m_s >= low_m_s) & (speed_m_s <= high_m_s), part * STEP_S, 0)
        found["work_j"] += np.where(riding, power_w * part * STEP_S, 0)
        found["duration_s"] = np.where(ends, time_s + part * STEP_S, found["duration_s"])
        found["exit_speed_m_s"] = np.where(ends, speed_m_s + part * (next_speed - speed_m_s), found["exit_speed_m_s"])
        riding &= ~ends
        place_m, speed_m_s, time_s = next_place, np.where(riding, next_speed, 5.0), time_s + STEP_S
        if abs(time_s - REP_S) < STEP_S / 2:
            found["distance_after_240s_m"] = place_m.copy()
    found["in_band_share"] = found["within_s"] / found["duration_s"]
    found["mean_power_w"] = found["work_j"] / found["duration_s"]
    return found


def runge_kutta(road, power_w, grade_at, place_m, speed_m_s):
    """The mean rate of the run over the step, and the speed after it."""
    def rates(place, speed):
        grade = grade_at(place)
        push_n = power_w * road["drivetrain_efficiency"] / speed - slope_resistance_n(road, grade, speed)
        return speed / np.sqrt(1 + (grade / 100) ** 2), push_n / road_model.inertia_kg(road)
    x1, v1 = rates(place_m, speed_m_s)
    x2, v2 = rates(place_m + x1 * STEP_S / 2, speed_m_s + v1 * STEP_S / 2)
    x3, v3 = rates(place_m + x2 * STEP_S / 2, speed_m_s + v2 * STEP_S / 2)
    x4, v4 = rates(place_m + x3 * STEP_S, speed_m_s + v3 * STEP_S)
    return (x1 + 2 * x2 + 2 * x3 + x4) / 6, speed_m_s + (v1 + 2 * v2 + 2 * v3 + v4) / 6 * STEP_S


def slope_resistance_n(road, grade_pct, speed_m_s):
    """The paper's forces once more, written with rise and run in place of angles."""
    slope_m = np.hypot(100, grade_pct)
    weight_n = road["total_mass_kg"] * road_model.GRAVITY_M_S2
    wind = speed_m_s + road["headwind_m_s"]
    air_n = road["air_density_kg_m3"] / 2 * (road["cda_m2"] + 0.0044) * wind * np.abs(wind)
    return air_n + weight_n * (grade_pct + 100 * road["crr"]) / slope_m + 0.091 + 0.0087 * speed_m_s


def grade_table(cases):
    longest = max(len(case["elevation_m"]) for case in cases) - 1
    rows = [10 * np.diff(case["elevation_m"]) for case in cases]
    return np.array([np.pad(row, (0, longest - len(row)), mode="edge") for row in rows]), np.array([10.0 * len(row) for row in rows])


def aims(cases, hold):
    if hold:
        return [np.array([case[key] for case in cases]) for key in ["aim_speed_m_s", "power_from_w", "power_to_w", "low_speed_m_s", "high_speed_m_s"]]
    power_w = np.array([case["power_w"] for case in cases])
    return np.zeros(len(cases)), power_w, power_w, np.zeros(len(cases)), np.full(len(cases), np.inf)


if __name__ == "__main__":
    sys.exit(main())
