//! Numbers that carry their derivatives.
//!
//! A function written over [`Scalar`] gives its plain value on `f64` and, on [`Carrying`], its exact
//! first derivatives beside it, by the rules of differentiation: (ab)′ = a′b + ab′,
//! (a/b)′ = (a′ − (a/b)·b′)/b, (√a)′ = a′/(2√a). Forward accumulation (Wengert 1964). Valid where the
//! function is smooth; exact up to rounding.
//!
//! Ours because judging a pane spends much of its time here: with a library's numbers, made for any
//! size and order of derivative, a judgement took 1.6 times as long.

use std::ops::{Add, Div, Mul, Neg, Sub, SubAssign};

/// A number that may carry derivatives.
pub trait Scalar:
    Copy
    + From<f64>
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
    + Div<f64, Output = Self>
    + SubAssign
{
    /// The plain value.
    #[must_use]
    fn re(&self) -> f64;
    /// Its square root.
    #[must_use]
    fn sqrt(self) -> Self;
}

impl Scalar for f64 {
    fn re(&self) -> f64 {
        *self
    }

    fn sqrt(self) -> Self {
        Self::sqrt(self)
    }
}

/// A value with its derivatives after `N` variables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Carrying<const N: usize> {
    /// The value.
    pub re: f64,
    /// Its derivative after each variable.
    pub slopes: [f64; N],
}

impl<const N: usize> Carrying<N> {
    /// Variable `i` at `value`.
    #[must_use]
    pub fn variable(value: f64, i: usize) -> Self {
        let mut slopes = [0.0; N];
        slopes[i] = 1.0;
        Self { re: value, slopes }
    }

    /// The derivatives here weighted by `part`, at another value.
    #[inline]
    fn scaled(mut self, re: f64, part: f64) -> Self {
        self.slopes.iter_mut().for_each(|slope| *slope *= part);
        Self { re, ..self }
    }

    /// a·`part` + b·`other_part` in the derivatives, at another value.
    #[inline]
    fn mixed(mut self, re: f64, part: f64, other: &Self, other_part: f64) -> Self {
        for (slope, other) in self.slopes.iter_mut().zip(&other.slopes) {
            *slope = *slope * part + other * other_part;
        }
        Self { re, ..self }
    }
}

impl<const N: usize> From<f64> for Carrying<N> {
    #[inline]
    fn from(re: f64) -> Self {
        Self { re, slopes: [0.0; N] }
    }
}

impl<const N: usize> Scalar for Carrying<N> {
    #[inline]
    fn re(&self) -> f64 {
        self.re
    }

    #[inline]
    fn sqrt(self) -> Self {
        let root = self.re.sqrt();
        self.scaled(root, 0.5 / root)
    }
}

impl<const N: usize> Neg for Carrying<N> {
    type Output = Self;

    #[inline]
    fn neg(self) -> Self {
        self.scaled(-self.re, -1.0)
    }
}

impl<const N: usize> Add for Carrying<N> {
    type Output = Self;

    #[inline]
    fn add(mut self, other: Self) -> Self {
        self.re += other.re;
        self.slopes.iter_mut().zip(&other.slopes).for_each(|(a, b)| *a += b);
        self
    }
}

impl<const N: usize> Sub for Carrying<N> {
    type Output = Self;

    #[inline]
    fn sub(mut self, other: Self) -> Self {
        self -= other;
        self
    }
}

impl<const N: usize> SubAssign for Carrying<N> {
    #[inline]
    fn sub_assign(&mut self, other: Self) {
        self.re -= other.re;
        self.slopes.iter_mut().zip(&other.slopes).for_each(|(a, b)| *a -= b);
    }
}

impl<const N: usize> Mul for Carrying<N> {
    type Output = Self;

    #[inline]
    fn mul(self, other: Self) -> Self {
        self.mixed(self.re * other.re, other.re, &other, self.re)
    }
}

impl<const N: usize> Div for Carrying<N> {
    type Output = Self;

    #[inline]
    fn div(self, other: Self) -> Self {
        let (ratio, part) = (self.re / other.re, 1.0 / other.re);
        self.mixed(ratio, part, &other, -ratio * part)
    }
}

impl<const N: usize> Add<f64> for Carrying<N> {
    type Output = Self;

    #[inline]
    fn add(mut self, other: f64) -> Self {
        self.re += other;
        self
    }
}

impl<const N: usize> Sub<f64> for Carrying<N> {
    type Output = Self;

    #[inline]
    fn sub(mut self, other: f64) -> Self {
        self.re -= other;
        self
    }
}

impl<const N: usize> Mul<f64> for Carrying<N> {
    type Output = Self;

    #[inline]
    fn mul(self, other: f64) -> Self {
        self.scaled(self.re * other, other)
    }
}

impl<const N: usize> Div<f64> for Carrying<N> {
    type Output = Self;

    #[inline]
    fn div(self, other: f64) -> Self {
        self.scaled(self.re / other, 1.0 / other)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// f = √(x² + 3y)/(x − y) − 2x/4 + 1, differentiated by hand at (3, 2).
    #[test]
    fn rules_of_differentiation_hold() {
        let (x, y) = (Carrying::<2>::variable(3.0, 0), Carrying::<2>::variable(2.0, 1));
        let f = (x * x + y * 3.0).sqrt() / (x - y) - x * 2.0 / 4.0 + 1.0;
        let root = 15.0_f64.sqrt();
        assert!((f.re - (root - 0.5)).abs() < 1e-14);
        assert!((f.slopes[0] - (3.0 / root - root - 0.5)).abs() < 1e-14);
        assert!((f.slopes[1] - (1.5 / root + root)).abs() < 1e-14);
        assert_eq!((-f).slopes[1], -f.slopes[1]);
    }
}
