/// Returns whether a text can stand between the quotes of a JSON text as it is (RFC 8259, section 7).
#[inline]
pub(super) fn is_plain(text: &[u8]) -> bool {
    let (eights, rest) = text.as_chunks::<8>();
    let is_rest_plain = match text.last_chunk::<8>() {
        Some(last) => !is_any_escaped(*last),
        None => !rest.iter().any(|byte| is_escaped(*byte)),
    };
    is_rest_plain && !eights.iter().any(|eight| is_any_escaped(*eight))
}

/// Finds the first byte of a text that can't stand between the quotes of a JSON text as it is.
#[inline]
pub(super) fn first_escaped(text: &[u8]) -> Option<usize> {
    let (eights, rest) = text.as_chunks::<8>();
    let n_plain = eights.iter().take_while(|eight| !is_any_escaped(**eight)).count();
    let behind = if n_plain == eights.len() { rest } else { &eights[n_plain] };
    behind.iter().position(|byte| is_escaped(*byte)).map(|at| n_plain * 8 + at)
}

/// Returns whether a byte of a text can't stand between quotes as it is.
fn is_escaped(byte: u8) -> bool {
    byte < b' ' || byte == b'"' || byte == b'\\'
}

/// Returns whether one of eight bytes is to be escaped: all are looked at in one, by what is carried into their highest bits.
#[inline]
fn is_any_escaped(bytes: [u8; 8]) -> bool {
    const ONES: u64 = 0x0101_0101_0101_0101;
    const HIGHEST: u64 = ONES << 7;
    let bytes = u64::from_le_bytes(bytes);
    let any_below = |bytes: u64, limit: u8| bytes.wrapping_sub(ONES * u64::from(limit)) & !bytes & HIGHEST;
    let any_is = |byte: u8| any_below(bytes ^ (ONES * u64::from(byte)), 1);
    any_below(bytes, b' ') | any_is(b'"') | any_is(b'\\') != 0
}

#[cfg(test)]
mod tests {
    use super::{first_escaped, is_plain};

    #[test]
    fn every_byte_that_is_to_be_escaped_is_found_wherever_it_stands() {
        for byte in 0..=u8::MAX {
            for (length, at) in (0..20).flat_map(|length| (0..length).map(move |at| (length, at))) {
                for around in [b'a', b'!', b'#', b'[', b']', 0x7f, 0xa0, 0xa2, 0xff] {
                    let mut text = vec![around; length];
                    text[at] = byte;
                    let wanted = text.iter().position(|byte| *byte < 0x20 || [b'"', b'\\'].contains(byte));
                    assert_eq!(first_escaped(&text), wanted, "{byte} at {at} of {length}");
                    assert_eq!(is_plain(&text), wanted.is_none(), "{byte} at {at} of {length}");
                }
            }
        }
    }
}
