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
        minute(at, self.minutes_ahead())
    }

    fn on_the_wall(&self, at: Timestamp) -> DateTime {
        on_the_wall(at, self.minutes_ahead())
    }

    /// Returns how far the clock was ahead of UTC when the session was opened.
    pub(crate) fn minutes_ahead(&self) -> i16 {
        self.opening().map_or(0, |opening| opening.minutes_ahead)
    }
}

/// Writes a time with its day by a clock that is so many minutes ahead of UTC, as `2026-11-26 15:20 UTC-07:00`.
pub(crate) fn minute(at: Timestamp, minutes_ahead: i16) -> String {
    let clock = match minutes_ahead {
        0 => "UTC".to_owned(),
        ahead => {
            let (sign, minutes) = (if ahead < 0 { '-' } else { '+' }, ahead.unsigned_abs());
            format!("UTC{sign}{:02}:{:02}", minutes / 60, minutes % 60)
        }
    };
    format!("{} {clock}", on_the_wall(at, minutes_ahead).strftime("%Y-%m-%d %H:%M"))
}

fn on_the_wall(at: Timestamp, minutes_ahead: i16) -> DateTime {
    Offset::from_seconds(i32::from(minutes_ahead) * 60).unwrap_or(Offset::UTC).to_datetime(at)
}
