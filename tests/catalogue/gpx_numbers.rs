//! GPX whose numbers are no positions or no elevations.

use crate::case::{case, check_all};
use crate::hill;

fn every_lat(text: &str) -> String {
    hill::changed(|_, p| p.lat = text.to_owned())
}

fn every_ele(text: &str) -> String {
    hill::changed(|_, p| p.ele = text.to_owned())
}

#[test]
fn positions_that_are_none_are_left_out_or_the_file_is_refused() {
    let unusable = "positions are unusable";
    check_all(vec![
        case("one latitude off the Earth")
            .route(hill::changed(|i, p| {
                if i == 90 {
                    p.lat = "95".into()
                }
            }))
            .says("1 point without a usable position")
            .says("\"95\""),
        case("every latitude off the Earth")
            .route(every_lat("95"))
            .refused(unusable),
        case("latitude and longitude swapped")
            .route(hill::changed(|_, p| {
                p.lon = "120.5".into();
                std::mem::swap(&mut p.lat, &mut p.lon)
            }))
            .refused("look swapped"),
        case("no numbers").route(every_lat("NaN")).refused(unusable),
        case("infinite").route(every_lat("inf")).refused(unusable),
        case("minus infinity")
            .route(every_lat("-Infinity"))
            .refused(unusable),
        case("beyond what a number can be")
            .route(every_lat("1e999"))
            .refused(unusable),
        case("with an exponent")
            .route(hill::changed(|_, p| {
                p.lat = format!("{}e1", p.lat.parse::<f64>().unwrap() / 10.0)
            }))
            .says("6.0 ±"),
        case("with decimal commas")
            .route(hill::changed(|_, p| p.lat = p.lat.replace('.', ",")))
            .refused("decimal point"),
        case("with a hemisphere")
            .route(hill::changed(|_, p| p.lat.push('N')))
            .refused(unusable),
        case("in degrees and minutes")
            .route(every_lat("45°12'30\"".replace('"', "&quot;").as_str()))
            .refused(unusable),
        case("in hexadecimal")
            .route(every_lat("0x2d"))
            .refused(unusable),
        case("in other digits")
            .route(every_lat("٤٥"))
            .refused(unusable),
        case("with a plus")
            .route(hill::changed(|_, p| p.lat.insert(0, '+')))
            .says("6.0 ±"),
        case("with spaces")
            .route(hill::changed(|_, p| p.lat = format!(" {} ", p.lat)))
            .says("6.0 ±"),
        case("with fifty digits")
            .route(hill::changed(|_, p| p.lat.push_str(&"3".repeat(43))))
            .says("6.0 ±"),
        case("empty").route(every_lat("")).refused(unusable),
        case("without latitudes")
            .route(hill::whole().replace("lat=", "lateral="))
            .refused(unusable),
        case("without longitudes")
            .route(hill::whole().replace("lon=", "long="))
            .refused(unusable),
        case("half of them bad")
            .route(hill::changed(|i, p| {
                if i % 2 == 1 {
                    p.lat = "x".into()
                }
            }))
            .says("6.0 ±")
            .says("165 points without a usable position"),
    ]);
}

#[test]
fn places_where_coordinates_are_strange_are_places() {
    let around = |lat: f64, lon: f64| hill::gpx(&hill::from(lat, lon, 300.0));
    let across: Vec<hill::Point> = (0..330)
        .map(|i| hill::Point {
            lat: "0.5".into(),
            lon: format!(
                "{:.7}",
                (179.985 + f64::from(i) * 8.9832e-5 + 180.0).rem_euclid(360.0) - 180.0
            ),
            ele: format!("{:.2}", 300.0 + hill::height_m(10.0 * f64::from(i))),
            time: String::new(),
        })
        .collect();
    let over_the_pole: Vec<hill::Point> = (0..330)
        .map(|i| {
            let north = 89.985 + f64::from(i) * 8.953e-5;
            hill::Point {
                lat: format!("{:.7}", if north > 90.0 { 180.0 - north } else { north }),
                lon: (if north > 90.0 { "-173" } else { "7" }).into(),
                ele: format!("{:.2}", 300.0 + hill::height_m(10.0 * f64::from(i))),
                time: String::new(),
            }
        })
        .collect();
    check_all(vec![
        case("across the antimeridian")
            .route(hill::gpx(&across))
            .says("6.0 ±")
            .says("3.29 km"),
        case("over the pole")
            .route(hill::gpx(&over_the_pole))
            .says("6.0 ±"),
        case("at 80° north").route(around(80.0, 7.0)).says("6.0 ±"),
        case("at 80° south")
            .route(around(-80.0, -170.0))
            .says("6.0 ±"),
        case("through the origin")
            .route(around(-0.015, 0.0))
            .says("6.0 ±"),
        case("below the sea")
            .route(hill::gpx(&hill::from(31.5, 35.5, -430.0)))
            .says("6.0 ±"),
        case("at 5,000 m")
            .route(hill::gpx(&hill::from(31.5, 80.0, 5000.0)))
            .says("6.0 ±"),
        case("two fixes at the origin")
            .route(hill::changed(|i, p| {
                if i == 50 || i == 150 {
                    p.lat = "0".into();
                    p.lon = "0".into()
                }
            }))
            .says("6.0 ±")
            .says("latitude 0, longitude 0"),
        case("every fix at the origin")
            .route(hill::changed(|_, p| {
                p.lat = "0".into();
                p.lon = "0".into()
            }))
            .refused("and it has one"),
        case("a jump of a thousand kilometres, and back")
            .route(hill::changed(|i, p| {
                if i == 100 {
                    p.lat = "54".into()
                }
            }))
            .says("6.0 ±")
            .says("3.30 km"),
        case("two points")
            .route(hill::gpx(&hill::points()[..2]))
            .refused("needs at least 100 m"),
        case("one point")
            .route(hill::gpx(&hill::points()[..1]))
            .refused("and it has one"),
        case("one place, 300 times")
            .route(hill::changed(|_, p| p.lat = "45".into()))
            .refused("and it has one"),
    ]);
}

#[test]
fn elevations_that_are_none_are_told() {
    let none = "no elevations";
    check_all(vec![
        case("none").route(every_ele("")).refused(none),
        case("no numbers").route(every_ele("NaN")).refused(none),
        case("infinite").route(every_ele("inf")).refused(none),
        case("with decimal commas")
            .route(hill::changed(|_, p| p.ele = p.ele.replace('.', ",")))
            .refused(none),
        case("with a unit")
            .route(hill::changed(|_, p| p.ele.push_str(" m")))
            .refused(none),
        case("beyond the sky").route(every_ele("1e300")).status(3),
        case("one beyond the sky")
            .route(hill::changed(|i, p| {
                if i == 20 {
                    p.ele = "1e300".into()
                }
            }))
            .says("6.0 ±"),
        case("one missing")
            .route(hill::changed(|i, p| {
                if i == 20 {
                    p.ele.clear()
                }
            }))
            .says("6.0 ±"),
        case("every second one missing")
            .route(hill::changed(|i, p| {
                if i % 2 == 1 {
                    p.ele.clear()
                }
            }))
            .says("6.0 ±"),
        case("only the first")
            .route(hill::changed(|i, p| {
                if i > 0 {
                    p.ele.clear()
                }
            }))
            .status(3),
        case("zero throughout").route(every_ele("0")).refused(none),
        case("empty elements")
            .route(
                hill::whole()
                    .replace("<ele>", "<ele/><x>")
                    .replace("</ele>", "</x>"),
            )
            .refused(none),
        case("a marker of nothing")
            .route(hill::changed(|i, p| {
                if i % 7 == 3 {
                    p.ele = "-32768".into()
                }
            }))
            .says("6.0 ±"),
        case("spikes of a kilometre")
            .route(hill::changed(|i, p| {
                if i % 97 == 50 {
                    p.ele = "1400".into()
                }
            }))
            .says("6.0 ±"),
    ]);
}

#[test]
fn sensor_values_that_are_none_do_no_harm() {
    let with = |reading: &str| {
        hill::whole().replace(
            "</trkpt>",
            &format!("<extensions>{reading}</extensions></trkpt>"),
        )
    };
    check_all(vec![
        case("power in words")
            .route(with("<power>much</power>"))
            .says("not a number"),
        case("cadence beyond numbers")
            .route(with("<cad>1e999</cad>"))
            .says("6.0 ±"),
        case("negative heart rate")
            .route(with("<hr>-1</hr>"))
            .says("6.0 ±"),
        case("empty extensions").route(with("")).says("6.0 ±"),
        case("extensions in extensions")
            .route(with(
                "<x:a xmlns:x='y'><extensions><power>200</power></extensions></x:a>",
            ))
            .says("6.0 ±"),
    ]);
}
