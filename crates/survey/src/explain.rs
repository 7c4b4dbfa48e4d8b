//! Which slip, if any, explains readings that do not agree.
//!
//! An explanation says that some observations should be changed: y → y + d·u, with an extra spread s
//! along u (d the correction, u which readings it touches). What that changes in the likelihood has a
//! closed form ([`Influence::change`](crate::adjust::Influence::change)), so each explanation costs
//! the same small time whatever the size of the problem. The likeliest few are
//! fitted anew, since large slips bend the outline; their evidence is Laplace's (Tierney & Kadane
//! 1986). When one explanation leads, the search goes on around it for a second and a third slip.
//! Every explanation stays in the mixture with its probability: many unlikely ones together are
//! what keeps a chance of fit honest.

use std::rc::Rc;

use geometry::{Length, MM_PER_INCH};
use nalgebra::{DMatrix, DVector};

use crate::adjust::NotSettled;
use crate::fit::{Fit, Problem, ROUGHLY};
use crate::name::{ReadingName, Span};
use crate::policy::SlipRates;
use crate::tape::{TapeReading, Unit};

/// How a reading is probably wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum SlipKind {
    /// One inch, or one centimetre, too much or too little.
    Inch,
    /// Half an inch.
    HalfInch,
    /// One foot.
    Foot,
    /// Ten of the unit.
    Ten,
    /// The fraction left out.
    FractionDropped,
    /// Two digits exchanged.
    DigitsExchanged,
    /// Another unit than stated.
    Unit,
    /// Rubber or frame taken with the glass.
    FrameIncluded,
    /// Fading dots taken with the solid black.
    DotsIncluded,
    /// Two readings in each other's place.
    ReadingsExchanged,
    /// Inside and outside in each other's place.
    SidesExchanged,
    /// Frame taken with the glass in every outside span.
    FrameIncludedEverywhere,
    /// Wrong in no usual way.
    Unexplained,
    /// Honest, only rougher than usual: never a doubt.
    Sloppy,
}

impl SlipKind {
    /// Its spelling in answers.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Inch => "inch",
            Self::HalfInch => "half-inch",
            Self::Foot => "foot",
            Self::Ten => "ten",
            Self::FractionDropped => "fraction-dropped",
            Self::DigitsExchanged => "digits-exchanged",
            Self::Unit => "unit",
            Self::FrameIncluded => "frame-included",
            Self::DotsIncluded => "dots-included",
            Self::ReadingsExchanged => "readings-exchanged",
            Self::SidesExchanged => "sides-exchanged",
            Self::FrameIncludedEverywhere => "frame-included-everywhere",
            Self::Unexplained => "unexplained",
            Self::Sloppy => "sloppy",
        }
    }

    /// Whether the size of the slip is known from its kind, so that the true value can be named.
    #[must_use]
    pub const fn is_exact(self) -> bool {
        matches!(
            self,
            Self::Inch
                | Self::HalfInch
                | Self::Foot
                | Self::Ten
                | Self::DigitsExchanged
                | Self::Unit
                | Self::ReadingsExchanged
                | Self::SidesExchanged
        )
    }
}

/// What an observation was read as.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Origin {
    /// Which reading.
    pub(crate) name: ReadingName,
    /// Which taking of it, from 0.
    pub(crate) take: usize,
    /// The owner's own words.
    pub(crate) tape: TapeReading,
}

/// One way in which some observations may be wrong.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Slip {
    pub(crate) kind: SlipKind,
    /// Observations touched, each with its part in the correction.
    pub(crate) touches: Vec<(usize, f64)>,
    /// Correction along `touches`, mm.
    pub(crate) shift: f64,
    /// Further spread along `touches`, mm.
    pub(crate) spread: f64,
    /// Odds against no slip, before the readings are looked at.
    pub(crate) odds: f64,
}

/// A state of belief: some slips (or none), how probable, and the pane it implies.
#[derive(Clone, Debug)]
pub(crate) struct Component {
    pub(crate) slips: Vec<Slip>,
    pub(crate) probability: f64,
    /// Its probability were slips as common as caution has it.
    pub(crate) weight: f64,
    pub(crate) state: DVector<f64>,
    pub(crate) spread: Spread,
}

/// Covariance of a state: one shared by many explanations, which a slip widens along one direction.
#[derive(Clone, Debug)]
pub(crate) struct Spread {
    shared: Rc<DMatrix<f64>>,
    widened: Option<(f64, DVector<f64>)>,
}

impl Spread {
    fn new(covariance: DMatrix<f64>) -> Self {
        Self { shared: Rc::new(covariance), widened: None }
    }

    /// Covariance of the first `n` numbers of the state.
    pub(crate) fn head(&self, n: usize) -> DMatrix<f64> {
        let mut head = self.shared.view((0, 0), (n, n)).into_owned();
        if let Some((by, along)) = &self.widened {
            let along = along.rows(0, n);
            head.ger(*by, &along, &along, 1.0);
        }
        head
    }

    /// Covariance of the whole state.
    pub(crate) fn whole(&self) -> DMatrix<f64> {
        self.head(self.shared.nrows())
    }
}

/// All explanations with their probabilities, most probable first.
#[derive(Clone, Debug)]
pub(crate) struct Mixture {
    pub(crate) components: Vec<Component>,
    /// w statistic of each observation around the plain fit.
    pub(crate) w: Vec<f64>,
    /// Minimal slip, mm, that the w test would find in it four times in five; `None` where nothing
    /// else controls it.
    pub(crate) detectable: Vec<Option<f64>>,
    /// What each observation should have shown by the plain fit, mm.
    pub(crate) expected: Vec<f64>,
    /// Natural logarithm of how probable the readings were beforehand, up to a constant of theirs.
    pub(crate) evidence: f64,
    /// Whether readings and prior disagree more than one slip explains.
    pub(crate) strained: bool,
}

/// Most slips looked for in one pane.
const MOST_SLIPS: usize = 3;
/// Most explanations fitted anew at each level; chosen by us: more are seldom worth it.
const MOST_REFITTED: usize = 24;
/// An explanation is fitted anew unless it screens as less probable than the best by this, in
/// logarithms: one in 150.
const WORTH_REFITTING: f64 = 5.0;
/// An explanation that corrects by no more than this, mm, is not fitted anew: over lengths of a metre and
/// more the outline is straight enough for it, to a tenth of a millimetre.
const STRAIGHT_MM: f64 = 21.0;
/// An explanation leads, and is looked behind, from this probability.
const LEADS: f64 = 0.4;
/// Less probable explanations are left out.
const NEGLIGIBLE: f64 = 1e-6;

pub(crate) fn explain(
    problem: &Problem<'_>,
    origins: &[Origin],
    rates: &SlipRates,
    caution: f64,
) -> Result<Mixture, NotSettled> {
    let plain = problem.base()?;
    let influence = problem.influence(&plain);
    let n = problem.observations.len();
    let w = (0..n).map(|i| influence.w(i)).collect();
    let detectable = (0..n).map(|i| influence.detectable(i)).collect();
    let expected = (0..n).map(|i| problem.observations[i].value - plain.residuals[i]).collect();
    let (mut components, more) = expand(problem, &plain, origins, rates, &[]);
    let evidence = more - 0.5 * plain.surprise;
    components.retain(|c| c.probability > NEGLIGIBLE);
    let total: f64 = components.iter().map(|c| c.probability).sum();
    components.iter_mut().for_each(|c| c.probability /= total);
    components.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    for component in &mut components {
        let n_slips = component.slips.iter().filter(|s| s.kind != SlipKind::Sloppy).count();
        component.weight = component.probability * caution.powf(n_slips as f64);
    }
    let total: f64 = components.iter().map(|c| c.weight).sum();
    components.iter_mut().for_each(|c| c.weight /= total);
    let slips = components[0].slips.iter().filter(|s| s.kind != SlipKind::Sloppy);
    // What the explanations together take off the strain shows in their evidence.
    let left = plain.strain - 2.0 * more;
    let strained = slips.count() > 1 || left > 20.0 + 2.0 * n as f64;
    Ok(Mixture { components, w, detectable, expected, evidence, strained })
}

/// The mixture around one fit, in which `adopted` slips are already corrected, and the natural
/// logarithm of its evidence against that of the fit alone.
fn expand(
    problem: &Problem<'_>,
    fit: &Fit,
    origins: &[Origin],
    rates: &SlipRates,
    adopted: &[Slip],
) -> (Vec<Component>, f64) {
    let touched: Vec<usize> = adopted.iter().flat_map(|s| s.touches.iter().map(|t| t.0)).collect();
    let influence = problem.influence(fit);
    let shared = Spread::new(fit.covariance.clone());
    let mut found: Vec<(Slip, f64, Option<Fit>)> = candidates(problem, origins, rates)
        .into_iter()
        .filter(|slip| slip.touches.iter().all(|(i, _)| !touched.contains(i)))
        .map(|slip| {
            let log =
                slip.odds.ln() - 0.5 * influence.change(&slip.touches, slip.shift, slip.spread);
            (slip, log, None)
        })
        .collect();
    found.sort_by(|x, y| y.1.total_cmp(&x.1));
    let bends = |slip: &Slip| slip.shift.abs() + slip.spread > STRAIGHT_MM;
    let fitted_anew = |slip: &Slip| {
        let (state, _) = corrected(problem, fit, slip, &shared);
        let again = problem.with(slip);
        again.fit_within(ROUGHLY, &state).or_else(|_| again.fit_within(ROUGHLY, &fit.state)).ok()
    };
    // Where the fit is bent by what is wrong, screening may be far out: whatever screens near the
    // best of what was fitted anew is fitted anew too.
    let mut best = 0.0_f64;
    for _ in 0..MOST_REFITTED {
        let next = found
            .iter_mut()
            .filter(|f| f.2.is_none() && f.1 > best - WORTH_REFITTING && bends(&f.0))
            .max_by(|x, y| x.1.total_cmp(&y.1));
        let Some((slip, log, refitted)) = next else { break };
        let new = fitted_anew(slip);
        // What no outline can be fitted to explains nothing.
        *log = f64::NEG_INFINITY;
        if let Some(new) = new {
            let weight = slip.odds.ln() - 0.5 * (new.surprise - fit.surprise);
            if weight.is_finite() {
                *log = weight;
                *refitted = Some(new);
                best = best.max(weight);
            }
        }
    }
    // The plain state has log weight 0.
    let total = |logs: &mut dyn Iterator<Item = f64>| {
        let logs: Vec<f64> = logs.collect();
        let most = logs.iter().copied().fold(0.0, f64::max);
        most + ((-most).exp() + logs.iter().map(|log| (log - most).exp()).sum::<f64>()).ln()
    };
    let first = total(&mut found.iter().map(|f| f.1));
    let mut branches: Vec<(f64, Vec<Component>)> = Vec::new();
    for (slip, log, refitted) in found {
        let probability = (log - first).exp();
        if probability < NEGLIGIBLE {
            continue;
        }
        let mut slips = adopted.to_vec();
        slips.push(slip.clone());
        let leads = probability > LEADS && slip.kind != SlipKind::Sloppy;
        let refitted = refitted.or_else(|| leads.then(|| fitted_anew(&slip)).flatten());
        if let (true, Some(new)) = (leads && slips.len() < MOST_SLIPS, &refitted) {
            let (behind, more) = expand(&problem.with(&slip), new, origins, rates, &slips);
            branches.push((log + more, behind));
            continue;
        }
        let (state, spread) = match refitted {
            Some(new) => (new.settled.state, Spread::new(new.settled.covariance)),
            None => corrected(problem, fit, &slip, &shared),
        };
        branches
            .push((log, vec![Component { slips, probability: 1.0, weight: 1.0, state, spread }]));
    }
    let total = total(&mut branches.iter().map(|b| b.0));
    let plain = Component {
        slips: adopted.to_vec(),
        probability: 1.0,
        weight: 1.0,
        state: fit.state.clone(),
        spread: shared,
    };
    branches.push((0.0, vec![plain]));
    let components = branches
        .into_iter()
        .flat_map(|(log, components)| {
            let part = (log - total).exp();
            components.into_iter().map(move |mut c| {
                c.probability *= part;
                c
            })
        })
        .collect();
    (components, total)
}

/// State and covariance under a slip, to first order: with t = R⁻¹u, g = Aᵀt and
/// β = s²/(1 + s²·uᵀt), Σ′ = Σ + β·Σg(Σg)ᵀ/(1 − β·gᵀΣg) and x′ = x + Σ′g·(d − β·tᵀ(v + d·u)).
fn corrected(
    problem: &Problem<'_>,
    fit: &Fit,
    slip: &Slip,
    shared: &Spread,
) -> (DVector<f64>, Spread) {
    let mut g = DVector::zeros(fit.state.len());
    let (mut ut, mut tv) = (0.0, 0.0);
    for &(i, u) in &slip.touches {
        let t = u / problem.observations[i].variance;
        g.axpy(t, &fit.slopes.row(i).transpose(), 1.0);
        ut += u * t;
        tv += t * fit.residuals[i];
    }
    let (d, s2) = (slip.shift, slip.spread * slip.spread);
    let beta = s2 / (1.0 + s2 * ut);
    let sg = &fit.covariance * &g;
    let left = (1.0 - beta * g.dot(&sg)).max(1e-9);
    let state = &fit.state + &sg * ((d - beta * (tv + d * ut)) / left);
    (state, Spread { widened: Some((beta / left, sg)), ..shared.clone() })
}

impl Problem<'_> {
    /// The same problem with a slip corrected. A spread shared by several readings is given to
    /// each by itself: a little wider than it is.
    pub(crate) fn with(&self, slip: &Slip) -> Self {
        let mut corrected = self.clone();
        for &(i, u) in &slip.touches {
            let observation = &mut corrected.observations[i];
            observation.value += slip.shift * u;
            observation.variance += (slip.spread * u).powi(2);
        }
        corrected
    }
}

/// Everything that may be wrong, one thing at a time.
fn candidates(problem: &Problem<'_>, origins: &[Origin], rates: &SlipRates) -> Vec<Slip> {
    let mut slips = Vec::new();
    for (i, origin) in origins.iter().enumerate() {
        single(i, origin, problem.observations[i].variance.sqrt(), rates, &mut slips);
    }
    exchanged(problem, origins, rates, &mut slips);
    let spans: Vec<(usize, f64)> = (0..origins.len())
        .filter(|&i| origins[i].name.is_outside_length())
        .map(|i| (i, 1.0))
        .collect();
    if spans.len() > 2 {
        slips.push(Slip {
            kind: SlipKind::FrameIncludedEverywhere,
            touches: spans,
            shift: -FRAME_MM,
            spread: FRAME_SPREAD_MM,
            odds: rates.frame_included_everywhere,
        });
    }
    slips
}

/// Usual extra length when rubber or frame is taken at both ends. Common practice, no source.
const FRAME_MM: f64 = 26.0;
const FRAME_SPREAD_MM: f64 = 10.0;
/// Usual width of the fading dots. Common practice, no source.
const DOTS_MM: f64 = 15.0;
const DOTS_SPREAD_MM: f64 = 7.0;
/// How far a reading strays that is wrong in no usual way; chosen by us: wider than any other slip
/// but the foot.
const UNEXPLAINED_MM: f64 = 120.0;

fn single(i: usize, origin: &Origin, sd: f64, rates: &SlipRates, slips: &mut Vec<Slip>) {
    let mut push = |kind, shift: f64, spread: f64, odds: f64| {
        if odds > 0.0 {
            slips.push(Slip { kind, touches: vec![(i, 1.0)], shift, spread, odds });
        }
    };
    let value = origin.tape.length.mm();
    let unit = origin.tape.unit;
    let long = value.abs() > 60.0;
    let one = match unit {
        Unit::Inch => MM_PER_INCH,
        Unit::Centimetre | Unit::Millimetre => 10.0,
    };
    for sign in [-1.0, 1.0] {
        push(SlipKind::Inch, sign * one, 0.0, rates.inch / 2.0);
        if unit == Unit::Inch {
            push(SlipKind::HalfInch, sign * one / 2.0, 0.0, rates.half_inch / 2.0);
            if long {
                push(SlipKind::Foot, sign * 12.0 * one, 0.0, rates.foot / 2.0);
            }
        }
        if long {
            push(SlipKind::Ten, sign * 10.0 * one, 0.0, rates.ten / 2.0);
        }
    }
    let step = origin.tape.graduation.mm();
    let whole = (value / one - (value / one).round()).abs() < 1e-6;
    if whole && step < one {
        // The part left out lies anywhere between nothing and one.
        push(SlipKind::FractionDropped, one / 2.0, one / 12.0_f64.sqrt(), rates.fraction_dropped);
    }
    for (other, part) in digit_exchanges(value, unit) {
        push(SlipKind::DigitsExchanged, other - value, 0.0, part * rates.digits_exchanged);
    }
    for other in [Unit::Inch, Unit::Centimetre, Unit::Millimetre] {
        let meant = value / mm_per(unit) * mm_per(other);
        if other != unit && meant.abs() < 10_000.0 {
            push(SlipKind::Unit, meant - value, 0.0, rates.unit / 2.0);
        }
    }
    if origin.name.is_outside_length() {
        push(SlipKind::FrameIncluded, -FRAME_MM, FRAME_SPREAD_MM, rates.frame_included);
    }
    if matches!(origin.name.span, Span::Band(_)) {
        push(SlipKind::DotsIncluded, -DOTS_MM, DOTS_SPREAD_MM, rates.dots_included);
    }
    push(SlipKind::Unexplained, 0.0, UNEXPLAINED_MM, rates.unexplained);
    // σ grows k-fold when σ²(k² − 1) is added.
    push(SlipKind::Sloppy, 0.0, sd * (2.5_f64.powi(2) - 1.0).sqrt(), rates.sloppy);
    push(SlipKind::Sloppy, 0.0, sd * (5.0_f64.powi(2) - 1.0).sqrt(), rates.very_sloppy);
}

pub(crate) const fn mm_per(unit: Unit) -> f64 {
    match unit {
        Unit::Inch => MM_PER_INCH,
        Unit::Centimetre => 10.0,
        Unit::Millimetre => 1.0,
    }
}

/// The lengths, mm, from which the written number comes when two neighbouring digits of its whole part
/// were exchanged, each with the part of such exchanges that gives just this number: one of however
/// many pairs of neighbours could be exchanged. A nought exchanged to the front is not written.
pub(crate) fn digit_exchanges(value: f64, unit: Unit) -> Vec<(f64, f64)> {
    let number = value / mm_per(unit);
    let whole = number.abs().trunc();
    let differ = |digits: &[u8], k: usize| digits[k - 1] != digits[k];
    let digits = format!("0{whole:.0}").into_bytes();
    (1..digits.len())
        .filter(|&k| differ(&digits, k))
        .filter_map(|k| {
            let mut meant = digits.clone();
            meant.swap(k - 1, k);
            let meant: f64 = std::str::from_utf8(&meant).ok()?.parse().ok()?;
            let written = format!("{meant:.0}").into_bytes();
            let n_ways = (1..written.len()).filter(|&k| differ(&written, k)).count().max(1);
            let length = (number.abs() - whole + meant).copysign(number) * mm_per(unit);
            Some((length, 1.0 / n_ways as f64))
        })
        .collect()
}

/// Pairs of readings in each other's place.
fn exchanged(problem: &Problem<'_>, origins: &[Origin], rates: &SlipRates, slips: &mut Vec<Slip>) {
    let y = |i: usize| problem.observations[i].value;
    for i in 0..origins.len() {
        for j in i + 1..origins.len() {
            let (a, b) = (&origins[i], &origins[j]);
            let apart = y(j) - y(i);
            if apart.abs() < 6.0 {
                continue;
            }
            let (kind, odds) = if a.name.span == b.name.span && a.name.side != b.name.side {
                (SlipKind::SidesExchanged, rates.sides_exchanged)
            } else if a.name.side == b.name.side
                && std::mem::discriminant(&a.name.span) == std::mem::discriminant(&b.name.span)
                && a.name != b.name
            {
                (SlipKind::ReadingsExchanged, rates.readings_exchanged)
            } else {
                continue;
            };
            slips.push(Slip {
                kind,
                touches: vec![(i, 1.0), (j, -1.0)],
                shift: apart,
                spread: 0.0,
                odds,
            });
        }
    }
}

/// Probability that some slip (honest roughness aside) touches the observation.
pub(crate) fn slipped(mixture: &Mixture, observation: usize) -> f64 {
    mixture
        .components
        .iter()
        .filter(|c| {
            c.slips
                .iter()
                .any(|s| s.kind != SlipKind::Sloppy && s.touches.iter().any(|t| t.0 == observation))
        })
        .map(|c| c.probability)
        .sum()
}

/// Probability that anything slipped at all.
pub(crate) fn any_slipped(mixture: &Mixture) -> f64 {
    let slipped = |c: &&Component| c.slips.iter().any(|s| s.kind != SlipKind::Sloppy);
    mixture.components.iter().filter(slipped).map(|c| c.probability).sum()
}

/// The length a reading should have shown under a slip whose size its kind tells.
pub(crate) fn meant(slip: &Slip, observation: usize, value: f64) -> Option<Length> {
    let part = slip.touches.iter().find(|t| t.0 == observation)?.1;
    slip.kind.is_exact().then(|| Length::from_mm(value + part * slip.shift))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exchanged_digits_are_neighbours_of_the_whole_part() {
        let inches = digit_exchanges(57.25 * MM_PER_INCH, Unit::Inch);
        let meant: Vec<f64> =
            inches.iter().map(|m| (m.0 / MM_PER_INCH * 1e6).round() / 1e6).collect();
        assert_eq!(meant, [507.25, 75.25]);
        // 75 has one pair of neighbours, 507 two.
        assert_eq!([inches[0].1, inches[1].1], [0.5, 1.0]);
        let lengths = digit_exchanges(1337.0, Unit::Millimetre).into_iter().map(|m| m.0);
        assert_eq!(lengths.collect::<Vec<_>>(), [10_337.0, 3137.0, 1373.0]);
        // 90 1/2 with its digits exchanged is written 9 1/2.
        assert!(
            digit_exchanges(9.5 * MM_PER_INCH, Unit::Inch)
                .iter()
                .any(|m| (m.0 - 90.5 * MM_PER_INCH).abs() < 1e-9)
        );
    }
}
