//! Prints every point that a file has, before any cleaning, as CSV: for comparing with other readers.
//!
//! `cargo run --example route_points -- FILE`

use anstream::{eprintln, stdout};
use hillwright::files::{Limits, read_bounded};
use hillwright::route::parse;
use std::error::Error;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(path) = std::env::args_os().nth(1) else {
        eprintln!("usage: route_points FILE");
        return ExitCode::from(2);
    };
    match print_points(Path::new(&path)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{}: {error}", Path::new(&path).display());
            ExitCode::from(3)
        }
    }
}

/// One row a point; numbers with as many digits as they need to be read back exactly, nothing where a value is missing.
fn print_points(path: &Path) -> Result<(), Box<dyn Error>> {
    let recordings = parse(&read_bounded(path, &Limits::default())?)?;
    let mut out = BufWriter::new(stdout().lock());
    writeln!(out, "recording,segment,lat_deg,lon_deg,elevation_m,time_s")?;
    let shown = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    for (line, recording) in recordings.iter().enumerate() {
        for (i, point) in recording.points.iter().enumerate() {
            let segment = recording
                .segment_starts
                .partition_point(|start| *start <= i)
                - 1;
            let (elevation, time) = (shown(point.elevation_m), shown(point.time_s));
            writeln!(
                out,
                "{line},{segment},{},{},{elevation},{time}",
                point.lat_deg, point.lon_deg
            )?;
        }
    }
    out.flush()?;
    Ok(())
}
