//! A picture and where ports lie on it, written into the text of a procedure: nothing else of it is changed.

use std::collections::BTreeMap;
use std::ops::Range;

use super::declared::{declaration, entries, name};
use crate::procedure::tokens;
use crate::record::Pixel;

/// Returns the text of a procedure with its ports in these places; none where its declaration names no picture, or is
/// not written out where it is called.
pub(crate) fn with_ports(text: &str, ports: &BTreeMap<String, Pixel>) -> Option<String> {
    let tokens = tokens(text);
    let declared = entries(&tokens, declaration(&tokens)?);
    let named = |key: &str| declared.iter().find(|entry| name(&tokens[entry.start]) == key);
    let new_line = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let written = |(port, Pixel { x, y }): (&String, &Pixel)| format!("\"{port}\": [{x}, {y}]");
    // From the end, so that places before stay where they are.
    let mut changes: Vec<(Range<usize>, String)> = Vec::new();
    match named("ports") {
        None => {
            let picture = named("picture")?;
            let last = &tokens[picture.end - 1];
            let lines = ports.iter().map(written).map(|port| format!("{new_line}        {port},"));
            let lines: String = lines.collect();
            let ports = format!(",{new_line}    ports: #{{{lines}{new_line}    }}");
            changes.push((last.end()..last.end(), ports));
        }
        Some(entry) => {
            let first = entry.start + 2;
            if !tokens.get(first)?.is("#{") {
                return None;
            }
            let known = entries(&tokens, first + 1);
            let place = |port: &str| known.iter().find(|entry| name(&tokens[entry.start]) == port);
            let mut new = Vec::new();
            for (port, at) in ports {
                match place(port) {
                    Some(known) => {
                        let Pixel { x, y } = at;
                        let value = tokens.get(known.start + 2)?.start..tokens[known.end - 1].end();
                        changes.push((value, format!("[{x}, {y}]")));
                    }
                    None => new.push(written((port, at))),
                }
            }
            if !new.is_empty() {
                let lines: String = new.iter().map(|port| format!("{new_line}        {port},")).collect();
                match known.last() {
                    Some(last) => {
                        let has_comma = tokens.get(last.end)?.is(",");
                        let end = tokens[last.end - usize::from(!has_comma)].end();
                        changes.push((end..end, format!("{}{lines}", if has_comma { "" } else { "," })));
                    }
                    None => {
                        let end = tokens[first].end();
                        changes.push((end..end, format!("{lines}{new_line}    ")));
                    }
                }
            }
        }
    }
    changes.sort_by_key(|(range, _)| std::cmp::Reverse(range.start));
    let mut text = text.to_owned();
    changes.into_iter().for_each(|(range, new)| text.replace_range(range, &new));
    Some(text)
}

/// Returns the text of a procedure with this picture of its unit; none where its declaration is not written out.
pub(crate) fn with_picture(text: &str, name: &str) -> Option<String> {
    let tokens = tokens(text);
    let first = declaration(&tokens)?;
    let declared = entries(&tokens, first);
    let known = declared.iter().find(|entry| self::name(&tokens[entry.start]) == "picture");
    let mut changed = text.to_owned();
    match known {
        Some(known) => {
            let value = tokens.get(known.start + 2)?.start..tokens[known.end - 1].end();
            changed.replace_range(value, &format!("\"{name}\""));
        }
        None => changed.insert_str(tokens[first - 1].end(), &format!(" picture: \"{name}\",")),
    }
    Some(changed)
}
