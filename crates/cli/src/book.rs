//! `paneloft book`: what the workshop knows of panes, and learning more from settled orders.

use std::path::{Path, PathBuf};

use export::write_svg;
use shop::{
    KnownPane, Learned, Lesson, MadeFile, learn_book, safe_file_name, write_book, write_folder,
};
use survey::Policy;

use crate::files::{book_of, name_of, order_of, parent_of};
use crate::outcome::{Answer, Outcome};
use crate::say;

/// What can be done with a glass book.
#[derive(clap::Subcommand)]
pub(crate) enum BookCommand {
    /// Makes or sharpens entries from settled panes of the same vehicle.
    ///
    /// Only panes that can be cut from teach, of orders that name make and model; what was used and
    /// what was left aside is said. The book itself is never changed: --out names the file that gets
    /// all its entries, learned ones with them. Ends with 1 when nothing was learned.
    Learn {
        /// Order files, TOML or JSON.
        #[arg(required = true, value_name = "ORDER")]
        orders: Vec<PathBuf>,
        /// The workshop's glass book so far.
        #[arg(long, value_name = "FILE")]
        book: Option<PathBuf>,
        /// The new glass book; without it nothing is written.
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
    },
    /// Lists what the glass book knows, and draws it.
    ///
    /// Without --book: what is taken of each class and family where the book knows nothing.
    Show {
        /// The workshop's glass book.
        #[arg(long, value_name = "FILE")]
        book: Option<PathBuf>,
        /// Folder for a picture of each entry.
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
    },
}

pub(crate) fn book(command: BookCommand) -> Answer {
    match command {
        BookCommand::Learn { orders, book, out } => learn(&orders, book.as_deref(), out.as_deref()),
        BookCommand::Show { book, out } => show(book.as_deref(), out.as_deref()),
    }
}

fn learn(orders: &[PathBuf], book: Option<&Path>, out: Option<&Path>) -> Answer {
    let known = book_of(book)?;
    let orders = orders.iter().map(|path| order_of(path)).collect::<Result<Vec<_>, _>>()?;
    let learned = learn_book(&known, &orders, &Policy::starting());
    tell(&learned);
    let Some(out) = out else {
        say::line("Nothing is written; name the new glass book with --out FILE.");
        return Ok(outcome_of(&learned));
    };
    let is_same = |book: &Path| book.canonicalize().ok() == out.canonicalize().ok();
    if book.is_some_and(|book| out.exists() && is_same(book)) {
        return Err(format!(
            "{}: is the glass book itself, whose comments would be lost; name a new file",
            out.display()
        ));
    }
    let file = MadeFile {
        name: name_of(out)?,
        kind: "glass book",
        bytes: write_book(&learned.book).into_bytes(),
    };
    let owner = format!("book-{}", safe_file_name(&file.name));
    write_folder(parent_of(out), &owner, &[file]).map_err(|fault| fault.to_string())?;
    say::line(&format!("{} entries in {}", learned.book.entries.len(), out.display()));
    Ok(outcome_of(&learned))
}

fn outcome_of(learned: &Learned) -> Outcome {
    if learned.lessons.is_empty() { Outcome::ToAsk } else { Outcome::Settled }
}

fn tell(learned: &Learned) {
    for Lesson { entry, before, used } in &learned.lessons {
        let name = format!("{} {} {}", entry.make, entry.model, entry.family);
        say::line(&format!(
            "{}  {}",
            say::styled(say::STRONG, &name),
            match before {
                Some(before) => format!(
                    "sharpened: {} panes behind it (before {}), scatter {:.1} mm (before {:.1} mm)",
                    entry.settled,
                    before.settled,
                    entry.sd.mm(),
                    before.sd.mm()
                ),
                None => format!(
                    "new: {} panes behind it, scatter {:.1} mm, years {} to {}",
                    entry.settled,
                    entry.sd.mm(),
                    entry.years[0],
                    entry.years[1]
                ),
            }
        ));
        say::line(&format!("    used: {}", used.join("; ")));
    }
    for reason in &learned.left_aside {
        say::line(&say::styled(say::DOUBT, &format!("    left aside: {reason}")));
    }
}

fn show(book: Option<&Path>, out: Option<&Path>) -> Answer {
    let policy = Policy::starting();
    let known = match book {
        Some(path) => KnownPane::of_book(&book_of(Some(path))?),
        None => KnownPane::of_classes(),
    };
    let mut files = Vec::new();
    for (i, pane) in known.iter().enumerate() {
        let title = pane.title();
        let words = pane.words(&policy).map_err(|fault| fault.to_string())?;
        say::line(&format!("{}  {words}", say::styled(say::STRONG, &title)));
        if out.is_some() {
            let drawing = pane.drawing(&policy).map_err(|fault| fault.to_string())?;
            let svg = write_svg(&drawing).map_err(|fault| fault.to_string())?;
            let name = format!("{:03}-{}.svg", i + 1, safe_file_name(&title));
            files.push(MadeFile { name, kind: "picture", bytes: svg.into_bytes() });
        }
    }
    if let Some(out) = out {
        write_folder(out, "glass-book", &files).map_err(|fault| fault.to_string())?;
        say::line(&format!("{} pictures in {}", files.len(), out.display()));
    }
    Ok(Outcome::Settled)
}
