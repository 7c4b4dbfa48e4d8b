//! What a paper belongs to: the order, which release of it, and when.
//!
//! A numbered release is `H-0142-R3`. A draft takes its identity from what it holds: the first 30 bits
//! of the SHA-256 of the order as read, its pieces and its grips, as six characters that are not
//! mistaken for one another, `H-0142-7K3Q9X`. Papers of one draft carry the same identity, and any
//! change gives another. A reference that is no short plain word is replaced by one derived from it, so
//! that an identity always fits on a label.

use jiff::civil::Date;
use sha2::{Digest, Sha256};
use shop::{Made, Order, PiecesAnswer, write_order};

/// Digits and capitals without I, L, O and U, which are mistaken for others (as in Crockford's base 32).
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Longest reference that is taken as it is. Chosen by us: with it a bar code fits the narrowest label.
const LONGEST: usize = 9;

/// Which release of an order a paper belongs to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Release {
    reference: String,
    number: Option<u32>,
    content: [u8; 32],
    date: Option<Date>,
}

impl Release {
    /// The release of that number, or a draft where there is none, as of that day. The day comes from
    /// outside: nothing here knows a clock.
    #[must_use]
    pub fn of(order: &Order, made: &Made, number: Option<u32>, date: Option<Date>) -> Self {
        let mut hasher = Sha256::new();
        hasher.update(write_order(order).as_bytes());
        let pieces = PiecesAnswer::of(&order.reference, made);
        hasher.update(serde_json::to_vec(&pieces).expect("pieces are JSON"));
        for pane in &made.panes {
            for grip in &pane.plan.grips {
                let [x, y] = grip.at.mm();
                hasher.update(format!("{} {x:.3} {y:.3};", grip.number).as_bytes());
            }
        }
        let reference = order.reference.clone();
        Self { reference, number, content: hasher.finalize().into(), date }
    }

    /// What codes and papers carry: capitals, digits and `-`.
    #[must_use]
    pub fn identity(&self) -> String {
        let plain = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '-';
        let reference = match self.reference.len() <= LONGEST && self.reference.chars().all(plain) {
            true => self.reference.clone(),
            false => format!("X{}", letters(&Sha256::digest(self.reference.as_bytes()).into())),
        };
        match self.number {
            Some(number) => format!("{reference}-R{number}"),
            None => format!("{reference}-{}", letters(&self.content)),
        }
    }

    /// `release 3`, or `draft 7K3Q9X, not a release`.
    #[must_use]
    pub fn words(&self) -> String {
        match self.number {
            Some(number) => format!("release {number}"),
            None => format!("draft {}, not a release", letters(&self.content)),
        }
    }

    /// `30 November 2026`; nothing where no day was given.
    #[must_use]
    pub fn day(&self) -> Option<String> {
        self.date.map(|date| date.strftime("%-d %B %Y").to_string())
    }

    /// Whether it is frozen for making.
    #[must_use]
    pub const fn is_numbered(&self) -> bool {
        self.number.is_some()
    }
}

/// The first 30 bits as six characters.
fn letters(bytes: &[u8; 32]) -> String {
    let bits = u32::from_be_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]);
    (0..6).map(|i| char::from(LETTERS[(bits >> (27 - 5 * i) & 31) as usize])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn release(reference: &str, number: Option<u32>, content: [u8; 32]) -> Release {
        let date = Some(jiff::civil::date(2026, 11, 30));
        Release { reference: reference.into(), number, content, date }
    }

    #[test]
    fn a_numbered_release_is_called_by_its_number() {
        let release = release("H-0142", Some(3), [7; 32]);
        assert_eq!(release.identity(), "H-0142-R3");
        assert_eq!(release.words(), "release 3");
        assert_eq!(release.day().as_deref(), Some("30 November 2026"));
    }

    #[test]
    fn a_draft_is_called_by_what_it_holds() {
        let [one, other] = [[0; 32], [255; 32]].map(|content| release("H-0142", None, content));
        assert_eq!(one.identity(), "H-0142-000000");
        assert_eq!(other.identity(), "H-0142-ZZZZZZ");
        assert_eq!(other.words(), "draft ZZZZZZ, not a release");
    }

    #[test]
    fn any_reference_gives_a_short_plain_identity_of_its_own() {
        let odd = ["H 0142", "h-0142", "ÄÖ", "H-0142-long-long-long", "\u{202e}x"];
        let mut all: Vec<String> =
            odd.iter().map(|name| release(name, None, [9; 32]).identity()).collect();
        for identity in &all {
            assert!(identity.len() <= 16, "{identity}");
            assert!(identity.bytes().all(|b| b == b'-' || LETTERS.contains(&b)), "{identity}");
        }
        all.sort();
        all.dedup();
        assert_eq!(all.len(), odd.len());
    }
}
