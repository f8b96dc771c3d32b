//! The set file: blocks of reps from TOML.

use super::bands::check_bands;
use super::error::{Fault, PrescriptionError};
use super::quantity::{
    CADENCE_RPM, FROM_KMH, POWER_SHARE, POWER_W, Quantity, RECOVERY, REPS, TORQUE_NM, WARM_UP, WORK,
};
use super::report::Report;
use super::set::{Band, Block, Effort, PowerBand, Recovery, Set};
use super::table::{Entry, TableReader};

/// No session has more reps; it bounds the work that a file can ask for.
const MOST_REPS_IN_A_SET: u32 = 500;

/// Warm-up starts, reps of a few kinds, starts again: a session has few blocks.
const MOST_BLOCKS: usize = 50;

pub(super) const TWO_OF_THREE: &str = "any two of power, cadence and torque are needed";

/// Reads a set file. The text is TOML: `name`, `warm_up` (absent, none is asked for), and one `[[block]]` after another.
///
/// A block has `reps`, `work`, `recovery = { at_least, at_most }` and two or three of power (`power_share` of threshold or
/// `power_w` in watts), `cadence_rpm` and `torque_nm`, each `{ from, to, aim }`, where the aim is the middle unless given.
/// With `effort = "maximal"` it has `from_kmh` instead of the bands. Durations are texts: `"4:00"`, `"1:02:30"`, `"90s"`.
///
/// # Errors
///
/// Every problem found, each with its line and key: text that is not TOML, a key that is missing or not known, a value
/// of the wrong kind or outside its bounds, bands that contradict each other.
///
/// ```
/// let set = hillwright::prescription::parse_set(
///     "[[block]]\nreps = 6\nwork = '4:00'\nrecovery = { at_least = '4:00' }\n\
///      power_w = { from = 190, to = 225 }\ncadence_rpm = { from = 50, to = 60 }",
/// )?;
/// assert_eq!(set.blocks[0].work_s, 240.0);
/// # Ok::<(), hillwright::prescription::PrescriptionError>(())
/// ```
pub fn parse_set(text: &str) -> Result<Set, PrescriptionError> {
    let report = Report::new(text);
    let set = report.document().and_then(|document| {
        let root = TableReader::root(&report, &document);
        let name = root.optional("name").and_then(|entry| entry.name());
        let warm_up_s = root
            .optional("warm_up")
            .map_or(Some(0.0), |entry| entry.duration_s(&WARM_UP));
        let blocks = read_blocks(&root);
        root.finish();
        Some(Set {
            name,
            warm_up_s: warm_up_s?,
            blocks: blocks?,
        })
    });
    report.result(set).map(|(set, _)| set)
}

fn read_blocks(root: &TableReader<'_, '_>) -> Option<Vec<Block>> {
    const EXPECTED: &str =
        "at least one block of reps; start it with a line [[block]], in double brackets";
    let list = root.required("block", EXPECTED)?;
    let entries = list.array(EXPECTED)?;
    if entries.is_empty() {
        return list.unreadable(EXPECTED);
    }
    if entries.len() > MOST_BLOCKS {
        let message = format!(
            "{} blocks are more than the {MOST_BLOCKS} of the longest set; ask for fewer, with more reps each",
            entries.len()
        );
        return list.problem(Fault::conflict(message));
    }
    let blocks: Vec<Option<Block>> = entries
        .iter()
        .map(|entry| entry.table().and_then(read_block))
        .collect();
    let blocks: Vec<Block> = blocks.into_iter().collect::<Option<_>>()?;
    let reps: u32 = blocks
        .iter()
        .map(|block| block.reps)
        .fold(0, u32::saturating_add);
    if reps > MOST_REPS_IN_A_SET {
        let message = format!(
            "{reps} reps in all are more than the {MOST_REPS_IN_A_SET} of the largest set; ask for fewer"
        );
        return list.problem(Fault::conflict(message));
    }
    Some(blocks)
}

fn read_block(table: TableReader<'_, '_>) -> Option<Block> {
    let reps = table
        .required("reps", REPS.expected())
        .and_then(|entry| entry.whole(&REPS));
    let work_s = table
        .required("work", WORK.expected())
        .and_then(|entry| entry.duration_s(&WORK));
    let recovery = read_recovery(&table);
    let effort = read_effort(&table);
    table.finish();
    Some(Block {
        reps: reps?,
        work_s: work_s?,
        recovery: recovery?,
        effort: effort?,
    })
}

fn read_recovery(block: &TableReader<'_, '_>) -> Option<Recovery> {
    let table = block
        .required(
            "recovery",
            "{ at_least = \"4:00\", at_most = \"9:00\" }, at_most if you like",
        )?
        .table()?;
    let at_least_s = table
        .required("at_least", RECOVERY.expected())
        .and_then(|entry| entry.duration_s(&RECOVERY));
    let at_most = table.optional("at_most");
    let at_most_s = at_most.as_ref().map(|entry| entry.duration_s(&RECOVERY));
    table.finish();
    let recovery = Recovery {
        at_least_s: at_least_s?,
        at_most_s: at_most_s.map_or(Some(None), |s| s.map(Some))?,
    };
    match (check_recovery(&recovery), at_most) {
        (Err(fault), Some(entry)) => entry.problem(fault),
        _ => Some(recovery),
    }
}

pub(super) fn check_recovery(recovery: &Recovery) -> Result<(), Fault> {
    if recovery
        .at_most_s
        .is_some_and(|at_most_s| at_most_s < recovery.at_least_s)
    {
        return Err(Fault::conflict(
            "the recovery's upper end is shorter than its lower end; exchange them, or leave it out",
        ));
    }
    Ok(())
}

fn read_effort(block: &TableReader<'_, '_>) -> Option<Effort> {
    let effort = block.optional("effort");
    let from_kmh = block.optional("from_kmh");
    let power_share = block.optional("power_share");
    let power_w = block.optional("power_w");
    let cadence_rpm = block.optional("cadence_rpm");
    let torque_nm = block.optional("torque_nm");
    let Some(effort) = effort else {
        if let Some(entry) = from_kmh {
            let message = "only a maximal effort starts from a speed; add effort = \"maximal\", or remove this key";
            return entry.problem(Fault::conflict(message));
        }
        return read_banded(block, power_share, power_w, cadence_rpm, torque_nm);
    };
    const EXPECTED: &str =
        "\"maximal\"; remove the key where power, cadence or torque are held in bands";
    if effort.text(EXPECTED)? != "maximal" {
        return effort.unreadable(EXPECTED);
    }
    let bands = [power_share, power_w, cadence_rpm, torque_nm];
    for entry in bands.iter().flatten() {
        let message = "a maximal effort has no bands; remove this key, or effort = \"maximal\"";
        let _: Option<()> = entry.problem(Fault::conflict(message));
    }
    let from_kmh = block.number("from_kmh", &FROM_KMH)?;
    Some(Effort::Maximal { from_kmh })
}

fn read_banded(
    block: &TableReader<'_, '_>,
    power_share: Option<Entry<'_, '_>>,
    power_w: Option<Entry<'_, '_>>,
    cadence_rpm: Option<Entry<'_, '_>>,
    torque_nm: Option<Entry<'_, '_>>,
) -> Option<Effort> {
    let power = match (power_share, power_w) {
        (Some(_), Some(watts)) => watts.problem(Fault::conflict(
            "given beside `power_share`; keep one of the two",
        )),
        (Some(share), None) => {
            read_band(&share, &POWER_SHARE).map(|band| Some(PowerBand::ThresholdShare(band)))
        }
        (None, Some(watts)) => read_band(&watts, &POWER_W).map(|band| Some(PowerBand::Watts(band))),
        (None, None) => Some(None),
    };
    let cadence_rpm = cadence_rpm.map_or(Some(None), |entry| {
        read_band(&entry, &CADENCE_RPM).map(Some)
    });
    let torque_nm = torque_nm.map_or(Some(None), |entry| read_band(&entry, &TORQUE_NM).map(Some));
    let (power, cadence_rpm, torque_nm) = (power?, cadence_rpm?, torque_nm?);
    if let Err(fault) = check_bands(power, cadence_rpm, torque_nm) {
        block.problem(fault);
        return None;
    }
    Some(Effort::Banded {
        power,
        cadence_rpm,
        torque_nm,
    })
}

fn read_band(entry: &Entry<'_, '_>, quantity: &Quantity) -> Option<Band> {
    let table = entry.table()?;
    let from = table.number("from", quantity);
    let to = table.number("to", quantity);
    let aim = table.optional("aim");
    let given_aim = aim.as_ref().map(|entry| entry.number(quantity));
    table.finish();
    let (from, to) = (from?, to?);
    if from > to {
        return entry.problem(Fault::conflict(format!(
            "from {from} is above to {to}; exchange them"
        )));
    }
    let aim_value = given_aim.unwrap_or(Some(from.midpoint(to)))?;
    match aim {
        Some(aim) if !(from..=to).contains(&aim_value) => {
            let message = format!(
                "{aim_value} lies outside the band from {from} to {to}; aim inside it, or leave it out"
            );
            aim.problem(Fault::conflict(message))
        }
        _ => Some(Band {
            from,
            to,
            aim: aim_value,
        }),
    }
}
