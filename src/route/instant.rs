//! ISO 8601 times from bytes.

use jiff::{Timestamp, civil, tz::TimeZone};

/// An instant, and whether the file says in which time zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Instant {
    /// Seconds since 1970-01-01T00:00:00Z.
    pub(super) time_s: f64,
    /// Whether a zone or offset was given; if not, UTC was taken.
    pub(super) has_zone: bool,
}

/// The instant that `2024-05-01T08:30:00Z` and its like name; an offset and a fraction are understood.
pub(super) fn instant(bytes: &[u8]) -> Option<Instant> {
    let bytes = bytes.trim_ascii();
    usual(bytes).or_else(|| unusual(std::str::from_utf8(bytes).ok()?))
}

/// `YYYY-MM-DDTHH:MM:SS`, a fraction or none, and `Z`, an offset as `+HH:MM`, or nothing.
fn usual(bytes: &[u8]) -> Option<Instant> {
    let (clock, tail) = bytes.split_first_chunk::<19>()?;
    let marks = [clock[4], clock[7], clock[10], clock[13], clock[16]];
    if marks != *b"--T::" {
        return None;
    }
    let year = two_digits(clock, 0)? * 100 + two_digits(clock, 2)?;
    let (month, day) = (two_digits(clock, 5)?, two_digits(clock, 8)?);
    let (hour, minute, second) = (
        two_digits(clock, 11)?,
        two_digits(clock, 14)?,
        two_digits(clock, 17)?,
    );
    // 60 is a leap second, and falls on the next minute's first.
    let in_range = (1..=12).contains(&month)
        && (1..=days_in(year, month)).contains(&day)
        && hour < 24
        && minute < 60
        && second <= 60;
    if !in_range {
        return None;
    }
    let (fraction_s, zone) = fraction(tail);
    let offset_s = match zone {
        b"" | b"Z" => 0,
        [sign @ (b'+' | b'-'), rest @ ..] => {
            let rest: &[u8; 5] = rest
                .try_into()
                .ok()
                .filter(|rest: &&[u8; 5]| rest[2] == b':')?;
            let ahead_s = two_digits(rest, 0)? * 3600 + two_digits(rest, 3)? * 60;
            if *sign == b'-' { -ahead_s } else { ahead_s }
        }
        _ => return None,
    };
    let whole_s =
        days_since_1970(year, month, day) * 86_400 + hour * 3600 + minute * 60 + second - offset_s;
    Some(Instant {
        time_s: whole_s as f64 + fraction_s,
        has_zone: !zone.is_empty(),
    })
}

fn unusual(text: &str) -> Option<Instant> {
    if let Ok(stamp) = text.parse::<Timestamp>() {
        return Some(Instant {
            time_s: seconds(stamp),
            has_zone: true,
        });
    }
    let local = text.parse::<civil::DateTime>().ok()?;
    let stamp = TimeZone::UTC.to_timestamp(local).ok()?;
    Some(Instant {
        time_s: seconds(stamp),
        has_zone: false,
    })
}

fn seconds(stamp: Timestamp) -> f64 {
    stamp.as_second() as f64 + f64::from(stamp.subsec_nanosecond()) / 1e9
}

fn two_digits<const N: usize>(bytes: &[u8; N], at: usize) -> Option<i64> {
    let (tens, ones) = (
        bytes[at].wrapping_sub(b'0'),
        bytes[at + 1].wrapping_sub(b'0'),
    );
    (tens <= 9 && ones <= 9).then(|| i64::from(tens * 10 + ones))
}

/// The fraction of a second at the start of `tail` to the nanosecond, and what follows it.
fn fraction(tail: &[u8]) -> (f64, &[u8]) {
    let [b'.' | b',', digits @ ..] = tail else {
        return (0.0, tail);
    };
    let length = digits
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    let mut nanoseconds = 0_u32;
    for i in 0..9 {
        let digit = digits[..length]
            .get(i)
            .map_or(0, |byte| u32::from(byte - b'0'));
        nanoseconds = nanoseconds * 10 + digit;
    }
    (f64::from(nanoseconds) / 1e9, &digits[length..])
}

fn days_in(year: i64, month: i64) -> i64 {
    match month {
        2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from 1970-01-01 in the Gregorian calendar, by Fliegel and van Flandern (Comm. ACM 11, 1968, 657), whose Julian day
/// number of that date is 2440588.
fn days_since_1970(year: i64, month: i64, day: i64) -> i64 {
    let early = (month - 14) / 12;
    let julian =
        day - 32_075 + 1461 * (year + 4800 + early) / 4 + 367 * (month - 2 - early * 12) / 12
            - 3 * ((year + 4900 + early) / 100) / 4;
    julian - 2_440_588
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn read(text: &str) -> Option<(f64, bool)> {
        instant(text.as_bytes()).map(|instant| (instant.time_s, instant.has_zone))
    }

    #[test]
    fn times_with_zone_offset_and_fraction_are_read() {
        // 951827696 is the Unix time of 2000-02-29T12:34:56Z: 11016 days of 86400 s, and 45296 s.
        assert_eq!(read("2000-02-29T12:34:56Z"), Some((951_827_696.0, true)));
        assert_eq!(
            read(" 2000-02-29T12:34:56.250Z\n"),
            Some((951_827_696.25, true))
        );
        assert_eq!(
            read("2000-02-29T14:34:56+02:00"),
            Some((951_827_696.0, true))
        );
        assert_eq!(
            read("2000-02-29T07:04:56-05:30"),
            Some((951_827_696.0, true))
        );
        assert_eq!(read("1969-12-31T23:59:59.5Z"), Some((-0.5, true)));
    }

    #[test]
    fn a_time_without_zone_is_taken_as_utc_and_marked() {
        assert_eq!(read("2000-02-29T12:34:56"), Some((951_827_696.0, false)));
        assert_eq!(read("2000-02-29 12:34:56"), Some((951_827_696.0, false)));
    }

    #[test]
    fn unusual_but_valid_spellings_are_read() {
        assert_eq!(read("2000-02-29t12:34:56z"), Some((951_827_696.0, true)));
        assert_eq!(read("20000229T123456Z"), Some((951_827_696.0, true)));
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for bad in [
            "",
            "yesterday",
            "2023-02-29T00:00:00Z",
            "2023-13-01T00:00:00Z",
            "2023-01-01T25:00:00Z",
            "2023-01-01T00:00:0",
        ] {
            assert_eq!(read(bad), None, "{bad}");
        }
    }

    proptest! {
        #[test]
        fn every_second_is_the_one_that_jiff_names(second in -62_000_000_000_i64..253_000_000_000, nano in 0_i32..1_000_000_000) {
            let stamp = Timestamp::new(second, if second < 0 { 0 } else { nano }).unwrap();
            prop_assert_eq!(read(&stamp.to_string()), Some((seconds(stamp), true)));
        }

        #[test]
        fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..40)) {
            let _ = instant(&bytes);
        }
    }
}
