//! The chain from order file to files on disk.

mod answer;
mod book_file;
mod fault;
mod fields;
mod order;
mod order_file;
mod schema;
mod shapes_file;
mod tree;

pub use answer::{
    CheckAnswer, CheckedPane, DepthAnswer, DoubtAnswer, FileAnswer, LayAnswer, MakeAnswer,
    PaneAnswer, PlaceAnswer, PullAnswer, QuestionAnswer,
};
pub use book_file::read_book;
pub use fault::{Fault, FileFault};
pub use order::{Blade, BladePoint, CoverChoices, Hood, Order, Park, safe_file_name};
pub use order_file::{read_order, write_order};
pub use schema::{SCHEMAS, schema};
pub use shapes_file::{ShapesFile, read_shapes};
