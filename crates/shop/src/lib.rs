//! The chain from order file to files on disk.

mod fault;
mod fields;
mod order;
mod order_file;
mod tree;

pub use fault::{Fault, FileFault};
pub use order::{Blade, BladePoint, CoverChoices, Hood, Order, Park, safe_file_name};
pub use order_file::{read_order, write_order};
