//! The `paneloft` command: from tape readings to cut files.

mod book;
mod check;
mod demo;
mod files;
mod lay;
mod make;
mod outcome;
mod pull;
mod say;
mod serve;
mod sheets;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use outcome::Outcome;

/// Turns a dozen tape readings of vehicle glass into covers that fit: judges the readings, rebuilds
/// the outline, places magnets, drafts and lays the pieces, and writes files for cutting and printing.
#[derive(Parser)]
#[command(name = "paneloft", version, max_term_width = 100)]
struct Paneloft {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Can the readings be trusted? What is doubtful, and what should be asked?
    ///
    /// Ends with 0 when every pane can be cut from, 1 when there is something to ask, 2 when an
    /// order cannot be used.
    Check {
        /// Order files, TOML or JSON.
        #[arg(required = true, value_name = "ORDER")]
        orders: Vec<PathBuf>,
        /// The workshop's glass book.
        #[arg(long, value_name = "FILE")]
        book: Option<PathBuf>,
        /// What the workshop assumes about slips, scatter and costs, in place of the usual.
        #[arg(long, value_name = "FILE")]
        policy: Option<PathBuf>,
        /// One JSON object a line for each order, instead of words.
        #[arg(long)]
        json: bool,
        /// Draws the panes of one order: into FILE, or where there are several into one file each,
        /// named after FILE and the pane (FILE-NAME.svg). A file that this command did not draw is
        /// left alone.
        #[arg(long, value_name = "FILE")]
        svg: Option<PathBuf>,
    },
    /// What the workshop knows of panes: learning it from settled orders, and showing it.
    Book {
        #[command(subcommand)]
        command: book::BookCommand,
    },
    /// Carries an order through to files for cutting table, printer and benches.
    ///
    /// Ends with 0 when every pane can be cut from, 1 when there is something to ask first (pieces
    /// of such panes say so), 2 when the order cannot be used.
    Make {
        /// The order file, TOML or JSON.
        order: PathBuf,
        /// Folder for the files; what is there and was not made by this command is left alone. What an
        /// earlier run made for the same order and this one doesn't is taken away, so that no old
        /// file is taken for a new one.
        #[arg(long, value_name = "DIR")]
        out: PathBuf,
        /// The workshop's glass book.
        #[arg(long, value_name = "FILE")]
        book: Option<PathBuf>,
        /// What the workshop assumes about slips, scatter and costs, in place of the usual.
        #[arg(long, value_name = "FILE")]
        policy: Option<PathBuf>,
        #[command(flatten)]
        choices: make::Choices,
        /// Answer in JSON.
        #[arg(long)]
        json: bool,
    },
    /// The papers of an order as PDF: for measuring, asking, cutting, sewing, magnets, packing and fitting,
    /// a summary, and labels.
    ///
    /// Ends with 0 when every pane can be cut from, 1 when there is something to ask first (papers to
    /// make from say so), 2 when the order cannot be used.
    Sheets(sheets::SheetsArgs),
    /// Lays pieces on cloth: of orders together, or of a file of shapes.
    Lay(lay::LayArgs),
    /// Force of one magnet pair through glass.
    ///
    /// SPEC is disc:DIAMETERxTHICKNESS:BR or block:LxWxT:BR, in mm and tesla or a grade name, such
    /// as disc:20x3:N35. One side may be iron:DIAMETERxTHICKNESS.
    Pull(pull::PullArgs),
    /// Serves the workshop app on this machine, for browsers here and in the workshop.
    Serve(serve::ServeArgs),
    /// Writes a checked copy of the workshop's data, while the app runs or not.
    Backup {
        /// The copy; must not exist.
        file: PathBuf,
        /// Folder of the workshop's data.
        #[arg(long, value_name = "DIR", default_value = "paneloft-data")]
        data: PathBuf,
    },
    /// Puts a copy back, into a folder that holds no data yet.
    Restore {
        /// The copy.
        file: PathBuf,
        /// Folder for the workshop's data.
        #[arg(long, value_name = "DIR", default_value = "paneloft-data")]
        data: PathBuf,
    },
    /// Prints the JSON Schema of a file or answer.
    Schema {
        /// Which one.
        #[arg(value_parser = clap::builder::PossibleValuesParser::new(shop::SCHEMAS))]
        name: String,
    },
    /// Writes invented orders, runs the whole chain on them, and says what happened.
    Demo {
        /// Folder for the demo.
        #[arg(long, value_name = "DIR", default_value = "paneloft-demo")]
        out: PathBuf,
    },
}

fn main() -> ExitCode {
    let outcome = match Paneloft::parse().command {
        Command::Check { orders, book, policy, json, svg } => {
            check::check(&orders, book.as_deref(), policy.as_deref(), json, svg.as_deref())
        }
        Command::Book { command } => book::book(command),
        Command::Make { order, out, book, policy, choices, json } => {
            make::make(&order, &out, book.as_deref(), policy.as_deref(), &choices, json)
        }
        Command::Sheets(args) => sheets::sheets(&args),
        Command::Lay(args) => lay::lay(&args),
        Command::Pull(args) => pull::pull(&args),
        Command::Schema { name } => {
            let schema = shop::schema(&name).unwrap_or_default();
            say::json_pretty(&schema);
            Ok(Outcome::Settled)
        }
        Command::Serve(args) => serve::serve(args),
        Command::Backup { file, data } => serve::backup(&data, &file),
        Command::Restore { file, data } => serve::restore(&file, &data),
        Command::Demo { out } => demo::demo(&out),
    };
    match outcome {
        Ok(outcome) => outcome.code(),
        Err(message) => {
            say::error(&message);
            Outcome::Unusable.code()
        }
    }
}
