//! Units against NIST SP 811 (2008), appendix B.8.

use crate::quantity::{INCH_OF_MERCURY, Unit};
use crate::tests::support::{Table, close};

#[test]
fn conversion_factors_are_those_of_nist_sp_811() {
    let words = [
        ("inch", "inch"),
        ("foot", "foot"),
        ("mil (0.001 in)", "thou"),
        ("psi", "psi"),
        ("torr", "mmHg"),
        ("inHg conventional", "inHg"),
        ("inH2O conventional", "inH2O"),
        ("bar", "bar"),
        ("cubic foot per minute (cfm)", "cfm"),
        ("gallon per minute (US)", "gpm"),
        ("centistokes", "cSt"),
        ("pound-force", "lbf"),
        ("pound-force inch", "lbf_in"),
        ("pound-force foot", "lbf_ft"),
    ];
    let table = Table::read("03_unit_conversions.csv");
    for (name, word) in words {
        let row = table.rows().find(|row| row.text("unit") == name).expect("a unit of the table");
        let unit = Unit::by_word(word).expect("a unit of the program");
        // Printed to seven digits; those printed as exact are so.
        close(unit.scale, row.number("value_printed"), 5e-7);
        if !row.text("value_scipy_or_derived").is_empty() {
            close(unit.scale, row.number("value_scipy_or_derived"), 3e-7);
        }
    }
}

#[test]
fn the_inch_of_mercury_is_the_conventional_one_and_not_that_at_60_f() {
    assert_eq!(INCH_OF_MERCURY, 3386.389);
    // 13 595.1 kg/m3 of mercury under standard gravity; SP 811 rounds it by 1.1e-7.
    close(INCH_OF_MERCURY, 13_595.1 * 9.806_65 * 0.0254, 1.2e-7);
    let at_60_f: f64 = 3376.85;
    close(INCH_OF_MERCURY / at_60_f, 1.0028, 1e-4);
}

#[test]
fn temperatures_have_their_zero() {
    let unit = |word| Unit::by_word(word).expect("a unit of the program");
    close(unit("celsius").to_si(0.0), 273.15, 1e-15);
    close(unit("fahrenheit").to_si(32.0), 273.15, 1e-15);
    close(unit("fahrenheit").to_si(212.0), 373.15, 1e-15);
    close(unit("fahrenheit").scale, 0.555_555_555_6, 1e-10);
}
