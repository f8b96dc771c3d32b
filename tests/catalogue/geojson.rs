//! GeoJSON that is broken or hostile.

use crate::case::{case, check_all};
use crate::hill;

fn line(coordinates: &str) -> String {
    format!(r#"{{"type":"LineString","coordinates":{coordinates}}}"#)
}

fn feature(name: &str) -> String {
    let line = line(&hill::coordinates());
    format!(r#"{{"type":"Feature","properties":{{"name":{name}}},"geometry":{line}}}"#)
}

#[test]
fn geojson_is_read_or_told_why_not() {
    let whole = line(&hill::coordinates());
    let flat: String = hill::coordinates().replace("],[", "],\n[");
    check_all(vec![
        case("a bare line").route(whole.as_str()).says("6.0 ±"),
        case("a feature")
            .route(feature("\"Hill\""))
            .says("Hill")
            .says("6.0 ±"),
        case("a byte order mark")
            .route(format!("\u{feff}{whole}"))
            .says("6.0 ±"),
        case("a line a position").route(line(&flat)).says("6.0 ±"),
        case("cut in the middle")
            .route(&whole[..whole.len() / 2])
            .refused("not well-formed"),
        case("a comma too many")
            .route(whole.replace("]]", "],]"))
            .refused("not well-formed"),
        case("a number that is none")
            .route(whole.replacen("7.0000000", "NaN", 1))
            .refused("not well-formed"),
        case("a number beyond numbers")
            .route(whole.replacen("7.0000000", "1e999", 1))
            .status(3),
        case("positions as text")
            .route(whole.replacen("7.0000000", "\"7\"", 1))
            .says("1 point without"),
        case("every position swapped")
            .route(line("[[45,120.5],[45.1,120.6],[45.2,120.7]]"))
            .refused("swapped"),
        case("positions of one number")
            .route(line("[[7],[8],[9]]"))
            .status(3),
        case("positions of ten numbers")
            .route(line(&hill::coordinates().replace("],", ",1,2,3,4,5,6,7],")))
            .says("6.0 ±"),
        case("no elevations")
            .route(line("[[7,45],[7.001,45],[7.002,45.1]]"))
            .refused("no elevations"),
        case("null for elevation")
            .route(line("[[7,45,null],[7.001,45,null]]"))
            .status(3),
        case("no type")
            .route("{\"coordinates\":[[7,45],[7,46]]}")
            .refused("no GeoJSON"),
        case("another type")
            .route("{\"type\":\"Topology\"}")
            .refused("Topology"),
        case("an area")
            .route("{\"type\":\"Polygon\",\"coordinates\":[[[7,45],[7,46],[8,46],[7,45]]]}")
            .refused("no line"),
        case("a geometry that is null")
            .route("{\"type\":\"Feature\",\"properties\":null,\"geometry\":null}")
            .refused("no line"),
        case("no features")
            .route("{\"type\":\"FeatureCollection\",\"features\":[]}")
            .refused("no line"),
        case("a list at the top").route("[1,2,3]").status(3),
        case("another document")
            .route("{\"schema\":\"hillwright.plan/1\",\"routes\":[]}")
            .refused("no GeoJSON"),
        case("half a million open lists")
            .route(line(&"[".repeat(500_000)))
            .status(3),
        case("half a million open objects")
            .route("{\"a\":".repeat(500_000))
            .status(3),
        case("deep lists that close")
            .route(format!(
                "{{\"type\":\"LineString\",\"x\":{}{},\"coordinates\":{}}}",
                "[".repeat(100_000),
                "]".repeat(100_000),
                hill::coordinates()
            ))
            .says("6.0 ±"),
        case("half a surrogate in a name")
            .route(feature("\"a\\ud800b\""))
            .status(3),
        case("control characters in a name")
            .route(feature("\"a\\u001b[31mred\\u0007\""))
            .says("6.0 ±"),
        case("a name of 20 MB")
            .route(feature(&format!("\"{}\"", "far ".repeat(5_000_000))))
            .says("6.0 ±"),
        case("a name that is a number")
            .route(feature("7"))
            .says("6.0 ±"),
        case("a name that is a list")
            .route(feature("[[[]]]"))
            .says("6.0 ±"),
        case("keys twice")
            .route(whole.replacen(
                "\"type\":\"LineString\"",
                "\"type\":\"LineString\",\"type\":\"LineString\"",
                1,
            ))
            .status(3),
    ]);
}
