//! `hillwright cache`.

use super::arguments::CacheCommandArguments;
use super::failure::Failure;
use super::{Outcome, print};
use crate::archive::{Cache, CacheSize};

pub(super) fn run(arguments: &CacheCommandArguments) -> Result<Outcome, Failure> {
    let Some(cache) = Cache::users() else {
        print::out("The system names no cache folder, so nothing is kept.\n")?;
        return Ok(Outcome::Answer);
    };
    let told = if arguments.clear {
        let gone = cache.clear().map_err(|source| Failure::Cache {
            folder: cache.folder().display().to_string(),
            source,
        })?;
        format!("{} removed from {}\n", size(gone), cache.folder().display())
    } else {
        format!("{} in {}\n", size(cache.size()), cache.folder().display())
    };
    print::out(&told)?;
    Ok(Outcome::Answer)
}

fn size(size: CacheSize) -> String {
    let files = match size.files {
        1 => "1 file".to_owned(),
        n => format!("{n} files"),
    };
    let bytes = size.bytes as f64;
    if bytes < 1e6 {
        format!("{files}, {:.0} kB,", bytes / 1e3)
    } else {
        format!("{files}, {:.1} MB,", bytes / 1e6)
    }
}
