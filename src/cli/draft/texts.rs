use crate::draft::{cleaned, listed, unquoted};
use crate::quantity::{parse_number, shown};
use crate::record::Repair;

/// The most characters of what stands on a line of its own, as proofreading wants it.
pub(super) const HEADING: usize = 60;
/// The most characters of a text: four lines of a terminal.
const TEXT: usize = 290;
/// The longest word that fits into a line.
const WORD: usize = 70;
/// The most items of a list.
const ITEMS: usize = 40;

/// Reads what stands on a line of its own.
pub(super) fn heading(text: &str) -> Result<String, String> {
    short(text, HEADING)
}

/// Reads what may take several lines.
pub(super) fn long(text: &str) -> Result<String, String> {
    short(text, TEXT)
}

/// Reads a text of at most so many characters that has something to be seen.
pub(super) fn short(text: &str, most: usize) -> Result<String, String> {
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
pub(super) fn list(text: &str) -> Result<Vec<String>, String> {
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

/// Reads repairs with commas between; what is known of one by that name stays with it.
pub(super) fn repairs(text: &str, known: &[Repair]) -> Result<Vec<Repair>, String> {
    let repairs = list(text)?.into_iter().map(|does| {
        let same = known.iter().find(|repair| repair.does == does).cloned();
        same.unwrap_or(Repair { does, parts: None, hours: None })
    });
    Ok(repairs.collect())
}

/// What is typed where something is not known, or is not to be said after all.
pub(super) const NOT_KNOWN: &str = "not known";

/// Reads what may be left open: by the word that stands for that, or by `none`.
pub(super) fn or_open<T>(
    open: &'static str,
    read: impl Fn(&str) -> Result<T, String>,
) -> impl Fn(&str) -> Result<Option<T>, String> {
    move |text| {
        let is_open = [open, "none"].iter().any(|word| text.eq_ignore_ascii_case(word));
        if is_open { Ok(None) } else { read(text).map(Some) }
    }
}

/// Reads a sum or hours: a plain number, zero or more.
pub(super) fn figure(text: &str) -> Result<f64, String> {
    match parse_number(text) {
        Ok(number) if number >= 0.0 => Ok(number),
        Ok(_) => Err("type a number that is not below zero".to_owned()),
        Err(error) => Err(error.to_string()),
    }
}

/// Reads hours: a plain number, or minutes as in `50 min`; to a hundredth.
pub(super) fn hours_of(text: &str) -> Result<f64, String> {
    let words = text.trim().to_lowercase();
    let minutes = ["minutes", "minute", "mins", "min"].iter().find_map(|unit| words.strip_suffix(unit));
    let hours = ["hours", "hour", "hrs", "h"].iter().find_map(|unit| words.strip_suffix(unit));
    let number = match (minutes, hours) {
        (Some(minutes), _) => figure(minutes.trim())? / 60.0,
        (None, Some(hours)) => figure(hours.trim())?,
        (None, None) => figure(text)?,
    };
    Ok((number * 100.0).round() / 100.0)
}

/// Shows a sum or hours, or that they are not known.
pub(super) fn shown_figure(figure: Option<f64>) -> String {
    figure.map_or(NOT_KNOWN.to_owned(), |figure| shown(figure, 6))
}
