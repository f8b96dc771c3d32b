//! Tiles are fetched from servers that are slow, lie, break off or say no, and only whole ones are kept.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod loopback;

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use hillwright::terrain::fetch::{FetchError, Fetcher, Patience};
use hillwright::terrain::{TileName, Tiles};
use loopback::{Answer, Server, gzip, level_tile};

const IMPATIENT: Patience = Patience {
    connect: Duration::from_secs(2),
    answer: Duration::from_millis(700),
    stall: Duration::from_millis(700),
    whole: Duration::from_secs(10),
    tries: 3,
    pause: Duration::from_millis(5),
};

fn name() -> TileName {
    "N44W072".parse().unwrap()
}

fn fetch(server: &Server, folder: &Path) -> Result<String, FetchError> {
    let fetcher = Fetcher::new(server.source().parse().unwrap(), IMPATIENT);
    let path = fetcher.fetch(name(), folder, &mut |_, _| {})?;
    Ok(path.file_name().unwrap().to_str().unwrap().to_owned())
}

fn files(folder: &Path) -> Vec<String> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect()
}

/// Fetches with these answers in turn; tells the error, and how many requests it took. Nothing may be left in the folder.
fn refused(answers: Vec<Answer>) -> (String, usize) {
    let server = Server::start(answers);
    let folder = tempfile::tempdir().unwrap();
    let error = fetch(&server, folder.path()).unwrap_err().to_string();
    assert!(
        error.starts_with(&format!("{}/N44/N44W072.hgt.gz: ", server.address)),
        "{error}"
    );
    assert!(files(folder.path()).is_empty());
    (error, server.requests())
}

/// Fetches after these failures, and tells how many requests it took.
fn fetched_after(mut answers: Vec<Answer>) -> usize {
    answers.push(Answer::Good(gzip(&level_tile(321))));
    let server = Server::start(answers);
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(fetch(&server, folder.path()).unwrap(), "N44W072.hgt.gz");
    assert_eq!(files(folder.path()), ["N44W072.hgt.gz"]);
    assert_eq!(
        Tiles::open(folder.path())
            .elevation_m(44.5, -71.5)
            .unwrap()
            .elevation_m,
        321.0
    );
    server.requests()
}

#[test]
fn a_good_tile_comes_at_once_into_a_folder_that_is_made() {
    let server = Server::start(vec![Answer::Good(gzip(&level_tile(12)))]);
    let folder = tempfile::tempdir().unwrap();
    let below = folder.path().join("a").join("b");
    let fetcher = Fetcher::new(server.source().parse().unwrap(), IMPATIENT);
    let mut last = (0, None);
    fetcher
        .fetch(name(), &below, &mut |received, announced| {
            last = (received, announced)
        })
        .unwrap();
    assert_eq!(files(&below), ["N44W072.hgt.gz"]);
    assert_eq!(server.paths(), ["/N44/N44W072.hgt.gz"]);
    assert!(last.0 > 0 && last.1 == Some(last.0), "{last:?}");
}

#[test]
fn a_tile_is_named_by_what_it_is_not_by_its_address() {
    let server = Server::start(vec![Answer::Good(level_tile(12))]);
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(fetch(&server, folder.path()).unwrap(), "N44W072.hgt");
}

#[test]
fn what_breaks_off_is_tried_again() {
    let whole = gzip(&level_tile(321));
    assert_eq!(fetched_after(vec![Answer::Half(whole.clone())]), 2);
    assert_eq!(
        fetched_after(vec![Answer::Status(500), Answer::Status(503)]),
        3
    );
    assert_eq!(fetched_after(vec![Answer::Status(429)]), 2);
    // Announced too short, it is cut; announced too long, it breaks off.
    assert_eq!(
        fetched_after(vec![Answer::Announcing(whole.len() - 100, whole.clone())]),
        2
    );
    assert_eq!(
        fetched_after(vec![Answer::Announcing(whole.len() + 100, whole)]),
        2
    );
}

#[test]
fn a_slow_server_is_waited_for_and_then_tried_again() {
    let start = Instant::now();
    assert_eq!(fetched_after(vec![Answer::Silent, Answer::Stalling]), 3);
    assert!(
        start.elapsed() < Duration::from_secs(8),
        "{:?}",
        start.elapsed()
    );
}

#[test]
fn a_server_that_never_gets_better_is_given_up_after_the_last_try() {
    let (error, requests) = refused(vec![Answer::Status(500)]);
    assert!(
        error.contains("answered with status 500; expected 200"),
        "{error}"
    );
    assert_eq!(requests, 3);
    let (error, requests) = refused(vec![Answer::Half(gzip(&level_tile(9)))]);
    assert!(
        error.contains("check the address and the network"),
        "{error}"
    );
    assert_eq!(requests, 3);
}

#[test]
fn a_tile_that_is_not_there_is_not_asked_for_twice() {
    for status in [404, 403, 410] {
        let (error, requests) = refused(vec![Answer::Status(status)]);
        assert!(
            error.contains(&format!("has no such tile (status {status})")),
            "{error}"
        );
        assert_eq!(requests, 1);
    }
}

#[test]
fn a_page_instead_of_a_tile_is_refused_at_once() {
    let page = b"<!DOCTYPE html><html><body>Please sign in</body></html>".to_vec();
    let (error, requests) = refused(vec![Answer::Good(page)]);
    assert!(
        error.contains("it is text, not elevations; it starts with \"<!DOCTYPE html>"),
        "{error}"
    );
    assert_eq!(requests, 1);
}

#[test]
fn wrong_sizes_bombs_and_endless_answers_are_refused() {
    let (error, requests) = refused(vec![Answer::Good(gzip(&[0; 5000]))]);
    assert!(error.contains("it holds 5000 bytes"), "{error}");
    assert_eq!(requests, 3);
    let (error, requests) = refused(vec![Answer::Good(gzip(&vec![0; 26_000_000]))]);
    assert!(error.contains("inflates to more than"), "{error}");
    assert_eq!(requests, 1);
    let (error, requests) = refused(vec![Answer::Endless]);
    assert!(error.contains("it sends more than"), "{error}");
    assert_eq!(requests, 1);
}

#[test]
fn a_redirection_is_followed_a_few_times_only() {
    let there = Server::start(vec![Answer::Good(gzip(&level_tile(7)))]);
    let here = Server::start(vec![Answer::Elsewhere(format!("{}/moved", there.address))]);
    let folder = tempfile::tempdir().unwrap();
    assert!(fetch(&here, folder.path()).is_ok());
    assert_eq!(there.paths(), ["/moved"]);
    let (error, _) = refused(vec![Answer::Elsewhere("/again".to_owned())]);
    assert!(error.contains("redirect"), "{error}");
}

#[test]
fn nobody_at_the_address_is_told() {
    let closed = {
        let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        format!("http://{}/{{name}}", listener.local_addr().unwrap())
    };
    let folder = tempfile::tempdir().unwrap();
    let fetcher = Fetcher::new(closed.parse().unwrap(), IMPATIENT);
    let error = fetcher
        .fetch(name(), folder.path(), &mut |_, _| {})
        .unwrap_err();
    assert!(matches!(error, FetchError::Connection { .. }), "{error}");
}

#[test]
fn a_folder_that_can_not_be_made_is_told() {
    let server = Server::start(vec![Answer::Good(gzip(&level_tile(7)))]);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    assert!(matches!(
        fetch(&server, &file.join("below")),
        Err(FetchError::Write { .. })
    ));
}

#[test]
fn runs_at_once_leave_one_whole_tile() {
    let server = Server::start(vec![Answer::Good(gzip(&level_tile(55)))]);
    let folder = tempfile::tempdir().unwrap();
    std::thread::scope(|scope| {
        for _ in 0..6 {
            scope.spawn(|| fetch(&server, folder.path()).unwrap());
        }
    });
    assert_eq!(files(folder.path()), ["N44W072.hgt.gz"]);
    assert_eq!(
        Tiles::open(folder.path())
            .elevation_m(44.5, -71.5)
            .unwrap()
            .elevation_m,
        55.0
    );
}

#[test]
fn a_server_without_encryption_behind_an_https_address_is_refused_and_asked_nothing() {
    let server = Server::start(vec![Answer::Good(gzip(&level_tile(1)))]);
    let folder = tempfile::tempdir().unwrap();
    let source = server.source().replace("http://", "https://");
    let fetcher = Fetcher::new(source.parse().unwrap(), IMPATIENT);
    let error = fetcher
        .fetch(name(), folder.path(), &mut |_, _| {})
        .unwrap_err()
        .to_string();
    assert!(
        error.starts_with("https://127.0.0.1:") && error.contains("N44W072.hgt.gz: "),
        "{error}"
    );
    // What came was the beginning of a handshake, never a request.
    assert!(server.paths().iter().all(|path| !path.contains("N44W072")));
    assert!(files(folder.path()).is_empty());
}
