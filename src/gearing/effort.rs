//! Cadence, torque and pedal force.

/// Angular speed of the cranks at a cadence (rpm), in radians per second.
pub fn angular_speed_rad_s(cadence_rpm: f64) -> f64 {
    cadence_rpm * std::f64::consts::TAU / 60.0
}

/// Cadence at a road speed (m/s) in a gear of a development (metres per turn), in turns of the cranks a minute.
pub fn cadence_rpm(speed_ms: f64, development_m: f64) -> f64 {
    60.0 * speed_ms / development_m
}

/// Road speed at a cadence (rpm) in a gear of a development (metres per turn), in metres per second.
pub fn speed_ms(cadence_rpm: f64, development_m: f64) -> f64 {
    cadence_rpm / 60.0 * development_m
}

/// Mean torque at the cranks at a crank power (W) and a cadence (rpm): power over angular speed, in newton metres.
///
/// ```
/// use hillwright::gearing::effort::torque_nm;
/// assert!((torque_nm(250.0, 55.0) - 43.4).abs() < 0.05);
/// ```
pub fn torque_nm(power_w: f64, cadence_rpm: f64) -> f64 {
    power_w / angular_speed_rad_s(cadence_rpm)
}

/// Mean tangential pedal force of a torque (N·m) on cranks of a length (mm), both legs together, in newtons.
///
/// Its peak in a turn is about twice that (common practice, no source).
///
/// ```
/// use hillwright::gearing::effort::{pedal_force_n, torque_nm};
/// assert!((pedal_force_n(torque_nm(250.0, 55.0), 172.5) - 251.6).abs() < 0.05);
/// ```
pub fn pedal_force_n(torque_nm: f64, crank_mm: f64) -> f64 {
    torque_nm / (crank_mm / 1000.0)
}
