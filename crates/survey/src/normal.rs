//! The standard normal distribution.

/// φ(x)/Φ(x) of the standard normal distribution; by its continued fraction (Laplace) far below
/// zero, where both vanish.
pub(crate) fn hazard(x: f64) -> f64 {
    if x < -5.0 {
        let y = -x;
        return y + 1.0 / (y + 2.0 / (y + 3.0 / (y + 4.0 / (y + 5.0 / y))));
    }
    let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    density / normal_below(x)
}

/// Probability Φ(x) that a standard normal deviate stays below `x`.
///
/// By the series ½ + φ(x)·Σ x^(2k+1)/(1·3·…·(2k+1)) (Abramowitz & Stegun 26.2.11), absolute error
/// below 1e-14 for |x| ≤ 6 and below 1e-9 outside. Not a number stays not a number.
#[must_use]
pub fn normal_below(x: f64) -> f64 {
    if x.abs() > 6.0 {
        return if x > 0.0 { 1.0 } else { 0.0 };
    }
    let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    let mut term = x;
    let mut sum = x;
    for k in 1..200 {
        term *= x * x / f64::from(2 * k + 1);
        sum += term;
        if term.abs() < 1e-17 * sum.abs() {
            break;
        }
    }
    0.5 + density * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_distribution_agrees_with_tables() {
        // Abramowitz & Stegun, Handbook of Mathematical Functions, table 26.1 (from memory).
        for (x, p) in
            [(0.0, 0.5), (1.0, 0.841_344_746), (1.96, 0.975_002_105), (-3.0, 0.001_349_898)]
        {
            assert!((normal_below(x) - p).abs() < 1e-9, "{x}");
        }
        assert!((hazard(-5.0 - 1e-9) - hazard(-5.0 + 1e-9)).abs() < 1e-3);
    }
}
