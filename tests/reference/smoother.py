"""Elevations smoothed by statsmodels' Kalman smoother on the model that `src/profile/kalman.rs` states.

State: elevation (m), level of the grade, its wander (both rise over run), the recording's error (m). The wander is a
first-order Gauss-Markov process whose integral the elevation takes along; the error fades by the lapse between nodes. At a
turn the level may jump and the wander starts anew. Matrix exponentials and integrals are taken numerically here
(Van Loan, IEEE Trans. Automatic Control 23, 1978, 395-404), not from closed forms.
"""

import numpy
import scipy.linalg
from statsmodels.tsa.statespace.kalman_smoother import KalmanSmoother

from document import rounded

# Of the model, as kalman.rs names them.
TURN_SD = 0.06
START_GRADE_SD = 0.1
UNEVEN_SD, UNEVEN_M = 0.03, 100.0
WANDER_SHARE, WANDER_M = 0.05, 150.0
FLAT_WANDER_SD = WANDER_SHARE * 0.01
LEAST_VARIANCE_M2 = 1e-6

# Name, whether the road is uneven, deviation, reach (lapse), remainder (all m), step (m), seed.
CASES = [
    ("barometer on uneven road", True, 0.35, 70.0, 0.08, 10.0, 1),
    ("planned line on uneven road, most nodes without an elevation", True, 1.5, 100.0, 0.03, 9.7, 2),
    ("satellite fixes on uneven road", True, 4.0, 300.0, 0.3, 10.2, 3),
    ("barometer on a level road", False, 0.35, 70.0, 0.08, 10.0, 4),
]
NODES = 120


def document():
    return {
        "source": "statsmodels' KalmanSmoother (Durbin and Koopman, Time Series Analysis by State Space Methods, 2nd ed. 2012, chapter 4), "
                  "with every matrix of the model made numerically by Van Loan's method.",
        "how": "Recorded elevations are invented; lapse is the distance to the node before; offset_m is how far past the node they lie; count 0 is none. "
               "elevation_m, grade and their errors are the smoothed states; at a turn the grade is that after it and is left out (null). "
               "Where the road is steady and not level the wander depends on what is believed of the grade, which no linear smoother has: left out. "
               "So is where about its node the road turns, which is learned from how much it turns.",
        "remade_within": {"absolute": 2e-6, "relative": 1e-6},
        "cases": [case(*row) for row in CASES],
    }


def case(name, uneven, sd_m, reach, remainder_m, step_m, seed):
    random = numpy.random.default_rng(seed)
    turns = sorted({0, *(int(n) for n in random.choice(numpy.arange(5, NODES - 5), 4, replace=False))})
    count = random.integers(0 if seed != 4 else 1, 4, NODES)
    if "most nodes" in name:
        count = (random.random(NODES) < 0.25).astype(int)
    count[0] = 1
    offset_m = numpy.round(numpy.where(count > 0, random.uniform(-4.9, 4.9, NODES), 0.0), 2)
    lapse = numpy.round(random.uniform(0.5, 1.5, NODES) * step_m, 2)
    scale = numpy.round(random.uniform(1.0, 2.0, NODES), 2)
    grades = random.uniform(-0.01, 0.05, NODES) if uneven else numpy.zeros(NODES)
    errors_m = wandering(random, sd_m, numpy.exp(-lapse / reach)) if uneven else 0.0
    recorded_m = numpy.round(200.0 + numpy.cumsum(grades * step_m) + errors_m, 2)
    smooth = smoothed(uneven, sd_m, reach, remainder_m, step_m, turns, count, offset_m, lapse, scale, recorded_m)
    return {
        "name": name, "uneven": uneven, "sd_m": sd_m, "reach": reach, "remainder_sd_m": remainder_m, "step_m": step_m, "turns": turns,
        "count": count.tolist(), "offset_m": offset_m.tolist(), "lapse": lapse.tolist(), "error_scale": scale.tolist(),
        "recorded_m": recorded_m.tolist(), **smooth,
    }


def wandering(random, sd_m, keeps):
    """Errors as the model has them, so that none is too far off to be believed."""
    errors_m = [random.normal(0.0, sd_m)]
    for kept in keeps[1:]:
        errors_m.append(kept * errors_m[-1] + random.normal(0.0, sd_m * numpy.sqrt(1.0 - kept**2)))
    return numpy.array(errors_m)


def stepped(sd, memory_m, step_m, lapse, reach, sd_m):
    """Transition and fresh covariance of one step."""
    change = numpy.zeros((4, 4))
    change[0, 1] = change[0, 2] = 1.0
    change[2, 2] = -1.0 / memory_m
    noise = numpy.zeros((4, 4))
    noise[2, 2] = 2.0 * sd**2 / memory_m
    both = numpy.block([[-change, noise], [numpy.zeros((4, 4)), change.T]]) * step_m
    exponential = scipy.linalg.expm(both)
    transition = exponential[4:, 4:].T
    fresh = transition @ exponential[:4, 4:]
    transition[3, 3] = numpy.exp(-lapse / reach)
    fresh[3, 3] = sd_m**2 * (1.0 - transition[3, 3] ** 2)
    return transition, 0.5 * (fresh + fresh.T)


def smoothed(uneven, sd_m, reach, remainder_m, step_m, turns, count, offset_m, lapse, scale, recorded_m):
    nodes = len(count)
    sd, memory_m = (UNEVEN_SD, UNEVEN_M) if uneven else (FLAT_WANDER_SD, WANDER_M)
    design, noise = numpy.zeros((1, 4, nodes)), numpy.zeros((1, 1, nodes))
    transition, fresh = numpy.zeros((4, 4, nodes)), numpy.zeros((4, 4, nodes))
    for node in range(nodes):
        design[0, :, node] = [1.0, offset_m[node], offset_m[node], scale[node]]
        noise[0, 0, node] = remainder_m**2 / max(count[node], 1) + LEAST_VARIANCE_M2
        ahead = lapse[node + 1] if node + 1 < nodes else lapse[node]
        step, gained = stepped(sd, memory_m, step_m, ahead, reach, sd_m)
        if node in turns:
            forget = numpy.diag([1.0, 1.0, 0.0, 1.0])
            jump = numpy.diag([0.0, TURN_SD**2, sd**2, 0.0])
            step, gained = step @ forget, gained + step @ jump @ step.T
        transition[:, :, node], fresh[:, :, node] = step, gained
    smoother = KalmanSmoother(k_endog=1, k_states=4, k_posdef=4)
    smoother.bind(numpy.where(count > 0, recorded_m, numpy.nan)[None, :])
    smoother["design"], smoother["obs_cov"] = design, noise
    smoother["transition"], smoother["state_cov"], smoother["selection"] = transition, fresh, numpy.eye(4)
    start = numpy.diag([1e4, START_GRADE_SD**2, FLAT_WANDER_SD**2, sd_m**2])
    smoother.initialize_known(numpy.array([recorded_m[0], 0.0, 0.0, 0.0]), start)
    result = smoother.smooth()
    mean, cov = result.smoothed_state, result.smoothed_state_cov
    kept = [node not in turns for node in range(nodes)]
    grade, variance = mean[1] + mean[2], cov[1, 1] + cov[2, 2] + 2.0 * cov[1, 2]
    optional = lambda values, decimals: [rounded(v, decimals) if keep else None for v, keep in zip(values, kept)]
    return {
        "elevation_m": [rounded(v, 6) for v in mean[0]], "elevation_se_m": [rounded(v, 6) for v in numpy.sqrt(cov[0, 0])],
        "grade": optional(grade, 8), "grade_se": optional(numpy.sqrt(variance), 8),
    }
