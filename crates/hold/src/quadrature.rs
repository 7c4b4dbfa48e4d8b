//! Gauss-Legendre rules, and the highest point of a curve.

use std::f64::consts::PI;
use std::sync::OnceLock;

/// Most points in one rule.
pub(crate) const MOST_POINTS: usize = 128;

static RULES: [OnceLock<Vec<[f64; 2]>>; MOST_POINTS] = [const { OnceLock::new() }; MOST_POINTS];

/// Points and weights on [−1, 1] of the n-point Gauss-Legendre rule, 1 ≤ n ≤ [`MOST_POINTS`].
pub(crate) fn gauss(n: usize) -> &'static [[f64; 2]] {
    RULES[n - 1].get_or_init(|| legendre_rule(n))
}

/// Newton's method on P_n from the guess of Abramowitz & Stegun 22.16.6.
fn legendre_rule(n: usize) -> Vec<[f64; 2]> {
    let count = n as f64;
    (0..n)
        .map(|i| {
            let mut x = -(PI * (i as f64 + 0.75) / (count + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..6 {
                let (mut p, mut below) = (1.0, 0.0);
                for k in 0..n {
                    let k = k as f64;
                    (p, below) = (((2.0 * k + 1.0) * x * p - k * below) / (k + 1.0), p);
                }
                slope = count * (x * p - below) / (x * x - 1.0);
                x -= p / slope;
            }
            [x, 2.0 / ((1.0 - x * x) * slope * slope)]
        })
        .collect()
}

/// The highest point of `f` on `[low, high]`, as (place, height): the best of [`SCAN`] even steps,
/// then golden section about it.
///
/// Sure for curves whose hump is wider than two steps. The place is good to about 1e-8 of the
/// range, where the height no longer changes in f64.
pub(crate) fn peak(low: f64, high: f64, f: impl Fn(f64) -> f64) -> (f64, f64) {
    const SCAN: usize = 40;
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let step = (high - low) / SCAN as f64;
    let best = (0..=SCAN)
        .map(|i| low + step * i as f64)
        .map(|x| (x, f(x)))
        .fold((low, f64::NEG_INFINITY), |best, new| if new.1 > best.1 { new } else { best });
    let (mut a, mut b) = ((best.0 - step).max(low), (best.0 + step).min(high));
    let (mut p, mut q) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut at_p, mut at_q) = (f(p), f(q));
    while b - a > 1e-9 * (high - low) {
        if at_p > at_q {
            (b, q, at_q) = (q, p, at_p);
            p = b - GOLDEN * (b - a);
            at_p = f(p);
        } else {
            (a, p, at_p) = (p, q, at_q);
            q = a + GOLDEN * (b - a);
            at_q = f(q);
        }
    }
    [best, (p, at_p), (q, at_q)].into_iter().fold(best, |x, y| if y.1 > x.1 { y } else { x })
}

/// Where a falling curve crosses zero between `low` and `high`; the nearer end where it doesn't.
pub(crate) fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    // Half of a millionth of a percent of the range is left.
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn n_points_are_exact_up_to_degree_2n_minus_1() {
        for n in [1, 2, 5, 24, MOST_POINTS] {
            for degree in 0..2 * n {
                let sum: f64 = gauss(n).iter().map(|[x, w]| w * x.powi(degree as i32)).sum();
                let exact = if degree % 2 == 0 { 2.0 / (degree as f64 + 1.0) } else { 0.0 };
                assert!((sum - exact).abs() < 1e-14, "{n} points, degree {degree}: {sum}");
            }
        }
    }

    #[test]
    fn the_top_of_a_parabola_is_found_inside_and_at_the_end() {
        let (x, y) = peak(0.0, 10.0, |x| 3.0 - (x - 7.123).powi(2));
        assert!((x - 7.123).abs() < 1e-7 && (y - 3.0).abs() < 1e-14);
        assert_eq!(peak(0.0, 10.0, |x| x).0, 10.0);
    }

    #[test]
    fn a_falling_curve_is_followed_to_its_zero() {
        assert!((bisect(0.0, 5.0, |x| 2.0 - x * x) - 2_f64.sqrt()).abs() < 1e-8);
        assert!(bisect(0.0, 5.0, |_| -1.0) < 1e-8);
    }
}
