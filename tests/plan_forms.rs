//! What every form of a plan tells a rider: recoveries, times, power, places after turning round.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use std::path::Path;

use serde_json::Value;
use support::hillwright;

const BIG_LOOP: &str = "sample-routes/big-loop.gpx";
const HARBOUR_HILL: &str = "sample-routes/harbour-hill.gpx";
const RIDER: &str = "--rider sample-routes/rider.toml";
const SET: &str = "--set sample-routes/six-by-four.toml";
const FORMS: [&str; 5] = ["html", "gpx", "kml", "csv", "json"];

/// What is printed, with every form beside it in a folder, on paper so wide.
fn told(folder: &Path, columns: &str, arguments: &str) -> String {
    let mut run = hillwright();
    run.arg("plan").env("COLUMNS", columns);
    run.args(arguments.split_whitespace());
    for form in FORMS {
        run.arg("-o").arg(folder.join(format!("plan.{form}")));
    }
    String::from_utf8(run.output().unwrap().stdout).unwrap()
}

fn read(folder: &Path, form: &str) -> String {
    std::fs::read_to_string(folder.join(format!("plan.{form}"))).unwrap()
}

fn json(folder: &Path) -> Value {
    serde_json::from_str(&read(folder, "json")).unwrap()
}

/// With single spaces, as if no line were broken.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn minutes(seconds: f64) -> String {
    let whole = (seconds / 60.0).round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

fn seconds(seconds: f64) -> String {
    format!("{}:{:02}", seconds as u64 / 60, seconds as u64 % 60)
}

#[test]
fn recoveries_longer_than_asked_are_counted_and_marked_in_every_form() {
    let folder = tempfile::tempdir().unwrap();
    let text = told(folder.path(), "80", &format!("{BIG_LOOP} {RIDER} {SET}"));
    let card = told(
        tempfile::tempdir().unwrap().path(),
        "80",
        &format!("{BIG_LOOP} {RIDER} {SET} --card"),
    );
    let plan = json(folder.path());
    let rests = plan["routes"][0]["reps"].as_array().unwrap().iter();
    let rests: Vec<f64> = rests
        .filter_map(|r| r["recovery_after_s"].as_f64())
        .collect();
    // The set asks for nine minutes at most.
    let long: Vec<f64> = rests.iter().copied().filter(|s| *s > 540.0).collect();
    assert!(!long.is_empty(), "{plan}");
    let most = seconds(long.iter().copied().fold(0.0, f64::max));
    let are = if long.len() == 1 { "is" } else { "are" };
    let verdict = format!(
        "All 6 reps fit; {} of 5 recoveries {are} longer than asked: up to {most}, asked for at most 9:00.",
        long.len()
    );
    for form in [
        &text,
        &read(folder.path(), "html"),
        &read(folder.path(), "gpx"),
    ] {
        assert!(one_line(form).contains(&verdict), "{verdict}\n{form}");
    }
    for rest in &rests {
        let marked = format!("{}*", seconds(*rest));
        for form in [&text, &card, &read(folder.path(), "html")] {
            assert_eq!(form.contains(&marked), *rest > 540.0, "{marked}\n{form}");
        }
    }
    assert!(
        one_line(&text).contains("*: longer than asked (at most 9:00)"),
        "{text}"
    );
    assert!(card.contains("* longer than asked: at most 9:00"), "{card}");
    let gpx = read(folder.path(), "gpx");
    assert_eq!(
        gpx.matches("longer than the 9:00 asked for").count(),
        long.len()
    );
    let csv = read(folder.path(), "csv");
    assert_eq!(
        csv.matches("longer than the 9:00 asked for").count(),
        long.len()
    );
}

#[test]
fn riding_times_and_the_way_home_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let text = told(folder.path(), "120", &format!("{BIG_LOOP} {RIDER} {SET}"));
    let card = told(
        tempfile::tempdir().unwrap().path(),
        "120",
        &format!("{BIG_LOOP} {RIDER} {SET} --card"),
    );
    let plan = json(folder.path());
    let route = &plan["routes"][0];
    let reps = route["reps"].as_array().unwrap();
    let html = read(folder.path(), "html");
    for rep in reps {
        let at = minutes(rep["start_time_s"].as_f64().unwrap());
        assert!(text.contains(&format!("  {at}  ")), "{at}\n{text}");
        assert!(card.contains(&format!("at {at} h")), "{at}\n{card}");
        assert!(html.contains(&format!("at {at} h")), "{at}");
    }
    let last = &reps[5];
    let number = |value: &Value| value.as_f64().unwrap();
    let ends_m = number(&last["end"]["distance_m"]);
    let told = format!(
        "The reps end after {} h of riding, at km {:.2}; then {:.2} km to the end.",
        minutes(number(&last["start_time_s"]) + number(&last["duration_s"])),
        ends_m / 1000.0,
        (number(&route["length_m"]) - ends_m) / 1000.0
    );
    for form in [&text, &html] {
        assert!(one_line(form).contains(&told), "{told}\n{form}");
    }
}

#[test]
fn power_and_the_torque_of_a_torque_set_are_told_where_there_is_little_room() {
    let folder = tempfile::tempdir().unwrap();
    let set = "--reps 3 --work 4:00 --rest 4:00 --power 190..225 --torque 32..45";
    let arguments = format!("{BIG_LOOP} {RIDER} {set} --units metric");
    let text = told(folder.path(), "80", &arguments);
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    let card = told(
        tempfile::tempdir().unwrap().path(),
        "80",
        &format!("{arguments} --card"),
    );
    let plan = json(folder.path());
    let html = read(folder.path(), "html");
    for rep in plan["routes"][0]["reps"].as_array().unwrap() {
        let whole = |value: &Value| format!("{:.0}", value.as_f64().unwrap());
        let range = &rep["power_range_w"];
        let (low, high) = (whole(&range["low"]), whole(&range["high"]));
        let torque = whole(&rep["torque_nm"]);
        let row = text
            .lines()
            .find(|l| l.trim_start().starts_with(&format!("{} ", rep["rep"])))
            .unwrap();
        assert!(
            one_line(row).contains(&format!("({low}–{high}) {torque} ")),
            "{row}"
        );
        assert!(
            card.contains(&format!("{low}–{high} W, {torque} N·m")),
            "{card}"
        );
        let less = format!(
            "<small class=\"less\">{low}–{high} W</small><small class=\"less\">{torque} N·m</small>"
        );
        assert!(html.contains(&less), "{less}");
    }
}

#[test]
fn what_was_asked_and_the_air_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = format!("{BIG_LOOP} {RIDER} {SET} --wind 30 --wind-from 270");
    let text = one_line(&told(folder.path(), "80", &arguments));
    let html = read(folder.path(), "html");
    // Six tenths of 30 km/h.
    let air =
        "Air: 30 km/h from W (270 degrees), about 18 km/h on the road (0.6 of it, in the open).";
    let asked = "Asked for: 6 × 4:00 at 50–60 rpm (aim 55), 190–225 W (aim 208), 4:00 to 9:00 easy after each; \
                 20:00 of riding before the first.";
    for form in [&text, &html] {
        assert!(form.contains(air), "{form}");
        assert!(form.contains(asked), "{form}");
    }
    let weather = json(folder.path())["asked"]["weather"].clone();
    assert_eq!(weather["wind_kmh"], 30.0);
    assert_eq!(weather["road_wind_kmh"], 18.0);
    assert_eq!(weather["temperature_c"], Value::Null);
}

#[test]
fn after_turning_round_starts_are_told_from_the_foot_of_the_climb_and_once() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = format!("{HARBOUR_HILL} {RIDER} {SET} --turn-round");
    let text = one_line(&told(folder.path(), "80", &arguments));
    let card = told(
        tempfile::tempdir().unwrap().path(),
        "80",
        &format!("{arguments} --card"),
    );
    let plan = json(folder.path());
    let route = &plan["routes"][0];
    let number = |value: &Value| value.as_f64().unwrap();
    let rep = &route["reps"][1];
    let climb = &route["climbs"][0];
    let from_foot = |name: &str| number(&rep["start"][name]) - number(&climb["start"][name]);
    let place = format!(
        "{:.0} m up climb 1 ({:.0} m above its foot)",
        from_foot("distance_m"),
        from_foot("elevation_m")
    );
    assert!(
        text.contains(&format!("reps 2–6 start {place}")),
        "{place}\n{text}"
    );
    assert!(
        one_line(&card).contains(&format!("START {place}")),
        "{place}\n{card}"
    );
    assert!(read(folder.path(), "html").contains(&place));
    assert!(card.contains("20:00 easy first"), "{card}");
    assert!(!card.contains("missed it: next start"), "{card}");
    let gpx = gpx::read(read(folder.path(), "gpx").as_bytes()).unwrap();
    let starts: Vec<_> = gpx
        .waypoints
        .iter()
        .filter(|w| w.name.as_deref().unwrap().contains("START"))
        .collect();
    assert_eq!(starts.len(), 2);
    assert!(
        starts[1]
            .name
            .as_deref()
            .unwrap()
            .starts_with("Reps 2-6 START")
    );
    assert!(starts[1].description.as_deref().unwrap().contains(&place));
}

#[test]
fn where_only_turning_round_fits_every_form_offers_it() {
    let folder = tempfile::tempdir().unwrap();
    let arguments = format!("{HARBOUR_HILL} {RIDER} {SET}");
    let text = told(folder.path(), "80", &arguments);
    let card = told(
        tempfile::tempdir().unwrap().path(),
        "80",
        &format!("{arguments} --card"),
    );
    assert!(!text.contains("Climbs not used"), "{text}");
    let html = read(folder.path(), "html");
    let forms = ["gpx", "kml", "csv"].map(|form| read(folder.path(), form));
    for form in forms.iter().chain([&text, &card, &html]) {
        let form = one_line(form);
        assert!(
            form.contains("urning round on climb 1, all 6 reps fit"),
            "{form}"
        );
        assert!(form.contains("add --turn-round"), "{form}");
    }
    for form in [&text, &html] {
        let form = one_line(form);
        assert!(
            form.contains("Before rep 1: ride easy to and fro"),
            "{form}"
        );
        assert!(
            form.contains("After reps 1–5: turn round, roll back down"),
            "{form}"
        );
    }
    assert_eq!(json(folder.path())["routes"][0]["turning_round"]["laps"], 1);
}

#[test]
fn the_plan_that_turns_round_says_how_often_the_route_is_ridden() {
    let folder = tempfile::tempdir().unwrap();
    let set = "--reps 12 --work 4:00 --rest 4:00..9:00 --power 190..225 --cadence 50..60 --laps 2";
    told(
        folder.path(),
        "80",
        &format!("{HARBOUR_HILL} {RIDER} {set}"),
    );
    let route = json(folder.path())["routes"][0].clone();
    let turning = &route["turning_round"];
    let rounds = |plan: &Value| {
        let reps = plan["reps"].as_array().unwrap().iter();
        reps.map(|rep| rep["lap"].as_u64().unwrap()).max()
    };
    assert_eq!(route["laps"].as_u64(), rounds(&route), "{route}");
    assert_eq!(turning["laps"].as_u64(), rounds(turning), "{turning}");
    assert_ne!(route["laps"], turning["laps"]);
}

#[test]
fn the_set_for_a_trainer_alone_is_called_so_and_begins_easy() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("plan.html");
    let run = hillwright()
        .args(format!("plan --indoors {RIDER} {SET}").split_whitespace())
        .arg("-o")
        .arg(&page)
        .output()
        .unwrap();
    let text = String::from_utf8(run.stdout).unwrap();
    let html = std::fs::read_to_string(&page).unwrap();
    for form in [&text, &html] {
        assert!(form.contains("The set on a trainer"), "{form}");
        assert!(form.contains("20:00 easy first, then:"), "{form}");
    }
    assert!(!html.contains("<pre"), "{html}");
}

#[test]
fn what_is_wrong_with_several_routes_of_a_file_is_told_once() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("flat.gpx");
    let track = |name: &str, lat: f64| {
        format!(
            r#"<trk><name>{name}</name><trkseg><trkpt lat="{lat}" lon="7"/><trkpt lat="{}" lon="7"/></trkseg></trk>"#,
            lat + 0.01
        )
    };
    let tracks = track("first", 45.0) + &track("second", 45.5);
    let text = format!(r#"<gpx version="1.1" creator="x">{tracks}</gpx>"#);
    std::fs::write(&file, text).unwrap();
    let run = hillwright()
        .arg("plan")
        .arg(&file)
        .args(format!("{RIDER} {SET} --elevation recorded").split_whitespace())
        .assert()
        .code(3);
    let told = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(told.contains("first, second: "), "{told}");
    assert_eq!(told.matches("no elevations").count(), 1, "{told}");
}

#[test]
fn bands_of_flags_that_do_not_go_together_are_a_mistake_of_the_command_line() {
    for power in ["190..225", "76%..90%"] {
        let block = "--reps 3 --work 4:00 --rest 4:00 --torque 300..400 --power";
        hillwright()
            .args(format!("plan {HARBOUR_HILL} {RIDER} {block} {power}").split_whitespace())
            .assert()
            .code(2);
    }
}
