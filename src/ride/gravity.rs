//! The pull of the Earth.

/// Normal gravity at the equator, in m/s² (WGS 84: NIMA TR8350.2, 3rd edition, table 3.4).
const AT_EQUATOR_M_S2: f64 = 9.780_325_335_9;
/// Somigliana's constant (same table).
const SOMIGLIANA: f64 = 0.001_931_852_652_41;
/// First eccentricity squared of the ellipsoid (same report, table 3.3).
const ECCENTRICITY_SQUARED: f64 = 0.006_694_379_990_14;
/// Semi-major axis of the ellipsoid, in metres (same report, table 3.1).
const SEMI_MAJOR_AXIS_M: f64 = 6_378_137.0;
/// Flattening of the ellipsoid (same report, table 3.1).
const FLATTENING: f64 = 1.0 / 298.257_223_563;
/// Centrifugal ratio ω²a²b/GM (same report, table 3.4).
const CENTRIFUGAL_RATIO: f64 = 0.003_449_786_506_84;

/// Normal gravity at a latitude (radians) and a height above the ellipsoid (metres), in m/s².
///
/// NIMA TR8350.2, 3rd edition, equations 4-1 and 4-3. Real gravity differs from it by less than 0.05 % almost everywhere.
///
/// ```
/// use hillwright::ride::gravity::normal_gravity_m_s2;
/// assert!((normal_gravity_m_s2(0.0, 0.0) - 9.780_325_335_9).abs() < 1e-9);
/// ```
pub fn normal_gravity_m_s2(latitude_rad: f64, height_m: f64) -> f64 {
    let sin2 = latitude_rad.sin().powi(2);
    let on_ellipsoid =
        AT_EQUATOR_M_S2 * (1.0 + SOMIGLIANA * sin2) / (1.0 - ECCENTRICITY_SQUARED * sin2).sqrt();
    let h = height_m / SEMI_MAJOR_AXIS_M;
    on_ellipsoid
        * (1.0 - 2.0 * (1.0 + FLATTENING + CENTRIFUGAL_RATIO - 2.0 * FLATTENING * sin2) * h
            + 3.0 * h * h)
}
