//! A strict reader over a TOML document: every value knows its line, every key that nobody asked for is a problem.
//!
//! Readers return `None` where they have reported a problem, so that a whole file is read and every problem told at
//! once; [`Report::result`] makes an error of them.

use std::cell::RefCell;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::duration::parse_duration_s;
use super::error::{Fault, Location, nearest, printable, quoted};
use super::quantity::Quantity;
use super::report::{PROBLEMS_KEPT, Report};
use crate::files::is_invisible;

/// One table of the document, or an empty one in place of a table that is missing.
pub(super) struct TableReader<'r, 't> {
    report: &'r Report<'t>,
    table: Option<&'r DeTable<'t>>,
    path: String,
    location: Location,
    asked: RefCell<Vec<&'static str>>,
}

impl<'r, 't> TableReader<'r, 't> {
    pub(super) fn root(report: &'r Report<'t>, table: &'r DeTable<'t>) -> Self {
        Self::new(
            report,
            Some(table),
            String::new(),
            Location::Key { key: String::new() },
        )
    }

    fn new(
        report: &'r Report<'t>,
        table: Option<&'r DeTable<'t>>,
        path: String,
        location: Location,
    ) -> Self {
        Self {
            report,
            table,
            path,
            location,
            asked: RefCell::default(),
        }
    }

    /// The value of a key, if it is there. Only keys that were asked for are known.
    pub(super) fn optional(&self, key: &'static str) -> Option<Entry<'r, 't>> {
        self.asked.borrow_mut().push(key);
        self.entry(key)
    }

    fn entry(&self, key: &str) -> Option<Entry<'r, 't>> {
        let value = self.table?.get(key)?;
        Some(Entry {
            report: self.report,
            value,
            path: self.path_of(key),
        })
    }

    /// The value of a key that must be there; `expected` says what to write.
    pub(super) fn required(
        &self,
        key: &'static str,
        expected: impl Into<String>,
    ) -> Option<Entry<'r, 't>> {
        let entry = self.optional(key);
        if entry.is_none() {
            self.problem_at(
                key,
                Fault::Missing {
                    expected: expected.into(),
                },
            );
        }
        entry
    }

    pub(super) fn number(&self, key: &'static str, quantity: &Quantity) -> Option<f64> {
        self.required(key, quantity.expected())?.number(quantity)
    }

    /// A number with a default, which is noted where it is taken.
    pub(super) fn number_or(
        &self,
        key: &'static str,
        quantity: &Quantity,
        default: f64,
    ) -> Option<f64> {
        let Some(entry) = self.optional(key) else {
            self.assumed(key, &quantity.written(default));
            return Some(default);
        };
        entry.number(quantity)
    }

    /// Notes that a value is not in the file.
    pub(super) fn assumed(&self, key: &str, value: &str) {
        self.report.note(format!(
            "`{}` is not given: {value} is assumed",
            self.path_of(key)
        ));
    }

    /// Notes something about this table as a whole.
    pub(super) fn note(&self, note: String) {
        self.report.note(note);
    }

    /// A table that may be missing: then it reads as an empty one, and the keys that must be in it are told as missing.
    pub(super) fn section(&self, key: &'static str) -> Option<TableReader<'r, 't>> {
        match self.optional(key) {
            Some(entry) => entry.table(),
            None => {
                let path = self.path_of(key);
                Some(TableReader::new(
                    self.report,
                    None,
                    path.clone(),
                    Location::Key { key: path },
                ))
            }
        }
    }

    /// Reports a problem with a key of this table: at its own line, or at the table's where the key is not there.
    pub(super) fn problem_at(&self, key: &str, fault: Fault) {
        if let Some(entry) = self.entry(key) {
            let _: Option<()> = entry.problem(fault);
            return;
        }
        let path = self.path_of(key);
        let location = match self.location {
            Location::Line { line, column, .. } => Location::Line {
                line,
                column,
                key: Some(path),
            },
            _ => Location::Key { key: path },
        };
        self.report.keep(fault.at(location));
    }

    /// Reports a problem with the table as a whole.
    pub(super) fn problem(&self, fault: Fault) {
        self.report.keep(fault.at(self.location.clone()));
    }

    /// Every key that nobody asked for becomes a problem.
    pub(super) fn finish(self) {
        let known = self.asked.take();
        let unknown = self.table.into_iter().flat_map(|table| table.keys());
        for key in unknown
            .filter(|key| !known.contains(&key.get_ref().as_ref()))
            .take(PROBLEMS_KEPT)
        {
            let (line, column) = self.report.position(key.span().start);
            let path = self.path_of(&printable(key.get_ref()));
            let fault = Fault::UnknownKey {
                nearest: nearest(key.get_ref(), &known),
                known: known.clone(),
            };
            self.report.keep(fault.at(Location::Line {
                line,
                column,
                key: Some(path),
            }));
        }
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }
}

/// One value of the document.
pub(super) struct Entry<'r, 't> {
    report: &'r Report<'t>,
    value: &'r Spanned<DeValue<'t>>,
    path: String,
}

impl<'r, 't> Entry<'r, 't> {
    /// A number within the quantity's bounds; an unusual one leaves a note.
    pub(super) fn number(&self, quantity: &Quantity) -> Option<f64> {
        let value = match self.value.get_ref() {
            DeValue::Integer(integer) => integer.to_string().parse().ok(),
            DeValue::Float(float) => float.as_str().parse().ok(),
            _ => None,
        };
        let Some(value) = value else {
            return self.unreadable(format!(
                "a number such as {}",
                quantity.written(quantity.usual.0)
            ));
        };
        self.checked(value, &self.seen(), quantity)
    }

    /// A whole number within the quantity's bounds.
    pub(super) fn whole(&self, quantity: &Quantity) -> Option<u32> {
        let value = self
            .value
            .get_ref()
            .as_integer()
            .and_then(|integer| integer.to_string().parse::<i64>().ok());
        let Some(value) = value else {
            return self.unreadable(format!("a whole number, {}", quantity.expected()));
        };
        self.checked(value as f64, &self.seen(), quantity)
            .map(|value| value as u32)
    }

    /// A duration in quotes, in seconds.
    pub(super) fn duration_s(&self, quantity: &Quantity) -> Option<f64> {
        let Some(text) = self.value.get_ref().as_str() else {
            return self.unreadable("a duration in quotes, such as \"4:00\" or \"90s\"");
        };
        match parse_duration_s(text) {
            Ok(duration_s) => self.checked(duration_s, &quoted(text), quantity),
            Err(fault) => self.problem(fault),
        }
    }

    /// A name: a text of one line, without invisible characters.
    pub(super) fn name(&self) -> Option<String> {
        const NAME_CHARS: usize = 200;
        match self.value.get_ref().as_str() {
            Some(text) if text.chars().count() <= NAME_CHARS && !text.chars().any(is_invisible) => {
                Some(text.to_owned())
            }
            _ => self.unreadable(format!(
                "a name: one line in quotes, at most {NAME_CHARS} characters"
            )),
        }
    }

    /// A text; `expected` says which.
    pub(super) fn text(&self, expected: &str) -> Option<&'r str> {
        let text = self.value.get_ref().as_str();
        if text.is_some() {
            text
        } else {
            self.unreadable(expected)
        }
    }

    /// The values of an array; `expected` says what to write.
    pub(super) fn array(&self, expected: &str) -> Option<Vec<Entry<'r, 't>>> {
        let Some(array) = self.value.get_ref().as_array() else {
            return self.unreadable(expected);
        };
        let entry = |(index, value)| Entry {
            report: self.report,
            value,
            path: format!("{}[{}]", self.path, index + 1),
        };
        Some(array.iter().enumerate().map(entry).collect())
    }

    pub(super) fn table(&self) -> Option<TableReader<'r, 't>> {
        let Some(table) = self.value.get_ref().as_table() else {
            return self.unreadable("a table of keys and values");
        };
        Some(TableReader::new(
            self.report,
            Some(table),
            self.path.clone(),
            self.location(),
        ))
    }

    /// Reports a problem with this value.
    pub(super) fn problem<T>(&self, fault: Fault) -> Option<T> {
        self.report.keep(fault.at(self.location()));
        None
    }

    pub(super) fn unreadable<T>(&self, expected: impl Into<String>) -> Option<T> {
        self.problem(Fault::unreadable(self.seen(), expected))
    }

    /// Notes something about this value.
    pub(super) fn note(&self, remark: &str) {
        self.report.note(format!("{}: {remark}", self.location()));
    }

    /// Checks a value that this entry holds, or a part of it, as the person wrote it.
    pub(super) fn checked(&self, value: f64, seen: &str, quantity: &Quantity) -> Option<f64> {
        if let Some(remark) = quantity.remark(value)
            && quantity.check(value, seen).is_ok()
        {
            self.note(&remark);
        }
        quantity
            .check(value, seen)
            .map_or_else(|fault| self.problem(fault), Some)
    }

    pub(super) fn seen(&self) -> String {
        match self.value.get_ref() {
            DeValue::Table(_) => "a table".to_owned(),
            DeValue::Array(_) => "a list".to_owned(),
            _ => quoted(self.report.text.get(self.value.span()).unwrap_or_default()),
        }
    }

    fn location(&self) -> Location {
        let (line, column) = self.report.position(self.value.span().start);
        Location::Line {
            line,
            column,
            key: Some(self.path.clone()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::error::Problem;
    use super::super::quantity::{RIDER_MASS_KG, WORK};
    use super::*;

    fn problems_of(text: &str, read: impl Fn(&TableReader<'_, '_>)) -> Vec<String> {
        let report = Report::new(text);
        if let Some(document) = report.document() {
            let root = TableReader::root(&report, &document);
            read(&root);
            root.finish();
        }
        report.result(Some(())).map_or_else(
            |error| error.problems.iter().map(Problem::to_string).collect(),
            |_| vec![],
        )
    }

    #[test]
    fn a_key_that_nobody_asked_for_is_told_with_its_line_and_the_nearest_known_one() {
        let problems = problems_of("a = 1\nmass_kgs = 68\n", |root| {
            let _ = (root.optional("a"), root.optional("mass_kg"));
        });
        let told = "line 2, key `mass_kgs`: not a known key; did you mean `mass_kg`? known here: a, mass_kg";
        assert_eq!(problems, [told]);
    }

    #[test]
    fn problems_come_in_the_order_of_the_text_and_all_at_once() {
        let problems = problems_of("x = 1\nmass_kg = 5\nwork = 240\n", |root| {
            let _ = root
                .optional("work")
                .and_then(|entry| entry.duration_s(&WORK));
            let _ = root.number("mass_kg", &RIDER_MASS_KG);
        });
        assert_eq!(problems.len(), 3);
        for (problem, start) in problems.iter().zip([
            "line 1, key `x`",
            "line 2, key `mass_kg`",
            "line 3, key `work`",
        ]) {
            assert!(problem.starts_with(start), "{problem}");
        }
    }

    #[test]
    fn a_column_is_counted_in_characters_and_lines_may_end_as_on_windows() {
        let report = Report::new("a = 'ä'\r\nb = 'öö' x\r\n");
        assert!(report.document().is_none());
        let error = report.result::<()>(None).unwrap_err();
        assert!(
            matches!(
                error.problems[0].location,
                Location::Line {
                    line: 2,
                    column: 10,
                    key: None
                }
            ),
            "{error:?}"
        );
    }

    #[test]
    fn a_duration_without_quotes_is_advised_to_take_them() {
        for text in ["work = 4:00\n", "work = 4:00 # easy\n"] {
            let problems = problems_of(text, |_| ());
            assert!(problems[0].contains("in quotes: \"4:00\""), "{problems:?}");
        }
        let problems = problems_of("work = 04:00\n", |root| {
            let _ = root
                .optional("work")
                .and_then(|entry| entry.duration_s(&WORK));
        });
        assert!(
            problems[0].contains("`04:00` is not a duration in quotes"),
            "{problems:?}"
        );
    }

    #[test]
    fn not_a_number_is_outside_every_bound() {
        for text in [
            "mass_kg = nan",
            "mass_kg = inf",
            "mass_kg = -inf",
            "mass_kg = 1e999",
        ] {
            let problems = problems_of(text, |root| {
                let _ = root.number("mass_kg", &RIDER_MASS_KG);
            });
            assert!(
                problems[0].contains("is outside 25 to 250 kg"),
                "{problems:?}"
            );
        }
    }
}
