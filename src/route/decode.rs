//! Bytes become text, whatever their encoding, and the text tells its format.

use super::RouteError;
use super::faults::{in_short, quoted};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};
use quick_xml::{Reader, events::Event};
use std::borrow::Cow;

/// How far into a file an XML declaration can reach.
const DECLARATION_BYTES: usize = 256;

/// A file's text, and what had to be assumed to get it.
pub(super) struct Text<'a> {
    pub(super) text: Cow<'a, str>,
    pub(super) warning: Option<String>,
}

/// The formats that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Format {
    Gpx,
    Kml,
    GeoJson,
}

/// The text, by byte order mark, by declaration, or as UTF-8; the mark itself is taken off.
pub(super) fn text(bytes: &[u8]) -> Result<Text<'_>, RouteError> {
    if bytes.starts_with(&[0xff, 0xfe, 0, 0]) || bytes.starts_with(&[0, 0, 0xfe, 0xff]) {
        return Err(RouteError::UnknownEncoding {
            label: "UTF-32".into(),
        });
    }
    if let Some((encoding, mark_bytes)) = Encoding::for_bom(bytes) {
        return Ok(decoded(&bytes[mark_bytes..], encoding));
    }
    match bytes {
        [b'<' | b'{' | b' ' | b'\n' | b'\r' | b'\t', 0, ..] => return Ok(decoded(bytes, UTF_16LE)),
        [0, b'<' | b'{' | b' ' | b'\n' | b'\r' | b'\t', ..] => return Ok(decoded(bytes, UTF_16BE)),
        _ => {}
    }
    let encoding = match declared(bytes) {
        None => UTF_8,
        Some(label) => Encoding::for_label(label).ok_or_else(|| RouteError::UnknownEncoding {
            label: in_short(&String::from_utf8_lossy(label)),
        })?,
    };
    // A declaration that reads as single bytes can't be UTF-16: the file was saved anew and kept its old declaration.
    let encoding = if encoding == UTF_16LE || encoding == UTF_16BE {
        UTF_8
    } else {
        encoding
    };
    Ok(decoded(bytes, encoding))
}

fn decoded<'a>(bytes: &'a [u8], encoding: &'static Encoding) -> Text<'a> {
    if encoding != UTF_8 {
        let (text, broken) = encoding.decode_without_bom_handling(bytes);
        let warning = broken.then(|| {
            format!(
                "some characters are not valid {} and were replaced",
                encoding.name()
            )
        });
        return Text { text, warning };
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Text {
            text: Cow::Borrowed(text),
            warning: None,
        },
        // A character cut in two by the end of the file is no other encoding.
        Err(error) if error.error_len().is_none() => {
            let (whole, _) = bytes.split_at(error.valid_up_to());
            Text {
                text: String::from_utf8_lossy(whole),
                warning: None,
            }
        }
        Err(_) => {
            let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
            let warning = "it is not valid UTF-8 and was read as windows-1252: names may show wrong characters";
            Text {
                text,
                warning: Some(warning.into()),
            }
        }
    }
}

/// The encoding that an XML declaration names, if there is one.
fn declared(bytes: &[u8]) -> Option<&[u8]> {
    let head = bytes.trim_ascii_start();
    let head = &head[..head.len().min(DECLARATION_BYTES)];
    let declaration = head.strip_prefix(b"<?xml")?;
    let end = declaration.windows(2).position(|pair| pair == b"?>")?;
    let declaration = &declaration[..end];
    let key = b"encoding";
    let at = declaration
        .windows(key.len())
        .position(|window| window == key)?;
    let value = declaration[at + key.len()..]
        .trim_ascii_start()
        .strip_prefix(b"=")?
        .trim_ascii_start();
    let (quote, value) = value.split_first()?;
    let length = value.iter().position(|byte| byte == quote)?;
    Some(&value[..length])
}

/// What a text is, told by its first element or brace.
pub(super) fn format(text: &str) -> Result<Format, RouteError> {
    let start = text.trim_start();
    match start.as_bytes().first() {
        None => Err(RouteError::Empty),
        Some(b'<') => format_of_root(start),
        Some(b'{') => Ok(Format::GeoJson),
        Some(_) if start.starts_with("PK\u{3}\u{4}") => Err(RouteError::UnknownFormat {
            seen: "a zip archive's mark (unpack it first)".into(),
        }),
        Some(_) => {
            let binary = start
                .chars()
                .take(64)
                .any(|c| c.is_control() && !c.is_whitespace());
            let seen = if binary {
                "binary data".into()
            } else {
                quoted(start.lines().next().unwrap_or_default())
            };
            Err(RouteError::UnknownFormat { seen })
        }
    }
}

fn format_of_root(text: &str) -> Result<Format, RouteError> {
    let mut reader = Reader::from_str(text);
    loop {
        match reader.read_event() {
            Ok(Event::Start(element) | Event::Empty(element)) => {
                return match element.local_name().into_inner() {
                    "gpx" => Ok(Format::Gpx),
                    "kml" => Ok(Format::Kml),
                    root => Err(RouteError::UnknownRoot {
                        root: quoted(root).trim_matches('"').into(),
                    }),
                };
            }
            Ok(Event::Eof) => {
                return Err(RouteError::UnknownFormat {
                    seen: "XML that has no element".into(),
                });
            }
            Ok(_) => {}
            Err(error) => {
                return Err(RouteError::Xml {
                    line: 1,
                    what: in_short(&error.to_string()),
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utf16(text: &str, big: bool) -> Vec<u8> {
        text.encode_utf16()
            .flat_map(|unit| {
                if big {
                    unit.to_be_bytes()
                } else {
                    unit.to_le_bytes()
                }
            })
            .collect()
    }

    #[test]
    fn marks_and_zero_bytes_tell_the_encoding() {
        let sample = "<gpx>Ö</gpx>";
        let marked = [b"\xef\xbb\xbf", sample.as_bytes()].concat();
        let little = [b"\xff\xfe".to_vec(), utf16(sample, false)].concat();
        let big = [b"\xfe\xff".to_vec(), utf16(sample, true)].concat();
        for bytes in [
            sample.as_bytes().to_vec(),
            marked,
            little,
            big,
            utf16(sample, false),
            utf16(sample, true),
        ] {
            assert_eq!(text(&bytes).unwrap().text, sample);
        }
    }

    #[test]
    fn a_declared_encoding_is_used_and_a_stale_one_is_not() {
        let latin = b"<?xml version='1.0' encoding = 'ISO-8859-1'?><gpx>\xd6</gpx>";
        assert!(text(latin).unwrap().text.ends_with("<gpx>Ö</gpx>"));
        let stale = "<?xml version=\"1.0\" encoding=\"UTF-16\"?><gpx>Ö</gpx>";
        assert_eq!(text(stale.as_bytes()).unwrap().text, stale);
        let unknown = text(b"<?xml version='1.0' encoding='klingon'?><gpx/>");
        assert!(
            matches!(unknown, Err(RouteError::UnknownEncoding { label }) if label == "klingon")
        );
    }

    #[test]
    fn text_that_is_not_the_utf_8_it_should_be_is_read_with_a_warning() {
        let read = text(b"<gpx>\xd6</gpx>").unwrap();
        assert_eq!(read.text, "<gpx>Ö</gpx>");
        assert!(read.warning.is_some());
    }

    #[test]
    fn formats_are_told_by_content() {
        assert_eq!(
            format("<?xml version='1.0'?><!-- c --><!DOCTYPE gpx><gpx/>"),
            Ok(Format::Gpx)
        );
        assert_eq!(format("<k:kml xmlns:k='x'>"), Ok(Format::Kml));
        assert_eq!(format(" \n{\"type\":1}"), Ok(Format::GeoJson));
        assert_eq!(format("  "), Err(RouteError::Empty));
        assert!(format("<html>").unwrap_err().to_string().contains("<html>"));
        assert!(
            format("lat,lon\n1,2")
                .unwrap_err()
                .to_string()
                .contains("\"lat,lon\"")
        );
        assert!(
            format("\u{e}\u{10}\u{8}ride")
                .unwrap_err()
                .to_string()
                .contains("binary")
        );
    }
}
