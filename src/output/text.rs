//! What tables on a terminal are made of.

use crate::files::is_invisible;
use comfy_table::{Cell, CellAlignment, ContentArrangement, LineStyle, Row, Table, TableStyle};

/// Units that people read; documents for machines are always metric.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Units {
    /// Kilometres and metres.
    #[default]
    Metric,
    /// Miles and feet.
    Imperial,
}

/// Metres in a statute mile (the international yard and pound agreement of 1959).
const METRES_PER_MILE: f64 = 1609.344;
/// Metres in a foot (the same agreement).
const METRES_PER_FOOT: f64 = 0.3048;

/// Where text goes: how wide it may be, and in which units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// Columns.
    pub width: u16,
    /// Units.
    pub units: Units,
}

impl Default for Paper {
    fn default() -> Self {
        Paper {
            width: 100,
            units: Units::Metric,
        }
    }
}

impl Paper {
    /// A distance along a route, with unit.
    pub fn far(&self, metres: f64) -> String {
        format!("{} {}", self.far_number(metres), self.far_unit())
    }

    /// A distance along a route, without unit.
    pub fn far_number(&self, metres: f64) -> String {
        match self.units {
            Units::Metric => format!("{:.2}", metres / 1000.0),
            Units::Imperial => format!("{:.2}", metres / METRES_PER_MILE),
        }
    }

    /// `km` or `mi`.
    pub fn far_unit(&self) -> &'static str {
        match self.units {
            Units::Metric => "km",
            Units::Imperial => "mi",
        }
    }

    /// A length of road or a height, with unit.
    pub fn short(&self, metres: f64) -> String {
        match self.units {
            Units::Metric => format!("{} m", thousands(metres)),
            Units::Imperial => format!("{} ft", thousands(metres / METRES_PER_FOOT)),
        }
    }

    /// A speed, with unit.
    pub fn speed(&self, kmh: f64) -> String {
        let unit = match self.units {
            Units::Metric => "km/h",
            Units::Imperial => "mph",
        };
        format!("{} {unit}", self.speed_number(kmh))
    }

    /// A speed, without unit.
    pub fn speed_number(&self, kmh: f64) -> String {
        match self.units {
            Units::Metric => format!("{kmh:.1}"),
            Units::Imperial => format!("{:.1}", kmh * 1000.0 / METRES_PER_MILE),
        }
    }

    /// A table without frame: head, rule, rows; numbers to the right.
    pub fn table(&self, head: &[&str], rows: Vec<Vec<String>>, left: &[usize]) -> String {
        let mut table = Table::new();
        table.load_style(
            TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')),
        );
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(self.width);
        table.set_header(Row::from(head.iter().map(Cell::new).collect::<Vec<_>>()));
        for row in rows {
            table.add_row(row);
        }
        for (i, column) in table.column_iter_mut().enumerate() {
            let side = if left.contains(&i) {
                CellAlignment::Left
            } else {
                CellAlignment::Right
            };
            column.set_cell_alignment(side);
            column.set_padding((0, 1));
        }
        table
            .lines()
            .map(|line| format!("{}\n", line.trim_end()))
            .collect()
    }

    /// Text broken at words to the paper's width, later lines indented.
    pub fn wrapped(&self, text: &str, indent: usize) -> String {
        let mut out = String::new();
        let mut column = 0;
        for word in text.split_whitespace() {
            let width = word.chars().count();
            if column > 0 && column + 1 + width > usize::from(self.width) {
                out.push('\n');
                out.push_str(&" ".repeat(indent));
                column = indent;
            } else if column > 0 {
                out.push(' ');
                column += 1;
            }
            out.push_str(word);
            column += width;
        }
        out.push('\n');
        out
    }
}

/// A whole number with thousands set apart.
pub(super) fn thousands(value: f64) -> String {
    let digits = format!("{:.0}", value.abs());
    let mut out = String::new();
    if value < -0.5 {
        out.push('-');
    }
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

/// A stranger's text made safe for a terminal: control characters become spaces, and it is cut to a length.
pub(super) fn plain(text: &str, most: usize) -> String {
    let clean: String = text
        .chars()
        .map(|c| if is_invisible(c) { ' ' } else { c })
        .collect();
    if clean.chars().count() <= most {
        return clean;
    }
    clean
        .chars()
        .take(most.saturating_sub(1))
        .chain(std::iter::once('…'))
        .collect()
}
