"""Mass, drag and rolling resistance from half-minutes of riding, by scipy's robust least squares."""

import numpy as np
from scipy.optimize import least_squares

from document import rounded

SPOKES_M2 = 0.0044
WHEEL_INERTIA = 0.14
WHEEL_RADIUS_M = 0.339
GRAVITY = 9.80
START = (80.5, 0.36, 0.005)
CASES = [
    # Seed, stretches, truth, spread of the balance's error in joules, share of wild ones, standard error of the start's rolling coefficient.
    (1, 240, (83.0, 0.33, 0.0046), 350.0, 0.05, None),
    (2, 120, (76.0, 0.41, 0.0070), 500.0, 0.10, 0.001),
    (3, 400, (95.0, 0.28, 0.0035), 250.0, 0.00, None),
]


def document():
    return {
        "source": "scipy 1.17.1, scipy.optimize.least_squares with a loss of our own that is its 'soft_l1' for the stretches, method='trf', tolerances 1e-15. "
                  "The energy balance is Martin et al., J. Appl. Biomech. 14 (1998) 276-291, equations 1 to 11, summed over a stretch.",
        "how": "Random half-minutes from a known rider with Gaussian and some wild errors. Residual: work at the wheel less what the model asks, over the stated "
               "error, over a common scale. Scale and solution take turns, five solutions in all: the scale is 1.4826 times the middle of the residuals' sizes. "
               "Errors are the sandwich H^-1 B H^-1 at the solution, with the products of neighbours of `joined` stretches at half weight (Newey and West, one lag).",
        "remade_within": {"absolute": 1e-9, "relative": 1e-6},
        "wheel_radius_m": WHEEL_RADIUS_M, "gravity_m_s2": GRAVITY, "start": list(START),
        "cases": [case(*row) for row in CASES],
    }


def case(seed, count, truth, spread_j, wild_share, known):
    rng = np.random.default_rng(seed)
    speed = rng.uniform(3.0, 12.0, count)
    grade = np.where(speed < 7.0, rng.uniform(0.02, 0.08, count), rng.uniform(-0.015, 0.015, count))
    run = 30.0 * speed
    rise = run * grade
    air = 0.5 * 1.2 * speed ** 2 * run
    bearing = (0.091 + 0.0087 * speed) * run
    half_dv2 = rng.normal(0.0, 1.5, count)
    rows = np.round(np.column_stack([run, rise, air, bearing, half_dv2]), 4)
    error = np.round(rng.uniform(0.7, 1.5, count) * spread_j, 2)
    wild = np.where(rng.random(count) < wild_share, rng.normal(0.0, 8.0, count), 0.0)
    work = np.round(needed(rows, truth) + error * (rng.normal(0.0, 1.0, count) + wild), 2)
    joined = rng.random(count) < 0.6
    joined[0] = False
    values, scale = solve(rows, work, error, known)
    errors, correlations = spread(rows, work, error, joined, values, scale, known)
    return {
        "truth": list(truth), "known_crr_error": known, "values": [rounded(v, 10) for v in values], "scale": rounded(scale, 10),
        "errors": [rounded(e, 10) for e in errors], "correlations": [rounded(c, 9) for c in correlations],
        "stretches": [[*map(float, row), float(w), float(e), bool(j)] for row, w, e, j in zip(rows, work, error, joined)],
    }


def needed(rows, values):
    run, rise, air, bearing, half_dv2 = rows.T
    mass, cda, crr = values
    turning = WHEEL_INERTIA / WHEEL_RADIUS_M ** 2
    return mass * GRAVITY * (rise + crr * run) + (cda + SPOKES_M2) * air + (mass + turning) * half_dv2 + bearing


def solve(rows, work, error, known):
    values = np.array(START)
    scale = scale_of(rows, work, error, values)
    for turn in range(5):
        def residuals(share):
            found = share * np.array(START)
            r = (work - needed(rows, found)) / error / scale
            return r if known is None else np.append(r, (found[2] - START[2]) / known)

        def bound(z):
            """The smooth bound for the stretches, none for the coefficient that is known: rho and its derivatives by z."""
            root = np.sqrt(1 + z)
            rho = np.array([2 * (root - 1), 1 / root, -0.5 / root ** 3])
            if known is not None:
                rho[:, -1] = (z[-1], 1, 0)
            return rho

        found = least_squares(residuals, values / np.array(START), loss=bound, xtol=1e-15, ftol=1e-15, gtol=1e-15)
        values = found.x * np.array(START)
        if turn < 4:
            scale = scale_of(rows, work, error, values)
    return values, scale


def scale_of(rows, work, error, values):
    sizes = np.sort(np.abs((work - needed(rows, values)) / error))
    return 1.4826 * sizes[len(sizes) // 2]


def spread(rows, work, error, joined, values, scale, known):
    run, rise, air, _, half_dv2 = rows.T
    mass, _, crr = values
    slopes = -np.column_stack([GRAVITY * (rise + crr * run) + half_dv2, air, mass * GRAVITY * run]) / error[:, None] / scale
    r = (work - needed(rows, values)) / error / scale
    root = np.sqrt(1 + r ** 2)
    pull = 0 if known is None else 1 / known ** 2
    bread = np.linalg.inv((slopes.T / root ** 3) @ slopes + np.diag([0, 0, pull]))
    pulls = slopes * (r / root)[:, None]
    filling = pulls.T @ pulls
    for i in np.flatnonzero(joined):
        both = 0.5 * np.outer(pulls[i], pulls[i - 1])
        filling += both + both.T
    filling[2, 2] += pull
    covariance = bread @ filling @ bread
    errors = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(errors, errors)
    return errors, (correlation[0, 1], correlation[0, 2], correlation[1, 2])
