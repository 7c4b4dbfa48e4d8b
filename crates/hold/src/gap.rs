//! The gap between two magnets: what lies between their facing poles.
//!
//! `gap = glass + outer cloth + inner cloth + pad`
//!
//! The outer cloth is the part of the hem between its magnet and the glass, the inner cloth the
//! pocket of the inner magnet, the pad a felt or non-slip face on either. Ignores air: cloth that
//! ruckles and glass that is bent under a stiff disc add to the gap. Limits chosen by us: vehicle
//! glass is about 3 to 12 mm (from memory), double glazing up to about 25 mm.

use geometry::Length;

use crate::HoldError;

/// What lies between the facing poles of a pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GapParts {
    /// The glass.
    pub glass: Length,
    /// Cloth between the outer magnet and the glass.
    pub outer_cloth: Length,
    /// Cloth between the inner magnet and the glass.
    pub inner_cloth: Length,
    /// Felt, non-slip face or coating beyond the cloths.
    pub pad: Length,
}

/// The distance between the facing poles.
///
/// # Errors
/// When the glass is not 1 to 25 mm, a cloth not 0 to 10 mm or the pad not 0 to 20 mm thick.
pub fn gap_through(parts: &GapParts) -> Result<Length, HoldError> {
    let each = [
        (
            "glass",
            parts.glass,
            [1.0, 25.0],
            "measure its thickness at the edge in mm, or ask the maker",
        ),
        ("outer cloth", parts.outer_cloth, [0.0, 10.0], CLOTH),
        ("inner cloth", parts.inner_cloth, [0.0, 10.0], CLOTH),
        ("pad", parts.pad, [0.0, 20.0], "measure it pressed flat, in mm"),
    ];
    for (item, found, range, way_out) in each {
        HoldError::check(item, found.mm(), range, " mm", way_out)?;
    }
    Ok(parts.glass + parts.outer_cloth + parts.inner_cloth + parts.pad)
}

const CLOTH: &str = "measure the layers between magnet and glass pressed flat, in mm";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_between_adds_up() {
        let mm = Length::from_mm;
        let parts =
            GapParts { glass: mm(7.0), outer_cloth: mm(0.5), inner_cloth: mm(0.4), pad: mm(1.0) };
        assert!((gap_through(&parts).unwrap().mm() - 8.9).abs() < 1e-12);
        for (glass, pad, says) in [
            (60.0, 1.0, "glass is 60 mm, but must be from 1 to 25 mm; measure"),
            (-7.0, 1.0, "glass is -7 mm"),
            (7.0, -1.0, "pad is -1 mm"),
        ] {
            let parts = GapParts { glass: mm(glass), pad: mm(pad), ..parts };
            let message = gap_through(&parts).unwrap_err().to_string();
            assert!(message.starts_with(says), "{message}");
        }
    }
}
