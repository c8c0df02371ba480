//! The page that a browser shows of a session: who gets it, what it is sent, and what of it the session takes.

mod browser;
mod pairing;
mod photos;
mod strangers;
mod streaming;
