//! Labels: one for each piece and its copies, one for each parcel.

use geometry::Length;
use serde::Serialize;

use super::bench::{around, numbered};
use super::held::all_cautions;
use super::vehicle_words;
use crate::album::{Album, Picture};
use crate::words::capital;
use crate::{LabelStock, SheetError, SheetsAsk, codes};

#[derive(Serialize)]
pub(crate) struct Labels {
    title: String,
    identity: String,
    stock: Stock,
    labels: Vec<Label>,
}

#[derive(Serialize)]
struct Stock {
    name: &'static str,
    page_mm: [f64; 2],
    margin_mm: [f64; 2],
    label_mm: [f64; 2],
    pitch_mm: [f64; 2],
    count: [usize; 2],
}

#[derive(Serialize)]
struct Label {
    title: String,
    lines: Vec<String>,
    /// Whose turn it is: `cut 3 of 8`.
    turn: String,
    release: String,
    identity: String,
    qr: Picture,
    bars: Picture,
    caution: Option<&'static str>,
}

fn stock(stock: &LabelStock) -> Stock {
    let mm = |size: [Length; 2]| size.map(Length::mm);
    Stock {
        name: stock.name,
        page_mm: mm(stock.page),
        margin_mm: mm(stock.margin),
        label_mm: mm(stock.label),
        pitch_mm: mm(stock.pitch),
        count: stock.count,
    }
}

/// Height of bars: a sixth of their width is usual, and labels are low. Chosen by us.
const BARS: Length = Length::from_mm(7.0);
const PARCEL_BARS: Length = Length::from_mm(14.0);

/// One label for each piece and all its copies, in the order they are cut and sewn.
pub(crate) fn of_pieces(ask: &SheetsAsk<'_>, album: &mut Album) -> Result<Labels, SheetError> {
    let units = ask.bench_units();
    let identity = ask.release.identity();
    let n = ask.made.pieces().count();
    let mut labels = Vec::new();
    for (number, piece) in numbered(ask) {
        let size = around(&piece.cut_line);
        labels.push(Label {
            title: capital(&piece.name),
            lines: vec![
                format!("{} × {}", units.number(size.width()), units.of(size.height())),
                format!("{} × {}", piece.count, piece.cloth),
            ],
            turn: format!("{number} of {n}"),
            release: released(ask),
            identity: identity.clone(),
            qr: album.code(codes::qr(&identity, None)?, &format!("Code of {identity}")),
            bars: album.code(codes::code_128(&identity, BARS)?, &format!("Code of {identity}")),
            caution: (!ask.made.is_settled()).then_some("not settled: do not cut"),
        });
    }
    Ok(Labels {
        title: format!("{} piece labels", ask.order.reference),
        identity,
        stock: stock(&ask.choices.piece_stock),
        labels,
    })
}

/// The parcel's label.
pub(crate) fn of_parcels(ask: &SheetsAsk<'_>, album: &mut Album) -> Result<Labels, SheetError> {
    let identity = ask.release.identity();
    let lines = vec![vehicle_words(&ask.order.vehicle), format!("Order {}", ask.order.reference)];
    let label = Label {
        title: ask.order.owner.clone().unwrap_or_else(|| ask.order.reference.clone()),
        lines,
        turn: "parcel 1 of 1".to_owned(),
        release: released(ask),
        identity: identity.clone(),
        qr: album.code(codes::qr(&identity, None)?, &format!("Code of {identity}")),
        bars: album.code(codes::code_128(&identity, PARCEL_BARS)?, &format!("Code of {identity}")),
        caution: (!all_cautions(ask).is_empty())
            .then_some("Strong magnets inside. Keep 15 cm from implants."),
    };
    Ok(Labels {
        title: format!("{} parcel label", ask.order.reference),
        identity,
        stock: stock(&ask.choices.parcel_stock),
        labels: vec![label],
    })
}

fn released(ask: &SheetsAsk<'_>) -> String {
    let words = match ask.release.is_numbered() {
        true => ask.release.words(),
        false => "draft, not a release".to_owned(),
    };
    ask.release.day().map_or_else(|| words.clone(), |day| format!("{words} · {day}"))
}
