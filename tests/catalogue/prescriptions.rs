//! Rider and set files that are broken or hostile.

use crate::case::{Case, case, check_all};
use crate::hill;
use std::process::Command;

fn example(of: &str) -> String {
    let program = assert_cmd::cargo::cargo_bin!("hillwright");
    let run = Command::new(program)
        .args(["example", of])
        .output()
        .unwrap();
    String::from_utf8(run.stdout).unwrap()
}

fn plan(name: &str, rider: impl Into<Vec<u8>>, set: impl Into<Vec<u8>>) -> Case {
    case(name)
        .route(hill::whole())
        .file("rider.toml", rider)
        .file("set.toml", set)
        .types("plan a.gpx --rider rider.toml --set set.toml")
}

fn rider(name: &str, change: impl Fn(String) -> String) -> Case {
    plan(name, change(example("rider")), example("set"))
}

fn set(name: &str, change: impl Fn(String) -> String) -> Case {
    plan(name, example("rider"), change(example("set")))
}

fn swap(text: String, key: &str, value: &str) -> String {
    let line = text
        .lines()
        .find(|l| l.starts_with(&format!("{key} =")))
        .unwrap()
        .to_owned();
    text.replacen(&line, &format!("{key} = {value}"), 1)
}

#[test]
fn rider_files_are_used_or_told_by_line() {
    check_all(vec![
        rider("cut in a string", |t| {
            t[..t.find("28-622").unwrap() + 2].to_owned()
        })
        .refused("rider.toml"),
        rider("empty", |_| String::new()).refused("mass_kg"),
        rider("no mass", |t| swap(t, "mass_kg", "nan")).refused("mass_kg"),
        rider("infinite mass", |t| swap(t, "mass_kg", "inf")).refused("mass_kg"),
        rider("negative mass", |t| swap(t, "mass_kg", "-70")).refused("mass_kg"),
        rider("a rider of 400 kg", |t| swap(t, "mass_kg", "400.0")).refused("mass_kg"),
        rider("a number beyond numbers", |t| {
            swap(t, "mass_kg", "99999999999999999999999")
        })
        .refused("rider.toml"),
        rider("a mass in words", |t| swap(t, "mass_kg", "\"seventy\"")).refused("mass_kg"),
        rider("a date", |t| swap(t, "mass_kg", "1979-05-27")).refused("mass_kg"),
        rider("a key twice", |t| format!("{t}\n[rider]\n")).refused("rider.toml"),
        rider("an unknown key", |t| t.replacen("mass_kg", "mas_kg", 1)).refused("mass_kg"),
        rider("no sprockets", |t| swap(t, "sprockets", "[]")).refused("sprockets"),
        rider("a sprocket of five teeth", |t| {
            swap(t, "sprockets", "[5, 11]")
        })
        .refused("sprockets"),
        rider("a thousand sprockets", |t| {
            swap(
                t,
                "sprockets",
                &format!("{:?}", (11..1011).collect::<Vec<_>>()),
            )
        })
        .refused("sprockets"),
        rider("an efficiency above one", |t| {
            swap(t, "drivetrain_efficiency", "1.2")
        })
        .refused("drivetrain_efficiency"),
        rider("a tyre that is none", |t| swap(t, "tyre", "\"big\"")).refused("tyre"),
        rider("100,000 open lists", |t| {
            swap(t, "sprockets", &"[".repeat(100_000))
        })
        .refused("rider.toml"),
        rider("100,000 tables deep", |t| {
            format!("{t}\n[{}a]\n", "a.".repeat(100_000))
        })
        .refused("rider.toml"),
        plan("no text", vec![0xff, 0xfe, 0, 1, 2], example("set")).refused("rider.toml"),
        plan(
            "UTF-16",
            example("rider")
                .encode_utf16()
                .flat_map(u16::to_le_bytes)
                .collect::<Vec<_>>(),
            example("set"),
        )
        .refused("rider.toml"),
        plan(
            "a byte order mark",
            format!("\u{feff}{}", example("rider")),
            example("set"),
        )
        .status(1),
        rider("carriage returns", |t| t.replace('\n', "\r\n")).status(1),
        rider("a route in its place", |_| hill::whole()).refused("rider.toml"),
        rider("control characters in a key", |t| {
            format!("\"\u{1b}[31m\" = 1\n{t}")
        })
        .refused("rider.toml"),
    ]);
}

#[test]
fn set_files_are_used_or_told_by_line() {
    let block = "[[block]]\nreps = 1\nwork = \"1:00\"\nrecovery = { at_least = \"1:00\" }\npower_w = { from = 190, to = 225 }\ncadence_rpm = { from = 50, to = 60 }\n";
    check_all(vec![
        set("empty", |_| String::new()).refused("set.toml"),
        set("no reps", |t| swap(t, "reps", "0")).refused("reps"),
        set("minus one rep", |t| swap(t, "reps", "-1")).refused("reps"),
        set("half a rep", |t| swap(t, "reps", "2.5")).refused("reps"),
        set("a billion reps", |t| swap(t, "reps", "1000000000")).refused("reps"),
        set("200 reps", |t| swap(t, "reps", "200"))
            .status(1)
            .says("None of the 200 reps fits"),
        set("a rep of one second", |t| swap(t, "work", "\"0:01\"")).status(1),
        set("a rep of nothing", |t| swap(t, "work", "\"0:00\"")).refused("work"),
        set("a rep of a day", |t| swap(t, "work", "\"24:00:00\"")).status(3),
        set("a time that is none", |t| swap(t, "work", "\"4 minutes\"")).refused("work"),
        set("sixty-one seconds", |t| swap(t, "work", "\"4:61\"")).refused("work"),
        set("a band upside down", |t| {
            swap(t, "cadence_rpm", "{ from = 60, to = 50 }")
        })
        .refused("cadence_rpm"),
        set("a band of one cadence", |t| {
            swap(t, "cadence_rpm", "{ from = 55, to = 55 }")
        })
        .status(1),
        set("a band of one turn", |t| {
            swap(t, "cadence_rpm", "{ from = 54.5, to = 55.5 }")
        })
        .status(1),
        set("a cadence of no number", |t| {
            swap(t, "cadence_rpm", "{ from = nan, to = 60 }")
        })
        .refused("cadence_rpm"),
        set("20,000 blocks", |t| format!("{t}{}", block.repeat(2_000)))
            .refused("2001 blocks are more than"),
        set("a file without end", |t| {
            format!("{t}{}", block.repeat(20_000))
        })
        .refused("larger than 1 MiB")
        .never("--max-input"),
        set("an escape in its name", |t| {
            format!("{}\n", swap(t, "name", "\"\\u001b[2Jgone\""))
        })
        .refused("is not a name"),
        set("a name of ten megabytes", |t| {
            swap(t, "name", &format!("\"{}\"", "far ".repeat(2_500_000)))
        })
        .refused("larger than 1 MiB"),
    ]);
}
