//! GPX whose text is broken or hostile.

use crate::case::{case, check_all};
use crate::hill;

fn cut(at: usize) -> Vec<u8> {
    hill::whole().into_bytes()[..at].to_vec()
}

/// Just after the `count`th time that this text appears.
fn after(text: &str, count: usize) -> usize {
    let whole = hill::whole();
    whole.match_indices(text).nth(count - 1).unwrap().0 + text.len()
}

#[test]
fn a_file_cut_anywhere_gives_what_was_there() {
    let cut_short = "ends in the middle";
    check_all(vec![
        case("cut before a point")
            .route(cut(after("</trkpt>\n", 250)))
            .says(cut_short)
            .says("6.0 ±"),
        case("cut in a tag")
            .route(cut(after("<trkp", 250)))
            .says(cut_short),
        case("cut in an attribute's name")
            .route(cut(after("<trkpt la", 250)))
            .says(cut_short),
        case("cut in a latitude")
            .route(cut(after("lat=\"45.0", 200)))
            .says(cut_short),
        case("cut in an elevation")
            .route(cut(after("<ele>3", 250)))
            .says(cut_short),
        case("cut in a time")
            .route(cut(after("<time>2024-05", 250)))
            .says(cut_short),
        case("cut in a closing tag")
            .route(cut(after("</trkpt", 250)))
            .says(cut_short),
        case("cut after the last point")
            .route(cut(after("</trkseg>", 1)))
            .says(cut_short),
        case("cut in the last tag")
            .route(cut(hill::whole().len() - 3))
            .says(cut_short),
        case("cut after one point")
            .route(cut(after("</trkpt>", 1)))
            .refused(cut_short),
        case("cut in the first tag").route("<gpx vers").status(3),
        case("cut in the declaration")
            .route("<?xml versi")
            .status(3),
        case("zeros where an empty battery stopped the disk")
            .route([cut(after("</trkpt>\n", 250)), vec![0; 4096]].concat())
            .says("6.0 ±"),
    ]);
}

#[test]
fn what_is_no_gpx_is_told_what_it_is() {
    check_all(vec![
        case("empty").route("").refused("it is empty"),
        case("white space")
            .route(" \n\t ".repeat(1000))
            .refused("it is empty"),
        case("zeros").route(vec![0; 5000]).refused("binary data"),
        case("a page")
            .route("<!DOCTYPE html><html><body>404</body></html>")
            .refused("<html>"),
        case("plain text")
            .route("48.1 11.5\n48.2 11.6\n")
            .refused("a route must be GPX, KML or GeoJSON"),
        case("a zip archive")
            .route(b"PK\x03\x04\x14\0\0\0".to_vec())
            .refused("zip archive"),
        case("a document for print")
            .route("%PDF-1.7\n%\u{e2}\u{e3}")
            .refused("a route must be"),
        case("a binary recording")
            .route(b"\x0e\x10\x5d\x08\x35\x01\0\0.FIT\0\0".to_vec())
            .refused("binary data"),
        case("capital letters")
            .route(hill::whole().replace("gpx", "GPX"))
            .refused("<GPX>"),
        case("a picture")
            .route("<svg xmlns='http://www.w3.org/2000/svg'/>")
            .refused("<svg>"),
        case("only a declaration")
            .route("<?xml version='1.0'?>")
            .refused("no element"),
        case("only a comment")
            .route("<!-- gone -->")
            .refused("no element"),
        case("no line")
            .route("<gpx><wpt lat='45' lon='7'/></gpx>")
            .refused("1 waypoint, but no track"),
        case("nothing inside")
            .route("<gpx/>")
            .refused("no track and no route"),
        case("a line without points")
            .route(hill::track("<trkseg/>"))
            .refused("without points"),
    ]);
}

#[test]
fn every_encoding_is_read_or_named() {
    let utf16 = |big: bool, mark: bool| -> Vec<u8> {
        let text = hill::named("Größte Höhe");
        let units = mark
            .then_some(0xfeff)
            .into_iter()
            .chain(text.encode_utf16());
        units
            .flat_map(|u| {
                if big {
                    u.to_be_bytes()
                } else {
                    u.to_le_bytes()
                }
            })
            .collect()
    };
    let latin: Vec<u8> = hill::named("Gr\u{f6}\u{df}te")
        .replace("UTF-8", "ISO-8859-1")
        .chars()
        .map(|c| c as u8)
        .collect();
    let undeclared: Vec<u8> = hill::named("Gr\u{f6}\u{df}te")
        .chars()
        .map(|c| c as u8)
        .collect();
    check_all(vec![
        case("a byte order mark")
            .route(format!("\u{feff}{}", hill::named("Größte")))
            .says("Größte"),
        case("UTF-16, marked")
            .route(utf16(false, true))
            .says("Größte Höhe"),
        case("UTF-16, big end first, unmarked")
            .route(utf16(true, false))
            .says("Größte Höhe"),
        case("UTF-16 cut in the middle of a character")
            .route(utf16(false, true)[..40_001].to_vec())
            .says("ends in the middle"),
        case("UTF-32")
            .route(b"\xff\xfe\0\0<\0\0\0".to_vec())
            .refused("UTF-32"),
        case("declared Latin 1").route(latin).says("Größte"),
        case("not the UTF-8 that it says")
            .route(undeclared)
            .says("windows-1252"),
        case("an unknown encoding")
            .route(hill::whole().replace("UTF-8", "x-runes"))
            .refused("x-runes"),
        case("an empty encoding")
            .route(hill::whole().replace("UTF-8", ""))
            .status(3),
    ]);
}

#[test]
fn entities_are_never_expanded_or_fetched() {
    let with_type = |declarations: &str, name: &str| {
        hill::named(name).replacen("?>\n", &format!("?>\n<!DOCTYPE gpx [{declarations}]>\n"), 1)
    };
    let mut bomb = String::from("<!ENTITY l0 \"ha\">");
    for i in 1..30 {
        let last = format!("&l{};", i - 1);
        bomb.push_str(&format!("<!ENTITY l{i} \"{}\">", last.repeat(10)));
    }
    check_all(vec![
        case("a bomb of entities")
            .route(with_type(&bomb, "&l29;"))
            .says("6.0 ±")
            .never("haha"),
        case("a file by entity")
            .route(with_type(
                "<!ENTITY f SYSTEM \"file:///etc/passwd\">",
                "&f;",
            ))
            .says("6.0 ±")
            .never("root:"),
        case("an address by entity")
            .route(with_type(
                "<!ENTITY f SYSTEM \"http://127.0.0.1:1/x\">",
                "&f;",
            ))
            .says("6.0 ±"),
        case("a parameter entity")
            .route(with_type(
                "<!ENTITY % p SYSTEM \"file:///etc/passwd\"> %p;",
                "x",
            ))
            .says("6.0 ±")
            .never("root:"),
        case("an entity for a number")
            .route(with_type("<!ENTITY n \"45\">", "x").replace("lat=\"45.", "lat=\"&n;."))
            .refused("unusable"),
        case("an unknown entity")
            .route(hill::named("a &nbsp; b"))
            .says("6.0 ±"),
        case("a character of no number")
            .route(hill::named("a &#0; &#xffffff; b"))
            .says("6.0 ±"),
        case("numbers by character references")
            .route(hill::whole().replace("<ele>3", "<ele>&#51;"))
            .says("6.0 ±"),
    ]);
}

#[test]
fn what_is_deep_or_long_takes_no_more_room_than_itself() {
    let deep = "<a>".repeat(1_000_000);
    let pairs = format!("{}{}", "<a>".repeat(300_000), "</a>".repeat(300_000));
    let long = "9".repeat(100_000_000);
    check_all(vec![
        case("a million elements, open")
            .route(format!("<gpx>{deep}"))
            .refused("ends in the middle"),
        case("300,000 elements, closed")
            .route(hill::track(&format!(
                "<extensions>{pairs}</extensions><trkseg>{}</trkseg>",
                hill::elements(&hill::points())
            )))
            .says("6.0 ±"),
        case("a latitude of 100 MB")
            .route(hill::changed(|i, p| {
                if i == 7 {
                    p.lat.clone_from(&long)
                }
            }))
            .says("1 point without a usable position")
            .says("…"),
        case("a name of 20 MB")
            .route(hill::named(&"far ".repeat(5_000_000)))
            .says("6.0 ±"),
        case("a comment of 50 MB")
            .route(hill::named(&format!("<!--{}-->x", " ".repeat(50_000_000))))
            .says("6.0 ±"),
        case("100,000 attributes")
            .route(hill::whole().replacen(
                "<trkpt ",
                &format!(
                        "<trkpt {} ",
                        (0..100_000)
                            .map(|i| format!("a{i}=\"\" "))
                            .collect::<String>()
                    ),
                1,
            ))
            .says("6.0 ±"),
        case("50 MB of spaces at the end")
            .route(format!("{}{}", hill::whole(), " ".repeat(50_000_000)))
            .says("6.0 ±"),
    ]);
}

#[test]
fn xml_that_is_not_well_formed_is_told_its_line() {
    check_all(vec![
        case("tags that don't match")
            .route(hill::whole().replacen("</trkpt>", "</rtept>", 1))
            .refused("line 2"),
        case("an attribute without quotes")
            .route(hill::whole().replacen("lat=\"45.0000000\"", "lat=45.0", 1))
            .status(0)
            .says("6.0 ±"),
        case("an attribute twice")
            .route(hill::whole().replacen("lat=", "lat=\"1\" lat=", 1))
            .says("6.0 ±"),
        case("a second root")
            .route(hill::whole().repeat(2))
            .says("6.0 ±"),
        case("text after the end")
            .route(format!("{}trailing", hill::whole()))
            .says("6.0 ±"),
        case("prefixes")
            .route(
                hill::whole()
                    .replace("<", "<g:")
                    .replace("<g:/", "</g:")
                    .replace("<g:?", "<?"),
            )
            .says("6.0 ±"),
        case("another namespace")
            .route(hill::whole().replace("GPX/1/1", "GPX/9/9"))
            .says("6.0 ±"),
        case("character data")
            .route(hill::named("<![CDATA[<b>Hill & co</b>]]>"))
            .says("<b>Hill & co</b>"),
        case("a stray <").route(hill::named("3 < 4")).status(3),
    ]);
}
