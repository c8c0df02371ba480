use crate::quantity::POWERS;

/// Reads a decimal of up to 15 characters at the start of a text, written as ECMAScript writes the double that is the
/// nearest to it; returns that double and what is behind it. None where it is not seen at a glance to be one.
///
/// Decimals of up to 15 digits are told apart by their doubles, so no other is as short and means the same double.
pub(super) fn short_decimal(text: &[u8]) -> Option<(f64, &[u8])> {
    /// What is less is written with a power of ten.
    const LEAST: f64 = 1e-6;
    let (is_negative, digits) = match text {
        [b'-', digits @ ..] => (true, digits),
        digits => (false, digits),
    };
    let (mut whole, mut length, mut point) = (0_u64, 0, None);
    for byte in digits.iter().take(MOST_DIGITS + 1) {
        match byte.wrapping_sub(b'0') {
            digit @ 0..=9 => whole = whole * 10 + u64::from(digit),
            _ if *byte == b'.' && point.is_none() => point = Some(length),
            _ => break,
        }
        length += 1;
    }
    let (number, rest) = digits.split_at(length);
    let (first, last) = (*number.first()?, *number.last()?);
    let places = point.map_or(0, |point| length - point - 1);
    // The powers are exact, and a division rounds to the nearest double.
    let size = whole as f64 / POWERS[places];
    let is_as_written = match (first, point) {
        _ if length > MOST_DIGITS || first == b'.' || last == b'.' => false,
        (b'0', None) => length == 1 && !is_negative,
        (b'0', Some(point)) => point == 1 && last != b'0' && size >= LEAST,
        (_, point) => point.is_none() || last != b'0',
    };
    let is_whole = !matches!(rest, [b'.' | b'e' | b'E', ..]);
    (is_as_written && is_whole).then_some((if is_negative { -size } else { size }, rest))
}

/// Returns what is behind a whole number at the start of a text, where it stands there as ECMAScript writes it.
#[inline]
pub(super) fn behind_whole(text: &[u8], number: u64) -> Option<&[u8]> {
    /// As many as the largest whole number has up to which a double holds all.
    const MOST: usize = 16;
    let (mut read, mut length) = (0_u64, 0);
    for digit in text.iter().take(MOST).map(|byte| byte.wrapping_sub(b'0')).take_while(|digit| *digit <= 9) {
        read = read * 10 + u64::from(digit);
        length += 1;
    }
    let has_zeros = length > 1 && text[0] == b'0';
    (read == number && length > 0 && !has_zeros).then(|| &text[length..])
}

const MOST_DIGITS: usize = 15;

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{behind_whole, short_decimal};
    use crate::quantity::six_digits;

    /// The crate `ryu-js`, which follows ECMAScript.
    fn written(value: f64) -> String {
        ryu_js::Buffer::new().format_finite(value).to_owned()
    }

    #[track_caller]
    fn is_read_at_a_glance(text: &str) -> bool {
        let behind = format!("{text},\"n\":1}}");
        short_decimal(behind.as_bytes()).is_some_and(|(value, rest)| {
            assert_eq!((written(value).as_str(), rest), (text, &behind.as_bytes()[text.len()..]));
            true
        })
    }

    #[test]
    fn a_number_is_read_at_a_glance_only_as_it_is_written() {
        for text in ["0", "7", "10", "-10.25", "0.5", "0.000001", "84659.725", "-0.0127", "999999999999999"] {
            assert!(is_read_at_a_glance(text), "{text}");
        }
        for text in [
            "-0",
            "00",
            "01",
            "1.0",
            "1.50",
            "0.0",
            ".5",
            "5.",
            "1.2.3",
            "",
            "-",
            "1e3",
            "1E3",
            "0.0000001",
            "1.5e-7",
            "1234567890123456",
            "0.00000000000001",
        ] {
            assert!(!is_read_at_a_glance(text), "{text}");
        }
    }

    #[test]
    fn a_whole_number_is_passed_over_only_as_it_is_written() {
        for (number, text) in
            [(0, "0,"), (7, "7"), (120, "120]"), (9_007_199_254_740_992, "9007199254740992}")]
        {
            assert_eq!(
                behind_whole(text.as_bytes(), number),
                Some(&text.as_bytes()[written(number as f64).len()..])
            );
        }
        for (number, text) in
            [(0, ""), (0, "00"), (1, "01"), (12, "123"), (1, "-1"), (1, "+1"), (0, ","), (10, "1e1")]
        {
            assert_eq!(behind_whole(text.as_bytes(), number), None, "{number} in {text}");
        }
    }

    proptest! {
        #[test]
        fn whatever_is_read_at_a_glance_is_written_so(text in "-?[0-9]{0,9}(\\.[0-9]{0,9})?(e-?[0-9])?") {
            is_read_at_a_glance(&text);
        }

        #[test]
        fn a_rounded_figure_is_read_at_a_glance(figure in 1e-6..1e6_f64) {
            prop_assert!(is_read_at_a_glance(&written(six_digits(figure))));
        }
    }
}
