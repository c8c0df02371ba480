use crate::quantity::POWERS;

/// Reads a decimal of up to 15 digits at the start of a text, written as ECMAScript writes the double that is the nearest to it;
/// returns that double and what is behind it. None where it is not seen at a glance to be one.
///
/// Decimals of up to 15 digits are told apart by their doubles, so no other is as short and means the same double.
pub(super) fn short_decimal(text: &[u8]) -> Option<(f64, &[u8])> {
    /// What is less is written with a power of ten.
    const LEAST: f64 = 1e-6;
    let (is_negative, digits) = match text {
        [b'-', digits @ ..] => (true, digits),
        digits => (false, digits),
    };
    let (whole, n_before) = digits_of(digits, 0);
    let (whole, places, length) = match digits.get(n_before) {
        Some(b'.') => {
            let (whole, n_behind) = digits_of(&digits[n_before + 1..], whole);
            (whole, n_behind, n_before + 1 + n_behind)
        }
        _ => (whole, 0, n_before),
    };
    // The zero before the point and the point are no digits of it.
    if length > MOST_DIGITS {
        return None;
    }
    let (number, rest) = digits.split_at(length);
    // The powers are exact, and a division rounds to the nearest double.
    let size = whole as f64 / POWERS[places];
    let is_as_written = match number {
        [] | [b'.', ..] | [.., b'.'] => false,
        [b'0'] => !is_negative,
        [b'0', b'.', .., last] => *last != b'0' && size >= LEAST,
        [b'0', ..] => false,
        [.., last] => places == 0 || *last != b'0',
    };
    let is_whole = !matches!(rest, [b'.' | b'e' | b'E', ..]);
    (is_as_written && is_whole).then_some((if is_negative { -size } else { size }, rest))
}

const MOST_DIGITS: usize = 15;

/// Reads the digits at the start of a text, to be put behind those of a number, and counts them. Of more than can count it reads
/// no more than one.
#[inline]
fn digits_of(text: &[u8], mut number: u64) -> (u64, usize) {
    let most = text.len().min(MOST_DIGITS + 1);
    for (n, byte) in text[..most].iter().enumerate() {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            return (number, n);
        }
        number = number.wrapping_mul(10).wrapping_add(u64::from(digit));
    }
    (number, most)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::short_decimal;
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
