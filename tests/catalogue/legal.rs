//! Strange but legal: a right answer or a clear no.

use crate::case::{Case, case, check_all};
use crate::hill::{self, Point};

const RIDER: &str = "[rider]\nmass_kg = 68.0\nthreshold_w = 250\n[bike]\nmass_kg = 8.5\nkit_kg = 4.0\ntyre = \"28-622\"\n\
    chainrings = [50, 34]\nsprockets = [11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30]\ncrank_mm = 172.5\n";

const SET: &str =
    "--power 190..225 --cadence 50..60 --work 4:00 --rest 1:00..90:00 --warm-up 0:00 --reps 1";

/// A road northward from 45° with a point every `step_m`, its elevation by distance.
fn road(step_m: f64, length_m: f64, height_m: impl Fn(f64) -> f64) -> String {
    let points: Vec<Point> = (0..=(length_m / step_m) as usize)
        .map(|i| {
            let at_m = i as f64 * step_m;
            Point {
                lat: format!("{:.8}", 45.0 + at_m / 111_130.0),
                lon: "7.0".into(),
                ele: format!("{:.2}", 300.0 + height_m(at_m)),
                time: String::new(),
            }
        })
        .collect();
    hill::gpx(&points)
}

fn plan(name: &str, route: String, more: &str) -> Case {
    case(name)
        .route(route)
        .file("rider.toml", RIDER)
        .types(&format!("plan a.gpx --rider rider.toml {SET} {more}"))
}

#[test]
fn roads_of_every_shape_get_an_answer() {
    let wall = |at: f64| 0.005 * at + 0.245 * (at - 1000.0).clamp(0.0, 1500.0);
    check_all(vec![
        case("dead flat")
            .route(road(10.0, 20_000.0, |_| 0.0))
            .status(1),
        case("a wall of 25 %")
            .route(road(10.0, 3500.0, wall))
            .says("24.9 ±"),
        case("a wall of 30 % between flat roads, a point each 20 m")
            .route(road(20.0, 4600.0, |at| {
                0.3 * (at - 2000.0).clamp(0.0, 600.0)
            }))
            .says("29.8 ±"),
        case("a cliff")
            .route(road(
                10.0,
                3000.0,
                |at| if at > 1500.0 { 400.0 } else { 0.0 },
            ))
            .status(1),
        case("half a metre between points")
            .route(road(0.5, 3300.0, hill::height_m))
            .says("6.0 ±"),
        case("two kilometres between points")
            .route(road(2000.0, 60_000.0, |at| 0.05 * at))
            .status(0),
        case("a climb from the first point to the last")
            .route(road(10.0, 5000.0, |at| 0.06 * at))
            .says("6.0 ±"),
        case("downhill alone")
            .route(road(10.0, 5000.0, |at| -0.06 * at))
            .status(1),
        case("a thousand kilometres")
            .route(road(50.0, 1_000_000.0, |at| 200.0 * (at / 9000.0).sin()))
            .status(1),
        case("a saw")
            .route(road(10.0, 5000.0, |at| {
                if (at / 10.0) as i64 % 2 == 0 {
                    0.0
                } else {
                    5.0
                }
            }))
            .status(1),
        case("too short for a climb")
            .route(road(10.0, 300.0, |at| 0.08 * at))
            .status(1),
    ]);
}

#[test]
fn riders_and_sets_of_every_kind_get_an_answer() {
    check_all(vec![
        plan("one rep on one climb", hill::whole(), "").says("The rep fits"),
        plan("dead flat", road(10.0, 20_000.0, |_| 0.0), "").status(1).says("no climb"),
        plan("a wall", road(10.0, 3500.0, |at| {
                0.005 * at + 0.245 * (at - 1000.0).clamp(0.0, 1500.0)
            }), "").status(1).says("too steep"),
        plan("at 5,000 m", hill::gpx(&hill::from(31.5, 80.0, 5000.0)), "").status(0),
        plan("below the sea", hill::gpx(&hill::from(31.5, 35.5, -430.0)), "").status(0),
        case("a rider who can't climb it")
            .route(road(10.0, 3500.0, |at| 0.2 * (at - 1000.0).clamp(0.0, 1500.0)))
            .file("rider.toml", RIDER.replace("68.0", "150.0").replace("250", "80"))
            .types("plan a.gpx --rider rider.toml --reps 1 --work 4:00 --rest 1:00 --power 60..72 --cadence 50..60 --warm-up 0:00")
            .status(1),
        case("the same in climbs")
            .route(road(10.0, 3500.0, |at| 0.2 * (at - 1000.0).clamp(0.0, 1500.0)))
            .file("rider.toml", RIDER.replace("68.0", "150.0").replace("250", "80"))
            .types("climbs a.gpx --rider rider.toml"),
        plan("a single gear", hill::whole(), "").file("rider.toml", RIDER.replace("[50, 34]", "[38]").replace("[11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30]", "[22]")),
        plan("a pin on a climb that isn't there", hill::whole(), "--keep 1=9").status(2).says("9"),
        plan("a pin of a rep that isn't there", hill::whole(), "--keep 7=1").status(2).says("7"),
        plan("pinned and forbidden", hill::whole(), "--keep 1=1 --avoid 1").status(2),
        plan("the only climb forbidden", hill::whole(), "--avoid 1").status(1),
    ]);
}
