//! Large files: memory is what `docs/limits.md` says it is, whatever a file of its size holds.
#![cfg(target_os = "linux")]
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]
#![allow(
    clippy::print_stderr,
    reason = "what ten million points take is told when asked"
)]

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Bytes of memory, besides the file's own: for each point, for each line, for the program itself (`docs/limits.md`).
const FOR_A_POINT: u64 = 130;
const FOR_A_LINE: u64 = 1300;
const FOR_ITSELF: u64 = 40 << 20;

struct Took {
    status: Option<i32>,
    /// The most memory that was in use at once, in bytes.
    memory: u64,
    time: Duration,
    said: String,
}

/// Runs the program on a file, looking at its memory all the while.
fn climbs(file: &Path) -> Took {
    watched(file, 0)
}

/// The same, with so many mebibytes of spaces on standard input.
fn watched(file: &Path, spaces_mib: u64) -> Took {
    let start = Instant::now();
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("hillwright"))
        .args(["climbs", "--format", "json"])
        .arg(file)
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    std::thread::spawn(move || {
        let spaces = vec![b' '; 1 << 20];
        // A program that has seen enough closes its input.
        (0..spaces_mib).try_for_each(|_| input.write_all(&spaces))
    });
    let status_file = format!("/proc/{}/status", child.id());
    let mut memory = 0;
    let status = loop {
        let told = fs::read_to_string(&status_file).unwrap_or_default();
        let peak = told.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        let kib = peak.and_then(|text| text.split_whitespace().next()?.parse::<u64>().ok());
        memory = memory.max(kib.unwrap_or(0) << 10);
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        std::thread::sleep(Duration::from_millis(1));
    };
    let mut said = String::new();
    std::io::Read::read_to_string(&mut child.stderr.take().unwrap(), &mut said).unwrap();
    Took {
        status: status.code(),
        memory,
        time: start.elapsed(),
        said,
    }
}

/// A recording of so many points, 0.37 m and a tenth of a second apart.
fn recording(path: &Path, points: u32) {
    let mut file = BufWriter::new(File::create(path).unwrap());
    writeln!(file, "<gpx version=\"1.1\" creator=\"made\"><trk><trkseg>").unwrap();
    for i in 0..points {
        let at_m = 0.37 * f64::from(i);
        let (lat_deg, lon_deg) = (-60.0 + at_m / 111_195.0, 7.0 + 0.002 * (at_m / 400.0).sin());
        let ele_m = 500.0 + 200.0 * (at_m / 2500.0).sin();
        let (tenth, second) = (i % 10, i / 10);
        let (day, hour, minute) = (1 + second / 86_400, second / 3600 % 24, second / 60 % 60);
        writeln!(
            file,
            "<trkpt lat=\"{lat_deg:.8}\" lon=\"{lon_deg:.8}\"><ele>{ele_m:.2}</ele>\
             <time>2024-05-{day:02}T{hour:02}:{minute:02}:{:02}.{tenth}Z</time></trkpt>",
            second % 60
        )
        .unwrap();
    }
    file.write_all(b"</trkseg></trk></gpx>").unwrap();
}

fn assert_bounded(name: &str, file: &Path, points: u64, lines: u64) -> Took {
    let took = climbs(file);
    let size = fs::metadata(file).unwrap().len();
    let most = size + FOR_A_POINT * points + FOR_A_LINE * lines + FOR_ITSELF;
    assert!(
        took.memory > size && took.memory <= most,
        "{name}: {} bytes of memory, at most {most} expected; {}",
        took.memory,
        took.said
    );
    took
}

#[test]
fn memory_is_what_a_files_points_and_lines_take() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file");
    recording(&path, 300_000);
    let took = assert_bounded("a recording", &path, 300_000, 1);
    assert_eq!(took.status, Some(0), "{}", took.said);
    // The smallest points and lines that each format has.
    let (points, lines) = (600_000, 100_000);
    let around = |head: &str, each: &str, times: usize, tail: &str| {
        format!("{head}{}{tail}", each.repeat(times))
    };
    let cases = [
        (
            "GeoJSON of small points",
            around(
                "{\"type\":\"LineString\",\"coordinates\":[[0,1]",
                ",[0,0]",
                points,
                "]}",
            ),
            points,
            1,
        ),
        (
            "GeoJSON of small features",
            around(
                "{\"type\":\"FeatureCollection\",\"features\":[{}",
                ",{\"type\":\"Feature\",\"geometry\":{\"type\":\"LineString\",\"coordinates\":[[0,0],[0,1]]}}",
                lines,
                "]}",
            ),
            2 * lines,
            lines,
        ),
        (
            "KML of small points",
            around(
                "<kml><Placemark><LineString><coordinates>",
                "0,0 ",
                points,
                "</coordinates></LineString></Placemark></kml>",
            ),
            points,
            1,
        ),
        (
            "GPX of small points",
            around(
                "<gpx><trk><trkseg>",
                "<trkpt lat=\"0\" lon=\"0\"/>",
                points,
                "</trkseg></trk></gpx>",
            ),
            points,
            1,
        ),
        (
            "GPX of small tracks",
            around(
                "<gpx>",
                "<trk><trkseg><trkpt lat=\"0\" lon=\"0\"/><trkpt lat=\"0\" lon=\"1\"/></trkseg></trk>",
                lines,
                "</gpx>",
            ),
            2 * lines,
            lines,
        ),
    ];
    let cases = cases.into_iter().chain([
        (
            "GeoJSON of objects that are none",
            around(
                "{\"type\":\"FeatureCollection\",\"features\":[{}",
                ",{}",
                lines,
                "]}",
            ),
            0,
            lines,
        ),
        (
            "GeoJSON of properties",
            around(
                "{\"type\":\"Feature\",\"properties\":{\"x\":[0",
                ",0",
                10 * points,
                "]},\"geometry\":null}",
            ),
            0,
            1,
        ),
        (
            "GPX of tracks with everything wrong",
            around(
                "<gpx>",
                "<trk><name>n</name><trkseg><trkpt lat=\"x\"/><trkpt lat=\"0\" lon=\"0\"><ele>x</ele><time>x</time><hr>x</hr></trkpt>\
                 <trkpt lat=\"0\" lon=\"0\"><time>2024-05-01T08:30:00</time></trkpt></trkseg></trk>",
                lines,
                "</gpx>",
            ),
            3 * lines,
            lines,
        ),
        (
            "KML of times alone",
            around("<kml><Placemark><Track>", "<when/>", points, "</Track></Placemark></kml>"),
            points,
            1,
        ),
    ]);
    for (name, text, points, lines) in cases {
        fs::write(&path, text).unwrap();
        let took = assert_bounded(name, &path, points as u64, lines as u64);
        assert!(
            matches!(took.status, Some(0 | 1 | 3)),
            "{name}: {}",
            took.said
        );
    }
}

#[test]
#[ignore = "a gigabyte on the disk: ten million points"]
fn ten_million_points_are_read_in_time_and_room_in_proportion() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.gpx");
    for points in [1_000_000, 10_000_000] {
        recording(&path, points);
        let took = assert_bounded("a recording", &path, points.into(), 1);
        assert_eq!(took.status, Some(0), "{}", took.said);
        let size = fs::metadata(&path).unwrap().len();
        eprintln!(
            "{points} points, {} MB: {:.1} s, {:.2} times its size of memory",
            size / 1_000_000,
            took.time.as_secs_f64(),
            took.memory as f64 / size as f64
        );
    }
}

#[test]
#[ignore = "five gigabytes through a pipe, and a packed file of three"]
fn what_has_no_end_is_refused_with_no_more_than_the_limit_held() {
    let folder = tempfile::tempdir().unwrap();
    let packed = folder.path().join("bomb.gpx");
    let file = BufWriter::new(File::create(&packed).unwrap());
    let mut packer = flate2::write::GzEncoder::new(file, flate2::Compression::fast());
    let spaces = vec![b' '; 1 << 20];
    (0..3 << 10).for_each(|_| packer.write_all(&spaces).unwrap());
    packer.finish().unwrap().into_inner().unwrap();
    for (name, took) in [
        ("spaces", watched(Path::new("-"), 5 << 10)),
        ("a bomb", climbs(&packed)),
    ] {
        assert_eq!(took.status, Some(3), "{name}: {}", took.said);
        assert!(took.said.contains("more than 2 GiB") || took.said.contains("larger than 2 GiB"));
        assert!(
            took.memory < (2 << 30) + (2 << 26),
            "{name}: {}",
            took.memory
        );
        let (seconds, memory) = (took.time.as_secs_f64(), took.memory >> 20);
        eprintln!("{name}: {seconds:.1} s, {memory} MiB");
    }
}

#[test]
#[ignore = "five gigabytes of memory: the most points that are read, as small as they can be"]
fn a_file_of_the_most_points_takes_no_more_than_the_limit_allows() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file.kml");
    for (points, is_read) in [(33_000_000, true), (500_000_000, false)] {
        let mut file = BufWriter::new(File::create(&path).unwrap());
        file.write_all(b"<kml><Placemark><LineString><coordinates>")
            .unwrap();
        (0..points).for_each(|_| file.write_all(b"0,0 ").unwrap());
        drop(file);
        let took = climbs(&path);
        let size = fs::metadata(&path).unwrap().len();
        assert_eq!(took.status, Some(3), "{}", took.said);
        assert_ne!(
            took.said.contains("more than 33554432 points"),
            is_read,
            "{}",
            took.said
        );
        assert!(took.memory < size + FOR_A_POINT * 33_554_432 + FOR_ITSELF);
        let (seconds, memory) = (took.time.as_secs_f64(), took.memory >> 20);
        eprintln!(
            "{points} points, {} MB: {seconds:.1} s, {memory} MiB",
            size / 1_000_000
        );
    }
}
