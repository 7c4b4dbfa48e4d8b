//! Discs and blocks magnetised through their thickness.

use std::fmt;
use std::str::FromStr;

use geometry::{Area, Length};

use crate::grade::Grade;
use crate::{FluxDensity, HoldError};

/// Largest polarisation accepted: the saturation of Nd2Fe14B at room temperature is about 1.61 T
/// (from memory, in every textbook on permanent magnets), so no magnet of the kind has more.
pub const MOST_POLARISATION: FluxDensity = FluxDensity::from_tesla(1.6);

/// Smallest size of a magnet, chosen by us: none thinner is handled in a workshop.
pub const LEAST_SIZE: Length = Length::from_mm(0.1);

/// Largest size of a magnet, chosen by us: a bigger number is a slip of unit.
pub const MOST_SIZE: Length = Length::from_mm(500.0);

/// The form of a magnet; the thickness is the direction of magnetisation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MagnetShape {
    /// A round disc or rod.
    Disc {
        /// Across the round face.
        diameter: Length,
        /// Between the two poles.
        thickness: Length,
    },
    /// A rectangular block.
    Block {
        /// Along x.
        length: Length,
        /// Along y.
        width: Length,
        /// Between the two poles.
        thickness: Length,
    },
}

impl MagnetShape {
    /// The distance between the two poles.
    #[must_use]
    pub const fn thickness(self) -> Length {
        match self {
            Self::Disc { thickness, .. } | Self::Block { thickness, .. } => thickness,
        }
    }

    /// The area of one pole.
    #[must_use]
    pub fn pole_area(self) -> Area {
        match self {
            Self::Disc { diameter, .. } => diameter * diameter * std::f64::consts::FRAC_PI_4,
            Self::Block { length, width, .. } => length * width,
        }
    }

    /// The radius of the smallest ball that holds the magnet, in millimetres.
    pub(crate) fn reach_mm(self) -> f64 {
        let [x, y, z] = self.half_sizes_mm();
        match self {
            Self::Disc { .. } => x.hypot(z),
            Self::Block { .. } => x.hypot(y).hypot(z),
        }
    }

    /// Half the size along x, y and z, in millimetres.
    pub(crate) fn half_sizes_mm(self) -> [f64; 3] {
        let (x, y, z) = match self {
            Self::Disc { diameter, thickness } => (diameter, diameter, thickness),
            Self::Block { length, width, thickness } => (length, width, thickness),
        };
        [0.5 * x.mm(), 0.5 * y.mm(), 0.5 * z.mm()]
    }

    fn measures(self) -> Vec<(&'static str, Length)> {
        match self {
            Self::Disc { diameter, thickness } => {
                vec![("diameter", diameter), ("thickness", thickness)]
            }
            Self::Block { length, width, thickness } => {
                vec![("length", length), ("width", width), ("thickness", thickness)]
            }
        }
    }
}

/// A permanent magnet, evenly magnetised through its thickness.
///
/// ```
/// let magnet: hold::Magnet = "disc:20x3:N35".parse()?;
/// assert_eq!(magnet.polarisation().tesla(), 1.19);
/// # Ok::<(), hold::HoldError>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Magnet {
    shape: MagnetShape,
    polarisation: FluxDensity,
    grade: Option<Grade>,
}

impl Magnet {
    /// A magnet whose polarisation (remanence Br) is known in tesla.
    ///
    /// # Errors
    /// When a size is outside [`LEAST_SIZE`] to [`MOST_SIZE`], or the polarisation is not positive
    /// or above [`MOST_POLARISATION`].
    pub fn new(shape: MagnetShape, polarisation: FluxDensity) -> Result<Self, HoldError> {
        if let Some((part, found)) =
            shape.measures().into_iter().find(|(_, size)| !(LEAST_SIZE..=MOST_SIZE).contains(size))
        {
            return Err(HoldError::Size { part, found, least: LEAST_SIZE, most: MOST_SIZE });
        }
        if polarisation <= FluxDensity::ZERO || polarisation > MOST_POLARISATION {
            return Err(HoldError::Polarisation { found: polarisation, most: MOST_POLARISATION });
        }
        Ok(Self { shape, polarisation, grade: None })
    }

    /// A magnet of a known grade, with the grade's nominal remanence.
    ///
    /// # Errors
    /// When a size is outside [`LEAST_SIZE`] to [`MOST_SIZE`].
    pub fn of_grade(shape: MagnetShape, grade: Grade) -> Result<Self, HoldError> {
        Ok(Self { grade: Some(grade), ..Self::new(shape, grade.remanence())? })
    }

    /// Its form.
    #[must_use]
    pub const fn shape(&self) -> MagnetShape {
        self.shape
    }

    /// Its polarisation J, equal to the remanence Br while no correction has been made.
    #[must_use]
    pub const fn polarisation(&self) -> FluxDensity {
        self.polarisation
    }

    /// Its grade, when that is how it was described.
    #[must_use]
    pub const fn grade(&self) -> Option<Grade> {
        self.grade
    }

    /// The same magnet with less polarisation.
    pub(crate) fn weakened(self, factor: f64) -> Self {
        Self { polarisation: self.polarisation * factor, ..self }
    }
}

impl FromStr for Magnet {
    type Err = HoldError;

    /// Reads `disc:DIAMETERxTHICKNESS:BR` or `block:LENGTHxWIDTHxTHICKNESS:BR`: millimetres, and
    /// BR in tesla or the name of a grade.
    fn from_str(spec: &str) -> Result<Self, HoldError> {
        let fail = |problem: String| HoldError::Spec { spec: spec.to_owned(), problem };
        let [form, sizes, strength] = spec.split(':').map(str::trim).collect::<Vec<_>>()[..] else {
            return Err(fail(format!("has {} of 3 parts", spec.split(':').count())));
        };
        let number = |text: &str| {
            let text = text.trim();
            let value = text.parse().ok().filter(|value: &f64| value.is_finite());
            value.ok_or_else(|| fail(format!("“{text}” is not a number")))
        };
        let sizes = sizes
            .split(['x', 'X', '×'])
            .map(|size| Ok(Length::from_mm(number(size)?)))
            .collect::<Result<Vec<_>, HoldError>>()?;
        let shape = match (form.to_ascii_lowercase().as_str(), &sizes[..]) {
            ("disc", &[diameter, thickness]) => MagnetShape::Disc { diameter, thickness },
            ("block", &[length, width, thickness]) => {
                MagnetShape::Block { length, width, thickness }
            }
            ("disc", _) => return Err(fail(format!("a disc has 2 sizes, not {}", sizes.len()))),
            ("block", _) => return Err(fail(format!("a block has 3 sizes, not {}", sizes.len()))),
            _ => return Err(fail(format!("“{form}” is neither disc nor block"))),
        };
        if let Some(grade) = Grade::named(strength) {
            return Self::of_grade(shape, grade);
        }
        let tesla = number(strength)
            .map_err(|_| fail(format!("“{strength}” is neither tesla nor a known grade")))?;
        Self::new(shape, FluxDensity::from_tesla(tesla))
    }
}

impl fmt::Display for Magnet {
    /// Writes the form that [`Magnet::from_str`] reads.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.shape {
            MagnetShape::Disc { diameter, thickness } => {
                write!(f, "disc:{}x{}", diameter.mm(), thickness.mm())?;
            }
            MagnetShape::Block { length, width, thickness } => {
                write!(f, "block:{}x{}x{}", length.mm(), width.mm(), thickness.mm())?;
            }
        }
        match self.grade {
            Some(grade) if grade.remanence() == self.polarisation => write!(f, ":{grade}"),
            _ => write!(f, ":{}", self.polarisation.tesla()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(spec: &str) -> String {
        spec.parse::<Magnet>().unwrap_err().to_string()
    }

    #[test]
    fn a_magnet_is_read_and_written_alike() {
        for spec in ["disc:20x3:1.19", "block:40x12x5:N35H", "disc:9.5x2:N42SH"] {
            assert_eq!(spec.parse::<Magnet>().unwrap().to_string(), spec);
        }
        assert_eq!("Disc: 20 X 3 : n35".parse::<Magnet>(), "disc:20x3:N35".parse());
    }

    #[test]
    fn nonsense_is_refused_with_a_way_out() {
        for (spec, says) in [
            ("disc:20x0:1.2", "thickness is 0 mm"),
            ("disc:-20x3:1.2", "diameter is -20 mm"),
            ("disc:800x3:1.2", "diameter is 800 mm"),
            ("disc:20x3:5", "polarisation is 5 T"),
            ("disc:20x3:0", "polarisation is 0 T"),
            ("disc:20x3:-1", "polarisation is -1 T"),
            ("disc:20x3:NaN", "“NaN” is neither tesla nor a known grade"),
            ("disc:NaNx3:1.2", "“NaN” is not a number"),
            ("disc:infx3:1.2", "“inf” is not a number"),
            ("disc:20x3:N99", "“N99” is neither"),
            ("disc:20:1.2", "a disc has 2 sizes, not 1"),
            ("block:40x12:1.2", "a block has 3 sizes, not 2"),
            ("ring:20x3:1.2", "“ring” is neither disc nor block"),
            ("disc:20x3", "has 2 of 3 parts"),
            ("", "has 1 of 3 parts"),
        ] {
            let message = refusal(spec);
            assert!(message.contains(says) && message.contains(';'), "{spec}: {message}");
        }
    }
}
