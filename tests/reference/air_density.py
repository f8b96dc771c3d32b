"""Density of air: the standard atmosphere of ISO 2533, and moist air."""

import math

from CoolProp.HumidAirProp import HAPropsSI

from document import rounded

# ISO 2533:1975, the defining constants (clause 2 and Table 1).
SEA_LEVEL_K = 288.15
SEA_LEVEL_PA = 101_325.0
GRAVITY_M_S2 = 9.80665
GAS_CONSTANT_J_KG_K = 287.052_87
LAPSE_K_M = 0.0065
NOMINAL_EARTH_RADIUS_M = 6_356_766.0

# Rows as printed: altitude m, temperature K, pressure Pa, density kg/m3. From memory.
TABLE_GEOPOTENTIAL = [
    (0, "288.150", "101325", "1.22500"),
    (500, "284.900", "95460.8", "1.16727"),
    (1000, "281.650", "89874.6", "1.11164"),
    (2000, "275.150", "79495.2", "1.00649"),
    (3000, "268.650", "70108.5", "0.909122"),
]
TABLE_GEOMETRIC = [
    (0, "288.150", "101325", "1.2250"),
    (500, "284.900", "95461", "1.1673"),
    (1000, "281.651", "89876", "1.1117"),
    (2000, "275.154", "79501", "1.0066"),
    (3000, "268.659", "70121", "0.90925"),
]

# temperature C, pressure Pa, relative humidity per cent
MOIST = [
    (1.0, 101_325.0, 90.0), (5.0, 95_000.0, 60.0), (10.0, 101_325.0, 50.0), (10.0, 85_000.0, 100.0),
    (15.0, 101_325.0, 0.0), (15.0, 101_325.0, 100.0), (20.0, 101_325.0, 50.0), (20.0, 79_500.0, 40.0),
    (25.0, 100_000.0, 80.0), (30.0, 101_325.0, 30.0), (30.0, 90_000.0, 90.0), (35.0, 101_325.0, 60.0),
    (40.0, 98_000.0, 20.0), (-10.0, 101_325.0, 0.0),
]


def document():
    return {
        "source": "ISO 2533:1975, Standard Atmosphere: tables of temperature, pressure and density by geopotential and by geometric altitude "
                  "(printed rows from memory, each proved by the standard's defining equations; the geometric rows are to the five figures in which the U.S. "
                  "Standard Atmosphere 1976, the same up to 32 km, prints them in its Table I). Moist air: CoolProp 8.0.0 (PyPI), HumidAirProp, "
                  "after Herrmann, Kretzschmar and Gatley, ASHRAE RP-1485 (2009).",
        "how": "Standard atmosphere: T = 288.15 K - 0.0065 H, p = 101325 Pa (T / 288.15)^(g / (R L)), density = p / (R T), with g = 9.80665 m/s2, "
               "R = 287.05287 J/(kg K), L = 0.0065 K/m; for a geometric altitude h, H = r h / (r + h), r = 6356766 m. Every printed figure "
               "is what these round to. An altitude of 1000, 2000 or 3000 m gives 1.1117, 1.0066 and 0.90925 kg/m3 "
               "where it is geometric, 1.1116, 1.0065 and 0.90912 where it is geopotential. Moist air: density of the whole mixture, "
               "1 / HAPropsSI('Vha', 'T', 'P', 'R'); relative humidity over water, so none is humid below 0 C; checked against CIPM-2007 "
               "(Picard, Davis, Glaeser, Fujii, Metrologia 45, 2008, 149-155) to 4 parts in 10 000. A formula that takes moist air for an ideal gas is "
               "within 1 part in 1000 of these.",
        "remade_within": {"absolute": 2e-7, "relative": 1e-7},
        "standard_geopotential": [standard(row, row[0]) for row in TABLE_GEOPOTENTIAL],
        "standard_geometric": [standard(row, geopotential_m(row[0])) for row in TABLE_GEOMETRIC],
        "moist": [moist(*case) for case in MOIST],
    }


def geopotential_m(geometric_m):
    return NOMINAL_EARTH_RADIUS_M * geometric_m / (NOMINAL_EARTH_RADIUS_M + geometric_m)


def standard(row, height_m):
    altitude_m, printed_k, printed_pa, printed_kg_m3 = row
    temperature_k = SEA_LEVEL_K - LAPSE_K_M * height_m
    pressure_pa = SEA_LEVEL_PA * (temperature_k / SEA_LEVEL_K) ** (GRAVITY_M_S2 / (GAS_CONSTANT_J_KG_K * LAPSE_K_M))
    density_kg_m3 = pressure_pa / (GAS_CONSTANT_J_KG_K * temperature_k)
    for printed, made in [(printed_k, temperature_k), (printed_pa, pressure_pa), (printed_kg_m3, density_kg_m3)]:
        decimals = len(printed.partition(".")[2])
        assert f"{made:.{decimals}f}" == printed, (row, printed, made)
    return {
        "altitude_m": altitude_m, "printed_temperature_k": float(printed_k), "printed_pressure_pa": float(printed_pa),
        "printed_density_kg_m3": float(printed_kg_m3), "temperature_k": rounded(temperature_k, 6),
        "pressure_pa": rounded(pressure_pa, 4), "density_kg_m3": rounded(density_kg_m3, 9),
    }


def moist(temperature_c, pressure_pa, humidity_pct):
    density_kg_m3 = 1 / HAPropsSI("Vha", "T", temperature_c + 273.15, "P", pressure_pa, "R", humidity_pct / 100)
    other = cipm_2007_kg_m3(temperature_c, pressure_pa, humidity_pct / 100)
    assert abs(other / density_kg_m3 - 1) < 4e-4, (temperature_c, pressure_pa, humidity_pct, density_kg_m3, other)
    return {
        "temperature_c": temperature_c, "pressure_pa": pressure_pa, "relative_humidity_pct": humidity_pct,
        "density_kg_m3": rounded(density_kg_m3, 7), "cipm_2007_density_kg_m3": rounded(other, 7),
    }


def cipm_2007_kg_m3(t, p, humidity):
    """Picard et al., Metrologia 45 (2008), equations 1 and A1.1 to A1.4, at 400 parts in a million of carbon dioxide."""
    kelvin = t + 273.15
    saturation = math.exp(1.237_884_7e-5 * kelvin**2 - 1.912_131_6e-2 * kelvin + 33.937_110_47 - 6.343_164_5e3 / kelvin)
    x = humidity * (1.000_62 + 3.14e-8 * p + 5.6e-7 * t**2) * saturation / p
    z = (1 - p / kelvin * (1.581_23e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2 + (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x**2)
         + (p / kelvin) ** 2 * (1.83e-11 - 0.765e-8 * x**2))
    dry_kg_mol, water_kg_mol = 28.965_46e-3, 18.015_28e-3
    return p * dry_kg_mol / (z * 8.314_472 * kelvin) * (1 - x * (1 - water_kg_mol / dry_kg_mol))
