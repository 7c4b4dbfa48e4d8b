//! The most probable state of a pane given its readings and prior, with its covariance.
//!
//! Minimises (x−μ)ᵀΛ(x−μ) + Σ (yᵣ − fᵣ(x))²/σᵣ² by Levenberg–Marquardt steps on exact derivatives
//! (Levenberg 1944, Marquardt 1963); Λ is the inverse of the prior covariance. At the minimum the
//! covariance is Σ = (Λ + AᵀR⁻¹A)⁻¹, A the derivatives and R the readings' variances.
//!
//! A band of zero seen from inside says only that at least the band's width is blocked. It enters
//! as a Gaussian with the mean and variance of the normal distribution cut off there, found by
//! expectation propagation (Minka 2001): exact for one such reading, close for several.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use crate::model::{Seen, Sight, see};
use crate::name::{Edge, Span, Station};
use crate::normal::hazard;
use crate::prior::{N_STATIONS, Prior};

/// One number to be explained.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Observation {
    /// What it looks at.
    pub(crate) sight: Sight,
    /// What was read, mm.
    pub(crate) value: f64,
    /// Variance of an honest reading, mm².
    pub(crate) variance: f64,
}

/// Everything that is to be explained at once.
#[derive(Clone, Debug)]
pub(crate) struct Problem<'a> {
    pub(crate) prior: &'a Prior,
    /// Inverse of the prior covariance.
    pub(crate) precision: DMatrix<f64>,
    pub(crate) small: bool,
    pub(crate) observations: Vec<Observation>,
    /// Stations where no band is visible from inside.
    pub(crate) hidden: Vec<Station>,
}

/// The most probable state and what belongs to it.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    /// The state.
    pub(crate) state: DVector<f64>,
    /// Its covariance.
    pub(crate) covariance: DMatrix<f64>,
    /// Derivatives of the observations there.
    pub(crate) slopes: DMatrix<f64>,
    /// Observed less expected.
    pub(crate) residuals: DVector<f64>,
    /// Minus twice the log of the posterior density there, up to a constant of the problem.
    pub(crate) cost: f64,
    /// Minus twice the log of the evidence (Laplace), up to a constant of the problem.
    pub(crate) surprise: f64,
}

/// How a search for the most probable state ended without one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NoFit {
    /// The start is no outline on which these readings could be taken.
    Start,
    /// The steps did not settle.
    Unsettled,
}

const MOST_STEPS: usize = 100;
/// How far the top is pushed and the base tilted when a search starts again; chosen by us to cover
/// the leaning panes of cabs.
const RESTARTS: [[f64; 2]; 6] =
    [[0.0, 0.08], [0.0, -0.08], [0.15, 0.0], [-0.15, 0.0], [0.1, 0.2], [-0.1, -0.2]];
/// The search ends when a full step would lower the cost by less than this: a state within 1e-5
/// standard deviations of the best.
const SETTLED: f64 = 1e-10;

impl<'a> Problem<'a> {
    pub(crate) fn new(
        prior: &'a Prior,
        small: bool,
        observations: Vec<Observation>,
        hidden: Vec<Station>,
    ) -> Option<Self> {
        let precision = prior.covariance.clone().cholesky()?.inverse();
        Some(Self { prior, precision, small, observations, hidden })
    }

    /// The most probable state, sought from where the readings point.
    ///
    /// Readings see a pane's tilt only weakly, so a pane tilted the other way can explain them nearly
    /// as well: where the prior allows a tilt, other shapes are tried too, and everywhere when what
    /// was found explains the readings badly, since far from the answer there can be false ones.
    pub(crate) fn solve(&self) -> Result<Fit, NoFit> {
        let start = self.start();
        let mut best = self.fit(&start);
        let attempt = |best: &mut Result<Fit, NoFit>, other: &DVector<f64>| {
            if let Ok(fit) = self.fit(other)
                && best.as_ref().map_or(true, |b| fit.cost < b.cost)
            {
                *best = Ok(fit);
            }
        };
        let thorough = self.may_tilt();
        let others = RESTARTS.iter().map(|skew| self.skewed(&start, *skew));
        for other in others.chain(std::iter::once(self.prior.mean.clone())) {
            if !thorough && best.as_ref().is_ok_and(|fit| !fit.is_poor(&self.observations)) {
                break;
            }
            attempt(&mut best, &other);
        }
        best
    }

    /// Whether the two ends of the base may lie at quite different heights.
    fn may_tilt(&self) -> bool {
        let p = &self.prior.covariance;
        p[(1, 1)] + p[(3, 3)] - 2.0 * p[(1, 3)] > 20.0 * 20.0
    }

    /// A state to start from: the prior's mean, widened and heightened as the readings say (by the
    /// middle one of their ratios, so that one slip does no harm), with the radii and bows read.
    fn start(&self) -> DVector<f64> {
        let mean = &self.prior.mean;
        let n = self.prior.n_corners;
        let Some(seen) = self.see(mean) else { return mean.clone() };
        let middle_ratio = |wanted: &dyn Fn(Span) -> bool| {
            let mut ratios: Vec<f64> = (0..self.observations.len())
                .filter(
                    |&i| matches!(self.observations[i].sight, Sight::Outline(s, _) if wanted(s)),
                )
                .map(|i| self.observations[i].value / seen.values[i])
                .filter(|r| r.is_finite() && *r > 0.05 && *r < 20.0)
                .collect();
            ratios.sort_by(f64::total_cmp);
            ratios.get(ratios.len() / 2).copied().unwrap_or(1.0)
        };
        let wide = middle_ratio(&|s| {
            matches!(s, Span::Width(_) | Span::Edge(Edge::Base) | Span::Edge(Edge::Top))
        });
        let high = middle_ratio(&|s| {
            matches!(s, Span::Height(_) | Span::Edge(Edge::Left) | Span::Edge(Edge::Right))
        });
        let mut start = mean.clone();
        for i in 0..n {
            start[2 * i] *= wide;
            start[2 * i + 1] *= high;
        }
        start.rows_mut(2 * n, 2 * n).scale_mut(wide.min(high).min(1.0));
        if n == 4 {
            for observation in &self.observations {
                match observation.sight {
                    Sight::Outline(Span::Radius(corner), _) => {
                        start[3 * n + corner as usize] = observation.value;
                    }
                    // The string starts inside the rounded corners, about 0.3 r of each.
                    Sight::Outline(Span::Bow(edge), _) => {
                        let i = edge as usize;
                        let radii = start[3 * n + i] + start[3 * n + (i + 1) % n];
                        start[2 * n + i] = observation.value - 0.15 * radii;
                    }
                    _ => {}
                }
            }
        }
        if self.see(&start).is_some() { start } else { mean.clone() }
    }

    /// The start with its top pushed sideways and its base tilted, by parts of its width and height.
    fn skewed(&self, start: &DVector<f64>, [push, tilt]: [f64; 2]) -> DVector<f64> {
        let n = self.prior.n_corners;
        let extent = |k: usize| {
            let values = (0..n).map(|i| start[2 * i + k]);
            let (low, high) = values.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            (low, high - low)
        };
        let ((left, width), (base, height)) = (extent(0), extent(1));
        let mut skewed = start.clone();
        for i in 0..n {
            let across = (start[2 * i] - left) / width - 0.5;
            let up = (start[2 * i + 1] - base) / height;
            skewed[2 * i] += push * width * up;
            skewed[2 * i + 1] += tilt * height * across * (1.0 - up);
        }
        skewed
    }

    fn see(&self, state: &DVector<f64>) -> Option<Seen> {
        let sights: Vec<Sight> = self.observations.iter().map(|o| o.sight).collect();
        see(self.prior.n_corners, state.as_slice(), self.small, &sights)
    }

    /// Finds the most probable state from `start`.
    pub(crate) fn fit(&self, start: &DVector<f64>) -> Result<Fit, NoFit> {
        let mut sites: Vec<Site> = vec![Site::default(); self.hidden.len()];
        let mut fit = self.fit_with(start, &sites)?;
        for _ in 0..if self.hidden.is_empty() { 0 } else { 4 } {
            for (site, &station) in sites.iter_mut().zip(&self.hidden) {
                site.update(&fit, &self.excess(station));
            }
            let state = fit.state.clone();
            fit = self.fit_with(&state, &sites)?;
        }
        Ok(fit)
    }

    /// Blocked depth less band width at a station, as a row over the state.
    fn excess(&self, station: Station) -> DVector<f64> {
        let n = 4 * self.prior.n_corners;
        let mut row = DVector::zeros(self.prior.mean.len());
        row[n + station as usize] = -1.0;
        row[n + N_STATIONS + station as usize] = 1.0;
        row
    }

    fn fit_with(&self, start: &DVector<f64>, sites: &[Site]) -> Result<Fit, NoFit> {
        let mut prior = self.precision.clone();
        let mut pull = &self.precision * &self.prior.mean;
        for (site, &station) in sites.iter().zip(&self.hidden) {
            let row = self.excess(station);
            prior.ger(site.precision, &row, &row, 1.0);
            pull.axpy(site.pull, &row, 1.0);
        }
        let weights = DVector::from_iterator(
            self.observations.len(),
            self.observations.iter().map(|o| 1.0 / o.variance),
        );
        let observed =
            DVector::from_iterator(weights.len(), self.observations.iter().map(|o| o.value));
        // Up to a constant: xᵀΛx − 2xᵀΛμ + residuals.
        let cost = |state: &DVector<f64>, residuals: &DVector<f64>| {
            state.dot(&(&prior * state)) - 2.0 * state.dot(&pull)
                + residuals.component_mul(residuals).dot(&weights)
        };
        let mut state = start.clone();
        let mut seen = self.see(&state).ok_or(NoFit::Start)?;
        let mut residuals = &observed - &seen.values;
        let mut now = cost(&state, &residuals);
        let mut damping = 0.0;
        for _ in 0..MOST_STEPS {
            let mut weighted = seen.slopes.clone();
            for (mut row, w) in weighted.row_iter_mut().zip(weights.iter()) {
                row *= *w;
            }
            let curvature = &prior + seen.slopes.tr_mul(&weighted);
            let downhill = &pull - &prior * &state + weighted.tr_mul(&residuals);
            let full = curvature.clone().cholesky().ok_or(NoFit::Unsettled)?;
            if downhill.dot(&full.solve(&downhill)) < SETTLED {
                return Ok(self.settled(state, &seen, residuals, now, &full));
            }
            loop {
                let mut damped = curvature.clone();
                for i in 0..damped.nrows() {
                    damped[(i, i)] *= 1.0 + damping;
                }
                let step = damped.cholesky().ok_or(NoFit::Unsettled)?.solve(&downhill);
                let next = &state + &step;
                let taken = self.see(&next).and_then(|there| {
                    let left = &observed - &there.values;
                    let cost = cost(&next, &left);
                    // Rounding of the cost must not hold up the last tiny steps.
                    let slack = 1e-12 * (1.0 + now.abs());
                    (cost <= now + slack).then_some((next, there, left, cost))
                });
                if let Some((next, there, left, cost)) = taken {
                    (state, seen, residuals, now) = (next, there, left, cost);
                    damping = if damping < 1e-5 { 0.0 } else { damping / 10.0 };
                    break;
                }
                damping = if damping == 0.0 { 1e-4 } else { damping * 8.0 };
                if damping > 1e12 {
                    return Err(NoFit::Unsettled);
                }
            }
        }
        Err(NoFit::Unsettled)
    }

    fn settled(
        &self,
        state: DVector<f64>,
        seen: &Seen,
        residuals: DVector<f64>,
        cost: f64,
        factor: &Cholesky<f64, Dyn>,
    ) -> Fit {
        let log_det = 2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let noise: f64 = self.observations.iter().map(|o| o.variance.ln()).sum();
        let at_mean = self.prior.mean.dot(&(&self.precision * &self.prior.mean));
        Fit {
            covariance: factor.inverse(),
            slopes: seen.slopes.clone(),
            residuals,
            cost,
            surprise: cost + at_mean + noise + log_det,
            state,
        }
    }
}

impl Fit {
    /// Whether the readings are much farther off than honest ones would be: then the fit may be a
    /// false one, or some reading slipped.
    fn is_poor(&self, observations: &[Observation]) -> bool {
        let squares: f64 =
            self.residuals.iter().zip(observations).map(|(v, o)| v * v / o.variance).sum();
        squares > 10.0 + 2.0 * observations.len() as f64
    }

    /// a = R⁻¹v and Q = R⁻¹ − R⁻¹AΣAᵀR⁻¹, the influence of each observation and how much of it the
    /// others control: the quantities of Baarda's w test (Delft 1968) and of slip screening.
    pub(crate) fn influence(&self, observations: &[Observation]) -> (DVector<f64>, DMatrix<f64>) {
        let weights: Vec<f64> = observations.iter().map(|o| 1.0 / o.variance).collect();
        let a = DVector::from_iterator(
            weights.len(),
            self.residuals.iter().zip(&weights).map(|(v, w)| v * w),
        );
        let mut q = -(&self.slopes * &self.covariance * self.slopes.transpose());
        for i in 0..weights.len() {
            for j in 0..weights.len() {
                q[(i, j)] *= weights[i] * weights[j];
            }
            q[(i, i)] += weights[i];
        }
        (a, q)
    }
}

/// The Gaussian stand-in for one cut-off: precision, and precision times mean.
#[derive(Clone, Copy, Debug, Default)]
struct Site {
    precision: f64,
    pull: f64,
}

impl Site {
    /// Takes the mean and variance of the excess, cut off below zero, over to the stand-in.
    fn update(&mut self, fit: &Fit, row: &DVector<f64>) {
        let mean = row.dot(&fit.state);
        let variance = row.dot(&(&fit.covariance * row));
        // The excess as it would be without this site.
        let precision = 1.0 / variance - self.precision;
        if precision <= 1e-12 {
            return;
        }
        let m = (mean / variance - self.pull) / precision;
        let s = (1.0 / precision).sqrt();
        // Moments of a normal distribution kept above zero: with α = m/s and λ = φ(α)/Φ(α), the
        // mean is m + sλ and the variance s²(1 − λ(λ + α)).
        let alpha = m / s;
        let lambda = hazard(alpha);
        let cut_mean = m + s * lambda;
        let cut_variance = (s * s * (1.0 - lambda * (lambda + alpha))).max(1e-6 * s * s);
        let new = (1.0 / cut_variance - precision).max(0.0);
        self.precision = new;
        self.pull = cut_mean / cut_variance - m * precision;
        if new == 0.0 {
            self.pull = 0.0;
        }
    }
}
