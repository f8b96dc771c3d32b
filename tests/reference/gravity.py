"""Normal gravity of WGS 84, on the ellipsoid and above it."""

import math

from document import rounded

# NIMA TR8350.2, 3rd edition: Table 3.1 (defining), Tables 3.3 and 3.4 (derived).
A_M = 6_378_137.0
FLATTENING = 1 / 298.257_223_563
GM_M3_S2 = 3_986_004.418e8
ROTATION_RAD_S = 7_292_115e-11
E2 = 6.694_379_990_14e-3
GRAVITY_EQUATOR_M_S2 = 9.780_325_335_9
GRAVITY_POLE_M_S2 = 9.832_184_937_8
K = 0.001_931_852_652_41
M = 0.003_449_786_506_84

LATITUDES_DEG = [0, 15, 30, 45, -45, 46.5, 60, 75, 90, -90]
HEIGHTS_M = [0, 500, 1000, 2000, 3000, 5000]
PRINTED = {0: GRAVITY_EQUATOR_M_S2, 90: GRAVITY_POLE_M_S2, -90: GRAVITY_POLE_M_S2}


# Moritz, Geodetic Reference System 1980: gravity at the equator, k, e2, and gravity at 45 degrees.
GRS80 = (9.780_326_771_5, 0.001_931_851_353, 0.006_694_380_022_90)
GRS80_GRAVITY_45_M_S2 = 9.806_199_203


def document():
    assert abs(somigliana_m_s2(0.5, *GRS80) - GRS80_GRAVITY_45_M_S2) < 1e-9
    return {
        "source": "World Geodetic System 1984, NIMA TR8350.2, 3rd edition (4 July 1997, amendment 1 of 3 January 2000): normal gravity on the "
                  "ellipsoid by Somigliana's closed formula, equation 4-1; with height, equation 4-3; constants of Tables 3.1, 3.3 and 3.4. "
                  "The equatorial and polar values 9.7803253359 and 9.8321849378 m/s2 are printed there; equation and table numbers from memory.",
        "how": "g0 = 9.7803253359 (1 + k sin2) / sqrt(1 - e2 sin2), k = 0.00193185265241, e2 = 0.00669437999014, sin2 the squared sine of the "
               "geodetic latitude; g = g0 (1 - 2/a (1 + f + m - 2 f sin2) h + 3 h2 / a2), m = 0.00344978650684, h above the ellipsoid. "
               "series_gravity_m_s2 is the second way: the gradient of the normal potential from GM, a, f and the rotation, as a series of even zonal "
               "harmonics; the two agree to 1e-9 on the ellipsoid and to 1e-6 m/s2 at 5000 m. At 45 degrees WGS 84 gives 9.806197769; the 9.806199203 that is "
               "often quoted is GRS 80's (Moritz, Geodetic Reference System 1980, Bull. Geod. 62, 1988; from memory), checked here by the same formula.",
        "remade_within": {"absolute": 2e-10, "relative": 0.0},
        "on_ellipsoid": [entry(lat_deg, 0) for lat_deg in LATITUDES_DEG],
        "above": [entry(lat_deg, height_m) for lat_deg in (0, 45, 60, 90) for height_m in HEIGHTS_M[1:]],
    }


def entry(lat_deg, height_m):
    made, series = normal_gravity_m_s2(lat_deg, height_m), series_gravity_m_s2(lat_deg, height_m)
    assert abs(made - series) < (1e-9 if height_m == 0 else 1e-6), (lat_deg, height_m, made, series)
    if height_m == 0 and lat_deg in PRINTED:
        assert abs(made - PRINTED[lat_deg]) < 1.5e-10, (lat_deg, made)
    return {"lat_deg": lat_deg, "height_m": height_m, "gravity_m_s2": rounded(made, 10), "series_gravity_m_s2": rounded(series, 10)}


def normal_gravity_m_s2(lat_deg, height_m):
    sin2 = math.sin(math.radians(lat_deg)) ** 2
    return somigliana_m_s2(sin2, GRAVITY_EQUATOR_M_S2, K, E2) * (
        1 - 2 / A_M * (1 + FLATTENING + M - 2 * FLATTENING * sin2) * height_m + 3 * height_m**2 / A_M**2)


def somigliana_m_s2(sin2, equator_m_s2, k, e2):
    return equator_m_s2 * (1 + k * sin2) / math.sqrt(1 - e2 * sin2)


def series_gravity_m_s2(lat_deg, height_m):
    """Heiskanen and Moritz, Physical Geodesy (1967), 2-90 to 2-92: the normal potential in even zonal harmonics."""
    e2 = FLATTENING * (2 - FLATTENING)
    latitude = math.radians(lat_deg)
    prime_m = A_M / math.sqrt(1 - e2 * math.sin(latitude) ** 2)
    out_m, up_m = (prime_m + height_m) * math.cos(latitude), (prime_m * (1 - e2) + height_m) * math.sin(latitude)
    r = math.hypot(out_m, up_m)
    s, c = up_m / r, out_m / r
    radial, along = 1.0, 0.0
    for n, j in enumerate(zonal_harmonics(e2, 6), start=1):
        value, slope = legendre(2 * n, s)
        ratio = (A_M / r) ** (2 * n)
        radial -= (2 * n + 1) * ratio * j * value
        along -= ratio * j * slope * c
    inward = GM_M3_S2 / r**2 * radial - ROTATION_RAD_S**2 * r * c**2
    northward = GM_M3_S2 / r**2 * along - ROTATION_RAD_S**2 * r * s * c
    return math.hypot(inward, northward)


def zonal_harmonics(e2, count):
    second = math.sqrt(e2 / (1 - e2))
    q0 = sum((-1) ** (n + 1) * 2 * n / ((2 * n + 1) * (2 * n + 3)) * second ** (2 * n + 1) for n in range(1, 15))
    m = ROTATION_RAD_S**2 * A_M**3 * (1 - FLATTENING) / GM_M3_S2
    j2 = e2 / 3 * (1 - 2 / 15 * m * second / q0)
    return [(-1) ** (n + 1) * 3 * e2**n / ((2 * n + 1) * (2 * n + 3)) * (1 - n + 5 * n * j2 / e2) for n in range(1, count + 1)]


def legendre(degree, x):
    """Legendre's polynomial and its slope."""
    values, slopes = [1.0, x], [0.0, 1.0]
    for n in range(2, degree + 1):
        values.append(((2 * n - 1) * x * values[-1] - (n - 1) * values[-2]) / n)
        slopes.append(slopes[-2] + (2 * n - 1) * values[-2])
    return values[degree], slopes[degree]
