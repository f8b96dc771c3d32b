//! A device on the handlebar, with a barometer, a cadence sensor, a power meter and a heart rate strap.

use std::fmt::Write;

use super::World;
use super::make_demo::random::{GaussMarkov, Random};
use super::rider::{Instant, Ride};

/// Which sensors there are, and how they err.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Device {
    pub(crate) power: bool,
    pub(crate) cadence: bool,
    /// Power shown over power there is.
    pub(crate) power_bias: f64,
    /// Spread of a second's power about the true one, as a share: the strokes in it.
    pub(crate) power_noise: f64,
    /// A point each so many seconds.
    pub(crate) every_s: usize,
    pub(crate) elevations: bool,
    pub(crate) times: bool,
}

pub(crate) const GOOD: Device = Device {
    power: true,
    cadence: true,
    power_bias: 1.0,
    power_noise: 0.09,
    every_s: 1,
    elevations: true,
    times: true,
};

/// Horizontal error along each axis: standard deviation in metres, and for how many seconds it stays alike.
const POSITION: (f64, f64) = (2.0, 40.0);
const ELEVATION: (f64, f64) = (0.35, 12.0);
const DRIFT: (f64, f64) = (2.5, 3600.0);
/// 18 March 2023, 19:10:00 in Coordinated Universal Time.
const BEGUN_S: i64 = 1_679_166_600;

/// The GPX that the device writes; `spoil` may change what the sensors show at a second.
pub(crate) fn gpx(
    world: &World,
    ride: &Ride,
    device: &Device,
    seed: u64,
    spoil: impl Fn(usize, &mut Shown),
) -> String {
    let noise = |(sd, reach): (f64, f64), n: u64| GaussMarkov::new(sd, reach, seed + n);
    let mut aside = [noise(POSITION, 1), noise(POSITION, 2)];
    let mut height = [noise(ELEVATION, 3), noise(DRIFT, 4)];
    let mut strokes = Random::new(seed + 5);
    let mut heart = 95.0;
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"test\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\" xmlns:s=\"urn:example:sensors\">\n<trk><name>A made ride</name><trkseg>\n",
    );
    for (second, now) in ride.seconds.iter().enumerate() {
        let [x, y] = world.big_loop.place(now.distance_m);
        let place = world
            .plane
            .to_geodetic([x + aside[0].advance(1.0), y + aside[1].advance(1.0)]);
        let error_m: f64 = height.iter_mut().map(|h| h.advance(1.0)).sum();
        let elevation_m =
            0.2 * ((world.big_loop.elevation_m(now.distance_m) + error_m) / 0.2).round();
        heart += (95.0 + 0.32 * now.power_w - heart) / 30.0;
        let mut shown = Shown::of(now, device, &mut strokes, heart);
        spoil(second, &mut shown);
        if second % device.every_s != 0 {
            continue;
        }
        let _ = write!(
            text,
            "<trkpt lat=\"{:.7}\" lon=\"{:.7}\">",
            place.lat, place.lon
        );
        if device.elevations {
            let _ = write!(text, "<ele>{elevation_m:.1}</ele>");
        }
        if device.times {
            let at = jiff::Timestamp::from_second(BEGUN_S + second as i64).unwrap();
            let _ = write!(text, "<time>{at}</time>");
        }
        shown.write(&mut text);
        text.push_str("</trkpt>\n");
    }
    text.push_str("</trkseg></trk></gpx>\n");
    text
}

/// What the sensors show at a second.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shown {
    pub(crate) power_w: Option<f64>,
    pub(crate) rpm: Option<f64>,
    pub(crate) heart_bpm: Option<f64>,
}

impl Shown {
    fn of(now: &Instant, device: &Device, strokes: &mut Random, heart: f64) -> Shown {
        let stroke = 1.0 + device.power_noise * strokes.normal();
        let turn = 0.8 * strokes.normal();
        let power_w = (now.power_w * device.power_bias * stroke).max(0.0).round();
        let rpm = if now.rpm < 8.0 {
            0.0
        } else {
            (now.rpm + turn).max(0.0).round()
        };
        Shown {
            power_w: device
                .power
                .then_some(if now.power_w < 5.0 { 0.0 } else { power_w }),
            rpm: device.cadence.then_some(rpm),
            heart_bpm: Some(heart.round()),
        }
    }

    fn write(&self, text: &mut String) {
        text.push_str("<extensions>");
        if let Some(power_w) = self.power_w {
            let _ = write!(text, "<power>{power_w}</power>");
        }
        text.push_str("<s:Extension>");
        if let Some(rpm) = self.rpm {
            let _ = write!(text, "<s:cad>{rpm}</s:cad>");
        }
        if let Some(bpm) = self.heart_bpm {
            let _ = write!(text, "<s:hr>{bpm}</s:hr>");
        }
        text.push_str("<s:atemp>15</s:atemp></s:Extension></extensions>");
    }
}
