//! What each paper says, as data for its template.

mod bench;
mod cutting;
mod fitting;
mod held;
mod labels;
mod magnets;
mod measuring;
mod packing;
mod places;
mod questions;
mod sewing;
mod summary;

use export::Paper;
use serde::Serialize;
use serde_json::Value;
use survey::Vehicle;

use crate::album::Album;
use crate::words::capital;
use crate::{Sheet, SheetError, SheetsAsk};

/// What stands on every page of a paper.
#[derive(Serialize)]
pub(crate) struct Head {
    title: String,
    /// Whose, of which vehicle.
    subject: String,
    reference: String,
    /// `release 3`.
    release: String,
    identity: String,
    /// Nothing where no day was given.
    date: Option<String>,
    /// As the engine calls it.
    paper: &'static str,
    /// Why nothing may be made from it yet.
    stop: Option<String>,
}

impl Head {
    fn of(ask: &SheetsAsk<'_>, title: String, paper: Paper) -> Self {
        let order = ask.order;
        let vehicle = vehicle_words(&order.vehicle);
        let subject = order.owner.iter().cloned().chain([vehicle]).collect::<Vec<_>>().join(" · ");
        Self {
            title,
            subject,
            reference: order.reference.clone(),
            release: ask.release.words(),
            identity: ask.release.identity(),
            date: ask.release.day(),
            paper: match paper {
                Paper::A4 => "a4",
                Paper::Letter => "us-letter",
            },
            stop: None,
        }
    }

    /// The same for a paper that things are made from.
    fn for_making(ask: &SheetsAsk<'_>, title: String, paper: Paper) -> Self {
        let stop = (!ask.made.is_settled()).then(|| {
            "Not settled: questions are open. Do not cut or sew from this paper.".to_owned()
        });
        Self { stop, ..Self::of(ask, title, paper) }
    }
}

/// `Corvane Twelve, 2014`; the class where no more is known.
pub(crate) fn vehicle_words(vehicle: &Vehicle) -> String {
    let named: Vec<&str> =
        [&vehicle.make, &vehicle.model].into_iter().flatten().map(|s| &**s).collect();
    let class = vehicle.class.spelling().replace('-', " ");
    let name =
        if named.is_empty() { capital(&class) } else { format!("{}, {class}", named.join(" ")) };
    match vehicle.year {
        Some(year) => format!("{name}, {year}"),
        None => name,
    }
}

/// What a paper says.
pub(crate) fn data(
    ask: &SheetsAsk<'_>,
    sheet: Sheet,
    paper: Paper,
    album: &mut Album,
) -> Result<Value, SheetError> {
    let value = match sheet {
        Sheet::Measuring => json(measuring::of(ask, paper, album)?),
        Sheet::Questions => json(questions::of(ask, paper, album)?),
        Sheet::Cutting => json(cutting::of(ask, paper, album)?),
        Sheet::Sewing => json(sewing::of(ask, paper, album)?),
        Sheet::Magnets => json(magnets::of(ask, paper, album)?),
        Sheet::Packing => json(packing::of(ask, paper)?),
        Sheet::Fitting => json(fitting::of(ask, paper, album)?),
        Sheet::Summary => json(summary::of(ask, paper, album)?),
        Sheet::PieceLabels => json(labels::of_pieces(ask, album)?),
        Sheet::ParcelLabels => json(labels::of_parcels(ask, album)?),
    };
    Ok(value)
}

fn json(data: impl Serialize) -> Value {
    serde_json::to_value(data).expect("what a paper says is JSON")
}
