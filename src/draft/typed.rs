//! What is typed at a draft's questions, as a procedure can hold it.

use crate::console::hidden;
use crate::procedure::is_plain_name;
use crate::quantity::{Entry, NumberError, Pressure, Unit, parse_number, parse_sum};

/// Returns a typed text as a procedure can hold it: on one line, with single blanks, without hidden characters, and
/// with nothing that looks like a name to be filled in.
pub(crate) fn cleaned(text: &str) -> String {
    let spaced: String = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).collect();
    let shown: String = spaced.chars().filter(|c| hidden(c.encode_utf8(&mut [0; 4])).is_none()).collect();
    shown.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ").replace("${", "$ {")
}

/// Returns the texts of a typed list, with commas or semicolons between, save inside double quotes; what differs in
/// case, blanks or hyphens only is taken once.
fn listed(text: &str) -> Vec<String> {
    let plain = |text: &str| text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let mut is_quoted = false;
    let parts = text.split(|c| {
        is_quoted ^= c == '"';
        !is_quoted && [',', ';'].contains(&c)
    });
    let mut texts: Vec<String> = Vec::new();
    for text in parts.map(|part| cleaned(unquoted(part))).filter(|text| !plain(text).is_empty()) {
        if texts.iter().all(|known| plain(known) != plain(&text)) {
            texts.push(text);
        }
    }
    texts
}

/// Returns a text without the double quotes around it, where it has them.
fn unquoted(text: &str) -> &str {
    let text = text.trim();
    text.strip_prefix('"').and_then(|text| text.strip_suffix('"')).unwrap_or(text)
}

/// The longest name made of what was typed.
const LONGEST_NAME: usize = 40;

/// Returns the name of a procedure with a title, which is its file's name without the ending.
///
/// Letters and figures of the alphabet stay, in lower case, and everything else becomes a hyphen; where nothing is
/// left, or a device has that name, it is `new-procedure`.
pub(crate) fn file_name(title: &str) -> String {
    let plain: String =
        title.to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let mut name = String::new();
    for word in plain.split('-').filter(|word| !word.is_empty()) {
        if name.len() + word.len() < LONGEST_NAME {
            name = if name.is_empty() { word.to_owned() } else { format!("{name}-{word}") };
        }
    }
    if is_plain_name(&name) { name } else { "new-procedure".to_owned() }
}

/// The most characters of what stands on a line of its own, as proofreading wants it.
pub(crate) const HEADING: usize = 60;
/// The most characters of a text: four lines of a terminal.
const TEXT: usize = 290;
/// The longest word that fits into a line.
const WORD: usize = 70;
/// The most items of a list.
const ITEMS: usize = 40;

/// Reads what stands on a line of its own.
pub(crate) fn heading(text: &str) -> Result<String, String> {
    short(text, HEADING)
}

/// Reads what may take several lines.
pub(crate) fn long(text: &str) -> Result<String, String> {
    short(text, TEXT)
}

/// Reads a text of at most so many characters that has something to be seen.
pub(crate) fn short(text: &str, most: usize) -> Result<String, String> {
    let text = cleaned(unquoted(text));
    let n = text.chars().count();
    if n == 0 {
        return Err("nothing of that can be seen; type it again".to_owned());
    }
    if n > most {
        return Err(format!("that is {n} characters long; say it in {most} or fewer"));
    }
    match text.split(' ').find(|word| word.chars().count() > WORD) {
        Some(_) => Err("a word of that does not fit into a line; put blanks into it".to_owned()),
        None => Ok(text),
    }
}

/// Reads a list with commas between; `none` empties it.
pub(crate) fn list(text: &str) -> Result<Vec<String>, String> {
    if ["none", NOT_KNOWN].iter().any(|word| text.eq_ignore_ascii_case(word)) {
        return Ok(Vec::new());
    }
    let items = listed(text);
    match items.iter().find_map(|item| heading(item).err()) {
        Some(why) => Err(why),
        None if items.is_empty() => Err("nothing of that can be seen; type it again".to_owned()),
        None if items.len() > ITEMS => Err(format!("more than {ITEMS} are too many for one circuit")),
        None => Ok(items),
    }
}

/// What is typed where something is not known, or is not to be said after all.
pub(crate) const NOT_KNOWN: &str = "not known";

/// Reads a sum of money: a number, zero or more, with its sign or without.
pub(crate) fn price(text: &str) -> Result<f64, String> {
    not_negative(parse_sum(text))
}

fn not_negative(number: Result<f64, NumberError>) -> Result<f64, String> {
    match number {
        Ok(number) if number >= 0.0 => Ok(number),
        Ok(_) => Err("type a number that is not below zero".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

/// Reads hours: a plain number, or minutes as in `50 min`; to a hundredth.
pub(crate) fn hours_of(text: &str) -> Result<f64, String> {
    let words = text.trim().to_lowercase();
    let number_of = |text: &str| not_negative(parse_number(text));
    let minutes = ["minutes", "minute", "mins", "min"].iter().find_map(|unit| words.strip_suffix(unit));
    let hours = ["hours", "hour", "hrs", "h"].iter().find_map(|unit| words.strip_suffix(unit));
    let number = match (minutes, hours) {
        (Some(minutes), _) => number_of(minutes)? / 60.0,
        (None, Some(hours)) => number_of(hours)?,
        (None, None) => number_of(text)?,
    };
    Ok((number * 100.0).round() / 100.0)
}

/// Reads vacuums as they are jotted down: `22.5 21.8 22.1`, `22,5; 21,8`, `76.2 75 kPa`, `22 1/2 21 3/4`.
///
/// Blanks, semicolons and commas with a blank behind part them; a comma between figures is a decimal point. A unit goes
/// for the bare numbers before it.
pub(crate) fn reading_list(text: &str, unit: &'static Unit) -> Result<Vec<Pressure>, String> {
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
    use super::{listed, reading_list};
    use crate::quantity::{INCH_OF_MERCURY, UNITS};

    #[test]
    fn commas_and_semicolons_part_a_list_save_inside_quotes() {
        assert_eq!(listed("late upshift, flare 2-3; shudder"), ["late upshift", "flare 2-3", "shudder"]);
        // Each is taken once, and what can't be seen is none.
        assert_eq!(
            listed("late upshift, flare 2-3; Late  Upshift,, \u{200b},"),
            ["late upshift", "flare 2-3"]
        );
        assert_eq!(listed("\"ream, then sleeve\", new seals"), ["ream, then sleeve", "new seals"]);
        assert_eq!(listed("\"ream, then sleeve\""), ["ream, then sleeve"]);
    }

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
