//! Decimal numbers from bytes, exactly rounded.

/// Powers of ten that a double holds exactly.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// Whole numbers up to here are doubles without rounding.
const EXACT: u64 = 1 << 53;

/// A finite decimal number with white space around it allowed; `None` for anything else, `NaN` and `inf` too.
///
/// The nearest double, as `str::parse` gives: a quotient of two exact doubles is rounded once (Clinger 1990, "How to read
/// floating point numbers accurately"); whatever has too many digits for that goes the long way.
pub(super) fn decimal(bytes: &[u8]) -> Option<f64> {
    let bytes = bytes.trim_ascii();
    short_decimal(bytes).or_else(|| long_decimal(bytes))
}

/// The same as a sensor's value; `None` also where it is beyond what is kept of one.
pub(super) fn sensor_value(bytes: &[u8]) -> Option<f32> {
    decimal(bytes)
        .map(|value| value as f32)
        .filter(|value| value.is_finite())
}

fn short_decimal(bytes: &[u8]) -> Option<f64> {
    let (value, length) = leading_decimal(bytes)?;
    (length == bytes.len()).then_some(value)
}

/// The decimal number that bytes start with, without an exponent, and how many of them it takes up; `None` also where it has more digits
/// than one rounding allows.
pub(super) fn leading_decimal(bytes: &[u8]) -> Option<(f64, usize)> {
    let (negative, digits) = match bytes {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, bytes),
    };
    let (whole, after) = leading_whole(digits, 0);
    let whole_digits = digits.len() - after.len();
    let (mantissa, decimals, after) = match after {
        [b'.', fraction @ ..] => {
            let (mantissa, after) = leading_whole(fraction, whole);
            (mantissa, fraction.len() - after.len(), after)
        }
        _ => (whole, 0, after),
    };
    let seen = whole_digits + decimals;
    // Nineteen digits never overflow the mantissa.
    if seen == 0 || seen > 19 || mantissa > EXACT {
        return None;
    }
    let value = mantissa as f64 / POWERS.get(decimals)?;
    let length = bytes.len() - after.len();
    Some((if negative { -value } else { value }, length))
}

/// A number continued by the digits that bytes start with, and what follows them; more than nineteen in all may give any number.
fn leading_whole(mut bytes: &[u8], mut number: u64) -> (u64, &[u8]) {
    while let [byte, rest @ ..] = bytes {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        number = number.wrapping_mul(10).wrapping_add(u64::from(digit));
        bytes = rest;
    }
    (number, bytes)
}

fn long_decimal(bytes: &[u8]) -> Option<f64> {
    let allowed = |byte: &u8| matches!(byte, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E');
    if !bytes.iter().all(allowed) {
        return None;
    }
    let value: f64 = std::str::from_utf8(bytes).ok()?.parse().ok()?;
    value.is_finite().then_some(value)
}

#[cfg(test)]
mod tests {
    use super::{decimal, sensor_value};
    use proptest::prelude::*;

    #[test]
    fn a_sensor_value_is_never_infinite() {
        // Largest single-precision number: 3.4028235e38 (IEEE 754).
        assert_eq!(sensor_value(b"3.4e38"), Some(3.4e38));
        assert_eq!(sensor_value(b"3.5e38"), None);
        assert_eq!(sensor_value(b"-1e300"), None);
        assert_eq!(sensor_value(b"NaN"), None);
    }

    #[test]
    fn numbers_are_read_with_sign_point_exponent_and_spaces() {
        assert_eq!(decimal(b"47.4844814278"), Some(47.4844814278));
        assert_eq!(
            decimal(b" -121.97232423350215\n"),
            Some(-121.97232423350215)
        );
        assert_eq!(decimal(b"+.5"), Some(0.5));
        assert_eq!(decimal(b"5."), Some(5.0));
        assert_eq!(decimal(b"1.25e2"), Some(125.0));
        assert_eq!(decimal(b"0000000000000000000000000001"), Some(1.0));
        assert_eq!(decimal(b"-0").map(f64::to_bits), Some((-0.0_f64).to_bits()));
    }

    #[test]
    fn what_is_no_finite_number_is_refused() {
        for bad in [
            "",
            " ",
            ".",
            "-",
            "NaN",
            "inf",
            "-infinity",
            "1e400",
            "12,5",
            "1.2.3",
            "0x10",
            "4 7",
            "12m",
            "--1",
        ] {
            assert_eq!(decimal(bad.as_bytes()), None, "{bad}");
        }
    }

    proptest! {
        #[test]
        fn every_double_comes_back_as_it_was(value in -1e6_f64..1e6) {
            prop_assert_eq!(decimal(value.to_string().as_bytes()), Some(value));
        }

        #[test]
        fn digits_are_rounded_as_the_standard_library_does(text in "-?[0-9]{1,12}\\.[0-9]{0,14}") {
            prop_assert_eq!(decimal(text.as_bytes()), text.parse().ok());
        }
    }
}
