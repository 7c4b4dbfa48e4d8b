//! Why something could not be saved or found.

use shop::FileFault;
use thiserror::Error;

/// Why something could not be saved or found. Whatever it is, nothing saved before was changed.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The database refused: disk full, not a database, locked for long.
    #[error("the workshop's database could not be used: {0}")]
    Database(#[from] sqlx::Error),
    /// The data folder cannot be made or read.
    #[error("the data folder could not be used: {0}; choose another with --data")]
    Folder(#[from] std::io::Error),
    /// The database is from a later program.
    #[error(
        "the database is of version {found}, and this program knows up to {known}; use the newer \
         program"
    )]
    TooNew {
        /// Its version.
        found: i64,
        /// The latest this program knows.
        known: i64,
    },
    /// The database is damaged.
    #[error("the database fails its own check ({0}); restore the last backup")]
    Damaged(String),
    /// There is no such thing.
    #[error("there is no such {0}")]
    Missing(&'static str),
    /// A name that must be unique is in use.
    #[error("there is already {what} `{name}`; choose another")]
    Taken {
        /// What bears the name.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// An order has as many photos as it may have.
    #[error("an order keeps {most} photos at most; take one away first")]
    ManyPhotos {
        /// Most photos of an order.
        most: i64,
    },
    /// An order that cannot be read.
    #[error("{0}")]
    Order(#[from] FileFault),
    /// A reading that means nothing.
    #[error("{0}")]
    Reading(String),
    /// A password too short to keep.
    #[error("a password needs at least {least} letters; use a few words in a row")]
    ShortPassword {
        /// Fewest letters.
        least: usize,
    },
    /// A password could not be hashed or read back.
    #[error("passwords cannot be kept: {0}")]
    Password(String),
}
