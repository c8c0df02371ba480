//! The words of the language as a page for authors and as definitions for editors: what the files beside the procedures
//! are held against.

use std::fmt::Write;

use crate::procedure::{Key, PROPERTIES, Property, Sort, Stands, VOCABULARY, Word};
use crate::quantity::UNITS;

/// Returns every word of the language, key, property and unit as one page of Markdown.
pub(super) fn word_list() -> String {
    let mut page = String::new();
    for word in VOCABULARY.iter() {
        heading(&mut page, word);
        if !word.keys.is_empty() {
            page.push_str("\n| key | | what it is |\n| --- | --- | --- |\n");
            for key in &word.keys {
                let needed = if key.needed { "needed" } else { "" };
                let _ = writeln!(page, "| `{}` | {needed} | {}: {} |", key.name, kind_of(key), key.means);
            }
        }
        page.push('\n');
    }
    for (of, title) in [
        (Sort::Reading, "A reading, what `read` and `trial` give"),
        (Sort::Measurement, "A measurement, what `ask_number` gives"),
        (Sort::Count, "A count, what `ask_count` gives"),
        (Sort::Circuit, "A circuit"),
    ] {
        let _ = write!(page, "**{title}**, may be asked:\n\n| ask | what it says |\n| --- | --- |\n");
        for property in PROPERTIES.iter().filter(|property| property.of == of) {
            let _ = writeln!(page, "| `.{}` | {} |", property.name, property.means);
        }
        page.push('\n');
    }
    page.push_str(
        "**Units** stand behind a number and a point, as in `20.inHg`:\n\n| for | write |\n| --- | --- |\n",
    );
    let mut dimensions: Vec<_> = UNITS.iter().map(|unit| unit.dimension).collect();
    dimensions.dedup();
    for dimension in dimensions {
        let units = UNITS.iter().filter(|unit| unit.dimension == dimension);
        let words: Vec<_> = units.map(|unit| format!("`.{}`", unit.word)).collect();
        let _ = writeln!(page, "| {dimension} | {} |", words.join(" "));
    }
    page
}

fn heading(page: &mut String, word: &Word) {
    let form = word.form.replace("  or  ", "` or `");
    let anywhere = if word.stands == Stands::Anywhere { " Inside a test also behind its `t`." } else { "" };
    let _ = write!(page, "**{}**: `{form}`\n\n{}{anywhere}\n", word.name, word.does);
}

fn kind_of(key: &Key) -> String {
    match key.sort {
        Sort::List(Sort::Text) => "texts".to_owned(),
        Sort::List(_) => "descriptions".to_owned(),
        sort => sort.to_string(),
    }
}

/// Returns the definitions of every word for editors that read those of Rhai.
pub(super) fn definitions() -> String {
    let mut text = "module static;\n".to_owned();
    for word in VOCABULARY.iter() {
        for arguments in &word.takes {
            let plain = arguments.iter().map(|(name, sort)| format!("{name}: {}", type_of(*sort)));
            let plain: Vec<_> = plain.collect();
            let on_test: Vec<_> = std::iter::once("test: Test".to_owned()).chain(plain.clone()).collect();
            if word.stands != Stands::InTest {
                function(&mut text, word, &plain);
            }
            if matches!(word.stands, Stands::Anywhere | Stands::InTest) {
                function(&mut text, word, &on_test);
            }
        }
    }
    for Property { of, name, gives, means } in PROPERTIES.iter() {
        let _ = write!(text, "\n/// {means}\nfn get {name}(of: {}) -> {};\n", type_of(*of), type_of(*gives));
    }
    for unit in UNITS {
        for number in ["int", "float"] {
            let _ =
                write!(text, "\n/// {}\nfn get {}(number: {number}) -> Quantity;\n", unit.symbol, unit.word);
        }
    }
    text
}

fn function(text: &mut String, word: &Word, arguments: &[String]) {
    let _ = write!(text, "\n/// {}\n", word.does);
    for key in &word.keys {
        let needed = if key.needed { ", needed" } else { "" };
        let _ = writeln!(text, "/// - {} ({}{needed}): {}", key.name, kind_of(key), key.means);
    }
    let _ = writeln!(text, "fn {}({}) -> {};", word.name, arguments.join(", "), type_of(word.gives));
}

/// Returns the name of a sort as editors know it.
fn type_of(sort: Sort) -> &'static str {
    match sort {
        Sort::Number => "float",
        Sort::Text => "String",
        Sort::YesNo => "bool",
        Sort::Quantity(_) => "Quantity",
        Sort::Reading => "Reading",
        Sort::Measurement => "Measurement",
        Sort::Count => "Count",
        Sort::Circuit => "Circuit",
        Sort::Test => "Test",
        Sort::Steps => "FnPtr",
        Sort::List(_) => "Array",
        Sort::Description => "Map",
        Sort::Nothing => "()",
        Sort::Unknown => "?",
    }
}
