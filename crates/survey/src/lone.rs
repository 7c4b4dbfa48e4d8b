//! Numbers that no outline ties together: the few of a blade or a mirror housing.
//!
//! A stated, simple model: at most one of a group's numbers slipped, every slip with the odds that
//! outside readings have, and the honest numbers are as probable as the group's own model says, a
//! mixture of Gaussians. With L(y, s²) that likelihood at numbers y whose variances are enlarged by
//! s², an explanation that number i slipped by d with spread s weighs odds·L(y + d·eᵢ, s²·eᵢ)
//! against L(y) for none. Its probability is its share of all. Valid where slips are rare: two in
//! one group are told as the likelier one.

use geometry::{Length, MM_PER_INCH};

use crate::explain::{SlipKind, digit_exchanges, mm_per};
use crate::policy::{Policy, SlipRates};
use crate::tape::{TapeReading, Unit};
use crate::words::Voice;

/// A finding about one number of a blade or mirror housing.
#[derive(Clone, Debug, PartialEq)]
pub struct FittingDoubt {
    /// Which number, as its file spells it: `length`, `heel.from_side`.
    pub reading: &'static str,
    /// How it is probably wrong.
    pub kind: SlipKind,
    /// Probability of that explanation.
    pub probability: f64,
    /// What it probably should be.
    pub suggested: Option<Length>,
    /// One or two plain sentences.
    pub message: String,
}

/// What is asked about it.
#[derive(Clone, Debug, PartialEq)]
pub struct FittingQuestion {
    /// Which number to take again.
    pub reading: &'static str,
    /// A plain sentence.
    pub message: String,
}

/// The answer about one blade or mirror housing.
#[derive(Clone, Debug, PartialEq)]
pub struct FittingJudgement {
    /// Its name.
    pub name: String,
    /// Findings, most probable first.
    pub doubts: Vec<FittingDoubt>,
    /// What to ask.
    pub questions: Vec<FittingQuestion>,
}

/// One number of a group.
#[derive(Clone, Debug)]
pub(crate) struct Lone<'a> {
    /// Which blade or housing of the group.
    pub(crate) of: usize,
    /// Its spelling in files.
    pub(crate) key: &'static str,
    /// What people call it.
    pub(crate) words: String,
    /// What was read.
    pub(crate) tape: &'a TapeReading,
}

/// What may be wrong with one number.
struct Slip {
    at: usize,
    kind: SlipKind,
    shift: f64,
    spread: f64,
    odds: f64,
}

/// Judges a group whose log likelihood at numbers with further variances (mm, mm²) is `likelihood`.
pub(crate) fn judge_group(
    names: &[&str],
    numbers: &[Lone<'_>],
    likelihood: &dyn Fn(&[f64], &[f64]) -> f64,
    voice: &Voice,
    policy: &Policy,
) -> Vec<FittingJudgement> {
    let read: Vec<f64> = numbers.iter().map(|n| n.tape.length.mm()).collect();
    let honest = vec![0.0; read.len()];
    let weigh = |slip: &Slip| {
        let (mut values, mut wider) = (read.clone(), honest.clone());
        values[slip.at] += slip.shift;
        wider[slip.at] = slip.spread * slip.spread;
        slip.odds.ln() + likelihood(&values, &wider)
    };
    let slips: Vec<Slip> = numbers
        .iter()
        .enumerate()
        .flat_map(|(at, number)| slips_of(at, number.tape, &policy.slips))
        .collect();
    let logs: Vec<f64> = slips.iter().map(weigh).collect();
    let none = likelihood(&read, &honest);
    let most = logs.iter().copied().fold(none, f64::max);
    let total = (none - most).exp() + logs.iter().map(|log| (log - most).exp()).sum::<f64>();
    let part = |i: usize| (logs[i] - most).exp() / total;
    let mut judged: Vec<FittingJudgement> = names
        .iter()
        .map(|name| FittingJudgement {
            name: (*name).to_owned(),
            doubts: Vec::new(),
            questions: Vec::new(),
        })
        .collect();
    for (at, number) in numbers.iter().enumerate() {
        // Explanations of one kind count together; the likeliest of them says the size.
        let mut kinds: Vec<(SlipKind, f64, usize)> = Vec::new();
        for i in (0..slips.len()).filter(|&i| slips[i].at == at) {
            match kinds.iter_mut().find(|k| k.0 == slips[i].kind) {
                Some(known) => {
                    known.1 += part(i);
                    known.2 = if part(i) > part(known.2) { i } else { known.2 };
                }
                None => kinds.push((slips[i].kind, part(i), i)),
            }
        }
        let slipped: f64 = kinds.iter().map(|k| k.1).sum();
        let likeliest = kinds.into_iter().max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((kind, probability, which)) = likeliest else { continue };
        if slipped < policy.fit.doubt_at {
            continue;
        }
        let suggested = match kind.is_exact() {
            true => read[at] + slips[which].shift,
            false => likeliest_value(at, &read, likelihood),
        };
        let suggested = Some(Length::from_mm(suggested));
        let named = (&*number.words, number.tape.length);
        let message = voice.slip(kind, named, "", suggested, probability);
        let of = &mut judged[number.of];
        let reading = number.key;
        of.doubts.push(FittingDoubt { reading, kind, probability, suggested, message });
        let message = format!("Please read the {} once more.", number.words);
        of.questions.push(FittingQuestion { reading, message });
    }
    for fitting in &mut judged {
        fitting.doubts.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    }
    judged
}

/// The value of one number that goes best with the others, to the nearest two millimetres.
fn likeliest_value(at: usize, read: &[f64], likelihood: &dyn Fn(&[f64], &[f64]) -> f64) -> f64 {
    let wider = vec![0.0; read.len()];
    let log = |value: f64| {
        let mut values = read.to_vec();
        values[at] = value;
        likelihood(&values, &wider)
    };
    let tried = (0..1500).map(|i| 2.0 * f64::from(i));
    tried.max_by(|a, b| log(*a).total_cmp(&log(*b))).unwrap_or(read[at])
}

/// How far a number strays that is wrong in no usual way, mm; as for panes.
const UNEXPLAINED_MM: f64 = 120.0;

fn slips_of(at: usize, tape: &TapeReading, rates: &SlipRates) -> Vec<Slip> {
    let mut slips = Vec::new();
    let mut push = |kind, shift: f64, spread: f64, odds: f64| {
        if odds > 0.0 {
            slips.push(Slip { at, kind, shift, spread, odds });
        }
    };
    let (value, unit) = (tape.length.mm(), tape.unit);
    let one = if unit == Unit::Inch { MM_PER_INCH } else { 10.0 };
    for sign in [-1.0, 1.0] {
        push(SlipKind::Inch, sign * one, 0.0, rates.inch / 2.0);
        push(SlipKind::Ten, sign * 10.0 * one, 0.0, rates.ten / 2.0);
        if unit == Unit::Inch {
            push(SlipKind::HalfInch, sign * one / 2.0, 0.0, rates.half_inch / 2.0);
            push(SlipKind::Foot, sign * 12.0 * one, 0.0, rates.foot / 2.0);
        }
    }
    let whole = (value / one - (value / one).round()).abs() < 1e-6;
    if whole && tape.graduation.mm() < one {
        // The part left out lies anywhere between nothing and one.
        push(SlipKind::FractionDropped, one / 2.0, one / 12.0_f64.sqrt(), rates.fraction_dropped);
    }
    for (other, part) in digit_exchanges(value, unit) {
        push(SlipKind::DigitsExchanged, other - value, 0.0, rates.digits_exchanged * part);
    }
    for other in [Unit::Inch, Unit::Centimetre, Unit::Millimetre] {
        if other != unit {
            let meant = value / mm_per(unit) * mm_per(other);
            push(SlipKind::Unit, meant - value, 0.0, rates.unit / 2.0);
        }
    }
    push(SlipKind::Unexplained, 0.0, UNEXPLAINED_MM, rates.unexplained);
    slips.retain(|slip| slip.kind == SlipKind::Unexplained || value * (value + slip.shift) >= 0.0);
    slips
}

/// Logarithm of a normal density about zero.
pub(crate) fn log_normal(off: f64, variance: f64) -> f64 {
    -0.5 * (off * off / variance + variance.ln())
}

/// Logarithm of the mean of two densities, the first with that part.
pub(crate) fn either(part: f64, first: f64, second: f64) -> f64 {
    let most = first.max(second);
    most + (part * (first - most).exp() + (1.0 - part) * (second - most).exp()).ln()
}

/// Groups of what belongs to left and right: two of a kind, or names alike but for the side.
pub(crate) fn pairs<'a>(names: &[&'a str]) -> Vec<Vec<usize>> {
    let other_side = |name: &'a str| {
        let lower = name.to_lowercase();
        let sides = [("left", "right"), ("driver", "passenger"), ("offside", "nearside")];
        sides.into_iter().find_map(|(a, b)| match (lower.contains(a), lower.contains(b)) {
            (true, false) => Some(lower.replace(a, b)),
            (false, true) => Some(lower.replace(b, a)),
            _ => None,
        })
    };
    if names.len() == 2 {
        return vec![vec![0, 1]];
    }
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for i in 0..names.len() {
        let mate = other_side(names[i]);
        let is_mate = |group: &&mut Vec<usize>| {
            group.len() == 1 && mate.as_deref() == Some(&*names[group[0]].to_lowercase())
        };
        match groups.iter_mut().find(is_mate) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn left_and_right_of_a_kind_belong_together() {
        assert_eq!(pairs(&["one", "two"]), [[0, 1]]);
        let names = ["Left upper mirror", "left lower mirror", "right lower mirror", "spare"];
        assert_eq!(pairs(&names), [vec![0], vec![1, 2], vec![3]]);
    }
}
