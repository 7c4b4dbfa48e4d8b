//! How each pane's cover is held, as papers tell it.

use hold::{Caution, CoverSide, Magnet, MagnetShape, Partner, RatedGust, StrapTo};
use shop::{GripPlace, Rating};
use survey::Corner;

use super::places::Place;
use crate::SheetsAsk;
use crate::words::capital;

/// One magnet pair.
pub(crate) struct Held {
    pub(crate) number: u32,
    pub(crate) at: geometry::Point<geometry::Pane>,
    /// On the glass.
    pub(crate) place: Place,
    /// Pole of the outer magnet that faces the glass.
    pub(crate) outer: String,
    /// What is marked on the inner magnet; nothing on iron, which has no poles.
    pub(crate) inner_mark: String,
    /// How many times the rated gust it holds; nothing where no gust is reckoned.
    pub(crate) margin: Option<f64>,
}

/// How the cover of pane `i` is held.
pub(crate) struct PaneHeld {
    pub(crate) magnet_outer: String,
    pub(crate) magnet_inner: String,
    pub(crate) grips: Vec<Held>,
    pub(crate) straps: Vec<(Corner, StrapTo)>,
    /// What each pair holds, in plain words.
    pub(crate) pull: String,
    /// The wind it is rated for, for benches.
    pub(crate) rated: String,
    /// The same for the owner.
    pub(crate) rated_plainly: String,
    pub(crate) inside: bool,
}

pub(crate) fn of_pane(ask: &SheetsAsk<'_>, i: usize) -> PaneHeld {
    let hold = &ask.made.panes[i].hold;
    let iron = matches!(hold.magnet.inner, Partner::Iron(_));
    let held = |grip: &GripPlace| Held {
        number: grip.number,
        at: grip.at,
        place: Place {
            edge: grip.edge,
            corner: grip.from_corner,
            from_corner: grip.from_corner_by,
            depth: grip.offset,
        },
        outer: grip.poles.outer.to_string(),
        inner_mark: if iron { String::new() } else { grip.poles.inner_mark() },
        margin: grip.demand.map(|demand| demand.margin),
    };
    let (rated, rated_plainly) = match &hold.rating {
        Rating::Wind(wind) => {
            let short = match wind.is_met {
                true => "",
                false => ". Less than was wanted",
            };
            (format!("{}{short}", capital(&wind.gust.to_string())), plain_gust(&wind.gust))
        }
        Rating::Inside => (
            "Inside the glass: no wind reaches it.".to_owned(),
            "The cover hangs inside, where no wind reaches it.".to_owned(),
        ),
        Rating::Unheld(why) => (
            format!("Nothing holds it: {why}"),
            "Nothing holds this cover yet. Do not put it up before you have agreed with us how."
                .to_owned(),
        ),
    };
    let pull = hold.capacity.as_ref().map_or_else(String::new, |capacity| {
        format!(
            "{:.1}\u{a0}N off the glass and {:.1}\u{a0}N along it, at {:.0}\u{a0}°C",
            capacity.pull_off.newtons(),
            capacity.slide.newtons(),
            hold.choices.in_sun.celsius()
        )
    });
    PaneHeld {
        magnet_outer: magnet_words(&hold.magnet.outer),
        magnet_inner: match &hold.magnet.inner {
            Partner::Magnet(magnet) => magnet_words(magnet),
            Partner::Iron(iron) => format!("iron disc, {}", size_words(iron.shape())),
        },
        grips: hold.grips.iter().map(held).collect(),
        straps: hold.straps.iter().map(|strap| (strap.corner, strap.to)).collect(),
        pull,
        rated,
        rated_plainly,
        inside: hold.side == CoverSide::Inside,
    }
}

/// What a gust means to who has the cover on.
fn plain_gust(gust: &RatedGust) -> String {
    match gust.beaufort {
        Some(_) => format!(
            "Made for a parked vehicle in {}. That is our estimate, not a promise: take the cover off before \
             it blows harder.",
            gust.in_short()
        ),
        None => "Made for calm air only. Take the cover off in any wind.".to_owned(),
    }
}

/// `disc 20 × 5 mm, N35`.
fn magnet_words(magnet: &Magnet) -> String {
    let form = match magnet.shape() {
        MagnetShape::Disc { .. } => "disc",
        MagnetShape::Block { .. } => "block",
    };
    let grade = match magnet.grade() {
        Some(grade) => grade.to_string(),
        None => format!("{:.2}\u{a0}T", magnet.polarisation().tesla()),
    };
    format!("{form} {}, {grade}", size_words(magnet.shape()))
}

fn size_words(shape: MagnetShape) -> String {
    let sizes = match shape {
        MagnetShape::Disc { diameter, thickness } => vec![diameter, thickness],
        MagnetShape::Block { length, width, thickness } => vec![length, width, thickness],
    };
    let sizes: Vec<String> = sizes.iter().map(|size| size.mm().to_string()).collect();
    format!("{}\u{a0}mm", sizes.join("\u{a0}×\u{a0}"))
}

/// What to beware of with all magnets of the order in one parcel; nothing where there are none.
pub(crate) fn all_cautions<'a>(ask: &SheetsAsk<'a>) -> &'a [Caution] {
    &ask.made.cautions
}
