#![no_main]
//! Any bytes are a tile or are refused; a good tile with any bytes in its middle is sampled or refused.

use hillwright::terrain::{Tile, TileName};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Some(name) = TileName::holding(-44.5, -129.5).into_iter().next() else {
        return;
    };
    let _ = Tile::from_bytes(name, bytes);
    let mut whole = vec![0x01; 1201 * 1201 * 2];
    let from = whole.len() / 2;
    let room = bytes.len().min(from);
    whole[from..from + room].copy_from_slice(&bytes[..room]);
    if let Ok(tile) = Tile::from_bytes(name, &whole) {
        assert_eq!(tile.samples_m.len(), tile.side * tile.side);
        assert!((0..tile.side).all(|i| tile.sample_m(i, 600).is_none_or(f64::is_finite)));
    }
});
