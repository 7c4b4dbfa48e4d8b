//! The fitting guide: how the owner puts covers on, in plain words, with the cautions that go with them.

use export::Paper;
use geometry::Length;
use hold::{Caution, CautionKind};
use serde::Serialize;
use shop::voice_of;
use survey::{Corner, Edge};

use super::Head;
use super::held::{Held, all_cautions, of_pane};
use super::magnets::is_sewn;
use crate::album::{Album, Picture};
use crate::guide::{Guide, Ring, drawing_of_rings};
use crate::words::{capital, family, plural};
use crate::{SheetError, SheetsAsk};

const ROOM: [Length; 2] = [Length::from_mm(176.0), Length::from_mm(78.0)];

#[derive(Serialize)]
pub(crate) struct Fitting {
    head: Head,
    before: Vec<String>,
    panes: Vec<Pane>,
    others: Vec<Other>,
    cautions: Vec<String>,
    care: Vec<&'static str>,
}

#[derive(Serialize)]
struct Pane {
    name: String,
    what: &'static str,
    pairs: String,
    rated: String,
    picture: Option<Picture>,
    steps: Vec<String>,
    magnets: Vec<Magnet>,
}

/// An inner magnet and where it goes.
#[derive(Serialize)]
struct Magnet {
    number: u32,
    place: String,
    mark: String,
}

/// A sleeve or hood.
#[derive(Serialize)]
struct Other {
    name: String,
    words: &'static str,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Fitting, SheetError> {
    let mut panes = Vec::new();
    for i in 0..ask.made.panes.len() {
        if ask.made.panes[i].draft.as_ref().is_some_and(|draft| !draft.pieces.is_empty()) {
            panes.push(pane_of(ask, i, album)?);
        }
    }
    let named = |draft: &drafting::Draft, words: &'static str| {
        draft.pieces.first().map(|piece| Other {
            name: capital(piece.name.split(',').next().unwrap_or(&piece.name)),
            words,
        })
    };
    let sleeves = ask.made.sleeves.iter().filter_map(|draft| {
        named(
            draft,
            "Slide it over the wiper blade with the wipers switched off. Close it round the arm. Take it \
             off before the wipers move.",
        )
    });
    let hoods = ask.made.hoods.iter().filter_map(|draft| {
        named(
            draft,
            "Pull it over the mirror and draw it tight round the arm. Take it off before you drive: it \
             hides mirror and camera.",
        )
    });
    let others: Vec<Other> = sleeves.chain(hoods).collect();
    Ok(Fitting {
        head: Head::of(ask, "Fitting guide".to_owned(), paper),
        before: before(!panes.iter().all(|pane: &Pane| pane.magnets.is_empty())),
        panes,
        others,
        cautions: cautions(ask),
        care: vec![
            "Let a wet cover dry before you roll it up.",
            "Wash by hand with lukewarm water and mild soap. Never put it in a machine: the magnets stay in.",
            "Keep inner magnets in their bag, numbers up, each with its card.",
            "Look at the seams and magnets each spring. Do not use a cover with a torn pocket.",
        ],
    })
}

fn before(magnets: bool) -> Vec<String> {
    let mut before = vec![
        "Park on level ground away from traffic. Engine off, keys out.".to_owned(),
        "Wait for calm and dry weather. Wipe the edge of the glass clean, outside and inside."
            .to_owned(),
    ];
    if magnets {
        before.push(
            "Lay out the inner magnets by number. Keep them a hand apart: they jump together."
                .to_owned(),
        );
    }
    before
}

/// Cautions in plain words; those of ladders and driving go with any cover.
fn cautions(ask: &SheetsAsk<'_>) -> Vec<String> {
    // Wind stands with each window, and an owner sends nothing by air.
    let told = |caution: &&Caution| !matches!(caution.kind, CautionKind::Wind | CautionKind::Air);
    let plain: Vec<String> =
        all_cautions(ask).iter().filter(told).map(|caution| caution.plain.clone()).collect();
    if !plain.is_empty() {
        return plain;
    }
    [
        "Use a ladder on firm, level ground, with a second person to hold it. Never lean out.",
        "Never drive with a cover on, not even a short way.",
        "Keep exits free. Every door, hatch and escape window must open from inside with the covers on.",
        "We promise nothing about wind. Take covers off before it blows.",
        "Local rules on parked vehicles, ways out and covers come first.",
    ]
    .map(str::to_owned)
    .into()
}

fn pane_of(ask: &SheetsAsk<'_>, i: usize, album: &mut Album) -> Result<Pane, SheetError> {
    let readings = &ask.order.panes[i];
    let judgement = &ask.made.panes[i].judgement;
    let voice = voice_of(ask.order, readings);
    let units = ask.owner_units();
    let held = of_pane(ask, i);
    let sewn: Vec<&Held> = held.grips.iter().filter(|g| is_sewn(ask, i, g.number)).collect();
    let corner = |corner: Corner| voice.corner(corner);
    let magnets: Vec<Magnet> = sewn
        .iter()
        .map(|grip| Magnet {
            number: grip.number,
            place: format!(
                "{}, {} from the {}, {} inside the glass edge",
                capital(&voice.edge(grip.place.edge)),
                units.of(grip.place.from_corner),
                corner(grip.place.corner),
                units.of(grip.place.depth)
            ),
            mark: grip.inner_mark.clone(),
        })
        .collect();
    let guide = Guide {
        judgement,
        voice: &voice,
        spans: Vec::new(),
        inside: true,
        chosen: false,
        blade: None,
        room: ROOM,
        title: format!("{}, inner magnets", readings.name),
    };
    let grips = &ask.made.panes[i].plan.grips;
    let diameter = grips.first().map_or(Length::ZERO, |grip| grip.diameter);
    let rings: Vec<Ring> =
        sewn.iter().map(|g| Ring { number: g.number, at: g.at, diameter }).collect();
    let alt = format!(
        "The {} seen from inside, with the numbered places of the inner magnets",
        readings.name
    );
    let picture = match rings.is_empty() {
        true => None,
        false => Some(album.drawing(&drawing_of_rings(&guide, &rings), &alt)?),
    };
    Ok(Pane {
        name: capital(&readings.name),
        what: family(readings.family),
        pairs: match sewn.len() {
            0 => "no magnets".to_owned(),
            n => plural(n, "magnet pair"),
        },
        rated: held.rated_plainly.clone(),
        picture,
        steps: steps(&sewn, held.inside),
        magnets,
    })
}

/// Which side first, and in which order the magnets go on.
fn steps(sewn: &[&Held], inside: bool) -> Vec<String> {
    if sewn.is_empty() {
        return vec![match inside {
            true => {
                "Press the cover into place from inside. No place for magnets was sure enough, so \
                     none hold it: agree with us how it is held."
                    .to_owned()
            }
            false => {
                "No place for magnets was sure enough, so none hold this cover. Do not put it up \
                      before you have agreed with us how it is held."
                    .to_owned()
            }
        }];
    }
    let of = |edges: &[Edge]| -> Vec<String> {
        let on = |held: &&&Held| edges.contains(&held.place.edge);
        sewn.iter().filter(on).map(|held| held.number.to_string()).collect()
    };
    let listed = |numbers: &[String]| match numbers {
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
        [] => String::new(),
    };
    let top = of(&[Edge::Top]);
    let sides = of(&[Edge::Left, Edge::Right]);
    let base = of(&[Edge::Base]);
    let mut steps = Vec::new();
    steps.push(match inside {
        false => "Outside first: hold the cover up, its upper edge just inside the upper edge of the glass. \
                  Alone? Masking tape holds it there."
            .to_owned(),
        true => "Hold the cover to the glass from inside, its upper edge just inside the upper edge of the \
                 glass. Alone? Masking tape holds it there."
            .to_owned(),
    });
    let other = if inside { "Then go outside" } else { "Then go inside" };
    let mut begun = false;
    for (where_, numbers) in
        [("along the top", top), ("down the sides", sides), ("along the bottom", base)]
    {
        if numbers.is_empty() {
            continue;
        }
        let lead = if begun { "Next".to_owned() } else { other.to_owned() };
        let verb = if begun { "" } else { " and set the magnets" };
        begun = true;
        steps.push(format!("{lead}{verb} {where_}: {}.", listed(&numbers)));
    }
    steps.push(
        "Put each magnet on the glass beside its place and slide it there until it pulls. The mark says which \
         face goes to the glass."
            .to_owned(),
    );
    steps.push("To take the cover off, slide each magnet sideways off its place. Do not pull it straight off.".to_owned());
    steps
}
