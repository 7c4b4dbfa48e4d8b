//! Wind on a cover of a parked vehicle, and the gust a plan is rated for.
//!
//! `q = ½ ρ v²`, `p = q · cpe · s · (1 − openness)`, and back: `v = √(2 p / (ρ |cpe| s (1 − openness)))`
//!
//! q stagnation pressure (Pa), ρ density of air (kg/m³), v gust speed (m/s), cpe external pressure
//! coefficient (none; negative is suction), s share of it between the two faces of the cloth (none),
//! p pressure on the cloth (Pa).
//!
//! Coefficients: EN 1991-1-4:2005, Table 7.1, vertical walls: `cpe = cpe,1 − (cpe,1 − cpe,10) log10 A`
//! for 1 m² < A < 10 m², cpe,1 below and cpe,10 above (7.2.1). They were measured on buildings and
//! stand in for a vehicle, for which no such table is known. Openness: Richards & Robinson, *Wind
//! loads on porous structures*, J. Wind Eng. Ind. Aerodyn. 83 (1999) 455; none is counted up to 5 %,
//! where holes are small and lie against the glass.
//!
//! Two skins: what lifts a cover is the difference between its faces. Through open cloth over tight
//! glass air flows until as much enters as leaves, and the pressure behind comes to the mean of that before
//! it; only what differs from the mean is left. EN 1991-1-4:2005, 7.2.10 (from memory), counts s = 1/3 of
//! the suction and 2/3 of the pressure on an open outer skin (holes of 0.1 % or more, spread evenly) before
//! a tight inner one; ASTM D3679 counts 0.36 on wall siding, while Moravej et al., *Experimental assessment of
//! wind loads on vinyl wall siding*, Front. Built Environ. 2 (2016) 35, measured 0.75 of the suction on
//! single square metres near a corner and far less on whole walls (both read there). A cover's cavity
//! ends at its hem, so the rule for a whole skin is taken, from 1 % of openness on ([`OPEN`]). Closed cloth
//! takes all: air that gets in at the hem alone is not counted on.
//!
//! Valid for a vehicle parked and cover closed all round. Ignores flutter, the draught of passing
//! lorries, and that wind gets under a lifted edge. Accuracy: an estimate, no guarantee.

use std::fmt;

use geometry::Area;

use crate::{Density, HoldError, Pressure, Speed};

/// Density of air: the value recommended in EN 1991-1-4, 4.5.
pub const AIR_DENSITY: Density = Density::from_kg_per_m3(1.25);

/// How much faster a gust is than the wind of which people speak, the mean of ten minutes at 10 m:
/// `c_r √(1 + 7 I_v)` of EN 1991-1-4, 4.3 to 4.5, is 1.53 by the sea at 3 m above ground, 1.28 in open country
/// and 1.13 among houses. The worst is taken.
pub const GUST_FACTOR: f64 = 1.5;

/// Openness up to which the wind's load is not lowered.
const CLOSED: f64 = 0.05;

/// Openness from which cloth lets the pressure behind it follow. Chosen by us: ten times the 0.1 % from
/// which EN 1991-1-4, 7.2.10, calls a skin permeable, since a cover's cavity grows as it lifts.
pub const OPEN: f64 = 0.01;

/// Where the figures come from, to be shown with them.
pub const WIND_SOURCES: [&str; 5] = [
    "pressure: q = ½ρv², air 1.25 kg/m³ (EN 1991-1-4)",
    "coefficients: EN 1991-1-4 Table 7.1, walls of buildings, standing in for a vehicle",
    "open cloth: Richards & Robinson 1999, no reduction up to 5 % openness",
    "open cloth over glass: a third of the suction, EN 1991-1-4, 7.2.10, two skins (from memory)",
    "Beaufort: limits of the ten-minute mean (WMO); gusts taken as 1.5 times the mean (EN 1991-1-4, 4.3 to 4.5)",
];

/// Part of a wall in the wind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PressureZone {
    /// Beside the windward corner, where wind that comes round it sucks hardest.
    A,
    /// Farther along that side.
    B,
    /// The rest of the side.
    C,
    /// Facing the wind.
    D,
}

impl PressureZone {
    /// Every zone.
    pub const ALL: [Self; 4] = [Self::A, Self::B, Self::C, Self::D];

    /// Coefficients for 10 m² and more, and for 1 m² and less: EN 1991-1-4 Table 7.1, h/d 1 and above.
    const fn coefficients(self) -> [f64; 2] {
        match self {
            Self::A => [-1.2, -1.4],
            Self::B => [-0.8, -1.1],
            Self::C => [-0.5, -0.5],
            Self::D => [0.8, 1.0],
        }
    }
}

/// A covered pane in the wind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoverWind {
    /// Area of the cover.
    pub area: Area,
    /// Share of the cloth that is open, 0 to 0.5.
    pub openness: f64,
    /// Part of the wall it is on; A where the wind may come from anywhere.
    pub zone: PressureZone,
    /// Density of the air.
    pub density: Density,
}

impl CoverWind {
    /// Wind from the worst side, at [`AIR_DENSITY`].
    #[must_use]
    pub const fn worst(area: Area, openness: f64) -> Self {
        Self { area, openness, zone: PressureZone::A, density: AIR_DENSITY }
    }

    /// Pressure on the cloth as a share of the stagnation pressure.
    fn share(&self) -> Result<f64, HoldError> {
        let way_out = "take the standard air of 1.25 kg/m³";
        HoldError::check("air density", self.density.kg_per_m3(), [0.5, 2.0], " kg/m³", way_out)?;
        let between = skin_share(self.zone, self.openness)?;
        Ok(pressure_coefficient(self.zone, self.area)? * between * wind_share(self.openness)?)
    }
}

/// The pressure of wind brought to rest.
#[must_use]
pub fn stagnation_pressure(speed: Speed, density: Density) -> Pressure {
    Pressure::from_pascals(0.5 * density.kg_per_m3() * speed.m_per_s().powi(2))
}

/// The external pressure coefficient of a part of a wall for an area; negative is suction.
///
/// # Errors
/// When the area is not 0.01 to 100 m².
pub fn pressure_coefficient(zone: PressureZone, area: Area) -> Result<f64, HoldError> {
    let m2 = 1e-6 * area.mm2();
    let way_out = "measure the cover's outline again";
    HoldError::check("cover's area", m2, [0.01, 100.0], " m²", way_out)?;
    let [ten, one] = zone.coefficients();
    Ok(one - (one - ten) * m2.clamp(1.0, 10.0).log10())
}

/// The share of the wind's load that cloth of an openness takes: all of it up to 5 %.
///
/// # Errors
/// When openness is not 0 to 0.5.
pub fn wind_share(openness: f64) -> Result<f64, HoldError> {
    let way_out = "enter the open share of the cloth as its maker gives it, 0.05 for 5 %";
    HoldError::check("openness", openness, [0.0, 0.5], "", way_out)?;
    Ok(if openness <= CLOSED { 1.0 } else { 1.0 - openness })
}

/// The share of the wind's pressure that lies between the faces of cloth over tight glass: all of it
/// where the cloth is closed, a third of a suction and two of a pressure where it is open.
///
/// # Errors
/// When openness is not 0 to 0.5.
pub fn skin_share(zone: PressureZone, openness: f64) -> Result<f64, HoldError> {
    wind_share(openness)?;
    Ok(match zone {
        _ if openness < OPEN => 1.0,
        PressureZone::A | PressureZone::B | PressureZone::C => 1.0 / 3.0,
        PressureZone::D => 2.0 / 3.0,
    })
}

/// The pressure of a gust on the cloth; negative pulls it off the glass.
///
/// # Errors
/// When the cover, the air or the speed (0 to 60 m/s) is out of range.
pub fn wind_load(cover: &CoverWind, gust: Speed) -> Result<Pressure, HoldError> {
    let way_out = "enter the gust in metres per second; 1 m/s is 3.6 km/h or 2.24 mph";
    HoldError::check("gust", gust.m_per_s(), [0.0, 60.0], " m/s", way_out)?;
    Ok(stagnation_pressure(gust, cover.density) * cover.share()?)
}

/// The gust a plan is rated for, parked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatedGust {
    /// The gust at which the plan is at its limit.
    pub gust: Speed,
    /// The strongest wind, as people speak of it, whose gusts stay below that; nothing when even a
    /// calm's may not.
    pub beaufort: Option<Beaufort>,
}

impl RatedGust {
    /// `gusts to 50 km/h (31 mph)`, rounded down.
    #[must_use]
    pub fn in_short(&self) -> String {
        let [kmh, mph] = [3.6, 2.236_936].map(|per| (self.gust.m_per_s() * per).floor());
        format!("gusts to {kmh} km/h ({mph} mph)")
    }
}

impl fmt::Display for RatedGust {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gust = self.gust.m_per_s();
        // Rounded down: a rating is not made better by rounding.
        let [kmh, mph] = [3.6, 2.236_936].map(|per| (gust * per).floor());
        write!(f, "parked only: gusts to {:.0} m/s ({kmh} km/h, {mph} mph)", gust.floor())?;
        match self.beaufort {
            Some(beaufort) => write!(f, ", wind to {beaufort}; take it off above that"),
            None => f.write_str("; take it off in any wind"),
        }
    }
}

/// The gust at which the pressure that a plan withstands is reached.
///
/// # Errors
/// When the cover or the air is out of range, or the pressure is not 0 to 10 kPa.
pub fn rated_gust(withstands: Pressure, cover: &CoverWind) -> Result<RatedGust, HoldError> {
    let way_out = "give the pressure as positive, up to that of a hurricane";
    HoldError::check("pressure withstood", withstands.pascals(), [0.0, 1e4], " Pa", way_out)?;
    let per_unit = cover.share()?.abs() * 0.5 * cover.density.kg_per_m3();
    let gust = Speed::from_m_per_s((withstands.pascals() / per_unit).sqrt());
    Ok(RatedGust { gust, beaufort: Beaufort::whose_gusts_stay_below(gust) })
}

/// A force of wind on Beaufort's scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Beaufort(u8);

/// Highest mean speed of each force, m/s, and what it is called and known by. WMO, *Manual on Codes*
/// and *Guide to Instruments and Methods of Observation*; the signs are from memory, shortened.
const FORCES: [(f64, &str, &str); 13] = [
    (0.2, "calm", "smoke rises straight up"),
    (1.5, "light air", "smoke drifts"),
    (3.3, "light breeze", "felt on the face, leaves rustle"),
    (5.4, "gentle breeze", "leaves and twigs always moving"),
    (7.9, "moderate breeze", "dust and paper lift, small branches move"),
    (10.7, "fresh breeze", "small trees sway"),
    (13.8, "strong breeze", "large branches move, umbrellas are hard to use"),
    (17.1, "near gale", "whole trees move, walking is hard"),
    (20.7, "gale", "twigs break off"),
    (24.4, "strong gale", "slates come off"),
    (28.4, "storm", "trees are uprooted"),
    (32.6, "violent storm", "damage all about"),
    (f64::INFINITY, "hurricane", "devastation"),
];

impl Beaufort {
    /// That force.
    ///
    /// # Errors
    /// When it is above 12.
    pub fn new(force: u8) -> Result<Self, HoldError> {
        HoldError::check(
            "Beaufort force",
            f64::from(force),
            [0.0, 12.0],
            "",
            "choose one of these",
        )?;
        Ok(Self(force))
    }

    /// The force of a wind, from its mean over ten minutes.
    #[must_use]
    pub fn of(mean: Speed) -> Self {
        let forces = (0..).zip(FORCES);
        let found = forces.map(|(force, (most, ..))| (force, most));
        Self(found.into_iter().find(|(_, most)| mean.m_per_s() <= *most).map_or(12, |(n, _)| n))
    }

    /// Its number, 0 to 12.
    #[must_use]
    pub const fn force(self) -> u8 {
        self.0
    }

    /// The highest mean speed that still is this force; nothing for a hurricane.
    #[must_use]
    pub fn upper_limit(self) -> Option<Speed> {
        let most = FORCES[usize::from(self.0)].0;
        most.is_finite().then(|| Speed::from_m_per_s(most))
    }

    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        FORCES[usize::from(self.0)].1
    }

    /// What it is known by on land.
    #[must_use]
    pub fn sign(self) -> &'static str {
        FORCES[usize::from(self.0)].2
    }

    /// The strongest whose gusts, [`GUST_FACTOR`] times the mean, stay within a speed.
    #[must_use]
    pub fn whose_gusts_stay_below(gust: Speed) -> Option<Self> {
        let within = |(most, ..): &(f64, &str, &str)| most * GUST_FACTOR <= gust.m_per_s();
        (0..).zip(FORCES).take_while(|(_, force)| within(force)).last().map(|(n, _)| Self(n))
    }
}

impl fmt::Display for Beaufort {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Beaufort {} ({}: {})", self.0, self.name(), self.sign())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn m2(m2: f64) -> Area {
        Area::from_mm2(1e6 * m2)
    }

    #[test]
    fn a_rating_is_told_as_people_speak() {
        let cover = CoverWind::worst(m2(1.0), 0.0);
        let rated = rated_gust(Pressure::from_pascals(1.4 * 0.625 * 144.0), &cover).unwrap();
        assert_eq!(
            rated.to_string(),
            "parked only: gusts to 12 m/s (43 km/h, 26 mph), wind to Beaufort 4 (moderate breeze: \
             dust and paper lift, small branches move); take it off above that"
        );
        let none = rated_gust(Pressure::ZERO, &cover).unwrap().to_string();
        assert!(none.ends_with("take it off in any wind"), "{none}");
    }

    #[test]
    fn nonsense_is_refused_with_a_way_out() {
        let cover = CoverWind::worst(m2(3.0), 0.0);
        let gust = Speed::from_m_per_s(10.0);
        for cover in [
            CoverWind { area: Area::ZERO, ..cover },
            CoverWind { openness: 0.9, ..cover },
            CoverWind { openness: -0.1, ..cover },
            CoverWind { density: Density::ZERO, ..cover },
        ] {
            assert!(wind_load(&cover, gust).unwrap_err().to_string().contains(';'));
        }
        assert!(wind_load(&cover, Speed::from_m_per_s(-3.0)).is_err());
        assert!(rated_gust(Pressure::from_pascals(-1.0), &cover).is_err());
        assert!(Beaufort::new(13).is_err());
    }

    proptest! {
        #[test]
        fn the_rated_gust_just_loads_what_is_withstood(
            pascals in 0.1..2000.0_f64, area in 0.1..12.0_f64, openness in 0.0..0.5_f64, zone in 0..4_usize,
        ) {
            let zone = PressureZone::ALL[zone];
            let cover = CoverWind { zone, ..CoverWind::worst(m2(area), openness) };
            let gust = rated_gust(Pressure::from_pascals(pascals), &cover).unwrap().gust;
            prop_assume!(gust.m_per_s() <= 60.0);
            let load = wind_load(&cover, gust).unwrap().abs().pascals();
            prop_assert!((load / pascals - 1.0).abs() < 1e-12);
        }

        #[test]
        fn forces_and_limits_agree(force in 0_u8..12) {
            let force = Beaufort::new(force).unwrap();
            let most = force.upper_limit().unwrap();
            prop_assert_eq!(Beaufort::of(most), force);
            prop_assert_eq!(Beaufort::of(most * 1.001).force(), force.force() + 1);
            prop_assert_eq!(Beaufort::whose_gusts_stay_below(most * GUST_FACTOR), Some(force));
        }
    }
}
