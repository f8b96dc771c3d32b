//! Reading each format, and the same bytes by others.

use divan::{Bencher, black_box, counter::BytesCount};
use hillwright::files::{Limits, unpack_bounded};
use hillwright::route;

use crate::made;

/// About a hundred kilometres: what the demo's loop is.
const KM: f64 = 97.0;

fn read_all(bencher: Bencher, text: &str) {
    let bencher = bencher.counter(BytesCount::of_str(text));
    bencher.bench_local(|| route::read(black_box(text.as_bytes()), "made"));
}

#[divan::bench]
fn gpx(bencher: Bencher) {
    let text = made::gpx(&made::ride(KM), false);
    let bencher = bencher.counter(BytesCount::of_str(&text));
    bencher.bench_local(|| route::parse(black_box(text.as_bytes())));
}

#[divan::bench]
fn gpx_and_cleaned(bencher: Bencher) {
    read_all(bencher, &made::gpx(&made::ride(KM), false));
}

#[divan::bench]
fn gpx_with_sensors(bencher: Bencher) {
    let text = made::gpx(&made::ride(KM), true);
    let bencher = bencher.counter(BytesCount::of_str(&text));
    bencher.bench_local(|| route::parse(black_box(text.as_bytes())));
}

/// The `gpx` crate on the same bytes as `gpx`.
#[divan::bench]
fn gpx_by_the_gpx_crate(bencher: Bencher) {
    let text = made::gpx(&made::ride(KM), false);
    let bencher = bencher.counter(BytesCount::of_str(&text));
    bencher.bench_local(|| ::gpx::read(black_box(text.as_bytes())).map(|gpx| gpx.tracks.len()));
}

/// Bare tokens of `quick-xml` on the same bytes as `gpx`.
#[divan::bench]
fn gpx_as_bare_tokens(bencher: Bencher) {
    let text = made::gpx(&made::ride(KM), false);
    let bencher = bencher.counter(BytesCount::of_str(&text));
    bencher.bench_local(|| {
        let mut reader = quick_xml::Reader::from_str(black_box(&text));
        let mut tokens = 0_usize;
        while let Ok(event) = reader.read_event() {
            if event == quick_xml::events::Event::Eof {
                break;
            }
            tokens += 1;
        }
        tokens
    });
}

#[divan::bench]
fn geojson_and_cleaned(bencher: Bencher) {
    read_all(bencher, &made::geojson(&made::ride(KM)));
}

#[divan::bench]
fn kml_and_cleaned(bencher: Bencher) {
    read_all(bencher, &made::kml(&made::ride(KM)));
}

#[divan::bench]
fn gpx_packed(bencher: Bencher) {
    let packed = made::gz(&made::gpx(&made::ride(KM), false));
    let limits = Limits::default();
    bencher.bench_local(|| {
        unpack_bounded(black_box(&packed), &limits)
            .ok()
            .map(|bytes| route::parse(&bytes))
    });
}
