//! Does a wiper blade's length go with where its ends lie, with the other blade, and with its class?
//!
//! The stated model: lengths of a class's blades are normal about a usual one; two blades of a screen
//! are equally long but for a little three times in four, else unlike. The ends' places, read from
//! the glass edges, are set out on the judged outline, and the straight between them is the length but
//! for the spread of its four numbers (first order), of the outline, and of the blade's own curve.
//! Which side an end was read from is not written down: same or opposite sides are weighed equally. A
//! flat blade lies near the base edge. Sizes are common practice, no published source.

use std::fmt;

use nalgebra::{DMatrix, DVector};

use crate::judge::Judgement;
use crate::lone::{FittingJudgement, Lone, either, judge_group, log_normal, pairs};
use crate::name::{Class, Level, Span};
use crate::policy::Policy;
use crate::standing::Standing;
use crate::tape::TapeReading;
use crate::words::Voice;

/// A wiper blade that gets a sleeve.
#[derive(Clone, Debug, PartialEq)]
pub struct Blade {
    /// Its name.
    pub name: String,
    /// Length of the blade.
    pub length: TapeReading,
    /// How it parks.
    pub park: Park,
    /// Where its lower end lies, parked.
    pub heel: Option<BladePoint>,
    /// Where its other end lies, parked.
    pub tip: Option<BladePoint>,
}

/// How a blade parks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Park {
    /// Lying along the base edge.
    Flat,
    /// Standing.
    Upright,
}

impl Park {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Flat, Self::Upright];
}

impl fmt::Display for Park {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Flat => "flat",
            Self::Upright => "upright",
        })
    }
}

/// A place on the glass, from its edges.
#[derive(Clone, Debug, PartialEq)]
pub struct BladePoint {
    /// Up from the base edge; negative below it.
    pub from_base: TapeReading,
    /// Level, from the nearer side edge.
    pub from_side: TapeReading,
}

/// Spread of a blade's length as taken, mm. Common practice, no source.
const TAKEN: f64 = 4.0;
/// Spread of each number of an end's place, mm: ends are soft and stand off the glass. Common
/// practice, no source.
const PLACED: f64 = 8.0;
/// Spread of the straight between the ends about the length, mm: blades bend with the glass, and
/// caps hide their ends. Common practice, no source.
const CURVED: f64 = 8.0;
/// How far two blades of a pair differ, mm. Common practice, no source.
const ALIKE: f64 = 4.0;
/// How often two blades of a screen are a pair. Common practice, no source.
const OFTEN_ALIKE: f64 = 0.75;
/// How high above the base edge the ends of a flat blade (and the heel of any) lie, and their
/// spread, mm. Common practice, no source.
const LIES: (f64, f64) = (90.0, 90.0);
/// How often an end is read from the side that is not nearer. Chosen by us.
const FARTHER: f64 = 0.03;

/// Length of a class's blades and its spread, mm. Common practice, no source.
const fn usual(class: Class) -> (f64, f64) {
    match class {
        Class::Coach => (820.0, 130.0),
        Class::Lorry => (620.0, 110.0),
        Class::Camper => (560.0, 120.0),
        Class::Van => (560.0, 110.0),
        Class::FarmCab => (500.0, 130.0),
        Class::Boat => (450.0, 130.0),
    }
}

/// The numbers of a blade after its length, as files spell them and as people say them.
const PLACES: [(&str, &str); 4] = [
    ("heel.from_base", "height of the lower end"),
    ("heel.from_side", "distance in from the side of the lower end"),
    ("tip.from_base", "height of the other end"),
    ("tip.from_side", "distance in from the side of the other end"),
];

/// Judges the numbers of an order's blades; `screen` is the pane they park on, once judged.
#[must_use]
pub fn judge_blades(
    class: Class,
    blades: &[Blade],
    screen: Option<&Judgement>,
    voice: &Voice,
    policy: &Policy,
) -> Vec<FittingJudgement> {
    let glass = screen.and_then(Glass::of);
    let names: Vec<&str> = blades.iter().map(|blade| &*blade.name).collect();
    let mut judged: Vec<Option<FittingJudgement>> = vec![None; blades.len()];
    for group in pairs(&names) {
        let mut numbers = Vec::new();
        let mut first = Vec::new();
        for (of, &i) in group.iter().enumerate() {
            let blade = &blades[i];
            first.push(numbers.len());
            let words = format!("length of {}", blade.name);
            numbers.push(Lone { of, key: "length", words, tape: &blade.length });
            if let (Some(heel), Some(tip)) = (&blade.heel, &blade.tip) {
                let tapes = [&heel.from_base, &heel.from_side, &tip.from_base, &tip.from_side];
                numbers.extend(PLACES.iter().zip(tapes).map(|(&(key, said), tape)| Lone {
                    of,
                    key,
                    words: format!("{said} of {}", blade.name),
                    tape,
                }));
            }
        }
        let n = numbers.len();
        let of_blade: Vec<(usize, bool, Park)> = group
            .iter()
            .enumerate()
            .map(|(of, &i)| {
                let next = first.get(of + 1).copied().unwrap_or(n);
                (first[of], next > first[of] + 1, blades[i].park)
            })
            .collect();
        let likelihood = |values: &[f64], wider: &[f64]| {
            group_likelihood(usual(class), &of_blade, glass.as_ref(), values, wider)
        };
        let names: Vec<&str> = group.iter().map(|&i| names[i]).collect();
        let found = judge_group(&names, &numbers, &likelihood, voice, policy);
        group.into_iter().zip(found).for_each(|(i, found)| judged[i] = Some(found));
    }
    judged.into_iter().flatten().collect()
}

/// Something that says a blade's length: the blade it belongs to, what it says, its variance.
type Said = (usize, f64, f64);

fn group_likelihood(
    usual: (f64, f64),
    blades: &[(usize, bool, Park)],
    glass: Option<&Glass>,
    values: &[f64],
    wider: &[f64],
) -> f64 {
    let mut log = 0.0;
    // Every way in which ends may have been read from the same or opposite sides.
    let mut ways: Vec<(f64, Vec<Said>)> = vec![(0.0, Vec::new())];
    for (b, &(at, placed, park)) in blades.iter().enumerate() {
        let length = (b, values[at], TAKEN * TAKEN + wider[at]);
        ways.iter_mut().for_each(|way| way.1.push(length));
        if !placed {
            continue;
        }
        let own = |k: usize| PLACED * PLACED + wider[at + 1 + k];
        let low = |k: usize| log_normal(values[at + 1 + k] - LIES.0, LIES.1.powi(2) + own(k));
        log += low(0);
        if park == Park::Flat {
            log += low(2);
        }
        let Some(glass) = glass else { continue };
        let numbers: [f64; 4] = std::array::from_fn(|k| values[at + 1 + k]);
        let between: Vec<(f64, Said)> = [false, true]
            .into_iter()
            .filter_map(|across| {
                let apart = glass.between(numbers, across)?;
                let mut variance = CURVED * CURVED + 2.0 * glass.variance;
                for k in 0..4 {
                    let mut moved = numbers;
                    moved[k] += 1.0;
                    variance += (glass.between(moved, across)? - apart).powi(2) * own(k);
                }
                Some((0.5_f64.ln(), (b, apart, variance)))
            })
            .collect();
        for k in [1, 3] {
            let far = numbers[k] - glass.width / 2.0;
            let nearer = crate::normal_below(-far / own(k).sqrt());
            log += (FARTHER + (1.0 - FARTHER) * nearer).ln();
        }
        if !between.is_empty() {
            ways = ways
                .iter()
                .flat_map(|way| {
                    between.iter().map(|(odds, said)| {
                        let mut lengths = way.1.clone();
                        lengths.push(*said);
                        (way.0 + odds, lengths)
                    })
                })
                .collect();
        }
    }
    let (two, alone) = (blades.len() > 1, usual.1.powi(2));
    let logs: Vec<f64> = ways
        .iter()
        .map(|(odds, said)| {
            let pair = ALIKE * ALIKE;
            let apart = lengths_likelihood(usual.0, [0.0, alone], said);
            odds + match two {
                true => {
                    either(OFTEN_ALIKE, lengths_likelihood(usual.0, [alone, pair], said), apart)
                }
                false => apart,
            }
        })
        .collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    log + most + logs.iter().map(|l| (l - most).exp()).sum::<f64>().ln()
}

/// Log likelihood of what is said of lengths that share one variance and have one each of their own.
fn lengths_likelihood(mean: f64, [shared, own]: [f64; 2], said: &[Said]) -> f64 {
    let n = said.len();
    let covariance = DMatrix::from_fn(n, n, |i, j| {
        let same = if said[i].0 == said[j].0 { own } else { 0.0 };
        shared + same + if i == j { said[i].2 } else { 0.0 }
    });
    let off = DVector::from_iterator(n, said.iter().map(|s| s.1 - mean));
    let Some(factor) = covariance.cholesky() else { return f64::NEG_INFINITY };
    let log_det: f64 = factor.l_dirty().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
    -0.5 * (off.dot(&factor.solve(&off)) + log_det)
}

/// The judged screen as blades lie on it.
struct Glass {
    standing: Standing<f64>,
    /// Width near the base, mm.
    width: f64,
    /// Mean variance of the outline, mm².
    variance: f64,
}

impl Glass {
    fn of(screen: &Judgement) -> Option<Self> {
        let standing = Standing::of(&screen.outline, screen.small)?;
        let width = standing.read(Span::Width(Level::Base), None)?;
        let squares: f64 = screen.edge.iter().map(|p| p.sd.mm().powi(2)).sum();
        Some(Self { standing, width, variance: squares / screen.edge.len().max(1) as f64 })
    }

    /// How far heel and tip lie apart, read from the same side or from opposite ones.
    fn between(&self, [heel_up, heel_in, tip_up, tip_in]: [f64; 4], across: bool) -> Option<f64> {
        let heel = self.place(heel_up, heel_in, false)?;
        let tip = self.place(tip_up, tip_in, across)?;
        Some((heel[0] - tip[0]).hypot(heel[1] - tip[1]))
    }

    /// The place so far above the base edge and so far in from a side edge at its own level.
    fn place(&self, up: f64, inwards: f64, right: bool) -> Option<[f64; 2]> {
        let shape = self.standing.shape();
        let [_, base] = self.standing.origin();
        let mut y = base + up;
        let mut x = 0.0;
        for _ in 0..8 {
            // Below the base corners no level meets a side; the lowest that does stands in.
            let levels = (0..12).map(|i| y.max(base) + 15.0 * f64::from(i));
            let ends = levels
                .filter_map(|level| shape.crossings([0.0, level], [1.0, 0.0]))
                .find(|ends| ends[1].along - ends[0].along > self.width / 2.0)?;
            x = if right { ends[1].along - inwards } else { ends[0].along + inwards };
            let low = shape.crossings([x, 0.0], [0.0, 1.0])?[0].along;
            if (low + up - y).abs() < 1e-3 {
                break;
            }
            y = low + up;
        }
        Some([x, y])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::explain::SlipKind;
    use crate::name::{Column, Family, ReadingName};
    use crate::reading::{PaneReadings, Reading, Vehicle};
    use crate::tape::{Unit, read_tape};
    use geometry::Length;

    fn inches(words: &str) -> TapeReading {
        read_tape(words, Unit::Inch).unwrap().on_tape_of(Length::from_inches(0.125))
    }

    fn blade(name: &str, length: &str, [hb, hs, tb, ts]: [&str; 4]) -> Blade {
        let point =
            |base, side| Some(BladePoint { from_base: inches(base), from_side: inches(side) });
        Blade {
            name: name.into(),
            length: inches(length),
            park: Park::Flat,
            heel: point(hb, hs),
            tip: point(tb, ts),
        }
    }

    fn pane() -> PaneReadings {
        let outside = |span, words| Reading::once(ReadingName::outside(span), inches(words));
        let readings = vec![
            outside(Span::Height(Column::Centre), "57 3/8"),
            outside(Span::Height(Column::Left), "56 1/2"),
            outside(Span::Height(Column::Right), "56 1/2"),
            outside(Span::Width(Level::Base), "91 1/4"),
            outside(Span::Width(Level::Top), "86"),
        ];
        PaneReadings::new("front", Family::Windscreen, readings)
    }

    fn judged(blades: &[Blade]) -> Vec<FittingJudgement> {
        let (vehicle, pane, policy) = (Vehicle::of_class(Class::Coach), pane(), Policy::starting());
        let voice = Voice::new(Unit::Inch, Length::from_inches(0.125), &vehicle, &pane);
        let screen = crate::judge(&vehicle, &pane, None, &voice, &policy).unwrap();
        judge_blades(Class::Coach, blades, Some(&screen), &voice, &policy)
    }

    const LEFT: [&str; 4] = ["3 1/4", "14", "4", "45 1/2"];
    const RIGHT: [&str; 4] = ["3 1/8", "44", "4", "12 3/4"];

    #[test]
    fn blades_that_go_with_their_places_raise_no_doubt() {
        for judged in judged(&[blade("left blade", "32", LEFT), blade("right blade", "32", RIGHT)])
        {
            assert!(judged.doubts.is_empty(), "{judged:?}");
        }
    }

    #[test]
    fn a_foot_in_one_length_is_found_by_the_places_and_the_other_blade() {
        let judged = judged(&[blade("left blade", "44", LEFT), blade("right blade", "32", RIGHT)]);
        let doubt = &judged[0].doubts[0];
        assert_eq!((doubt.reading, doubt.kind), ("length", SlipKind::Foot));
        assert!(doubt.probability > 0.8, "{doubt:?}");
        assert!((doubt.suggested.unwrap() - Length::from_inches(32.0)).mm().abs() < 0.1);
        assert!(
            doubt.message.starts_with("The length of left blade, 44 in, looks one foot too long")
        );
        assert!(judged[1].doubts.is_empty());
        assert_eq!(judged[0].questions[0].reading, "length");
    }

    #[test]
    fn a_wrong_place_is_found_at_the_place() {
        // 41 read as 14: digits exchanged in the side distance of the heel.
        let right = ["3 1/8", "53", "4", "12 3/4"];
        let judged = judged(&[blade("left blade", "32", LEFT), blade("right blade", "32", right)]);
        let places: Vec<&str> = judged[1].doubts.iter().map(|d| d.reading).collect();
        assert!(places.iter().all(|p| p.ends_with("from_side")), "{judged:?}");
        assert!(!places.is_empty() && judged[0].doubts.is_empty());
    }

    #[test]
    fn a_lone_length_is_held_against_its_class() {
        let bare = |length: &str| Blade { heel: None, tip: None, ..blade("blade", length, LEFT) };
        assert!(judged(&[bare("32")])[0].doubts.is_empty());
        let doubt = judged(&[bare("81")])[0].doubts[0].clone();
        assert_eq!(doubt.kind, SlipKind::Unit, "{doubt:?}");
    }

    #[test]
    fn a_slip_in_the_odds_of_nobody_is_never_doubted() {
        let nobody = Policy { slips: crate::SlipRates::NONE, ..Policy::starting() };
        let pane = pane();
        let voice = Voice::new(
            Unit::Inch,
            Length::from_inches(0.125),
            &Vehicle::of_class(Class::Coach),
            &pane,
        );
        let blades = [blade("left blade", "50", LEFT)];
        let judged = judge_blades(Class::Coach, &blades, None, &voice, &nobody);
        assert!(judged[0].doubts.is_empty());
    }
}
