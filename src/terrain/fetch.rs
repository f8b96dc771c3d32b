//! Tiles that are missing are fetched: checked before they are accepted, written whole or not at all.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::Duration;

use ureq::Agent;
use ureq::http::{Response, StatusCode, header::RETRY_AFTER};

use super::cache::MOST_FILE_BYTES;
use super::unpack::{Packing, UnpackError};
use super::{Tile, TileError, TileName, TileSource};
use crate::files::{FileError, write_whole};

/// Longest wait that a server may ask for between two tries.
const LONGEST_PAUSE: Duration = Duration::from_secs(60);

/// How long a source is waited for, and how often it is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Patience {
    /// For a connection.
    pub connect: Duration,
    /// For the first bytes of the answer.
    pub answer: Duration,
    /// For the next bytes of a tile.
    pub stall: Duration,
    /// For one whole tile.
    pub whole: Duration,
    /// How often a tile is tried.
    pub tries: u32,
    /// Between the first two tries; each later pause is twice as long.
    pub pause: Duration,
}

impl Default for Patience {
    /// A tile of 10 MB comes through at 35 kB/s; a source that is down is given up after about 7 s of pauses.
    fn default() -> Self {
        Patience {
            connect: Duration::from_secs(10),
            answer: Duration::from_secs(30),
            stall: Duration::from_secs(30),
            whole: Duration::from_secs(300),
            tries: 4,
            pause: Duration::from_secs(1),
        }
    }
}

/// Why a tile could not be fetched.
#[derive(Debug, thiserror::Error)]
pub enum FetchError {
    /// The source does not have it.
    #[error(
        "{address}: the source has no such tile (status {status}); it may not cover this place, or its address is wrong"
    )]
    NotThere {
        /// Where it was looked for.
        address: String,
        /// What the server said.
        status: u16,
    },
    /// The server said something else than a tile.
    #[error(
        "{address}: the server answered with status {status}; expected 200 and a tile; try again later"
    )]
    Status {
        /// Where it was looked for.
        address: String,
        /// What the server said.
        status: u16,
    },
    /// The connection failed.
    #[error("{address}: {what}; check the address and the network, and try again")]
    Connection {
        /// Where it was looked for.
        address: String,
        /// What was seen.
        what: String,
    },
    /// Nobody who is known vouches for the server.
    #[error(
        "{address}: no authority that is known here vouches for the server ({what}); some networks put a server of their own in between: \
         fetch the tile with a browser there, put it into the folder of the tiles, and it is used"
    )]
    Certificate {
        /// Where it was looked for.
        address: String,
        /// What was seen.
        what: String,
    },
    /// What came is larger than any tile.
    #[error(
        "{address}: it sends more than {MOST_FILE_BYTES} bytes, the most that a tile's file has; check the address"
    )]
    TooLarge {
        /// Where it came from.
        address: String,
    },
    /// What came is no tile.
    #[error("{address}: {source}")]
    Tile {
        /// Where it came from.
        address: String,
        /// What is wrong with it.
        source: TileError,
    },
    /// It came but could not be written.
    #[error("{}: {source}", .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: FileError,
    },
}

/// Gets tiles from a source.
#[derive(Debug)]
pub struct Fetcher {
    source: TileSource,
    patience: Patience,
    agent: Agent,
}

/// A try that failed, and whether another may help.
struct Failed {
    error: FetchError,
    again: bool,
    asked_pause: Option<Duration>,
}

impl Fetcher {
    /// Gets ready; nothing is sent yet.
    pub fn new(source: TileSource, patience: Patience) -> Fetcher {
        let agent = Agent::config_builder()
            .http_status_as_error(false)
            .https_only(source.is_https())
            .user_agent(concat!("hillwright/", env!("CARGO_PKG_VERSION")))
            .timeout_connect(Some(patience.connect))
            .timeout_recv_response(Some(patience.answer))
            .timeout_per_read(Some(patience.stall))
            .timeout_global(Some(patience.whole))
            .build()
            .new_agent();
        Fetcher {
            source,
            patience,
            agent,
        }
    }

    /// Fetches a tile into a folder, which is made where it is not there, and tells the file it became.
    ///
    /// `told` is called as bytes come, with how many there are and how many the server announced. A failed connection, a server's error
    /// (429, 5xx) and a tile that was cut short are tried again. The file appears whole or not at all, so that several runs may
    /// fetch into one folder at once.
    ///
    /// # Errors
    /// [`FetchError`], after the last try.
    pub fn fetch(
        &self,
        name: TileName,
        folder: &Path,
        told: &mut dyn FnMut(u64, Option<u64>),
    ) -> Result<PathBuf, FetchError> {
        let address = self.source.address_of(name);
        let mut pause = self.patience.pause;
        let mut tries = 1;
        let bytes = loop {
            match self.attempt(name, &address, told) {
                Ok(bytes) => break bytes,
                Err(failed) if !failed.again || tries >= self.patience.tries => {
                    return Err(failed.error);
                }
                Err(failed) => sleep(
                    failed
                        .asked_pause
                        .map_or(pause, |asked| asked.clamp(pause, LONGEST_PAUSE.max(pause))),
                ),
            }
            tries += 1;
            pause *= 2;
        };
        let path = folder.join(format!("{name}{}", Packing::of(&bytes).ending()));
        let written = fs::create_dir_all(folder)
            .map_err(FileError::Write)
            .and_then(|()| write_whole(&path, &bytes));
        written.map_err(|source| FetchError::Write {
            path: path.clone(),
            source,
        })?;
        Ok(path)
    }

    /// One try: the bytes of a file that is the tile.
    fn attempt(
        &self,
        name: TileName,
        address: &str,
        told: &mut dyn FnMut(u64, Option<u64>),
    ) -> Result<Vec<u8>, Failed> {
        let broken = |what: String| {
            let address = address.to_owned();
            let is_unknown = what.contains("peer certificate");
            Failed {
                again: !is_unknown,
                error: match is_unknown {
                    true => FetchError::Certificate { address, what },
                    false => FetchError::Connection { address, what },
                },
                asked_pause: None,
            }
        };
        let answer = self
            .agent
            .get(address)
            .call()
            .map_err(|error| match error {
                ureq::Error::BadUri(_)
                | ureq::Error::Http(_)
                | ureq::Error::RequireHttpsOnly(_) => Failed {
                    again: false,
                    ..broken(error.to_string())
                },
                error => broken(error.to_string()),
            })?;
        if answer.status() != StatusCode::OK {
            return Err(refusal(address, &answer));
        }
        let bytes = receive(answer, told).map_err(|error| broken(error.to_string()))?;
        if bytes.len() as u64 > MOST_FILE_BYTES {
            let error = FetchError::TooLarge {
                address: address.to_owned(),
            };
            return Err(Failed {
                error,
                again: false,
                asked_pause: None,
            });
        }
        match Tile::from_bytes(name, &bytes) {
            Ok(_) => Ok(bytes),
            Err(source) => Err(Failed {
                again: is_perhaps_cut_short(&source),
                error: FetchError::Tile {
                    address: address.to_owned(),
                    source,
                },
                asked_pause: None,
            }),
        }
    }
}

fn refusal(address: &str, answer: &Response<ureq::Body>) -> Failed {
    let (address, status) = (address.to_owned(), answer.status().as_u16());
    let seconds = answer
        .headers()
        .get(RETRY_AFTER)
        .and_then(|value| value.to_str().ok()?.trim().parse().ok());
    Failed {
        again: matches!(status, 408 | 429 | 500..),
        asked_pause: seconds.map(Duration::from_secs),
        error: match status {
            403 | 404 | 410 => FetchError::NotThere { address, status },
            _ => FetchError::Status { address, status },
        },
    }
}

/// The body, one byte more than allowed at most. An announced length is only for showing progress.
fn receive(
    answer: Response<ureq::Body>,
    told: &mut dyn FnMut(u64, Option<u64>),
) -> io::Result<Vec<u8>> {
    let announced = answer.body().content_length();
    let mut body = answer
        .into_body()
        .into_with_config()
        .limit(u64::MAX)
        .reader()
        .take(MOST_FILE_BYTES + 1);
    let mut bytes = Vec::new();
    let mut part = vec![0; 64 << 10];
    loop {
        told(bytes.len() as u64, announced);
        match body.read(&mut part)? {
            0 => return Ok(bytes),
            read => bytes.extend_from_slice(&part[..read]),
        }
    }
}

/// A length that was announced too short cuts a tile too.
fn is_perhaps_cut_short(error: &TileError) -> bool {
    matches!(
        error,
        TileError::Size { .. } | TileError::Unpack(UnpackError::Damaged { .. })
    )
}
