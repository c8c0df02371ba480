//! What a record's text goes to while it is laid out: memory, or the bytes that it is compared with.

use serde::ser::Error as _;
use serde_json::{Error, Result};

use super::decimal::{behind_whole, short_decimal};

/// What a text goes to, piece by piece.
pub(super) trait Sink {
    fn put(&mut self, piece: &[u8]) -> Result<()>;

    /// Puts a piece that is always the same.
    fn put_mark<const N: usize>(&mut self, mark: &[u8; N]) -> Result<()> {
        self.put(mark)
    }

    /// Puts a name between what stands before and behind it.
    fn put_between<const B: usize, const E: usize>(
        &mut self,
        before: &[u8; B],
        name: &[u8],
        behind: &[u8; E],
    ) -> Result<()> {
        self.put(before)?;
        self.put(name)?;
        self.put(behind)
    }

    /// Puts a finite number as ECMAScript writes it.
    fn number(&mut self, value: f64) -> Result<()> {
        self.put(ryu_js::Buffer::new().format_finite(value).as_bytes())
    }

    /// Puts a whole number that a double holds.
    fn whole(&mut self, value: u64) -> Result<()> {
        self.number(value as f64)
    }
}

impl Sink for Vec<u8> {
    fn put(&mut self, piece: &[u8]) -> Result<()> {
        self.extend_from_slice(piece);
        Ok(())
    }
}

/// What is left of the bytes that a text is compared with while it is written.
pub(super) struct Rest<'a>(pub(super) &'a [u8]);

impl Sink for Rest<'_> {
    #[inline]
    fn put(&mut self, piece: &[u8]) -> Result<()> {
        self.0 = self.0.strip_prefix(piece).ok_or_else(another)?;
        Ok(())
    }

    /// As long as its length is known, no call is needed to compare it.
    #[inline]
    fn put_mark<const N: usize>(&mut self, mark: &[u8; N]) -> Result<()> {
        let (text, rest) = self.0.split_first_chunk::<N>().ok_or_else(another)?;
        if text != mark {
            return Err(another());
        }
        self.0 = rest;
        Ok(())
    }

    /// In one step, which is most of what is to be done for a member.
    #[inline]
    fn put_between<const B: usize, const E: usize>(
        &mut self,
        before: &[u8; B],
        name: &[u8],
        behind: &[u8; E],
    ) -> Result<()> {
        let end = B + name.len();
        let (text, rest) = self.0.split_at_checked(end + E).ok_or_else(another)?;
        if text[..B] != *before || text[end..] != *behind || !are_equal(&text[B..end], name) {
            return Err(another());
        }
        self.0 = rest;
        Ok(())
    }

    /// Most numbers are decimals of few digits. To read one takes a third of the time that it takes to write it.
    fn number(&mut self, value: f64) -> Result<()> {
        match short_decimal(self.0) {
            Some((read, rest)) if read == value => self.0 = rest,
            _ => self.put(ryu_js::Buffer::new().format_finite(value).as_bytes())?,
        }
        Ok(())
    }

    fn whole(&mut self, value: u64) -> Result<()> {
        self.0 = behind_whole(self.0, value).ok_or_else(another)?;
        Ok(())
    }
}

/// Compares two texts of one length. For short ones, as most names are, a call would take longer than to look twice.
#[inline]
fn are_equal(one: &[u8], other: &[u8]) -> bool {
    match one.len() {
        8..=16 => have_equal_ends::<8>(one, other),
        4..=7 => have_equal_ends::<4>(one, other),
        2..=3 => have_equal_ends::<2>(one, other),
        _ => one == other,
    }
}

#[inline]
fn have_equal_ends<const N: usize>(one: &[u8], other: &[u8]) -> bool {
    one.first_chunk::<N>() == other.first_chunk::<N>() && one.last_chunk::<N>() == other.last_chunk::<N>()
}

#[cold]
fn another() -> Error {
    Error::custom("another text")
}

#[cfg(test)]
mod tests {
    use super::are_equal;

    #[test]
    fn texts_of_any_length_are_equal_only_where_every_byte_is() {
        for length in 0..40 {
            let text = vec![b'a'; length];
            assert!(are_equal(&text, &text.clone()));
            for at in 0..length {
                let mut other = text.clone();
                other[at] = b'b';
                assert!(!are_equal(&text, &other), "{at} of {length}");
            }
        }
    }
}
