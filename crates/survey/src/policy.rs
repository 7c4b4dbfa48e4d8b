//! What the workshop assumes about tapes, people and costs, in one place.
//!
//! Every number here is either from a named source or marked as common practice or ours. They are
//! values, not laws: a workshop replaces them as its own orders teach it.

use geometry::Length;

use crate::name::{Side, Span};

/// How far readings scatter when nobody made a slip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ErrorModel {
    /// Class of the owner's tape.
    pub tape: TapeClass,
    /// Standard deviation of putting a tape's two ends on two glass edges.
    pub ends: Length,
    /// The same for a bow under a string.
    pub bow: Length,
    /// The same for a radius by gauge or coin.
    pub radius: Length,
    /// The same for a black border.
    pub band: Length,
    /// The same for a height or width taken inside.
    pub inside_height: Length,
    /// How far real glass departs from an outline of arcs with round corners.
    pub form: Length,
}

impl ErrorModel {
    /// Standard deviation, mm, of one reading of `span` taken once at `length`, read to
    /// `graduation`.
    ///
    /// end placement² + MPE²/3 + graduation²/12: the maximum permissible error of the tape and the
    /// rounding to its graduation are spread evenly within their limits. A span between two places on
    /// the edge has 2·form² besides, since the outline it is compared with departs from the glass at
    /// both.
    #[must_use]
    pub fn sd_mm(&self, side: Side, span: Span, length: Length, graduation: Length) -> f64 {
        let place = match (side, span) {
            (Side::Inside, Span::Height(_) | Span::Width(_)) => self.inside_height,
            (_, Span::Bow(_) | Span::Bend | Span::BendUp) => self.bow,
            (_, Span::Radius(_)) => self.radius,
            (_, Span::Band(_) | Span::Blocked(_)) => self.band,
            _ => self.ends,
        };
        let mpe = self.tape.limit(length).mm();
        let g = graduation.mm();
        let on_edge = matches!(side, Side::Outside) && (span.is_length() || span.is_bow());
        let form = if on_edge { self.form.mm() } else { 0.0 };
        (place.mm().powi(2) + mpe * mpe / 3.0 + g * g / 12.0 + 2.0 * form * form).sqrt()
    }
}

/// How exact a tape measure is, as printed on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TapeClass {
    /// I: of the surveyor.
    One,
    /// II: of most toolboxes.
    Two,
    /// III: of the sewing box.
    Three,
}

impl TapeClass {
    /// Maximum permissible error over a length from a hook end: a, b for each metre or part of one,
    /// and c for the hook. a and b from OIML R 35-1:2007; c for classes I and III from memory.
    #[must_use]
    pub fn limit(self, length: Length) -> Length {
        let (a, b, c) = match self {
            Self::One => (0.1, 0.1, 0.1),
            Self::Two => (0.3, 0.2, 0.2),
            Self::Three => (0.6, 0.4, 0.3),
        };
        let metres = (length.mm().abs() / 1000.0).ceil().max(1.0);
        Length::from_mm(a + b * metres + c)
    }
}

/// How often readings go wrong, each reading by itself, and how far.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlipRates {
    /// One inch (or one centimetre) too much or too little.
    pub inch: f64,
    /// Half an inch.
    pub half_inch: f64,
    /// One foot.
    pub foot: f64,
    /// Ten of the unit.
    pub ten: f64,
    /// The fraction (or the part below a centimetre) left out, given a whole number.
    pub fraction_dropped: f64,
    /// Two digits exchanged.
    pub digits_exchanged: f64,
    /// Another unit than the order's.
    pub unit: f64,
    /// Rubber or frame taken with the glass.
    pub frame_included: f64,
    /// The fading dots taken with the solid black.
    pub dots_included: f64,
    /// Two readings written in each other's place, each pair.
    pub readings_exchanged: f64,
    /// Inside and outside written in each other's place, each pair.
    pub sides_exchanged: f64,
    /// Frame taken with the glass in every outside span, each pane.
    pub frame_included_everywhere: f64,
    /// Wrong in no usual way.
    pub unexplained: f64,
    /// Honest but 2.5 times as rough as usual.
    pub sloppy: f64,
    /// Honest but 5 times as rough as usual.
    pub very_sloppy: f64,
}

impl SlipRates {
    /// Nobody ever slips: every reading is taken at its word.
    pub const NONE: Self = Self {
        inch: 0.0,
        half_inch: 0.0,
        foot: 0.0,
        ten: 0.0,
        fraction_dropped: 0.0,
        digits_exchanged: 0.0,
        unit: 0.0,
        frame_included: 0.0,
        dots_included: 0.0,
        readings_exchanged: 0.0,
        sides_exchanged: 0.0,
        frame_included_everywhere: 0.0,
        unexplained: 0.0,
        sloppy: 0.0,
        very_sloppy: 0.0,
    };
}

/// When a cover fits, and what it costs when it does not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitRule {
    /// How far inside the glass edge the finished edge is aimed.
    pub aim: Length,
    /// How far outside the glass edge it may be anywhere.
    pub outside: Length,
    /// How far inside the glass edge it may be anywhere.
    pub inside: Length,
    /// The chance of fit is reckoned as if slips were so many times as likely as they are. Nothing
    /// shows some slips, so that among orders that slipped the chance would else be stated too high;
    /// honest orders pay by a chance stated a little too low.
    pub caution: f64,
    /// Cost of asking the owner, as a part of the cost of a remake.
    pub question_cost: f64,
    /// Below this chance of fit nothing is cut, whatever else.
    pub least_chance: f64,
    /// A reading is doubted aloud when it slipped with at least this probability.
    pub doubt_at: f64,
}

/// Everything assumed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Policy {
    /// Scatter of honest readings.
    pub errors: ErrorModel,
    /// Slips.
    pub slips: SlipRates,
    /// What counts as fitting.
    pub fit: FitRule,
    /// How many outlines are drawn to find the chance of fit.
    pub n_samples: usize,
    /// Seed of those draws.
    pub seed: u64,
}

impl Policy {
    /// What a workshop starts with.
    ///
    /// Error sizes and slip rates: common practice, no published source. The fit rule is the one the
    /// order contract states: aim 4 mm inside, at most 3 mm outside, at most 11 mm inside.
    #[must_use]
    pub const fn starting() -> Self {
        Self {
            errors: ErrorModel {
                tape: TapeClass::Two,
                ends: Length::from_mm(2.0),
                bow: Length::from_mm(2.5),
                radius: Length::from_mm(8.0),
                band: Length::from_mm(2.0),
                inside_height: Length::from_mm(6.0),
                form: Length::from_mm(0.8),
            },
            slips: SlipRates {
                inch: 0.008,
                half_inch: 0.003,
                foot: 0.002,
                ten: 0.002,
                fraction_dropped: 0.015,
                digits_exchanged: 0.002,
                unit: 0.001,
                frame_included: 0.004,
                dots_included: 0.010,
                readings_exchanged: 0.0006,
                sides_exchanged: 0.002,
                frame_included_everywhere: 0.01,
                unexplained: 0.004,
                sloppy: 0.05,
                very_sloppy: 0.004,
            },
            fit: FitRule {
                aim: Length::from_mm(4.0),
                outside: Length::from_mm(3.0),
                inside: Length::from_mm(11.0),
                caution: 8.0,
                question_cost: 0.06,
                least_chance: 0.5,
                doubt_at: 0.15,
            },
            n_samples: 512,
            seed: 0x7061_6e65,
        }
    }
}
