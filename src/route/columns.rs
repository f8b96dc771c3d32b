//! Sensor values beside the points, a column a kind.

use super::Sensors;

/// What a sensor measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Quantity {
    Cadence,
    Power,
    HeartRate,
    Temperature,
}

/// Names under which recordings keep sensor values, in any namespace, small and capital letters alike.
const NAMES: [(&str, Quantity); 12] = [
    ("cad", Quantity::Cadence),
    ("cadence", Quantity::Cadence),
    ("power", Quantity::Power),
    ("powerinwatts", Quantity::Power),
    ("watts", Quantity::Power),
    ("hr", Quantity::HeartRate),
    ("heartrate", Quantity::HeartRate),
    ("heartratebpm", Quantity::HeartRate),
    ("atemp", Quantity::Temperature),
    ("temp", Quantity::Temperature),
    ("temperature", Quantity::Temperature),
    ("airtemp", Quantity::Temperature),
];

/// What an element or attribute of this name holds, if it is a sensor's.
pub(super) fn quantity(local_name: &[u8]) -> Option<Quantity> {
    NAMES
        .iter()
        .find(|(name, _)| name.as_bytes().eq_ignore_ascii_case(local_name))
        .map(|(_, quantity)| *quantity)
}

/// The sensor values of one point, in the order of [`Quantity`].
pub(super) type Reading = [Option<f32>; 4];

/// Adds the values of the point at `index`; a column starts with its first value.
pub(super) fn push(sensors: &mut Sensors, index: usize, reading: &Reading) {
    if reading.iter().all(Option::is_none) {
        return;
    }
    for (column, value) in each_mut(sensors).into_iter().zip(reading) {
        if value.is_some() {
            column.resize(index, None);
            column.push(*value);
        }
    }
}

/// Makes every column that has begun as long as the points.
pub(super) fn fill(sensors: &mut Sensors, points: usize) {
    for column in each_mut(sensors) {
        if !column.is_empty() {
            column.resize(points, None);
        }
    }
}

/// The columns in the order of [`Quantity`].
pub(super) fn each_mut(sensors: &mut Sensors) -> [&mut Vec<Option<f32>>; 4] {
    [
        &mut sensors.cadence_rpm,
        &mut sensors.power_w,
        &mut sensors.heart_rate_bpm,
        &mut sensors.temperature_c,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_starts_with_its_first_value_and_is_filled_to_the_end() {
        let mut sensors = Sensors::default();
        push(&mut sensors, 2, &[None, Some(200.0), None, None]);
        push(&mut sensors, 4, &[None, Some(210.0), None, None]);
        fill(&mut sensors, 6);
        assert_eq!(
            sensors.power_w,
            [None, None, Some(200.0), None, Some(210.0), None]
        );
        assert!(sensors.cadence_rpm.is_empty());
    }

    #[test]
    fn names_are_matched_whole_and_in_any_case() {
        assert_eq!(quantity(b"PowerInWatts"), Some(Quantity::Power));
        assert_eq!(quantity(b"wtemp"), None);
    }
}
