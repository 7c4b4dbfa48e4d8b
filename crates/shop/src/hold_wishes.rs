//! How covers are held: what an order and its panes say of wind, magnets and straps, and the
//! workshop's usual choices for what they leave out.
//!
//! A pane's cover is held as the order says of all its covers, changed by what the pane says of its own.
//! What neither says has its usual value, and is told ([`HoldChoices::assumed`]).

use std::fmt;

use geometry::Length;
use hold::{
    Beaufort, ClothChoice, ClothInSun, Fabric, Friction, GLASS_IN_SUN, GUST_FACTOR, GlassInSun,
    HOTTEST_ON_GLASS, HoldAsk, HoldError, InnerHeld, Magnet, Measured, Partner, PressureZone,
    Speed, StrapTo, Temperature, Tension,
};
use survey::Corner;

use crate::cover::spelt;

spelt!(
    /// Where on a vehicle, seen as a house in the wind, a pane is reckoned to be.
    Exposure {
        /// Anywhere: wind may come round the nearest corner and suck hardest (zone A).
        Anywhere = "anywhere",
        /// Farther along a side that the wind passes (zone B).
        Along = "along",
        /// On the rest of such a side (zone C).
        Rest = "rest",
    }
);

impl Exposure {
    /// The zone of EN 1991-1-4 that it stands for.
    #[must_use]
    pub const fn zone(self) -> PressureZone {
        match self {
            Self::Anywhere => PressureZone::A,
            Self::Along => PressureZone::B,
            Self::Rest => PressureZone::C,
        }
    }
}

spelt!(
    /// How the inner magnet is kept.
    Inner {
        /// By the pull alone.
        Free = "free",
        /// So that it cannot move along the glass.
        Trapped = "trapped",
    }
);

impl Inner {
    /// As it is reckoned with.
    #[must_use]
    pub const fn held(self) -> InnerHeld {
        match self {
            Self::Free => InnerHeld::Free,
            Self::Trapped => InnerHeld::Trapped,
        }
    }
}

/// The wind a cover is wanted to withstand, parked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WantedWind {
    /// Gusts of that speed.
    Gust(Speed),
    /// Wind as people speak of it, gusts included.
    Beaufort(Beaufort),
}

impl WantedWind {
    /// Highest force that can be wanted: a hurricane has no upper limit.
    pub const MOST_BEAUFORT: u8 = 11;

    /// The gusts that come with it.
    #[must_use]
    pub fn gust(self) -> Speed {
        match self {
            Self::Gust(gust) => gust,
            Self::Beaufort(force) => {
                let most = force.upper_limit().unwrap_or(Speed::from_m_per_s(40.0));
                most * GUST_FACTOR
            }
        }
    }
}

impl fmt::Display for WantedWind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gust = self.gust().m_per_s();
        match self {
            Self::Gust(_) => write!(f, "gusts to {} m/s", rounded(gust)),
            Self::Beaufort(force) => {
                write!(f, "Beaufort {}, so gusts to {} m/s", force.force(), rounded(gust))
            }
        }
    }
}

/// To a tenth.
fn rounded(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// A magnet pair that the workshop has or can get.
#[derive(Clone, Debug, PartialEq)]
pub struct MagnetEntry {
    /// The workshop's name for it.
    pub name: String,
    /// In the hem, outside.
    pub outer: Magnet,
    /// Inside: a magnet or an iron disc.
    pub inner: Partner,
    /// Cost of one pair, in the workshop's money.
    pub cost: Option<f64>,
    /// Pairs on hand.
    pub on_hand: Option<usize>,
    /// What the workshop measured of a pair on its own glass and cloth.
    pub measured: Measured,
}

impl MagnetEntry {
    /// Two alike, known by their specification.
    pub(crate) fn alike(spec: &str) -> Result<Self, HoldError> {
        let outer: Magnet = spec.parse()?;
        Ok(Self {
            name: spec.to_owned(),
            outer,
            inner: Partner::Magnet(outer),
            cost: None,
            on_hand: None,
            measured: Measured::default(),
        })
    }
}

/// A strap from a corner of a pane's cover.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StrapWish {
    /// The pane.
    pub pane: String,
    /// The corner.
    pub corner: Corner,
    /// What it is led to.
    pub to: StrapTo,
}

/// What is said of how covers are held; what is left out has its usual value.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HoldWishes {
    /// The wind wanted.
    pub wind: Option<WantedWind>,
    /// By how much more than its rating it must hold with every grip in place.
    pub margin: Option<f64>,
    /// Where the pane is in the wind.
    pub exposure: Option<Exposure>,
    /// The magnets by name, the one to be used first.
    pub magnets: Vec<String>,
    /// Pad between the inner magnet's pocket and the glass.
    pub pad: Option<Length>,
    /// Whether the hem has a non-slip face at the magnets.
    pub non_slip: Option<bool>,
    /// How the inner magnet is kept.
    pub inner: Option<Inner>,
    /// Friction on the glass, outside and inside.
    pub friction: [Option<f64>; 2],
    /// How much larger than the span the cover is cut.
    pub ease: Option<f64>,
    /// Stiffness of the cloth across, up, and askew.
    pub stiffness: [Option<Tension>; 3],
    /// Open share of the cloth.
    pub openness: Option<f64>,
    /// What the magnets have in the sun.
    pub in_sun: Option<Temperature>,
    /// The hottest they have been.
    pub hottest: Option<Temperature>,
    /// The cloth in the sun.
    pub cloth_in_sun: Option<ClothInSun>,
    /// The glass in the sun.
    pub glass_in_sun: Option<GlassInSun>,
    /// Most grips of a pane.
    pub most_grips: Option<usize>,
    /// Farthest two neighbours may be apart.
    pub most_apart: Option<Length>,
    /// Wanted probability that a grip is hidden and within reach.
    pub confidence: Option<f64>,
}

/// How one pane's cover is held.
#[derive(Clone, Debug, PartialEq)]
pub struct HoldChoices {
    /// The wind wanted; nothing where the fewest pairs that keep the hem close will do.
    pub wind: Option<WantedWind>,
    /// By how much more than its rating it must hold with every grip in place.
    pub margin: f64,
    /// Where the pane is in the wind.
    pub exposure: Exposure,
    /// Pad between the inner magnet's pocket and the glass.
    pub pad: Length,
    /// Whether the hem has a non-slip face at the magnets.
    pub non_slip: bool,
    /// How the inner magnet is kept.
    pub inner: Inner,
    /// Friction on the glass.
    pub friction: Friction,
    /// The cloth as the wind finds it.
    pub cloth: ClothChoice,
    /// Open share of the cloth.
    pub openness: f64,
    /// What the magnets have in the sun.
    pub in_sun: Temperature,
    /// The hottest they have been.
    pub hottest: Temperature,
    /// The cloth in the sun.
    pub cloth_in_sun: ClothInSun,
    /// The glass in the sun.
    pub glass_in_sun: GlassInSun,
    /// Most grips of a pane.
    pub most_grips: usize,
    /// Farthest two neighbours may be apart.
    pub most_apart: Length,
    /// Wanted probability that a grip is hidden and within reach.
    pub confidence: f64,
    /// What was not said and matters in wind alone, in plain sentences.
    pub assumed_of_wind: Vec<String>,
    /// What else was not said.
    pub assumed: Vec<String>,
}

impl HoldWishes {
    /// Wanted probability that a grip is hidden and within reach, where none is stated. Chosen by us.
    pub const CONFIDENCE: f64 = 0.95;
    /// Share of the sun that goes through and is thrown back by cloth nobody measured. Chosen by us: a
    /// mid-grey coated mesh; no source.
    pub const CLOTH_IN_SUN: ClothInSun = ClothInSun { transmitted: 0.10, reflected: 0.30 };

    /// Whether nothing is said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// These wishes where they say something, else the others.
    #[must_use]
    pub fn or(&self, other: &Self) -> Self {
        let magnets = if self.magnets.is_empty() { &other.magnets } else { &self.magnets };
        Self {
            wind: self.wind.or(other.wind),
            margin: self.margin.or(other.margin),
            exposure: self.exposure.or(other.exposure),
            magnets: magnets.clone(),
            pad: self.pad.or(other.pad),
            non_slip: self.non_slip.or(other.non_slip),
            inner: self.inner.or(other.inner),
            friction: std::array::from_fn(|i| self.friction[i].or(other.friction[i])),
            ease: self.ease.or(other.ease),
            stiffness: std::array::from_fn(|i| self.stiffness[i].or(other.stiffness[i])),
            openness: self.openness.or(other.openness),
            in_sun: self.in_sun.or(other.in_sun),
            hottest: self.hottest.or(other.hottest),
            cloth_in_sun: self.cloth_in_sun.or(other.cloth_in_sun),
            glass_in_sun: self.glass_in_sun.or(other.glass_in_sun),
            most_grips: self.most_grips.or(other.most_grips),
            most_apart: self.most_apart.or(other.most_apart),
            confidence: self.confidence.or(other.confidence),
        }
    }

    /// The choices, with what was left out told.
    ///
    /// # Errors
    /// When the cloth is described in a way no cloth is.
    pub fn choices(&self) -> Result<HoldChoices, HoldError> {
        let (mut assumed, mut assumed_of_wind) = (Vec::new(), Vec::new());
        let mut usual = |is_stated: bool, words: String| {
            if !is_stated {
                assumed_of_wind.push(words);
            }
        };
        usual(
            self.wind.is_some(),
            "wanted wind not stated: the fewest pairs that keep the hem close, rated as they are"
                .into(),
        );
        let margin = self.margin.unwrap_or(HoldAsk::MARGIN);
        usual(
            self.margin.is_some(),
            format!("margin not stated: {margin} with every grip in place"),
        );
        let exposure = self.exposure.unwrap_or(Exposure::Anywhere);
        usual(
            self.exposure.is_some(),
            "where panes are in the wind not stated: beside the corner the wind comes round, the \
             worst place of a wall (EN 1991-1-4, zone A)"
                .into(),
        );
        let non_slip = self.non_slip.unwrap_or(false);
        let known = if non_slip { Friction::NON_SLIP } else { Friction::CLOTH };
        let friction = Friction {
            outer: self.friction[0].unwrap_or(known.outer),
            inner: self.friction[1].unwrap_or(known.inner),
        };
        usual(
            self.friction.iter().all(Option::is_some),
            format!(
                "friction on glass not measured: {} outside, {} inside",
                friction.outer, friction.inner
            ),
        );
        let inner = self.inner.unwrap_or(Inner::Free);
        usual(self.inner.is_some(), "inner magnets: held by their pull alone".into());
        let (cloth, cloth_words) = self.cloth()?;
        usual(self.ease.is_some() && self.stiffness[0].is_some(), cloth_words);
        let openness = self.openness.unwrap_or(0.0);
        usual(
            self.openness.is_some(),
            "openness of the cloth not stated: closed, so that it takes all the suction".into(),
        );
        let mut usual = |is_stated: bool, words: String| {
            if !is_stated {
                assumed.push(words);
            }
        };
        let pad = self.pad.unwrap_or(Length::ZERO);
        usual(self.pad.is_some(), "pad under inner magnets not stated: none".into());
        let in_sun = self.in_sun.unwrap_or(GLASS_IN_SUN.value);
        usual(self.in_sun.is_some(), format!("magnets in the sun: {}", GLASS_IN_SUN.reason));
        let hottest = self.hottest.unwrap_or(HOTTEST_ON_GLASS.value.max(in_sun));
        usual(
            self.hottest.is_some(),
            format!("magnets at their hottest: {}", HOTTEST_ON_GLASS.reason),
        );
        let cloth_in_sun = self.cloth_in_sun.unwrap_or(Self::CLOTH_IN_SUN);
        let percent = |share: f64| (share * 100.0).round();
        usual(
            self.cloth_in_sun.is_some(),
            format!(
                "cloth in the sun not stated: {} % goes through, {} % is thrown back",
                percent(cloth_in_sun.transmitted),
                percent(cloth_in_sun.reflected)
            ),
        );
        let glass_in_sun = self.glass_in_sun.unwrap_or(GlassInSun::LAMINATED);
        usual(
            self.glass_in_sun.is_some(),
            format!(
                "glass in the sun not stated: clear laminated, g {}, U {} W/(m² K)",
                glass_in_sun.g,
                glass_in_sun.u.w_per_m2k()
            ),
        );
        let most_grips = self.most_grips.unwrap_or(HoldAsk::MOST_GRIPS);
        let most_apart = self.most_apart.unwrap_or(HoldAsk::MOST_APART);
        usual(
            self.most_grips.is_some() && self.most_apart.is_some(),
            format!("at most {most_grips} pairs a pane, neighbours at most {most_apart:.0} apart"),
        );
        let confidence = self.confidence.unwrap_or(Self::CONFIDENCE);
        Ok(HoldChoices {
            wind: self.wind,
            margin,
            exposure,
            pad,
            non_slip,
            inner,
            friction,
            cloth,
            openness,
            in_sun,
            hottest,
            cloth_in_sun,
            glass_in_sun,
            most_grips,
            most_apart,
            confidence,
            assumed_of_wind,
            assumed,
        })
    }

    /// The cloth, and what of it is assumed.
    fn cloth(&self) -> Result<(ClothChoice, String), HoldError> {
        let usual = ClothChoice::usual();
        let [across, up, shear] = self.stiffness;
        let ease = self.ease.unwrap_or(usual.ease);
        let mut words = Vec::new();
        if self.ease.is_none() {
            words.push(format!("ease {} %", ease * 100.0));
        }
        let (fabric, hem_stiffness) = match across.or(up) {
            None => {
                words.push("stiffness 150 kN/m".into());
                (usual.fabric, usual.hem_stiffness)
            }
            Some(known) => {
                let (across, up) = (across.unwrap_or(known), up.unwrap_or(known));
                // As the usual cloth: shear a fifteenth, a hem of two more layers 20 mm wide.
                let shear = shear.unwrap_or(across.min(up) / 15.0);
                let of_usual = (across + up) / (Tension::from_n_per_mm(150.0) * 2.0);
                (Fabric::woven(across, up, 0.2, shear)?, usual.hem_stiffness * of_usual)
            }
        };
        let words = format!("cloth not measured: {}", words.join(", "));
        Ok((ClothChoice { fabric, hem_stiffness, ease }, words))
    }
}

/// Limits of what can be entered. Chosen by us: beyond them the unit was mistaken.
pub(crate) mod limits {
    /// Gust, m/s.
    pub(crate) const GUST: [f64; 2] = [1.0, 60.0];
    /// Margin.
    pub(crate) const MARGIN: [f64; 2] = [1.0, 5.0];
    /// Pad, mm.
    pub(crate) const PAD: f64 = 20.0;
    /// Friction.
    pub(crate) const FRICTION: [f64; 2] = [0.0, 2.0];
    /// Ease, per cent.
    pub(crate) const EASE: [f64; 2] = [0.0, 10.0];
    /// Stiffness, kN/m.
    pub(crate) const STIFFNESS: [f64; 2] = [0.1, 5000.0];
    /// Openness, per cent.
    pub(crate) const OPENNESS: [f64; 2] = [0.0, 50.0];
    /// Temperature, °C.
    pub(crate) const CELSIUS: [f64; 2] = [-40.0, 150.0];
    /// Sun through cloth, per cent.
    pub(crate) const THROUGH: [f64; 2] = [0.0, 50.0];
    /// Sun thrown back, per cent.
    pub(crate) const BACK: [f64; 2] = [10.0, 80.0];
    /// Solar factor of glass.
    pub(crate) const G: [f64; 2] = [0.15, 0.85];
    /// Transmittance of glass, W/(m² K).
    pub(crate) const U: [f64; 2] = [0.5, 6.0];
    /// Most grips of a pane.
    pub(crate) const GRIPS: [i32; 2] = [3, 120];
    /// Neighbours apart, mm.
    pub(crate) const APART: f64 = 3000.0;
    /// Confidence.
    pub(crate) const CONFIDENCE: [f64; 2] = [0.5, 0.999];
    /// Cost of a pair.
    pub(crate) const COST: [f64; 2] = [0.0, 10_000.0];
    /// Pairs on hand.
    pub(crate) const ON_HAND: [i32; 2] = [0, 1_000_000];
    /// Measured force, N.
    pub(crate) const FORCE: [f64; 2] = [0.01, 2000.0];
    /// Magnets in a list.
    pub(crate) const MAGNETS: usize = 12;
    /// Straps of an order.
    pub(crate) const STRAPS: usize = 100;
}
