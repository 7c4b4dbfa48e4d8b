//! Lengths, areas and angles that cannot be mixed up.
//!
//! A quantity holds one finite number in the project's base unit (millimetre, square millimetre,
//! radian). Constructors refuse NaN and infinity, so no later step has to look for them.

use std::ops::Mul;

/// Millimetres in one inch, exact since the international yard and pound agreement of 1959.
pub const MM_PER_INCH: f64 = 25.4;

/// Declares a quantity: one finite number in one unit, with the operators that mean something.
///
/// Takes the doc comment, the name, the constructor, the getter, the unit in words and its symbol.
///
/// ```
/// geometry::quantity!(
///     /// A mass, in kilograms.
///     Mass, from_kg, kg, "kilograms", "kg"
/// );
/// let cloth = Mass::from_kg(0.45) * 2.0;
/// assert_eq!(format!("{cloth:.1}"), "0.9 kg");
/// ```
#[macro_export]
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $from:ident, $get:ident, $unit:literal, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);

            #[doc = concat!("From a finite number of ", $unit, ".")]
            ///
            /// # Panics
            /// When the number is NaN or infinite: that is a fault of the caller, since readings
            /// and files are checked where they come in.
            #[must_use]
            pub const fn $from(value: f64) -> Self {
                assert!(value.is_finite(), "a quantity must be finite");
                Self(value)
            }

            #[doc = concat!("The number of ", $unit, ".")]
            #[must_use]
            pub const fn $get(self) -> f64 {
                self.0
            }

            /// Without its sign.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// The smaller of two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The larger of two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }
        }

        impl ::std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self::$from(self.0 + other.0)
            }
        }
        impl ::std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }
        impl ::std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self::$from(self.0 - other.0)
            }
        }
        impl ::std::ops::SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }
        impl ::std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl ::std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self::$from(self.0 * factor)
            }
        }
        impl ::std::ops::Mul<$name> for f64 {
            type Output = $name;
            fn mul(self, quantity: $name) -> $name {
                quantity * self
            }
        }
        impl ::std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self::$from(self.0 / divisor)
            }
        }
        impl ::std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
        impl ::std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::ZERO, |total, item| total + item)
            }
        }
        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                match f.precision() {
                    Some(p) => write!(f, concat!("{:.p$} ", $symbol), self.0, p = p),
                    None => write!(f, concat!("{} ", $symbol), self.0),
                }
            }
        }
    };
}

quantity!(
    /// A length, in millimetres.
    ///
    /// ```
    /// use geometry::Length;
    /// let hem = Length::from_mm(20.0);
    /// assert_eq!((hem * 2.0).mm(), 40.0);
    /// assert_eq!(Length::from_inches(1.0), Length::from_mm(25.4));
    /// ```
    Length, from_mm, mm, "millimetres", "mm"
);
quantity!(
    /// An area, in square millimetres.
    Area, from_mm2, mm2, "square millimetres", "mm²"
);
quantity!(
    /// An angle, in radians, anticlockwise positive.
    Angle, from_radians, radians, "radians", "rad"
);

impl Length {
    /// From a finite number of inches.
    #[must_use]
    pub const fn from_inches(inches: f64) -> Self {
        Self::from_mm(inches * MM_PER_INCH)
    }

    /// The number of inches.
    #[must_use]
    pub const fn inches(self) -> f64 {
        self.0 / MM_PER_INCH
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area::from_mm2(self.0 * other.0)
    }
}

impl Area {
    /// The number of square metres.
    #[must_use]
    pub const fn m2(self) -> f64 {
        self.0 * 1e-6
    }
}

impl Angle {
    /// From a finite number of degrees.
    #[must_use]
    pub const fn from_degrees(degrees: f64) -> Self {
        Self::from_radians(degrees.to_radians())
    }

    /// The number of degrees.
    #[must_use]
    pub const fn degrees(self) -> f64 {
        self.0.to_degrees()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inch_is_25_4_mm() {
        assert_eq!(Length::from_inches(57.375).mm(), 57.375 * 25.4);
    }

    #[test]
    fn a_quantity_is_written_with_its_unit() {
        assert_eq!(Length::from_mm(12.5).to_string(), "12.5 mm");
        assert_eq!(format!("{:.1}", Area::from_mm2(2.0)), "2.0 mm²");
    }

    #[test]
    #[should_panic(expected = "finite")]
    fn a_length_is_never_nan() {
        let _ = Length::from_mm(f64::NAN);
    }
}
