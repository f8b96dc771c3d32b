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
/// third order and better. Durations come out within 0.05 % of scipy's DOP853 (`tests/ride_reference.rs`).
const STEP_TOLERANCE: f64 = 2e-3;

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
                per_mass: 2.0 / road.inertial_mass_kg,
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
    let push = Action::Push {
        power_w: pace.power_w,
        not_below: pace.floor_ms,
        not_above: pace.ceiling_ms,
    };
    let at_a_mark = speed_ms == pace.floor_ms || speed_ms == pace.ceiling_ms;
    if !at_a_mark && speed_ms > STALL_SPEED_MS {
        return push;
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
    push
}

/// Constant power at the wheel on one cell.
struct Thrust<'a> {
    cell: &'a Cell,
    wheel_w: f64,
    /// Twice the inverse of the mass that has to be accelerated, in 1/kg.
    per_mass: f64,
}

/// Squared speed below which no step ends; well below stalling, so that a step can be seen to pass it.
const SLOWEST_U: f64 = 0.25 * STALL_SPEED_MS * STALL_SPEED_MS;

/// The speed of a squared speed, never below that of [`SLOWEST_U`].
fn slowest(u: f64) -> f64 {
    u.max(SLOWEST_U).sqrt()
}

/// Of z: (eᶻᐟ² − 1) / z, (eᶻ − 1) / z, and (eᶻ − 1 − z − z²/2) / z³; to a relative error of 1e-9.
fn phis(z: f64) -> (f64, f64, f64) {
    if z.abs() < 0.05 {
        // By their series, since the differences lose their digits.
        let series = |z: f64| 1.0 + z * (0.5 + z * (1.0 / 6.0 + z * (1.0 / 24.0 + z / 120.0)));
        let third = 1.0 / 6.0 + z * (1.0 / 24.0 + z * (1.0 / 120.0 + z / 720.0));
        (0.5 * series(0.5 * z), series(z), third)
    } else {
        let inverse = 1.0 / z;
        let half = (0.5 * z).exp() - 1.0;
        let first = half * (half + 2.0) * inverse;
        (
            half * inverse,
            first,
            ((first - 1.0) * inverse - 0.5) * inverse,
        )
    }
}

/// How far a push went.
struct Run {
    length_m: f64,
    time_s: f64,
    speed_ms: f64,
}

/// Where a step leads.
#[derive(Clone, Copy)]
struct Step {
    /// Squared speed at its end, and the speed.
    u: f64,
    speed_ms: f64,
    time_s: f64,
    /// Error of `u`, as the second-order estimate sees it.
    error: f64,
}

impl Thrust<'_> {
    /// One step of length `l` from a speed `v` with the squared speed `u`.
    fn step(&self, u: f64, v: f64, l: f64) -> Step {
        let cell = self.cell;
        let inverse = 1.0 / v;
        // du/dl, and how it changes with u.
        let f = self.per_mass * (self.wheel_w * inverse - cell.force_n(v));
        let j = -0.5
            * self.per_mass
            * inverse
            * (self.wheel_w * inverse * inverse + cell.force_change_n_per_ms(v));
        let z = j * l;
        let (phi_half, phi_whole, phi_3) = phis(z);
        let gain = f * l;
        let linear_end = u + gain * phi_whole;
        let v_linear = slowest(linear_end);
        let f_linear = self.per_mass * (self.wheel_w / v_linear - cell.force_n(v_linear));
        let bent = f_linear - f - j * (v_linear * v_linear - u);
        let correction = 2.0 * l * phi_3 * bent;
        let end = (linear_end + correction).max(SLOWEST_U);
        let speed_ms = end.sqrt();
        let v_half = slowest(u + gain * phi_half + 0.125 * correction);
        Step {
            u: end,
            speed_ms,
            time_s: l / 6.0 * (inverse + (4.0 * speed_ms + v_half) / (v_half * speed_ms)),
            error: correction.abs(),
        }
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
        loop {
            let step = self.step(u, done.speed_ms, l);
            let allowed = STEP_TOLERANCE * u.max(1.0);
            if step.error > allowed && l > 1e-3 {
                l *= (0.9 * (allowed / step.error).cbrt()).clamp(0.1, 0.9);
                continue;
            }
            let mark = if step.u > high_u && u < high_u {
                Some(marks.1)
            } else if step.u < low_u && u > low_u {
                Some(marks.0)
            } else {
                None
            };
            if mark.is_some() || done.time_s + step.time_s > longest_s {
                return self.stop_short(u, l, mark, longest_s - done.time_s, done);
            }
            u = step.u;
            done = Run {
                length_m: done.length_m + l,
                time_s: done.time_s + step.time_s,
                speed_ms: step.speed_ms,
            };
            let left_m = longest_m - done.length_m;
            if left_m <= 1e-9 {
                return done;
            }
            let growth = (0.9 * (allowed / step.error.max(1e-30)).cbrt()).clamp(0.5, 5.0);
            l = left_m.min(l * growth);
        }
    }

    /// Finds, inside a step of length `l` from `u`, where the mark or the time is reached first.
    fn stop_short(&self, u: f64, l: f64, mark_ms: Option<f64>, left_s: f64, done: Run) -> Run {
        // How far beyond the mark or the time a step goes, whichever more; it grows from below 0 to above.
        let beyond_mark = |step: &Step| {
            mark_ms.map_or(f64::NEG_INFINITY, |m| {
                if u < m * m {
                    step.u - m * m
                } else {
                    m * m - step.u
                }
            })
        };
        let beyond = |step: &Step| beyond_mark(step).max(step.time_s - left_s);
        let try_at = |l: f64| {
            let step = self.step(u, done.speed_ms, l);
            (step, beyond(&step))
        };
        let (mut short, mut long) = (0.0, l);
        let (mut end, mut above) = try_at(long);
        let mut below = mark_ms
            .map_or(f64::NEG_INFINITY, |m| -(u - m * m).abs())
            .max(-left_s);
        // The Pegasus method (Dowell and Jarratt, BIT 12, 1972, 503–508): an end that stays put has its value made smaller.
        let mut last_above = true;
        for _ in 0..MOST_TRIES {
            if long - short < 1e-9 || above.abs() < 1e-12 {
                break;
            }
            let share = (-below / (above - below)).clamp(0.001, 0.999);
            let middle = short + share * (long - short);
            let (step, value) = try_at(middle);
            let now_above = value > 0.0;
            let stays = now_above == last_above;
            if now_above {
                below *= if stays { above / (above + value) } else { 1.0 };
                (long, end, above) = (middle, step, value);
            } else {
                above *= if stays { below / (below + value) } else { 1.0 };
                (short, below) = (middle, value.min(-1e-300));
            }
            last_above = now_above;
        }
        let at_mark = mark_ms.filter(|_| beyond_mark(&end) >= -1e-12);
        Run {
            length_m: done.length_m + long,
            time_s: done.time_s + end.time_s.min(left_s),
            speed_ms: at_mark.unwrap_or(end.speed_ms),
        }
    }
}

/// Steps in which a stop is looked for; some six are enough but for the oddest.
const MOST_TRIES: usize = 60;
