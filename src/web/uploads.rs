//! What is sent to the page: route files, riders, sets; what is removed and saved.

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::{Multipart, State as Shared};
use axum::http::StatusCode;
use axum::response::Response;

use super::address::Address;
use super::requests::{Web, completed, plain, see, sentences, shown_page};
use super::state::State;
use super::{folder, library, order};
use crate::prescription::{parse_rider, parse_set, rider_text, set_text};

/// More files are no upload but an archive.
const MOST_FILES: usize = 100;

/// A form with files that was sent.
#[derive(Debug, Default)]
struct Sent {
    fields: Vec<(String, String)>,
    files: Vec<(String, Bytes)>,
}

impl Sent {
    async fn read(mut form: Multipart) -> Result<Sent, Box<Response>> {
        let mut sent = Sent::default();
        let refused = |error: axum::extract::multipart::MultipartError| {
            Box::new(plain(
                error.status(),
                &format!("The form can't be read: {}.", error.body_text()),
            ))
        };
        while let Some(field) = form.next_field().await.map_err(refused)? {
            let name = field.name().unwrap_or("").to_owned();
            if let Some(file) = field.file_name().map(file_name) {
                let bytes = field.bytes().await.map_err(refused)?;
                if !bytes.is_empty() || !file.is_empty() {
                    sent.files.push((file, bytes));
                }
            } else {
                let value = field.text().await.map_err(refused)?;
                sent.fields.push((name, value));
            }
            if sent.files.len() + sent.fields.len() > MOST_FILES {
                let why = format!("More than {MOST_FILES} files at once; send fewer.");
                return Err(Box::new(plain(StatusCode::PAYLOAD_TOO_LARGE, &why)));
            }
        }
        Ok(sent)
    }

    fn field(&self, name: &str) -> &str {
        let field = self.fields.iter().find(|field| field.0 == name);
        field.map_or("", |field| field.1.as_str())
    }

    /// The address that the page had.
    fn address(&self) -> Address {
        Address::parse(self.field("address")).unwrap_or_default()
    }
}

/// A file's name without folders and invisible characters, of a length that can be shown.
fn file_name(given: &str) -> String {
    const SHOWN_CHARS: usize = 80;
    let name = given.rsplit(['/', '\\']).next().unwrap_or("");
    let visible = name.chars().filter(|c| !crate::files::is_invisible(*c));
    visible.take(SHOWN_CHARS).collect()
}

pub(super) async fn add_routes(Shared(state): Web, form: Multipart) -> Response {
    let sent = match Sent::read(form).await {
        Ok(sent) => sent,
        Err(response) => return *response,
    };
    let address = sent.address();
    let files = sent.files;
    let work = move |state: &State| {
        let mut refused = Vec::new();
        if files.is_empty() {
            refused.push("No file was chosen.".to_owned());
        }
        for (name, bytes) in &files {
            let (grounds, why) = library::read(bytes, name, &state.elevations);
            refused.extend(why);
            if let Err(why) = state.change(|library| library.add(grounds)) {
                refused.push(format!("{name}: {why}"));
                break;
            }
        }
        refused
    };
    match state.work(work).await {
        // The best of what is here now.
        Ok(refused) if refused.is_empty() => {
            let wish = |key: &str| ["route", "keep", "avoid"].contains(&key);
            see(&address.without(wish))
        }
        Ok(refused) => shown_page(&state, address, refused).await,
        Err(given_up) => plain(StatusCode::SERVICE_UNAVAILABLE, &given_up.to_string()),
    }
}

pub(super) async fn remove_route(Shared(state): Web, form: Multipart) -> Response {
    let sent = match Sent::read(form).await {
        Ok(sent) => sent,
        Err(response) => return *response,
    };
    let number = sent.field("route").parse().unwrap_or(0);
    let key = state
        .library()
        .numbered(number)
        .map(|ground| ground.key.clone());
    state.change(|library| library.remove(number));
    let address = sent.address();
    match key {
        // What was wished of its climbs goes with it.
        Some(key) if address.get("route") == Some(&key) => {
            see(&address.without(|k| ["route", "keep", "avoid"].contains(&k)))
        }
        _ => see(&address),
    }
}

pub(super) async fn take_rider(Shared(state): Web, form: Multipart) -> Response {
    taken(&state, form, "rider", |text, address| {
        let rider = parse_rider(text).map_err(|error| error.to_string())?;
        Ok(folder::with_rider(address, &rider))
    })
    .await
}

pub(super) async fn take_set(Shared(state): Web, form: Multipart) -> Response {
    taken(&state, form, "set", |text, address| {
        let set = parse_set(text).map_err(|error| error.to_string())?;
        Ok(folder::with_set(address, &set))
    })
    .await
}

/// Rider or set from a file that was sent.
async fn taken(
    state: &Arc<State>,
    form: Multipart,
    what: &str,
    read: impl Fn(&str, &Address) -> Result<Address, String>,
) -> Response {
    let sent = match Sent::read(form).await {
        Ok(sent) => sent,
        Err(response) => return *response,
    };
    let address = completed(sent.address(), &state.defaults);
    let Some((name, bytes)) = sent.files.first() else {
        return shown_page(state, address, vec![format!("No {what} file was chosen.")]).await;
    };
    match read(&String::from_utf8_lossy(bytes), &address) {
        Ok(changed) => see(&changed),
        Err(why) => {
            let lines = why.lines().map(|line| format!("{name}: {line}")).collect();
            shown_page(state, address, lines).await
        }
    }
}

/// Saves rider or set in the folder that the page was started with.
pub(super) async fn save(Shared(state): Web, form: Multipart) -> Response {
    let sent = match Sent::read(form).await {
        Ok(sent) => sent,
        Err(response) => return *response,
    };
    if state.folder.is_none() {
        return plain(
            StatusCode::NOT_FOUND,
            "The page was started without a folder.",
        );
    }
    let address = completed(sent.address(), &state.defaults);
    let asked = address.clone();
    let work = move |state: &State| {
        let order = order::read(&asked).map_err(|complaints| sentences(&complaints))?;
        let text = match sent.field("what") {
            "set" => set_text(&order.set),
            _ => rider_text(&order.rider),
        };
        let folder = state.folder.as_deref().ok_or_else(String::new)?;
        folder::save(folder, sent.field("name").trim(), &text)
    };
    match state.work(work).await {
        Ok(Ok(())) => see(&address),
        Ok(Err(why)) => shown_page(&state, address, vec![why]).await,
        Err(given_up) => plain(StatusCode::SERVICE_UNAVAILABLE, &given_up.to_string()),
    }
}
