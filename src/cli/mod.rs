//! Arguments in, answers out.

mod arguments;
mod cache;
mod climbs;
mod climbs_files;
mod climbs_stream;
mod failure;
mod gears;
mod input;
mod near;
mod plan;
mod plan_arguments;
mod plan_files;
mod print;
mod progress;
mod review;
mod ride_arguments;
mod riding;
mod serve;
mod shared_arguments;
mod threads;
mod tiles;
mod typed;

use std::process::ExitCode;

use clap::Parser;

use arguments::{Arguments, Command, ExampleOf};
use failure::Failure;

/// Runs the program on the process's arguments, and tells how it went.
///
/// Exit status: 0 an answer; 1 no answer, with the reasons; 2 the command line is wrong; 3 an input is unusable;
/// 4 something on the machine failed.
pub fn run() -> ExitCode {
    crate::files::outlive_size_limit();
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            let status = if error.use_stderr() { 2 } else { 0 };
            let _ = error.print();
            return ExitCode::from(status);
        }
    };
    match answer(arguments.command) {
        Ok(Outcome::Answer) => ExitCode::SUCCESS,
        Ok(Outcome::NoAnswer) => ExitCode::from(1),
        Err(failure) => {
            print::error(&failure.to_string());
            ExitCode::from(failure.status())
        }
    }
}

/// Whether a command could answer what was asked.
enum Outcome {
    Answer,
    NoAnswer,
}

fn answer(command: Command) -> Result<Outcome, Failure> {
    threads::start(!matches!(command, Command::Serve(_)))?;
    match command {
        Command::Climbs(arguments) => climbs::run(&arguments),
        Command::Gears(arguments) => gears::run(&arguments),
        Command::Plan(arguments) => plan::run(&arguments),
        Command::Review(arguments) => review::run(&arguments),
        Command::Near(arguments) => near::run(&arguments),
        Command::Cache(arguments) => cache::run(&arguments),
        Command::Tiles(arguments) => tiles::run(&arguments),
        Command::Serve(arguments) => serve::run(&arguments),
        Command::Example { of } => {
            let text = match of {
                ExampleOf::Rider => crate::prescription::EXAMPLE_RIDER,
                ExampleOf::Set => crate::prescription::EXAMPLE_SET,
            };
            print::out(text)?;
            Ok(Outcome::Answer)
        }
        Command::Completions { shell } => {
            print::out(&arguments::completions(shell))?;
            Ok(Outcome::Answer)
        }
        Command::Man { of } => {
            let page = arguments::manual(of.as_deref()).map_err(Failure::Write)?;
            let page = page.ok_or_else(|| {
                let of = of.unwrap_or_default();
                Failure::CommandLine(format!(
                    "no command is called \"{of}\"; `hillwright --help` lists them"
                ))
            })?;
            print::out(&String::from_utf8_lossy(&page))?;
            Ok(Outcome::Answer)
        }
    }
}
