//! What an owner is asked to read of a pane, and where to put the tape for it: the same on screen and on
//! paper.

use geometry::Length;
use survey::{Column, Corner, Edge, Family, Level, ReadingName, Side, Slope, Span, Station, Voice};

/// What is read of a pane the glass book knows: what tells most, in the order one walks.
const KNOWN: [ReadingName; 15] = [
    out(Span::Height(Column::Centre)),
    out(Span::Height(Column::Left)),
    out(Span::Height(Column::Right)),
    out(Span::Width(Level::Base)),
    out(Span::Edge(Edge::Left)),
    out(Span::Diagonal(Slope::Rising)),
    out(Span::Diagonal(Slope::Falling)),
    out(Span::Band(Station::BaseCentre)),
    out(Span::Band(Station::BaseLeft)),
    out(Span::Band(Station::TopCentre)),
    out(Span::Band(Station::LeftLow)),
    inside(Span::Height(Column::Centre)),
    inside(Span::Height(Column::Left)),
    inside(Span::Band(Station::BaseCentre)),
    inside(Span::Band(Station::TopCentre)),
];

/// What is read besides where nothing is known of the pane.
const BESIDES: [ReadingName; 6] = [
    out(Span::Width(Level::Middle)),
    out(Span::Width(Level::Top)),
    out(Span::Bow(Edge::Base)),
    out(Span::Bow(Edge::Top)),
    out(Span::Edge(Edge::Right)),
    out(Span::Edge(Edge::Top)),
];

const fn out(span: Span) -> ReadingName {
    ReadingName::outside(span)
}

const fn inside(span: Span) -> ReadingName {
    ReadingName::inside(span)
}

/// How many of [`KNOWN`] are read outside.
const N_OUTSIDE: usize = 11;

/// What to read of a pane that is measured for the first time, in the order one walks: outside first.
/// `known` says whether the glass book knows the pane.
#[must_use]
pub fn readings_to_take(known: bool) -> Vec<ReadingName> {
    let besides: &[ReadingName] = if known { &[] } else { &BESIDES };
    let (outside, within) = KNOWN.split_at(N_OUTSIDE);
    outside.iter().chain(besides).chain(within).copied().collect()
}

/// Where to put the tape, in plain words. `small` says whether the pane is one whose places are in
/// thirds ([`Judgement::small`](survey::Judgement::small)).
#[must_use]
pub fn where_to_put_the_tape(
    name: ReadingName,
    small: bool,
    family: Family,
    voice: &Voice,
) -> String {
    let in_from = |large: f64| match small {
        true => "a third of the way".to_owned(),
        false => voice.length(Length::from_mm(large)),
    };
    let glass = "from the very edge of the glass to the very edge, not the rubber";
    let in_the_way = match family {
        Family::Windscreen | Family::HalfScreen => "dash",
        Family::CabSide | Family::Door => "door trim",
        Family::Side | Family::Rear => "trim",
    };
    match (name.side, name.span) {
        (Side::Inside, Span::Height(_) | Span::Width(_)) => format!(
            "The same line as outside, now from inside: as high as you can reach the glass, down to as \
             far as you can press the tape behind the {in_the_way}."
        ),
        (Side::Inside, Span::Band(station)) => format!(
            "From inside, {}: how much solid black you still see. Write 0 if you see none.",
            place_of(station, small, voice)
        ),
        (_, Span::Height(Column::Centre)) => format!("Straight up the middle, {glass}."),
        (_, Span::Height(column)) => format!(
            "{} from the {} side edge, straight up, {glass}.",
            capital(&in_from(203.2)),
            voice.side(column == Column::Left)
        ),
        (_, Span::Width(Level::Middle)) => {
            format!("Level, halfway up the glass, {glass}. Keep the tape level.")
        }
        (_, Span::Width(Level::Base)) => {
            format!("Level, {} up from the bottom edge, {glass}.", in_from(152.4))
        }
        (_, Span::Width(Level::Top)) => {
            format!("Level, {} down from the top edge, {glass}.", in_from(152.4))
        }
        (_, Span::Diagonal(slope)) => {
            let (from, to) = match slope {
                Slope::Rising => (Corner::BaseLeft, Corner::TopRight),
                Slope::Falling => (Corner::TopLeft, Corner::BaseRight),
            };
            format!(
                "From the middle of the {}'s rounding to the middle of the {}'s rounding.",
                voice.corner(from),
                voice.corner(to)
            )
        }
        (_, Span::Edge(_)) => {
            "A straight line between the middles of this edge's two rounded corners.".to_owned()
        }
        (_, Span::Bow(_)) => {
            "Stretch a string between the middles of this edge's two rounded corners. How far does the glass \
             edge stand beyond it, at most?"
                .to_owned()
        }
        (_, Span::Radius(_)) => {
            "How round the corner is: the radius of a plate or lid that fits it.".to_owned()
        }
        (_, Span::Bend) => {
            "Lay something long and straight level across the glass, halfway up. How far does the middle of \
             the glass stand off it?"
                .to_owned()
        }
        (_, Span::BendUp) => {
            "Lay something long and straight up and down the middle of the glass. How far does the middle of \
             the glass stand off it?"
                .to_owned()
        }
        (_, Span::Band(station)) => format!(
            "{}: from the glass edge to the end of the solid black, square to the edge. The fading dots do \
             not count.",
            capital(&place_of(station, small, voice))
        ),
        (_, Span::Blocked(station)) => format!(
            "From inside, {}: how far in from the glass edge you cannot reach.",
            place_of(station, small, voice)
        ),
    }
}

/// Where on the edge a border is read.
fn place_of(station: Station, small: bool, voice: &Voice) -> String {
    let in_from = |left: bool| match small {
        true => format!("a third of the way in from the {} side", voice.side(left)),
        false => {
            format!("{} from the {} side", voice.length(Length::from_mm(203.2)), voice.side(left))
        }
    };
    match station {
        Station::BaseLeft | Station::BaseRight => {
            format!("at the bottom, {}", in_from(station == Station::BaseLeft))
        }
        Station::TopLeft | Station::TopRight => {
            format!("at the top, {}", in_from(station == Station::TopLeft))
        }
        Station::BaseCentre | Station::TopCentre => voice.station(station),
        Station::LeftLow | Station::RightLow => {
            format!(
                "on the {} side, a quarter of the way up",
                voice.side(station == Station::LeftLow)
            )
        }
        Station::LeftHigh | Station::RightHigh => format!(
            "on the {} side, three quarters of the way up",
            voice.side(station == Station::LeftHigh)
        ),
    }
}

/// The first letter as a capital.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
