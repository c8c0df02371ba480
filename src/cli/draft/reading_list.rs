use crate::quantity::{Entry, Pressure, Unit};

/// Reads vacuums as they are jotted down: `22.5 21.8 22.1`, `22,5; 21,8`, `76.2 75 kPa`, `22 1/2 21 3/4`.
///
/// Blanks, semicolons and commas with a blank behind part them; a comma between figures is a decimal point. A unit goes for
/// the bare numbers before it.
pub(super) fn reading_list(text: &str, unit: &'static Unit) -> Result<Vec<Pressure>, String> {
    let mut written: Vec<String> = Vec::new();
    let mut n_done = 0;
    let is_number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || ".,-+".contains(c));
    let is_fraction = |word: &str| word.contains('/') || word.starts_with(['½', '¼', '¾']);
    for word in text.split(|c: char| c.is_whitespace() || c == ';').map(|word| word.trim_end_matches(',')) {
        match written.last_mut() {
            _ if word.is_empty() || word.eq_ignore_ascii_case("and") => {}
            Some(whole) if is_fraction(word) => *whole += &format!(" {word}"),
            _ if is_number(word) => written.push(word.to_owned()),
            _ => {
                for bare in &mut written[n_done..] {
                    *bare += &format!(" {word}");
                }
                n_done = written.len();
            }
        }
    }
    let pressure = |text: &String| {
        let entry = Entry::parse(text, unit).map_err(|error| format!("{text}: {error}"))?;
        let quantity = entry.quantity().ok_or_else(|| format!("{text} is no number"))?;
        Pressure::try_from(quantity).map_err(|found| format!("{text} is a {found}, not a vacuum"))
    };
    if written.is_empty() {
        return Err(format!("type readings with blanks between, as in 22.5 21.8 22.1 ({})", unit.symbol));
    }
    written.iter().map(pressure).collect()
}

#[cfg(test)]
mod tests {
    use super::reading_list;
    use crate::quantity::{INCH_OF_MERCURY, UNITS};

    fn in_hg(text: &str) -> Vec<f64> {
        let readings = reading_list(text, &UNITS[0]).unwrap();
        readings.iter().map(|p| (p.si() / INCH_OF_MERCURY * 100.0).round() / 100.0).collect()
    }

    #[test]
    fn readings_are_read_as_people_jot_them_down() {
        let expected = vec![22.5, 21.75, 22.0];
        for text in [
            "22.5, 21.75 and 22",
            "22.5 21.75 22",
            "22,5; 21,75; 22",
            "22.5, 21.75, 22",
            "22 1/2 21 3/4 22",
            "22.5 21.75 22 inHg",
        ] {
            assert_eq!(in_hg(text), expected, "{text}");
        }
        assert_eq!(in_hg("76.2 kPa 22.5inHg 21"), [22.5, 22.5, 21.0]);
    }

    #[test]
    fn what_is_no_vacuum_is_refused() {
        for text in ["kPa", "good", "22.5 mm", "22..5", ";"] {
            assert!(reading_list(text, &UNITS[0]).is_err(), "{text}");
        }
    }
}
