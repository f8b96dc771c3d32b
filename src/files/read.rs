//! A file or standard input becomes bytes, never more than the limits allow.

use super::FileError;
use flate2::bufread::MultiGzDecoder;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

/// The first two bytes of every gzip member (RFC 1952, 2.3.1).
const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b];

/// The most that is read of one input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Bytes taken from the file or from standard input.
    pub input_bytes: u64,
    /// Bytes that a gzip input may inflate to.
    pub inflated_bytes: u64,
    /// Whether the user can raise them, for the error to say.
    pub is_raisable: bool,
}

impl Limits {
    /// So many bytes, packed or unpacked, which the user can raise.
    pub fn of(bytes: u64) -> Self {
        Self {
            input_bytes: bytes,
            inflated_bytes: bytes,
            is_raisable: true,
        }
    }

    /// So many bytes, packed or unpacked, which nothing raises: what is larger is no file of the kind.
    pub fn fixed(bytes: u64) -> Self {
        Self {
            is_raisable: false,
            ..Self::of(bytes)
        }
    }

    fn too_large(&self) -> FileError {
        FileError::TooLarge {
            limit_bytes: self.input_bytes,
            is_raisable: self.is_raisable,
        }
    }
}

impl Default for Limits {
    /// 2 GiB each. A day's ride at one point a second is under 20 MB, so this only stops a wrong file or a gzip bomb.
    fn default() -> Self {
        Self::of(2 << 30)
    }
}

/// The bytes of a file, inflated if they are gzip (told by their first bytes; several members follow one another).
///
/// ```
/// use hillwright::files::{Limits, read_bounded};
/// let manifest = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
/// assert!(read_bounded(&manifest, &Limits::default())?.starts_with(b"[package]"));
///
/// let one_byte = Limits { input_bytes: 1, ..Limits::default() };
/// let error = read_bounded(&manifest, &one_byte).unwrap_err();
/// assert!(error.to_string().starts_with("it is larger than 1 bytes"));
/// # Ok::<(), hillwright::files::FileError>(())
/// ```
pub fn read_bounded(path: &Path, limits: &Limits) -> Result<Vec<u8>, FileError> {
    let file = File::open(path).map_err(FileError::Read)?;
    let about = file.metadata().map_err(FileError::Read)?;
    if about.is_dir() {
        return Err(FileError::IsFolder);
    }
    if about.len() > limits.input_bytes {
        return Err(limits.too_large());
    }
    from_reader(file, about.len(), limits)
}

/// The bytes of standard input, inflated if they are gzip.
pub fn read_stdin_bounded(limits: &Limits) -> Result<Vec<u8>, FileError> {
    from_reader(io::stdin().lock(), 0, limits)
}

/// Bytes that are already here, inflated if they are gzip.
pub fn unpack_bounded(bytes: &[u8], limits: &Limits) -> Result<Vec<u8>, FileError> {
    from_reader(bytes, bytes.len() as u64, limits)
}

fn from_reader(
    input: impl Read,
    expected_bytes: u64,
    limits: &Limits,
) -> Result<Vec<u8>, FileError> {
    // One more than expected, so that the read that finds the end needs no new room.
    let room = usize::try_from(expected_bytes.min(limits.input_bytes))
        .unwrap_or(0)
        .saturating_add(1);
    let mut bytes = Vec::with_capacity(room);
    input
        .take(limits.input_bytes.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(FileError::Read)?;
    if bytes.len() as u64 > limits.input_bytes {
        return Err(limits.too_large());
    }
    if bytes.starts_with(&GZIP_MAGIC) {
        inflate(&bytes, limits)
    } else {
        Ok(bytes)
    }
}

fn inflate(compressed: &[u8], limits: &Limits) -> Result<Vec<u8>, FileError> {
    let mut bytes = Vec::new();
    MultiGzDecoder::new(compressed)
        .take(limits.inflated_bytes.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(FileError::Damaged)?;
    if bytes.len() as u64 > limits.inflated_bytes {
        return Err(FileError::InflatesTooLarge {
            limit_bytes: limits.inflated_bytes,
            is_raisable: limits.is_raisable,
        });
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use flate2::{Compression, write::GzEncoder};
    use std::io::Write;

    fn gzip(bytes: &[u8]) -> Vec<u8> {
        let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
        encoder.write_all(bytes).unwrap();
        encoder.finish().unwrap()
    }

    fn read(bytes: &[u8], limits: Limits) -> Result<Vec<u8>, FileError> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        std::fs::write(&path, bytes).unwrap();
        read_bounded(&path, &limits)
    }

    #[test]
    fn plain_bytes_come_back_as_they_are() {
        assert_eq!(read(b"abc", Limits::default()).unwrap(), b"abc");
        assert_eq!(read(b"", Limits::default()).unwrap(), b"");
    }

    #[test]
    fn all_gzip_members_are_inflated() {
        let two = [gzip(b"one,"), gzip(b"two")].concat();
        assert_eq!(read(&two, Limits::default()).unwrap(), b"one,two");
    }

    #[test]
    fn a_gzip_bomb_stops_at_the_limit() {
        let bomb = gzip(&vec![0; 1 << 20]);
        let limits = Limits {
            inflated_bytes: 1 << 10,
            ..Limits::default()
        };
        let error = read(&bomb, limits).unwrap_err().to_string();
        assert!(error.contains("inflates to more than 1 KiB"), "{error}");
    }

    #[test]
    fn a_limit_lets_through_exactly_its_own_size() {
        let limits = Limits {
            input_bytes: 3,
            ..Limits::default()
        };
        assert!(read(b"abc", limits).is_ok());
        assert!(matches!(
            read(b"abcd", limits),
            Err(FileError::TooLarge { limit_bytes: 3, .. })
        ));
        assert!(matches!(
            from_reader(&b"abcd"[..], 0, &limits),
            Err(FileError::TooLarge { .. })
        ));
    }

    #[test]
    fn a_gzip_file_cut_short_is_damaged() {
        let whole = gzip(b"a line that is long enough to be cut");
        assert!(matches!(
            read(&whole[..whole.len() - 6], Limits::default()),
            Err(FileError::Damaged(_))
        ));
        assert!(matches!(
            read(&GZIP_MAGIC, Limits::default()),
            Err(FileError::Damaged(_))
        ));
    }

    #[test]
    fn a_folder_and_a_missing_file_are_told() {
        let folder = tempfile::tempdir().unwrap();
        assert!(matches!(
            read_bounded(folder.path(), &Limits::default()),
            Err(FileError::IsFolder)
        ));
        let missing = read_bounded(&folder.path().join("none"), &Limits::default());
        assert!(matches!(missing, Err(FileError::Read(_))));
    }
}
