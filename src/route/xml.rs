//! What the two XML formats share: text in pieces, and places in the file.

use super::RouteError;
use super::faults::in_short;
use crate::files::is_invisible;
use quick_xml::events::BytesRef;
use std::borrow::Cow;
use std::cell::Cell;

/// The text of one element. Comments, CDATA and entities cut it into pieces; it is copied only then.
#[derive(Debug, Default)]
pub(super) struct Pieces<'a>(Cow<'a, str>);

impl<'a> Pieces<'a> {
    pub(super) fn clear(&mut self) {
        self.0 = Cow::Borrowed("");
    }

    pub(super) fn push(&mut self, piece: Cow<'a, str>) {
        if self.0.is_empty() {
            self.0 = piece;
        } else {
            self.0.to_mut().push_str(&piece);
        }
    }

    /// Adds the character that `&amp;` or `&#228;` stands for. Any other entity is kept as written, never expanded.
    pub(super) fn push_reference(&mut self, reference: &BytesRef) {
        let text = self.0.to_mut();
        if let Ok(Some(character)) = reference.resolve_char_ref() {
            text.push(character);
            return;
        }
        let name = reference.xml10_content();
        match quick_xml::escape::resolve_xml_entity(&name) {
            Some(known) => text.push_str(known),
            None => text.extend(["&", &name, ";"]),
        }
    }

    pub(super) fn as_str(&self) -> &str {
        &self.0
    }

    /// The text on one line without white space around it; `None` if nothing is left.
    pub(super) fn to_name(&self) -> Option<String> {
        name(&self.0)
    }
}

/// A name on one line, without control characters; `None` if nothing is left.
pub(super) fn name(text: &str) -> Option<String> {
    let spaced = text.replace(is_invisible, " ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    (!words.is_empty()).then(|| words.join(" "))
}

/// The lines of a text. Whoever asks for one place after the other has the text counted through once, however many they are.
#[derive(Debug, Default)]
pub(super) struct Lines<'a> {
    pub(super) text: &'a str,
    /// Where the last place was, and how many lines ended before it.
    counted: Cell<(usize, usize)>,
}

impl<'a> Lines<'a> {
    pub(super) fn of(text: &'a str) -> Lines<'a> {
        Lines {
            text,
            counted: Cell::default(),
        }
    }

    /// The line, counted from 1, on which a byte of the text lies.
    pub(super) fn at(&self, offset: u64) -> usize {
        let bytes = self.text.as_bytes();
        let end = usize::try_from(offset).map_or(bytes.len(), |offset| offset.min(bytes.len()));
        let (from, before) = match self.counted.get() {
            (from, before) if from <= end => (from, before),
            _ => (0, 0),
        };
        let ended = bytes[from..end].iter().filter(|byte| **byte == b'\n');
        let ended = before + ended.count();
        self.counted.set((end, ended));
        1 + ended
    }
}

/// How reading an XML file came to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// The root element was closed.
    Whole,
    /// The file stops before that.
    CutShort,
}

/// Says whether an error of the reader means that the file stops too early, or that it is wrong where it stands.
pub(super) fn end_or_error(
    error: &quick_xml::Error,
    lines: &Lines,
    offset: u64,
) -> Result<End, RouteError> {
    match error {
        quick_xml::Error::Syntax(_) => Ok(End::CutShort),
        error => Err(RouteError::Xml {
            line: lines.at(offset),
            what: in_short(&error.to_string()),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entities_and_pieces_join_to_one_text() {
        let mut pieces = Pieces::default();
        pieces.push("Hill ".into());
        for reference in ["amp", "#x41", "#66", "custom"] {
            pieces.push_reference(&BytesRef::new(reference));
        }
        pieces.push("\n end ".into());
        assert_eq!(pieces.to_name().as_deref(), Some("Hill &AB&custom; end"));
        pieces.clear();
        assert_eq!(pieces.to_name(), None);
    }

    #[test]
    fn lines_are_counted_from_one_and_offsets_beyond_the_end_are_the_end() {
        let lines = Lines::of("a\nb\nc");
        for (offset, line) in [(0, 1), (2, 2), (99, 3), (1, 1), (3, 2), (3, 2), (4, 3)] {
            assert_eq!(lines.at(offset), line, "{offset}");
        }
    }
}
