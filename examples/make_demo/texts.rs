//! The demo's rider, its sets, and the page that says what is what.

/// The demo's rider.
pub(crate) const RIDER: &str = r#"# An invented rider with an everyday road bike.
[rider]
mass_kg = 68.0                # undressed
threshold_w = 250             # the power held for about an hour
easy_share = 0.50             # share of threshold in recoveries
steady_share = 0.65           # before the first rep, and on longer ways between
recovery_ceiling_share = 0.75 # time above this share is not recovery
descent_limit_kmh = 45        # never planned faster than this downhill

[bike]
mass_kg = 8.5
kit_kg = 4.0                  # clothes, shoes, helmet, bottles, tools
tyre = "28-622"               # ISO 5775: width-diameter in mm
chainrings = [50, 34]
sprockets = [11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30]
crank_mm = 172.5
power_measured_at = "crank"

[resistance]
cda_m2 = 0.36                 # seated, hands on the hoods
crr = 0.005
drivetrain_efficiency = 0.977
"#;

/// Six reps of four minutes.
pub(crate) const SIX_BY_FOUR: &str = r#"name = "Six by four, big gear"
warm_up = "20:00"             # no rep starts before this much riding

[[block]]
reps = 6
work = "4:00"
recovery = { at_least = "4:00", at_most = "9:00" }
power_share = { from = 0.76, to = 0.90, aim = 0.83 }   # of threshold
cadence_rpm = { from = 50, to = 60, aim = 55 }
"#;

/// Four reps of six minutes.
pub(crate) const FOUR_BY_SIX: &str = r#"name = "Four by six, big gear"
warm_up = "20:00"             # no rep starts before this much riding

[[block]]
reps = 4
work = "6:00"
recovery = { at_least = "6:00", at_most = "15:00" }
power_share = { from = 0.76, to = 0.90, aim = 0.83 }   # of threshold
cadence_rpm = { from = 50, to = 70, aim = 60 }
"#;

/// What is what in the sample folder.
pub(crate) const README: &str = "\
# Sample routes

Everything here is invented: the island of Skerrowan and its roads, the rider, the rides. Where the map puts them there
is open water in the South Pacific. The elevation of the ground is in `../elevation-cache/S45W130.hgt.gz`.

| file | what it is |
| --- | --- |
| `big-loop.gpx` | 97 km around the island with some 1,830 m of climbing, recorded at one point a second by a device with a barometer; one stop of three minutes, a few short ones |
| `big-loop-watch.gpx` | 30 km of the same loop, recorded on another day by a watch that has only satellites: its elevations are off by metres |
| `harbour-hill.gpx` | 3 km of level road, one steady hill of 2.2 km at 6 %, and back the same way, as a route planner draws it |
| `lagoon-flat.gpx` | 30 km of level road around a lagoon, as a route planner draws it (a GPX route, not a track); no climb on it |
| `rider.toml` | a rider and a bike |
| `six-by-four.toml` | a set: six reps of four minutes at 50 to 60 rpm |
| `four-by-six.toml` | a set: four reps of six minutes at 50 to 70 rpm |

All of it is made by `cargo run --example make_demo`, which gives the same bytes every time.

## What to try

    hillwright climbs sample-routes
    hillwright plan sample-routes/big-loop.gpx --rider sample-routes/rider.toml --set sample-routes/six-by-four.toml
    hillwright plan sample-routes --rider sample-routes/rider.toml --set sample-routes/four-by-six.toml

The loop holds more than steady climbs: a hill too steep for the gears, one that steepens all the way, one that keeps
changing, one too short, one too gentle, one with a step, one with a level hairpin, and one with houses halfway.
";
