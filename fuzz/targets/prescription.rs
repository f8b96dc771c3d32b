#![no_main]
//! Any text is a rider, a set, a flag or a plan read back, or is refused in few words.

use hillwright::prescription::{
    parse_cadence, parse_power, parse_range, parse_rider, parse_set, parse_span, parse_torque,
};

libfuzzer_sys::fuzz_target!(|text: &str| {
    match parse_rider(text) {
        Ok(file) => assert!(file.rider.mass_kg.is_finite() && file.rider.threshold_w > 0.0),
        Err(error) => assert!(error.to_string().len() < 20_000),
    }
    match parse_set(text) {
        Ok(set) => assert!(set.blocks.iter().all(|b| b.reps > 0 && b.work_s > 0.0)),
        Err(error) => assert!(error.to_string().len() < 20_000),
    }
    if let Err(error) = hillwright::review::plan_file::parse_plan(text) {
        assert!(error.to_string().len() < 20_000);
    }
    let _ = (
        parse_range(text),
        parse_power(text),
        parse_cadence(text),
        parse_torque(text),
        parse_span(text),
    );
});
