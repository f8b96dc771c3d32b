#![no_main]
//! Any bytes are a route, or the recording of a ride, or are refused.

use hillwright::review::recording;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    match hillwright::route::read(bytes, "any") {
        Ok(routes) => {
            assert!(!routes.is_empty());
            routes.iter().for_each(hillwright_fuzz::check_route);
        }
        Err(error) => assert!(error.to_string().len() < 2000),
    }
    for ride in recording::read(bytes, "any").unwrap_or_default() {
        hillwright_fuzz::check_route(&ride.route);
        let times_s = &ride.samples.time_s;
        assert!(times_s.iter().all(|s| s.is_finite()));
        assert!(times_s.windows(2).all(|pair| pair[0] < pair[1]));
        let sensors = &ride.samples.sensors;
        for column in [&sensors.power_w, &sensors.cadence_rpm] {
            assert!(column.is_empty() || column.len() == times_s.len());
            assert!(column.iter().flatten().all(|value| value.is_finite()));
        }
    }
});
