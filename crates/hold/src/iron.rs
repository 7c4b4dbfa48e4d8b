//! A disc of soft iron in place of one of the two magnets.
//!
//! A plate much wider than the magnet pulls as its mirror image does, twice the gap away; that is
//! the most any piece of iron of that face can do. A disc pulls less. Taken as evenly magnetised
//! by the mean field ⟨B⟩ of the magnet in it,
//! `J = min(⟨B⟩ / N, J_s)`, it pulls as a magnet of that polarisation does.
//!
//! N the disc's mean demagnetising factor, J_s the iron's saturation. Even magnetisation is a trial
//! state of the iron, so its energy is never deeper than the true one: the figure is on the low side
//! where the iron is wide, and close where it is no wider than the magnet.
//!
//! Valid for soft iron centred on the magnet and at least 0.5 mm thick; ignores remanence and
//! permeability below a few hundred. Source of the image: any textbook; of the trial state: Brown,
//! *Magnetostatic Principles in Ferromagnetism* (from memory).

use std::f64::consts::TAU;
use std::fmt;
use std::str::FromStr;

use geometry::Length;

use crate::field::demagnetising;
use crate::quadrature::gauss;
use crate::{
    FluxDensity, Force, HoldError, Magnet, MagnetShape, flux_density, pair_force, plate_pull,
};

/// Saturation of mild steel: about 2 T (from memory); 1.6 T is counted on, as its permeability falls
/// away before.
const SATURATION: FluxDensity = FluxDensity::from_tesla(1.6);

/// A disc of soft iron.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Iron {
    diameter: Length,
    thickness: Length,
}

impl Iron {
    /// A disc of that size.
    ///
    /// # Errors
    /// When it is not 1 to 500 mm across, or not 0.5 to 100 mm thick.
    pub fn disc(diameter: Length, thickness: Length) -> Result<Self, HoldError> {
        let way_out = "measure the iron in mm and enter it again";
        HoldError::check("iron diameter", diameter.mm(), [1.0, 500.0], " mm", way_out)?;
        HoldError::check("iron thickness", thickness.mm(), [0.5, 100.0], " mm", way_out)?;
        Ok(Self { diameter, thickness })
    }

    /// Its form.
    #[must_use]
    pub const fn shape(&self) -> MagnetShape {
        MagnetShape::Disc { diameter: self.diameter, thickness: self.thickness }
    }
}

impl fmt::Display for Iron {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "iron:{}x{}", self.diameter.mm(), self.thickness.mm())
    }
}

/// What a magnet holds on to: another magnet or iron.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Partner {
    /// A magnet.
    Magnet(Magnet),
    /// A disc of soft iron.
    Iron(Iron),
}

impl FromStr for Partner {
    type Err = HoldError;

    /// Reads `iron:DIAMETERxTHICKNESS` in mm, or what [`Magnet::from_str`] reads.
    fn from_str(spec: &str) -> Result<Self, HoldError> {
        let Some((form, sizes)) = spec.split_once(':') else {
            return spec.parse().map(Self::Magnet);
        };
        if !form.trim().eq_ignore_ascii_case("iron") {
            return spec.parse().map(Self::Magnet);
        }
        let number = |text: &str| text.trim().parse().ok().filter(|mm: &f64| mm.is_finite());
        let sizes: Option<Vec<f64>> = sizes.split(['x', 'X', '×']).map(number).collect();
        match sizes.as_deref() {
            Some(&[d, t]) => Iron::disc(Length::from_mm(d), Length::from_mm(t)).map(Self::Iron),
            _ => Err(HoldError::Input {
                item: "iron",
                found: format!("“{spec}”"),
                needed: "iron:DIAMETERxTHICKNESS".to_owned(),
                way_out: "write both in mm, as in iron:20x3",
            }),
        }
    }
}

impl fmt::Display for Partner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Magnet(magnet) => magnet.fmt(f),
            Self::Iron(iron) => iron.fmt(f),
        }
    }
}

/// How strongly a magnet pulls at iron.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IronPull {
    /// At a wide thick plate: the most this face can do.
    pub plate: Force,
    /// At the disc itself, on the low side: what to count on.
    pub disc: Force,
}

/// The pull of a magnet at a centred iron disc.
///
/// # Errors
/// When twice the gap is no distance at which magnets can be reckoned with.
pub fn iron_pull(magnet: &Magnet, iron: &Iron, gap: Length) -> Result<IronPull, HoldError> {
    let plate = plate_pull(magnet, gap)?;
    let inside = mean_field(magnet, iron, gap) / demagnetising(iron.shape()).magnetometric;
    let disc = Magnet::new(iron.shape(), inside.min(SATURATION))?;
    let pull = pair_force(magnet, &disc, gap, (Length::ZERO, Length::ZERO))?.pull;
    Ok(IronPull { plate, disc: pull.max(Force::ZERO).min(plate) })
}

/// Mean over the iron of the magnet's field along the axis; Gauss points over ρ² and z, even ones
/// round. Good to 1e-6 from a gap of a fifth of the radius upwards.
fn mean_field(magnet: &Magnet, iron: &Iron, gap: Length) -> FluxDensity {
    const TURNS: u32 = 32;
    let [radius, _, half] = iron.shape().half_sizes_mm();
    let top = magnet.shape().half_sizes_mm()[2] + gap.mm();
    let round = |rho: f64, z: f64| -> f64 {
        let turns = if matches!(magnet.shape(), MagnetShape::Disc { .. }) { 1 } else { TURNS };
        let each = (0..turns).map(|turn| {
            let (sin, cos) = (TAU * f64::from(turn) / f64::from(turns)).sin_cos();
            let place = [rho * cos, rho * sin, z].map(Length::from_mm);
            flux_density(magnet, place)[2].tesla()
        });
        each.sum::<f64>() / f64::from(turns)
    };
    let sum: f64 = gauss(24)
        .iter()
        .flat_map(|&[s, ws]| gauss(12).iter().map(move |&[t, wt]| (s, t, 0.25 * ws * wt)))
        .map(|(s, t, w)| w * round(radius * (0.5 * (1.0 + s)).sqrt(), top + half * (1.0 + t)))
        .sum();
    // Iron far aside of the pole may see a field the other way; then it holds nothing to speak of.
    FluxDensity::from_tesla(sum.max(1e-12))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pulls(magnet: &str, iron: &str, gap: f64) -> IronPull {
        let Partner::Iron(iron) = iron.parse().unwrap() else { panic!("{iron} is no iron") };
        iron_pull(&magnet.parse().unwrap(), &iron, Length::from_mm(gap)).unwrap()
    }

    #[test]
    fn iron_is_read_and_written_alike() {
        for spec in ["iron:20x3", "disc:20x3:N35"] {
            assert_eq!(spec.parse::<Partner>().unwrap().to_string(), spec);
        }
        for spec in ["iron:20", "iron:0x3", "iron:-20x3", "iron:20x0.1", "iron:NaNx3", "iron"] {
            let message = spec.parse::<Partner>().unwrap_err().to_string();
            assert!(message.contains(';'), "{spec}: {message}");
        }
    }

    #[test]
    fn a_disc_pulls_less_than_a_plate_and_both_pull_less_than_a_magnet() {
        for gap in [1.0, 4.0, 8.0, 12.0] {
            let IronPull { plate, disc } = pulls("disc:20x3:N35", "iron:20x3", gap);
            let magnet: Magnet = "disc:20x3:N35".parse().unwrap();
            let pair =
                pair_force(&magnet, &magnet, Length::from_mm(gap), (Length::ZERO, Length::ZERO));
            assert!(Force::ZERO < disc && disc < plate && plate < pair.unwrap().pull, "{gap}");
        }
    }

    /// A small ball-like piece far off is a dipole induced in a nearly even field: F = V B B′/(μ0 N).
    #[test]
    fn a_small_piece_far_off_is_an_induced_dipole() {
        let magnet: Magnet = "disc:20x3:1.2".parse().unwrap();
        let field = |z: f64| {
            let place = [0.0, 0.0, z].map(Length::from_mm);
            flux_density(&magnet, place)[2].tesla()
        };
        let iron = "iron:2x2";
        let z = 1.5 + 60.0 + 1.0;
        let slope = (field(z - 0.1) - field(z + 0.1)) / 2e-4;
        let shape = Iron::disc(Length::from_mm(2.0), Length::from_mm(2.0)).unwrap().shape();
        let volume = 1e-9 * std::f64::consts::TAU;
        let n = demagnetising(shape).magnetometric;
        let wanted = volume * field(z) * slope / (4e-7 * std::f64::consts::PI * n);
        let found = pulls("disc:20x3:1.2", iron, 60.0).disc.newtons();
        assert!((found / wanted - 1.0).abs() < 2e-3, "{found} {wanted}");
    }
}
