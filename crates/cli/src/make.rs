//! `paneloft make`: an order through to files.

use std::num::NonZeroU8;
use std::path::Path;

use clap::Args;
use clap::builder::PossibleValuesParser;
use export::{Pens, Reach};
use lay::Effort;
use shop::{
    FileAnswer, Format, Forms, HoldAnswer, HoldSearch, KNIFE_GAP, Made, MadeFile, MakeAnswer,
    MaterialsAnswer, Order, PaneAnswer, lay_orders, make_order, order_files, safe_file_name,
    write_folder,
};
use survey::{GlassBook, Policy};

use crate::files::{book_of, order_of, policy_of};
use crate::outcome::{Answer, Outcome};
use crate::say;
use crate::sheets::PaperArgs;

/// Rounds of laying for one order: a few pieces are soon laid as well as they can be.
pub(crate) const ROUNDS: usize = 12;

/// What of an order is written, and in which forms.
#[derive(Args, Default)]
pub(crate) struct Choices {
    /// Only these pieces, or all pieces for these panes.
    #[arg(long, value_name = "PIECE|PANE", num_args = 1..)]
    only: Vec<String>,
    /// Only these forms, with a comma between: drawings as dxf, hpgl, svg, pdf or tiles, papers as
    /// sheets [default: all].
    #[arg(long, value_name = "FORMAT", value_delimiter = ',', value_parser = forms())]
    format: Vec<String>,
    /// Plans grips on a coarser mesh with a shorter search, for a look before making.
    #[arg(long)]
    quick: bool,
    /// Pens of HP-GL/2 files for cutting, drawing and notching; 0 leaves out what it would do.
    #[arg(long, value_name = "CUT,DRAW,NOTCH", value_delimiter = ',', num_args = 1)]
    pens: Option<Vec<u8>>,
    /// How far the plotter counts: as HP-GL/2 does, or to 32767 units (819 mm) as older ones do.
    #[arg(long, value_name = "RANGE", default_value = "hpgl2",
          value_parser = PossibleValuesParser::new(["hpgl2", "hpgl"]))]
    range: String,
    #[command(flatten)]
    papers: PaperArgs,
}

/// What `--format` takes.
fn forms() -> PossibleValuesParser {
    let drawings = Format::ALL.map(Format::spelling);
    PossibleValuesParser::new(drawings.into_iter().chain([SHEETS]))
}

/// The form of papers.
const SHEETS: &str = "sheets";

impl Choices {
    /// Whether papers are written: of the whole order, unless other forms are chosen.
    fn wants_sheets(&self) -> bool {
        match self.format.is_empty() {
            true => self.only.is_empty(),
            false => self.format.iter().any(|format| format == SHEETS),
        }
    }

    fn forms(&self) -> Result<Forms, String> {
        let mut forms = Forms::all();
        if !self.format.is_empty() {
            forms.formats.retain(|format| self.format.iter().any(|f| f == format.spelling()));
        }
        if let Some(pens) = &self.pens {
            let &[cut, draw, notch] = &pens[..] else {
                return Err(format!(
                    "--pens has {} numbers; give three, for cutting, drawing and notching: 3,1,2",
                    pens.len()
                ));
            };
            let [cut, draw, notch] = [cut, draw, notch].map(NonZeroU8::new);
            forms.plotter.pens = Pens { cut, draw, notch };
        }
        if self.range == "hpgl" {
            forms.plotter.reach = Reach::HpGl;
        }
        Ok(forms)
    }
}

/// Makes the order's files in `out` and says what they are.
pub(crate) fn make(
    path: &Path,
    out: &Path,
    book: Option<&Path>,
    policy: Option<&Path>,
    choices: &Choices,
    json: bool,
) -> Answer {
    let (book, policy) = (book_of(book)?, policy_of(policy)?);
    let order = order_of(path)?;
    let done = carry_through(&order, &book, &policy, out, choices)?;
    if json {
        say::json_line(&say::to_value(&done.answer(&order)));
    } else {
        say::line(done.summary.trim_end());
        say::line("");
        say::line(&format!("{} files in {}", done.files.len(), out.display()));
    }
    Ok(done.outcome())
}

/// An order whose files are written.
pub(crate) struct Done {
    made: Made,
    /// Its files.
    pub(crate) files: Vec<MadeFile>,
    /// What a maker wants to know.
    pub(crate) summary: String,
}

impl Done {
    /// How it ends the command.
    pub(crate) fn outcome(&self) -> Outcome {
        if self.made.is_settled() { Outcome::Settled } else { Outcome::ToAsk }
    }

    fn answer(&self, order: &Order) -> MakeAnswer {
        let panes = self.made.panes.iter().map(|pane| PaneAnswer {
            name: pane.judgement.name.clone(),
            verdict: pane.judgement.verdict.spelling(),
            chance_of_fit: pane.judgement.chance_of_fit,
            pieces: pane
                .draft
                .iter()
                .flat_map(|draft| &draft.pieces)
                .map(|piece| piece.name.clone())
                .collect(),
            n_grips: pane.plan.grips.len(),
            hold: HoldAnswer::of(pane),
        });
        let files = self.files.iter().map(|file| FileAnswer {
            path: file.name.clone(),
            kind: file.kind.to_owned(),
            bytes: file.bytes.len() as u64,
        });
        MakeAnswer {
            reference: order.reference.clone(),
            release: None,
            panes: panes.collect(),
            materials: MaterialsAnswer::of(&self.made.materials),
            files: files.collect(),
        }
    }
}

/// The whole chain for one order, or only some of its pieces, files written into `out`.
pub(crate) fn carry_through(
    order: &Order,
    book: &GlassBook,
    policy: &Policy,
    out: &Path,
    choices: &Choices,
) -> Result<Done, String> {
    let (only, forms) = (&choices.only, &choices.forms()?);
    let words = |fault: &dyn std::fmt::Display| format!("{}: {fault}", order.reference);
    let search = if choices.quick { HoldSearch::QUICK } else { HoldSearch::USUAL };
    let search = HoldSearch { progress: &say::progress, ..search };
    let made = make_order(order, book, policy, &search);
    say::progress_done();
    let mut made = made.map_err(|f| words(&f))?;
    if !only.is_empty() {
        made = made.only(only).map_err(|f| words(&f))?;
    }
    let made = [(order, made)];
    let effort = Effort { seed: 1, rounds: ROUNDS, keep_going: &|| true, progress: &|_| () };
    let laid = match made[0].1.pieces().next() {
        Some(_) => lay_orders(&made, None, KNIFE_GAP, &effort).map_err(|f| words(&f))?,
        None => Vec::new(),
    };
    let mut written = order_files(order, &made[0].1, &laid, forms).map_err(|f| words(&f))?;
    if choices.wants_sheets() {
        written.files.extend(choices.papers.sheets(order, &made[0].1, &laid, book)?);
    }
    write_folder(out, &safe_file_name(&order.reference), &written.files)
        .map_err(|fault| fault.to_string())?;
    let [(_, made)] = made;
    Ok(Done { made, files: written.files, summary: written.summary })
}
