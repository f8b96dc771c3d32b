//! KML that is broken or hostile.

use crate::case::{case, check_all};
use crate::hill;

fn kml(inside: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?><kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"http://www.google.com/kml/ext/2.2\">\
         <Document><Placemark><name>Hill</name>{inside}</Placemark></Document></kml>"
    )
}

fn line(tuples: &str) -> String {
    kml(&format!(
        "<LineString><coordinates>{tuples}</coordinates></LineString>"
    ))
}

#[test]
fn kml_is_read_or_told_why_not() {
    let track = |skip_when: usize| {
        let points = hill::points();
        let when: String = points
            .iter()
            .skip(skip_when)
            .map(|p| format!("<when>{}</when>", p.time))
            .collect();
        let coord: String = points
            .iter()
            .map(|p| format!("<gx:coord>{} {} {}</gx:coord>", p.lon, p.lat, p.ele))
            .collect();
        kml(&format!("<gx:Track>{when}{coord}</gx:Track>"))
    };
    let whole = line(&hill::tuples());
    let swapped = hill::points()
        .iter()
        .map(|p| format!("{},{},{} ", p.lat, "120.5", p.ele))
        .collect::<String>();
    check_all(vec![
        case("a line").route(whole.as_str()).says("6.0 ±"),
        case("a line cut short").route(&whole[..whole.len() * 3 / 4]).says("ends in the middle"),
        case("a tuple that is none").route(whole.replacen("7.0000000,45.000", "seven,45.000", 1)).says("6.0 ±").says("1 point without"),
        case("latitude before longitude").route(line(&swapped)).refused("swapped"),
        case("spaces after the commas").route(line(&hill::tuples().replace(',', ", "))).refused("positions are unusable"),
        case("no elevations").route(line(&hill::points().iter().map(|p| format!("{},{} ", p.lon, p.lat)).collect::<String>())).refused("no elevations"),
        case("a place, no line").route(kml("<Point><coordinates>7,45</coordinates></Point>")).refused("no line"),
        case("an area, no line").route(kml(&format!("<Polygon><outerBoundaryIs><LinearRing><coordinates>{}</coordinates></LinearRing></outerBoundaryIs></Polygon>", hill::tuples()))).refused("no line"),
        case("a track with times").route(track(0)).says("6.0 ±"),
        case("a track with fewer times than places").route(track(5)).says("6.0 ±"),
        case("a link to elsewhere").route(kml("<NetworkLink><Link><href>http://127.0.0.1:1/</href></Link></NetworkLink>")).refused("no line"),
        case("an empty line").route(line("")).refused("no line"),
        case("a packed file").route(b"PK\x03\x04doc.kml".to_vec()).refused("unpack it"),
        case("an entity").route(whole.replace("<name>Hill", "<name>&x;").replacen("?>", "?><!DOCTYPE kml [<!ENTITY x SYSTEM 'file:///etc/passwd'>]>", 1)).says("6.0 ±").never("root:"),
        case("numbers without end").route(line(&format!("{} 7,{},0", hill::tuples(), "4".repeat(10_000_000)))).says("6.0 ±"),
    ]);
}
