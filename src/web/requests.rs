//! What is asked of the page, and what it answers.

use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Path, RawQuery, Request, State as Shared};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_LENGTH, CONTENT_SECURITY_POLICY, CONTENT_TYPE,
    LOCATION, REFERRER_POLICY, X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderName, HeaderValue, Method, StatusCode};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use maud::{Markup, html};

use super::address::Address;
use super::answer::Shown;
use super::complaint::Complaint;
use super::folder::{Found, MOST_TOML_BYTES};
use super::library::MOST_FILE_BYTES;
use super::page::{self, Page};
use super::planning::{self, Answer};
use super::state::State;
use super::uploads::{add_routes, remove_route, save, take_rider, take_set};
use super::{order, takeaway};

/// An answer may take so long; an upload, which a slow browser sends, longer.
const ANSWER_WITHIN: Duration = Duration::from_secs(30);
const UPLOAD_WITHIN: Duration = Duration::from_secs(90);
const HTML: &str = "text/html; charset=utf-8";
const TEXT: &str = "text/plain; charset=utf-8";

pub(super) type Web = Shared<Arc<State>>;

/// Everything that is answered.
pub(super) fn router(state: Arc<State>) -> Router {
    let uploads = DefaultBodyLimit::max(usize::try_from(MOST_FILE_BYTES).unwrap_or(usize::MAX));
    let small = DefaultBodyLimit::max(usize::try_from(2 * MOST_TOML_BYTES).unwrap_or(usize::MAX));
    Router::new()
        .route("/", get(whole_page))
        .route("/plan", get(live_plan))
        .route("/relief/{picture}", get(relief))
        .route("/take/{file}", get(take))
        .route("/routes", post(add_routes).layer(uploads))
        .route("/rider", post(take_rider).layer(small))
        .route("/set", post(take_set).layer(small))
        .route("/remove", post(remove_route).layer(small))
        .route("/save", post(save).layer(small))
        .fallback(|| async { plain(StatusCode::NOT_FOUND, "There is nothing at this address.") })
        .layer(middleware::from_fn_with_state(Arc::clone(&state), guarded))
        .with_state(state)
}

/// Asks the guard, gives up what takes too long, and tells browsers what they may do with the answer.
async fn guarded(Shared(state): Web, request: Request, next: Next) -> Response {
    let within = if request.method() == Method::POST {
        UPLOAD_WITHIN
    } else {
        ANSWER_WITHIN
    };
    let mut response = match state
        .guard
        .check(request.method(), request.uri(), request.headers())
    {
        Err((status, why)) => plain(status, why),
        Ok(()) if announces_too_much(&request) => plain(
            StatusCode::PAYLOAD_TOO_LARGE,
            "That is more than the page takes at once; send fewer or smaller files.",
        ),
        Ok(()) => match tokio::time::timeout(within, next.run(request)).await {
            Ok(response) => response,
            Err(_) => plain(
                StatusCode::REQUEST_TIMEOUT,
                "It took too long and was given up.",
            ),
        },
    };
    let headers = response.headers_mut();
    let policy = HeaderValue::from_str(&state.assets.policy);
    headers.insert(
        CONTENT_SECURITY_POLICY,
        policy.unwrap_or(HeaderValue::from_static("default-src 'none'")),
    );
    for (name, value) in [
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (X_FRAME_OPTIONS, "DENY"),
        (REFERRER_POLICY, "same-origin"),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

/// Whether a request says itself that it is larger than any that is read.
fn announces_too_much(request: &Request) -> bool {
    let length = request.headers().get(CONTENT_LENGTH);
    let length = length.and_then(|length| length.to_str().ok()?.parse::<u64>().ok());
    length.is_some_and(|bytes| bytes > MOST_FILE_BYTES)
}

async fn whole_page(Shared(state): Web, RawQuery(query): RawQuery) -> Response {
    match Address::parse(&query.unwrap_or_default()) {
        Ok(given) => shown_page(&state, given, Vec::new()).await,
        Err(error) => plain(StatusCode::URI_TOO_LONG, &error.to_string()),
    }
}

/// The page for an address; with notices it is the answer to something that could not be done.
pub(super) async fn shown_page(
    state: &Arc<State>,
    given: Address,
    notices: Vec<String>,
) -> Response {
    let work = move |state: &State| {
        let address = completed(given, &state.defaults);
        let found = state.folder.as_deref().map(Found::in_folder);
        let (order, answer) = answered(&address, None, state);
        let complaints = answer.as_ref().err().cloned().unwrap_or_default();
        let shown = match (&order, &answer) {
            (Some(order), Ok(answer)) => Some(Shown {
                order,
                address: &address,
                answer,
            }),
            _ => None,
        };
        let status = if complaints.is_empty() && notices.is_empty() {
            StatusCode::OK
        } else {
            StatusCode::UNPROCESSABLE_ENTITY
        };
        let page = Page {
            address: &address,
            shown: shown.as_ref(),
            complaints: &complaints,
            notices: &notices,
            found: found.as_ref(),
            token: &state.guard.token,
        };
        answer_of(status, HTML, page::page(&page, &state.assets).into())
    };
    or_given_up(state.work(work).await)
}

/// An address with the default rider and set where it names none.
pub(super) fn completed(given: Address, defaults: &Address) -> Address {
    let mut address = given;
    let (riders, sets) = (!address.has(order::is_riders), !address.has(order::is_sets));
    for (key, value) in defaults.pairs() {
        if (riders && order::is_riders(key)) || (sets && order::is_sets(key)) {
            address.push(key.clone(), value.clone());
        }
    }
    address
}

/// The order and its answer: on the one route that is shown, or on all of them.
fn answered(
    address: &Address,
    only: Option<u64>,
    state: &State,
) -> (Option<order::Order>, Result<Answer, Vec<Complaint>>) {
    let order = match order::read(address) {
        Ok(order) => order,
        Err(complaints) => return (None, Err(complaints)),
    };
    let library = state.library();
    let answer = match only.and_then(|number| library.numbered(number)) {
        Some(ground) => planning::quick(&order, ground, &library),
        None => planning::whole(&order, &library),
    };
    (Some(order), answer)
}

/// The plan and, unless only the shown route is asked for, the list of routes, for the script to put in place; or what is wrong.
async fn live_plan(Shared(state): Web, RawQuery(query): RawQuery) -> Response {
    let query = query.unwrap_or_default();
    if let Some(answer) = state.remembered(&query) {
        return answer_of(StatusCode::OK, HTML, answer.into());
    }
    let given = match Address::parse(&query) {
        Ok(given) => given,
        Err(error) => return plain(StatusCode::URI_TOO_LONG, &error.to_string()),
    };
    let work = move |state: &State| {
        // Whoever asked the same a moment before may have the answer by now.
        if let Some(answer) = state.remembered(&query) {
            return Ok(answer);
        }
        let begun = state.generation();
        let only = given.get("shown").and_then(|number| number.parse().ok());
        let address = completed(given.without(|key| key == "shown"), &state.defaults);
        let (order, answer) = answered(&address, only, state);
        match (&order, &answer) {
            (Some(order), Ok(answer)) => {
                let shown = Shown {
                    order,
                    address: &address,
                    answer,
                };
                let parts = Bytes::from(parts(&shown, &state.guard.token).into_string());
                state.remember(begun, query, parts.clone());
                Ok(parts)
            }
            (_, Err(complaints)) => Err(complaints.clone()),
            (None, Ok(_)) => Err(Vec::new()),
        }
    };
    match state.work(work).await {
        Ok(Ok(answer)) => answer_of(StatusCode::OK, HTML, answer.into()),
        Ok(Err(complaints)) => match serde_json::to_string(&complaints) {
            Ok(json) => answer_of(
                StatusCode::UNPROCESSABLE_ENTITY,
                "application/json",
                json.into(),
            ),
            Err(error) => plain(StatusCode::INTERNAL_SERVER_ERROR, &error.to_string()),
        },
        Err(given_up) => plain(StatusCode::SERVICE_UNAVAILABLE, &given_up.to_string()),
    }
}

fn parts(shown: &Shown, token: &str) -> Markup {
    html! {
        @if !shown.answer.ranking.is_empty() { (shown.routes(token)) }
        (shown.plan())
    }
}

async fn relief(Shared(state): Web, Path(picture): Path<String>) -> Response {
    let library = state.library();
    let found = picture
        .strip_suffix(".png")
        .and_then(|number| number.parse().ok())
        .and_then(|number| library.numbered(number))
        .and_then(|ground| ground.relief.as_ref());
    let Some(relief) = found else {
        return plain(StatusCode::NOT_FOUND, "There is no relief of this route.");
    };
    let mut response = answer_of(StatusCode::OK, "image/png", relief.png().to_vec().into());
    let keep = HeaderValue::from_static("private, max-age=86400, immutable");
    response.headers_mut().insert(CACHE_CONTROL, keep);
    response
}

async fn take(Shared(state): Web, Path(name): Path<String>, RawQuery(query): RawQuery) -> Response {
    let Some(file) = takeaway::ALL.into_iter().find(|file| file.file == name) else {
        return plain(StatusCode::NOT_FOUND, "There is no such file.");
    };
    let given = match Address::parse(&query.unwrap_or_default()) {
        Ok(given) => given,
        Err(error) => return plain(StatusCode::URI_TOO_LONG, &error.to_string()),
    };
    let work = move |state: &State| {
        let address = completed(given, &state.defaults);
        let (order, answer) = answered(&address, None, state);
        let (order, answer) = match (order, answer) {
            (Some(order), Ok(answer)) => (order, answer),
            (_, Err(complaints)) => {
                return plain(StatusCode::UNPROCESSABLE_ENTITY, &sentences(&complaints));
            }
            (None, Ok(_)) => return plain(StatusCode::UNPROCESSABLE_ENTITY, ""),
        };
        let shown = Shown {
            order: &order,
            address: &address,
            answer: &answer,
        };
        match takeaway::content(file, &shown) {
            Ok(content) => {
                let mut response = answer_of(StatusCode::OK, file.media, content.into());
                if let Ok(value) =
                    HeaderValue::from_str(&format!("attachment; filename=\"{}\"", file.file))
                {
                    response.headers_mut().insert(CONTENT_DISPOSITION, value);
                }
                response
            }
            Err(error) => plain(StatusCode::NOT_FOUND, &error.to_string()),
        }
    };
    or_given_up(state.work(work).await)
}

pub(super) fn sentences(complaints: &[Complaint]) -> String {
    let lines: Vec<String> = complaints
        .iter()
        .map(|c| format!("{}: {}", c.key, c.text))
        .collect();
    lines.join("\n")
}

/// Sends the browser to an address of the page.
pub(super) fn see(address: &Address) -> Response {
    let mut response = plain(StatusCode::SEE_OTHER, "");
    if let Ok(location) = HeaderValue::from_str(&format!("/?{}", address.query())) {
        response.headers_mut().insert(LOCATION, location);
    }
    response
}

pub(super) fn or_given_up<E: std::fmt::Display>(response: Result<Response, E>) -> Response {
    response.unwrap_or_else(|error| plain(StatusCode::SERVICE_UNAVAILABLE, &error.to_string()))
}

pub(super) fn plain(status: StatusCode, text: &str) -> Response {
    answer_of(status, TEXT, format!("{text}\n").into())
}

fn answer_of(status: StatusCode, media: &'static str, body: Body) -> Response {
    (status, [(CONTENT_TYPE, media)], body).into_response()
}
