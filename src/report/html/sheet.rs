use super::markup::{Markup, element};
use super::page::document;
use super::picture::drawn;
use super::scale::hatchings;
use crate::quantity::Unit;
use crate::report::Table;

/// Makes a page of tables and their pictures: self-contained HTML, which is also well-formed XML.
pub fn sheet(title: &str, tables: &[Table], vacuum_unit: &Unit) -> String {
    let mut content = vec![element("h1", &[], title)];
    for table in tables {
        content.push(element("section", &[], one(table, vacuum_unit)));
    }
    document(title, [hatchings(), element("main", &[], content)])
}

fn one(table: &Table, vacuum_unit: &Unit) -> Vec<Markup> {
    let mut content = vec![element("h2", &[], table.title.as_str())];
    if table.rows.is_empty() {
        content.push(element("p", &[], "Nothing yet."));
    } else {
        content.push(rows(table));
    }
    content.extend(table.picture.iter().map(|picture| drawn(picture, vacuum_unit)));
    content.extend(table.notes.iter().map(|note| element("p", &[("class", "legend")], note.as_str())));
    content
}

fn rows(table: &Table) -> Markup {
    let class = |column: usize| if table.is_numeric(column) { "number" } else { "words" };
    let heads: Markup = table
        .heads
        .iter()
        .enumerate()
        .map(|(column, head)| element("th", &[("scope", "col"), ("class", class(column))], *head))
        .collect();
    let body: Markup = table
        .rows
        .iter()
        .map(|row| {
            let cells: Markup = row
                .iter()
                .enumerate()
                .map(|(column, cell)| match column {
                    0 => element("th", &[("scope", "row")], cell.as_str()),
                    _ => element("td", &[("class", class(column))], cell.as_str()),
                })
                .collect();
            element("tr", &[], cells)
        })
        .collect();
    element(
        "table",
        &[("class", "answer")],
        [
            element("caption", &[], table.title.as_str()),
            element("thead", &[], element("tr", &[], heads)),
            element("tbody", &[], body),
        ],
    )
}
