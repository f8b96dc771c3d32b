//! Files to look at and to ride with, as a user gets them.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use std::fmt::Write as _;
use std::path::Path;

use serde_json::Value;
use support::hillwright;

const DEMO: [&str; 6] = [
    "plan",
    "sample-routes/big-loop.gpx",
    "--rider",
    "sample-routes/rider.toml",
    "--set",
    "sample-routes/six-by-four.toml",
];
const FORMS: [&str; 7] = ["html", "gpx", "geojson", "kml", "csv", "svg", "json"];

/// Writes a command's answer in every form to a folder, and returns what was printed.
fn write_all(command: &[&str], folder: &Path) -> String {
    let mut run = hillwright();
    run.args(command);
    for form in FORMS {
        run.arg("-o").arg(folder.join(format!("answer.{form}")));
    }
    let output = run.assert().success().get_output().stdout.clone();
    String::from_utf8(output).unwrap()
}

fn read(folder: &Path, form: &str) -> String {
    std::fs::read_to_string(folder.join(format!("answer.{form}"))).unwrap()
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn climbs_of(file: &Path) -> Vec<Value> {
    let output = hillwright()
        .args(["climbs", "--format", "json"])
        .arg(file)
        .assert()
        .success()
        .get_output()
        .stdout
        .clone();
    let document: Value = serde_json::from_slice(&output).unwrap();
    let routes = document["routes"].as_array().unwrap();
    assert_eq!(routes.len(), 1, "{}", file.display());
    routes[0]["climbs"].as_array().unwrap().clone()
}

#[test]
fn a_plan_is_written_in_every_form_at_once_and_each_carries_the_cautions() {
    let folder = tempfile::tempdir().unwrap();
    let text = write_all(&DEMO, folder.path());
    assert!(text.contains("Stop at knee pain"));
    for form in FORMS {
        let file = read(folder.path(), form);
        assert!(file.contains("Stop at knee pain"), "{form}");
    }
}

#[test]
fn a_sheet_tells_first_where_each_rep_starts_and_in_which_gear() {
    let folder = tempfile::tempdir().unwrap();
    write_all(&DEMO, folder.path());
    let (page, plan) = (
        read(folder.path(), "html"),
        json(&read(folder.path(), "json")),
    );
    assert!(page.len() < 400_000, "{} bytes", page.len());
    let table = &page[page.find("<table class=\"reps\"").unwrap()..];
    let mut from = 0;
    for rep in plan["routes"][0]["reps"].as_array().unwrap() {
        let start = format!(
            "{:.2}",
            rep["start"]["distance_m"].as_f64().unwrap() / 1000.0
        );
        let gear = format!("{}×{}", rep["gear"]["chainring"], rep["gear"]["sprocket"]);
        for told in [start, gear] {
            from += table[from..]
                .find(&told)
                .unwrap_or_else(|| panic!("{told}"));
        }
    }
    assert!(
        page.find("class=\"reps\"") < page.find("<svg"),
        "the table comes first"
    );
    assert!(!page.contains(" style=") && !page.contains(" onclick"));
}

#[test]
fn a_route_read_back_from_its_files_has_the_same_climbs() {
    let folder = tempfile::tempdir().unwrap();
    for route in ["big-loop", "harbour-hill"] {
        let source = support::sample(&format!("{route}.gpx"));
        let command = ["climbs", source.to_str().unwrap()];
        write_all(&command, folder.path());
        let given = climbs_of(&source);
        // The loop's receiver strays, which only times tell, and KML lines have none.
        let timeless: &[&str] = if route == "big-loop" { &[] } else { &["kml"] };
        for form in ["gpx", "geojson"].iter().chain(timeless) {
            let back = climbs_of(&folder.path().join(format!("answer.{form}")));
            assert_eq!(back.len(), given.len(), "{route}.{form}");
            for (a, b) in back.iter().zip(&given) {
                // What cleaning dropped the first time is not there the second time, so that places move by a few metres.
                for end in ["start", "end"] {
                    let place = |climb: &Value| climb[end]["distance_m"].as_f64().unwrap();
                    assert!(
                        (place(a) - place(b)).abs() <= 30.0,
                        "{route}.{form}: {a} {b}"
                    );
                }
                let grade = |climb: &Value| climb["grade_pct"].as_f64().unwrap();
                assert!(
                    (grade(a) - grade(b)).abs() <= 0.1,
                    "{route}.{form}: {a} {b}"
                );
            }
        }
    }
}

#[test]
fn a_waypoint_says_all_on_a_small_screen() {
    let folder = tempfile::tempdir().unwrap();
    write_all(&DEMO, folder.path());
    let plan = json(&read(folder.path(), "json"));
    let file = gpx::read(read(folder.path(), "gpx").as_bytes()).unwrap();
    let reps = plan["routes"][0]["reps"].as_array().unwrap();
    assert_eq!(file.tracks.len(), 1);
    assert_eq!(file.waypoints.len(), 2 * reps.len());
    for (pair, rep) in file.waypoints.chunks(2).zip(reps) {
        let expected = format!(
            "Rep {} START {}x{} {:.0}rpm",
            rep["rep"],
            rep["gear"]["chainring"],
            rep["gear"]["sprocket"],
            rep["aim_rpm"].as_f64().unwrap()
        );
        assert_eq!(pair[0].name.as_deref(), Some(expected.as_str()));
        assert!(pair[1].name.as_deref().unwrap().contains("STOP 4:00"));
        let place = pair[0].point();
        assert_eq!(place.y(), rep["start"]["lat"].as_f64().unwrap());
        assert_eq!(place.x(), rep["start"]["lon"].as_f64().unwrap());
    }
}

/// A hill of a kilometre at 6 % between level roads, with a name that means harm.
fn hostile(folder: &Path) -> std::path::PathBuf {
    let mut points = String::new();
    for k in 0..=300 {
        let metres = 10.0 * f64::from(k);
        let rise = (metres - 1000.0).clamp(0.0, 1000.0) * 0.06;
        let lat = 45.0 + metres / 111_132.0;
        write!(
            points,
            r#"<trkpt lat="{lat:.7}" lon="7"><ele>{rise:.2}</ele></trkpt>"#
        )
        .unwrap();
    }
    let file = folder.join("=cmd <b>&quot.gpx");
    let name = "=1+1&lt;script&gt;alert(1)&lt;/script&gt;&quot;&#x202e;]]&gt;'";
    let text = format!(
        r#"<gpx version="1.1" creator="x"><trk><name>{name}</name><trkseg>{points}</trkseg></trk></gpx>"#
    );
    std::fs::write(&file, text).unwrap();
    file
}

#[test]
fn a_strangers_name_does_no_harm_in_any_form() {
    let folder = tempfile::tempdir().unwrap();
    let file = hostile(folder.path());
    let printed = write_all(&["climbs", file.to_str().unwrap()], folder.path());
    assert!(!printed.contains('\u{202e}'));
    for form in ["html", "svg", "kml", "gpx"] {
        let text = read(folder.path(), form);
        assert!(
            !text.contains("<script>alert") && !text.contains("<b>"),
            "{form}"
        );
        assert!(!text.contains('\u{202e}'), "{form}");
        assert!(text.contains("&lt;script&gt;alert"), "{form}");
    }
    for row in read(folder.path(), "csv").lines().skip(1) {
        assert!(row.contains("'=1+1"), "{row}");
    }
    json(&read(folder.path(), "geojson"));
}

#[test]
fn a_sheet_of_200_km_is_under_a_megabyte() {
    let folder = tempfile::tempdir().unwrap();
    let mut places = Vec::new();
    for k in 0..20_000 {
        let along = f64::from(k) / 111.32;
        let lat = 45.0 + 0.3 * (along / 40.0).sin() + 0.002 * (along * 1.3).sin();
        let z = 300.0 + 120.0 * (along / 7.0).sin() + 3.0 * (along * 2.0).sin();
        places.push(format!("[{:.6},{lat:.6},{z:.1}]", 7.0 + 0.01 * along));
    }
    let text = format!(
        r#"{{"type":"LineString","coordinates":[{}]}}"#,
        places.join(",")
    );
    let file = folder.path().join("long.geojson");
    std::fs::write(&file, text).unwrap();
    let page = folder.path().join("long.html");
    let run = hillwright()
        .args(&DEMO[..1])
        .arg(&file)
        .args(&DEMO[2..])
        .arg("-o")
        .arg(&page)
        .output()
        .unwrap();
    assert!(run.status.code().unwrap() <= 1, "{run:?}");
    let length = std::fs::metadata(page).unwrap().len();
    assert!(length < 1_000_000, "{length} bytes");
}

#[test]
fn a_route_that_carries_nothing_still_has_a_sheet_that_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("flat.html");
    hillwright()
        .args(["plan", "sample-routes/lagoon-flat.gpx"])
        .args(&DEMO[2..])
        .arg("-o")
        .arg(&page)
        .assert()
        .code(1);
    let text = std::fs::read_to_string(page).unwrap();
    assert!(text.contains("None of the 6 reps fits this road"), "{text}");
    assert!(text.contains("Stop at knee pain") && text.contains("The same set on a trainer"));
}

#[test]
fn the_card_tells_one_thing_at_a_time() {
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("card.html");
    let plan = hillwright().args(DEMO).args(["--format", "json"]).output();
    let plan: Value = serde_json::from_slice(&plan.unwrap().stdout).unwrap();
    let rep = &plan["routes"][0]["reps"][2];
    let metres = |value: &Value| value["distance_m"].as_f64().unwrap();
    // 15 s before the start at the speed of arrival.
    let before = metres(&rep["start"]) - 15.0 * rep["entry_speed_kmh"].as_f64().unwrap() / 3.6;
    let gear = format!("{}×{}", rep["gear"]["chainring"], rep["gear"]["sprocket"]);
    let output = hillwright()
        .args(DEMO)
        .arg("--card")
        .arg("-o")
        .arg(&page)
        .assert()
        .success()
        .get_output()
        .stdout
        .clone();
    let text = String::from_utf8(output).unwrap();
    let html = std::fs::read_to_string(page).unwrap();
    for told in [
        format!("km {:.2}: shift to {gear}", before / 1000.0),
        format!("km {:.2}", metres(&rep["start"]) / 1000.0),
        format!(
            "the clock stops it: 4:00, near km {:.2}",
            metres(&rep["end"]) / 1000.0
        ),
        "Rising to 60 rpm: one sprocket smaller; falling to 50: one larger".to_owned(),
        "20:00 easy first".to_owned(),
        format!(
            "missed it: next start km {:.2}",
            metres(&plan["routes"][0]["reps"][3]["start"]) / 1000.0
        ),
        "knees fine: go on".to_owned(),
        "not fine: ride home easy".to_owned(),
    ] {
        assert!(text.contains(&told), "{told}\n{text}");
        assert!(html.contains(&told), "{told}");
    }
    assert_eq!(text.matches("one sprocket smaller").count(), 1, "{text}");
}

#[test]
fn where_the_power_is_held_neither_card_nor_table_says_when_to_shift() {
    let told = |pacing: &str, flags: &[&str]| {
        let mut plan = hillwright();
        let plan = plan.args(DEMO).args(["--pacing", pacing]).args(flags);
        let text = plan.assert().success().get_output().stdout.clone();
        let text = String::from_utf8(text).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for (pacing, says) in [("cadence", true), ("power", false)] {
        let card = told(pacing, &["--card"]);
        assert_eq!(card.contains("one sprocket smaller"), says, "{card}");
        let table = told(pacing, &[]);
        assert_eq!(table.contains("smaller if the road eases"), says, "{table}");
    }
}

#[test]
fn text_fits_80_columns_and_is_ascii_where_that_is_asked() {
    for (flag, locale) in [(true, "C.UTF-8"), (false, "C")] {
        for command in [&DEMO[..], &["climbs", "sample-routes/big-loop.gpx"]] {
            let mut run = hillwright();
            run.args(command).env("COLUMNS", "80").env("LC_ALL", locale);
            if flag {
                run.arg("--ascii");
            }
            let text = String::from_utf8(run.output().unwrap().stdout).unwrap();
            assert!(text.is_ascii(), "{text}");
            assert!(text.contains('#'), "the profile: {text}");
            for line in text.lines() {
                assert!(line.len() <= 80, "{line}");
            }
        }
    }
}

#[test]
fn an_ending_that_is_not_known_is_refused_before_any_work_with_those_that_are() {
    let folder = tempfile::tempdir().unwrap();
    let good = folder.path().join("plan.html");
    let run = hillwright()
        .args(DEMO)
        .arg("-o")
        .arg(&good)
        .args(["-o", "plan.docx"])
        .assert()
        .code(2);
    let told = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(
        told.contains(".json, .html, .gpx, .geojson, .kml, .csv, .svg"),
        "{told}"
    );
    assert!(!good.exists());
    let run = hillwright()
        .args([
            "gears",
            "--rider",
            "sample-routes/rider.toml",
            "--power",
            "190..225",
        ])
        .args(["--cadence", "50..60", "--format", "geojson"])
        .assert()
        .code(2);
    let told = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(told.contains("prints text, json"), "{told}");
}

#[test]
fn csv_and_geojson_can_be_printed() {
    for (format, begins) in [("csv", "source,route,rep,"), ("geojson", "{\"bbox\":[")] {
        let output = hillwright().args(DEMO).args(["--format", format]).output();
        let text = String::from_utf8(output.unwrap().stdout).unwrap();
        assert!(text.starts_with(begins), "{text}");
    }
}
