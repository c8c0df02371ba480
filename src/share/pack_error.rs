use std::fmt;
use std::io;

/// Why a pack cannot be made or taken.
#[derive(Debug)]
pub enum PackError {
    /// The file cannot be read.
    Io(io::Error),
    /// It is no JSON document, or one that readers could read differently.
    NoJson(String),
    /// It breaks the schema.
    Invalid(Vec<String>),
    /// A name in it could not be a file's everywhere.
    Name(String),
    /// Two of its files have names that some systems take for one.
    Alike(String, String),
    /// Its version is not in its only spelling.
    Version(String),
    /// The signer's name cannot be shown; says why.
    SignerName(String),
    /// The signature is not that of the key over the document; who is said to have signed it.
    Signature(String),
    /// A file is not the one of its digest.
    Digest(String),
    /// The procedure has faults; how they look with their lines.
    Faults(String),
    /// What the pack says of the procedure is not what the procedure says of itself.
    Declared {
        /// What it is about: `title`, `unit` or `version`.
        what: &'static str,
        /// What the pack says.
        pack: String,
        /// What the procedure says.
        procedure: String,
    },
}

impl fmt::Display for PackError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PackError::Io(error) => write!(f, "it cannot be read: {error}"),
            PackError::NoJson(why) => write!(f, "it is no proper JSON document: {}", cut(why)),
            PackError::Invalid(breaches) => {
                let shown: Vec<_> = breaches.iter().take(5).map(|breach| cut(breach)).collect();
                let more = breaches.len().saturating_sub(shown.len());
                write!(f, "it is not built like a pack: {}", shown.join("; "))?;
                if more > 0 { write!(f, "; and {more} more") } else { Ok(()) }
            }
            PackError::Name(name) => write!(
                f,
                "\"{}\" can't be the name of a procedure or a module everywhere; use small letters, digits, - and _",
                cut(name)
            ),
            PackError::Alike(one, other) => {
                write!(f, "\"{}\" and \"{}\" are one file on some systems", cut(one), cut(other))
            }
            PackError::Version(version) => write!(
                f,
                "\"{}\" is no version; write three numbers without leading zeros, as in 1.0.0",
                cut(version)
            ),
            PackError::SignerName(why) => f.write_str(why),
            PackError::Signature(name) => write!(
                f,
                "the signature does not fit: it was changed after \"{}\" signed it, or somebody else signed it in \
                 that name",
                cut(name)
            ),
            PackError::Digest(name) => write!(f, "{} is not the file of its digest", cut(name)),
            PackError::Faults(faults) => write!(f, "the procedure has faults:\n{faults}"),
            PackError::Declared { what, pack, procedure } => write!(
                f,
                "it says that the {what} is \"{}\", but the procedure itself says \"{}\"",
                cut(pack),
                cut(procedure)
            ),
        }
    }
}

impl std::error::Error for PackError {}

/// What a hostile file wrote may be of any length; nobody reads more than this of it.
fn cut(text: &str) -> String {
    const LONGEST: usize = 200;
    let mut shown: String = text.chars().take(LONGEST).collect();
    if shown.len() < text.len() {
        shown.push_str(" ...");
    }
    shown
}
