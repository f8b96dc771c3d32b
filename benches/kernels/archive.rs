//! Folders of recordings, and how cost grows with their size and number.

use std::fs;
use std::path::{Path, PathBuf};

use divan::{Bencher, black_box};
use hillwright::archive::{self, Answer, Cache, Question};
use hillwright::climbs::{self, Rule};
use hillwright::files::{Limits, find_routes};
use hillwright::profile::Profile;
use hillwright::profile::sources::Wanted;
use hillwright::route;
use hillwright::terrain::Tiles;

use crate::made;

/// Files of one ride, told apart by a comment; an hour old, so that they may be remembered.
fn folder(files: usize, km: f64) -> std::io::Result<(tempfile::TempDir, Vec<PathBuf>)> {
    let folder = tempfile::tempdir()?;
    let text = made::gpx(&made::ride(km), false);
    let hour = std::time::Duration::from_secs(3600);
    for i in 0..files {
        let path = folder.path().join(format!("ride-{i:04}.gpx"));
        fs::write(&path, format!("{text}<!-- {i} -->\n"))?;
        let file = fs::File::options().write(true).open(&path)?;
        file.set_modified(std::time::SystemTime::now() - hour)?;
    }
    let found = find_routes(folder.path())
        .map_err(std::io::Error::other)?
        .files;
    Ok((folder, found))
}

fn surveyed(files: &[PathBuf], cache: Option<&Cache>) -> Vec<Result<Answer, String>> {
    let tiles = Tiles::open("elevation-cache");
    let question = Question::new(Rule::default(), Wanted::Recorded, &tiles);
    let limits = Limits::default();
    archive::scan(
        files,
        |file| archive::survey(file, &limits, &question, cache),
        || {},
    )
}

/// A hundred rides of 20 km, nothing remembered.
#[divan::bench(args = [1, 2], sample_count = 7, sample_size = 1)]
fn hundred_files_on_threads(bencher: Bencher, threads: usize) {
    let Ok((_folder, files)) = folder(100, 20.0) else {
        return;
    };
    let Ok(pool) = rayon::ThreadPoolBuilder::new().num_threads(threads).build() else {
        return;
    };
    bencher.bench_local(|| pool.install(|| surveyed(black_box(&files), None)));
}

/// The same, all of it remembered, with the climbs that they share.
#[divan::bench(sample_count = 21, sample_size = 1)]
fn hundred_files_again(bencher: Bencher) {
    let Ok((folder, files)) = folder(100, 20.0) else {
        return;
    };
    let kept = folder.path().join("kept");
    let cache = Cache::at(&kept);
    surveyed(&files, Some(&cache));
    cache.keep_stamps();
    bencher.bench_local(|| {
        let cache = Cache::at(black_box(Path::new(&kept)));
        let answers = surveyed(&files, Some(&cache));
        let surveys: Vec<_> = answers
            .into_iter()
            .flatten()
            .flat_map(|a| a.surveys)
            .collect();
        archive::same::climbs(&surveys.iter().collect::<Vec<_>>())
    });
}

/// From the bytes to the climbs; ten times as far is ten times as long.
#[divan::bench(args = [10, 100, 1000], sample_count = 11, sample_size = 1)]
fn climbs_of_a_ride_of_km(bencher: Bencher, km: u32) {
    let text = made::gpx(&made::ride(f64::from(km)), false);
    bencher.bench_local(|| {
        let route = route::read(black_box(text.as_bytes()), "made")
            .ok()?
            .remove(0);
        let profile = Profile::from_route(&route).ok()?;
        Some(climbs::find(&profile, &Rule::default()))
    });
}

/// Rides of 2 km; ten times as many are ten times as long.
#[divan::bench(args = [1, 10, 100, 1000], sample_count = 5, sample_size = 1)]
fn climbs_of_so_many_files(bencher: Bencher, files: usize) {
    let Ok((_folder, files)) = folder(files, 2.0) else {
        return;
    };
    bencher.bench_local(|| surveyed(black_box(&files), None));
}
