//! Every paper of the demo's orders, into a folder, with places for grips looked for only quickly: to see
//! what a change of template does.
//!
//! ```console
//! $ cargo run -p sheets --example papers -- FOLDER [TEMPLATES]
//! ```

#![allow(clippy::print_stdout, reason = "an example tells what it does")]

use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::path::PathBuf;
use std::time::Instant;

use lay::Effort;
use sheets::{Release, SheetChoices, SheetsAsk, Style, order_sheets};
use shop::demo::{GLASS_BOOK, ORDERS};
use shop::{HoldSearch, KNIFE_GAP, lay_orders, make_order, read_book, read_order, starting_policy};

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let folder = PathBuf::from(arguments.next().ok_or("name a folder")?);
    let mut templates = BTreeMap::new();
    for entry in arguments.next().map(fs::read_dir).transpose()?.into_iter().flatten() {
        let path = entry?.path();
        let name = path.file_name().and_then(|name| name.to_str()).unwrap_or_default().to_owned();
        templates.insert(name, fs::read(&path)?);
    }
    let link = Some("https://loft.example/w/8f3a".to_owned());
    let choices = SheetChoices { link, style: Style::with(templates), ..SheetChoices::usual() };
    let book = read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0)?;
    let search = HoldSearch { keep_going: &|| false, ..HoldSearch::QUICK };
    for (name, words) in ORDERS {
        let order = read_order(words.as_bytes(), name)?;
        let made = [(&order, make_order(&order, &book, &starting_policy(), &search)?)];
        let effort = Effort { seed: 1, rounds: 1, keep_going: &|| true, progress: &|_| () };
        let laid = lay_orders(&made, None, KNIFE_GAP, &effort)?;
        let release = Release::of(&order, &made[0].1, None, Some(jiff::civil::date(2026, 11, 30)));
        let ask = SheetsAsk {
            order: &order,
            made: &made[0].1,
            laid: &laid,
            book: &book,
            release: &release,
            decisions: &[],
            choices: &choices,
        };
        let start = Instant::now();
        let files = order_sheets(&ask)?;
        println!("{name}: {} papers in {:.3} s", files.len(), start.elapsed().as_secs_f64());
        fs::create_dir_all(&folder)?;
        for file in files {
            fs::write(folder.join(file.name), file.bytes)?;
        }
    }
    Ok(())
}
