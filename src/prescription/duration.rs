//! Durations as people write them: `4:00`, `1:02:30`, `90s`.

use super::error::{Fault, quoted};

const HOW_TO_WRITE: &str =
    "a duration; write minutes and seconds as 4:00, hours as 1:02:30, or seconds as 90s";

/// Reads `m:ss`, `h:mm:ss` or whole seconds with an `s`. The result is in seconds.
///
/// A bare number is refused, since it may mean minutes or seconds.
pub(super) fn parse_duration_s(text: &str) -> Result<f64, Fault> {
    let text = text.trim();
    if let Some(number) = whole(text, 9) {
        let (minutes, seconds) = (number, number);
        return Err(Fault::unreadable(
            quoted(text),
            format!("a duration: write {minutes}:00 for minutes or {seconds}s for seconds"),
        ));
    }
    seconds_of(text)
        .map(|seconds| seconds as f64)
        .ok_or_else(|| Fault::unreadable(quoted(text), HOW_TO_WRITE))
}

/// Reads a duration as rider and set files have it; in seconds.
///
/// # Errors
/// How to write one.
pub fn parse_duration(text: &str) -> Result<f64, String> {
    parse_duration_s(text).map_err(|_| format!("expected {HOW_TO_WRITE}"))
}

/// Writes seconds, rounded to whole ones, as durations are read.
pub fn duration_text(duration_s: f64) -> String {
    let seconds = duration_s.round() as u64;
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    if hours > 0 {
        format!("{hours}:{minutes:02}:{seconds:02}")
    } else {
        format!("{minutes}:{seconds:02}")
    }
}

fn seconds_of(text: &str) -> Option<u64> {
    if let Some(seconds) = text.strip_suffix('s') {
        return whole(seconds, 6);
    }
    let parts: Vec<&str> = text.split(':').collect();
    match parts[..] {
        [minutes, seconds] => Some(whole(minutes, 4)? * 60 + sixtieths(seconds)?),
        [hours, minutes, seconds] => {
            Some(whole(hours, 3)? * 3600 + sixtieths(minutes)? * 60 + sixtieths(seconds)?)
        }
        _ => None,
    }
}

fn sixtieths(text: &str) -> Option<u64> {
    whole(text, 2).filter(|&value| text.len() == 2 && value < 60)
}

fn whole(text: &str, most_digits: usize) -> Option<u64> {
    let is_whole =
        (1..=most_digits).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if is_whole { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_three_ways_of_writing_are_read() {
        assert_eq!(parse_duration_s("4:00"), Ok(240.0));
        assert_eq!(parse_duration_s("0:10"), Ok(10.0));
        assert_eq!(parse_duration_s("75:00"), Ok(4500.0));
        assert_eq!(parse_duration_s("1:02:30"), Ok(3750.0));
        assert_eq!(parse_duration_s("90s"), Ok(90.0));
        assert_eq!(parse_duration_s(" 4:00 "), Ok(240.0));
    }

    #[test]
    fn anything_else_is_refused() {
        for text in [
            "", "s", ":", "4:0", "4:60", "4:000", "1:60:00", "-4:00", "+4:00", "4:-1", "4.5:00",
            "4m", "1:2:3:4",
        ] {
            assert!(parse_duration_s(text).is_err(), "{text}");
        }
        assert!(parse_duration_s("٤:٠٠").is_err());
        assert!(parse_duration_s("99999999999999999999:00").is_err());
    }

    #[test]
    fn a_bare_number_is_told_both_things_it_could_mean() {
        let fault = parse_duration_s("240").unwrap_err();
        assert_eq!(
            fault.to_string(),
            "`240` is not a duration: write 240:00 for minutes or 240s for seconds"
        );
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(seconds in 0u32..500_000) {
            prop_assert_eq!(parse_duration_s(&duration_text(f64::from(seconds))), Ok(f64::from(seconds)));
        }

        #[test]
        fn no_text_panics(text in "\\PC{0,12}|[0-9:s.]{0,24}") {
            let _ = parse_duration_s(&text);
        }
    }
}
