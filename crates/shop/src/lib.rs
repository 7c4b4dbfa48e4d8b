//! The chain from order file to files on disk.

mod answer;
mod beside;
mod book_file;
mod book_learn;
mod chain;
mod cover;
mod cover_file;
pub mod demo;
mod fault;
mod fields;
mod files;
mod folder;
mod held;
mod held_answer;
mod held_words;
mod hold_file;
mod hold_wishes;
mod materials;
mod order;
mod order_file;
mod pieces_file;
mod policy_file;
mod schema;
mod shapes_file;
mod to_read;
mod tree;

pub use answer::{
    CheckAnswer, CheckedFitting, CheckedPane, ClothAnswer, DepthAnswer, DoubtAnswer, FileAnswer,
    LayAnswer, MakeAnswer, MaterialsAnswer, PaneAnswer, PieceNeedAnswer, PlaceAnswer, PullAnswer,
    PullRow, QuestionAnswer,
};
pub use beside::Beside;
pub use book_file::{read_book, write_book};
pub use book_learn::{KnownPane, Learned, Lesson, learn_book};
pub use chain::{
    CLOTH, CLOTH_WIDTH, DraftedPane, GLASS, KNIFE_GAP, LaidPieces, MAGNET, Made, MakeError, STITCH,
    judge_order, lay_orders, make_order, voice_of,
};
pub use cover::{
    ClothEntry, CoverChoices, CoverKind, CoverWishes, Finish, FreeChoice, FreeEdge, LayerChoices,
    LayerWishes,
};
pub use fault::{Fault, FileFault};
pub use files::{
    Format, Forms, OrderFiles, PENS, by_importance, doubt_words, drawing_of_laid, order_files,
    picture_in_wind, picture_of_pane,
};
pub use folder::{FolderError, MadeFile, write_folder};
pub use held::{
    AfterLoss, GripDemand, GripPlace, HoldSearch, MagnetOption, PaneHeat, PaneHold, RaiseOption,
    Rating, StrapPlace, WindRating,
};
pub use held_answer::{
    AfterLossAnswer, BarrenAnswer, DemandAnswer, GripAnswer, GustAnswer, HeatAnswer, HoldAnswer,
    MagnetOptionAnswer, RaiseAnswer, StrapAnswer, WindAnswer,
};
pub use held_words::no_grip_words;
pub use hold_wishes::{
    Exposure, HoldChoices, HoldWishes, Inner, MagnetEntry, StrapWish, WantedWind,
};
pub use materials::{BINDING_SPARE, ClothNeed, Materials, PieceNeed, THREAD_PER_SEAM};
pub use order::{Order, SleeveWishes, safe_file_name};
pub use order_file::{read_order, write_order};
pub use pieces_file::{
    CutOutAnswer, DrillAnswer, EdgeAnswer, NotchAnswer, PieceAnswer, PiecesAnswer, cut_edges,
};
pub use policy_file::{STARTING_POLICY, read_policy, starting_policy};
pub use schema::{SCHEMAS, schema};
pub use shapes_file::{ShapesFile, read_shapes};
pub use to_read::{readings_to_take, where_to_put_the_tape};
