//! An owner with a tape: honest scatter with heavy tails, eighths of an inch, and slips at rates other
//! than those the judgement assumes.

use geometry::{Length, MM_PER_INCH};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StudentT};
use survey::{
    Column, Edge, Family, Level, PaneReadings, Reading, ReadingName, Side, SlipKind, Slope, Span,
    Station, TapeClass, TapeReading, Unit,
};

use crate::glass::{Glass, normal};

/// Which readings an order starts with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Set {
    Small,
    Good,
    Full,
}

impl Set {
    pub(crate) fn names(self) -> Vec<ReadingName> {
        use Span::{Band, Bow, Diagonal, Edge as Straight, Height, Width};
        let inside = |span| ReadingName { side: Side::Inside, span };
        let out = ReadingName::outside;
        let mut names = vec![
            out(Height(Column::Left)),
            out(Height(Column::Centre)),
            out(Height(Column::Right)),
            out(Width(Level::Base)),
            out(Band(Station::BaseCentre)),
            out(Band(Station::BaseLeft)),
            out(Band(Station::BaseRight)),
            out(Band(Station::TopCentre)),
            inside(Height(Column::Centre)),
            inside(Height(Column::Left)),
            inside(Band(Station::BaseCentre)),
            inside(Band(Station::BaseLeft)),
        ];
        if self != Self::Small {
            names.extend([
                out(Straight(Edge::Left)),
                out(Diagonal(Slope::Rising)),
                out(Diagonal(Slope::Falling)),
            ]);
        }
        if self == Self::Full {
            names.extend([
                out(Width(Level::Top)),
                out(Width(Level::Middle)),
                out(Bow(Edge::Top)),
                out(Bow(Edge::Base)),
                out(Straight(Edge::Right)),
                out(Straight(Edge::Top)),
            ]);
        }
        names
    }
}

/// A slip that was made.
#[derive(Clone, Debug)]
pub(crate) struct Made {
    pub(crate) kind: SlipKind,
    pub(crate) readings: Vec<ReadingName>,
}

/// Someone measuring one pane, with one tape.
pub(crate) struct Owner<'a> {
    glass: &'a Glass,
    /// Error of the tape as a part of its greatest permissible one.
    tape: f64,
}

/// Smallest slip that counts, mm.
const LEAST: f64 = 8.0;

impl<'a> Owner<'a> {
    pub(crate) fn new(glass: &'a Glass, rng: &mut ChaCha8Rng) -> Self {
        Self { glass, tape: rng.random_range(-1.0..1.0) }
    }

    /// An honest reading, mm, on an eighth of an inch.
    pub(crate) fn read(&self, name: ReadingName, rng: &mut ChaCha8Rng) -> Option<f64> {
        let exact = self.glass.read(name)?;
        let sd = match (name.side, name.span) {
            (Side::Inside, Span::Height(_)) => 6.0,
            (_, Span::Bow(_)) => 2.5,
            _ => 2.0,
        };
        // Student's t with five degrees of freedom has variance 5/3.
        let tails = StudentT::new(5.0).expect("five is positive");
        let stray = sd * tails.sample(rng) / (5.0_f64 / 3.0).sqrt();
        let tape = self.tape * TapeClass::Two.limit(Length::from_mm(exact)).mm();
        Some(eighths((exact + tape + stray).max(0.0)))
    }

    /// All readings of a set, honest.
    pub(crate) fn read_all(&self, set: Set, rng: &mut ChaCha8Rng) -> Readings {
        let read = |name| Some((name, vec![self.read(name, rng)?]));
        Readings(set.names().into_iter().filter_map(read).collect())
    }
}

fn eighths(mm: f64) -> f64 {
    let eighth = MM_PER_INCH / 8.0;
    (mm / eighth).round() * eighth
}

/// What was written down, mm; a list each, since a reading may be taken again.
#[derive(Clone, Debug)]
pub(crate) struct Readings(pub(crate) Vec<(ReadingName, Vec<f64>)>);

impl Readings {
    pub(crate) fn pane(&self) -> PaneReadings {
        let eighth = Length::from_mm(MM_PER_INCH / 8.0);
        let tape = |mm: &f64| TapeReading::showing(Length::from_mm(*mm), Unit::Inch, eighth);
        let reading = |(name, taken): &(ReadingName, Vec<f64>)| Reading {
            name: *name,
            taken: taken.iter().map(tape).collect(),
            place: None,
        };
        PaneReadings::new("front", Family::Windscreen, self.0.iter().map(reading).collect())
    }

    /// Takes an answer down.
    pub(crate) fn add(&mut self, name: ReadingName, mm: f64) {
        match self.0.iter_mut().find(|r| r.0 == name) {
            Some(reading) => reading.1.push(mm),
            None => self.0.push((name, vec![mm])),
        }
    }

    /// Puts an answer in the place of what was read first.
    pub(crate) fn replace(&mut self, name: ReadingName, mm: f64) {
        if let Some(reading) = self.0.iter_mut().find(|r| r.0 == name) {
            reading.1 = vec![mm];
        }
    }

    /// Slips once in one of the lengths, by at least 8 mm.
    pub(crate) fn slip(&mut self, rng: &mut ChaCha8Rng) -> Made {
        let lengths: Vec<usize> =
            (0..self.0.len()).filter(|&i| self.0[i].0.is_outside_length()).collect();
        loop {
            let i = lengths[rng.random_range(0..lengths.len())];
            if let Some(made) = self.slip_in(i, rng) {
                return made;
            }
        }
    }

    /// Slips here and there, as people do.
    pub(crate) fn slip_sometimes(&mut self, rng: &mut ChaCha8Rng) -> Vec<Made> {
        let mut made = Vec::new();
        for i in 0..self.0.len() {
            let band = matches!(self.0[i].0.span, Span::Band(_));
            if band && rng.random_bool(0.015) {
                self.0[i].1[0] = eighths(self.0[i].1[0] + normal(rng, 15.0, 6.0).max(LEAST));
                made.push(Made { kind: SlipKind::DotsIncluded, readings: vec![self.0[i].0] });
            }
            if self.0[i].0.is_outside_length() && rng.random_bool(0.015) {
                made.extend(self.slip_in(i, rng));
            }
        }
        made
    }

    fn slip_in(&mut self, i: usize, rng: &mut ChaCha8Rng) -> Option<Made> {
        let name = self.0[i].0;
        let inches = self.0[i].1[0] / MM_PER_INCH;
        let sign = if rng.random_bool(0.5) { 1.0 } else { -1.0 };
        let (kind, slipped) = match rng.random_range(0..100) {
            0..32 => (SlipKind::Inch, inches + sign),
            32..42 => (SlipKind::HalfInch, inches + 0.5 * sign),
            42..50 => (SlipKind::Foot, inches + 12.0 * sign),
            50..58 => (SlipKind::Ten, inches + 10.0 * sign),
            58..68 => (SlipKind::FractionDropped, inches.trunc()),
            68..76 => (SlipKind::DigitsExchanged, exchange_digits(inches, rng)?),
            76..88 => {
                let frame = rng.random_range(LEAST..44.0);
                (SlipKind::FrameIncluded, eighths(inches * MM_PER_INCH + frame) / MM_PER_INCH)
            }
            88..92 => {
                let alike = |other: &Span| {
                    std::mem::discriminant(other) == std::mem::discriminant(&name.span)
                };
                let others: Vec<usize> = (0..self.0.len())
                    .filter(|&j| {
                        j != i && self.0[j].0.is_outside_length() && alike(&self.0[j].0.span)
                    })
                    .collect();
                let j = *others.get(rng.random_range(0..others.len().max(1)))?;
                let (mine, other) = (self.0[i].1[0], self.0[j].1[0]);
                if (mine - other).abs() < LEAST {
                    return None;
                }
                (self.0[i].1[0], self.0[j].1[0]) = (other, mine);
                let readings = vec![name, self.0[j].0];
                return Some(Made { kind: SlipKind::ReadingsExchanged, readings });
            }
            _ => {
                let astray = sign * rng.random_range(LEAST..150.0);
                (SlipKind::Unexplained, eighths(inches * MM_PER_INCH + astray) / MM_PER_INCH)
            }
        };
        if (slipped - inches).abs() * MM_PER_INCH < LEAST || slipped <= 0.0 {
            return None;
        }
        self.0[i].1[0] = slipped * MM_PER_INCH;
        Some(Made { kind, readings: vec![name] })
    }
}

fn exchange_digits(inches: f64, rng: &mut ChaCha8Rng) -> Option<f64> {
    let whole = inches.trunc();
    let mut digits: Vec<u8> = format!("{whole:.0}").into_bytes();
    let k = rng.random_range(1..digits.len().max(2));
    if digits.len() < 2 || digits[k] == digits[k - 1] {
        return None;
    }
    digits.swap(k - 1, k);
    let swapped: f64 = String::from_utf8(digits).ok()?.parse().ok()?;
    Some(inches - whole + swapped)
}
