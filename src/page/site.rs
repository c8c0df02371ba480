//! The page itself, as the program carries it.

/// A file of the page: its address, its kind and its text.
pub(super) struct SiteFile {
    pub(super) path: &'static str,
    pub(super) kind: &'static str,
    pub(super) text: &'static str,
}

/// Nothing of a session stands in them: whoever asks gets them.
pub(super) const FILES: &[SiteFile] = &[
    SiteFile { path: "/", kind: "text/html; charset=utf-8", text: include_str!("site/index.html") },
    SiteFile { path: "/icon.svg", kind: "image/svg+xml", text: include_str!("site/icon.svg") },
    SiteFile { path: "/page.css", kind: "text/css; charset=utf-8", text: include_str!("site/page.css") },
    SiteFile { path: "/page.js", kind: SCRIPT, text: include_str!("site/page.js") },
    SiteFile { path: "/bench.js", kind: SCRIPT, text: include_str!("site/bench.js") },
    SiteFile { path: "/dial.js", kind: SCRIPT, text: include_str!("site/dial.js") },
    SiteFile { path: "/dom.js", kind: SCRIPT, text: include_str!("site/dom.js") },
    SiteFile { path: "/fit.js", kind: SCRIPT, text: include_str!("site/fit.js") },
    SiteFile { path: "/keys.js", kind: SCRIPT, text: include_str!("site/keys.js") },
    SiteFile { path: "/link.js", kind: SCRIPT, text: include_str!("site/link.js") },
    SiteFile { path: "/photo.js", kind: SCRIPT, text: include_str!("site/photo.js") },
];

const SCRIPT: &str = "text/javascript; charset=utf-8";
