//! Everyday names and sentences, in the owner's unit and with the owner's sides.
//!
//! Data says left and right as seen from outside. A person at a vehicle thinks of its driver and
//! passenger, or of its front and rear, so words use those where the order tells them apart.

use geometry::Length;

use crate::explain::SlipKind;
use crate::name::{
    Column, Corner, Edge, Family, Flank, Level, ReadingName, Side, Slope, Span, Station, Steering,
};
use crate::reading::{PaneReadings, Vehicle};
use crate::tape::{Unit, show};

/// How to speak to the reader about one pane.
#[derive(Clone, Debug, PartialEq)]
pub struct Voice {
    unit: Unit,
    graduation: Length,
    left: &'static str,
    right: &'static str,
}

impl Voice {
    /// Speaks in `unit`, rounded to `graduation`, about that pane of that vehicle.
    #[must_use]
    pub fn new(unit: Unit, graduation: Length, vehicle: &Vehicle, pane: &PaneReadings) -> Self {
        let (left, right) = sides(vehicle, pane);
        Self { unit, graduation, left, right }
    }

    /// A length as this reader writes it.
    #[must_use]
    pub fn length(&self, length: Length) -> String {
        show(length, self.unit, self.graduation)
    }

    /// What the reader calls that side of the pane.
    #[must_use]
    pub const fn side(&self, left: bool) -> &'static str {
        if left { self.left } else { self.right }
    }

    /// The everyday name of a reading: `height on the passenger side`.
    #[must_use]
    pub fn name(&self, name: ReadingName) -> String {
        let span = self.span(name.span);
        match (name.side, name.span) {
            (Side::Inside, Span::Band(_)) => format!("{span} still visible inside"),
            (Side::Inside, Span::Height(_) | Span::Width(_)) => format!("inside {span}"),
            _ => span,
        }
    }

    fn span(&self, span: Span) -> String {
        let (left, right) = (self.left, self.right);
        match span {
            Span::Height(Column::Left) => format!("height on the {left} side"),
            Span::Height(Column::Centre) => "height in the middle".into(),
            Span::Height(Column::Right) => format!("height on the {right} side"),
            Span::Width(Level::Base) => "width near the bottom".into(),
            Span::Width(Level::Middle) => "width halfway up".into(),
            Span::Width(Level::Top) => "width near the top".into(),
            Span::Diagonal(Slope::Rising) => {
                format!("diagonal from the lower {left} corner to the upper {right} corner")
            }
            Span::Diagonal(Slope::Falling) => {
                format!("diagonal from the upper {left} corner to the lower {right} corner")
            }
            Span::Edge(edge) => format!("straight length of the {}", self.edge(edge)),
            Span::Bow(edge) => format!("bow of the {}", self.edge(edge)),
            Span::Radius(corner) => format!("radius of the {}", self.corner(corner)),
            Span::Bend => "bend of the glass at mid height".into(),
            Span::BendUp => "bend of the glass from bottom to top".into(),
            Span::Band(station) => format!("black border {}", self.station(station)),
            Span::Blocked(station) => format!("blocked depth {}", self.station(station)),
        }
    }

    /// An edge in everyday words: `bottom edge`.
    #[must_use]
    pub fn edge(&self, edge: Edge) -> String {
        match edge {
            Edge::Base => "bottom edge".into(),
            Edge::Top => "top edge".into(),
            Edge::Left => format!("{} side edge", self.left),
            Edge::Right => format!("{} side edge", self.right),
        }
    }

    /// A corner in everyday words: `upper passenger corner`.
    #[must_use]
    pub fn corner(&self, corner: Corner) -> String {
        match corner {
            Corner::BaseLeft => format!("lower {} corner", self.left),
            Corner::BaseRight => format!("lower {} corner", self.right),
            Corner::TopRight => format!("upper {} corner", self.right),
            Corner::TopLeft => format!("upper {} corner", self.left),
        }
    }

    /// Where a station is: `at the bottom, in the middle`.
    #[must_use]
    pub fn station(&self, station: Station) -> String {
        let (left, right) = (self.left, self.right);
        match station {
            Station::BaseLeft => format!("at the bottom, {left} side"),
            Station::BaseCentre => "at the bottom, in the middle".into(),
            Station::BaseRight => format!("at the bottom, {right} side"),
            Station::TopLeft => format!("at the top, {left} side"),
            Station::TopCentre => "at the top, in the middle".into(),
            Station::TopRight => format!("at the top, {right} side"),
            Station::LeftLow => format!("on the {left} side, low"),
            Station::LeftHigh => format!("on the {left} side, high"),
            Station::RightLow => format!("on the {right} side, low"),
            Station::RightHigh => format!("on the {right} side, high"),
        }
    }

    /// What is wrong with a reading, and what would agree.
    pub(crate) fn doubt(
        &self,
        kind: SlipKind,
        readings: &[(ReadingName, Length)],
        suggested: Option<Length>,
        probability: f64,
    ) -> String {
        let Some(&(name, read)) = readings.first() else { return String::new() };
        let other = readings.get(1).map(|r| self.name(r.0)).unwrap_or_default();
        self.slip(kind, (&self.name(name), read), &other, suggested, probability)
    }

    /// The same of any number that has a name.
    pub(crate) fn slip(
        &self,
        kind: SlipKind,
        (name, length): (&str, Length),
        other: &str,
        suggested: Option<Length>,
        probability: f64,
    ) -> String {
        let read = self.length(length);
        let too = |amount: &str| match suggested {
            Some(right) if right < length => format!("{amount} too long"),
            _ => format!("{amount} too short"),
        };
        let what = match kind {
            SlipKind::Inch if self.unit == Unit::Inch => too("one inch"),
            SlipKind::Inch => too("one centimetre"),
            SlipKind::HalfInch => too("half an inch"),
            SlipKind::Foot => too("one foot"),
            SlipKind::Ten => too(match self.unit {
                Unit::Inch => "ten inches",
                Unit::Centimetre | Unit::Millimetre => "ten centimetres",
            }),
            SlipKind::FractionDropped => "short of its fraction".into(),
            SlipKind::DigitsExchanged => "as if two digits changed places".into(),
            SlipKind::Unit => "as if read in another unit".into(),
            SlipKind::FrameIncluded => "as if rubber or frame was taken with the glass".into(),
            SlipKind::DotsIncluded => {
                "as if the fading dots were taken with the solid black".into()
            }
            SlipKind::ReadingsExchanged | SlipKind::SidesExchanged => {
                return format!(
                    "The {name} and the {other} look exchanged: each fits in the other's place ({}).",
                    how_often(probability)
                );
            }
            SlipKind::FrameIncludedEverywhere => {
                return format!(
                    "All outside lengths look as if rubber or frame was taken with the glass ({}). \
                     A photo of the tape's end at the glass edge would tell.",
                    how_often(probability)
                );
            }
            SlipKind::Unexplained | SlipKind::Sloppy => {
                let near = suggested.map_or(String::new(), |s| {
                    format!("; the others point to about {}", self.length(s))
                });
                return format!(
                    "The {name}, {read}, does not agree with the other readings and no usual slip \
                     explains it{near}."
                );
            }
        };
        let would =
            suggested.map_or(String::new(), |s| format!(" It would be about {}.", self.length(s)));
        format!("The {name}, {read}, looks {what} ({}).{would}", how_often(probability))
    }

    /// That the readings belong to another vehicle than the glass book's.
    pub(crate) fn other_vehicle(&self, probability: f64) -> String {
        format!(
            "Together the readings do not fit this vehicle's entry in the glass book ({}); the outline \
             is drawn from the readings alone. Please check make, model and year.",
            how_often(probability)
        )
    }

    /// That nothing else checks these readings; nothing to say of none.
    #[must_use]
    pub fn unchecked(&self, names: &[ReadingName]) -> Option<String> {
        let (last, others) = names.split_last()?;
        let mut list = others.iter().map(|n| self.name(*n)).collect::<Vec<_>>().join(", the ");
        if !list.is_empty() {
            list.push_str(" and the ");
        }
        list.push_str(&self.name(*last));
        Some(format!("Nothing else checks the {list}: a slip there would pass unseen."))
    }

    /// How to read the bend of glass whose widths were taken straight across.
    pub(crate) fn bend_question(&self) -> String {
        "Some lengths were taken straight across the bent glass. Please lay something straight level \
         across it at mid height, ends level with the glass edges, and read how far it stands off the \
         glass in the middle, or the glass off it."
            .into()
    }

    /// What tells apart the forms a pane of several corners may have.
    pub(crate) fn form_question(&self, name: ReadingName) -> String {
        let name = self.name(name);
        format!("Please read the {name} too: it tells which corners the pane has where.")
    }

    /// What to ask for.
    pub(crate) fn question(&self, name: ReadingName, again: bool, bundle: bool) -> String {
        let name = self.name(name);
        match (again, bundle) {
            (true, _) => format!("Please read the {name} once more, glass edge to glass edge."),
            (false, false) => format!("Please read the {name} too: it settles the shape best."),
            (false, true) => format!("Please read the {name} too."),
        }
    }
}

/// A chance in whole hundredths, as people are told it: never a certainty, since none is.
///
/// ```
/// assert_eq!(survey::in_a_hundred(0.934), 93);
/// assert_eq!(survey::in_a_hundred(1.0), 99);
/// ```
#[must_use]
pub fn in_a_hundred(chance: f64) -> u8 {
    (0..=99).rev().find(|&n| f64::from(n) <= (chance * 100.0).round()).unwrap_or(0)
}

/// A probability as people say it.
#[must_use]
pub fn how_often(probability: f64) -> String {
    match probability {
        p if p >= 0.985 => "almost certainly".into(),
        p if p < 0.15 => "about once in 10 times".into(),
        p => format!("about {} times in 10", ((p * 10.0).round() as u32).clamp(1, 9)),
    }
}

/// What people call the left and the right side of the pane, as seen from outside.
fn sides(vehicle: &Vehicle, pane: &PaneReadings) -> (&'static str, &'static str) {
    let plain = ("left", "right");
    let Some(steering) = vehicle.steering else { return plain };
    match pane.family {
        // Facing the front from outside, the vehicle's right side is on the left.
        Family::Windscreen | Family::HalfScreen => match steering {
            Steering::Right => ("driver", "passenger"),
            Steering::Left => ("passenger", "driver"),
        },
        Family::Rear => match steering {
            Steering::Right => ("passenger", "driver"),
            Steering::Left => ("driver", "passenger"),
        },
        // Facing the right flank from outside, the front is on the right.
        Family::CabSide | Family::Door | Family::Side => match pane.flank {
            None => plain,
            Some(flank) if (flank == Flank::Driver) == (steering == Steering::Right) => {
                ("rear", "front")
            }
            Some(_) => ("front", "rear"),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::name::Class;

    /// What left and right are called, facing that pane from outside.
    fn called(
        family: Family,
        flank: Option<Flank>,
        steering: Option<Steering>,
    ) -> [&'static str; 2] {
        let vehicle = Vehicle { steering, ..Vehicle::of_class(Class::Camper) };
        let pane = PaneReadings { flank, ..PaneReadings::new("pane", family, Vec::new()) };
        let voice = Voice::new(Unit::Inch, Length::from_inches(0.125), &vehicle, &pane);
        [voice.side(true), voice.side(false)]
    }

    #[test]
    fn driver_and_passenger_sit_where_the_steering_is() {
        let (left, right) = (Some(Steering::Left), Some(Steering::Right));
        for front in [Family::Windscreen, Family::HalfScreen] {
            // Who faces the front has the vehicle's right on the left.
            assert_eq!(called(front, None, right), ["driver", "passenger"]);
            assert_eq!(called(front, None, left), ["passenger", "driver"]);
        }
        assert_eq!(called(Family::Rear, None, right), ["passenger", "driver"]);
        assert_eq!(called(Family::Rear, None, left), ["driver", "passenger"]);
    }

    #[test]
    fn panes_of_both_flanks_have_front_and_rear() {
        let (driver, passenger) = (Some(Flank::Driver), Some(Flank::Passenger));
        let (left, right) = (Some(Steering::Left), Some(Steering::Right));
        for family in [Family::CabSide, Family::Door, Family::Side] {
            // Who faces the vehicle's right flank has its front on the right.
            for (flank, steering) in [(driver, right), (passenger, left)] {
                assert_eq!(called(family, flank, steering), ["rear", "front"]);
            }
            for (flank, steering) in [(driver, left), (passenger, right)] {
                assert_eq!(called(family, flank, steering), ["front", "rear"]);
            }
        }
    }

    #[test]
    fn where_the_order_does_not_say_sides_are_left_and_right() {
        for &family in Family::ALL {
            assert_eq!(called(family, None, None), ["left", "right"]);
            assert_eq!(called(family, Some(Flank::Driver), None), ["left", "right"]);
        }
        assert_eq!(called(Family::Door, None, Some(Steering::Left)), ["left", "right"]);
    }
}
