//! Parquet for engines that work on many recordings: one row a climb, with its line as GeoParquet 1.1 has it.
//!
//! The columns are those of the climbs' CSV, with the line as WKB (OGC 06-103r4, 8.2; types with Z by ISO 19125), the box around it, and
//! the file's `geo` key (GeoParquet 1.1.0). Longitudes and latitudes are WGS 84, which is what the format takes where no other system is named.

use std::io::{self, Write};
use std::mem;
use std::sync::Arc;

use ::parquet::basic::{Compression, GzipLevel, Type as Physical};
use ::parquet::data_type::{ByteArray, ByteArrayType, DataType, DoubleType, Int32Type};
use ::parquet::file::metadata::KeyValue;
use ::parquet::file::properties::{EnabledStatistics, WriterProperties};
use ::parquet::file::writer::{SerializedFileWriter, SerializedRowGroupWriter};
use ::parquet::schema::parser::parse_message_type;
use ::parquet::schema::types::ColumnPath;
use serde_json::json;

use super::stretch::{Position, bounds, of_trace, parts};
use crate::archive::Trace;
use crate::output::document::{ClimbEntry, RouteEntry};

/// Rows that are held before they are written: some megabytes with their lines.
const ROWS_A_GROUP: usize = 4096;

const SCHEMA: &str = "message climbs {
    required binary source (STRING);
    optional binary route (STRING);
    required int32 climb;
    required int32 ascent;
    required double start_distance_m;
    required double start_lat;
    required double start_lon;
    required double start_elevation_m;
    required double end_distance_m;
    required double end_lat;
    required double end_lon;
    required double end_elevation_m;
    required double length_m;
    required double gain_m;
    required double grade_pct;
    required double grade_se_pct;
    required double grade_sd_pct;
    required double steepest_100m_pct;
    required double gentlest_100m_pct;
    optional binary unsure (STRING);
    required binary elevation_source (STRING);
    optional double power_w;
    optional double duration_s;
    optional double duration_low_s;
    optional double duration_high_s;
    optional double speed_kmh;
    optional binary gear (STRING);
    optional double cadence_rpm;
    required binary cautions (STRING);
    required group bbox {
        required double xmin;
        required double ymin;
        required double xmax;
        required double ymax;
    }
    required binary geometry;
}";

/// One value, or none where the column may be empty.
#[derive(Debug, Clone)]
enum Cell {
    Bytes(Option<Vec<u8>>),
    Whole(i32),
    Number(Option<f64>),
}

/// A file of climbs that is written as routes come.
pub struct Rows<W: Write + Send> {
    writer: SerializedFileWriter<W>,
    rows: Vec<Vec<Cell>>,
    cautions: String,
    about: About,
}

/// What the `geo` key says of all lines together.
#[derive(Debug, Default)]
struct About {
    /// Ends of every line's box.
    corners: Vec<Position>,
    /// Lowest and highest elevation, in metres.
    heights_m: Option<(f64, f64)>,
    has_lines: bool,
    has_cut_lines: bool,
}

impl<W: Write + Send> Rows<W> {
    /// Begins a file.
    ///
    /// # Errors
    /// What the sink says.
    pub fn new(sink: W) -> io::Result<Rows<W>> {
        let geometry = ColumnPath::from("geometry");
        let properties = WriterProperties::builder()
            .set_created_by(concat!("hillwright ", env!("CARGO_PKG_VERSION")).to_owned())
            .set_compression(Compression::GZIP(GzipLevel::default()))
            .set_column_dictionary_enabled(geometry.clone(), false)
            .set_column_statistics_enabled(geometry, EnabledStatistics::None)
            .build();
        let schema = Arc::new(parse_message_type(SCHEMA)?);
        Ok(Rows {
            writer: SerializedFileWriter::new(sink, schema, Arc::new(properties))?,
            rows: Vec::new(),
            cautions: crate::output::cautions::CAUTIONS.join(" "),
            about: About::default(),
        })
    }

    /// Adds the climbs of a route, each with its line, in the same order.
    ///
    /// # Errors
    /// What the sink says.
    pub fn route<'a>(
        &mut self,
        route: &RouteEntry,
        lines: impl Iterator<Item = &'a Trace>,
    ) -> io::Result<()> {
        for (climb, line) in route.climbs.iter().zip(lines) {
            let line = of_trace(line);
            let mut row = cells(route, climb);
            row.push(some_text(&self.cautions));
            row.extend(bounds(&line).map(|side| Cell::Number(Some(side))));
            row.push(Cell::Bytes(Some(self.about.wkb(&line))));
            self.rows.push(row);
        }
        if self.rows.len() >= ROWS_A_GROUP {
            self.write_group()?;
        }
        Ok(())
    }

    /// Ends the file, and hands the sink back.
    ///
    /// # Errors
    /// What the sink says.
    pub fn finish(mut self) -> io::Result<W> {
        self.write_group()?;
        let geo = self.about.geo().to_string();
        self.writer
            .append_key_value_metadata(KeyValue::new("geo".to_owned(), geo));
        Ok(self.writer.into_inner()?)
    }

    fn write_group(&mut self) -> io::Result<()> {
        let rows = mem::take(&mut self.rows);
        let Some(width) = rows.first().map(Vec::len) else {
            return Ok(());
        };
        let types: Vec<Physical> = self
            .writer
            .schema_descr()
            .columns()
            .iter()
            .map(|column| column.physical_type())
            .collect();
        let mut group = self.writer.next_row_group()?;
        for (i, physical) in types.into_iter().enumerate().take(width) {
            let cells = rows.iter().map(|row| &row[i]);
            match physical {
                Physical::INT32 => write::<_, Int32Type>(&mut group, cells, |cell| match cell {
                    Cell::Whole(whole) => Some(*whole),
                    _ => None,
                })?,
                Physical::DOUBLE => write::<_, DoubleType>(&mut group, cells, |cell| match cell {
                    Cell::Number(number) => *number,
                    _ => None,
                })?,
                _ => write::<_, ByteArrayType>(&mut group, cells, |cell| match cell {
                    Cell::Bytes(bytes) => bytes.clone().map(ByteArray::from),
                    _ => None,
                })?,
            }
        }
        group.close()?;
        Ok(())
    }
}

/// Writes the next column of a group; what is none is an empty cell, which the format refuses where the column may not have any.
fn write<'a, W: Write + Send, D: DataType>(
    group: &mut SerializedRowGroupWriter<'_, W>,
    cells: impl Iterator<Item = &'a Cell>,
    value: impl Fn(&Cell) -> Option<D::T>,
) -> io::Result<()> {
    let cells: Vec<Option<D::T>> = cells.map(value).collect();
    let levels: Vec<i16> = cells.iter().map(|cell| i16::from(cell.is_some())).collect();
    let values: Vec<D::T> = cells.into_iter().flatten().collect();
    let Some(mut column) = group.next_column()? else {
        return Err(io::Error::other("fewer columns than values in a row"));
    };
    column
        .typed::<D>()
        .write_batch(&values, Some(&levels), None)?;
    Ok(column.close()?)
}

fn some_text(value: &str) -> Cell {
    Cell::Bytes(Some(value.as_bytes().to_vec()))
}

fn maybe_text(value: Option<&str>) -> Cell {
    Cell::Bytes(value.map(text_bytes))
}

fn text_bytes(value: &str) -> Vec<u8> {
    super::clean(value).into_bytes()
}

fn whole(value: usize) -> Cell {
    Cell::Whole(i32::try_from(value).unwrap_or(i32::MAX))
}

/// The cells up to the cautions, in the order of the schema.
fn cells(route: &RouteEntry, climb: &ClimbEntry) -> Vec<Cell> {
    let mut cells = vec![
        Cell::Bytes(Some(text_bytes(&route.source))),
        maybe_text(route.name.as_deref()),
        whole(climb.id),
        whole(climb.ascent),
    ];
    let ends = [&climb.start, &climb.end];
    let ends = ends.map(|p| [p.distance_m, p.lat, p.lon, p.elevation_m]);
    let numbers = [
        climb.length_m,
        climb.gain_m,
        climb.grade_pct,
        climb.grade_se_pct,
        climb.grade_sd_pct,
        climb.steepest_100m_pct,
        climb.gentlest_100m_pct,
    ];
    let numbers = ends.into_iter().flatten().chain(numbers);
    cells.extend(numbers.map(|number| Cell::Number(Some(number))));
    cells.push(maybe_text(climb.unsure.as_deref()));
    cells.push(some_text(&route.elevation.source));
    let ride = climb.ride.as_ref();
    let of_ride = [
        ride.map(|r| r.power_w),
        ride.map(|r| r.duration_s),
        ride.map(|r| r.duration_range_s.low),
        ride.map(|r| r.duration_range_s.high),
        ride.map(|r| r.speed_kmh),
    ];
    cells.extend(of_ride.map(Cell::Number));
    let gear = ride.and_then(|r| r.gear).map(|gear| gear.to_string());
    cells.push(maybe_text(gear.as_deref()));
    cells.push(Cell::Number(ride.and_then(|r| r.cadence_rpm)));
    cells
}

/// Little-endian (WKB's byte order 1), LineString Z and MultiLineString Z.
const LITTLE_ENDIAN: u8 = 1;
const LINE_Z: u32 = 1002;
const MULTI_LINE_Z: u32 = 1005;

impl About {
    /// A line as WKB, cut where it crosses the 180th meridian.
    fn wkb(&mut self, line: &[Position]) -> Vec<u8> {
        let [west, south, east, north] = bounds(line);
        for (lon_deg, lat_deg) in [(west, south), (east, north)] {
            let elevation_m = None;
            self.corners.push(Position {
                lon_deg,
                lat_deg,
                elevation_m,
            });
        }
        for height_m in line.iter().filter_map(|p| p.elevation_m) {
            let (lowest_m, highest_m) = self.heights_m.unwrap_or((height_m, height_m));
            self.heights_m = Some((lowest_m.min(height_m), highest_m.max(height_m)));
        }
        // Corners are as many as twice the lines; of four only the outermost matter.
        if self.corners.len() > 2 {
            let [west, south, east, north] = bounds(&self.corners);
            let corner = |lon_deg, lat_deg| Position {
                lon_deg,
                lat_deg,
                elevation_m: None,
            };
            self.corners = vec![corner(west, south), corner(east, north)];
        }
        let parts = parts(line);
        let mut bytes = Vec::with_capacity(9 + 24 * line.len());
        if let [part] = &parts[..] {
            self.has_lines = true;
            put_line(&mut bytes, part);
        } else {
            self.has_cut_lines = true;
            put_head(&mut bytes, MULTI_LINE_Z, parts.len());
            parts.iter().for_each(|part| put_line(&mut bytes, part));
        }
        bytes
    }

    /// The `geo` key of GeoParquet 1.1.0.
    fn geo(&self) -> serde_json::Value {
        let mut types = Vec::new();
        types.extend(self.has_lines.then_some("LineString Z"));
        types.extend(self.has_cut_lines.then_some("MultiLineString Z"));
        let side = |name: &str| json!(["bbox", name]);
        let mut column = json!({
            "encoding": "WKB",
            "geometry_types": types,
            "covering": { "bbox": {
                "xmin": side("xmin"), "ymin": side("ymin"), "xmax": side("xmax"), "ymax": side("ymax"),
            } },
        });
        if let Some((lowest_m, highest_m)) = self.heights_m {
            let [west, south, east, north] = bounds(&self.corners);
            column["bbox"] = json!([west, south, lowest_m, east, north, highest_m]);
        }
        json!({ "version": "1.1.0", "primary_column": "geometry", "columns": { "geometry": column } })
    }
}

fn put_head(bytes: &mut Vec<u8>, kind: u32, count: usize) {
    bytes.push(LITTLE_ENDIAN);
    bytes.extend(kind.to_le_bytes());
    bytes.extend((count as u32).to_le_bytes());
}

fn put_line(bytes: &mut Vec<u8>, line: &[Position]) {
    put_head(bytes, LINE_Z, line.len());
    for position in line {
        let elevation_m = position.elevation_m.unwrap_or(f64::NAN);
        for number in [position.lon_deg, position.lat_deg, elevation_m] {
            bytes.extend(number.to_le_bytes());
        }
    }
}
