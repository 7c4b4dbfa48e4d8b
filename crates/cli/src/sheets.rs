//! `paneloft sheets`: the papers of an order; and what `make` needs to add them.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use clap::Args;
use clap::builder::PossibleValuesParser;
use export::Paper;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;
use lay::Effort;
use sheets::{LabelStock, Release, SheetChoices, SheetsAsk, Style, TEMPLATES, order_sheets};
use shop::{
    HoldSearch, KNIFE_GAP, LaidPieces, Made, MadeFile, Order, lay_orders, make_order,
    safe_file_name, write_folder,
};
use survey::{GlassBook, Unit};

use crate::files::{book_of, bytes_of, order_of, policy_of};
use crate::make::ROUNDS;
use crate::outcome::{Answer, Outcome};
use crate::say;

/// Arguments of `sheets`.
#[derive(Args)]
pub(crate) struct SheetsArgs {
    /// The order file, TOML or JSON.
    order: PathBuf,
    /// Folder for the papers; what is there and was not made by this command is left alone.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// The workshop's glass book.
    #[arg(long, value_name = "FILE")]
    book: Option<PathBuf>,
    /// What the workshop assumes about slips, scatter and costs, in place of the usual.
    #[arg(long, value_name = "FILE")]
    policy: Option<PathBuf>,
    #[command(flatten)]
    papers: PaperArgs,
    /// Also writes our templates into this folder, to start a workshop's own from.
    #[arg(long, value_name = "DIR")]
    write_templates: Option<PathBuf>,
}

/// How papers are made.
#[derive(Args, Default)]
pub(crate) struct PaperArgs {
    /// Number of the release the papers belong to; without it they say that they are a draft.
    #[arg(long, value_name = "N")]
    release: Option<u32>,
    /// The day on the papers [default: today].
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
    /// Unit of the benches' papers; owners read their own.
    #[arg(long, value_name = "UNIT", default_value = "mm",
          value_parser = PossibleValuesParser::new(["mm", "cm", "in"]))]
    unit: String,
    /// Paper of the benches; owners get A4 and Letter.
    #[arg(long, value_name = "PAPER", default_value = "A4",
          value_parser = PossibleValuesParser::new(["A4", "Letter"]))]
    paper: String,
    /// Label stock for pieces, by the size of a label in mm.
    #[arg(long, value_name = "SIZE", default_value = LabelStock::usual_for_pieces().name,
          value_parser = stock_names())]
    labels: String,
    /// Label stock for parcels.
    #[arg(long, value_name = "SIZE", default_value = LabelStock::usual_for_parcels().name,
          value_parser = stock_names())]
    parcel_labels: String,
    /// Where the owner may answer online: an address, printed with its code.
    #[arg(long, value_name = "ADDRESS")]
    link: Option<String>,
    /// Folder of the workshop's own templates and pictures; those of ours that it lacks are used.
    #[arg(long, value_name = "DIR")]
    templates: Option<PathBuf>,
}

fn stock_names() -> PossibleValuesParser {
    PossibleValuesParser::new(LabelStock::ALL.map(|stock| stock.name))
}

/// Most files of a folder of templates that are read. Chosen by us.
const MOST_TEMPLATES: usize = 100;

impl PaperArgs {
    fn choices(&self) -> Result<SheetChoices, String> {
        let words = |fault: sheets::SheetError| fault.to_string();
        let usual = SheetChoices::usual();
        Ok(SheetChoices {
            unit: match &*self.unit {
                "in" => Unit::Inch,
                "cm" => Unit::Centimetre,
                _ => Unit::Millimetre,
            },
            bench_paper: if self.paper == "Letter" { Paper::Letter } else { Paper::A4 },
            piece_stock: match self.labels.is_empty() {
                true => usual.piece_stock,
                false => self.labels.parse().map_err(words)?,
            },
            parcel_stock: match self.parcel_labels.is_empty() {
                true => usual.parcel_stock,
                false => self.parcel_labels.parse().map_err(words)?,
            },
            link: self.link.clone(),
            style: style_of(self.templates.as_deref())?,
            ..usual
        })
    }

    /// The day given, or today where the machine's clock is set.
    fn day(&self) -> Option<Date> {
        let today = || {
            let since = SystemTime::now().duration_since(UNIX_EPOCH).ok()?;
            let now = Timestamp::from_second(i64::try_from(since.as_secs()).ok()?).ok()?;
            Some(Offset::UTC.to_datetime(now).date())
        };
        self.date.or_else(today)
    }

    /// The papers of an order that was carried through.
    pub(crate) fn sheets(
        &self,
        order: &Order,
        made: &Made,
        laid: &[LaidPieces<'_>],
        book: &GlassBook,
    ) -> Result<Vec<MadeFile>, String> {
        let release = Release::of(order, made, self.release, self.day());
        let choices = self.choices()?;
        let ask = SheetsAsk {
            order,
            made,
            laid,
            book,
            release: &release,
            decisions: &[],
            choices: &choices,
        };
        order_sheets(&ask).map_err(|fault| format!("{}: {fault}", order.reference))
    }
}

/// A workshop's own templates, from a folder; ours alone where there is none.
fn style_of(folder: Option<&Path>) -> Result<Style, String> {
    let Some(folder) = folder else { return Ok(Style::default()) };
    let unreadable = |fault: std::io::Error| {
        format!("{}: {fault}; check the folder's name and place", folder.display())
    };
    let mut files = BTreeMap::new();
    for entry in fs::read_dir(folder).map_err(unreadable)?.take(MOST_TEMPLATES) {
        let path = entry.map_err(unreadable)?.path();
        let name = path.file_name().and_then(|name| name.to_str());
        if let Some(name) = name.filter(|name| path.is_file() && !name.starts_with('.')) {
            files.insert(name.to_owned(), bytes_of(&path)?);
        }
    }
    Ok(Style::with(files))
}

pub(crate) fn sheets(args: &SheetsArgs) -> Answer {
    let (book, policy) = (book_of(args.book.as_deref())?, policy_of(args.policy.as_deref())?);
    let order = order_of(&args.order)?;
    let words = |fault: &dyn std::fmt::Display| format!("{}: {fault}", order.reference);
    if let Some(folder) = &args.write_templates {
        let files: Vec<MadeFile> = TEMPLATES
            .iter()
            .map(|(name, text)| MadeFile {
                name: (*name).to_owned(),
                kind: "template",
                bytes: text.as_bytes().to_vec(),
            })
            .collect();
        write_folder(folder, "templates", &files).map_err(|fault| fault.to_string())?;
    }
    let search = HoldSearch { progress: &say::progress, ..HoldSearch::USUAL };
    let made = make_order(&order, &book, &policy, &search);
    say::progress_done();
    let made = made.map_err(|fault| words(&fault))?;
    let made = [(&order, made)];
    let effort = Effort { seed: 1, rounds: ROUNDS, keep_going: &|| true, progress: &|_| () };
    let laid = match made[0].1.pieces().next() {
        Some(_) => lay_orders(&made, None, KNIFE_GAP, &effort).map_err(|f| words(&f))?,
        None => Vec::new(),
    };
    let files = args.papers.sheets(&order, &made[0].1, &laid, &book)?;
    let owner = format!("{}-sheets", safe_file_name(&order.reference));
    write_folder(&args.out, &owner, &files).map_err(|fault| fault.to_string())?;
    for file in &files {
        say::line(&format!("{}  {}", file.name, file.kind));
    }
    say::line(&format!("{} papers in {}", files.len(), args.out.display()));
    Ok(if made[0].1.is_settled() { Outcome::Settled } else { Outcome::ToAsk })
}
