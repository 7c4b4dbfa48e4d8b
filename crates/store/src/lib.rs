//! The workshop's saved work, in one SQLite file inside its data folder: accounts, orders with all
//! their changes, questions, owners' links and releases.
//!
//! An order is kept as its order file (JSON of the shape `paneloft schema order` states), so what is
//! saved can be read, checked and carried through by the same code as a file on disk. Each change
//! keeps the whole order after it. A write is acknowledged only after it is on the disk
//! (`synchronous = FULL`), and writers take turns from the start (`BEGIN IMMEDIATE`), so that of two
//! changes made at once neither is lost.

mod account;
mod document;
mod error;
mod link;
mod open;
mod order;
mod photo;
mod release;
mod task;
mod token;

pub use account::{Account, LEAST_PASSWORD, Role, SESSION_LASTS, Workshop};
pub use document::Document;
pub use error::StoreError;
pub use link::{Asked, LINK_LASTS};
pub use open::{Moment, Store};
pub use order::{Change, Note, OrderRow, SavedOrder, Stage};
pub use photo::{MOST_PHOTOS, Photo};
pub use release::Release;
pub use task::{LEASE, MOST_ATTEMPTS, Taken, Task, TaskState};
pub use token::Token;
