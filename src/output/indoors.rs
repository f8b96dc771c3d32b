//! The same set on a trainer.

use super::document::{AimedBand, GearName, IndoorEntry, IndoorHeldEntry, PlanDocument};
use super::rounded;
use super::text::Paper;
use crate::gearing::{Band, Drive};
use crate::matching::Demand;
use crate::matching::trainer::{TrainerBlock, blocks};
use crate::prescription::duration_text;

/// The set block by block.
pub fn indoor_entries(drive: &Drive, demands: &[Demand]) -> Vec<IndoorEntry> {
    let held = blocks(drive, demands);
    let each = demands.iter().zip(held).zip(1..);
    each.map(|((demand, held), block)| IndoorEntry {
        block,
        reps: demand.reps,
        work_s: demand.work_s,
        recovery_at_least_s: demand.recovery_at_least_s,
        held: held.as_ref().map(held_entry),
    })
    .collect()
}

fn held_entry(block: &TrainerBlock) -> IndoorHeldEntry {
    let aimed = |band: &Band| AimedBand {
        from: rounded(band.from, 1),
        to: rounded(band.to, 1),
        aim: rounded(band.aim, 1),
    };
    IndoorHeldEntry {
        power_band_w: aimed(&block.power_w),
        cadence_band_rpm: aimed(&block.cadence_rpm),
        gear: GearName::from(&block.gear),
        torque_nm: rounded(block.torque_nm, 1),
        pedal_force_n: rounded(block.pedal_force_n, 0),
        wheel_speed_kmh: rounded(3.6 * block.wheel_speed_ms, 1),
    }
}

/// What the table is called: the same set only where there is another plan of it.
pub(super) fn heading(document: &PlanDocument) -> &'static str {
    if document.routes.is_empty() {
        "The set on a trainer"
    } else {
        "The same set on a trainer"
    }
}

/// What is ridden before the first rep.
pub(super) fn warm_up(document: &PlanDocument) -> Option<String> {
    let warm_up_s = document.asked.warm_up_s;
    (warm_up_s > 0.0).then(|| format!("{} easy first, then:", duration_text(warm_up_s)))
}

/// The set as a table.
pub(super) fn indoors_text(document: &PlanDocument, paper: &Paper) -> String {
    let rows = document.indoors.iter().map(|block| {
        let mut row = vec![
            format!("{} × {}", block.reps, duration_text(block.work_s)),
            duration_text(block.recovery_at_least_s),
        ];
        row.extend(match &block.held {
            Some(held) => held_cells(held, paper),
            None => ["all out", "–", "–", "–", "–"].map(str::to_owned),
        });
        row
    });
    let head = ["work", "easy", "W", "gear", "rpm", "N·m", "wheel"];
    let first = warm_up(document).map_or(String::new(), |warm_up| format!("{warm_up}\n"));
    format!("{}:\n{first}", heading(document)) + &paper.table(&head, rows.collect(), &[3])
}

fn held_cells(held: &IndoorHeldEntry, paper: &Paper) -> [String; 5] {
    let band = |b: &AimedBand| format!("{:.0} ({:.0}–{:.0})", b.aim, b.from, b.to);
    [
        band(&held.power_band_w),
        held.gear.to_string(),
        band(&held.cadence_band_rpm),
        format!("{:.0}", held.torque_nm),
        paper.speed(held.wheel_speed_kmh),
    ]
}
