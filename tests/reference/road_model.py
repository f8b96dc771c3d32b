"""The road model of Martin, Milliken, Cobb, McFadden and Coggan, J. Appl. Biomech. 14 (1998), 276-291, from its equations.

A road is a dict: total_mass_kg, cda_m2, crr, air_density_kg_m3, headwind_m_s, drivetrain_efficiency.
The headwind blows along the road; a tailwind is negative. The grade is rise over horizontal run, in per cent.
"""

import math

from scipy.optimize import brentq

SPOKE_DRAG_AREA_M2 = 0.0044
WHEEL_INERTIA_KG_M2 = 0.14
TYRE_RADIUS_M = 0.311
GRAVITY_M_S2 = 9.80665


def resistance_n(road, grade_pct, speed_m_s, gravity_m_s2=GRAVITY_M_S2):
    """All that holds the rider back at the tyre, in newtons: the paper's powers over ground speed."""
    slope = math.atan(grade_pct / 100)
    air_speed_m_s = speed_m_s + road["headwind_m_s"]
    air = 0.5 * road["air_density_kg_m3"] * (road["cda_m2"] + SPOKE_DRAG_AREA_M2) * abs(air_speed_m_s) * air_speed_m_s
    rolling = road["crr"] * road["total_mass_kg"] * gravity_m_s2 * math.cos(slope)
    bearings = (91 + 8.7 * speed_m_s) * 1e-3
    gravity = road["total_mass_kg"] * gravity_m_s2 * math.sin(slope)
    return air + rolling + bearings + gravity


def steady_power_w(road, grade_pct, speed_m_s):
    return resistance_n(road, grade_pct, speed_m_s) * speed_m_s / road["drivetrain_efficiency"]


def steady_speed_m_s(road, grade_pct, power_w):
    """The one speed at which thrust meets resistance: thrust falls and resistance rises with speed."""
    def lacking_n(speed_m_s):
        return resistance_n(road, grade_pct, speed_m_s) - thrust_n(road, power_w, speed_m_s)
    return brentq(lacking_n, 1e-3, 100, xtol=1e-13, rtol=1e-14)


def thrust_n(road, power_w, speed_m_s):
    return power_w * road["drivetrain_efficiency"] / speed_m_s


def inertia_kg(road):
    return road["total_mass_kg"] + WHEEL_INERTIA_KG_M2 / TYRE_RADIUS_M**2


def acceleration_m_s2(road, grade_pct, power_w, speed_m_s):
    return (thrust_n(road, power_w, speed_m_s) - resistance_n(road, grade_pct, speed_m_s)) / inertia_kg(road)


def power_w(road, grade_pct, speed_m_s, from_m_s, to_m_s, duration_s, gravity_m_s2=GRAVITY_M_S2):
    """The paper's total: resistances at the mean speed, and the change of kinetic energy."""
    kinetic_w = 0.5 * inertia_kg(road) * (to_m_s**2 - from_m_s**2) / duration_s
    return (resistance_n(road, grade_pct, speed_m_s, gravity_m_s2) * speed_m_s + kinetic_w) / road["drivetrain_efficiency"]
