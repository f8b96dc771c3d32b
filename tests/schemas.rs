//! The JSON that the program prints is what `docs/schema/` says.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use serde_json::Value;
use support::{hillwright, root};

fn committed(name: &str) -> Value {
    let path = root()
        .join("docs/schema")
        .join(format!("{name}.schema.json"));
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn assert_holds(name: &str, arguments: &str) {
    let run = hillwright()
        .args(arguments.split_whitespace())
        .args(["--format", "json"])
        .assert();
    let document: Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    assert_eq!(document["schema"], format!("hillwright.{name}/1"));
    let validator = jsonschema::validator_for(&committed(name)).unwrap();
    let faults: Vec<String> = validator
        .iter_errors(&document)
        .map(|e| e.to_string())
        .collect();
    assert!(faults.is_empty(), "{arguments}: {faults:?}");
}

#[test]
fn the_committed_schemas_are_those_of_the_types() {
    for (name, schema) in hillwright::output::document::schemas() {
        let fresh: Value = serde_json::to_value(&schema).unwrap();
        assert_eq!(
            fresh,
            committed(name),
            "{name}: run `cargo run --example make_schemas`"
        );
    }
}

#[test]
fn printed_documents_hold_against_their_schemas() {
    assert_holds("climbs", "climbs sample-routes/big-loop.gpx");
    assert_holds("climbs", "climbs sample-routes --power 200");
    assert_holds(
        "gears",
        "gears --rider sample-routes/rider.toml --power 190..225 --cadence 50..60",
    );
    let set = "--rider sample-routes/rider.toml --set sample-routes/six-by-four.toml";
    assert_holds("plan", &format!("plan sample-routes/big-loop.gpx {set}"));
    assert_holds("plan", &format!("plan sample-routes {set}"));
    assert_holds("tiles", "tiles sample-routes");
    assert_holds("near", "near -44.7,-129.75 sample-routes --power 200");
    let harbour = "plan sample-routes/harbour-hill.gpx";
    assert_holds("plan", &format!("{harbour} {set}"));
    assert_holds("plan", &format!("{harbour} {set} --laps 9 --indoors"));
    let second = "--rider tests/support/heavy-rider.toml";
    assert_holds("plan", &format!("{harbour} {set} {second} --turn-round"));
}

#[test]
fn a_schema_refuses_what_is_not_its_document() {
    let validator = jsonschema::validator_for(&committed("plan")).unwrap();
    assert!(
        !validator.is_valid(&serde_json::json!({ "schema": "hillwright.plan/1", "routes": [{}] }))
    );
}
