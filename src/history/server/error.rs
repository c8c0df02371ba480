use std::error::Error;
use std::io;
use std::path::PathBuf;

use postgres::error::SqlState;

/// Why a server does not do what was wanted. No text of it holds a password.
#[derive(Debug, thiserror::Error)]
pub(crate) enum ServerError {
    #[error("\"{0}\" is no address of a server; write it as postgres://LOGIN@HOST/DATABASE")]
    NotAnAddress(String),
    #[error(
        "leave the password out of the address: others can read it in the list of processes; write it into the file \
         ~/.pgpass instead, as HOST:PORT:DATABASE:LOGIN:PASSWORD, for nobody else to read (chmod 600), or into one that \
         PGPASSFILE names"
    )]
    PasswordInAddress,
    #[error(
        "sslmode can be verify-full, or disable where nobody listens on the way; \"{0}\" would promise less than it says"
    )]
    Mode(String),
    #[error("{}: {}", .0.display(), .1)]
    File(PathBuf, io::Error),
    #[error("{} can be read by others; chmod 600 makes it yours alone", .0.display())]
    OpenPassFile(PathBuf),
    #[error("{}: no certificate of an authority is in it; name one in PEM with sslrootcert", .0.display())]
    NoRoots(PathBuf),
    #[error("the server is not prepared; whoever administers it runs server prepare once")]
    NotPrepared,
    #[error(
        "the server's tables are of another version than this program; whoever administers it runs server prepare"
    )]
    OtherVersion,
    #[error(
        "the server knows the login {0}, which has no part in the records yet; whoever administers it lets it in: GRANT \
         spoolproof_bench TO {0} to add records, spoolproof_instructor to ask"
    )]
    NoPart(String),
    #[error(
        "the login {0} adds records to the server and may not ask it; whoever administers it can let it: GRANT \
         spoolproof_instructor TO {0}"
    )]
    MayNotAsk(String),
    #[error(
        "the login {0} may ask, and does not administer the server, whose login alone takes up what arrived"
    )]
    MayNotTakeUp(String),
    #[error("your login may not do that on the server ({0}); whoever administers it can let you")]
    MayNot(String),
    #[error("the server did not take it: {0}")]
    Refused(String),
    #[error("the server is not reached: {0}")]
    Unreachable(String),
}

impl From<postgres::Error> for ServerError {
    fn from(error: postgres::Error) -> ServerError {
        let Some(told) = error.as_db_error() else {
            let mut cause: &dyn Error = &error;
            while let Some(deeper) = cause.source() {
                cause = deeper;
            }
            return ServerError::Unreachable(cause.to_string());
        };
        match told.code() {
            &SqlState::INSUFFICIENT_PRIVILEGE => ServerError::MayNot(told.message().to_owned()),
            &SqlState::UNDEFINED_TABLE | &SqlState::UNDEFINED_FUNCTION => ServerError::NotPrepared,
            _ => ServerError::Refused(told.message().to_owned()),
        }
    }
}
