//! GPX whose times are missing or wrong: a route needs none.

use crate::case::{case, check_all};
use crate::hill;

#[test]
fn no_times_whatever_keep_a_line_from_being_a_route() {
    let every = |text: &str| hill::changed(|_, p| p.time = text.to_owned());
    let good = hill::points();
    let reversed = hill::changed(|i, p| p.time.clone_from(&good[good.len() - 1 - i].time));
    check_all(vec![
        case("none").route(every("")).says("6.0 ±"),
        case("backwards").route(reversed).says("6.0 ±"),
        case("all equal")
            .route(every("2024-05-01T08:00:00Z"))
            .says("6.0 ±"),
        case("far in the future")
            .route(hill::changed(|_, p| {
                p.time = p.time.replace("2024", "9999")
            }))
            .says("6.0 ±"),
        case("before the epoch")
            .route(hill::changed(|_, p| {
                p.time = p.time.replace("2024", "1903")
            }))
            .says("6.0 ±"),
        case("year nought")
            .route(every("0000-00-00T00:00:00Z"))
            .says("6.0 ±")
            .says("not readable"),
        case("no times at all in the words")
            .route(every("yesterday"))
            .says("331 times not readable")
            .says("\"yesterday\""),
        case("without a zone")
            .route(hill::changed(|_, p| p.time = p.time.replace('Z', "")))
            .says("taken as UTC"),
        case("with an offset")
            .route(hill::changed(|_, p| p.time = p.time.replace('Z', "+05:30")))
            .says("6.0 ±"),
        case("a leap second")
            .route(hill::changed(|i, p| {
                if i == 5 {
                    p.time = "2016-12-31T23:59:60Z".into()
                }
            }))
            .says("6.0 ±"),
        case("on some points")
            .route(hill::changed(|i, p| {
                if i % 3 == 1 {
                    p.time.clear()
                }
            }))
            .says("6.0 ±"),
        case("one a day late")
            .route(hill::changed(|i, p| {
                if i == 40 {
                    p.time = p.time.replace("05-01", "05-02")
                }
            }))
            .says("6.0 ±"),
        case("with too many digits")
            .route(hill::changed(|_, p| {
                p.time = p.time.replace('Z', &format!(".{}Z", "1".repeat(200)))
            }))
            .says("6.0 ±"),
        case("as a number").route(every("1714550400")).says("6.0 ±"),
    ]);
}
