//! The names of what can be read with a tape, exactly as order files spell them.
//!
//! Left and right are as seen standing outside, facing the glass.

use std::fmt;
use std::str::FromStr;

/// Declares an enum whose variants have one spelling each, with its list and its parser.
macro_rules! spelled {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $text:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name {
            $($(#[$vdoc])* $variant),+
        }

        impl $name {
            /// Every one, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// Its spelling in files.
            #[must_use]
            pub const fn spelling(self) -> &'static str {
                match self { $(Self::$variant => $text),+ }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.spelling())
            }
        }

        impl FromStr for $name {
            type Err = UnknownName;
            fn from_str(text: &str) -> Result<Self, UnknownName> {
                Self::ALL.iter().copied().find(|item| item.spelling() == text).ok_or_else(|| {
                    UnknownName { found: text.to_owned(), near: nearest(text, Self::ALL.iter().map(|i| i.spelling().to_owned())) }
                })
            }
        }
    };
}

spelled!(
    /// Which side of the glass the tape was on.
    Side { /// Outside.
        Outside = "outside", /// Inside.
        Inside = "inside" }
);
spelled!(
    /// Which vertical a height is taken on.
    Column { /// 200 mm in from the left end of `width.base`.
        Left = "left", /// The centre line.
        Centre = "centre", /// 200 mm in from the right end of `width.base`.
        Right = "right" }
);
spelled!(
    /// At which level a width is taken.
    Level { /// 150 mm above the base edge's point on the centre line.
        Base = "base", /// Halfway up the centre line.
        Middle = "middle", /// 150 mm below the top edge's point on the centre line.
        Top = "top" }
);
spelled!(
    /// Which way the tape went from one end to the other.
    Course { /// Pressed to the glass all along.
        Surface = "surface", /// Pulled straight across, as a chord.
        Straight = "straight" }
);
spelled!(
    /// Which way a diagonal runs, from left to right.
    Slope { /// Lower left corner to upper right.
        Rising = "rising", /// Upper left corner to lower right.
        Falling = "falling" }
);
spelled!(
    /// One of the four sides of a pane.
    Edge { /// Lower edge.
        Base = "base", /// Right edge.
        Right = "right", /// Upper edge.
        Top = "top", /// Left edge.
        Left = "left" }
);
spelled!(
    /// One of the four corners of a pane.
    Corner { /// Lower left.
        BaseLeft = "base-left", /// Lower right.
        BaseRight = "base-right", /// Upper right.
        TopRight = "top-right", /// Upper left.
        TopLeft = "top-left" }
);
spelled!(
    /// A named place on the pane's edge, where bands and blocked depths are read.
    Station {
        /// Where `height.left` meets the base edge.
        BaseLeft = "base-left",
        /// Where the centre line meets the base edge.
        BaseCentre = "base-centre",
        /// Where `height.right` meets the base edge.
        BaseRight = "base-right",
        /// A quarter up the centre height, on the right edge.
        RightLow = "right-low",
        /// Three quarters up the centre height, on the right edge.
        RightHigh = "right-high",
        /// Where `height.right` meets the top edge.
        TopRight = "top-right",
        /// Where the centre line meets the top edge.
        TopCentre = "top-centre",
        /// Where `height.left` meets the top edge.
        TopLeft = "top-left",
        /// Three quarters up the centre height, on the left edge.
        LeftHigh = "left-high",
        /// A quarter up the centre height, on the left edge.
        LeftLow = "left-low",
    }
);
spelled!(
    /// What sort of vehicle.
    Class { /// Coach or bus.
        Coach = "coach", /// Camper.
        Camper = "camper", /// Van.
        Van = "van", /// Lorry.
        Lorry = "lorry", /// Boat.
        Boat = "boat", /// Farm cab.
        FarmCab = "farm-cab" }
);
spelled!(
    /// What sort of pane.
    Family { /// Windscreen in one piece.
        Windscreen = "windscreen", /// One of two windscreens side by side.
        HalfScreen = "half-screen", /// Side window of the cab.
        CabSide = "cab-side", /// Window in a door.
        Door = "door", /// Window in the side of the body.
        Side = "side", /// Rear window.
        Rear = "rear" }
);
spelled!(
    /// Which of two halves, as seen facing it.
    Half { /// Left half.
        Left = "left", /// Right half.
        Right = "right" }
);
spelled!(
    /// Which side of the vehicle.
    Flank { /// The driver's side.
        Driver = "driver", /// The passenger's side.
        Passenger = "passenger" }
);
spelled!(
    /// Which side the driver sits, from inside.
    Steering { /// On the left, from inside.
        Left = "left", /// On the right, from inside.
        Right = "right" }
);

impl Station {
    /// The station across the centre line.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        match self {
            Self::BaseLeft => Self::BaseRight,
            Self::BaseCentre => Self::BaseCentre,
            Self::BaseRight => Self::BaseLeft,
            Self::RightLow => Self::LeftLow,
            Self::RightHigh => Self::LeftHigh,
            Self::TopRight => Self::TopLeft,
            Self::TopCentre => Self::TopCentre,
            Self::TopLeft => Self::TopRight,
            Self::LeftHigh => Self::RightHigh,
            Self::LeftLow => Self::RightLow,
        }
    }
}

/// What the tape spans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Span {
    /// On a vertical, glass edge to glass edge (outside), or highest to lowest reachable (inside).
    Height(Column),
    /// On a level, glass edge to glass edge.
    Width(Level),
    /// Between the mid-points of two opposite rounded corners.
    Diagonal(Slope),
    /// Between the mid-points of that edge's two rounded corners, straight.
    Edge(Edge),
    /// The farthest the edge stands outside (positive) that string.
    Bow(Edge),
    /// Radius of a corner.
    Radius(Corner),
    /// How far the middle of the bent glass stands off a level straight edge at mid height.
    Bend,
    /// How far it stands off a straight edge laid up and down its centre line.
    BendUp,
    /// From glass edge to the end of the solid black, square to the edge.
    Band(Station),
    /// How far in from the glass edge the inside is out of reach.
    Blocked(Station),
}

impl Span {
    /// Every span there is, in the order sheets list them.
    #[must_use]
    pub fn all() -> Vec<Self> {
        let mut all: Vec<Self> = Column::ALL.iter().map(|&c| Self::Height(c)).collect();
        all.extend(Level::ALL.iter().map(|&l| Self::Width(l)));
        all.extend(Slope::ALL.iter().map(|&s| Self::Diagonal(s)));
        all.extend(Edge::ALL.iter().map(|&e| Self::Edge(e)));
        all.extend(Edge::ALL.iter().map(|&e| Self::Bow(e)));
        all.extend(Corner::ALL.iter().map(|&c| Self::Radius(c)));
        all.extend([Self::Bend, Self::BendUp]);
        all.extend(Station::ALL.iter().map(|&s| Self::Band(s)));
        all.extend(Station::ALL.iter().map(|&s| Self::Blocked(s)));
        all
    }

    /// Whether it runs from glass edge to glass edge, along the glass or straight across.
    #[must_use]
    pub const fn is_length(self) -> bool {
        matches!(self, Self::Height(_) | Self::Width(_) | Self::Diagonal(_) | Self::Edge(_))
    }

    /// Whether it says how far an edge stands off its string.
    #[must_use]
    pub const fn is_bow(self) -> bool {
        matches!(self, Self::Bow(_))
    }

    /// Whether it can be read on that side of the glass.
    #[must_use]
    pub const fn can_be_read(self, side: Side) -> bool {
        match (side, self) {
            (_, Self::Height(_) | Self::Width(_) | Self::Band(_)) => true,
            (Side::Outside, Self::Blocked(_)) => false,
            (Side::Outside, _) => true,
            (Side::Inside, Self::Blocked(_)) => true,
            (Side::Inside, _) => false,
        }
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Height(column) => write!(f, "height.{column}"),
            Self::Width(level) => write!(f, "width.{level}"),
            Self::Diagonal(slope) => write!(f, "diagonal.{slope}"),
            Self::Edge(edge) => write!(f, "edge.{edge}"),
            Self::Bow(edge) => write!(f, "bow.{edge}"),
            Self::Radius(corner) => write!(f, "radius.{corner}"),
            Self::Bend => write!(f, "bend"),
            Self::BendUp => write!(f, "bend-up"),
            Self::Band(station) => write!(f, "band.{station}"),
            Self::Blocked(station) => write!(f, "blocked.{station}"),
        }
    }
}

impl FromStr for Span {
    type Err = UnknownName;
    fn from_str(text: &str) -> Result<Self, UnknownName> {
        Self::all().into_iter().find(|span| span.to_string() == text).ok_or_else(|| UnknownName {
            found: text.to_owned(),
            near: nearest(text, Self::all().iter().map(Self::to_string)),
        })
    }
}

/// A span on one side of the glass: what identifies a reading of a pane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ReadingName {
    /// Which side.
    pub side: Side,
    /// What the tape spans.
    pub span: Span,
}

impl ReadingName {
    /// Everything that can be read, outside first.
    pub fn all() -> impl Iterator<Item = Self> {
        let of = |side| {
            let spans = Span::all().into_iter().filter(move |span| span.can_be_read(side));
            spans.map(move |span| Self { side, span })
        };
        of(Side::Outside).chain(of(Side::Inside))
    }

    /// An outside reading's name.
    #[must_use]
    pub const fn outside(span: Span) -> Self {
        Self { side: Side::Outside, span }
    }

    /// An inside reading's name.
    #[must_use]
    pub const fn inside(span: Span) -> Self {
        Self { side: Side::Inside, span }
    }

    /// Whether it is a length from glass edge to glass edge, taken outside.
    #[must_use]
    pub const fn is_outside_length(self) -> bool {
        matches!(self.side, Side::Outside) && self.span.is_length()
    }
}

impl fmt::Display for ReadingName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.side, self.span)
    }
}

impl FromStr for ReadingName {
    type Err = UnknownName;
    fn from_str(text: &str) -> Result<Self, UnknownName> {
        let sides = Side::ALL.iter().copied();
        let names = || {
            sides
                .clone()
                .flat_map(|side| Span::all().into_iter().map(move |span| Self { side, span }))
        };
        let readable = |name: &Self| name.span.can_be_read(name.side);
        names().filter(readable).find(|name| name.to_string() == text).ok_or_else(|| UnknownName {
            found: text.to_owned(),
            near: nearest(text, names().filter(readable).map(|name| name.to_string())),
        })
    }
}

/// A word that names nothing here, with the nearest one that does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnknownName {
    /// What was written.
    pub found: String,
    /// The nearest known spelling, when one is near.
    pub near: Option<String>,
}

impl fmt::Display for UnknownName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is not known", self.found)?;
        match &self.near {
            Some(near) => write!(f, "; did you mean `{near}`?"),
            None => Ok(()),
        }
    }
}

impl std::error::Error for UnknownName {}

/// The candidate nearest to `text` by edits (insert, remove, exchange), if it is near enough to
/// have been meant: at most a third of its letters differ.
pub fn nearest(text: &str, candidates: impl Iterator<Item = String>) -> Option<String> {
    let text: Vec<char> = text.chars().take(64).collect();
    candidates
        .map(|candidate| (edits(&text, &candidate.chars().collect::<Vec<_>>()), candidate))
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, candidate)| *distance * 3 <= candidate.chars().count().max(3))
        .map(|(_, candidate)| candidate)
}

/// Levenshtein distance, row by row (Wagner and Fischer 1974).
fn edits(a: &[char], b: &[char]) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(x != y);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_span_reads_back_from_its_spelling() {
        for span in Span::all() {
            assert_eq!(span.to_string().parse(), Ok(span));
        }
    }

    #[test]
    fn a_misspelt_reading_suggests_the_near_one() {
        let error = "height.center".parse::<Span>().unwrap_err();
        assert_eq!(error.near.as_deref(), Some("height.centre"));
        assert_eq!("colour".parse::<Span>().unwrap_err().near, None);
    }
}
