//! The local page: routes, rider, bike and set with plain controls, and the plan as they change.
//!
//! Everything but the route files is in the page's [`address`]; [`order`] reads it as the program reads its files, [`planning`] rides it on
//! the routes of the [`library`], and [`answer`] shows it with the parts that sheets are made of. [`guard`] decides who may ask. Nothing is
//! stored: routes are gone with the process.

pub mod address;
mod air;
pub mod answer;
pub mod complaint;
pub mod controls;
mod filled;
mod folder;
pub mod guard;
pub mod library;
pub mod order;
mod page;
pub mod planning;
mod requests;
mod server;
mod state;
mod takeaway;
mod uploads;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;

use address::Address;
use guard::Guard;
use library::{Elevations, Library};
use state::State;

use crate::prescription::{RiderFile, Set};

/// The demo's loop, a hill and a flat route, so that there is something to see at once.
const DEMO_ROUTES: [(&str, &[u8]); 3] = [
    (
        "big-loop.gpx",
        include_bytes!("../../sample-routes/big-loop.gpx"),
    ),
    (
        "harbour-hill.gpx",
        include_bytes!("../../sample-routes/harbour-hill.gpx"),
    ),
    (
        "lagoon-flat.gpx",
        include_bytes!("../../sample-routes/lagoon-flat.gpx"),
    ),
];

/// What the page starts with.
#[derive(Debug)]
pub struct Start {
    /// Where it listens; port 0 is any that is free.
    pub at: SocketAddr,
    /// The routes.
    pub library: Library,
    /// Rider and set of an address that names none.
    pub rider: RiderFile,
    /// The set, likewise.
    pub set: Set,
    /// Where elevations come from.
    pub elevations: Elevations,
    /// A folder where riders and sets may be saved.
    pub folder: Option<PathBuf>,
}

/// Why the page can't be served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// Something else listens there.
    #[error(
        "{at} is taken by another program; choose another --port, or leave it out for one that is free"
    )]
    Taken {
        /// Where.
        at: SocketAddr,
    },
    /// The system does not let us listen there.
    #[error("can't listen at {at}: {source}")]
    Listen {
        /// Where.
        at: SocketAddr,
        /// What the system said.
        source: std::io::Error,
    },
    /// Threads, sockets or random numbers can't be had.
    #[error("the page can't be started: {0}")]
    System(String),
}

/// Reads the demo's routes.
pub fn demo(elevations: &Elevations) -> Library {
    let mut library = Library::default();
    for (name, bytes) in DEMO_ROUTES {
        let (grounds, _) = library::read(bytes, name, elevations);
        // Three routes have room.
        let _ = library.add(grounds);
    }
    library
}

/// Serves the page until Ctrl-C; `listening` is told the address once it can be opened.
///
/// # Errors
/// [`ServeError`], before anything is served.
pub fn serve(start: Start, listening: impl FnOnce(SocketAddr)) -> Result<(), ServeError> {
    let system = |error: std::io::Error| ServeError::System(error.to_string());
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(64)
        .enable_all()
        .build()
        .map_err(system)?;
    runtime.block_on(async {
        let at = start.at;
        let listener = tokio::net::TcpListener::bind(at).await.map_err(|source| {
            if source.kind() == std::io::ErrorKind::AddrInUse {
                ServeError::Taken { at }
            } else {
                ServeError::Listen { at, source }
            }
        })?;
        let bound = listener.local_addr().map_err(system)?;
        let guard = Guard {
            bound,
            token: token()?,
        };
        let mut defaults = Address::default();
        filled::rider(&start.rider, &mut defaults);
        filled::set(&start.set, &mut defaults);
        let state = State::new(
            guard,
            defaults,
            start.elevations,
            start.folder,
            start.library,
        );
        let router = requests::router(Arc::new(state));
        listening(bound);
        let stop = async {
            // Where the system can't tell of Ctrl-C, it ends the process itself.
            if tokio::signal::ctrl_c().await.is_err() {
                std::future::pending::<()>().await;
            }
        };
        server::serve(listener, router, stop).await;
        Ok(())
    })
}

/// 128 random bits as text.
fn token() -> Result<String, ServeError> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes).map_err(|error| ServeError::System(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
