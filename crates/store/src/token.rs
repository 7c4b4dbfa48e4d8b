//! Secrets that open something: sessions and owners' links.

use std::fmt;

use rand::TryRng;
use rand::rngs::SysRng;
use sha2::{Digest, Sha256};

/// 256 random bits, written as 64 hexadecimal digits. Only their SHA-256 is ever saved.
#[derive(Clone, PartialEq, Eq)]
pub struct Token(String);

impl Token {
    /// A new one from the operating system's randomness.
    ///
    /// # Panics
    /// When the operating system gives no randomness, since nothing could then be kept secret.
    #[must_use]
    pub fn new() -> Self {
        let mut bytes = [0_u8; 32];
        SysRng.try_fill_bytes(&mut bytes).expect("the operating system gives random bytes");
        Self(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
    }

    /// One somebody presents.
    #[must_use]
    pub fn presented(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// Its text, for the cookie or the link.
    #[must_use]
    pub fn reveal(&self) -> &str {
        &self.0
    }

    /// What is saved of it.
    pub(crate) fn digest(&self) -> Vec<u8> {
        Sha256::digest(self.0.as_bytes()).to_vec()
    }
}

impl Default for Token {
    fn default() -> Self {
        Self::new()
    }
}

impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token(hidden)")
    }
}
