//! Writes the JSON Schemas of the documents into `docs/schema/`, or into the folder that is named.
//!
//! ```text
//! cargo run --example make_schemas
//! ```

use std::error::Error;
use std::path::PathBuf;

use hillwright::output::document::schemas;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(
        || PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/docs/schema")),
        PathBuf::from,
    );
    std::fs::create_dir_all(&folder)?;
    for (name, schema) in schemas() {
        let text = serde_json::to_string_pretty(&schema)? + "\n";
        std::fs::write(folder.join(format!("{name}.schema.json")), text)?;
    }
    Ok(())
}
