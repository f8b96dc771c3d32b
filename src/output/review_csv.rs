//! The review as a table for spreadsheets: one row a rep.

use super::document_review::{ReviewDocument, ReviewEntry, ReviewRepEntry};

/// A column: its name, and what stands in it.
type Column = (&'static str, fn(&ReviewEntry, &ReviewRepEntry) -> String);

fn number(value: Option<f64>) -> String {
    value.map_or(String::new(), |v| v.to_string())
}

/// The columns, in order; the cautions follow them.
const COLUMNS: [Column; 33] = [
    ("source", |r, _| r.source.clone()),
    ("began_at", |r, _| r.began_at.clone().unwrap_or_default()),
    ("power_from", |r, _| r.power_from.clone()),
    ("rep", |_, e| e.rep.map_or(String::new(), |n| n.to_string())),
    ("block", |_, e| e.block.to_string()),
    ("done", |_, e| e.done.join("; ")),
    ("planned_duration_s", |_, e| {
        e.planned_duration_s.to_string()
    }),
    ("start_time_s", |_, e| {
        number(e.ridden.as_ref().map(|r| r.start_time_s))
    }),
    ("duration_s", |_, e| {
        number(e.ridden.as_ref().map(|r| r.duration_s))
    }),
    ("start_distance_m", |_, e| {
        number(e.ridden.as_ref().map(|r| r.start.distance_m))
    }),
    ("start_lat", |_, e| {
        number(e.ridden.as_ref().map(|r| r.start.lat))
    }),
    ("start_lon", |_, e| {
        number(e.ridden.as_ref().map(|r| r.start.lon))
    }),
    ("end_distance_m", |_, e| {
        number(e.ridden.as_ref().map(|r| r.end.distance_m))
    }),
    ("start_apart_m", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.start_apart_m))
    }),
    ("speed_kmh", |_, e| {
        number(e.ridden.as_ref().map(|r| r.speed_kmh))
    }),
    ("grade_pct", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.grade_pct))
    }),
    ("power_w", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.held.power_w))
    }),
    ("power_low_w", |_, e| {
        number(
            e.ridden
                .as_ref()
                .and_then(|r| r.power_range_w)
                .map(|x| x.low),
        )
    }),
    ("power_high_w", |_, e| {
        number(
            e.ridden
                .as_ref()
                .and_then(|r| r.power_range_w)
                .map(|x| x.high),
        )
    }),
    ("power_in_band_pct", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.power_in_band_pct))
    }),
    ("cadence_rpm", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.held.cadence_rpm))
    }),
    ("cadence_in_band_pct", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.cadence_in_band_pct))
    }),
    ("torque_nm", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.held.torque_nm))
    }),
    ("first_minute_torque_nm", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.first_minute.torque_nm))
    }),
    ("last_minute_torque_nm", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.last_minute.torque_nm))
    }),
    ("heart_rate_bpm", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.held.heart_rate_bpm))
    }),
    ("gears", |_, e| {
        let gears = e.ridden.as_ref().map_or(&[][..], |r| &r.gears);
        gears
            .iter()
            .map(|g| g.gear.to_string())
            .collect::<Vec<_>>()
            .join("; ")
    }),
    ("halted_s", |_, e| {
        number(
            e.ridden
                .as_ref()
                .map(|r| r.halts.iter().map(|h| h.duration_s).sum()),
        )
    }),
    ("coasting_s", |_, e| {
        number(e.ridden.as_ref().map(|r| r.coasting_s))
    }),
    ("from_standing", |_, e| {
        e.ridden
            .as_ref()
            .map_or(String::new(), |r| r.from_standing.to_string())
    }),
    ("recovery_s", |_, e| {
        number(
            e.ridden
                .as_ref()
                .and_then(|r| r.recovery.as_ref())
                .map(|r| r.duration_s),
        )
    }),
    ("rest_s", |_, e| {
        number(
            e.ridden
                .as_ref()
                .and_then(|r| r.recovery.as_ref())
                .map(|r| r.rest_s),
        )
    }),
    ("model_duration_s", |_, e| {
        number(e.ridden.as_ref().and_then(|r| r.model_duration_s))
    }),
];

/// The document as CSV (RFC 4180), one row a rep, the cautions in the last column.
pub fn csv(document: &ReviewDocument) -> String {
    let mut out = String::new();
    let names = COLUMNS
        .iter()
        .map(|c| c.0.to_owned())
        .chain(["cautions".to_owned()]);
    push_row(&mut out, names);
    let cautions = document.cautions.join(" ");
    for recording in &document.recordings {
        for rep in &recording.reps {
            let cells = COLUMNS.iter().map(|c| (c.1)(recording, rep));
            push_row(&mut out, cells.chain([cautions.clone()]));
        }
    }
    out
}

fn push_row(out: &mut String, cells: impl Iterator<Item = String>) {
    let quoted = cells.map(|cell| {
        if cell.contains(['"', ',', '\n', '\r']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell
        }
    });
    out.push_str(&quoted.collect::<Vec<_>>().join(","));
    out.push_str("\r\n");
}
