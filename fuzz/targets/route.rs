#![no_main]
//! Any bytes are a route or are refused.

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    if let Ok(routes) = hillwright::route::read(bytes, "any") {
        assert!(!routes.is_empty());
        routes.iter().for_each(hillwright_fuzz::check_route);
    }
});
