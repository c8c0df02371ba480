use crate::console::clean;

/// A piece of HTML. Texts get in through [`Markup::text`] and attributes through [`element`] only, which escape them.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Markup(String);

impl Markup {
    /// Makes markup of a text: control and bidirectional characters become visible, the rest is escaped.
    pub(super) fn text(text: &str) -> Markup {
        Markup(escape(text))
    }

    /// Takes a text that the program itself holds, as a style sheet, as it is.
    pub(super) fn trusted(text: &'static str) -> Markup {
        Markup(text.to_owned())
    }

    pub(super) fn push(&mut self, other: Markup) {
        self.0 += &other.0;
    }

    /// Adds markup behind, where there is any.
    pub(super) fn extend(&mut self, other: Option<Markup>) {
        self.0 += &other.unwrap_or_default().0;
    }

    pub(super) fn into_string(self) -> String {
        self.0
    }
}

impl FromIterator<Markup> for Markup {
    fn from_iter<I: IntoIterator<Item = Markup>>(pieces: I) -> Markup {
        Markup(pieces.into_iter().map(|piece| piece.0).collect())
    }
}

impl From<&str> for Markup {
    fn from(text: &str) -> Markup {
        Markup::text(text)
    }
}

impl From<String> for Markup {
    fn from(text: String) -> Markup {
        Markup::text(&text)
    }
}

impl<const N: usize> From<[Markup; N]> for Markup {
    fn from(pieces: [Markup; N]) -> Markup {
        pieces.into_iter().collect()
    }
}

impl From<Vec<Markup>> for Markup {
    fn from(pieces: Vec<Markup>) -> Markup {
        pieces.into_iter().collect()
    }
}

/// Makes an element with its attributes around a content.
pub(super) fn element(
    name: &'static str,
    attributes: &[(&'static str, &str)],
    content: impl Into<Markup>,
) -> Markup {
    let mut html = open(name, attributes);
    html += ">";
    html += &content.into().0;
    html += &format!("</{name}>");
    Markup(html)
}

pub(super) fn plain(name: &'static str, content: impl Into<Markup>) -> Markup {
    element(name, &[], content)
}

pub(super) fn classed(name: &'static str, class: &str, content: impl Into<Markup>) -> Markup {
    element(name, &[("class", class)], content)
}

/// Makes an element that has no content, written so that XML readers take it too.
pub(super) fn void(name: &'static str, attributes: &[(&'static str, &str)]) -> Markup {
    Markup(open(name, attributes) + " />")
}

fn open(name: &str, attributes: &[(&'static str, &str)]) -> String {
    let mut html = format!("<{name}");
    for (attribute, value) in attributes {
        html += &format!(" {attribute}=\"{}\"", escape(value));
    }
    html
}

fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in clean(text).chars() {
        match c {
            '&' => escaped += "&amp;",
            '<' => escaped += "&lt;",
            '>' => escaped += "&gt;",
            '"' => escaped += "&quot;",
            '\'' => escaped += "&#39;",
            '\n' => escaped.push(' '),
            // Noncharacters are no text in HTML or XML.
            '\u{FFFE}' | '\u{FFFF}' => escaped.push('\u{FFFD}'),
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::{Markup, element};

    #[test]
    fn hostile_text_stays_text() {
        let html = element("p", &[("title", "\"><script>")], "</p><script>alert('1')</script>&\u{202e}\u{0}");
        assert_eq!(
            html.into_string(),
            "<p title=\"&quot;&gt;&lt;script&gt;\">&lt;/p&gt;&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&amp;··</p>"
        );
    }

    #[test]
    fn markup_in_markup_is_not_escaped_twice() {
        let inner = element("b", &[], "a & b");
        assert_eq!(
            element("p", &[], [inner, Markup::text("<")]).into_string(),
            "<p><b>a &amp; b</b>&lt;</p>"
        );
    }
}
