//! `paneloft demo`: the chain on invented orders.

use std::path::Path;

use shop::demo::{GLASS_BOOK, ORDERS};
use shop::{MadeFile, read_book, read_order, safe_file_name, write_folder};

use crate::make::{Choices, carry_through};
use crate::outcome::{Answer, Outcome};
use crate::say;

pub(crate) fn demo(out: &Path) -> Answer {
    let inputs: Vec<MadeFile> = ORDERS
        .iter()
        .chain(std::iter::once(&GLASS_BOOK))
        .map(|(name, words)| MadeFile {
            name: (*name).to_owned(),
            kind: "demo input",
            bytes: words.as_bytes().to_vec(),
        })
        .collect();
    write_folder(out, "demo", &inputs).map_err(|fault| fault.to_string())?;
    let book = read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0).map_err(|f| f.to_string())?;
    say::line("Three invented orders, from tape readings to cut files.");
    for (name, words) in ORDERS {
        let order = read_order(words.as_bytes(), name).map_err(|fault| fault.to_string())?;
        let folder = out.join(safe_file_name(&order.reference));
        let done =
            carry_through(&order, &book, &shop::starting_policy(), &folder, &Choices::default())?;
        say::line("");
        let (head, rest) = done.summary.split_once('\n').unwrap_or((&done.summary, ""));
        say::line(&say::styled(say::STRONG, head));
        for words in rest.lines().take_while(|l| !l.starts_with("Take care:")) {
            let style = match words.trim_start().chars().next() {
                Some('!') => say::DOUBT,
                Some('?') => say::NEXT,
                _ => anstyle::Style::new(),
            };
            say::line(&say::styled(style, words));
        }
        say::line(&format!("{} files in {}", done.files.len(), folder.display()));
    }
    say::line("");
    say::line(&format!("The orders and the glass book themselves are in {}.", out.display()));
    say::line("Try one yourself:");
    let (order, book) = (out.join(ORDERS[0].0), out.join(GLASS_BOOK.0));
    let command = format!("  paneloft check {} --book {}", order.display(), book.display());
    say::line(&say::styled(say::NEXT, &command));
    say::line("Open the same orders in a browser:");
    say::line(&say::styled(say::NEXT, "  paneloft serve --demo"));
    Ok(Outcome::Settled)
}
