//! The measuring sheet: where to put the tape, pane by pane, and boxes to write in.

use export::Paper;
use geometry::Length;
use serde::Serialize;
use shop::{readings_to_take, voice_of, where_to_put_the_tape};
use survey::{Family, Judgement, PaneReadings, ReadingName, Side, Span};

use super::Head;
use crate::album::{Album, Picture};
use crate::details::{mirror_housing, tape_at_the_edge};
use crate::guide::Guide;
use crate::words::{capital, family, sentence};
use crate::{SheetError, SheetsAsk, codes};

/// Paper for a drawing of lengths, less where there are many of them to write below it, and for one of borders,
/// so that each page holds its drawings with all their rows.
const LENGTHS: [Length; 2] = [Length::from_mm(184.0), Length::from_mm(88.0)];
const MANY_LENGTHS: [Length; 2] = [Length::from_mm(184.0), Length::from_mm(78.0)];
const MANY: usize = 10;
const BORDERS: [Length; 2] = [Length::from_mm(184.0), Length::from_mm(50.0)];
/// Module of the code for answering online. Chosen by us: read by a phone from half a metre.
const MODULE: Length = Length::from_mm(0.8);

#[derive(Serialize)]
pub(crate) struct Measuring {
    head: Head,
    /// `inches`, `cm` or `mm`.
    unit: &'static str,
    close_up: Picture,
    panes: Vec<Pane>,
    fittings: Option<Fittings>,
    link: Option<Link>,
}

/// Where the owner may answer online.
#[derive(Serialize)]
pub(crate) struct Link {
    address: String,
    code: Picture,
}

#[derive(Serialize)]
struct Pane {
    name: String,
    what: &'static str,
    parts: Vec<Part>,
}

/// Readings taken from one place, with their drawing.
#[derive(Serialize)]
struct Part {
    title: String,
    stand: &'static str,
    picture: Picture,
    stops: Vec<Stop>,
}

/// One reading.
#[derive(Serialize)]
struct Stop {
    number: String,
    name: String,
    place: String,
}

#[derive(Serialize)]
struct Fittings {
    blade: Picture,
    mirror: Picture,
    stops: Vec<Stop>,
    /// Names of what is measured, a column each.
    blades: Vec<String>,
    mirrors: Vec<String>,
    mirror_stops: Vec<Stop>,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Measuring, SheetError> {
    let close_up = album.drawing(
        &tape_at_the_edge(),
        "The lower edge of the glass close up: the tape starts at the glass edge, not on the rubber; \
         solid black counts, fading dots do not",
    )?;
    let panes = ask
        .order
        .panes
        .iter()
        .zip(&ask.made.panes)
        .map(|(readings, pane)| pane_of(ask, readings, &pane.judgement, album))
        .collect::<Result<_, _>>()?;
    let title = match &ask.order.panes[..] {
        [pane] => format!("Measuring sheet: {}", pane.name),
        panes => format!("Measuring sheet: {} windows", panes.len()),
    };
    Ok(Measuring {
        head: Head::of(ask, title, paper),
        unit: ask.owner_units().name(),
        close_up,
        panes,
        fittings: fittings(ask, album)?,
        link: link(ask, album)?,
    })
}

/// The code and address for answering online.
pub(crate) fn link(ask: &SheetsAsk<'_>, album: &mut Album) -> Result<Option<Link>, SheetError> {
    let Some(address) = &ask.choices.link else { return Ok(None) };
    let code =
        album.code(codes::qr(address, Some(MODULE))?, &format!("A code that leads to {address}"));
    Ok(Some(Link { address: address.clone(), code }))
}

/// One sort of readings: its title, where to stand, room beside the glass, and which are of it.
type Sort<'a> = (&'a str, &'static str, [Length; 2], &'a dyn Fn(&ReadingName) -> bool);

fn pane_of(
    ask: &SheetsAsk<'_>,
    pane: &PaneReadings,
    judgement: &Judgement,
    album: &mut Album,
) -> Result<Pane, SheetError> {
    let voice = voice_of(ask.order, pane);
    let known = ask.book.find(&ask.order.vehicle, pane).is_some();
    let names: Vec<(String, ReadingName)> =
        (1..).map(|n: usize| n.to_string()).zip(readings_to_take(known)).collect();
    let is_border = |name: &ReadingName| matches!(name.span, Span::Band(_) | Span::Blocked(_));
    let within = |name: &ReadingName| name.side == Side::Inside;
    let is_length = |name: &ReadingName| !within(name) && !is_border(name);
    let n_lengths = names.iter().filter(|(_, name)| is_length(name)).count();
    let lengths = if n_lengths > MANY { MANY_LENGTHS } else { LENGTHS };
    let sorts: [Sort<'_>; 3] = [
        ("Lengths", "Stand outside, facing the glass.", lengths, &is_length),
        ("The black border", "Still outside, facing the glass.", BORDERS, &|n| {
            !within(n) && is_border(n)
        }),
        ("From inside", "Sit inside. Left and right change places.", BORDERS, &within),
    ];
    let mut parts = Vec::new();
    for (title, stand, room, wanted) in sorts {
        let spans: Vec<(String, ReadingName)> =
            names.iter().filter(|(_, name)| wanted(name)).cloned().collect();
        if spans.is_empty() {
            continue;
        }
        let inside = spans.iter().all(|(_, name)| within(name));
        let guide = Guide {
            judgement,
            voice: &voice,
            spans: spans.clone(),
            inside,
            chosen: false,
            blade: None,
            room,
            title: format!("{}, {}", pane.name, title.to_lowercase()),
        };
        let seen = if inside { "seen from inside" } else { "seen from outside" };
        let alt = format!("The {} {seen}, with the places of the numbered readings", pane.name);
        let stops = spans.iter().map(|(number, name)| Stop {
            number: number.clone(),
            name: capital(&voice.name(*name)),
            place: sentence(&where_to_put_the_tape(*name, judgement.small, pane.family, &voice)),
        });
        let title = capital(&title.to_lowercase());
        let picture = album.drawing(&guide.drawing(), &alt)?;
        parts.push(Part { title, stand, picture, stops: stops.collect() });
    }
    Ok(Pane { name: capital(&pane.name), what: family(pane.family), parts })
}

/// Blades and mirrors of an order that has a windscreen.
fn fittings(ask: &SheetsAsk<'_>, album: &mut Album) -> Result<Option<Fittings>, SheetError> {
    let is_screen =
        |pane: &PaneReadings| matches!(pane.family, Family::Windscreen | Family::HalfScreen);
    let Some(i) = ask.order.panes.iter().position(is_screen) else { return Ok(None) };
    let pane = &ask.order.panes[i];
    let voice = voice_of(ask.order, pane);
    let letters = ["a", "b", "c", "d", "e"];
    let guide = Guide {
        judgement: &ask.made.panes[i].judgement,
        voice: &voice,
        spans: Vec::new(),
        inside: false,
        chosen: false,
        blade: Some(letters.map(str::to_owned)),
        room: BORDERS,
        title: "a parked wiper blade".to_owned(),
    };
    let blade = album.drawing(
        &guide.drawing(),
        "A parked wiper blade on the glass, with its length and the places of its two ends lettered",
    )?;
    let mirror = album.drawing(
        &mirror_housing(["f", "g", "h"]),
        "A mirror housing from behind and from the side, its height, width and depth lettered",
    )?;
    let stop = |(number, name, place): (&str, &str, &str)| Stop {
        number: number.to_owned(),
        name: name.to_owned(),
        place: place.to_owned(),
    };
    let stops = [
        (
            "a",
            "Length of the blade",
            "The rubber blade from end to end, not the arm that carries it.",
        ),
        ("b", "Lower end, up", "From the bottom edge of the glass straight up to the lower end."),
        ("c", "Lower end, in", "Level, from the nearer side edge of the glass to the lower end."),
        ("d", "Other end, up", "From the bottom edge of the glass straight up to the other end."),
        ("e", "Other end, in", "Level, from the nearer side edge of the glass to the other end."),
    ];
    let mirror_stops = [
        ("f", "Height", "The whole housing at its highest, not the mirror glass."),
        ("g", "Width", "At its widest, with a camera if there is one."),
        ("h", "Depth", "From the rim round the mirror glass to the farthest point in front."),
    ];
    let named = |names: Vec<&String>, usual: [&str; 2]| -> Vec<String> {
        match names.is_empty() {
            true => usual.map(str::to_owned).into(),
            false => names.into_iter().map(|name| capital(name)).collect(),
        }
    };
    let sides = [voice.side(true), voice.side(false)];
    let [left, right] = sides.map(|side| format!("{} side", capital(side)));
    Ok(Some(Fittings {
        blade,
        mirror,
        stops: stops.map(stop).into(),
        blades: named(ask.order.blades.iter().map(|b| &b.name).collect(), [&left, &right]),
        mirrors: named(ask.order.hoods.iter().map(|h| &h.name).collect(), [&left, &right]),
        mirror_stops: mirror_stops.map(stop).into(),
    }))
}
