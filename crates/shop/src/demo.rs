//! The invented orders of the demo scenario, and the glass book of its workshop.
//!
//! People, makes and vehicles are made up. The readings are those of made-up outlines with the small
//! errors of a tape; one of them is an inch too long, to be caught.

/// One invented order: its file name and what the file says.
pub const ORDERS: [(&str, &str); 3] = [
    ("library.toml", include_str!("demo/library.toml")),
    ("camper.toml", include_str!("demo/camper.toml")),
    ("narrowboat.toml", include_str!("demo/narrowboat.toml")),
];

/// The workshop's glass book: its file name and what the file says.
pub const GLASS_BOOK: (&str, &str) = ("glass-book.toml", include_str!("demo/glass-book.toml"));

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{read_book, read_order};

    #[test]
    fn the_demo_reads_without_a_fault() {
        for (name, words) in ORDERS {
            read_order(words.as_bytes(), name).unwrap();
        }
        read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0).unwrap();
    }
}
