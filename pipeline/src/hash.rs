//! The one hash of the program: what `sha256sum` prints.

use sha2::{Digest, Sha256};

/// SHA-256 of some bytes as 64 lower-case hexadecimal digits.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

#[cfg(test)]
mod tests {
    /// FIPS 180-2, appendix B.1.
    #[test]
    fn the_published_example_comes_out() {
        assert_eq!(
            super::sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }
}
