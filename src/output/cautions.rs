//! What every plan says, in every form.

/// The short form of `docs/cautions.md`.
pub const CAUTIONS: [&str; 4] = [
    "Low cadence at high torque loads knees and back. Stop at knee pain, and see a physiotherapist or a doctor.",
    "Progress slowly, leave a couple of days between such sessions, have the bike fit checked.",
    "The road decides: traffic law, weather, sight lines, surface and junctions are not known here. Look at a climb before training on it; turning round and descending are at your own judgement.",
    "Times and forces are estimates. None of this is medical advice; a qualified coach's or clinician's word goes before it.",
];

/// The cautions as a document carries them.
pub fn cautions() -> Vec<String> {
    CAUTIONS.iter().map(|c| (*c).to_owned()).collect()
}
