//! An order to pieces and files, as the pages and the worker need it.

use std::io::{Cursor, Write};

use lay::Effort;
use shop::{
    Forms, HoldSearch, KNIFE_GAP, Made, Order, lay_orders, make_order, order_files, read_book,
    starting_policy,
};
use store::Release;
use survey::GlassBook;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use crate::error::Oops;
use crate::worker::Progress;

/// Rounds of laying for one order: a few pieces are soon laid as well as they can be.
const ROUNDS: usize = 12;

/// How hard grips are searched for while somebody waits for a page: a few shapes of the cover give
/// grips near where they will be, and a rating on the low side.
pub(crate) const LOOK: HoldSearch<'static> =
    HoldSearch { most_shapes: if cfg!(test) { 2 } else { 16 }, ..HoldSearch::QUICK };

/// The whole chain up to pieces.
pub(crate) fn make(order: &Order, book: &GlassBook, search: &HoldSearch<'_>) -> Result<Made, Oops> {
    make_order(order, book, &starting_policy(), search)
        .map_err(|error| Oops::Entered(error.to_string()))
}

/// Every file of a release, in one ZIP.
pub(crate) fn zipped(release: &Release, book: &str, progress: &Progress) -> Result<Vec<u8>, Oops> {
    let step = |part: f64, words: &str| {
        progress.say(part, words);
        if progress.goes_on() { Ok(()) } else { Err(Oops::Stopped) }
    };
    let order = release.document.order()?;
    let book = read_book(book.as_bytes(), "glass-book.toml").unwrap_or_default();
    step(0.05, "working out the pieces")?;
    let shapes = |pane: &str, n: usize| {
        // Nobody knows how many shapes it takes; the bar nears its mark and never reaches it.
        let part = 1.0 - (-(n as f64) / 300.0).exp();
        progress.say(0.05 + 0.35 * part, &format!("planning the grips of the {pane}, shape {n}"));
    };
    let keep_going = || progress.goes_on();
    let search = HoldSearch { keep_going: &keep_going, progress: &shapes, ..HoldSearch::USUAL };
    let made = make(&order, &book, &search)?;
    step(0.4, "laying them on cloth")?;
    let orders = [(&order, made)];
    let effort =
        Effort { seed: 1, rounds: ROUNDS, keep_going: &|| progress.goes_on(), progress: &|_| {} };
    let laid = lay_orders(&orders, None, KNIFE_GAP, &effort).unwrap_or_default();
    step(0.7, "drawing the files")?;
    let files =
        order_files(&order, &orders[0].1, &laid, &Forms::all()).map_err(|_| Oops::Broken)?;
    step(0.95, "packing them")?;
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for file in files.files {
        zip.start_file(file.name, SimpleFileOptions::default()).map_err(|_| Oops::Broken)?;
        zip.write_all(&file.bytes).map_err(|_| Oops::Broken)?;
    }
    Ok(zip.finish().map_err(|_| Oops::Broken)?.into_inner())
}
