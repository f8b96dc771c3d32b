//! Files for the fuzzer to start from, made anew each time: `cargo run --example seeds -- FOLDER`.
//!
//! Targets that read bytes get small files of every kind; targets that read a structure get bytes of every length, which are one.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use arbitrary::{Arbitrary, Unstructured};
use flate2::{Compression, write::GzEncoder};
use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET};
use hillwright_fuzz::road::RoadFile;
// What counts coverage, which everything here is built to call.
use libfuzzer_sys as _;

/// A fixed sequence of bytes (xorshift).
struct Bytes(u64);

impl Bytes {
    fn some(&mut self, count: usize) -> Vec<u8> {
        (0..count)
            .map(|_| {
                self.0 ^= self.0 << 13;
                self.0 ^= self.0 >> 7;
                self.0 ^= self.0 << 17;
                (self.0 >> 32) as u8
            })
            .collect()
    }
}

fn keep(folder: &Path, target: &str, number: usize, bytes: &[u8]) -> io::Result<()> {
    let folder = folder.join(target);
    fs::create_dir_all(&folder)?;
    fs::write(folder.join(format!("seed-{number:03}")), bytes)
}

fn routes(bytes: &mut Bytes) -> Vec<Vec<u8>> {
    let mut files: Vec<Vec<u8>> = (0..40)
        .filter_map(|i| {
            let chosen = bytes.some(40 + 4 * i);
            let road = RoadFile::arbitrary(&mut Unstructured::new(&chosen)).ok()?;
            let file = road.bytes();
            (file.len() < 4000).then_some(file)
        })
        .collect();
    let hand = [
        "<gpx version=\"1.0\"><rte><name>A &amp; B</name><rtept lat=\"1\" lon=\"2\"><ele>3</ele></rtept><rtept lat=\"1.01\" lon=\"2\"/></rte></gpx>",
        "<gpx xmlns:t=\"urn:t\"><trk><trkseg><trkpt lat=\"45\" lon=\"7\"><ele>300</ele><time>2024-05-01T08:00:00Z</time><extensions><power>200</power><t:TrackPointExtension><t:hr>120</t:hr><t:cad>60</t:cad><t:atemp>12</t:atemp></t:TrackPointExtension></extensions></trkpt><trkpt lat=\"45.001\" lon=\"7\"><ele>305</ele><time>2024-05-01T08:00:20.5+02:00</time></trkpt></trkseg></trk></gpx>",
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"urn:g\"><Document><Placemark><gx:Track><when>2024-05-01T08:00:00Z</when><when>2024-05-01T08:00:09Z</when><gx:coord>7 45 300</gx:coord><gx:coord>7 45.001 303</gx:coord></gx:Track></Placemark></Document></kml>",
        "{\"type\":\"FeatureCollection\",\"features\":[{\"type\":\"Feature\",\"properties\":{\"name\":\"x\",\"coordinateProperties\":{\"times\":[\"2024-05-01T08:00:00Z\",\"2024-05-01T08:00:09Z\"]}},\"geometry\":{\"type\":\"LineString\",\"coordinates\":[[7,45,300],[7,45.001,304]]}}]}",
        "{\"type\":\"MultiLineString\",\"coordinates\":[[[179.999,1],[-179.999,1]],[[0,90],[0,89.99]]]}",
        "<?xml version=\"1.0\" encoding=\"ISO-8859-1\"?><!DOCTYPE gpx [<!ENTITY a \"b\">]><gpx><trk><name>&a;<![CDATA[x]]></name></trk></gpx>",
    ];
    files.extend(hand.map(|text| text.as_bytes().to_vec()));
    let wide: Vec<u8> = hand[0].encode_utf16().flat_map(u16::to_le_bytes).collect();
    files.push([&[0xff, 0xfe], wide.as_slice()].concat());
    files
}

fn prescriptions() -> Vec<Vec<u8>> {
    let mut texts: Vec<String> = [EXAMPLE_RIDER, EXAMPLE_SET].map(str::to_owned).to_vec();
    texts.extend(
        [
            "190..225",
            "50..60@55",
            "4:00",
            "4:00..9:00",
            "76%..90%",
            "1:02:03",
            "32..45",
            "reps = 6",
            "[[block]]\nreps = 5\nwork = \"0:10\"\neffort = \"maximal\"\nfrom_kmh = 8\nrecovery = { at_least = \"2:00\" }\n",
            "{\"schema\":\"hillwright.plan/1\",\"asked\":{\"rider\":\"a\",\"warm_up_s\":0,\"blocks\":[]},\"routes\":[]}",
        ]
        .map(str::to_owned),
    );
    texts.into_iter().map(String::into_bytes).collect()
}

fn tiles() -> io::Result<Vec<Vec<u8>>> {
    let level = 12_i16.to_be_bytes().repeat(1201 * 1201);
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(&level)?;
    Ok(vec![
        encoder.finish()?,
        b"PK\x05\x06\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0".to_vec(),
        b"<html>no such tile</html>".to_vec(),
    ])
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = std::env::args().nth(1).ok_or("say which folder")?;
    let folder = Path::new(&folder);
    let mut bytes = Bytes(0x2545_f491_4f6c_dd1d);
    for (number, file) in routes(&mut bytes).iter().enumerate() {
        keep(folder, "route", number, file)?;
    }
    for (number, text) in prescriptions().iter().enumerate() {
        keep(folder, "prescription", number, text)?;
    }
    for (number, file) in tiles()?.iter().enumerate() {
        keep(folder, "tile", number, file)?;
    }
    for target in ["tile", "climbs", "matching", "whole"] {
        for i in 0..60 {
            keep(folder, target, 100 + i, &bytes.some(16 + 6 * i))?;
        }
    }
    Ok(())
}
