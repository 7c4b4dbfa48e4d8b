//! Least squares with what is known beforehand, and what one reading says against the others.
//!
//! Minimises (x−μ)ᵀΛ(x−μ) + Σ (yᵣ − fᵣ(x))²/σᵣ² by Levenberg–Marquardt steps on exact derivatives
//! (Levenberg 1944, Marquardt 1963). At the minimum the covariance is Σ = (Λ + AᵀR⁻¹A)⁻¹.
//!
//! With v the residuals, a = R⁻¹v and Q = R⁻¹ − R⁻¹AΣAᵀR⁻¹, Baarda's statistic of reading r is
//! wᵣ = aᵣ/√qᵣᵣ, and a slip of δ₀/√qᵣᵣ in it is found four times in five (W. Baarda, *A testing
//! procedure for use in geodetic networks*, Delft 1968).
//!
//! Symbols: x the state, μ and Λ its mean and inverse covariance beforehand (Λ may be zero), y the
//! readings, f the model, A its derivatives, R the readings' variances. Units are the caller's, so
//! the numbers here are plain. Valid where f is smooth near the minimum; a false minimum is not told
//! from the true one.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use thiserror::Error;

/// Noncentrality √17.075 of Baarda's test at a false alarm of 0.001 and power 0.80 (Baarda 1968).
pub const BAARDA_DELTA: f64 = 4.132_1;

/// What a model shows at one state.
#[derive(Clone, Debug)]
pub struct Shown {
    /// A value for each reading.
    pub values: DVector<f64>,
    /// A row of derivatives for each reading.
    pub slopes: DMatrix<f64>,
}

/// Readings to be explained, with what is known of the state beforehand.
#[derive(Clone, Debug)]
pub struct Task {
    /// What was read.
    pub observed: DVector<f64>,
    /// The variance of each reading.
    pub variances: DVector<f64>,
    /// Λ: inverse covariance of the state beforehand; zero where nothing is known.
    pub precision: DMatrix<f64>,
    /// Λμ.
    pub pull: DVector<f64>,
}

/// The most probable state and what belongs to it.
#[derive(Clone, Debug)]
pub struct Settled {
    /// The state.
    pub state: DVector<f64>,
    /// Its covariance.
    pub covariance: DMatrix<f64>,
    /// Derivatives of the readings there.
    pub slopes: DMatrix<f64>,
    /// Observed less expected.
    pub residuals: DVector<f64>,
    /// Minus twice the log of the posterior density there, up to a constant of the task.
    pub cost: f64,
    /// Natural logarithm of the determinant of Σ⁻¹.
    pub log_det: f64,
}

/// Why no most probable state was found.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum NotSettled {
    /// The model shows nothing at the start.
    #[error("the model has no values at the start; start elsewhere")]
    Start,
    /// The readings and what is known beforehand leave part of the state open.
    #[error("nothing decides part of the state; add readings, or say what is known beforehand")]
    Open,
    /// The steps did not settle.
    #[error("no minimum was reached in {steps} steps; start nearer to it")]
    Steps {
        /// How many were taken.
        steps: usize,
    },
}

const MOST_STEPS: usize = 100;
/// The search ends when a full step would lower the cost by less than this: a state within 1e-5
/// standard deviations of the best.
const ENOUGH: f64 = 1e-10;
/// A shortened step that lowers the cost by less than this ends the search too: the minimum lies on a
/// kink of the model, such as a tape jumping from one farthest place to another.
const CREEP: f64 = 1e-7;

impl Task {
    /// A task with nothing known beforehand of a state of `n` numbers.
    #[must_use]
    pub fn free(observed: DVector<f64>, variances: DVector<f64>, n: usize) -> Self {
        Self { observed, variances, precision: DMatrix::zeros(n, n), pull: DVector::zeros(n) }
    }

    /// The task as it looks from a state: the answer were the model as straight as its derivatives
    /// there say. `None` where the model has no values or part of the state is open.
    #[must_use]
    pub fn straightened(
        &self,
        state: &DVector<f64>,
        model: impl Fn(&DVector<f64>) -> Option<Shown>,
    ) -> Option<Settled> {
        let shown = model(state)?;
        let values = &shown.values - &shown.slopes * state;
        let slopes = shown.slopes;
        self.settle(state, |x| {
            Some(Shown { values: &values + &slopes * x, slopes: slopes.clone() })
        })
        .ok()
    }

    /// Finds the most probable state from `start`. The model gives `None` where it has no values.
    ///
    /// # Errors
    /// When the model has no values at the start, when part of the state is open, or when the steps
    /// do not settle.
    pub fn settle(
        &self,
        start: &DVector<f64>,
        model: impl Fn(&DVector<f64>) -> Option<Shown>,
    ) -> Result<Settled, NotSettled> {
        self.settle_within(ENOUGH, start, model)
    }

    /// The same, ending as soon as a full step would lower the cost by less than `enough`: at a state
    /// within √`enough` standard deviations of the best.
    ///
    /// # Errors
    /// As [`settle`](Self::settle).
    pub fn settle_within(
        &self,
        enough: f64,
        start: &DVector<f64>,
        model: impl Fn(&DVector<f64>) -> Option<Shown>,
    ) -> Result<Settled, NotSettled> {
        let weights = self.variances.map(|v| 1.0 / v);
        // Up to a constant: xᵀΛx − 2xᵀΛμ + residuals.
        let cost = |state: &DVector<f64>, residuals: &DVector<f64>| {
            state.dot(&(&self.precision * state)) - 2.0 * state.dot(&self.pull)
                + residuals.component_mul(residuals).dot(&weights)
        };
        let mut state = start.clone();
        let mut shown = model(&state).ok_or(NotSettled::Start)?;
        let mut residuals = &self.observed - &shown.values;
        let mut now = cost(&state, &residuals);
        let (mut damping, mut creeping) = (0.0, false);
        for _ in 0..MOST_STEPS {
            let mut curvature = self.precision.clone();
            let mut downhill = &self.pull - &self.precision * &state;
            for (r, w) in weights.iter().enumerate() {
                add_row(&mut curvature, &mut downhill, &shown.slopes, r, (*w, residuals[r]));
            }
            let full = curvature.clone().cholesky().ok_or(NotSettled::Open)?;
            let straight = full.solve(&downhill);
            if creeping || downhill.dot(&straight) < enough {
                return Ok(settled(state, shown, residuals, now, &full));
            }
            loop {
                let step = if damping == 0.0 {
                    straight.clone()
                } else {
                    let mut damped = curvature.clone();
                    for i in 0..damped.nrows() {
                        damped[(i, i)] *= 1.0 + damping;
                    }
                    damped.cholesky().ok_or(NotSettled::Open)?.solve(&downhill)
                };
                let next = &state + &step;
                let taken = model(&next).and_then(|there| {
                    let left = &self.observed - &there.values;
                    let cost = cost(&next, &left);
                    // Rounding of the cost must not hold up the last tiny steps.
                    let slack = 1e-12 * (1.0 + now.abs());
                    (cost <= now + slack).then_some((there, left, cost))
                });
                if let Some((there, left, cost)) = taken {
                    creeping = damping > 0.0 && now - cost < CREEP;
                    (state, shown, residuals, now) = (next, there, left, cost);
                    damping = if damping < 1e-5 { 0.0 } else { damping / 10.0 };
                    break;
                }
                damping = if damping == 0.0 { 1e-4 } else { damping * 8.0 };
                if damping > 1e12 {
                    return Ok(settled(state, shown, residuals, now, &full));
                }
            }
        }
        Err(NotSettled::Steps { steps: MOST_STEPS })
    }
}

/// Adds what one reading says: w·a·aᵀ and w·v·a. Most readings see a part of the state only.
fn add_row(
    curvature: &mut DMatrix<f64>,
    downhill: &mut DVector<f64>,
    slopes: &DMatrix<f64>,
    r: usize,
    (weight, residual): (f64, f64),
) {
    let seen: Vec<(usize, f64)> =
        slopes.row(r).iter().copied().enumerate().filter(|(_, a)| *a != 0.0).collect();
    for &(j, b) in &seen {
        downhill[j] += weight * residual * b;
        let mut column = curvature.column_mut(j);
        for &(i, a) in &seen {
            column[i] += weight * a * b;
        }
    }
}

fn settled(
    state: DVector<f64>,
    shown: Shown,
    residuals: DVector<f64>,
    cost: f64,
    factor: &Cholesky<f64, Dyn>,
) -> Settled {
    let log_det = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
    Settled { covariance: factor.inverse(), slopes: shown.slopes, residuals, cost, log_det, state }
}

/// What each reading says against the others.
#[derive(Clone, Debug)]
pub struct Influence {
    /// a = R⁻¹v.
    pub a: DVector<f64>,
    /// Q = R⁻¹ − R⁻¹AΣAᵀR⁻¹.
    pub q: DMatrix<f64>,
    variances: DVector<f64>,
}

/// Below this part of a reading checked by the others it counts as checked by none; chosen by us:
/// a slip would have to exceed a thousand standard deviations four times over to be found.
const UNCONTROLLED: f64 = 1e-6;

impl Influence {
    /// Of readings with these residuals, derivatives and variances, at a state of that covariance.
    #[must_use]
    pub fn new(
        residuals: &DVector<f64>,
        slopes: &DMatrix<f64>,
        covariance: &DMatrix<f64>,
        variances: DVector<f64>,
    ) -> Self {
        let a = residuals.component_div(&variances);
        let mut q = -(slopes * covariance * slopes.transpose());
        for i in 0..a.len() {
            for j in 0..a.len() {
                q[(i, j)] /= variances[i] * variances[j];
            }
            q[(i, i)] += 1.0 / variances[i];
        }
        Self { a, q, variances }
    }

    /// Baarda's w statistic of a reading.
    #[must_use]
    pub fn w(&self, i: usize) -> f64 {
        self.a[i] / self.q[(i, i)].max(1e-300).sqrt()
    }

    /// The part of a slip in a reading that shows in its own residual: 0 when nothing else checks
    /// it, near 1 when the others know it already (Baarda's local reliability, or redundancy, number).
    #[must_use]
    pub fn reliability(&self, i: usize) -> f64 {
        self.q[(i, i)] * self.variances[i]
    }

    /// Smallest slip in a reading that the w test finds four times in five; `None` where nothing
    /// checks the reading.
    #[must_use]
    pub fn detectable(&self, i: usize) -> Option<f64> {
        (self.reliability(i) > UNCONTROLLED).then(|| BAARDA_DELTA / self.q[(i, i)].sqrt())
    }

    /// Change of minus twice the log likelihood when the readings are corrected by d·u with further
    /// spread s along u, `touches` being the parts of u:
    /// 2d·aᵤ + d²·qᵤ − s²(aᵤ + d·qᵤ)²/(1 + s²qᵤ) + ln(1 + s²qᵤ), with aᵤ = uᵀa, qᵤ = uᵀQu.
    #[must_use]
    pub fn change(&self, touches: &[(usize, f64)], d: f64, s: f64) -> f64 {
        let au: f64 = touches.iter().map(|&(i, u)| u * self.a[i]).sum();
        let mut qu = 0.0;
        for &(i, u) in touches {
            for &(j, v) in touches {
                qu += u * v * self.q[(i, j)];
            }
        }
        // Rounding aside, Q has no negative directions.
        let (s2, qu) = (s * s, qu.max(0.0));
        2.0 * d * au + d * d * qu - s2 * (au + d * qu).powi(2) / (1.0 + s2 * qu) + (s2 * qu).ln_1p()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A mean of readings, by hand: three of variance 1 and nothing beforehand.
    #[test]
    fn a_mean_leaves_two_thirds_of_each_reading_checked() {
        let variances = DVector::from_element(3, 1.0);
        let task = Task::free(DVector::from_vec(vec![1.0, 2.0, 6.0]), variances.clone(), 1);
        let model = |x: &DVector<f64>| {
            let values = DVector::from_element(3, x[0]);
            Some(Shown { values, slopes: DMatrix::from_element(3, 1, 1.0) })
        };
        let found = task.settle(&DVector::zeros(1), model).unwrap();
        assert!((found.state[0] - 3.0).abs() < 1e-12);
        assert!((found.covariance[(0, 0)] - 1.0 / 3.0).abs() < 1e-12);
        let influence =
            Influence::new(&found.residuals, &found.slopes, &found.covariance, variances);
        assert!((influence.reliability(2) - 2.0 / 3.0).abs() < 1e-12);
        assert!((influence.w(2) - 3.0 / (2.0_f64 / 3.0).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_reading_that_alone_decides_is_checked_by_none() {
        let variances = DVector::from_element(1, 4.0);
        let (one, shown) = (DMatrix::from_element(1, 1, 1.0), DVector::from_element(1, 5.0));
        let task = Task::free(shown, variances.clone(), 1);
        let model = |x: &DVector<f64>| Some(Shown { values: x.clone(), slopes: one.clone() });
        let found = task.settle(&DVector::zeros(1), model).unwrap();
        let influence =
            Influence::new(&found.residuals, &found.slopes, &found.covariance, variances);
        assert_eq!(influence.detectable(0), None);
    }

    #[test]
    fn what_nothing_decides_is_said_so() {
        let task = Task::free(DVector::zeros(1), DVector::from_element(1, 1.0), 2);
        let model = |x: &DVector<f64>| {
            let slopes = DMatrix::from_row_slice(1, 2, &[1.0, 0.0]);
            Some(Shown { values: DVector::from_element(1, x[0]), slopes })
        };
        let found = task.settle(&DVector::from_element(2, 1.0), model);
        assert_eq!(found.err(), Some(NotSettled::Open));
    }
}
