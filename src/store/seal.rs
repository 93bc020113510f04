//! What only the book itself can have made: random tokens, their hashes, seals.
//!
//! A token is random bits of the operating system's own source; the file keeps
//! its SHA-256 [FIPS-180-4], from which nobody gets back to 128 bits or more. Six
//! digits would be guessed back, so a code is kept as an HMAC [RFC-2104] under the
//! book's own key, as form tokens are.

use hmac::{Hmac, KeyInit, Mac};
use sha2::{Digest, Sha256};

use super::{Result, StoreError};

/// Bytes of a hash, a seal or the key.
pub(super) const BYTES: usize = 32;

/// The book's own key.
pub(super) type Key = [u8; BYTES];

/// So many bytes from the operating system.
pub(super) fn random<const N: usize>() -> Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(StoreError::NoRandom)?;
    Ok(bytes)
}

/// A token of so many random bytes, in hexadecimal digits.
pub(super) fn token<const N: usize>() -> Result<String> {
    Ok(hex(&random::<N>()?))
}

/// Six digits, each of the million as likely as the others.
pub(super) fn code() -> Result<String> {
    const ALL: u32 = 1_000_000;
    loop {
        let drawn = u32::from_le_bytes(random()?);
        // Those beyond the last whole million would favour the first codes.
        if drawn < u32::MAX - u32::MAX % ALL {
            return Ok(format!("{:06}", drawn % ALL));
        }
    }
}

/// Whether a text can be a token of so many bytes.
pub(super) fn is_token(text: &str, bytes: usize) -> bool {
    text.len() == 2 * bytes && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f'))
}

pub(super) fn hash(token: &str) -> Vec<u8> {
    Sha256::digest(token.as_bytes()).to_vec()
}

/// The seal on some words, which nobody without the key can make.
pub(super) fn seal(key: &Key, words: &[&str]) -> Vec<u8> {
    sealing(key, words).finalize().into_bytes().to_vec()
}

/// Whether this is the seal on those words; how long that takes tells nothing.
pub(super) fn is_sealed(key: &Key, words: &[&str], seal: &[u8]) -> bool {
    sealing(key, words).verify_slice(seal).is_ok()
}

fn sealing(key: &Key, words: &[&str]) -> Hmac<Sha256> {
    let mut sealing = Hmac::<Sha256>::new_from_slice(key).expect("HMAC takes a key of any length");
    for word in words {
        // The length first, so that no two lists of words read the same.
        sealing.update(&(word.len() as u64).to_le_bytes());
        sealing.update(word.as_bytes());
    }
    sealing
}

pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

pub(super) fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn the_hash_and_the_seal_are_those_of_the_standards() {
        // FIPS 180-4 example "abc".
        assert_eq!(hex(&hash("abc")), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        // RFC 4231, case 2, is HMAC over plain text: ours with no length before it.
        let mut plain = Hmac::<Sha256>::new_from_slice(b"Jefe").unwrap();
        plain.update(b"what do ya want for nothing?");
        assert_eq!(
            hex(&plain.finalize().into_bytes()),
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
        );
    }

    #[test]
    fn a_seal_is_of_its_words_and_its_key_alone() {
        let key = [7; BYTES];
        let made = seal(&key, &["form", "owner"]);
        assert!(is_sealed(&key, &["form", "owner"], &made));
        assert!(!is_sealed(&[8; BYTES], &["form", "owner"], &made));
        for other in [&["form", "stranger"][..], &["formo", "wner"], &["formowner"], &[]] {
            assert!(!is_sealed(&key, other, &made), "{other:?}");
        }
        assert!(!is_sealed(&key, &["form", "owner"], &made[..31]));
    }

    #[test]
    fn tokens_and_codes_are_of_their_length_and_never_twice() {
        let tokens: BTreeSet<String> = (0..1000).map(|_| token::<16>().unwrap()).collect();
        assert_eq!(tokens.len(), 1000);
        assert!(tokens.iter().all(|token| is_token(token, 16) && unhex(token).unwrap().len() == 16));
        let codes: Vec<String> = (0..1000).map(|_| code().unwrap()).collect();
        assert!(codes.iter().all(|code| code.len() == 6 && code.bytes().all(|digit| digit.is_ascii_digit())));
        // Of a thousand drawn, 0.5 pairs are alike on average.
        assert!(codes.iter().collect::<BTreeSet<_>>().len() > 990);
        assert!(!is_token("AB", 1) && !is_token("abc", 1) && !is_token("zz", 1));
        assert_eq!(unhex("é"), None);
    }
}
