//! The gear chart.

use super::document::{AimedBand, GearEntry, GearName, GearsDocument, GradeEntry, Range};
use super::rounded;
use super::text::Paper;
use crate::gearing::{Band, Bands, Chart, GradeColumn};

/// Puts a chart into a document.
pub fn document(rider: Option<&str>, bands: &Bands, chart: &Chart) -> GearsDocument {
    GearsDocument {
        schema: "hillwright.gears/1".to_owned(),
        rider: rider.map(str::to_owned),
        cadence_band_rpm: aimed(&bands.cadence_rpm),
        power_band_w: aimed(&bands.power_w),
        grades: chart.grades.iter().map(grade_entry).collect(),
        steepest_grade_pct: rounded(chart.steepest_grade_pct, 2),
        gentlest_grade_pct: rounded(chart.gentlest_grade_pct, 2),
    }
}

fn aimed(band: &Band) -> AimedBand {
    AimedBand {
        from: rounded(band.from, 1),
        to: rounded(band.to, 1),
        aim: rounded(band.aim, 1),
    }
}

fn range(band: &Band, decimals: i32) -> Range {
    Range {
        low: rounded(band.from, decimals),
        high: rounded(band.to, decimals),
    }
}

fn grade_entry(column: &GradeColumn) -> GradeEntry {
    GradeEntry {
        grade_pct: column.grade_pct,
        speed_range_kmh: range(&column.speed_ms.scaled(3.6), 2),
        gears: column
            .gears
            .iter()
            .map(|g| GearEntry {
                chainring: g.gear.chainring,
                sprocket: g.gear.sprocket,
                development_m: rounded(g.gear.development_m, 3),
                cadence_range_rpm: range(&g.cadence_rpm, 1),
                cadence_rpm: rounded(g.cadence_rpm.aim, 1),
                torque_range_nm: range(&g.torque_nm, 1),
                pedal_force_range_n: range(&g.pedal_force_n, 0),
                suits: g.suits,
                crossed: g.gear.crossed,
            })
            .collect(),
        best: column.best.map(|i| GearName {
            chainring: column.gears[i].gear.chainring,
            sprocket: column.gears[i].gear.sprocket,
        }),
    }
}

/// The document as a chart: a row a gear, a column a grade, the cadence at the aimed power in each cell.
pub fn text(document: &GearsDocument, paper: &Paper) -> String {
    let power = &document.power_band_w;
    let cadence = &document.cadence_band_rpm;
    let mut out = paper.wrapped(
        &format!(
            "Cadence in rpm at {:.0} W, by gear and grade. [ ] holds {:.0}–{:.0} rpm somewhere in {:.0}–{:.0} W; × the chain runs askew.",
            power.aim, cadence.from, cadence.to, power.from, power.to
        ),
        0,
    );
    out.push('\n');
    let per_table = usize::from((paper.width.max(40) - 14) / 8).max(1);
    for grades in document.grades.chunks(per_table) {
        out += &chart_table(grades, paper);
        out.push('\n');
    }
    for grade in &document.grades {
        out += &paper.wrapped(&answer(document, grade, paper), 2);
    }
    out.push('\n');
    out += &paper.wrapped(&window(document), 2);
    out += &paper.wrapped(
        "Torque and pedal force are means over a turn, both legs together; the force's peak is about twice its mean (common practice, no source). Speeds are steady ones, without wind, at sea level.",
        2,
    );
    out
}

fn chart_table(grades: &[GradeEntry], paper: &Paper) -> String {
    let mut head = vec!["gear".to_owned(), "m/turn".to_owned()];
    head.extend(grades.iter().map(|g| format!("{} %", g.grade_pct)));
    let Some(first) = grades.first() else {
        return String::new();
    };
    let rows = (0..first.gears.len())
        .rev()
        .map(|i| {
            let gear = &first.gears[i];
            let crossed = if gear.crossed { " ×" } else { "  " };
            let mut row = vec![
                format!("{}×{}{crossed}", gear.chainring, gear.sprocket),
                format!("{:.2}", gear.development_m),
            ];
            row.extend(grades.iter().map(|g| {
                let here = &g.gears[i];
                if here.suits {
                    format!("[{:.0}]", here.cadence_rpm)
                } else {
                    format!("{:.0} ", here.cadence_rpm)
                }
            }));
            row
        })
        .collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    paper.table(&head, rows, &[0])
}

/// The answer for one grade, in a sentence.
fn answer(document: &GearsDocument, grade: &GradeEntry, paper: &Paper) -> String {
    let speeds = grade.speed_range_kmh;
    let start = format!(
        "{} %: {}–{}",
        grade.grade_pct,
        trimmed(speeds.low),
        paper.speed(speeds.high)
    );
    let band = &document.cadence_band_rpm;
    let suiting: Vec<&GearEntry> = grade.gears.iter().filter(|g| g.suits).collect();
    let best = grade.best.and_then(|b| {
        grade
            .gears
            .iter()
            .find(|g| g.chainring == b.chainring && g.sprocket == b.sprocket)
    });
    let Some(best) = best else {
        let easiest = grade.gears.first();
        let why = match easiest {
            Some(g) if g.cadence_range_rpm.high < band.from => format!(
                "too steep: the lowest gear, {}×{}, turns {:.0} rpm at most",
                g.chainring, g.sprocket, g.cadence_range_rpm.high
            ),
            _ => "too gentle, or between two gears".to_owned(),
        };
        return format!("{start}; no gear suits, {why}.");
    };
    format!(
        "{start}; {}×{} turns {:.0}–{:.0} rpm, {:.0}–{:.0} N·m, {:.0}–{:.0} N on the pedals{}.",
        best.chainring,
        best.sprocket,
        best.cadence_range_rpm.low,
        best.cadence_range_rpm.high,
        best.torque_range_nm.low,
        best.torque_range_nm.high,
        best.pedal_force_range_n.low,
        best.pedal_force_range_n.high,
        if suiting.len() > 1 {
            format!("; {} gears suit", suiting.len())
        } else {
            String::new()
        }
    )
}

fn trimmed(value: f64) -> String {
    format!("{value:.1}")
}

fn window(document: &GearsDocument) -> String {
    let (cadence, power) = (&document.cadence_band_rpm, &document.power_band_w);
    format!(
        "Some gear suits from {:.1} % to {:.1} %: {:.0}–{:.0} rpm at {:.0}–{:.0} W.",
        document.gentlest_grade_pct.max(0.0),
        document.steepest_grade_pct,
        cadence.from,
        cadence.to,
        power.from,
        power.to
    )
}
