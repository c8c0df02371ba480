/// What a double is exactly of the powers of ten, from 1 to 1e22.
pub(crate) const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18,
    1e19, 1e20, 1e21, 1e22,
];

/// Rounds a figure to six significant digits, a hundred times finer than the best of gauges; one from 1e5 to a whole
/// number, and one below 1e-16, which nothing is that is told here, to 0.
pub(crate) fn six_digits(figure: f64) -> f64 {
    rounded::<6>(figure)
}

/// Rounds a figure to three significant digits, as many as a standard uncertainty bears; one from 100 to a whole
/// number, and one below 1e-19 to 0.
pub(crate) fn three_digits(figure: f64) -> f64 {
    rounded::<3>(figure)
}

/// Rounds a figure to so many significant digits.
///
/// The powers of ten here are exact and a division rounds to the nearest double, so what comes out is the double of
/// that decimal: it is written in so many digits, and the same on every machine.
fn rounded<const DIGITS: usize>(figure: f64) -> f64 {
    let (finest, whole) = (POWERS[22 - DIGITS], POWERS[DIGITS - 1]);
    let size = figure.abs();
    if !(1.0 / finest..whole).contains(&size) {
        return if size < 1.0 { 0.0 } else { figure.round() };
    }
    // How many powers of ten, from the least that a figure can have, are not above it.
    let place = POWERS.partition_point(|power| *power <= size * finest).clamp(1, 21);
    let scale = POWERS[22 - place];
    (figure * scale).round() / scale
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{six_digits, three_digits};

    #[test]
    fn figures_are_rounded_to_six_digits() {
        for (figure, rounded) in [
            (0.4560934915145618, 0.456093),
            (84656.1814317504, 84656.2),
            (-1.5332265e-5, -1.53323e-5),
            (101_325.4, 101_325.0),
            (9.999999, 10.0),
            (1.17e-208, 0.0),
            (0.0, 0.0),
        ] {
            assert_eq!(six_digits(figure), rounded);
        }
        for (figure, rounded) in [(0.456_093, 0.456), (1774.9, 1775.0), (99.96, 100.0), (1e-20, 0.0)] {
            assert_eq!(three_digits(figure), rounded);
        }
    }

    proptest! {
        /// The rounding of the standard library's decimal form; where two are as near, either is right.
        #[test]
        fn what_comes_out_is_the_double_of_a_decimal_of_six_digits(digits in 1.0..9.999_999_f64, power in -15..4) {
            let figure: f64 = format!("{digits}e{power}").parse().unwrap();
            let rounded = six_digits(figure);
            let decimal: f64 = format!("{rounded:.5e}").parse().unwrap();
            prop_assert_eq!(rounded, decimal);
            prop_assert!((rounded / figure - 1.0).abs() <= 5.000_001e-6);
        }
    }
}
