//! From the bytes of a file to its text.

/// Bytes looked at to see whether every other one is nought.
const LOOKED_AT: usize = 512;

/// The text of a file: UTF-8 or UTF-16 with or without its mark, else the
/// old Western European code [WHATWG-Encoding, windows-1252], in which every byte
/// is some letter.
pub(super) fn decode(bytes: &[u8]) -> String {
    match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        [0xFF, 0xFE, rest @ ..] => utf16(rest, u16::from_le_bytes),
        [0xFE, 0xFF, rest @ ..] => utf16(rest, u16::from_be_bytes),
        _ if noughts(bytes, 1) => utf16(bytes, u16::from_le_bytes),
        _ if noughts(bytes, 0) => utf16(bytes, u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => bytes.iter().copied().map(western).collect(),
        },
    }
}

/// Whether most bytes at even (0) or odd (1) places are nought and the others aren't.
fn noughts(bytes: &[u8], place: usize) -> bool {
    let seen = &bytes[..bytes.len().min(LOOKED_AT)];
    let count = |from: usize| seen.iter().skip(from).step_by(2).filter(|byte| **byte == 0).count();
    let half = seen.len() / 2;
    half >= 4 && count(place) * 10 >= half * 7 && count(1 - place) * 10 < half
}

fn utf16(bytes: &[u8], unit: impl Fn([u8; 2]) -> u16) -> String {
    let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
    char::decode_utf16(units).map(|letter| letter.unwrap_or(char::REPLACEMENT_CHARACTER)).collect()
}

/// The few places where windows-1252 differs from the first 256 of Unicode and a table might use them.
fn western(byte: u8) -> char {
    match byte {
        0x80 => '€',
        0x91 => '‘',
        0x92 => '’',
        0x93 => '“',
        0x94 => '”',
        0x96 => '–',
        0x97 => '—',
        other => char::from(other),
    }
}
