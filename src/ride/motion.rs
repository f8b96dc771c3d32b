//! Speed and time along a road: the equation of motion, integrated.
//!
//! Within a [`Cell`] the grade is constant, so the squared speed u obeys du/dl = 2 (P·η/v − F(v)) / m with l along the
//! slope. A change of grade dies away within some ten metres, and nearly exponentially, so an exponential method
//! follows it in one step where an explicit one takes many: exprb32 of Hochbruck, Ostermann and Schweitzer (SIAM J. Numer.
//! Anal. 47, 2009, 786–803), third order with an embedded second-order error estimate. Time by Simpson's rule beside it.

use super::{Cell, Pace, Road};

/// Slowest speed that still counts as riding, in metres per second; below it a rider puts a foot down.
pub const STALL_SPEED_MS: f64 = 0.7;
/// Largest error of a step in the squared speed, relative, as the second-order estimate sees it; the step itself is of
/// third order and better. Durations come out within 0.01 % of scipy's DOP853 (`tests/ride_reference.rs`).
const STEP_TOLERANCE: f64 = 1e-3;

/// Where a rider is, how fast, and since when they ride.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Distance along the route, in metres.
    pub distance_m: f64,
    /// Time since the ride's start, in seconds.
    pub time_s: f64,
    /// Road speed, in metres per second.
    pub speed_ms: f64,
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// At a distance along the route, in metres.
    Distance(f64),
    /// At a time since the ride's start, in seconds, or at the road's end.
    Time(f64),
}

/// A stretch ridden at one power (on average) between two moments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// The moment at the stretch's end.
    pub to: Moment,
    /// How long the stretch took, in seconds.
    pub duration_s: f64,
    /// Crank power on it, in watts; 0 when coasting or braking.
    pub power_w: f64,
    /// Whether the rider could not keep moving at [`STALL_SPEED_MS`].
    pub stalled: bool,
}

/// Rides from a moment on, at a pace, until told; hands every stretch to `each`, and returns the last moment.
///
/// Durations are within 0.1 % of an exact integration of the same equations.
pub fn advance(
    road: &Road,
    from: Moment,
    pace: &Pace,
    until: Until,
    mut each: impl FnMut(Sample),
) -> Moment {
    let end_m = match until {
        Until::Distance(m) => m.min(road.length_m()),
        Until::Time(_) => road.length_m(),
    };
    let end_s = match until {
        Until::Distance(_) => f64::INFINITY,
        Until::Time(s) => s,
    };
    let mut now = from;
    let brakes = pace.ceiling_power_w == f64::NEG_INFINITY;
    now.speed_ms = now.speed_ms.max(STALL_SPEED_MS);
    let mut index = (now.distance_m / road.spacing_m) as usize;
    while now.distance_m < end_m - 1e-9 && now.time_s < end_s && index < road.cells.len() {
        let cell_end_m = ((index + 1) as f64 * road.spacing_m).min(end_m);
        if cell_end_m - now.distance_m <= 1e-9 {
            index += 1;
            continue;
        }
        let mut here = *pace;
        if brakes {
            here.ceiling_ms = pace
                .ceiling_ms
                .min(road.limit_ms[index].max(STALL_SPEED_MS));
            here.floor_ms = pace.floor_ms.min(here.ceiling_ms);
            now.speed_ms = now.speed_ms.min(here.ceiling_ms);
        }
        let sample = stretch(road, &road.cells[index], now, &here, cell_end_m, end_s);
        now = sample.to;
        each(sample);
        if cell_end_m - now.distance_m <= 1e-9 {
            index += 1;
        }
    }
    now
}

/// What the rider does right now.
enum Action {
    Hold(f64),
    /// Push a power until the speed crosses one of the two marks.
    Push {
        power_w: f64,
        not_below: f64,
        not_above: f64,
    },
}

/// Rides within one cell, as far as one action goes.
fn stretch(
    road: &Road,
    cell: &Cell,
    now: Moment,
    pace: &Pace,
    cell_end_m: f64,
    end_s: f64,
) -> Sample {
    let efficiency = road.drivetrain_efficiency;
    let slope_per_run = cell.slope_length_m / road.spacing_m;
    let longest_m = (cell_end_m - now.distance_m) * slope_per_run;
    match choose(cell, now.speed_ms, pace, efficiency) {
        Action::Hold(power_w) => {
            let duration_s = (longest_m / now.speed_ms).min(end_s - now.time_s);
            let ridden_m = duration_s * now.speed_ms / slope_per_run;
            let distance_m = if duration_s * now.speed_ms >= longest_m {
                cell_end_m
            } else {
                now.distance_m + ridden_m
            };
            let to = Moment {
                distance_m,
                time_s: now.time_s + duration_s,
                speed_ms: now.speed_ms,
            };
            Sample {
                to,
                duration_s,
                power_w,
                stalled: now.speed_ms <= STALL_SPEED_MS,
            }
        }
        Action::Push {
            power_w,
            not_below,
            not_above,
        } => {
            let thrust = Thrust {
                cell,
                wheel_w: power_w * efficiency,
                mass_kg: road.inertial_mass_kg,
            };
            let marks = (not_below.max(STALL_SPEED_MS), not_above);
            let run = thrust.run(now.speed_ms, longest_m, marks, end_s - now.time_s);
            let distance_m = if run.length_m >= longest_m - 1e-9 {
                cell_end_m
            } else {
                now.distance_m + run.length_m / slope_per_run
            };
            let to = Moment {
                distance_m,
                time_s: now.time_s + run.time_s,
                speed_ms: run.speed_ms,
            };
            let stalled = run.speed_ms <= STALL_SPEED_MS;
            Sample {
                to,
                duration_s: run.time_s,
                power_w: power_w.max(0.0),
                stalled,
            }
        }
    }
}

fn choose(cell: &Cell, speed_ms: f64, pace: &Pace, efficiency: f64) -> Action {
    if speed_ms < pace.floor_ms {
        return if speed_ms <= STALL_SPEED_MS
            && cell.power_for_speed_w(speed_ms, efficiency) > pace.floor_power_w
        {
            Action::Hold(pace.floor_power_w)
        } else {
            Action::Push {
                power_w: pace.floor_power_w,
                not_below: 0.0,
                not_above: pace.floor_ms,
            }
        };
    }
    if speed_ms > pace.ceiling_ms {
        return Action::Push {
            power_w: pace.ceiling_power_w,
            not_below: pace.ceiling_ms,
            not_above: f64::INFINITY,
        };
    }
    let needed_w = cell.power_for_speed_w(speed_ms, efficiency);
    if speed_ms == pace.floor_ms {
        let least_w = if pace.floor_ms == pace.ceiling_ms {
            pace.ceiling_power_w
        } else {
            pace.power_w
        };
        if needed_w > pace.floor_power_w {
            return Action::Push {
                power_w: pace.floor_power_w,
                not_below: 0.0,
                not_above: f64::INFINITY,
            };
        }
        if needed_w >= least_w {
            return Action::Hold(needed_w.max(0.0));
        }
        if pace.floor_ms == pace.ceiling_ms {
            return Action::Push {
                power_w: least_w,
                not_below: 0.0,
                not_above: f64::INFINITY,
            };
        }
    } else if speed_ms == pace.ceiling_ms {
        if needed_w < pace.ceiling_power_w {
            return Action::Push {
                power_w: pace.ceiling_power_w,
                not_below: 0.0,
                not_above: f64::INFINITY,
            };
        }
        if needed_w <= pace.power_w {
            return Action::Hold(needed_w.max(0.0));
        }
    }
    if speed_ms <= STALL_SPEED_MS && needed_w > pace.power_w {
        return Action::Hold(pace.power_w);
    }
    Action::Push {
        power_w: pace.power_w,
        not_below: pace.floor_ms,
        not_above: pace.ceiling_ms,
    }
}

/// Constant power at the wheel on one cell.
struct Thrust<'a> {
    cell: &'a Cell,
    wheel_w: f64,
    mass_kg: f64,
}

/// Squared speed below which no step ends; well below stalling, so that a step can be seen to pass it.
const SLOWEST_U: f64 = 0.25 * STALL_SPEED_MS * STALL_SPEED_MS;

/// The speed of a squared speed, never below that of [`SLOWEST_U`].
fn slowest(u: f64) -> f64 {
    u.max(SLOWEST_U).sqrt()
}

/// (eᶻ − 1 − z − z²/2) / z³, with eᶻ − 1 given.
fn phi_3(z: f64, exp_m1: f64) -> f64 {
    if z.abs() < 0.05 {
        1.0 / 6.0 + z * (1.0 / 24.0 + z / 120.0)
    } else {
        (exp_m1 - z - 0.5 * z * z) / (z * z * z)
    }
}

/// How far a push went.
struct Run {
    length_m: f64,
    time_s: f64,
    speed_ms: f64,
}

impl Thrust<'_> {
    /// du/dl at a speed.
    fn slope(&self, v: f64) -> f64 {
        2.0 * (self.wheel_w / v - self.cell.force_n(v)) / self.mass_kg
    }

    /// Change of du/dl with u at a speed.
    fn slope_change(&self, v: f64) -> f64 {
        (-self.wheel_w / (v * v) - self.cell.force_change_n_per_ms(v)) / (self.mass_kg * v)
    }

    /// One step of length `l` from a squared speed: the one after it, the time it takes, and the error of the first.
    fn step(&self, u: f64, l: f64) -> (f64, f64, f64) {
        let v = u.sqrt();
        let (f, j) = (self.slope(v), self.slope_change(v));
        let z = j * l;
        let half = (0.5 * z).exp_m1();
        let whole = half * (half + 2.0);
        let over_j =
            |exp_m1: f64, length_m: f64| if z.abs() > 1e-9 { exp_m1 / j } else { length_m };
        let linear_end = u + f * over_j(whole, l);
        let v_linear = slowest(linear_end);
        let bent = self.slope(v_linear) - f - j * (v_linear * v_linear - u);
        let correction = 2.0 * l * phi_3(z, whole) * bent;
        let end = (linear_end + correction).max(SLOWEST_U);
        let v_half = slowest(u + f * over_j(half, 0.5 * l) + 0.125 * correction);
        let time = l / 6.0 * (1.0 / v + 4.0 / v_half + 1.0 / end.sqrt());
        (end, time, correction.abs())
    }

    /// Pushes until the length, the time or a speed mark is reached.
    fn run(&self, speed_ms: f64, longest_m: f64, marks: (f64, f64), longest_s: f64) -> Run {
        let (low_u, high_u) = (marks.0 * marks.0, marks.1 * marks.1);
        let mut done = Run {
            length_m: 0.0,
            time_s: 0.0,
            speed_ms,
        };
        let mut u = speed_ms * speed_ms;
        let mut l = longest_m;
        while done.length_m < longest_m - 1e-9 {
            l = l.min(longest_m - done.length_m);
            let (end, time, error) = self.step(u, l);
            let allowed = STEP_TOLERANCE * u.max(1.0);
            if error > allowed && l > 1e-3 {
                l *= (0.9 * (allowed / error).cbrt()).clamp(0.1, 0.9);
                continue;
            }
            let growth = (0.9 * (allowed / error.max(1e-30)).cbrt()).clamp(0.5, 5.0);
            let mark = if end > high_u && u < high_u {
                Some(marks.1)
            } else if end < low_u && u > low_u {
                Some(marks.0)
            } else {
                None
            };
            let over_time = done.time_s + time > longest_s;
            if mark.is_none() && !over_time {
                u = end;
                done = Run {
                    length_m: done.length_m + l,
                    time_s: done.time_s + time,
                    speed_ms: end.sqrt(),
                };
                l *= growth;
                continue;
            }
            return self.stop_short(u, l, mark, longest_s - done.time_s, done);
        }
        done
    }

    /// Finds, inside a step of length `l` from `u`, where the mark or the time is reached first.
    fn stop_short(&self, u: f64, l: f64, mark_ms: Option<f64>, left_s: f64, done: Run) -> Run {
        let mark_passed = |end: f64| {
            mark_ms.is_some_and(|m| {
                if u < m * m {
                    end >= m * m
                } else {
                    end <= m * m
                }
            })
        };
        let passed = |(end, time, _): (f64, f64, f64)| time > left_s || mark_passed(end);
        let (mut short, mut long) = (0.0, l);
        for _ in 0..50 {
            let middle = 0.5 * (short + long);
            if passed(self.step(u, middle)) {
                long = middle
            } else {
                short = middle
            }
            if long - short < 1e-9 {
                break;
            }
        }
        let (end, time, _) = self.step(u, long);
        Run {
            length_m: done.length_m + long,
            time_s: done.time_s + time.min(left_s),
            speed_ms: mark_ms.filter(|_| mark_passed(end)).unwrap_or(end.sqrt()),
        }
    }
}
