//! Names in a file are a stranger's text: they are shown and can't act.

use crate::case::{case, check_all};
use crate::hill;

#[test]
fn names_can_not_act_on_a_terminal() {
    check_all(vec![
        case("an escape sequence")
            .route(hill::named("a&#27;[31mred"))
            .says("6.0 ±"),
        case("an escape sequence of one character")
            .route(hill::named("a\u{9b}31mred"))
            .says("6.0 ±"),
        case("a bell and a backspace")
            .route(hill::named("a&#7;&#8;b"))
            .says("6.0 ±"),
        case("a link of the terminal")
            .route(hill::named("\u{1b}]8;;http://127.0.0.1/\u{1b}\\x"))
            .says("6.0 ±"),
        case("letters that turn the line round")
            .route(hill::named("a\u{202e}gpx.exe"))
            .says("6.0 ±")
            .never("\u{202e}"),
        case("letters of no width")
            .route(hill::named("a\u{200b}\u{2066}b"))
            .says("6.0 ±")
            .never("\u{2066}"),
        case("a thousand marks on one letter")
            .route(hill::named(&format!("a{}", "\u{301}".repeat(1000))))
            .says("6.0 ±"),
        case("wide letters")
            .route(hill::named("峠の坂道"))
            .says("峠の坂道"),
        case("JSON of a name with quotes")
            .route(hill::named("a\"b\\c"))
            .types("climbs a.gpx --format json")
            .says("a\\\"b\\\\c"),
    ]);
}
