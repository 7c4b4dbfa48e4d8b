//! Which pole of each magnet faces the glass, and the field of a packed cover.
//!
//! Going round the edge poles alternate, so that the cover as a whole has hardly a field at a
//! distance. Folded down the middle, glass sides together, magnets that meet should show each other
//! unlike poles, or the folded cover springs open. With an odd number two neighbours must be alike;
//! every place for these, or for two such places, is tried and the best taken.
//!
//! Field of a parcel: the magnets lie side by side in a square array, [`Packing`] says with which
//! poles; the field is the sum of theirs along the three axes, the strongest one counts, plus what is
//! left over because magnets differ: `2 σ √n · B₁`, σ = 5 % (magnets of one delivery differ by
//! several per cent; common practice, no source).
//!
//! Limits for carriage by air, from memory of the dangerous goods rules: a parcel counts as
//! magnetised from 0.159 A/m (0.2 µT) at 2.1 m on, and is forbidden above 0.418 A/m (0.525 µT) at
//! 4.6 m. Carriers measure; this is an estimate for choosing how to pack.

use std::fmt;

use geometry::{Length, Pane, Point};

use crate::{FluxDensity, HoldError, Magnet, flux_density};

/// The pole of a magnet that faces the glass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pole {
    /// North.
    North,
    /// South.
    South,
}

impl Pole {
    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::North => Self::South,
            Self::South => Self::North,
        }
    }
}

impl fmt::Display for Pole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::North => "N",
            Self::South => "S",
        })
    }
}

/// The poles at one grip, both as they face the glass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GripPoles {
    /// Of the magnet in the hem.
    pub outer: Pole,
    /// Of the magnet inside; always the other one, or the pair would push apart.
    pub inner: Pole,
}

impl GripPoles {
    /// What is marked on the inner magnet's face towards the glass, so that it goes to its side and
    /// its grip: `N to glass`.
    #[must_use]
    pub fn inner_mark(&self) -> String {
        format!("{} to glass", self.inner)
    }
}

/// Which pole faces the glass at each grip.
#[derive(Clone, Debug, PartialEq)]
pub struct PolarityPlan {
    /// At each grip, in the order given.
    pub poles: Vec<GripPoles>,
    /// Pairs of neighbours that are alike, by index of the first.
    pub alike: Vec<usize>,
    /// Pairs that meet when the cover is folded down the middle and push apart, by index.
    pub fights: Vec<(usize, usize)>,
    /// Grips with north to the glass less those with south.
    pub unbalanced: i32,
}

/// How near two magnets of a folded cover must come to matter. Chosen by us: at 40 mm discs of 20 mm
/// hardly feel one another.
const MEETS: Length = Length::from_mm(40.0);

/// Chooses the poles of grips given in their order round the edge.
///
/// # Errors
/// When there are none, or more than 200.
pub fn plan_polarity(grips: &[Point<Pane>]) -> Result<PolarityPlan, HoldError> {
    let n = grips.len();
    count("grips", n, 200)?;
    let meets = folded(grips);
    let plan = |breaks: &[usize]| -> PolarityPlan {
        let mut outer = Pole::North;
        let mut poles = Vec::with_capacity(n);
        for i in 0..n {
            if i > 0 && !breaks.contains(&(i - 1)) {
                outer = outer.other();
            }
            poles.push(GripPoles { outer, inner: outer.other() });
        }
        let alike = (0..n).filter(|&i| n > 1 && poles[i] == poles[(i + 1) % n]).collect();
        let fights = meets.iter().copied().filter(|&(i, j)| poles[i] == poles[j]).collect();
        let sign = |p: &GripPoles| if p.outer == Pole::North { 1 } else { -1 };
        let unbalanced = poles.iter().map(sign).sum();
        PolarityPlan { poles, alike, fights, unbalanced }
    };
    // A fight is worse than any number of like neighbours we try; then balance, then order.
    let cost = |plan: &PolarityPlan| {
        (plan.fights.len(), plan.unbalanced.unsigned_abs() as usize + plan.alike.len())
    };
    let one = (0..n).map(|i| vec![i]);
    let two = (0..n).flat_map(|i| (i + 1..n).map(move |j| vec![i, j]));
    let mut best = plan(&[]);
    for breaks in one.chain(two) {
        let next = plan(&breaks);
        if cost(&next) < cost(&best) {
            best = next;
        }
    }
    Ok(best)
}

/// Pairs that meet when the cover is folded down the vertical centre line.
fn folded(grips: &[Point<Pane>]) -> Vec<(usize, usize)> {
    let mirrored = |p: &Point<Pane>| Point::new(-p.x(), p.y());
    let mut meets = Vec::new();
    for (i, a) in grips.iter().enumerate() {
        for (j, b) in grips.iter().enumerate().skip(i + 1) {
            // Those near the fold lie beside each other there and never come face to face.
            let apart = a.x().mm() * b.x().mm() < 0.0 && a.distance(*b) > MEETS;
            if apart && mirrored(a).distance(*b) < MEETS {
                meets.push((i, j));
            }
        }
    }
    meets
}

/// How the magnets of a parcel lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Packing {
    /// All with the same pole up: never send them like this.
    Aligned,
    /// Neighbours with unlike poles up.
    Alternating,
    /// The same, between two keepers of iron sheet that lead the field from one to the next.
    AlternatingWithKeepers,
}

/// Share of the field that keepers leave: chosen by us on the safe side of what closed iron does.
const PAST_KEEPERS: f64 = 0.3;

/// Spread of strength of the magnets of one delivery.
const SPREAD: f64 = 0.05;

/// Where the field of a parcel is told: near an implant, and where carriers by air measure.
pub const PARCEL_DISTANCES: [Length; 3] =
    [Length::from_mm(150.0), Length::from_mm(2100.0), Length::from_mm(4600.0)];

/// Field at 2.1 m from which a parcel counts as magnetised: 0.159 A/m (from memory).
pub const MAGNETISED_FROM: FluxDensity = FluxDensity::from_tesla(0.2e-6);

/// Field at 4.6 m above which air carriage is forbidden: 0.418 A/m (from memory).
pub const FORBIDDEN_ABOVE: FluxDensity = FluxDensity::from_tesla(0.525e-6);

/// The estimated field of a packed parcel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ParcelField {
    /// At each of [`PARCEL_DISTANCES`] from its side.
    pub at: [FluxDensity; 3],
}

/// What the rules of air carriage make of a parcel, as far as an estimate can say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AirCarriage {
    /// Below what counts as magnetised.
    Unrestricted,
    /// Magnetised: must be declared, packed and marked by the carrier's rules.
    Declared,
    /// Too strong to go by air.
    Forbidden,
}

impl ParcelField {
    /// What the rules of air carriage make of it.
    #[must_use]
    pub fn air_carriage(&self) -> AirCarriage {
        match self.at {
            [_, _, far] if far > FORBIDDEN_ABOVE => AirCarriage::Forbidden,
            [_, near, _] if near >= MAGNETISED_FROM => AirCarriage::Declared,
            _ => AirCarriage::Unrestricted,
        }
    }
}

/// Estimates the field round a parcel of `n_magnets` like this one, `apart` between middles.
///
/// # Errors
/// When there are none or more than 1000, or they would overlap or be more than half a metre apart.
pub fn parcel_field(
    magnet: &Magnet,
    n_magnets: usize,
    apart: Length,
    packing: Packing,
) -> Result<ParcelField, HoldError> {
    count("magnets", n_magnets, 1000)?;
    let [half_x, half_y, half_z] = magnet.shape().half_sizes_mm();
    let least = 2.0 * half_x.max(half_y);
    let way_out = "measure between the middles of two magnets in the folded cover";
    HoldError::check(
        "distance between packed magnets",
        apart.mm(),
        [least, 500.0],
        " mm",
        way_out,
    )?;
    let side = (1..).find(|s| s * s >= n_magnets).unwrap_or(n_magnets);
    let middle = 0.5 * (side as f64 - 1.0);
    let places: Vec<([f64; 2], f64)> = (0..n_magnets)
        .map(|i| {
            let (column, row) = (i % side, i / side);
            let unlike = packing != Packing::Aligned && (column + row) % 2 == 1;
            let at = [column, row].map(|k| (k as f64 - middle) * apart.mm());
            (at, if unlike { -1.0 } else { 1.0 })
        })
        .collect();
    let reach = middle * apart.mm() + half_x.max(half_y);
    let spread = 2.0 * SPREAD * (n_magnets as f64).sqrt();
    let at = PARCEL_DISTANCES.map(|distance| {
        let d = distance.mm();
        let field = |place: [f64; 3]| {
            flux_density(magnet, place.map(Length::from_mm)).map(FluxDensity::tesla)
        };
        let each =
            [[reach + d, 0.0, 0.0], [0.0, reach + d, 0.0], [0.0, 0.0, half_z + d]].map(|p| {
                let mut sum = [0.0; 3];
                for &([x, y], sign) in &places {
                    let b = field([p[0] - x, p[1] - y, p[2]]);
                    sum = std::array::from_fn(|k| sum[k] + sign * b[k]);
                }
                let one = field(p).into_iter().map(|b| b * b).sum::<f64>().sqrt();
                sum.into_iter().map(|b| b * b).sum::<f64>().sqrt() + spread * one
            });
        let kept = if packing == Packing::AlternatingWithKeepers { PAST_KEEPERS } else { 1.0 };
        FluxDensity::from_tesla(kept * each.into_iter().fold(0.0, f64::max))
    });
    Ok(ParcelField { at })
}

fn count(item: &'static str, n: usize, most: usize) -> Result<(), HoldError> {
    if (1..=most).contains(&n) {
        return Ok(());
    }
    Err(HoldError::Input {
        item,
        found: n.to_string(),
        needed: format!("from 1 to {most}"),
        way_out: "enter how many there really are",
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn grips(places: &[[f64; 2]]) -> Vec<Point<Pane>> {
        places.iter().map(|&[x, y]| Point::from_mm(x, y)).collect()
    }

    /// n grips round a rectangle, mirror images of one another, with or without two on the fold.
    fn round(half: usize, on_fold: bool) -> Vec<Point<Pane>> {
        let right: Vec<[f64; 2]> =
            (0..half).map(|i| [900.0 - 100.0 * (i % 2) as f64, 100.0 + 150.0 * i as f64]).collect();
        let mut all = if on_fold { vec![[0.0, 0.0]] } else { vec![] };
        all.extend(&right);
        if on_fold {
            all.push([0.0, 1300.0]);
        }
        all.extend(right.iter().rev().map(|[x, y]| [-x, *y]));
        grips(&all)
    }

    #[test]
    fn an_even_number_alternates_and_folds_in_peace() {
        for half in 2..12 {
            let plan = plan_polarity(&round(half, false)).unwrap();
            assert_eq!((plan.unbalanced, plan.alike.len(), plan.fights.len()), (0, 0, 0), "{half}");
            let plan = plan_polarity(&round(half, true)).unwrap();
            assert!(plan.fights.is_empty() && plan.alike.len() <= 2, "{half} {plan:?}");
        }
    }

    #[test]
    fn an_odd_number_has_one_like_pair() {
        let mut places = round(5, false);
        places.push(Point::from_mm(0.0, 0.0));
        let plan = plan_polarity(&places).unwrap();
        assert_eq!((plan.alike.len(), plan.fights.len()), (1, 0), "{plan:?}");
        assert_eq!(plan.unbalanced.abs(), 1);
        let one = plan_polarity(&grips(&[[0.0, 0.0]])).unwrap();
        assert_eq!((one.poles.len(), one.alike.len()), (1, 0));
    }

    #[test]
    fn inner_magnets_are_marked_for_their_side() {
        let plan = plan_polarity(&round(3, false)).unwrap();
        for poles in &plan.poles {
            assert_eq!(poles.inner_mark(), format!("{} to glass", poles.outer.other()));
        }
    }

    #[test]
    fn alternating_magnets_are_quieter_far_off() {
        let magnet: Magnet = "disc:20x5:N42H".parse().unwrap();
        let apart = Length::from_mm(25.0);
        let [aligned, alternating, kept] =
            [Packing::Aligned, Packing::Alternating, Packing::AlternatingWithKeepers]
                .map(|packing| parcel_field(&magnet, 36, apart, packing).unwrap());
        for k in 0..3 {
            assert!(alternating.at[k] < aligned.at[k] * 0.2 && kept.at[k] < alternating.at[k]);
        }
        assert_ne!(aligned.air_carriage(), AirCarriage::Unrestricted);
    }

    /// B = J V / (2π r³) on the axis, plus the spread.
    #[test]
    fn one_magnet_far_off_is_a_dipole() {
        let magnet: Magnet = "disc:20x5:1.2".parse().unwrap();
        let field = parcel_field(&magnet, 1, Length::from_mm(30.0), Packing::Aligned).unwrap();
        let dipole =
            1.2 * 500.0 * std::f64::consts::PI / (std::f64::consts::TAU * 4602.5_f64.powi(3));
        assert!((field.at[2].tesla() / (1.1 * dipole) - 1.0).abs() < 1e-4, "{field:?}");
    }

    #[test]
    fn no_magnets_are_refused() {
        let magnet: Magnet = "disc:20x5:N42H".parse().unwrap();
        let apart = Length::from_mm(25.0);
        let message = parcel_field(&magnet, 0, apart, Packing::Aligned).unwrap_err().to_string();
        assert!(
            message.starts_with("magnets is 0, but must be from 1 to 1000; enter"),
            "{message}"
        );
        assert!(plan_polarity(&[]).is_err());
        assert!(parcel_field(&magnet, 9, Length::from_mm(5.0), Packing::Aligned).is_err());
    }

    proptest! {
        #[test]
        fn poles_are_balanced_and_pairs_attract(
            places in prop::collection::vec((-1200.0..1200.0_f64, 0.0..1400.0_f64), 1..24),
        ) {
            let places: Vec<[f64; 2]> = places.iter().map(|&(x, y)| [x, y]).collect();
            let plan = plan_polarity(&grips(&places)).unwrap();
            prop_assert!(plan.poles.iter().all(|p| p.inner == p.outer.other()));
            prop_assert!(plan.alike.len() <= 3 && plan.unbalanced.abs() <= 4, "{:?}", plan);
        }
    }
}
