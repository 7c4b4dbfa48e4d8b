//! How much of the sun's heat comes through a pane, bare and covered, and how hot its magnets get.
//!
//! Outside: `g_t = τ g + α G/G2 + τ (1 − g) G/G1`, `G = (1/U + 1/G1 + 1/G2)⁻¹`, G1 = 5, G2 = 10
//! Inside: `g_t = g (1 − g ρ − α G/G3)`, `G = (1/U + 1/G3)⁻¹`, G3 = 30
//!
//! g share of the sun's heat that comes through the bare glass, τ and ρ transmitted and reflected by
//! the cloth, `α = 1 − τ − ρ` taken up by it, U of the glass and all G in W/(m² K).
//!
//! Source: EN ISO 52022-1:2017, simplified method (before: EN 13363-1). Valid for 0.15 ≤ g ≤ 0.85,
//! τ ≤ 0.5, 0.1 ≤ ρ ≤ 0.8, sun square to the glass, cover over the whole pane; enforced here. Ignores
//! slanting sun, wind through the gap, the other panes, and heat that comes in through the body: how
//! warm it gets inside cannot be said from this. Accuracy: the standard calls the method simplified and
//! on the safe side for summer.

use std::fmt;

use crate::{HoldError, Temperature};

geometry::quantity!(
    /// How readily heat passes, in watts per square metre and kelvin.
    HeatTransfer, from_w_per_m2k, w_per_m2k, "watts per square metre and kelvin", "W/(m² K)"
);

/// Conductances of the standard: outer air, ventilated outer gap, ventilated inner gap.
const G1: f64 = 5.0;
const G2: f64 = 10.0;
const G3: f64 = 30.0;

/// A bare pane in the sun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlassInSun {
    /// Share of the sun's heat that comes through.
    pub g: f64,
    /// Thermal transmittance.
    pub u: HeatTransfer,
}

impl GlassInSun {
    /// Clear laminated glass: 0.78 and 5.6 W/(m² K), usual table values (from memory). Enter the
    /// maker's for tinted or double glass.
    pub const LAMINATED: Self = Self { g: 0.78, u: HeatTransfer::from_w_per_m2k(5.6) };
}

/// Cloth in the sun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClothInSun {
    /// Share of the sun that goes through it, its holes included.
    pub transmitted: f64,
    /// Share that the face towards the sun throws back.
    pub reflected: f64,
}

/// Which side of the glass a cover is on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoverSide {
    /// Outside, where what it takes up goes to the open air.
    Outside,
    /// Inside, where most of what it takes up stays.
    Inside,
}

/// The sun's heat through one pane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SolarHeat {
    /// Share that comes through the bare glass.
    pub bare: f64,
    /// Share that comes through glass and cover.
    pub covered: f64,
}

impl SolarHeat {
    /// How much less comes through, as a share of what came through the bare glass.
    #[must_use]
    pub fn less(&self) -> f64 {
        1.0 - self.covered / self.bare
    }
}

impl fmt::Display for SolarHeat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // To fives, downwards: the method is no better, and a promise is not made by rounding. The
        // millionth keeps exact fives from falling to the next.
        let percent = ((self.less() * 20.0 + 1e-6).floor() * 5.0).max(0.0);
        if percent > 0.0 {
            write!(f, "about {percent:.0} % less solar heat through this pane")
        } else {
            f.write_str("hardly less solar heat through this pane")
        }
    }
}

/// The sun's heat through a pane with and without its cover.
///
/// # Errors
/// When glass or cloth is outside what the standard is valid for.
pub fn solar_heat(
    glass: GlassInSun,
    cloth: ClothInSun,
    side: CoverSide,
) -> Result<SolarHeat, HoldError> {
    let (g, u) = (glass.g, glass.u.w_per_m2k());
    let (through, back) = (cloth.transmitted, cloth.reflected);
    let way_out = "the standard's simple method ends there; take the glass maker's g, or say nothing \
                   about heat for this pane";
    HoldError::check("solar factor g of the glass", g, [0.15, 0.85], "", way_out)?;
    let way_out = "take the glass maker's U, 5.6 for single and about 2.8 for double glass";
    HoldError::check("transmittance U of the glass", u, [0.5, 6.0], " W/(m² K)", way_out)?;
    let way_out = "the standard's simple method ends there; take a closer cloth, or say nothing about \
                   heat for this cover";
    HoldError::check("sun through the cloth", through, [0.0, 0.5], "", way_out)?;
    let way_out = "the standard's simple method ends there; take the cloth maker's solar figure for the \
                   face towards the sun, or say nothing about heat for this cover";
    HoldError::check("sun thrown back by the cloth", back, [0.1, 0.8], "", way_out)?;
    let taken = 1.0 - through - back;
    let way_out =
        "what goes through and what is thrown back can't be more than all; enter both again";
    HoldError::check("sun taken up by the cloth", taken, [0.0, 0.9], "", way_out)?;
    let covered = match side {
        CoverSide::Outside => {
            let conductance = 1.0 / (1.0 / u + 1.0 / G1 + 1.0 / G2);
            through * g + taken * conductance / G2 + through * (1.0 - g) * conductance / G1
        }
        CoverSide::Inside => {
            let conductance = 1.0 / (1.0 / u + 1.0 / G3);
            g * (1.0 - g * back - taken * conductance / G3)
        }
    };
    Ok(SolarHeat { bare: g, covered })
}

/// How open a cloth is, in words for the owner.
///
/// The steps are chosen by us so that each tells something a person notices; no source.
///
/// # Errors
/// When openness is not 0 to 0.5.
pub fn openness_words(openness: f64) -> Result<&'static str, HoldError> {
    let way_out = "enter the open share of the cloth as its maker gives it, 0.05 for 5 %";
    HoldError::check("openness", openness, [0.0, 0.5], "", way_out)?;
    Ok(match openness {
        o if o <= 0.0 => "closed: nothing is seen through it",
        o if o <= 0.01 => "nearly closed: light is seen, shapes are not",
        o if o <= 0.03 => "close mesh: shapes are seen from inside by day",
        o if o <= 0.05 => "mesh: a good view out by day, little in",
        o if o <= 0.10 => "open mesh: a clear view out by day, and some in",
        _ => "wide mesh: seen through from both sides",
    })
}

/// A temperature taken for magnets, with the reason for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GlassTemperature {
    /// What is taken.
    pub value: Temperature,
    /// Why.
    pub reason: &'static str,
}

/// What magnets on the black band have while they must hold in the sun.
pub const GLASS_IN_SUN: GlassTemperature = GlassTemperature {
    value: Temperature::from_celsius(60.0),
    reason: "60 °C on the black band in full sun: chosen by us within the 60 to 80 °C of dark sunlit \
             surfaces known from memory; put a thermometer on yours and enter it",
};

/// The hottest that magnets left on sunlit glass are reckoned to have been.
pub const HOTTEST_ON_GLASS: GlassTemperature = GlassTemperature {
    value: Temperature::from_celsius(80.0),
    reason: "80 °C once, on the black band of a closed vehicle on a still summer day: chosen by us as \
             the upper end of what is known from memory; enter less for magnets that are put away",
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sentence_says_less_rather_than_more() {
        let words = |bare: f64, covered: f64| SolarHeat { bare, covered }.to_string();
        assert_eq!(words(0.78, 0.213), "about 70 % less solar heat through this pane");
        assert_eq!(words(0.8, 0.4), "about 50 % less solar heat through this pane");
        assert_eq!(words(0.8, 0.79), "hardly less solar heat through this pane");
        assert_eq!(words(0.3, 0.4), "hardly less solar heat through this pane");
    }

    #[test]
    fn what_the_standard_does_not_hold_for_is_refused_with_a_way_out() {
        let glass = GlassInSun::LAMINATED;
        let cloth = ClothInSun { transmitted: 0.1, reflected: 0.3 };
        for (glass, cloth, says) in [
            (GlassInSun { g: 0.1, ..glass }, cloth, "solar factor g of the glass is 0.1"),
            (GlassInSun { g: 0.9, ..glass }, cloth, "solar factor g of the glass is 0.9"),
            (
                GlassInSun { u: HeatTransfer::ZERO, ..glass },
                cloth,
                "transmittance U of the glass is 0",
            ),
            (glass, ClothInSun { transmitted: 0.6, ..cloth }, "sun through the cloth is 0.6"),
            (glass, ClothInSun { transmitted: -0.1, ..cloth }, "sun through the cloth is -0.1"),
            (
                glass,
                ClothInSun { reflected: 0.05, ..cloth },
                "sun thrown back by the cloth is 0.05",
            ),
            (
                glass,
                ClothInSun { transmitted: 0.5, reflected: 0.8 },
                "sun taken up by the cloth is -0.3",
            ),
        ] {
            let message = solar_heat(glass, cloth, CoverSide::Outside).unwrap_err().to_string();
            assert!(message.starts_with(says) && message.contains(';'), "{message}");
        }
    }

    #[test]
    fn the_same_cloth_keeps_out_more_from_outside() {
        let cloth = ClothInSun { transmitted: 0.1, reflected: 0.3 };
        let [out, inn] = [CoverSide::Outside, CoverSide::Inside]
            .map(|side| solar_heat(GlassInSun::LAMINATED, cloth, side).unwrap().covered);
        assert!(out < inn && inn < 0.78);
    }

    #[test]
    fn openness_has_words_and_bounds() {
        assert!(openness_words(0.0).unwrap().starts_with("closed"));
        assert!(openness_words(0.05).unwrap().starts_with("mesh"));
        assert!(openness_words(0.2).unwrap().starts_with("wide"));
        assert!(openness_words(-0.01).is_err() && openness_words(f64::NAN).is_err());
    }
}
