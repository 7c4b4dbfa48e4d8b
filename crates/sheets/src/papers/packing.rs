//! The packing list: everything that goes in the parcel, to be ticked off.

use export::Paper;
use hold::CautionKind;
use serde::Serialize;

use super::Head;
use super::bench::{around, finished};
use super::held::{all_cautions, of_pane};
use super::magnets::is_sewn;
use crate::words::{capital, family};
use crate::{SheetError, SheetsAsk};

#[derive(Serialize)]
pub(crate) struct Packing {
    head: Head,
    owner: String,
    items: Vec<Item>,
    n_items: usize,
    magnets: bool,
    cautions: Vec<String>,
    how: Vec<&'static str>,
}

#[derive(Serialize)]
struct Item {
    count: usize,
    name: String,
    detail: String,
}

pub(crate) fn of(ask: &SheetsAsk<'_>, paper: Paper) -> Result<Packing, SheetError> {
    let items = items(ask);
    let cautions = all_cautions(ask);
    let magnets = !cautions.is_empty();
    let wanted = [CautionKind::Air, CautionKind::Implants, CautionKind::Cards];
    // Our font has no micro sign.
    let words = |caution: &hold::Caution| caution.words.replace("µT", "microtesla");
    let cautions = cautions.iter().filter(|c| wanted.contains(&c.kind)).map(words);
    let mut how = Vec::new();
    if magnets {
        how.extend([
            "Lay inner magnets in a row, each with the opposite pole up to its neighbour, card between.",
            "Fold covers so that magnets do not lie on one another; 10 cm of padding to the parcel's side.",
        ]);
    }
    how.push("Roll covers on a tube or fold them loosely; no folds across printed cloth.");
    Ok(Packing {
        head: Head::of(ask, "Packing list".to_owned(), paper),
        owner: ask.order.owner.clone().unwrap_or_default(),
        n_items: items.iter().map(|item| item.count).sum(),
        items,
        magnets,
        cautions: cautions.collect(),
        how,
    })
}

/// What goes in the parcel.
fn items(ask: &SheetsAsk<'_>) -> Vec<Item> {
    let units = ask.bench_units();
    let mut items = Vec::new();
    for (i, (readings, pane)) in ask.order.panes.iter().zip(&ask.made.panes).enumerate() {
        let Some(draft) = pane.draft.as_ref().filter(|draft| !draft.pieces.is_empty()) else {
            continue;
        };
        let whole = draft
            .pieces
            .iter()
            .map(|piece| around(finished(piece)))
            .reduce(geometry::Bounds::with)
            .expect("there is a piece");
        let cloth = &draft.pieces[0].cloth;
        items.push(Item {
            count: 1,
            name: format!("Cover of the {}", readings.name),
            detail: format!(
                "{}, {cloth}, {} × {}",
                family(readings.family),
                units.of(whole.width()),
                units.of(whole.height())
            ),
        });
        let held = of_pane(ask, i);
        let sewn: Vec<u32> =
            held.grips.iter().map(|grip| grip.number).filter(|&n| is_sewn(ask, i, n)).collect();
        if let (Some(first), Some(last)) = (sewn.first(), sewn.last()) {
            items.push(Item {
                count: sewn.len(),
                name: format!("Inner magnets for the {}", readings.name),
                detail: format!("{}, marked {first} to {last} with the pole", held.magnet_inner),
            });
        }
    }
    for draft in ask.made.sleeves.iter().chain(&ask.made.hoods) {
        if let Some(piece) = draft.pieces.first() {
            let name = piece.name.split(',').next().unwrap_or(&piece.name);
            items.push(Item { count: 1, name: capital(name), detail: piece.cloth.clone() });
        }
    }
    items.push(Item {
        count: 1,
        name: "Fitting guide".to_owned(),
        detail: format!("{}, {}", ask.order.reference, ask.release.words()),
    });
    items
}
