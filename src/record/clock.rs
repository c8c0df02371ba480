//! Times of a record by the clock of the place where it was made.

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::Offset;

use super::Record;

impl Record {
    /// Writes a day of the shop, as `2026-11-26`.
    pub(crate) fn day(&self, at: Timestamp) -> String {
        self.on_the_wall(at).strftime("%Y-%m-%d").to_string()
    }

    /// Writes a time of the day, as `15:20`.
    pub(crate) fn hour(&self, at: Timestamp) -> String {
        self.on_the_wall(at).strftime("%H:%M").to_string()
    }

    /// Writes a time with its day, and by which clock, as `2026-11-26 15:20 UTC-07:00`.
    pub(crate) fn minute(&self, at: Timestamp) -> String {
        let clock = match self.minutes_ahead() {
            0 => "UTC".to_owned(),
            ahead => {
                let (sign, minutes) = (if ahead < 0 { '-' } else { '+' }, ahead.unsigned_abs());
                format!("UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60)
            }
        };
        format!("{} {} {clock}", self.day(at), self.hour(at))
    }

    fn on_the_wall(&self, at: Timestamp) -> DateTime {
        let offset = Offset::from_seconds(i32::from(self.minutes_ahead()) * 60).unwrap_or(Offset::UTC);
        offset.to_datetime(at)
    }

    /// Returns how far the clock was ahead of UTC when the session was opened.
    fn minutes_ahead(&self) -> i16 {
        self.opening().map_or(0, |opening| opening.minutes_ahead)
    }
}
