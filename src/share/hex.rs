use data_encoding::HEXLOWER;

/// Writes bytes as lower-case hexadecimal.
pub(super) fn to_hex(bytes: &[u8]) -> String {
    HEXLOWER.encode(bytes)
}

/// Reads lower-case hexadecimal of just so many bytes; upper case would be a second spelling of the same.
pub(super) fn from_hex<const N: usize>(text: &str) -> Option<[u8; N]> {
    HEXLOWER.decode(text.as_bytes()).ok()?.try_into().ok()
}
