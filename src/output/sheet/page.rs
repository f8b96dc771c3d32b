//! The frame of a page: head, one style, one script, the body.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::output::drawing;

/// The sheets' style, without that of the pictures on them.
pub const STYLE: &str = include_str!("style.css");
/// Ties map, profile and slider together; pages are whole without it.
pub const SCRIPT: &str = include_str!("script.js");
/// Nothing is fetched, sent or framed.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// A whole page.
pub fn page(title: &str, body: &Markup) -> String {
    framed(title, STYLE, body)
}

/// A whole page in another style.
pub(super) fn framed(title: &str, style: &str, body: &Markup) -> String {
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(concat!("Hillwright ", env!("CARGO_PKG_VERSION")));
                title { (title) }
                style { (PreEscaped(drawing::STYLE)) (PreEscaped(style)) }
            }
            body {
                (body)
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    markup.into_string() + "\n"
}
