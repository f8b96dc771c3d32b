//! What tables on a terminal are made of.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

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

/// Kilograms in a pound (the same agreement).
const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;
/// Newtons in a pound-force: that mass at standard gravity, 9.806 65 m/s² (ISO 2533:1975).
const NEWTONS_PER_POUND: f64 = 4.448_221_615_260_5;

/// Where text goes: how wide it may be, and in which units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Paper {
    /// Columns.
    pub width: u16,
    /// Units.
    pub units: Units,
    /// Whether only ASCII may stand on it.
    pub ascii: bool,
}

impl Default for Paper {
    fn default() -> Self {
        Paper {
            width: 100,
            units: Units::Metric,
            ascii: false,
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

    /// A distance along a route, in kilometres or miles.
    pub fn far_value(&self, metres: f64) -> f64 {
        match self.units {
            Units::Metric => metres / 1000.0,
            Units::Imperial => metres / METRES_PER_MILE,
        }
    }

    /// A height, in metres or feet.
    pub fn height(&self, metres: f64) -> f64 {
        match self.units {
            Units::Metric => metres,
            Units::Imperial => metres / METRES_PER_FOOT,
        }
    }

    /// Back from [`Paper::height`].
    pub fn metres_of_height(&self, height: f64) -> f64 {
        match self.units {
            Units::Metric => height,
            Units::Imperial => height * METRES_PER_FOOT,
        }
    }

    /// `m` or `ft`.
    pub fn height_unit(&self) -> &'static str {
        match self.units {
            Units::Metric => "m",
            Units::Imperial => "ft",
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

    /// `m` or `ft`.
    pub fn short_unit(&self) -> &'static str {
        self.pick("m", "ft")
    }

    /// A length of road or a height, without unit.
    pub fn short_number(&self, metres: f64) -> f64 {
        metres / self.pick(1.0, METRES_PER_FOOT)
    }

    /// `N·m` or `lb·ft`.
    pub fn torque_unit(&self) -> &'static str {
        self.pick("N·m", "lb·ft")
    }

    /// A torque, without unit.
    pub fn torque_number(&self, newton_metres: f64) -> f64 {
        newton_metres / self.pick(1.0, NEWTONS_PER_POUND * METRES_PER_FOOT)
    }

    /// `N` or `lbf`.
    pub fn force_unit(&self) -> &'static str {
        self.pick("N", "lbf")
    }

    /// A force, without unit.
    pub fn force_number(&self, newtons: f64) -> f64 {
        newtons / self.pick(1.0, NEWTONS_PER_POUND)
    }

    /// `kg` or `lb`.
    pub fn mass_unit(&self) -> &'static str {
        self.pick("kg", "lb")
    }

    /// A mass, without unit.
    pub fn mass_number(&self, kilograms: f64) -> f64 {
        kilograms / self.pick(1.0, KILOGRAMS_PER_POUND)
    }

    /// The speed of pedals, with unit.
    pub fn pedal_speed(&self, ms: f64) -> String {
        let number = self.short_number(ms);
        format!("{number:.1} {}/s", self.short_unit())
    }

    fn pick<T>(&self, metric: T, imperial: T) -> T {
        match self.units {
            Units::Metric => metric,
            Units::Imperial => imperial,
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
            let width = word.width();
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

/// Text in ASCII, as many characters as before where there is one that serves, so that tables stay aligned.
pub fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            c if c.is_ascii() => out.push(c),
            '×' => out.push('x'),
            '–' | '—' | '−' | '─' => out.push('-'),
            '·' | '…' => out.push('.'),
            '\u{a0}' => out.push(' '),
            '±' => out.push('~'),
            '≥' => out.push('>'),
            '≤' => out.push('<'),
            '’' | '‘' => out.push('\''),
            '“' | '”' => out.push('"'),
            '²' => out.push('2'),
            'é' | 'è' | 'ê' => out.push('e'),
            'ñ' => out.push('n'),
            c => out.extend(std::iter::repeat_n('?', c.width().unwrap_or(0))),
        }
    }
    out
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

/// A stranger's text with a space for whatever steers a terminal, turns text round or may not stand in XML (1.0, 2.2).
pub(crate) fn clean(text: &str) -> String {
    let shown = |c: char| match c {
        '\u{fffe}' | '\u{ffff}' => ' ',
        c if is_invisible(c) => ' ',
        c => c,
    };
    text.chars().map(shown).collect()
}

/// A stranger's text made safe for a terminal, and cut to so many columns.
pub(super) fn plain(text: &str, most: usize) -> String {
    let clean = clean(text);
    if clean.width() <= most {
        return clean;
    }
    let mut cut = String::new();
    for c in clean.chars() {
        if cut.width() + c.width().unwrap_or(0) >= most {
            break;
        }
        cut.push(c);
    }
    cut + "…"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strangers_text_is_cut_to_columns_not_characters() {
        // Wide characters take two columns each (Unicode Standard Annex 11).
        assert_eq!(plain("山道山道", 6), "山道…");
        assert_eq!(plain("a\u{1b}[31m\u{202e}b", 20), "a [31m b");
    }

    #[test]
    fn tables_with_wide_characters_align() {
        let rows = vec![
            vec!["山道".to_owned(), "1".to_owned()],
            vec!["road".to_owned(), "2".to_owned()],
        ];
        let table = Paper::default().table(&["route", "n"], rows, &[0]);
        let widths: Vec<usize> = table.lines().skip(2).map(UnicodeWidthStr::width).collect();
        assert_eq!(widths[0], widths[1], "{table}");
    }

    #[test]
    fn ascii_keeps_the_width() {
        for text in ["50×24 – 5.5 ± 0.1 %…", "山道 ─ Grüße", "36 N·m ≥ 3\u{a0}"] {
            let plain = ascii(text);
            assert!(plain.is_ascii());
            assert_eq!(plain.width(), text.width());
        }
        assert_eq!(ascii("50×24\u{a0}"), "50x24 ");
    }
}
