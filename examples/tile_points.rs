//! Prints the elevation of each place on standard input, from the tiles in a folder: for comparing with other readers.
//!
//! `cargo run --example tile_points -- FOLDER < places.csv`, where each line is `latitude,longitude` in degrees. Prints one elevation in
//! metres a line, or nothing on that line where it is not known, with the reason on standard error.

use anstream::{eprintln, stdout};
use hillwright::terrain::Tiles;
use std::error::Error;
use std::io::{BufWriter, Write, stdin};
use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(folder) = std::env::args_os().nth(1) else {
        eprintln!("usage: tile_points FOLDER < places.csv");
        return ExitCode::from(2);
    };
    match print_elevations(&Tiles::open(folder)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(3)
        }
    }
}

fn print_elevations(tiles: &Tiles) -> Result<(), Box<dyn Error>> {
    let mut out = BufWriter::new(stdout().lock());
    for (number, line) in stdin().lines().enumerate() {
        let line = line?;
        let (lat, lon) = line
            .split_once(',')
            .and_then(|(lat, lon)| Some((lat.trim().parse().ok()?, lon.trim().parse().ok()?)))
            .ok_or_else(|| {
                format!(
                    "line {} is \"{line}\"; expected latitude,longitude in degrees",
                    number + 1
                )
            })?;
        match tiles.elevation_m(lat, lon) {
            Ok(ground) => writeln!(out, "{}", ground.elevation_m)?,
            Err(error) => {
                eprintln!("line {}: {error}", number + 1);
                writeln!(out)?;
            }
        }
    }
    out.flush()?;
    Ok(())
}
