use std::fmt;

/// Why a gauge that reads itself has nothing to offer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GaugeError {
    /// It cannot be opened.
    Unopened {
        /// Where it should be.
        place: String,
        /// What the system says.
        why: String,
    },
    /// It has gone: unplugged, switched off, or the stream has ended.
    Lost {
        /// What the system says.
        why: String,
    },
    /// It is there and sends nothing.
    Silent {
        /// For how long, in whole seconds.
        seconds: u64,
    },
    /// It sends lines in another unit than agreed.
    WrongUnit {
        /// The unit that it sends.
        found: &'static str,
        /// The unit agreed.
        wanted: &'static str,
    },
    /// Most of what it sends does not fit its format.
    Babbling {
        /// A line that does not fit, cut short.
        line: String,
    },
    /// It sends and sends, and the needle does not come to rest.
    Restless {
        /// For how long, in whole seconds.
        seconds: u64,
    },
}

impl fmt::Display for GaugeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            GaugeError::Unopened { place, why } => {
                write!(
                    f,
                    "the gauge at {place} cannot be opened ({why}); check its cable and its name, or type readings"
                )
            }
            GaugeError::Lost { why } => {
                write!(f, "the gauge is gone ({why}); check its plug and its power, or type the reading")
            }
            GaugeError::Silent { seconds } => write!(
                f,
                "the gauge has sent nothing for {seconds} s; check that it is on and set to send, or type the reading"
            ),
            GaugeError::WrongUnit { found, wanted } => {
                write!(
                    f,
                    "the gauge sends {found}, but {wanted} is agreed; switch it back, or type the reading"
                )
            }
            GaugeError::Babbling { line } => write!(
                f,
                "what the gauge sends does not fit its format, as \"{line}\"; check its speed (baud) and format, \
                 or type the reading"
            ),
            GaugeError::Restless { seconds } => write!(
                f,
                "the needle has not come to rest in {seconds} s; look for a leaking connection, or type the reading"
            ),
        }
    }
}

impl std::error::Error for GaugeError {}
