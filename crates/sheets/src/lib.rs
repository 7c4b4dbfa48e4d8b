//! Papers for owners and benches, and labels, typeset.
//!
//! ```text
//! Order, Made, lay ── papers ── data (JSON) and drawings (SVG) ─┐
//!                    templates, ours or a workshop's own ────────┴─ typeset ── PDF
//! ```
//!
//! [`order_sheets`] gives every paper of an order. What a paper says comes from the values everything else
//! is made from; a template decides only how it looks. Owners read their own unit, benches that of the
//! workshop. The engine behind it is heavy, so it is used in this crate alone.

mod album;
mod codes;
mod details;
mod guide;
mod papers;
mod release;
mod stock;
mod style;
mod typeset;
mod words;

use export::{ExportError, Paper};
use shop::{LaidPieces, Made, MadeFile, Order, safe_file_name};
use survey::{GlassBook, Unit};
use thiserror::Error;

pub use release::Release;
pub use stock::LabelStock;
pub use style::{Style, TEMPLATES};
pub use words::Units;

use album::Album;

/// Why a paper cannot be set.
#[derive(Debug, Error)]
pub enum SheetError {
    /// A drawing cannot be made.
    #[error(transparent)]
    Drawing(#[from] ExportError),
    /// What a code should carry is too long or not plain.
    #[error(
        "`{words}` cannot stand in a code: plain ASCII of at most {most} characters is needed; \
         shorten it"
    )]
    Code {
        /// What it should carry.
        words: String,
        /// Most characters.
        most: usize,
    },
    /// No such label stock.
    #[error("label stock `{found}` is not known; choose from: {known}")]
    Stock {
        /// What was asked for.
        found: String,
        /// The sizes there are.
        known: String,
    },
    /// A template is faulty.
    #[error("template {template}: {fault}; mend it, or take it away to use ours")]
    Template {
        /// The template.
        template: String,
        /// Where and what.
        fault: String,
    },
}

/// A paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sheet {
    /// For the owner: where to put the tape, with boxes to write in.
    Measuring,
    /// For the owner: what is asked again or new.
    Questions,
    /// For the cutting bench.
    Cutting,
    /// For the sewing bench.
    Sewing,
    /// For whoever sews magnets in.
    Magnets,
    /// For whoever packs.
    Packing,
    /// For the owner: how to put covers on.
    Fitting,
    /// What was measured, assumed and decided.
    Summary,
    /// Labels for pieces.
    PieceLabels,
    /// Labels for parcels.
    ParcelLabels,
}

impl Sheet {
    /// Every paper, in the order work is done.
    pub const ALL: [Self; 10] = [
        Self::Measuring,
        Self::Questions,
        Self::Summary,
        Self::Cutting,
        Self::Sewing,
        Self::Magnets,
        Self::PieceLabels,
        Self::Packing,
        Self::ParcelLabels,
        Self::Fitting,
    ];

    /// Its name in files.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Measuring => "measuring sheet",
            Self::Questions => "question letter",
            Self::Cutting => "cutting sheet",
            Self::Sewing => "sewing sheet",
            Self::Magnets => "magnet sheet",
            Self::Packing => "packing list",
            Self::Fitting => "fitting guide",
            Self::Summary => "order summary",
            Self::PieceLabels => "piece labels",
            Self::ParcelLabels => "parcel labels",
        }
    }

    /// Whether the owner reads it.
    #[must_use]
    pub const fn is_for_owner(self) -> bool {
        matches!(self, Self::Measuring | Self::Questions | Self::Fitting)
    }

    const fn template(self) -> &'static str {
        match self {
            Self::Measuring => "measuring.typ",
            Self::Questions => "questions.typ",
            Self::Cutting => "cutting.typ",
            Self::Sewing => "sewing.typ",
            Self::Magnets => "magnets.typ",
            Self::Packing => "packing.typ",
            Self::Fitting => "fitting.typ",
            Self::Summary => "summary.typ",
            Self::PieceLabels | Self::ParcelLabels => "labels.typ",
        }
    }
}

/// How papers are made.
#[derive(Clone, Debug)]
pub struct SheetChoices {
    /// Unit of the benches' papers.
    pub unit: Unit,
    /// Papers the owner may print on: each of theirs comes on every one.
    pub owner_papers: Vec<Paper>,
    /// Paper of the benches.
    pub bench_paper: Paper,
    /// Labels for pieces.
    pub piece_stock: LabelStock,
    /// Labels for parcels.
    pub parcel_stock: LabelStock,
    /// Where the owner may answer online.
    pub link: Option<String>,
    /// The templates.
    pub style: Style,
}

impl SheetChoices {
    /// Millimetres on A4 for the benches, A4 and Letter for owners, usual labels, our templates.
    #[must_use]
    pub fn usual() -> Self {
        Self {
            unit: Unit::Millimetre,
            owner_papers: vec![Paper::A4, Paper::Letter],
            bench_paper: Paper::A4,
            piece_stock: LabelStock::usual_for_pieces(),
            parcel_stock: LabelStock::usual_for_parcels(),
            link: None,
            style: Style::default(),
        }
    }
}

/// Something that was decided about an order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// What.
    pub what: String,
    /// By whom.
    pub who: String,
    /// When, as it is to stand on paper.
    pub when: String,
}

/// What papers are made of.
#[derive(Clone, Copy)]
pub struct SheetsAsk<'a> {
    /// The order.
    pub order: &'a Order,
    /// The order carried through.
    pub made: &'a Made,
    /// Its lay on each cloth, as far as its pieces could be laid.
    pub laid: &'a [LaidPieces<'a>],
    /// What is known of panes beforehand: a known pane is asked for fewer readings.
    pub book: &'a GlassBook,
    /// Which release.
    pub release: &'a Release,
    /// What people decided about it, oldest first.
    pub decisions: &'a [Decision],
    /// How.
    pub choices: &'a SheetChoices,
}

impl SheetsAsk<'_> {
    pub(crate) fn owner_units(&self) -> Units {
        Units::of_owner(self.order)
    }

    pub(crate) const fn bench_units(&self) -> Units {
        Units::of_bench(self.choices.unit)
    }

    /// Whether that paper has anything to say about this order.
    #[must_use]
    pub fn has(&self, sheet: Sheet) -> bool {
        match sheet {
            Sheet::Measuring | Sheet::Summary => true,
            Sheet::Questions => {
                let panes = self.made.panes.iter().any(|p| !p.judgement.questions.is_empty());
                panes || !self.made.beside.is_settled()
            }
            _ => self.made.pieces().next().is_some(),
        }
    }
}

/// Every paper of an order, as files.
///
/// # Errors
/// When a template is faulty, or a link is too long for its code.
pub fn order_sheets(ask: &SheetsAsk<'_>) -> Result<Vec<MadeFile>, SheetError> {
    let stem = safe_file_name(&ask.order.reference);
    let mut files = Vec::new();
    for sheet in Sheet::ALL.into_iter().filter(|sheet| ask.has(*sheet)) {
        let what = safe_file_name(sheet.name());
        let papers = match sheet {
            _ if sheet.is_for_owner() => {
                let named = |paper: &Paper| (*paper, format!("{what}-{}", paper.name()));
                ask.choices.owner_papers.iter().map(named).collect()
            }
            Sheet::PieceLabels => {
                vec![(
                    Paper::A4,
                    format!("{what}-{}", safe_file_name(ask.choices.piece_stock.name)),
                )]
            }
            Sheet::ParcelLabels => {
                vec![(
                    Paper::A4,
                    format!("{what}-{}", safe_file_name(ask.choices.parcel_stock.name)),
                )]
            }
            _ => vec![(ask.choices.bench_paper, what.clone())],
        };
        for (paper, what) in papers {
            let bytes = set_sheet(ask, sheet, paper)?;
            files.push(MadeFile { name: format!("{stem}-{what}.pdf"), kind: sheet.name(), bytes });
        }
    }
    Ok(files)
}

/// One paper as PDF. Labels come on their stock, whatever `paper` is.
///
/// # Errors
/// When a template is faulty, or a link is too long for its code.
pub fn set_sheet(ask: &SheetsAsk<'_>, sheet: Sheet, paper: Paper) -> Result<Vec<u8>, SheetError> {
    let mut album = Album::default();
    let data = papers::data(ask, sheet, paper, &mut album)?;
    let data = serde_json::to_vec(&data).expect("what a paper says is JSON");
    let identity = ask.release.identity();
    typeset::typeset(sheet.template(), &ask.choices.style, &identity, &data, &album.files)
}
