//! The gear chart.

use super::document::{
    AimedBand, ChangeEntry, GearEntry, GearName, GearsDocument, GradeEntry, PushEntry, Range,
    WindowEntry,
};
use super::rounded;
use super::text::Paper;
use crate::gearing::{Band, Bands, Change, Chart, Drive, GradeColumn, effort};
use crate::prescription::RiderFile;
use crate::ride::Rider;

/// Cadence that most riders choose on the flat, beside which a big gear is felt (common practice, no source).
const FREE_CADENCE_RPM: f64 = 90.0;
/// Widths of the chart's first three columns together, and of one of its grades.
const FIRST_COLUMNS: u16 = 29;
const GRADE_COLUMN: u16 = 6;
/// Turns a rider's mass into a weight, in m/s² (standard gravity, ISO 2533:1975).
const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;

/// Puts a chart into a document.
pub fn document(file: &RiderFile, drive: &Drive, bands: &Bands, chart: &Chart) -> GearsDocument {
    GearsDocument {
        schema: "hillwright.gears/1".to_owned(),
        rider: file.name.clone(),
        cadence_band_rpm: aimed(&bands.cadence_rpm),
        power_band_w: aimed(&bands.power_w),
        grades: chart.grades.iter().map(grade_entry).collect(),
        steepest_grade_pct: rounded(chart.steepest_grade_pct, 2),
        gentlest_grade_pct: rounded(chart.gentlest_grade_pct, 2),
        windows: chart
            .windows
            .iter()
            .map(|w| WindowEntry {
                gear: GearName::from(&w.gear),
                gentlest_grade_pct: rounded(w.gentlest_grade_pct, 2),
                steepest_grade_pct: rounded(w.steepest_grade_pct, 2),
            })
            .collect(),
        push: [bands.cadence_rpm.aim, FREE_CADENCE_RPM]
            .map(|cadence_rpm| push_entry(&file.rider, drive, bands.power_w.aim, cadence_rpm))
            .to_vec(),
    }
}

fn push_entry(rider: &Rider, drive: &Drive, power_w: f64, cadence_rpm: f64) -> PushEntry {
    let torque_nm = effort::torque_nm(power_w * drive.crank_per_measured, cadence_rpm);
    let pedal_force_n = effort::pedal_force_n(torque_nm, drive.crank_mm);
    PushEntry {
        cadence_rpm: rounded(cadence_rpm, 1),
        torque_nm: rounded(torque_nm, 1),
        torque_nm_per_kg: rounded(torque_nm / rider.mass_kg, 2),
        pedal_force_n: rounded(pedal_force_n, 0),
        pedal_force_body_weight_pct: rounded(
            100.0 * pedal_force_n / (rider.mass_kg * STANDARD_GRAVITY_M_S2),
            0,
        ),
        pedal_speed_ms: rounded(
            effort::angular_speed_rad_s(cadence_rpm) * drive.crank_mm / 1000.0,
            2,
        ),
    }
}

pub(super) fn aimed(band: &Band) -> AimedBand {
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
                gear: GearName::from(&g.gear),
                development_m: rounded(g.gear.development_m, 3),
                cadence_range_rpm: range(&g.cadence_rpm, 1),
                cadence_rpm: rounded(g.cadence_rpm.aim, 1),
                torque_range_nm: range(&g.torque_nm, 1),
                pedal_force_range_n: range(&g.pedal_force_n, 0),
                suits: g.suits,
                crossed: g.gear.crossed,
            })
            .collect(),
        best: column.best.map(|i| GearName::from(&column.gears[i].gear)),
        changes: column.changes.iter().map(change_entry).collect(),
    }
}

fn change_entry(change: &Change) -> ChangeEntry {
    match *change {
        Change::Sprocket {
            sprocket,
            chainring,
        } => ChangeEntry {
            new_part: "sprocket".to_owned(),
            chainring,
            sprocket,
        },
        Change::Chainring {
            chainring,
            sprocket,
        } => ChangeEntry {
            new_part: "chainring".to_owned(),
            chainring,
            sprocket,
        },
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
    let room = usize::from(paper.width.max(FIRST_COLUMNS + GRADE_COLUMN) - FIRST_COLUMNS);
    let tables = document
        .grades
        .len()
        .div_ceil(room / usize::from(GRADE_COLUMN))
        .max(1);
    let per_table = document.grades.len().div_ceil(tables).max(1);
    for (i, grades) in document.grades.chunks(per_table).enumerate() {
        let windows = if i == 0 { &document.windows[..] } else { &[] };
        out += &chart_table(grades, windows, paper);
        out.push('\n');
    }
    for grade in &document.grades {
        out += &paper.wrapped(&answer(document, grade, paper), 2);
    }
    out.push('\n');
    out += &paper.wrapped(&window(document), 2);
    out += &paper.wrapped(&push(document, paper), 2);
    out += &paper.wrapped(
        "Torque and pedal force are means over a turn, both legs together; the force's peak is about twice its mean \
         (common practice, no source). Speeds are steady ones.",
        2,
    );
    out
}

/// The push at the cadence aimed for beside that at a free cadence.
fn push(document: &GearsDocument, paper: &Paper) -> String {
    let [slow, free] = &document.push[..] else {
        return String::new();
    };
    let (torque_unit, force_unit) = (paper.torque_unit(), paper.force_unit());
    format!(
        "{:.0} W at {:.0} rpm: {:.0} {torque_unit} ({:.2} {torque_unit} per {} of rider), {:.0} {force_unit} on the pedals \
         ({:.0} % of body weight), which move at {}; at {:.0} rpm: {:.0} {torque_unit}, {:.0} {force_unit}.",
        document.power_band_w.aim,
        slow.cadence_rpm,
        paper.torque_number(slow.torque_nm),
        paper.torque_number(slow.torque_nm_per_kg) / paper.mass_number(1.0),
        paper.mass_unit(),
        paper.force_number(slow.pedal_force_n),
        slow.pedal_force_body_weight_pct,
        paper.pedal_speed(slow.pedal_speed_ms),
        free.cadence_rpm,
        paper.torque_number(free.torque_nm),
        paper.force_number(free.pedal_force_n)
    )
}

fn chart_table(grades: &[GradeEntry], windows: &[WindowEntry], paper: &Paper) -> String {
    let Some(first) = grades.first() else {
        return String::new();
    };
    let mut head = vec!["gear".to_owned()];
    if !windows.is_empty() {
        head.extend([
            format!("{}/turn", paper.short_unit()),
            "suits, %".to_owned(),
        ]);
    }
    head.extend(grades.iter().map(|g| format!("{} %", g.grade_pct)));
    let rows = (0..first.gears.len())
        .rev()
        .map(|i| {
            let gear = &first.gears[i];
            let crossed = if gear.crossed { " ×" } else { "  " };
            let mut row = vec![format!("{}{crossed}", gear.gear)];
            if let Some(window) = windows.get(i) {
                row.extend([
                    format!("{:.2}", paper.short_number(gear.development_m)),
                    format!(
                        "{:.1}–{:.1}",
                        window.gentlest_grade_pct, window.steepest_grade_pct
                    ),
                ]);
            }
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
        paper.speed_number(speeds.low),
        paper.speed(speeds.high)
    );
    let best = grade
        .best
        .and_then(|name| grade.gears.iter().find(|g| g.gear == name));
    let Some(best) = best else {
        return format!(
            "{start}; no gear suits, {}{}.",
            why_none(document, grade),
            needed(grade)
        );
    };
    let suiting = grade.gears.iter().filter(|g| g.suits).count();
    let (cadence, torque, force) = (
        best.cadence_range_rpm,
        best.torque_range_nm,
        best.pedal_force_range_n,
    );
    format!(
        "{start}; {} turns {:.0}–{:.0} rpm, {} {}, {} {} on the pedals{}.",
        best.gear,
        cadence.low,
        cadence.high,
        short_range(torque, paper.torque_number(1.0)),
        paper.torque_unit(),
        short_range(force, paper.force_number(1.0)),
        paper.force_unit(),
        if suiting > 1 {
            format!("; {suiting} gears suit")
        } else {
            String::new()
        }
    )
}

fn why_none(document: &GearsDocument, grade: &GradeEntry) -> String {
    let band = &document.cadence_band_rpm;
    match (grade.gears.first(), grade.gears.last()) {
        (Some(lowest), _) if lowest.cadence_range_rpm.high < band.from => {
            format!(
                "too steep: the lowest, {}, turns {:.0} rpm at most",
                lowest.gear, lowest.cadence_range_rpm.high
            )
        }
        (_, Some(highest)) if highest.cadence_range_rpm.low > band.to => {
            format!(
                "too gentle: the highest, {}, turns {:.0} rpm at least",
                highest.gear, highest.cadence_range_rpm.low
            )
        }
        _ => "it lies between two gears".to_owned(),
    }
}

/// What would have to be changed on the bike.
fn needed(grade: &GradeEntry) -> String {
    let changes: Vec<String> = grade
        .changes
        .iter()
        .map(|c| match c.new_part.as_str() {
            "sprocket" => format!(
                "a sprocket of {} ({}×{})",
                c.sprocket, c.chainring, c.sprocket
            ),
            _ => format!(
                "a chainring of {} ({}×{})",
                c.chainring, c.chainring, c.sprocket
            ),
        })
        .collect();
    if changes.is_empty() {
        String::new()
    } else {
        format!("; it takes {}", changes.join(" or "))
    }
}

/// A range in whole numbers of another unit, or one where both ends are the same.
fn short_range(range: Range, unit: f64) -> String {
    let (low, high) = (
        format!("{:.0}", range.low * unit),
        format!("{:.0}", range.high * unit),
    );
    if low == high {
        low
    } else {
        format!("{low}–{high}")
    }
}

fn window(document: &GearsDocument) -> String {
    let (cadence, power) = (&document.cadence_band_rpm, &document.power_band_w);
    format!(
        "Some gear suits from {:.1} % to {:.1} %: {:.0}–{:.0} rpm at {:.0}–{:.0} W.",
        document.gentlest_grade_pct,
        document.steepest_grade_pct,
        cadence.from,
        cadence.to,
        power.from,
        power.to
    )
}
