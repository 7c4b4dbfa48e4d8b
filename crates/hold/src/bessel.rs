//! Bessel functions J0 and J1, fast enough for the inner loop of a pair force.
//!
//! `J(x + δ) = Σ c_n δⁿ`, Taylor's series about the nearest half integer x, |δ| ≤ 1/4.
//!
//! The coefficients follow from Bessel's equation `x y″ + y′ + x y = 0`, started with J0(x) and
//! −J1(x); those of J1 are the derivative's. Beyond [`LAST`] the `libm` crate answers instead.
//!
//! Valid for x ≥ 0. Source: Abramowitz & Stegun 9.1.1, 9.1.28. Accuracy: 1e-15 absolute, and
//! relative where x is small (tested against `libm` and published values).

use std::sync::LazyLock;

/// Terms of the series: 0.25¹³/13! is 2e-18.
const TERMS: usize = 13;
/// Largest argument that has a series: enough for discs of 20 mm down to gaps of 3 mm.
const LAST: usize = 160;

type Series = [f64; TERMS];

static TABLE: LazyLock<Vec<[Series; 2]>> = LazyLock::new(|| (0..=2 * LAST).map(series).collect());

/// Coefficients of J0 and J1 about `half_steps / 2`.
fn series(half_steps: usize) -> [Series; 2] {
    let x = 0.5 * half_steps as f64;
    let mut c = [0.0; TERMS + 1];
    (c[0], c[1]) = (libm::j0(x), -libm::j1(x));
    for n in 0..TERMS - 1 {
        let (k, below) = (n as f64, if n == 0 { 0.0 } else { c[n - 1] });
        c[n + 2] = if half_steps == 0 {
            // The equation divided by x: y″ + y′/x + y = 0 gives (n+2)² c_{n+2} = −c_n.
            -c[n] / (k + 2.0).powi(2)
        } else {
            -((k + 1.0).powi(2) * c[n + 1] + x * c[n] + below) / (x * (k + 2.0) * (k + 1.0))
        };
    }
    [std::array::from_fn(|n| c[n]), std::array::from_fn(|n| -(n as f64 + 1.0) * c[n + 1])]
}

fn sum(c: &Series, d: f64) -> f64 {
    // Estrin's order: shorter chains than Horner's, at the same accuracy for |d| ≤ 1/4.
    let (d2, d4) = (d * d, d * d * d * d);
    let quad = |n: usize| (c[n] + c[n + 1] * d) + (c[n + 2] + c[n + 3] * d) * d2;
    quad(0) + d4 * (quad(4) + d4 * (quad(8) + d4 * c[12]))
}

/// The table of series, looked up once for many evaluations.
#[derive(Clone, Copy)]
pub(crate) struct Bessel(&'static [[Series; 2]]);

impl Bessel {
    pub(crate) fn new() -> Self {
        Self(&TABLE)
    }

    /// J1(x), x ≥ 0.
    #[inline]
    pub(crate) fn j1(self, x: f64) -> f64 {
        let step = (2.0 * x + 0.5) as usize;
        match self.0.get(step) {
            Some([_, c]) => sum(c, x - 0.5 * step as f64),
            None => libm::j1(x),
        }
    }

    /// J0(x) and J1(x), x ≥ 0.
    #[inline]
    pub(crate) fn both(self, x: f64) -> (f64, f64) {
        let step = (2.0 * x + 0.5) as usize;
        match self.0.get(step) {
            Some([c0, c1]) => {
                let d = x - 0.5 * step as f64;
                (sum(c0, d), sum(c1, d))
            }
            None => (libm::j0(x), libm::j1(x)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun, table 9.1, to ten places (from memory).
    #[test]
    fn published_values_are_met() {
        for (x, j0, j1) in [
            (0.0, 1.0, 0.0),
            (1.0, 0.765_197_686_6, 0.440_050_585_7),
            (2.0, 0.223_890_779_1, 0.576_724_807_8),
            (5.0, -0.177_596_771_3, -0.327_579_137_6),
            (10.0, -0.245_935_764_5, 0.043_472_746_2),
        ] {
            let (a, b) = Bessel::new().both(x);
            assert!((a - j0).abs() < 1e-10 && (b - j1).abs() < 1e-10, "{x}: {a} {b}");
        }
    }

    #[test]
    fn series_agree_with_libm_everywhere() {
        let bessel = Bessel::new();
        for i in 0..=170_000 {
            let x = f64::from(i) * 1e-3;
            let (j0, j1) = bessel.both(x);
            assert!((j0 - libm::j0(x)).abs() < 1e-15, "J0({x})");
            assert!((j1 - libm::j1(x)).abs() < 1e-15, "J1({x})");
            assert_eq!(j1, bessel.j1(x));
        }
    }

    #[test]
    fn j1_keeps_its_digits_near_zero() {
        let x = 1e-9;
        assert!((Bessel::new().j1(x) / (0.5 * x) - 1.0).abs() < 1e-15);
    }
}
