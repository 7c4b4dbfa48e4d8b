//! How long all papers of the demo's windscreen order take, cold and warm.
//!
//! ```console
//! $ cargo run --release -p sheets --example speed
//! ```

#![allow(clippy::print_stdout, reason = "an example tells what it measures")]

use std::error::Error;
use std::time::Instant;

use lay::Effort;
use sheets::{Release, SheetChoices, SheetsAsk, order_sheets};
use shop::demo::{GLASS_BOOK, ORDERS};
use shop::{HoldSearch, KNIFE_GAP, lay_orders, make_order, read_book, read_order, starting_policy};

fn main() -> Result<(), Box<dyn Error>> {
    let book = read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0)?;
    let order = read_order(ORDERS[0].1.as_bytes(), ORDERS[0].0)?;
    let made = [(&order, make_order(&order, &book, &starting_policy(), &HoldSearch::USUAL)?)];
    let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
    let laid = lay_orders(&made, None, KNIFE_GAP, &effort)?;
    let release = Release::of(&order, &made[0].1, Some(1), None);
    let choices = SheetChoices::usual();
    let ask = SheetsAsk {
        order: &order,
        made: &made[0].1,
        laid: &laid,
        book: &book,
        release: &release,
        decisions: &[],
        choices: &choices,
    };
    for run in ["cold", "warm", "warm"] {
        let start = Instant::now();
        let files = order_sheets(&ask)?;
        println!("{run}: {} papers in {:.3} s", files.len(), start.elapsed().as_secs_f64());
    }
    Ok(())
}
