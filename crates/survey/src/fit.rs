//! The most probable state of a pane given its readings and prior, with its covariance.
//!
//! The search itself is [`adjust`](crate::adjust); here is where it starts on a pane, where it starts
//! again, and how a band that cannot be seen enters.
//!
//! A band of zero seen from inside says only that at least the band's width is blocked. It enters
//! as a Gaussian with the mean and variance of the normal distribution cut off there, found by
//! expectation propagation (Minka 2001): exact for one such reading, close for several.

use nalgebra::{DMatrix, DVector};

use crate::adjust::{Influence, NotSettled, Settled, Shown, Task};
use crate::model::{Sight, see};
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
    /// Natural logarithm of its determinant.
    log_det: f64,
    pub(crate) small: bool,
    pub(crate) observations: Vec<Observation>,
    /// Stations where no band is visible from inside.
    pub(crate) hidden: Vec<Station>,
}

/// The most probable state and how surprising the readings are.
#[derive(Clone, Debug)]
pub(crate) struct Fit {
    pub(crate) settled: Settled,
    /// Minus twice the log of the evidence (Laplace), up to a constant of the readings.
    pub(crate) surprise: f64,
    /// Squares of what readings and prior are off, each by its own spread.
    pub(crate) strain: f64,
}

impl std::ops::Deref for Fit {
    type Target = Settled;

    fn deref(&self) -> &Settled {
        &self.settled
    }
}

/// How far the top is pushed and the base tilted when a search starts again; chosen by us to cover
/// the leaning panes of cabs.
const RESTARTS: [[f64; 2]; 6] =
    [[0.0, 0.08], [0.0, -0.08], [0.15, 0.0], [-0.15, 0.0], [0.1, 0.2], [-0.1, -0.2]];

/// The plain fit ends within 1e-5 standard deviations of the best state.
const CLOSELY: f64 = 1e-10;
/// Explanations, and searches that only compare, end within a thirtieth: it moves a logarithm of
/// evidence by 0.0005.
pub(crate) const ROUGHLY: f64 = 1e-3;

impl<'a> Problem<'a> {
    pub(crate) fn new(
        prior: &'a Prior,
        small: bool,
        observations: Vec<Observation>,
        hidden: Vec<Station>,
    ) -> Option<Self> {
        let factor = prior.covariance.clone().cholesky()?;
        let log_det = -2.0 * factor.l_dirty().diagonal().iter().map(|d| d.ln()).sum::<f64>();
        let precision = factor.inverse();
        Some(Self { prior, precision, log_det, small, observations, hidden })
    }

    /// The most probable state, sought from where the readings point.
    ///
    /// Readings see a pane's tilt only weakly, so a pane tilted the other way can explain them nearly
    /// as well: where the prior allows a tilt, other shapes are tried too.
    pub(crate) fn solve(&self) -> Result<Fit, NotSettled> {
        let start = self.start();
        let mut best = self.fit(&start);
        let attempt = |best: &mut Result<Fit, NotSettled>, other: &DVector<f64>| {
            // Searches from several starts mostly end at one place: they are compared roughly.
            if let Ok(rough) = self.fit_within(ROUGHLY, other)
                && best.as_ref().map_or(true, |b| rough.cost < b.cost - ROUGHLY)
                && let Ok(fit) = self.fit(&rough.state)
            {
                *best = Ok(fit);
            }
        };
        if self.may_tilt() {
            RESTARTS.iter().for_each(|skew| attempt(&mut best, &self.skewed(&start, *skew)));
        }
        if best.as_ref().map_or(true, |fit| fit.is_poor(self.observations.len())) {
            attempt(&mut best, &self.prior.mean);
        }
        best
    }

    /// A fit to start explaining from. Where the readings agree, or nearly, it is the most probable
    /// state. Where they do not, the most probable state is bent by whatever is wrong, and what it
    /// says of a slip is bent too: then it is the problem straightened at the state that most of the
    /// readings agree on.
    pub(crate) fn base(&self) -> Result<Fit, NotSettled> {
        let plain = self.solve();
        if plain.as_ref().is_ok_and(|fit| !fit.is_poor(self.observations.len())) {
            return plain;
        }
        let from = plain.as_ref().map_or_else(|_| self.start(), |fit| fit.state.clone());
        let mut best: Option<(f64, Fit)> = None;
        for start in [self.start(), from] {
            // One start will do where most readings agree from there.
            if best.as_ref().is_none_or(|b| b.0 > 10.0 + 2.0 * self.observations.len() as f64)
                && let Some((strife, state)) = self.agreed(start)
                && best.as_ref().is_none_or(|b| strife < b.0)
                && let Some(fit) = self.straightened(&state)
            {
                best = Some((strife, fit));
            }
        }
        best.map_or(plain, |b| Ok(b.1))
    }

    /// The state most readings agree on, and how much strife is left: each reading's variance grows
    /// with its own residual (Student's t with ν = 3 by iterated weights; Lange, Little & Taylor
    /// 1989), from wide spreads to the true ones so that none is written off early.
    fn agreed(&self, start: DVector<f64>) -> Option<(f64, DVector<f64>)> {
        const NU: f64 = 3.0;
        let mut state = start;
        let mut strife = 0.0;
        for scale in [400.0, 60.0, 10.0, 2.0, 1.0, 1.0, 1.0] {
            let seen = self.see(&state)?;
            let mut wide = self.clone();
            for (i, observation) in wide.observations.iter_mut().enumerate() {
                let residual = observation.value - seen.values[i];
                observation.variance *= scale;
                let weight = (NU + 1.0) / (NU + residual * residual / observation.variance);
                observation.variance /= weight.min(1.0);
            }
            state = wide.fit_within(ROUGHLY, &state).ok()?.settled.state;
            let seen = self.see(&state)?;
            let off = &state - &self.prior.mean;
            strife = off.dot(&(&self.precision * &off));
            for (i, observation) in self.observations.iter().enumerate() {
                let residual = observation.value - seen.values[i];
                strife += (NU + 1.0) * (residual * residual / (NU * observation.variance)).ln_1p();
            }
        }
        Some((strife, state))
    }

    fn straightened(&self, state: &DVector<f64>) -> Option<Fit> {
        let settled = self.task(&[]).straightened(state, |x| self.see(x))?;
        Some(self.weighed(settled))
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

    fn see(&self, state: &DVector<f64>) -> Option<Shown> {
        let sights: Vec<Sight> = self.observations.iter().map(|o| o.sight).collect();
        see(self.prior.n_corners, state.as_slice(), self.small, &sights)
    }

    /// Finds the most probable state from `start`.
    pub(crate) fn fit(&self, start: &DVector<f64>) -> Result<Fit, NotSettled> {
        self.fit_within(CLOSELY, start)
    }

    /// Finds a state within √`enough` standard deviations of the most probable one.
    pub(crate) fn fit_within(&self, enough: f64, start: &DVector<f64>) -> Result<Fit, NotSettled> {
        let mut sites: Vec<Site> = vec![Site::default(); self.hidden.len()];
        let mut fit = self.fit_with(enough, start, &sites)?;
        for _ in 0..if self.hidden.is_empty() { 0 } else { 4 } {
            for (site, &station) in sites.iter_mut().zip(&self.hidden) {
                site.update(&fit, &self.excess(station));
            }
            let state = fit.state.clone();
            fit = self.fit_with(enough, &state, &sites)?;
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

    fn fit_with(
        &self,
        enough: f64,
        start: &DVector<f64>,
        sites: &[Site],
    ) -> Result<Fit, NotSettled> {
        let task = self.task(sites);
        Ok(self.weighed(task.settle_within(enough, start, |state| self.see(state))?))
    }

    fn task(&self, sites: &[Site]) -> Task {
        let mut task = Task {
            observed: self.vector(|o| o.value),
            variances: self.vector(|o| o.variance),
            precision: self.precision.clone(),
            pull: &self.precision * &self.prior.mean,
        };
        for (site, &station) in sites.iter().zip(&self.hidden) {
            let row = self.excess(station);
            task.precision.ger(site.precision, &row, &row, 1.0);
            task.pull.axpy(site.pull, &row, 1.0);
        }
        task
    }

    fn weighed(&self, settled: Settled) -> Fit {
        let noise: f64 = self.observations.iter().map(|o| o.variance.ln()).sum();
        let at_mean = self.prior.mean.dot(&(&self.precision * &self.prior.mean));
        let strain = settled.cost + at_mean;
        Fit { surprise: strain + noise + settled.log_det - self.log_det, strain, settled }
    }

    fn vector(&self, of: impl Fn(&Observation) -> f64) -> DVector<f64> {
        DVector::from_iterator(self.observations.len(), self.observations.iter().map(of))
    }

    /// What each observation says against the others at a fit.
    pub(crate) fn influence(&self, fit: &Fit) -> Influence {
        Influence::new(&fit.residuals, &fit.slopes, &fit.covariance, self.vector(|o| o.variance))
    }
}

impl Fit {
    /// Whether readings and prior are much farther off than honest ones would be: then the fit may be
    /// a false one, or some reading slipped. Where few readings check one another a slip bends the
    /// pane away from what is usual and leaves the readings themselves in agreement. Squares of `n`
    /// honest readings add up to about n.
    fn is_poor(&self, n: usize) -> bool {
        self.strain > 10.0 + 2.0 * n as f64
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
