//! A glass book entry learned from settled panes of one vehicle.
//!
//! Panes of one model scatter about a mean outline: θᵢ ~ N(μ, s²·I), and their readings say
//! N(θᵢ; lᵢ, Λᵢ⁻¹) of each. What was known before stands as μ ~ N(m₀, S₀) and as ν₀ panes seen
//! with scatter s₀. Mean and scatter are found by turns (expectation maximisation; Dempster, Laird
//! & Rubin 1977), the mean with the panes integrated out:
//!
//! - Vᵢ = (Λᵢ + I/s²)⁻¹, μ = (S₀⁻¹ + Σ(Λᵢ − ΛᵢVᵢΛᵢ))⁻¹(S₀⁻¹m₀ + Σ(I − ΛᵢVᵢ)Λᵢlᵢ);
//! - tᵢ = Vᵢ(Λᵢlᵢ + μ/s²);
//! - s² = (ν₀·d·s₀² + Σ(|tᵢ − μ|² + tr Vᵢ)) / ((ν₀ + n)·d).
//!
//! Symbols: n panes, d parameters of an outline, lengths in mm. What no reading sees (where the pane
//! lies in its frame) stays as it was. One scatter for all parameters is a simplification the glass
//! book makes; with few panes s leans to s₀.

use geometry::Length;
use nalgebra::{DMatrix, DVector};

use crate::judge::{Depth, Judgement};
use crate::name::Station;
use crate::prior::{N_STATIONS, Prior, Source};
use crate::reading::{BookEntry, PaneReadings, Vehicle};

/// Scatter between panes of one model where none is known, mm. Common practice, no source.
const USUAL_SCATTER: f64 = 5.0;
/// How many panes that scatter counts for. Chosen by us.
const USUAL_PANES: f64 = 4.0;
/// Scatter of bands and blocked depths between panes of one model. Common practice, no source.
const USUAL_BAND_SCATTER: Length = Length::from_mm(6.0);
/// Most rounds, and the change of scatter, in parts, at which they end.
const ROUNDS: usize = 300;
const ENOUGH: f64 = 1e-5;

/// What the readings of a pane alone say of its outline's parameters, as
/// [`geometry::Outline::parameters`] orders them, in the frame of the prior it was judged by: a
/// Gaussian by its information Λ (1/mm²) and its pull Λl (1/mm).
#[derive(Clone, Debug, PartialEq)]
pub struct OutlineEvidence {
    /// Λ.
    pub information: DMatrix<f64>,
    /// Λl.
    pub pull: DVector<f64>,
}

impl OutlineEvidence {
    /// What was learned beyond the prior: Λ = C⁻¹ − C₀⁻¹, Λl = C⁻¹m − C₀⁻¹m₀. `None` where a
    /// covariance cannot be inverted.
    pub(crate) fn beyond(
        prior: (&DVector<f64>, &DMatrix<f64>),
        posterior: (&DVector<f64>, &DMatrix<f64>),
    ) -> Option<Self> {
        let before = prior.1.clone().cholesky()?.inverse();
        let after = posterior.1.clone().cholesky()?.inverse();
        let pull = &after * posterior.0 - &before * prior.0;
        Some(Self { information: after - before, pull })
    }
}

/// Mean and standard deviation of a normal mean with a normal prior, given independent values of
/// known standard deviation: the precision-weighted mean.
///
/// ```
/// use survey::normal_mean;
/// // Equal precision: half way, and by √2 surer.
/// let (mean, sd) = normal_mean((0.0, 1.0), &[(1.0, 1.0)]);
/// assert!((mean - 0.5).abs() < 1e-12 && (sd - 0.5_f64.sqrt()).abs() < 1e-12);
/// ```
#[must_use]
pub fn normal_mean(prior: (f64, f64), values: &[(f64, f64)]) -> (f64, f64) {
    let all = std::iter::once(&prior).chain(values);
    let (pull, precision) = all.fold((0.0, 0.0), |(pull, precision), (value, sd)| {
        let p = 1.0 / (sd * sd);
        (pull + value * p, precision + p)
    });
    (pull / precision, (1.0 / precision).sqrt())
}

/// What is known of a model's outlines before learning.
#[derive(Clone, Debug)]
struct Before {
    mean: DVector<f64>,
    covariance: DMatrix<f64>,
    scatter: f64,
    panes: f64,
}

/// The mean outline's parameters and the scatter, mm, once these are added; `None` where what was
/// known before is no proper spread, or where evidence is of other outlines.
fn learned(before: &Before, evidence: &[&OutlineEvidence]) -> Option<(DVector<f64>, f64)> {
    let d = before.mean.len();
    if evidence.iter().any(|e| e.pull.len() != d) {
        return None;
    }
    let (n, size) = (evidence.len() as f64, d as f64);
    let precision = before.covariance.clone().cholesky()?.inverse();
    let pull = &precision * &before.mean;
    let one = DMatrix::<f64>::identity(d, d);
    let (mut mean, mut square) = (before.mean.clone(), before.scatter.powi(2));
    for _ in 0..ROUNDS {
        let (mut surer, mut pulls) = (precision.clone(), pull.clone());
        let mut spreads = Vec::with_capacity(evidence.len());
        for said in evidence {
            let spread = (&said.information + &one / square).try_inverse()?;
            let seen = &said.information * &spread;
            surer += &said.information - &seen * &said.information;
            pulls += &said.pull - &seen * &said.pull;
            spreads.push(spread);
        }
        mean = surer.lu().solve(&pulls)?;
        let mut off = before.panes * size * before.scatter.powi(2);
        for (said, spread) in evidence.iter().zip(&spreads) {
            let pane = spread * (&said.pull + &mean / square);
            off += spread.trace() + (pane - &mean).norm_squared();
        }
        let next = off / ((before.panes + n) * size);
        let change = (next / square).sqrt() - 1.0;
        square = next;
        if change.abs() < ENOUGH {
            break;
        }
    }
    Some((mean, square.sqrt()))
}

/// The entry for a model's pane, made or sharpened by settled panes.
///
/// `entry` is what the glass book has already. The panes were judged by it, or where there is none by
/// the class and family of `pane`, all of one form. `None` when there is nothing to learn from.
#[must_use]
pub fn learn_entry(
    vehicle: &Vehicle,
    pane: &PaneReadings,
    entry: Option<&BookEntry>,
    settled: &[&Judgement],
    years: [i32; 2],
) -> Option<BookEntry> {
    let (make, model) = (vehicle.make.clone()?, vehicle.model.clone()?);
    let evidence: Vec<&OutlineEvidence> =
        settled.iter().filter_map(|j| j.evidence.as_ref()).collect();
    if evidence.is_empty() || evidence.len() != settled.len() {
        return None;
    }
    let prior = Prior::of(vehicle, pane, entry);
    let n = 4 * prior.n_corners;
    let known = entry.map_or(0.0, |e| f64::from(e.settled.max(1)));
    let mean = prior.mean.rows(0, n).into_owned();
    let covariance = prior.covariance.view((0, 0), (n, n)).into_owned();
    let before = match entry {
        // The mean of so many panes is surer than one pane.
        Some(entry) => {
            Before { mean, covariance: covariance / known, scatter: entry.sd.mm(), panes: known }
        }
        None => Before { mean, covariance, scatter: USUAL_SCATTER, panes: USUAL_PANES },
    };
    let (mean, scatter) = learned(&before, &evidence)?;
    let band_sd = entry.map_or(USUAL_BAND_SCATTER, |e| e.band_sd);
    let depths = |first: usize, old: &[(Station, Length)], of: fn(&Judgement) -> &[Depth]| {
        let learn = |&station: &Station| {
            let read = settled.iter().filter_map(|j| {
                let depth = of(j).iter().find(|d| d.station == station)?;
                let sd = depth.sd.mm().hypot(band_sd.mm());
                (depth.from == Source::Reading).then_some((depth.value.mm(), sd))
            });
            let read: Vec<(f64, f64)> = read.collect();
            let i = first + station as usize;
            let before = match old.iter().find(|(at, _)| *at == station) {
                Some((_, value)) => (value.mm(), band_sd.mm() / known.max(1.0).sqrt()),
                None if read.is_empty() => return None,
                None => (prior.mean[i], prior.covariance[(i, i)].sqrt()),
            };
            Some((station, Length::from_mm(normal_mean(before, &read).0.max(0.0))))
        };
        Station::ALL.iter().filter_map(learn).collect::<Vec<_>>()
    };
    let none = Vec::new();
    let band = depths(n, entry.map_or(&none, |e| &e.band), |j| &j.bands);
    let blocked = depths(n + N_STATIONS, entry.map_or(&none, |e| &e.blocked), |j| &j.blocked);
    let mm = |i: usize| Length::from_mm(mean[i]);
    let m = prior.n_corners;
    Some(BookEntry {
        make,
        model,
        years: entry.map_or(years, |e| e.years),
        class: vehicle.class,
        family: pane.family,
        half: entry.map_or(pane.half, |e| e.half),
        flank: entry.map_or(pane.flank, |e| e.flank),
        settled: entry.map_or(0, |e| e.settled).saturating_add(settled.len() as u32),
        corners: (0..m).map(|i| [mm(2 * i), mm(2 * i + 1)]).collect(),
        bows: (0..m).map(|i| mm(2 * m + i)).collect(),
        radii: (0..m).map(|i| mm(3 * m + i).max(Length::ZERO)).collect(),
        sd: Length::from_mm(scatter),
        band,
        blocked,
        band_sd,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;
    use rand_distr::{Distribution, Normal};

    fn before(mean: f64, sd: f64, scatter: f64, panes: f64, d: usize) -> Before {
        Before {
            mean: DVector::from_element(d, mean),
            covariance: DMatrix::identity(d, d) * sd * sd,
            scatter,
            panes,
        }
    }

    fn said(values: &[f64], sd: f64) -> OutlineEvidence {
        let d = values.len();
        let information = DMatrix::identity(d, d) / (sd * sd);
        OutlineEvidence { pull: DVector::from_row_slice(values) / (sd * sd), information }
    }

    /// Eight coaching schools (Rubin 1981), pooled: mean 7.7, standard error 4.1 (Gelman et al.,
    /// Bayesian Data Analysis, 3rd edition, section 5.5; data and figures from memory).
    #[test]
    fn pooled_schools_have_the_published_mean() {
        let schools = [
            (28.0, 15.0),
            (8.0, 10.0),
            (-3.0, 16.0),
            (7.0, 11.0),
            (-1.0, 9.0),
            (1.0, 11.0),
            (18.0, 10.0),
            (12.0, 18.0),
        ];
        let (mean, sd) = normal_mean((0.0, 1e6), &schools);
        assert!((mean - 7.7).abs() < 0.05 && (sd - 4.1).abs() < 0.05, "{mean} {sd}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12))]

        /// With the scatter known (many panes' worth of it), μ is the normal-normal posterior mean:
        /// each pane's value has variance σ² + s².
        #[test]
        fn with_a_known_scatter_the_mean_is_the_closed_form(
            values in prop::collection::vec(-50.0..50.0_f64, 1..8), sd in 1.0..8.0_f64, prior in 2.0..30.0_f64,
        ) {
            let scatter = 4.0;
            let evidence: Vec<_> = values.iter().map(|v| said(&[*v], sd)).collect();
            let evidence: Vec<_> = evidence.iter().collect();
            let (mean, s) = learned(&before(3.0, prior, scatter, 1e9, 1), &evidence).unwrap();
            let total = f64::hypot(sd, scatter);
            let closed = normal_mean((3.0, prior), &values.iter().map(|v| (*v, total)).collect::<Vec<_>>());
            prop_assert!((s - scatter).abs() < 1e-3);
            prop_assert!((mean[0] - closed.0).abs() < 1e-6, "{} {}", mean[0], closed.0);
        }

        #[test]
        fn many_panes_give_back_their_mean_and_scatter(seed: u64, scatter in 2.0..8.0_f64) {
            let mut rng = ChaCha8Rng::seed_from_u64(seed);
            let (d, n, noise) = (16, 100, 3.0);
            let truth: Vec<f64> = (0..d).map(|i| 40.0 * f64::from(i)).collect();
            let normal = |sd: f64| Normal::new(0.0, sd).unwrap();
            let panes: Vec<OutlineEvidence> = (0..n)
                .map(|_| {
                    let read: Vec<f64> = truth
                        .iter()
                        .map(|m| m + normal(scatter).sample(&mut rng) + normal(noise).sample(&mut rng))
                        .collect();
                    let mut said = said(&read, noise);
                    // Of every pane two parameters are seen by nothing.
                    for i in 0..2 {
                        said.information[(i, i)] = 0.0;
                        said.pull[i] = 0.0;
                    }
                    said
                })
                .collect();
            let panes: Vec<&OutlineEvidence> = panes.iter().collect();
            let (mean, s) = learned(&before(300.0, 400.0, 5.0, 0.1, 16), &panes).unwrap();
            prop_assert!((s / scatter - 1.0).abs() < 0.15, "{s} where {scatter}");
            for i in 2..16 {
                prop_assert!((mean[i] - truth[i]).abs() < 4.0, "{i}: {}", mean[i]);
            }
            prop_assert!((mean[0] - 300.0).abs() < 1e-6);
        }
    }

    #[test]
    fn few_panes_lean_to_what_was_known() {
        let pane = said(&[20.0; 8], 1.0);
        let learned_from = |panes: f64| {
            let known = before(0.0, 4.0 / panes.sqrt(), 4.0, panes, 8);
            learned(&known, &[&pane]).unwrap().0[0]
        };
        assert!(learned_from(1.0) > learned_from(9.0) && learned_from(9.0) > 0.0);
        assert!(learned_from(9.0) < 5.0, "{}", learned_from(9.0));
    }
}
