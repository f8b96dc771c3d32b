//! Many people dragging at once: clients that ask a local page for the plan as a hand moves a control.
//!
//!     hillwright serve --no-open --port 4100 &
//!     cargo run --release --example page_load -- 127.0.0.1:4100 50 60
//!
//! Each client drags one control to and fro, ten steps a second, and asks for the next step only when the last one's plan is here, as
//! the page's script does. Prints how long answers took, and ends with status 1 if any was no plan.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "an example prints, and ends where it can't go on"
)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

/// Steps of a hand.
const STEP: Duration = Duration::from_millis(100);
/// What is dragged: key, from, to, step; the rest of the address is the page's default.
const DRAGGED: [(&str, f64, f64, f64); 5] = [
    ("rider.mass_kg", 60.0, 76.0, 0.5),
    ("rider.threshold_w", 230.0, 270.0, 1.0),
    ("1.cadence_rpm.to", 58.0, 70.0, 1.0),
    ("1.power.to", 85.0, 95.0, 1.0),
    ("wind_kmh", 0.0, 20.0, 1.0),
];

fn main() -> std::process::ExitCode {
    let mut arguments = std::env::args().skip(1);
    let at = arguments.next().unwrap_or("127.0.0.1:4100".to_owned());
    let clients: usize = arguments.next().map_or(50, |n| n.parse().unwrap());
    let seconds: u64 = arguments.next().map_or(60, |n| n.parse().unwrap());
    let (address, shown) = first_page(&at);
    let until = Instant::now() + Duration::from_secs(seconds);
    let mut took: Vec<f64> = Vec::new();
    let mut wrong = 0;
    std::thread::scope(|scope| {
        let dragging: Vec<_> = (0..clients)
            .map(|client| {
                let (at, address, shown) = (&at, &address, &shown);
                scope.spawn(move || drag(at, address, shown, client, until))
            })
            .collect();
        for client in dragging {
            let (times, failures) = client.join().unwrap();
            took.extend(times);
            wrong += failures;
        }
    });
    took.sort_by(f64::total_cmp);
    let quantile = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
    println!(
        "{clients} clients, {seconds} s: {} plans, {wrong} errors; median {:.1} ms, 9 in 10 {:.1} ms, 99 in 100 {:.1} ms, slowest {:.1} ms",
        took.len(),
        quantile(0.5),
        quantile(0.9),
        quantile(0.99),
        quantile(1.0)
    );
    std::process::ExitCode::from(u8::from(wrong > 0))
}

/// The page's own values for every control, and the number of the route that it shows.
fn first_page(at: &str) -> (String, String) {
    let mut stream = BufReader::new(TcpStream::connect(at).unwrap());
    let page = ask(&mut stream, at, "/").unwrap();
    let between = |start: &str| {
        let rest = page.split(start).nth(1).unwrap();
        rest.split('"').next().unwrap().replace("&amp;", "&")
    };
    (
        between("data-address=\"\" value=\""),
        between("data-shown=\""),
    )
}

/// Drags until it is time, and tells how long each answer took in milliseconds and how many were no plan.
fn drag(at: &str, address: &str, shown: &str, client: usize, until: Instant) -> (Vec<f64>, usize) {
    let (key, from, to, step) = DRAGGED[client % DRAGGED.len()];
    let steps = ((to - from) / step) as usize;
    let mut stream = BufReader::new(TcpStream::connect(at).unwrap());
    let rest: Vec<&str> = address
        .split('&')
        .filter(|pair| !pair.starts_with(&format!("{key}=")))
        .collect();
    let (mut took, mut wrong) = (Vec::new(), 0);
    // Hands are not in step.
    std::thread::sleep(STEP * u32::try_from(client).unwrap() / 50);
    for turn in client.. {
        let place = turn % (2 * steps);
        let value = from + step * place.min(2 * steps - place) as f64;
        let path = format!("/plan?{}&{key}={value}&shown={shown}", rest.join("&"));
        let before = Instant::now();
        if before >= until {
            break;
        }
        match ask(&mut stream, at, &path) {
            Some(plan) if plan.contains("<main") => {
                took.push(1000.0 * before.elapsed().as_secs_f64());
            }
            _ => {
                wrong += 1;
                stream = BufReader::new(TcpStream::connect(at).unwrap());
            }
        }
        std::thread::sleep(STEP.saturating_sub(before.elapsed()));
    }
    (took, wrong)
}

/// The body of an answer with status 200.
fn ask(stream: &mut BufReader<TcpStream>, at: &str, path: &str) -> Option<String> {
    let head = format!("GET {path} HTTP/1.1\r\nHost: {at}\r\n\r\n");
    stream.get_mut().write_all(head.as_bytes()).ok()?;
    let mut line = String::new();
    stream.read_line(&mut line).ok()?;
    let ok = line.starts_with("HTTP/1.1 200");
    let mut length = 0;
    loop {
        line.clear();
        stream.read_line(&mut line).ok()?;
        if line.trim().is_empty() {
            break;
        }
        if let Some(value) = line.to_ascii_lowercase().strip_prefix("content-length:") {
            length = value.trim().parse().ok()?;
        }
    }
    let mut body = vec![0; length];
    stream.read_exact(&mut body).ok()?;
    ok.then(|| String::from_utf8_lossy(&body).into_owned())
}
