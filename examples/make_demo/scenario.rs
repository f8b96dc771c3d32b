//! The whole demo from one seed: roads, ground, recordings, files.

use super::earth::{Geodetic, TangentPlane};
use super::gpx_text::{self, Shape, Title};
use super::loop_plan::{self, Hairpins};
use super::pieces::{BIG_LOOP, START_ELEVATION_M, placed};
use super::profile::{ascent_m, closed_profile, true_climbs};
use super::recording::{BAROMETER, SATELLITE_ONLY, record};
use super::ride::{Halt, distances_by_second};
use super::road::Road;
use super::terrain::Terrain;
use super::{planner, side_roads, texts, tile, truth};

/// All randomness comes from this number.
const SEED: u64 = 20_230_311;
/// The middle of the island.
const MIDDLE: Geodetic = Geodetic {
    lat: -44.64,
    lon: -129.56,
};
/// The roads' nodes are this far apart, in metres.
const STEP_M: f64 = 2.0;
/// 11 March 2023, 19:02:10 in Coordinated Universal Time: a morning on the island.
const LOOP_START_S: i64 = 1_678_561_330;
/// 18 March 2023, 20:31:00.
const WATCH_START_S: i64 = 1_679_171_460;
/// The part of the loop that the watch recorded, in metres along it.
const WATCHED_M: (f64, f64) = (11_500.0, 41_500.0);

/// Junctions where the rider waits, and the stop in Sallowmouth.
const HALTS: [Halt; 6] = [
    Halt {
        distance_m: 1_420.0,
        duration_s: 14,
    },
    Halt {
        distance_m: 12_350.0,
        duration_s: 9,
    },
    Halt {
        distance_m: 38_400.0,
        duration_s: 21,
    },
    Halt {
        distance_m: 44_050.0,
        duration_s: 180,
    },
    Halt {
        distance_m: 65_200.0,
        duration_s: 12,
    },
    Halt {
        distance_m: 95_300.0,
        duration_s: 7,
    },
];

/// The zigzags: one on Kettlerigg Bends, one on Skerrock Turn with its level first bend, one above the houses of Upper Tarrick.
const HAIRPINS: [Hairpins; 3] = [
    Hairpins {
        first_bend_m: 34_450.0,
        half_width_m: 400.0,
        swing_m: 210.0,
        rise_m: 380.0,
        swings: 2.0,
    },
    Hairpins {
        first_bend_m: 76_950.0,
        half_width_m: 330.0,
        swing_m: 290.0,
        rise_m: 330.0,
        swings: 1.0,
    },
    Hairpins {
        first_bend_m: 83_700.0,
        half_width_m: 330.0,
        swing_m: 290.0,
        rise_m: 330.0,
        swings: 1.0,
    },
];

/// The roads and the ground between them.
pub(crate) struct World {
    pub(crate) plane: TangentPlane,
    pub(crate) big_loop: Road,
    pub(crate) harbour_hill: Road,
    pub(crate) lagoon: Road,
    pub(crate) terrain: Terrain,
}

/// A file of the demo: its path below the project's root, and its bytes.
pub(crate) struct DemoFile {
    pub(crate) path: &'static str,
    pub(crate) bytes: Vec<u8>,
}

/// Builds the roads, then the ground.
pub(crate) fn world() -> Result<World, String> {
    let elevations_m = closed_profile(&placed(BIG_LOOP), START_ELEVATION_M, STEP_M, SEED + 10);
    check(
        "length of the loop in m",
        (elevations_m.len() - 1) as f64 * STEP_M,
        95_000.0,
        99_000.0,
    )?;
    check(
        "ascent of the loop in m",
        ascent_m(&elevations_m),
        1_790.0,
        1_870.0,
    )?;
    let (big_loop, ring) = loop_plan::draw(elevations_m, STEP_M, &HAIRPINS, SEED + 20);
    let harbour_hill =
        side_roads::harbour_hill(big_loop.nodes[0], START_ELEVATION_M, STEP_M, SEED + 30);
    let lagoon = side_roads::lagoon_road(STEP_M, SEED + 40);
    let terrain = Terrain::new(&[&big_loop, &harbour_hill], &lagoon, &ring, SEED + 50);
    Ok(World {
        plane: TangentPlane::new(MIDDLE),
        big_loop,
        harbour_hill,
        lagoon,
        terrain,
    })
}

/// Fails where a change of the tables has moved the demo away from what its pages say.
fn check(what: &str, value: f64, from: f64, to: f64) -> Result<(), String> {
    if (from..=to).contains(&value) {
        Ok(())
    } else {
        Err(format!("{what} is {value:.0}, not {from:.0} to {to:.0}"))
    }
}

/// All files of the demo.
pub(crate) fn files(world: &World) -> Result<Vec<DemoFile>, String> {
    let tile = tile::gzip(&tile::samples(&world.terrain, &world.plane))
        .map_err(|error| error.to_string())?;
    let text = |path, text: &str| DemoFile {
        path,
        bytes: text.as_bytes().to_vec(),
    };
    Ok(vec![
        text("sample-routes/README.md", texts::README),
        text("sample-routes/rider.toml", texts::RIDER),
        text("sample-routes/six-by-four.toml", texts::SIX_BY_FOUR),
        text("sample-routes/four-by-six.toml", texts::FOUR_BY_SIX),
        text("sample-routes/big-loop.gpx", &big_loop(world)),
        text("sample-routes/big-loop-watch.gpx", &big_loop_watch(world)),
        text("sample-routes/harbour-hill.gpx", &harbour_hill(world)),
        text("sample-routes/lagoon-flat.gpx", &lagoon_flat(world)),
        DemoFile {
            path: tile::PATH,
            bytes: tile,
        },
    ])
}

/// The climbs of the loop as they were built, as JSON.
pub(crate) fn truth(world: &World) -> String {
    let climbs = true_climbs(&placed(BIG_LOOP));
    format!(
        "{:#}\n",
        truth::document(&world.big_loop, &climbs, &world.plane)
    )
}

fn big_loop(world: &World) -> String {
    let road = &world.big_loop;
    let distances_m = distances_by_second(road, 0.0, road.length_m(), &HALTS, SEED + 60);
    let points = record(
        road,
        &distances_m,
        &BAROMETER,
        &world.plane,
        LOOP_START_S,
        SEED + 70,
    );
    let title = Title {
        name: "Skerrowan big loop",
        description: "Around an invented island, recorded with a barometer",
    };
    gpx_text::write(&title, Shape::Track, &points)
}

fn big_loop_watch(world: &World) -> String {
    let (from_m, to_m) = WATCHED_M;
    let distances_m = distances_by_second(&world.big_loop, from_m, to_m, &HALTS[1..3], SEED + 80);
    let points = record(
        &world.big_loop,
        &distances_m,
        &SATELLITE_ONLY,
        &world.plane,
        WATCH_START_S,
        SEED + 90,
    );
    let title = Title {
        name: "Skerrowan, Cressowan to Pellin Bank",
        description: "Part of the big loop, recorded by satellite only",
    };
    gpx_text::write(&title, Shape::Track, &points)
}

fn harbour_hill(world: &World) -> String {
    let points = planner::there_and_back(&planner::vertices(
        &world.harbour_hill,
        &world.plane,
        SEED + 100,
    ));
    let title = Title {
        name: "Port Ollibar harbour hill",
        description: "A level run-in, one steady hill, and back, as planned",
    };
    gpx_text::write(&title, Shape::Track, &points)
}

fn lagoon_flat(world: &World) -> String {
    let points = planner::around(planner::vertices(&world.lagoon, &world.plane, SEED + 110));
    let title = Title {
        name: "Sennowey lagoon",
        description: "Level road around an invented lagoon, as planned",
    };
    gpx_text::write(&title, Shape::Route, &points)
}
