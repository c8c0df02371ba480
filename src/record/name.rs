//! Names of sessions: as good as unique without a central office, and found by what somebody reads
//! off a screen and types.

use jiff::civil::DateTime;

/// Digits and letters that are not taken for one another (Douglas Crockford, Base 32): no i, l, o, u.
const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";

/// The fewest characters that tell a name.
const LEAST_TYPED: usize = 4;

/// Writes the lowest bits of a number, five to a letter, in so many letters; a higher number sorts behind a lower one.
pub(crate) fn letters(bits: u64, n_letters: u32) -> String {
    let letter = |n| LETTERS[(bits >> (5 * n)) as usize % LETTERS.len()];
    (0..n_letters).rev().map(|n| char::from(letter(n))).collect()
}

/// Names a session by the day and the time on the wall, so that names stand in the order of their sessions but for the
/// hour in which clocks are turned back, and six letters, as `20261127-093122-k7q4m2`: two for the part of the second
/// and four of chance. Of two sessions that begin in the same thousandth of a second, on whatever benches, one pair in
/// a million has one name; and nobody has to be asked for it.
pub(super) fn session_name(on_the_wall: DateTime, chance: u32) -> String {
    let thousandths = u64::from(on_the_wall.subsec_nanosecond().unsigned_abs()) * 1024 / 1_000_000_000;
    let bits = (thousandths << 20) | u64::from(chance & 0xf_ffff);
    format!("{}-{}", on_the_wall.strftime("%Y%m%d-%H%M%S"), letters(bits, 6))
}

/// Returns whether what was typed may mean a session: its name begins like that, or the letters at its end do. In these
/// capitals and the letters that are taken for digits do no harm.
pub(crate) fn is_meant_by(name: &str, typed: &str) -> bool {
    if typed.len() < LEAST_TYPED {
        return false;
    }
    let letters: String = typed
        .chars()
        .map(|letter| match letter.to_ascii_lowercase() {
            'o' => '0',
            'i' | 'l' => '1',
            letter => letter,
        })
        .collect();
    name.starts_with(typed) || name.rsplit('-').next().is_some_and(|end| end.starts_with(&letters))
}
