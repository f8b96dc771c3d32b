//! Who may ask: this page in this machine's browser, and nobody who lets a browser ask for them.

use std::net::{IpAddr, SocketAddr};

use axum::http::header::{HOST, ORIGIN};
use axum::http::{HeaderMap, Method, StatusCode, Uri};

/// Where the page listens, and what a change of its state must carry.
#[derive(Debug, Clone)]
pub struct Guard {
    /// Where the page listens.
    pub bound: SocketAddr,
    /// Made anew for each process; the page carries it, and other pages can't read it.
    pub token: String,
}

/// Why a request is refused: a status and a sentence.
pub type Refusal = (StatusCode, &'static str);

impl Guard {
    /// Whether a request may be answered.
    ///
    /// The host must be this machine by number or as `localhost` (another name may be somebody's who made it point here); a browser
    /// must not tell that another page asks (`Origin`, and `Sec-Fetch-Site` of the Fetch standard's metadata), save where it follows a
    /// link to the page itself; and what changes something must carry the token.
    ///
    /// # Errors
    /// Why not.
    pub fn check(&self, method: &Method, uri: &Uri, headers: &HeaderMap) -> Result<(), Refusal> {
        let host = one(headers, HOST.as_str())
            .filter(|host| self.is_ours(host))
            .ok_or((
                StatusCode::MISDIRECTED_REQUEST,
                "This page is asked for by the address that the program printed, and by no other name.",
            ))?;
        const ELSEWHERE: Refusal = (
            StatusCode::FORBIDDEN,
            "Another site's page may not ask this one.",
        );
        if headers.contains_key(ORIGIN)
            && one(headers, ORIGIN.as_str()) != Some(&format!("http://{host}"))
        {
            return Err(ELSEWHERE);
        }
        if headers.contains_key("sec-fetch-site") {
            let from_here = matches!(one(headers, "sec-fetch-site"), Some("same-origin" | "none"));
            let follows_link = *method == Method::GET
                && uri.path() == "/"
                && one(headers, "sec-fetch-mode") == Some("navigate")
                && one(headers, "sec-fetch-dest") == Some("document");
            if !from_here && !follows_link {
                return Err(ELSEWHERE);
            }
        }
        match *method {
            Method::GET | Method::HEAD => Ok(()),
            Method::POST if self.has_token(uri) => Ok(()),
            Method::POST => Err((
                StatusCode::FORBIDDEN,
                "The page is from an earlier start of the program; load it anew.",
            )),
            _ => Err((
                StatusCode::METHOD_NOT_ALLOWED,
                "Only GET and POST are answered.",
            )),
        }
    }

    /// Whether a `Host` header names this machine.
    fn is_ours(&self, host: &str) -> bool {
        let Ok(authority) = host.parse::<axum::http::uri::Authority>() else {
            return false;
        };
        if host.contains('@') || authority.port_u16().unwrap_or(80) != self.bound.port() {
            return false;
        }
        let name = authority.host();
        let number = name
            .trim_start_matches('[')
            .trim_end_matches(']')
            .parse::<IpAddr>();
        match number {
            // Names can be made to point anywhere, numbers can't.
            Ok(number) => number.is_loopback() || !self.bound.ip().is_loopback(),
            Err(_) => name.eq_ignore_ascii_case("localhost"),
        }
    }

    fn has_token(&self, uri: &Uri) -> bool {
        let given = uri
            .query()
            .and_then(|query| query.strip_prefix("token="))
            .unwrap_or("");
        // As long whichever byte differs.
        let differing = given
            .bytes()
            .zip(self.token.bytes())
            .fold(0, |all, (a, b)| all | (a ^ b));
        given.len() == self.token.len() && differing == 0
    }
}

/// The value of a header that is there once.
fn one<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let mut values = headers.get_all(name).iter();
    match (values.next(), values.next()) {
        (Some(value), None) => value.to_str().ok(),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(bound: &str, method: &Method, path: &str, headers: &[(&'static str, &str)]) -> u16 {
        let guard = Guard {
            bound: bound.parse().unwrap(),
            token: "0123456789abcdef".to_owned(),
        };
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(*name, value.parse().unwrap());
        }
        match guard.check(method, &path.parse().unwrap(), &map) {
            Ok(()) => 200,
            Err((status, _)) => status.as_u16(),
        }
    }

    fn get(path: &str, headers: &[(&'static str, &str)]) -> u16 {
        check("127.0.0.1:4100", &Method::GET, path, headers)
    }

    #[test]
    fn only_this_machine_by_number_or_as_localhost_is_a_host() {
        for host in [
            "127.0.0.1:4100",
            "localhost:4100",
            "LOCALHOST:4100",
            "[::1]:4100",
        ] {
            assert_eq!(get("/", &[("host", host)]), 200, "{host}");
        }
        for host in [
            "example.org:4100",
            "127.0.0.1",
            "127.0.0.1:4101",
            "localhost.example.org:4100",
            "192.168.1.7:4100",
            "x@127.0.0.1:4100",
            "",
        ] {
            assert_eq!(get("/", &[("host", host)]), 421, "{host}");
        }
        assert_eq!(get("/", &[]), 421);
        assert_eq!(
            get(
                "/",
                &[("host", "127.0.0.1:4100"), ("host", "127.0.0.1:4100")]
            ),
            421
        );
    }

    #[test]
    fn elsewhere_a_number_is_a_host_and_a_name_still_is_none() {
        let ask = |host| check("0.0.0.0:4100", &Method::GET, "/", &[("host", host)]);
        assert_eq!(ask("192.168.1.7:4100"), 200);
        assert_eq!(ask("example.org:4100"), 421);
    }

    #[test]
    fn another_sites_page_may_link_to_the_page_and_ask_nothing() {
        let host = ("host", "127.0.0.1:4100");
        let cross = ("sec-fetch-site", "cross-site");
        let navigate = [
            ("sec-fetch-mode", "navigate"),
            ("sec-fetch-dest", "document"),
        ];
        assert_eq!(get("/?x=1", &[host, cross, navigate[0], navigate[1]]), 200);
        assert_eq!(get("/plan", &[host, cross, navigate[0], navigate[1]]), 403);
        assert_eq!(
            get(
                "/",
                &[host, cross, navigate[0], ("sec-fetch-dest", "iframe")]
            ),
            403
        );
        assert_eq!(get("/plan", &[host, ("sec-fetch-site", "same-site")]), 403);
        assert_eq!(
            get("/plan", &[host, ("sec-fetch-site", "same-origin")]),
            200
        );
        assert_eq!(get("/plan", &[host, ("origin", "http://example.org")]), 403);
        assert_eq!(get("/plan", &[host, ("origin", "null")]), 403);
        assert_eq!(
            get("/plan", &[host, ("origin", "http://127.0.0.1:4100")]),
            200
        );
    }

    #[test]
    fn a_change_needs_the_token() {
        let post = |path| {
            check(
                "127.0.0.1:4100",
                &Method::POST,
                path,
                &[("host", "127.0.0.1:4100")],
            )
        };
        assert_eq!(post("/routes?token=0123456789abcdef"), 200);
        for path in [
            "/routes",
            "/routes?token=",
            "/routes?token=0123456789abcdeg",
            "/routes?token=0123456789abcde",
            "/routes?token=0123456789abcdef0",
        ] {
            assert_eq!(post(path), 403, "{path}");
        }
        assert_eq!(
            check(
                "127.0.0.1:4100",
                &Method::DELETE,
                "/",
                &[("host", "127.0.0.1:4100")]
            ),
            405
        );
    }
}
