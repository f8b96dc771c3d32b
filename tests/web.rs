//! The local page as a browser, a careless script and somebody hostile ask for it, over loopback.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod page;
mod support;

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use page::Served;
use support::hillwright;

const DEMO_CLIMBS: &str = "The climbs";

#[test]
fn the_first_page_shows_the_demo_planned_with_its_cautions() {
    let served = Served::start(&[]);
    let page = served.get("/");
    assert_eq!(page.status, 200);
    for text in [
        "All 6 reps fit",
        DEMO_CLIMBS,
        "Stop at knee pain",
        "Take along:",
        "The gears",
    ] {
        assert!(page.text().contains(text), "{text}");
    }
    assert!(page.body.len() < 300_000, "{} bytes", page.body.len());
}

#[test]
fn nothing_runs_or_loads_but_what_the_page_itself_holds() {
    let served = Served::start(&[]);
    let page = served.get("/");
    let policy = page.header("content-security-policy");
    assert!(policy.contains("default-src 'none'"), "{policy}");
    assert!(policy.contains("script-src 'sha256-"), "{policy}");
    assert!(!policy.contains("unsafe"), "{policy}");
    assert_eq!(page.header("x-content-type-options"), "nosniff");
    assert_eq!(page.header("cache-control"), "no-store");
    // A style attribute or a handler within a tag would not run under the policy.
    assert!(!page.text().contains(" style="), "a style attribute");
    assert!(!page.text().contains(" onclick="), "a handler");
}

#[test]
fn a_control_that_moves_changes_the_plan() {
    let served = Served::start(&[]);
    let plan = served.get("/plan?1.reps=2&1.work=4:00&1.recovery.at_least=4:00&1.power.from=76&1.power.to=90&1.cadence_rpm.from=50&1.cadence_rpm.to=60");
    assert_eq!(plan.status, 200);
    assert!(
        plan.text().contains("All 2 reps fit"),
        "{}",
        &plan.text()[..600]
    );
}

#[test]
fn what_is_wrong_with_a_value_is_told_at_its_key() {
    let served = Served::start(&[]);
    let query = "rider.mass_kg=900&rider.threshold_w=abc&bike.chainrings=50+34&bike.sprockets=11+30&bike.tyre=28-622";
    let plan = served.get(&format!("/plan?{query}"));
    assert_eq!(plan.status, 422);
    let complaints: Vec<serde_json::Value> = serde_json::from_slice(&plan.body).unwrap();
    let at = |key: &str| {
        let found = complaints.iter().find(|c| c["key"] == key).unwrap();
        found["text"].as_str().unwrap().to_owned()
    };
    assert!(at("rider.mass_kg").contains("`900` is outside 25 to 250 kg"));
    assert!(at("rider.threshold_w").contains("abc"));
    let page = served.get(&format!("/?{query}"));
    assert_eq!(page.status, 422);
    assert!(page.text().contains("`900` is outside 25 to 250 kg"));
}

#[test]
fn a_wish_for_a_climb_that_is_not_there_is_told_at_the_wish() {
    let served = Served::start(&[]);
    for (query, key) in [
        ("keep=1%3D99", "keep"),
        ("avoid=99", "avoid"),
        ("keep=x", "keep"),
    ] {
        let plan = served.get(&format!("/plan?route=big-loop.gpx&{query}"));
        assert_eq!(plan.status, 422, "{query}");
        assert!(
            plan.text().contains(&format!("\"key\":\"{key}\"")),
            "{}",
            plan.text()
        );
    }
}

#[test]
fn a_wish_about_a_climb_needs_a_route() {
    let served = Served::start(&[]);
    for key in ["keep", "avoid"] {
        let wish = if key == "keep" { "3%3D7" } else { "2" };
        let plan = served.get(&format!("/plan?{key}={wish}"));
        assert_eq!(plan.status, 422, "{key}");
        assert!(plan.text().contains(&format!("\"key\":\"{key}\"")));
        assert!(plan.text().contains("choose a route first"));
    }
}

#[test]
fn a_wind_has_a_speed_and_comes_from_somewhere() {
    let served = Served::start(&[]);
    for (query, key) in [
        ("wind_kmh=20", "wind_from_deg"),
        ("wind_from_deg=90", "wind_kmh"),
    ] {
        let plan = served.get(&format!("/plan?{query}"));
        assert_eq!(plan.status, 422, "{query}");
        assert!(
            plan.text().contains(&format!("\"key\":\"{key}\"")),
            "{}",
            plan.text()
        );
    }
    for query in ["wind_kmh=0", "wind_kmh=20&wind_from_deg=270"] {
        assert_eq!(served.get(&format!("/plan?{query}")).status, 200, "{query}");
    }
}

#[test]
fn what_is_typed_is_never_markup() {
    let served = Served::start(&[]);
    let page =
        served.get("/?name=%3Cscript%3Ealert(1)%3C/script%3E&1.reps=%22%3E%3Cb%3E&warm_up=1:00");
    assert!(!page.text().contains("<script>alert"));
    assert!(!page.text().contains("\"><b>"));
}

#[test]
fn a_route_that_is_sent_is_planned_and_can_be_removed() {
    let served = Served::start(&[]);
    let file = std::fs::read("sample-routes/harbour-hill.gpx").unwrap();
    let sent = served.post_file("/routes", "mine.gpx", &file);
    assert_eq!(sent.status, 303, "{}", sent.text());
    let page = served.get(sent.header("location"));
    assert_eq!(page.text().matches("aria-label=\"Remove ").count(), 4);
    let number = page
        .text()
        .split("name=\"route\" value=\"")
        .filter_map(|part| part.split('"').next()?.parse::<u32>().ok())
        .max()
        .unwrap();
    let removed = served.post(
        "/remove",
        "multipart/form-data; boundary=x",
        format!(
            "--x\r\nContent-Disposition: form-data; name=\"route\"\r\n\r\n{number}\r\n--x--\r\n"
        )
        .as_bytes(),
    );
    assert_eq!(removed.status, 303);
    assert_eq!(
        served
            .get("/")
            .text()
            .matches("aria-label=\"Remove ")
            .count(),
        3
    );
}

#[test]
fn a_file_that_is_no_route_is_told_and_the_plan_kept() {
    let served = Served::start(&[]);
    for bytes in [
        &b"not a route"[..],
        b"<gpx><trk><trkseg></trkseg></trk></gpx>",
        &[0x1f, 0x8b, 8, 0, 0, 0, 0],
        &[0xff; 400],
    ] {
        let sent = served.post_file("/routes", "<b>bad\u{202e}.gpx", bytes);
        assert_eq!(sent.status, 422);
        assert!(
            sent.text().contains("&lt;b&gt;bad.gpx: "),
            "{}",
            sent.text()
        );
        assert!(sent.text().contains("All 6 reps fit"));
    }
}

#[test]
fn rider_and_set_files_are_taken_and_given_back() {
    let served = Served::start(&[]);
    let rider = std::fs::read("tests/support/heavy-rider.toml").unwrap();
    let sent = served.post_file("/rider", "heavy.toml", &rider);
    assert_eq!(sent.status, 303, "{}", sent.text());
    let query = sent.header("location").trim_start_matches("/?").to_owned();
    let given = served.get(&format!("/take/rider.toml?{query}"));
    let read = |bytes: &[u8]| {
        hillwright::prescription::parse_rider(&String::from_utf8_lossy(bytes)).unwrap()
    };
    let (given, sent_rider) = (read(&given.body), read(&rider));
    assert_eq!(
        (given.rider, given.bike),
        (sent_rider.rider, sent_rider.bike)
    );
    let wrong = served.post_file("/set", "x.toml", b"[[block]]\nreps = 0\n");
    assert_eq!(wrong.status, 422);
    assert!(wrong.text().contains("x.toml: line 2"), "{}", wrong.text());
}

#[test]
fn every_file_to_take_along_is_given() {
    let served = Served::start(&[]);
    let page = served.get("/");
    let links: Vec<&str> = page
        .text()
        .split("href=\"/take/")
        .skip(1)
        .map(|part| part.split('"').next().unwrap())
        .collect();
    assert!(links.len() >= 6, "{links:?}");
    for link in links {
        let file = served.get(&format!("/take/{}", link.replace("&amp;", "&")));
        assert_eq!(file.status, 200, "{link}");
        assert!(file.header("content-disposition").starts_with("attachment"));
        assert!(!file.body.is_empty());
    }
    let json: serde_json::Value =
        serde_json::from_slice(&served.get("/take/plan.json").body).unwrap();
    assert_eq!(json["schema"], "hillwright.plan/1");
    assert_eq!(json["routes"][0]["reps"].as_array().unwrap().len(), 6);
}

#[test]
fn the_page_and_the_program_say_the_same() {
    let served = Served::start(&[]);
    let by_page: serde_json::Value =
        serde_json::from_slice(&served.get("/take/plan.json?route=big-loop.gpx").body).unwrap();
    let run = hillwright()
        .args([
            "plan",
            "sample-routes/big-loop.gpx",
            "--rider",
            "sample-routes/rider.toml",
            "--set",
            "sample-routes/six-by-four.toml",
            "--format",
            "json",
        ])
        .assert()
        .success();
    let by_program: serde_json::Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    assert_eq!(
        by_page["routes"][0]["reps"],
        by_program["routes"][0]["reps"]
    );
    assert_eq!(by_page["cautions"], by_program["cautions"]);
}

#[test]
fn in_a_folder_riders_and_sets_are_offered_and_saved() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["harbour-hill.gpx", "rider.toml", "four-by-six.toml"] {
        std::fs::copy(format!("sample-routes/{name}"), folder.path().join(name)).unwrap();
    }
    let served = Served::start(&[&folder.path().display().to_string()]);
    let page = served.get("/");
    assert!(page.text().contains(">four-by-six.toml</a>"));
    let form = "--x\r\nContent-Disposition: form-data; name=\"what\"\r\n\r\nrider\r\n--x\r\nContent-Disposition: form-data; name=\"name\"\r\n\r\nanna.toml\r\n--x--\r\n";
    let saved = served.post("/save", "multipart/form-data; boundary=x", form.as_bytes());
    assert_eq!(saved.status, 303, "{}", saved.text());
    assert!(folder.path().join("anna.toml").exists());
    let outside = form.replace("anna.toml", "../anna.toml");
    assert_eq!(
        served
            .post(
                "/save",
                "multipart/form-data; boundary=x",
                outside.as_bytes()
            )
            .status,
        422
    );
    assert!(!folder.path().parent().unwrap().join("anna.toml").exists());
}

#[test]
fn other_sites_and_other_names_are_refused() {
    let served = Served::start(&[]);
    let ask = |head: &str| {
        served.raw(format!("GET / HTTP/1.1\r\nConnection: close\r\n{head}\r\n").as_bytes())
    };
    let host = format!("Host: {}\r\n", served.at);
    assert_eq!(ask(&host).status, 200);
    assert_eq!(ask("Host: example.org\r\n").status, 421);
    assert_eq!(ask("").status, 421);
    assert_eq!(
        ask(&format!("{host}Origin: https://example.org\r\n")).status,
        403
    );
    assert_eq!(
        ask(&format!(
            "{host}Sec-Fetch-Site: cross-site\r\nSec-Fetch-Mode: no-cors\r\n"
        ))
        .status,
        403
    );
    let post = served.raw(
        format!("POST /routes HTTP/1.1\r\n{host}Content-Length: 0\r\nConnection: close\r\n\r\n")
            .as_bytes(),
    );
    assert_eq!(post.status, 403);
    let put = served.raw(
        format!("PUT / HTTP/1.1\r\n{host}Content-Length: 0\r\nConnection: close\r\n\r\n")
            .as_bytes(),
    );
    assert_eq!(put.status, 405);
}

#[test]
fn what_is_too_large_or_no_http_is_refused_and_the_page_goes_on() {
    let served = Served::start(&[]);
    let host = format!("Host: {}\r\n", served.at);
    let long = "x".repeat(20_000);
    assert_eq!(served.get(&format!("/?a={long}")).status, 414);
    let huge = "x".repeat(200_000);
    let answer = served.raw(format!("GET /?a={huge} HTTP/1.1\r\n{host}\r\n").as_bytes());
    assert!([0, 414, 431].contains(&answer.status), "{}", answer.status);
    let body = format!(
        "POST /routes?token={} HTTP/1.1\r\n{host}Content-Type: multipart/form-data; boundary=x\r\nContent-Length: 999999999999\r\nConnection: close\r\n\r\n--x\r\n",
        served.token
    );
    let answer = served.raw(body.as_bytes());
    assert!([400, 413].contains(&answer.status), "{}", answer.status);
    for bytes in [
        &b"\0\0\0\0\r\n\r\n"[..],
        b"GET / HTTP/9.9\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00",
        b"GET\r\n\r\n",
        &[0xff; 9000],
    ] {
        let answer = served.raw(bytes);
        assert!(
            [0, 400, 414, 421, 431, 505].contains(&answer.status),
            "{}",
            answer.status
        );
    }
    for path in [
        "/nothing",
        "/relief/x.png",
        "/relief/99999.png",
        "/take/x",
        "/take/..%2f..%2fCargo.toml",
        "//",
        "/%00",
    ] {
        assert_eq!(served.get(path).status, 404, "{path}");
    }
    assert_eq!(served.get("/").status, 200);
}

#[test]
fn who_says_nothing_and_who_says_it_slowly_hold_up_nobody() {
    let served = Served::start(&[]);
    let mut silent: Vec<TcpStream> = (0..60)
        .map(|_| TcpStream::connect(&served.at).unwrap())
        .collect();
    for (i, stream) in silent.iter_mut().enumerate() {
        if i % 2 == 0 {
            stream.write_all(b"GET / HTTP/1.1\r\nHost: ").unwrap();
        }
    }
    assert_eq!(served.get("/").status, 200);
    // The silent ones are let go; what a test can wait for is a bound, not a speed.
    let before = Instant::now();
    let mut rest = Vec::new();
    silent[0]
        .set_read_timeout(Some(Duration::from_secs(60)))
        .unwrap();
    let _ = silent[0].read_to_end(&mut rest);
    assert!(before.elapsed() < Duration::from_secs(59));
}

#[test]
fn a_port_that_is_taken_and_a_network_that_is_open_are_told() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let run = hillwright()
        .args(["serve", "--no-open", "--port", &port])
        .assert()
        .code(4);
    let told = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(told.contains("is taken by another program"), "{told}");
    let run = hillwright()
        .args(["serve", "--no-open", "--host", "0.0.0.0"])
        .assert()
        .code(2);
    let told = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(told.contains("--allow-remote"), "{told}");
}

#[cfg(unix)]
#[test]
fn ctrl_c_stops_it_cleanly() {
    let mut served = Served::start(&[]);
    assert_eq!(served.get("/").status, 200);
    assert_eq!(served.interrupt().code(), Some(0));
}
