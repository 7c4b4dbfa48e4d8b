//! How strongly two magnets hold each other through what lies between them.
//!
//! Both are magnetised through their thickness, poles facing so that they attract, edges parallel.
//! The inner one stays; the outer one is moved sideways by an offset. Forces are on the outer one,
//! z pointing away from the inner one.
//!
//! `F = J1 J2 f(shapes, gap, offset)`: the forms of f stand in `disc_disc`, `block_block`,
//! `disc_block` and, far apart, `far`.
//!
//! Valid for unit permeability and nothing of iron near by. Ignores recoil permeability (costs 6 to
//! 7 % of the pull of thin magnets, see [`crate::at_temperature`]); published measurements agree
//! with such models within 10 to 15 %.
//!
//! Accuracy 1e-9 of the force's size within a magnet's size or two, and for discs everywhere; 1e-7
//! at worst for long flat blocks hundreds of millimetres apart, just before `far` takes over.

use geometry::Length;

use crate::disc_disc::Disc;
use crate::quadrature::peak;
use crate::{Force, HoldError, Magnet, MagnetShape, block_block, disc_block, disc_disc, far};

/// Magnetic constant in T m/A, the value before 2019, within 1e-9 of today's.
pub(crate) const MU0: f64 = 4e-7 * std::f64::consts::PI;

/// Smallest gap: the coatings of two bare magnets keep them about this far apart (chosen by us).
pub const LEAST_GAP: Length = Length::from_mm(0.01);

/// Largest gap or offset: nothing of a magnet is felt at ten metres (chosen by us).
pub const MOST_DISTANCE: Length = Length::from_mm(10_000.0);

/// The force between two magnets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairForce {
    /// Towards each other, positive; a pair far aside of each other may push apart.
    pub pull: Force,
    /// Along the offset, positive when it draws back to the centre; zero without an offset.
    pub slide: Force,
    /// On the outer magnet along x, y and z, z pointing away from the inner one.
    pub force: [Force; 3],
}

/// Where a magnet resists being slid aside the most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PeakSlide {
    /// How far aside that is.
    pub offset: Length,
    /// The forces there.
    pub force: PairForce,
}

/// The force between two magnets, `gap` apart between facing poles, the outer one moved sideways
/// by `offset` along x and y.
///
/// # Errors
/// When the gap is outside [`LEAST_GAP`] to [`MOST_DISTANCE`], or an offset beyond the latter.
///
/// ```
/// use geometry::Length;
/// let magnet: hold::Magnet = "disc:20x3:N35".parse()?;
/// let aside = (Length::from_mm(2.0), Length::ZERO);
/// let pair = hold::pair_force(&magnet, &magnet, Length::from_mm(7.0), aside)?;
/// assert_eq!(format!("{:.3}, {:.3}", pair.pull, pair.slide), "5.732 N, 1.067 N");
/// # Ok::<(), hold::HoldError>(())
/// ```
pub fn pair_force(
    outer: &Magnet,
    inner: &Magnet,
    gap: Length,
    offset: (Length, Length),
) -> Result<PairForce, HoldError> {
    within("gap", gap, LEAST_GAP)?;
    within("offset along x", offset.0, -MOST_DISTANCE)?;
    within("offset along y", offset.1, -MOST_DISTANCE)?;
    let (g, d) = (gap.mm(), [offset.0.mm(), offset.1.mm()]);
    let strength = outer.polarisation().tesla() * inner.polarisation().tesla();
    let force = unit_force(outer.shape(), inner.shape(), g, d).map(|f| strength * f);
    let aside = d[0].hypot(d[1]);
    let slide = if aside > 0.0 { -(force[0] * d[0] + force[1] * d[1]) / aside } else { 0.0 };
    Ok(PairForce {
        pull: Force::from_newtons(-force[2]),
        slide: Force::from_newtons(slide),
        force: force.map(Force::from_newtons),
    })
}

/// The pull of a magnet on a thick iron plate at `gap`: that of its mirror image, twice as far.
///
/// Valid for iron that is thick and far from saturated; thin sheet holds less.
///
/// # Errors
/// When twice the gap is outside [`LEAST_GAP`] to [`MOST_DISTANCE`].
pub fn plate_pull(magnet: &Magnet, gap: Length) -> Result<Force, HoldError> {
    // The gap is refused as it was given, not as that of the image.
    within("gap", gap, LEAST_GAP * 0.5)?;
    pair_force(magnet, magnet, gap * 2.0, (Length::ZERO, Length::ZERO)).map(|pair| pair.pull)
}

/// The largest force that draws the outer magnet back when it is slid aside along `heading`
/// (anticlockwise from x).
///
/// # Errors
/// When the gap is outside [`LEAST_GAP`] to [`MOST_DISTANCE`].
pub fn peak_slide(
    outer: &Magnet,
    inner: &Magnet,
    gap: Length,
    heading: geometry::Angle,
) -> Result<PeakSlide, HoldError> {
    within("gap", gap, LEAST_GAP)?;
    let (sin, cos) = heading.radians().sin_cos();
    let at = |mm: f64| {
        pair_force(outer, inner, gap, (Length::from_mm(mm * cos), Length::from_mm(mm * sin)))
    };
    // The peak lies where the rims pass each other, or for a distant pair at half the distance.
    let size = |magnet: &Magnet| magnet.shape().reach_mm();
    let most = (size(outer) + size(inner) + gap.mm()).min(MOST_DISTANCE.mm());
    let slide = |mm: f64| at(mm).map_or(f64::NEG_INFINITY, |pair| pair.slide.newtons());
    let (offset, _) = peak(0.0, most, slide);
    Ok(PeakSlide { offset: Length::from_mm(offset), force: at(offset)? })
}

pub(crate) fn within(item: &'static str, found: Length, least: Length) -> Result<(), HoldError> {
    if found < least || found > MOST_DISTANCE {
        return Err(HoldError::Distance { item, found, least, most: MOST_DISTANCE });
    }
    Ok(())
}

/// Force on the outer magnet in N at 1 T each; gap and offset in millimetres.
fn unit_force(outer: MagnetShape, inner: MagnetShape, gap: f64, offset: [f64; 2]) -> [f64; 3] {
    let half = [outer, inner].map(MagnetShape::half_sizes_mm);
    let centres = [offset[0], offset[1], half[0][2] + gap + half[1][2]];
    if let Some(force) = far::force(outer, inner, centres) {
        return force;
    }
    let disc = |half: [f64; 3]| Disc { radius: half[0], thickness: 2.0 * half[2] };
    match (outer, inner) {
        (MagnetShape::Disc { .. }, MagnetShape::Disc { .. }) => {
            let aside = offset[0].hypot(offset[1]);
            let (pull, back) = disc_disc::force(disc(half[0]), disc(half[1]), gap, aside);
            let along = |d: f64| if aside > 0.0 { -back * (d / aside) } else { 0.0 };
            [along(offset[0]), along(offset[1]), -pull]
        }
        (MagnetShape::Block { .. }, MagnetShape::Block { .. }) => {
            block_block::force(half[0], half[1], centres)
        }
        // Turning the pair upside down and about swaps outer and inner and changes no force.
        (MagnetShape::Disc { .. }, MagnetShape::Block { .. }) => {
            disc_block::force(disc(half[0]), half[1], gap, offset)
        }
        (MagnetShape::Block { .. }, MagnetShape::Disc { .. }) => {
            disc_block::force(disc(half[1]), half[0], gap, offset)
        }
    }
}
