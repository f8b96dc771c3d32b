//! The whole page: head, controls, plan.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::address::Address;
use super::answer::Shown;
use super::complaint::Complaint;
use super::controls::Controls;
use super::folder::Found;
use crate::output::drawing;
use crate::output::sheet::page as sheet;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// What a page is made from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Page<'a> {
    /// The values of the controls.
    pub(super) address: &'a Address,
    /// The answer, where the controls' values make sense.
    pub(super) shown: Option<&'a Shown<'a>>,
    /// What is wrong with the values.
    pub(super) complaints: &'a [Complaint],
    /// What else there is to tell: files that could not be read.
    pub(super) notices: &'a [String],
    /// Rider and set files of the folder that the page was started with; none without a folder.
    pub(super) found: Option<&'a Found>,
    /// What a change of the page's state must carry.
    pub(super) token: &'a str,
}

/// Style and script, in one piece each, so that their hashes can be named.
#[derive(Debug)]
pub(super) struct Assets {
    style: String,
    script: String,
    /// What a browser may run and load: these two, our own pictures, and nothing else.
    pub(super) policy: String,
}

impl Assets {
    /// Puts them together.
    pub(super) fn new() -> Assets {
        let style = [drawing::STYLE, sheet::STYLE, STYLE].concat();
        let script = [sheet::SCRIPT, SCRIPT].concat();
        let policy = format!(
            "default-src 'none'; style-src 'sha256-{}'; script-src 'sha256-{}'; img-src 'self' data:; connect-src 'self'; \
             form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
            hash(&style),
            hash(&script)
        );
        Assets {
            style,
            script,
            policy,
        }
    }
}

fn hash(text: &str) -> String {
    STANDARD.encode(Sha256::digest(text.as_bytes()))
}

/// The page.
pub(super) fn page(page: &Page, assets: &Assets) -> String {
    let title = page
        .shown
        .and_then(|shown| shown.order.set.name.clone())
        .map_or("Hillwright".to_owned(), |name| {
            format!("{name} – Hillwright")
        });
    let markup = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                link rel="icon" href="data:,";
                title { (title) }
                style { (PreEscaped(&assets.style)) }
            }
            body {
                (top())
                (told(page))
                div.desk {
                    (bench(page))
                    @match page.shown {
                        Some(shown) => (shown.plan()),
                        None => main #plan tabindex="-1" {
                            p.stop { "No plan for these values. What is wrong is told beside them; the page before this one has the last plan." }
                        }
                    }
                }
                p #heard .unseen role="status" {}
                script { (PreEscaped(&assets.script)) }
            }
        }
    };
    markup.into_string() + "\n"
}

fn top() -> Markup {
    html! {
        a.skip href="#plan" { "To the plan" }
        header.top {
            a.mark href="/" aria-label="Hillwright, from the start" {
                svg viewBox="0 0 46 20" width="46" height="20" aria-hidden="true" {
                    path.g1 d="M0 20L12 15L12 20Z" {} path.g3 d="M12 20L12 15L24 8L24 20Z" {}
                    path.g5 d="M24 20L24 8L34 2L34 20Z" {} path.g2 d="M34 20L34 2L46 20Z" {}
                }
                span { "Hillwright" }
            }
            span.room {}
            button #undo .quiet type="button" hidden disabled { "Undo" }
        }
    }
}

/// What went wrong that has no control of its own.
fn told(page: &Page) -> Markup {
    let controls = controls(page);
    let homeless = controls.homeless();
    html! {
        div #told role="alert" {
            @for text in page.notices.iter().map(String::as_str).chain(homeless) { p.stop { (text) } }
        }
    }
}

fn controls<'a>(page: &'a Page) -> Controls<'a> {
    Controls {
        address: page.address,
        complaints: page.complaints,
    }
}

/// Where the plan is made: routes, controls, files.
fn bench(page: &Page) -> Markup {
    html! {
        div #bench .bench role="region" aria-label="What is planned" {
            details open {
                summary { "The routes" }
                @match page.shown { Some(shown) => (shown.routes(page.token)), None => ol #routes.routes {} }
                (upload(page, "routes", "Add route files: GPX, KML or GeoJSON. Or drop them anywhere on the page.", ".gpx,.kml,.geojson,.json,.gz", true))
            }
            form #order method="get" action="/" novalidate {
                (controls(page).groups())
                p.go { button type="submit" { "Plan" } }
            }
            details {
                summary { "Rider and set files" }
                (upload(page, "rider", "Take the rider from a file", ".toml", false))
                (upload(page, "set", "Take the set from a file", ".toml", false))
                p.how { "Both can be saved under “Take along”." }
            }
            @if let Some(found) = page.found { (folder(page, found)) }
        }
    }
}

fn upload(page: &Page, what: &str, words: &str, accept: &str, many: bool) -> Markup {
    let id = format!("file-{what}");
    html! {
        form.upload method="post" enctype="multipart/form-data" action=(format!("/{what}?token={}", page.token)) {
            input type="hidden" name="address" data-address="" value=(page.address.query());
            label for=(id) { (words) }
            input id=(id) type="file" name="file" accept=(accept) multiple[many] required;
            button type="submit" { "Add" }
        }
    }
}

/// Rider and set files of the folder: to take and to save.
fn folder(page: &Page, found: &Found) -> Markup {
    let save = |what: &str, name: &str| {
        let id = format!("save-{what}");
        html! {
            form.upload method="post" enctype="multipart/form-data" action=(format!("/save?token={}", page.token)) {
                input type="hidden" name="address" data-address="" value=(page.address.query());
                input type="hidden" name="what" value=(what);
                label for=(id) { "Save the " (what) " in the folder as" }
                input.text id=(id) type="text" name="name" value=(name) autocomplete="off" spellcheck="false" required;
                button type="submit" { "Save" }
            }
        }
    };
    html! {
        details {
            summary { "The folder" }
            @if !found.riders.is_empty() {
                p.label { "Riders" }
                ul.files { @for (name, rider) in &found.riders { li { a data-live="" href=(found.with_rider(page.address, rider)) { (name) } } } }
            }
            @if !found.sets.is_empty() {
                p.label { "Sets" }
                ul.files { @for (name, set) in &found.sets { li { a data-live="" href=(found.with_set(page.address, set)) { (name) } } } }
            }
            (save("rider", "rider.toml"))
            (save("set", "set.toml"))
        }
    }
}
