//! `hillwright serve`.

use std::net::{IpAddr, SocketAddr};
use std::path::{Path, PathBuf};

use super::arguments::ServeArguments;
use super::failure::Failure;
use super::{Outcome, input, print};
use crate::files::find_routes;
use crate::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};
use crate::terrain::Tiles;
use crate::web::library::{self, Elevations, Library};
use crate::web::{self, Start};

pub(super) fn run(arguments: &ServeArguments) -> Result<Outcome, Failure> {
    let host = arguments.host;
    if !host.is_loopback() && !arguments.allow_remote {
        return Err(Failure::CommandLine(format!(
            "--host {host}: others on the network could read and change what is on the page; add --allow-remote if you want that"
        )));
    }
    if !host.is_loopback() {
        print::warning(&format!(
            "the page at {host} can be read and changed by everybody who reaches this machine, unencrypted and without a password"
        ));
    }
    let elevations = Elevations {
        wanted: arguments.elevation.wanted(),
        tiles: Tiles::open(&arguments.elevation.tiles),
    };
    let rider = match &arguments.rider {
        Some(path) => input::rider(path)?,
        None => built_in(parse_rider(EXAMPLE_RIDER))?,
    };
    let set = match &arguments.set {
        Some(path) => input::set(path)?,
        None => built_in(parse_set(EXAMPLE_SET))?,
    };
    let start = Start {
        at: SocketAddr::new(host, arguments.port),
        library: routes(&arguments.routes, &elevations)?,
        rider,
        set,
        elevations,
        folder: folder(&arguments.routes),
    };
    let mut told = Ok(());
    web::serve(start, |bound| told = listening(bound, arguments.no_open))?;
    told.map(|()| Outcome::Answer)
}

/// The files within the program can be read, as the tests see to.
fn built_in<T>(read: Result<T, crate::prescription::PrescriptionError>) -> Result<T, Failure> {
    read.map_err(|source| Failure::Prescription {
        path: "the example within the program".to_owned(),
        source,
    })
}

/// Tells the address, and opens it.
fn listening(bound: SocketAddr, no_open: bool) -> Result<(), Failure> {
    let reached = match bound.ip() {
        ip if !ip.is_unspecified() => bound,
        IpAddr::V4(_) => SocketAddr::from(([127, 0, 0, 1], bound.port())),
        IpAddr::V6(_) => SocketAddr::from(([0, 0, 0, 0, 0, 0, 0, 1], bound.port())),
    };
    let address = format!("http://{reached}/");
    let told = print::out(&format!("{address}\n"));
    if no_open {
        print::warning("open this address in a browser; Ctrl-C stops the page");
    } else if open::that_detached(&address).is_err() {
        print::warning(
            "no browser could be opened: open this address yourself; Ctrl-C stops the page",
        );
    } else {
        print::warning("the page is open in your browser; Ctrl-C stops it");
    }
    told
}

/// The folder that was named, if one was.
fn folder(named: &[PathBuf]) -> Option<PathBuf> {
    let mut folders = named.iter().map(Path::new).filter(|path| path.is_dir());
    folders.next().map(Path::to_owned)
}

/// The routes that were named, or the demo's.
fn routes(named: &[PathBuf], elevations: &Elevations) -> Result<Library, Failure> {
    if named.is_empty() {
        return Ok(web::demo(elevations));
    }
    let mut library = Library::default();
    for (name, path) in files(named)? {
        let (grounds, refused) = match library::read_file(&path) {
            Ok(bytes) => library::read(&bytes, &name, elevations),
            Err(why) => (Vec::new(), vec![format!("{name}: {why}")]),
        };
        refused.iter().for_each(|why| print::warning(why));
        if let Err(why) = library.add(grounds) {
            print::warning(&format!("{name} and what follows it: {why}"));
            break;
        }
    }
    if library.grounds().is_empty() && folder(named).is_none() {
        return Err(Failure::no_route(named));
    }
    Ok(library)
}

/// Files with the names that the page calls them by: within a folder, from there.
fn files(named: &[PathBuf]) -> Result<Vec<(String, PathBuf)>, Failure> {
    let mut files = Vec::new();
    for path in named {
        let name = path.display();
        if path.is_dir() {
            let found = find_routes(path).map_err(|source| Failure::File {
                path: name.to_string(),
                source,
            })?;
            let unseen = found.passed_over.iter();
            unseen.for_each(|why| print::warning(&format!("{name}: {why}")));
            files.extend(found.files.into_iter().map(|file| {
                let within = file.strip_prefix(path).unwrap_or(&file);
                (within.display().to_string(), file)
            }));
        } else {
            let file = path
                .file_name()
                .map_or(name.to_string(), |n| n.to_string_lossy().into_owned());
            files.push((file, path.clone()));
        }
    }
    Ok(files)
}
