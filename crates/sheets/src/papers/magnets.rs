//! The magnet sheet: every pair with its place, its poles and what it holds.

use export::{Caption, PanePicture, Paper, Scale, drawing_of_pane};
use geometry::Length;
use serde::Serialize;
use shop::voice_of;
use survey::Voice;

use super::Head;
use super::held::{Held, PaneHeld, of_pane};
use super::places::{corner_name, edge_name};
use crate::album::{Album, Picture};
use crate::guide::fitting_scale;
use crate::words::{Units, capital, plural};
use crate::{SheetError, SheetsAsk};

const ROOM: [Length; 2] = [Length::from_mm(150.0), Length::from_mm(76.0)];

#[derive(Serialize)]
pub(crate) struct Magnets {
    head: Head,
    unit: &'static str,
    panes: Vec<Pane>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct Pane {
    name: String,
    pairs: String,
    outer: String,
    inner: String,
    pull: String,
    rated: String,
    /// What would raise the rating, the most first.
    raises: Vec<String>,
    straps: Vec<String>,
    has_margins: bool,
    grips: Vec<Grip>,
    /// Where no pair can go, with why.
    barren: Vec<String>,
    picture: Picture,
}

#[derive(Serialize)]
struct Grip {
    number: u32,
    edge: &'static str,
    corner: &'static str,
    from_corner: String,
    depth: String,
    outer: String,
    inner: String,
    margin: Option<String>,
    /// Whether it is sewn into the cover; one left out has no partner inside either.
    sewn: bool,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Magnets, SheetError> {
    let units = ask.bench_units();
    let mut panes = Vec::new();
    for i in 0..ask.made.panes.len() {
        if ask.made.panes[i].draft.as_ref().is_some_and(|draft| !draft.pieces.is_empty()) {
            panes.push(pane_of(ask, i, &units, album)?);
        }
    }
    Ok(Magnets {
        head: Head::for_making(ask, "Magnet sheet".to_owned(), paper),
        unit: units.name(),
        panes,
        cautions: super::held::all_cautions(ask)
            .iter()
            .filter(|caution| BENCH.contains(&caution.kind))
            .map(ToString::to_string)
            .collect(),
    })
}

/// Cautions that belong on the bench.
const BENCH: [hold::CautionKind; 4] = [
    hold::CautionKind::Implants,
    hold::CautionKind::Children,
    hold::CautionKind::Fingers,
    hold::CautionKind::Cards,
];

/// Whether a pair is sewn in: one by something left free is not.
pub(crate) fn is_sewn(ask: &SheetsAsk<'_>, i: usize, number: u32) -> bool {
    let name = format!("grip {number}");
    let draft = ask.made.panes[i].draft.as_ref();
    draft.is_some_and(|draft| {
        draft.pieces.iter().flat_map(|piece| &piece.drill_points).any(|drill| drill.name == name)
    })
}

fn pane_of(
    ask: &SheetsAsk<'_>,
    i: usize,
    units: &Units,
    album: &mut Album,
) -> Result<Pane, SheetError> {
    let readings = &ask.order.panes[i];
    let PaneHeld { magnet_outer, magnet_inner, grips, straps, pull, rated, .. } = of_pane(ask, i);
    let grip = |held: &Held| Grip {
        number: held.number,
        edge: edge_name(held.place.edge),
        corner: corner_name(held.place.corner),
        from_corner: units.number(held.place.from_corner),
        depth: units.number(held.place.depth),
        outer: held.outer.clone(),
        inner: held.inner_mark.clone(),
        margin: held.margin.map(|margin| format!("{margin:.1}")),
        sewn: is_sewn(ask, i, held.number),
    };
    let lines: Vec<Grip> = grips.iter().map(grip).collect();
    let n_sewn = lines.iter().filter(|grip| grip.sewn).count();
    Ok(Pane {
        name: capital(&readings.name),
        pairs: match n_sewn {
            0 => "No magnet pairs".to_owned(),
            n => plural(n, "magnet pair"),
        },
        outer: magnet_outer,
        inner: magnet_inner,
        pull,
        rated,
        raises: raises(ask, i),
        straps: straps
            .iter()
            .map(|(corner, to)| {
                format!(
                    "{} corner, to the {}",
                    corner_name(*corner),
                    to.to_string().replace('-', " ")
                )
            })
            .collect(),
        has_margins: lines.iter().any(|grip| grip.margin.is_some()),
        grips: lines,
        barren: barren(ask, i, units),
        picture: album.drawing(
            &picture(ask, i),
            &format!("The {} from outside with its numbered magnet pairs", readings.name),
        )?,
    })
}

/// What would raise a rating that falls short.
fn raises(ask: &SheetsAsk<'_>, i: usize) -> Vec<String> {
    let hold = &ask.made.panes[i].hold;
    let short = hold.wind().is_some_and(|wind| !wind.is_met);
    let raises = hold.raises.iter().filter(|_| short).take(MOST_RAISES);
    raises.map(|raise| format!("{}: {}", capital(&raise.words), raise.gust.in_short())).collect()
}

/// How many ways to raise a rating are told. Chosen by us: the best of them.
const MOST_RAISES: usize = 4;

/// Where no pair can go, each place once.
fn barren(ask: &SheetsAsk<'_>, i: usize, units: &Units) -> Vec<String> {
    let readings = &ask.order.panes[i];
    let vehicle = survey::Vehicle { steering: None, ..ask.order.vehicle.clone() };
    let voice = Voice::new(units.unit, units.step, &vehicle, readings);
    let mut lines: Vec<String> = Vec::new();
    for barren in &ask.made.panes[i].plan.barren {
        let why = match barren.hindrance {
            hold::Hindrance::Narrow => format!(
                "the border is {}, and {} is needed",
                units.of(barren.band),
                units.of(barren.needed)
            ),
            hold::Hindrance::Blocked => format!(
                "{} of the border of {} is out of reach inside",
                units.of(barren.blocked),
                units.of(barren.band)
            ),
            hold::Hindrance::Unsure => "not known well enough".to_owned(),
            hold::Hindrance::Forbidden => "to be kept clear".to_owned(),
        };
        let line = format!("{}: {why}", capital(&voice.station(barren.near)));
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

/// The pane with its pairs; readings are told elsewhere.
fn picture(ask: &SheetsAsk<'_>, i: usize) -> export::Drawing<geometry::Pane> {
    let readings = &ask.order.panes[i];
    let mut judgement = ask.made.panes[i].judgement.clone();
    judgement.doubts.clear();
    judgement.questions.clear();
    let bare = survey::PaneReadings { readings: Vec::new(), ..readings.clone() };
    let glass = judgement.outline.path().bounds().expect("an outline has corners");
    let scale: Scale = fitting_scale([glass.width(), glass.height()], ROOM);
    let mut drawing = drawing_of_pane(&PanePicture {
        judgement: &judgement,
        pane: &bare,
        voice: &voice_of(ask.order, readings),
        plan: Some(&ask.made.panes[i].plan),
        cautions: &[],
        wind: None,
        caption: Caption {
            title: format!("{} magnets", readings.name),
            job: String::new(),
            foot: String::new(),
            scale,
        },
    });
    // The paper says what the legend would.
    drawing.groups.retain(|group| group.name != "notes");
    drawing
}
