//! The program.

use std::process::ExitCode;

fn main() -> ExitCode {
    hillwright::cli::run()
}
