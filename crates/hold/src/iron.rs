//! A disc of soft iron in place of one of the two magnets.
//!
//! A plate much wider than the magnet pulls as its mirror image does, twice the gap away; that is
//! the most any piece of iron of that face can do. A disc pulls less.
//!
//! Before a disc magnet: iron of great permeability is to the magnet what an insulated conductor is to
//! charges, so that the charge on its surface makes its potential even and adds up to nothing:
//! `Σ_j P_ij q_j + φ_i = c`, `Σ q_j = 0`, `F = Σ q_j B_z(j) / μ0`
//!
//! q_j magnetic charge (flux) of a ring-shaped band of the surface, P_ij potential of band j at band i,
//! φ that of the magnet's poles, c the iron's own. Solved over [`ACROSS`] bands on either face and
//! [`DOWN`] on the rim; the pull is good to 1 %.
//!
//! Before a block: taken as evenly magnetised by the mean field ⟨B⟩ in it, `J = ⟨B⟩ / N`, N the disc's
//! mean demagnetising factor, it pulls as a magnet of that polarisation does. Even magnetisation is a
//! trial state of the iron, so its energy is never deeper than the true one: the figure is on the low
//! side, by half where iron and magnet are of a size.
//!
//! Both are held to what the iron carries before it saturates: `J ≤ J_s`, by the mean of the flux
//! through its middle.
//!
//! Valid for soft iron centred on the magnet and at least 0.5 mm thick; ignores remanence and
//! permeability below a few hundred. Sources: the image and the conductor, any textbook on potential
//! theory; the trial state, Brown, *Magnetostatic Principles in Ferromagnetism* (from memory).

use std::f64::consts::TAU;
use std::fmt;
use std::str::FromStr;

use geometry::Length;

use crate::elliptic::cel;
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
    /// At the disc itself: what to count on.
    pub disc: Force,
}

/// The pull of a magnet at a centred iron disc.
///
/// # Errors
/// When twice the gap is no distance at which magnets can be reckoned with.
pub fn iron_pull(magnet: &Magnet, iron: &Iron, gap: Length) -> Result<IronPull, HoldError> {
    let plate = plate_pull(magnet, gap)?;
    let disc = match magnet.shape() {
        MagnetShape::Disc { .. } => Charged::new(magnet, iron, gap).pull(magnet, gap),
        MagnetShape::Block { .. } => {
            let inside = mean_field(magnet, iron, gap) / demagnetising(iron.shape()).magnetometric;
            let even = Magnet::new(iron.shape(), inside.min(SATURATION))?;
            pair_force(magnet, &even, gap, (Length::ZERO, Length::ZERO))?.pull
        }
    };
    Ok(IronPull { plate, disc: disc.max(Force::ZERO).min(plate) })
}

/// Bands over the radius of a face and over the thickness, finer towards the edges; twice as many change
/// the pull by less than 1 %.
const ACROSS: u32 = 24;
const DOWN: u32 = 8;

/// A band of the iron's surface, from one ring to another: radius, and height over the magnet's pole.
#[derive(Clone, Copy)]
struct Band([[f64; 2]; 2]);

impl Band {
    /// Places on it and their areas in mm², by Gauss's rule between two shares of its width.
    fn places(&self, points: usize, from: f64, to: f64) -> impl Iterator<Item = ([f64; 2], f64)> {
        let [[r0, z0], [r1, z1]] = self.0;
        let width = (r1 - r0).hypot(z1 - z0);
        gauss(points).iter().map(move |&[x, w]| {
            let share = from + (to - from) * 0.5 * (1.0 + x);
            let r = r0 + (r1 - r0) * share;
            ([r, z0 + (z1 - z0) * share], TAU * r * 0.5 * w * (to - from) * width)
        })
    }

    fn middle(&self) -> [f64; 2] {
        let [[r0, z0], [r1, z1]] = self.0;
        [0.5 * (r0 + r1), 0.5 * (z0 + z1)]
    }

    fn area(&self) -> f64 {
        self.places(2, 0.0, 1.0).map(|(_, area)| area).sum()
    }

    /// Potential at a place of an even charge of 1 T on it, T mm.
    fn potential(&self, place: [f64; 2], own: bool) -> f64 {
        let part = |from: f64, to: f64| -> f64 {
            self.places(6, from, to).map(|(at, area)| area * ring(at, place)).sum()
        };
        if !own {
            return part(0.0, 1.0);
        }
        // The place is its middle: parts shrink towards there, as the logarithm demands.
        let ends: Vec<f64> = (0..12).map(|i| 0.5 * 0.15_f64.powi(i)).chain([0.0]).collect();
        ends.windows(2).map(|e| part(0.5 - e[0], 0.5 - e[1]) + part(0.5 + e[1], 0.5 + e[0])).sum()
    }
}

/// Potential at a place, radius and height, of a ring with a charge of 1 T mm²: `K / (2π² s)`.
fn ring([a, h]: [f64; 2], [r, z]: [f64; 2]) -> f64 {
    let s = (r + a).hypot(z - h);
    let kc = ((r - a).hypot(z - h) / s).max(1e-12);
    cel(kc, 1.0, 1.0, 1.0) / (0.5 * TAU * TAU * s)
}

/// The iron with the charge that a magnet of 1 T draws onto its surface.
struct Charged {
    iron: Iron,
    bands: Vec<Band>,
    /// Charge density of each band, T at 1 T.
    density: Vec<f64>,
}

impl Charged {
    fn new(magnet: &Magnet, iron: &Iron, gap: Length) -> Self {
        let [radius, _, half] = iron.shape().half_sizes_mm();
        let (low, high) = (gap.mm(), gap.mm() + 2.0 * half);
        let quarter = 0.25 * TAU;
        let out = |i: u32| radius * (quarter * f64::from(i) / f64::from(ACROSS)).sin();
        let up =
            |i: u32| low + half * (1.0 - (2.0 * quarter * f64::from(i) / f64::from(DOWN)).cos());
        let face = |z: f64| (0..ACROSS).map(move |i| Band([[out(i), z], [out(i + 1), z]]));
        let rim = (0..DOWN).map(|i| Band([[radius, up(i)], [radius, up(i + 1)]]));
        let bands: Vec<Band> = face(low).chain(face(high)).chain(rim).collect();
        let n = bands.len();
        // Each band's potential and the poles' are the iron's own; all charges add up to nothing.
        let mut rows: Vec<Vec<f64>> = bands
            .iter()
            .enumerate()
            .map(|(i, band)| {
                let at = band.middle();
                let row = bands.iter().enumerate().map(|(j, other)| other.potential(at, i == j));
                row.chain([-1.0, -poles(magnet, at)]).collect()
            })
            .collect();
        rows.push(bands.iter().map(Band::area).chain([0.0, 0.0]).collect());
        let mut density = solve(rows);
        density.truncate(n);
        Self { iron: *iron, bands, density }
    }

    /// The pull, less where the iron cannot carry the flux.
    fn pull(&self, magnet: &Magnet, gap: Length) -> Force {
        let half = magnet.shape().half_sizes_mm()[2];
        let strength = magnet.polarisation().tesla();
        let field = |[r, z]: [f64; 2]| {
            flux_density(magnet, [r, 0.0, z + half].map(Length::from_mm))[2].tesla()
        };
        let sum = |(band, density): (&Band, &f64)| -> f64 {
            let on_band = band.places(4, 0.0, 1.0).map(|(at, area)| area * field(at));
            density * on_band.sum::<f64>()
        };
        let force: f64 = self.bands.iter().zip(&self.density).map(sum).sum();
        let carried = SATURATION.tesla() / (strength * self.most_carried(gap));
        Force::from_newtons(-1e-6 / crate::pull::MU0 * strength * force * carried.min(1.0))
    }

    /// The greatest mean polarisation anywhere in the iron, T at 1 T: outwards through each ring, from
    /// the charge of both faces within it, and through half its thickness.
    fn most_carried(&self, gap: Length) -> f64 {
        let [radius, _, half] = self.iron.shape().half_sizes_mm();
        let middle = gap.mm() + half;
        let charges: Vec<([f64; 2], f64)> =
            self.bands.iter().zip(&self.density).map(|(b, d)| (b.middle(), d * b.area())).collect();
        let within = |r: f64| -> f64 {
            charges.iter().filter(|(at, _)| at[0] < r).map(|(_, charge)| charge).sum()
        };
        let outwards = self
            .bands
            .iter()
            .map(|band| band.0[1][0])
            .map(|r| within(r).abs() / (TAU * r * 2.0 * half));
        let far: f64 =
            charges.iter().filter(|(at, _)| at[1] > middle).map(|(_, charge)| charge).sum();
        outwards.fold(far.abs() / (0.5 * TAU * radius * radius), f64::max)
    }
}

/// Potential of a disc magnet's poles at 1 T, at a radius and a height over the upper one, T mm.
fn poles(magnet: &Magnet, place: [f64; 2]) -> f64 {
    let [radius, _, half] = magnet.shape().half_sizes_mm();
    let rings = gauss(96).iter().map(|&[x, w]| {
        let a = radius * (0.5 * (1.0 + x)).sqrt();
        0.25 * TAU * radius * radius * w * (ring([a, 0.0], place) - ring([a, -2.0 * half], place))
    });
    rings.sum()
}

/// Solves linear equations, each row its coefficients and its right side, by elimination with pivots.
fn solve(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for i in 0..n {
        let pivot = (i..n).max_by(|&a, &b| rows[a][i].abs().total_cmp(&rows[b][i].abs()));
        rows.swap(i, pivot.unwrap_or(i));
        let (done, below) = rows.split_at_mut(i + 1);
        let top = &done[i];
        for row in below {
            let factor = row[i] / top[i];
            for (x, t) in row.iter_mut().zip(top).skip(i) {
                *x -= factor * t;
            }
        }
    }
    let mut answer = vec![0.0; n];
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|j| rows[i][j] * answer[j]).sum();
        answer[i] = (rows[i][n] - known) / rows[i][i];
    }
    answer
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

    /// An independent program (the same method with twice the bands, SciPy's elliptic integrals, and the
    /// force from the slope of the energy) gives these, in N at 1.19 T, good to half a per cent; for
    /// wide iron they come within a few per cent of the plate.
    #[test]
    fn discs_pull_as_an_independent_program_says() {
        for (iron, gap, wanted) in [
            ("iron:20x3", 4.0, 1.9773),
            ("iron:20x3", 8.0, 0.4537),
            ("iron:40x3", 4.0, 4.7557),
            ("iron:20x1", 4.0, 1.4035),
            ("iron:20x20", 4.0, 3.3128),
        ] {
            let found = pulls("disc:20x3:1.19", iron, gap).disc.newtons();
            assert!((found / wanted - 1.0).abs() < 0.01, "{iron} {gap}: {found}, wanted {wanted}");
        }
    }

    /// 0.5 mm of iron cannot lead away the flux of a strong stout magnet.
    #[test]
    fn thin_iron_saturates() {
        let weak = pulls("disc:20x20:0.1", "iron:20x0.5", 1.0).disc.newtons() / 0.01;
        let strong = pulls("disc:20x20:1.4", "iron:20x0.5", 1.0).disc.newtons() / 1.96;
        assert!(strong < 0.8 * weak, "{strong} {weak}");
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
        // N is that of an even magnetisation; the true charge gathers at
        // the edges and draws a fifth more.
        assert!((1.1..1.3).contains(&(found / wanted)), "{found} {wanted}");
    }
}
