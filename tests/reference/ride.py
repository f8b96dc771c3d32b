"""Power, speed and time on the road, by the road model and scipy's solvers."""

import random

import pacing
import profiles
import road_model
from document import rounded

SEED = 1998
STEADY = 100
POWERS = 100
CLIMBS = 36
ROLLING = 24
HELD = 30
SHORT = 500
REP_S = 240
SLOWEST_M_S = 1.1
AIM_RPM, FROM_RPM, TO_RPM = 55, 50, 60
EDGE_SHIFT = 1e-3
SHARE_SHIFT = 5e-3

# The paper's worked example: a rider timed over 471.8 m in 56.42 s, the wind at 30 degrees to the road.
PAPER = {
    "road": {"total_mass_kg": 90.0, "cda_m2": 0.2565, "crr": 0.0032, "air_density_kg_m3": 1.2234,
             "headwind_m_s": 2.546, "drivetrain_efficiency": 0.976},
    "gravity_m_s2": 9.81, "grade_pct": 0.3, "from_m_s": 8.28, "to_m_s": 8.45, "distance_m": 471.8, "duration_s": 56.42, "printed_power_w": 213.3,
}


def document():
    chance = random.Random(SEED)
    return {
        "source": "Road model: Martin, Milliken, Cobb, McFadden and Coggan, Validation of a mathematical model for road cycling power, "
                  "J. Appl. Biomech. 14 (1998), 276-291; equations and constants from memory. Solvers: scipy 1.17.1 (PyPI), brentq and solve_ivp (DOP853).",
        "how": "Power x efficiency = V (air + rolling + bearings + gravity) + inertia V dV/dt. Air: 1/2 density (CdA + 0.0044 m2) |Va| Va, Va = V + headwind; "
               "rolling: Crr m g cos(atan(grade)); bearings: 0.091 + 0.0087 V newtons; gravity: m g sin(atan(grade)); inertia: m + 0.14 kg m2 / (0.311 m)^2; "
               "g = 9.80665 m/s2 throughout, m the total mass. V is along the slope. steady: the speed at a power. powers: the power at a steady speed, or, where "
               "the two speeds differ, the paper's total (resistances at half their sum, kinetic energy over the duration). profiles and held: elevations every step_m of "
               "HORIZONTAL run, straight between, so ds = dx sqrt(1 + grade^2); time and speed are integrated over the run cell by cell at a relative accuracy "
               "of 1e-10; density, wind and mass are constant; no limit of speed. profiles and short: constant power, thrust = power x efficiency / V. "
               "held: the rider holds aim_speed_m_s where that takes a power within [power_from_w, power_to_w]; below that speed the power is power_to_w, above it power_from_w, "
               "until the speed is reached; where holding takes more than power_to_w the power is power_to_w and the speed falls, where it takes less than power_from_w the power is "
               f"power_from_w and the speed rises. duration_s is for the whole profile; distance_after_240s_m is the horizontal run in the first {REP_S} s; "
               "in_band_share is the share of duration_s with the speed within [low_speed_m_s, high_speed_m_s], and moving either edge by 0.1 % moves it by less than 0.005, "
               "so compare it within 0.005; mean_power_w is over time. check_ride.py holds profiles and held against small steps in time (Runge-Kutta 4). "
               f"Cases are random (seed {SEED}).",
        "remade_within": {"absolute": 2e-6, "relative": 1e-7},
        "paper": paper(),
        "steady": [steady(chance, index) for index in range(STEADY)],
        "powers": [power(chance, index) for index in range(POWERS)],
        "profiles": [climb_ride(chance) for _ in range(CLIMBS)] + [rolling_ride(chance) for _ in range(ROLLING)],
        "held": [held_ride(chance, index) for index in range(HELD)],
        "short": [short_ride(chance) for _ in range(SHORT)],
    }


def paper():
    speed_m_s = PAPER["distance_m"] / PAPER["duration_s"]
    made_w = road_model.power_w(PAPER["road"], PAPER["grade_pct"], speed_m_s, PAPER["from_m_s"], PAPER["to_m_s"], PAPER["duration_s"], PAPER["gravity_m_s2"])
    assert abs(made_w - PAPER["printed_power_w"]) < 0.2, made_w
    return {
        "note": "The paper's worked example, inputs and printed total from memory; that the model gives the total from them to 0.2 W speaks for both. "
                "The resistances are taken at speed_m_s = distance / duration; g is the paper's 9.81 m/s2.",
        **{key: value for key, value in PAPER.items() if key != "road"}, **PAPER["road"],
        "speed_m_s": rounded(speed_m_s, 6), "power_w": rounded(made_w, 4),
    }


def random_road(chance):
    return {
        "total_mass_kg": rounded(chance.uniform(55, 115), 1), "cda_m2": rounded(chance.uniform(0.22, 0.5), 3),
        "crr": rounded(chance.uniform(0.0025, 0.009), 4), "air_density_kg_m3": rounded(chance.uniform(0.9, 1.3), 4),
        "headwind_m_s": chance.choice([0.0, rounded(chance.uniform(-6, 6), 1)]),
        "drivetrain_efficiency": chance.choice([0.976, 0.977, 1.0, rounded(chance.uniform(0.94, 0.99), 3)]),
    }


def steady(chance, index):
    road = random_road(chance)
    if index % 10 == 0:
        road["headwind_m_s"] = rounded(chance.uniform(-12, -7), 1)
    coasting = index % 20 == 19
    grade_pct = rounded(chance.uniform(-10, -2) if coasting else chance.uniform(-6, 16), 2)
    power_w = 0.0 if coasting else rounded(chance.uniform(60, 450), 1)
    speed_m_s = road_model.steady_speed_m_s(road, grade_pct, power_w)
    assert abs(road_model.steady_power_w(road, grade_pct, speed_m_s) - power_w) < 1e-8
    return {**road, "grade_pct": grade_pct, "power_w": power_w, "speed_m_s": rounded(speed_m_s, 8)}


def power(chance, index):
    while True:
        road = random_road(chance)
        grade_pct = rounded(chance.uniform(-2, 14), 2)
        from_m_s = rounded(chance.uniform(1.5, 13), 3)
        to_m_s = from_m_s if index < 70 else rounded(max(1.5, from_m_s + chance.uniform(-2, 2)), 3)
        duration_s = rounded(chance.uniform(10, 60), 1)
        made_w = road_model.power_w(road, grade_pct, (from_m_s + to_m_s) / 2, from_m_s, to_m_s, duration_s)
        if 20 < made_w < 1500:
            return {**road, "grade_pct": grade_pct, "from_m_s": from_m_s, "to_m_s": to_m_s, "duration_s": duration_s, "power_w": rounded(made_w, 6)}


def climb_ride(chance):
    cells = round(10 ** chance.uniform(1.4771, 2.699))
    grades = profiles.climb(chance, cells, chance.uniform(3.5, 9), chance.uniform(0.3, 2.5))
    elevations = profiles.elevations_m(grades, chance.randrange(0, 1500))
    while True:
        case = profile_ride("climb", random_road(chance), elevations, rounded(chance.uniform(130, 420), 1), rounded(chance.uniform(2.2, 12), 3))
        if case:
            return case


def short_ride(chance):
    """Some hundred metres, where the speed on arrival matters most."""
    grades = profiles.climb(chance, chance.randrange(12, 40), chance.uniform(3.5, 9), chance.uniform(0.3, 2.5))
    elevations = profiles.elevations_m(grades, chance.randrange(0, 1500))
    while True:
        case = profile_ride("short", random_road(chance), elevations, rounded(chance.uniform(130, 420), 1), rounded(chance.uniform(2.2, 12), 3))
        if case:
            return case


def rolling_ride(chance):
    cells = chance.randrange(150, 700)
    elevations = profiles.elevations_m(profiles.rolling(chance, cells, chance.uniform(1, 3.5)), chance.randrange(100, 1500))
    while True:
        case = profile_ride("rolling", random_road(chance), elevations, rounded(chance.uniform(110, 320), 1), rounded(chance.uniform(2.2, 14), 3))
        if case:
            return case


def profile_ride(kind, road, elevations, power_w, entry_speed_m_s):
    """The case, or None where the rider would come near a standstill."""
    steepest_pct = max(profiles.grades_pct(elevations))
    if road_model.steady_speed_m_s(road, steepest_pct, power_w) < SLOWEST_M_S:
        return None
    duration_s, exit_speed_m_s, lowest_m_s = pacing.ride_at_power(road, elevations, power_w, entry_speed_m_s)
    assert lowest_m_s > 1
    return {
        "kind": kind, **road, "power_w": power_w, "entry_speed_m_s": entry_speed_m_s, "duration_s": rounded(duration_s, 6),
        "exit_speed_m_s": rounded(exit_speed_m_s, 7), "step_m": profiles.STEP_M, "elevation_m": elevations,
    }


def held_ride(chance, index):
    while True:
        road = random_road(chance)
        road["headwind_m_s"] = 0.0 if index % 2 else rounded(chance.uniform(-3, 3), 1)
        base_pct = chance.uniform(4, 8.5)
        elevations = profiles.elevations_m(profiles.climb(chance, chance.randrange(130, 240), base_pct, chance.uniform(0.2, 1.6)), chance.randrange(0, 1200))
        aim = random_aim(chance, road, base_pct, index)
        case = held_case(road, elevations, aim)
        if case:
            return case


def random_aim(chance, road, base_pct, index):
    """A band of power around the aim, and the speeds of 50 and 60 rpm where 55 are aimed at."""
    power_w = chance.uniform(170, 300)
    speed_m_s = rounded(road_model.steady_speed_m_s(road, base_pct, power_w), 3)
    entry = [1.0, chance.uniform(0.6, 0.9), chance.uniform(1.1, 2.2)][index % 3]
    return {
        "power_from_w": rounded(power_w * chance.uniform(0.86, 0.95), 1), "power_to_w": rounded(power_w * chance.uniform(1.05, 1.12), 1),
        "speed_m_s": speed_m_s, "low_speed_m_s": rounded(speed_m_s * FROM_RPM / AIM_RPM, 4), "high_speed_m_s": rounded(speed_m_s * TO_RPM / AIM_RPM, 4),
        "entry_speed_m_s": rounded(speed_m_s * entry, 3),
    }


def held_case(road, elevations, aim):
    """The case, or None where it is too short, too slow, or where the share hangs on the last digit of the band."""
    steepest_pct = max(profiles.grades_pct(elevations))
    if min(aim["entry_speed_m_s"], road_model.steady_speed_m_s(road, steepest_pct, aim["power_to_w"])) < SLOWEST_M_S:
        return None
    pieces = pacing.hold_cadence(road, elevations, aim)
    duration_s = pieces[-1]["to_s"]
    if duration_s < REP_S + 20:
        return None
    low, high = aim["low_speed_m_s"], aim["high_speed_m_s"]
    share = pacing.time_within_s(pieces, low, high) / duration_s
    wider = pacing.time_within_s(pieces, low * (1 - EDGE_SHIFT), high * (1 + EDGE_SHIFT)) / duration_s
    narrower = pacing.time_within_s(pieces, low * (1 + EDGE_SHIFT), high * (1 - EDGE_SHIFT)) / duration_s
    if max(wider - share, share - narrower) >= SHARE_SHIFT:
        return None
    return {
        **road, "power_from_w": aim["power_from_w"], "power_to_w": aim["power_to_w"], "aim_speed_m_s": aim["speed_m_s"],
        "low_speed_m_s": low, "high_speed_m_s": high, "entry_speed_m_s": aim["entry_speed_m_s"], "duration_s": rounded(duration_s, 6),
        "exit_speed_m_s": rounded(pieces[-1]["to_m_s"], 7), f"distance_after_{REP_S}s_m": rounded(pacing.distance_after_m(pieces, REP_S), 5),
        "in_band_share": rounded(share, 7), "mean_power_w": rounded(pacing.mean_power_w(pieces), 5), "step_m": profiles.STEP_M, "elevation_m": elevations,
    }
