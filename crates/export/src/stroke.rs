//! Line kinds, tones and inks: the one table every exporter draws from.
//!
//! Widths and dashes follow ISO 128-2:2020 (widths 0.18, 0.25, 0.35, 0.5, 0.7 mm; dash elements
//! counted in line widths d: dash 12d, gap 3d, long dash 24d, dot at most 0.5d; from memory). Which kind
//! a line of a cover takes is chosen by us: what the knife follows and the edge of the glass are
//! wide lines, all the rest are narrow ones. Layer numbers are those of ASTM D6673-10 as listed in
//! the documentation of ezdxf ("DXF ASTM File Format").

use geometry::Length;

/// What a line means. Its stroke follows from that.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LineKind {
    /// Where the knife goes round a piece.
    Cut,
    /// Where the knife goes round a hole in a piece.
    CutOut,
    /// Where the needle goes, or a raw finished edge lies.
    Sew,
    /// Where cloth is turned.
    Fold,
    /// Direction of the warp.
    Grain,
    /// Drawn for the bench; neither cut, sewn nor folded.
    Internal,
    /// A notch.
    Notch,
    /// Cross at a place marked through the cloth.
    Drill,
    /// Circle of what sits at a drill point.
    Fitting,
    /// Edge of the glass.
    GlassEdge,
    /// Inner edge of the solid black border.
    Band,
    /// Edge of what is out of reach inside.
    Blocked,
    /// Dimension and extension lines.
    Dimension,
    /// Centre line.
    Centre,
    /// A dimension or line in doubt; a word and a hatch go with it, never colour alone.
    Doubt,
    /// The one thing that is asked about or acted on.
    Chosen,
    /// Edge of the roll of cloth.
    Selvedge,
    /// Where the next sheet of paper is laid.
    Join,
    /// Where a sheet of paper is trimmed, and the rings that show it lies right.
    Trim,
    /// Curve of pull in a chart.
    Pull,
    /// The same, warm.
    PullWarm,
    /// Curve of sideways force in a chart.
    Sideways,
    /// The same, warm.
    SidewaysWarm,
    /// Line of a chart's scale.
    ScaleLine,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Name used as class in SVG.
    pub name: &'static str,
    /// Width on paper.
    pub width: Length,
    /// Lengths of dash, gap, dash, gap, … in line widths; empty for a continuous line.
    pub dash: &'static [f64],
    /// Colour.
    pub ink: Ink,
    /// Layer in DXF, by ASTM D6673 number.
    pub layer: u8,
}

const CONTINUOUS: &[f64] = &[]; // ISO 128-2 line type 01
const DASHED: &[f64] = &[12.0, 3.0]; // 02
const LONG_DASH_DOT: &[f64] = &[24.0, 3.0, 0.5, 3.0]; // 04
const LONG_DASH_DOUBLE_DOT: &[f64] = &[24.0, 3.0, 0.5, 3.0, 0.5, 3.0]; // 05

const fn stroke(
    name: &'static str,
    width: f64,
    dash: &'static [f64],
    ink: Ink,
    layer: u8,
) -> Stroke {
    Stroke { name, width: Length::from_mm(width), dash, ink, layer }
}

impl LineKind {
    /// How it is drawn.
    #[must_use]
    pub const fn stroke(self) -> Stroke {
        match self {
            Self::Cut => stroke("cut", 0.5, CONTINUOUS, Ink::Ink, 1),
            Self::CutOut => stroke("cut-out", 0.5, CONTINUOUS, Ink::Ink, 11),
            Self::Sew => stroke("sew", 0.25, DASHED, Ink::Ink, 14),
            Self::Fold => stroke("fold", 0.25, LONG_DASH_DOUBLE_DOT, Ink::Ink, 8),
            Self::Grain => stroke("grain", 0.25, CONTINUOUS, Ink::Ink, 7),
            Self::Internal => stroke("internal", 0.25, CONTINUOUS, Ink::Ink, 8),
            Self::Notch => stroke("notch", 0.35, CONTINUOUS, Ink::Ink, 4),
            Self::Drill => stroke("drill", 0.25, CONTINUOUS, Ink::Ink, 13),
            Self::Fitting => stroke("fitting", 0.25, CONTINUOUS, Ink::Ink, 15),
            Self::GlassEdge => stroke("glass-edge", 0.5, CONTINUOUS, Ink::Ink, 8),
            Self::Band => stroke("band", 0.25, CONTINUOUS, Ink::Quiet, 8),
            Self::Blocked => stroke("blocked", 0.25, DASHED, Ink::Quiet, 8),
            Self::Dimension => stroke("dimension", 0.25, CONTINUOUS, Ink::Ink, 15),
            Self::Centre => stroke("centre", 0.25, LONG_DASH_DOT, Ink::Quiet, 15),
            Self::Doubt => stroke("doubt", 0.5, CONTINUOUS, Ink::Doubt, 15),
            Self::Chosen => stroke("chosen", 0.7, CONTINUOUS, Ink::Accent, 15),
            Self::Selvedge => stroke("selvedge", 0.35, CONTINUOUS, Ink::Quiet, 8),
            Self::Join => stroke("join", 0.18, DASHED, Ink::Quiet, 15),
            Self::Trim => stroke("trim", 0.18, CONTINUOUS, Ink::Quiet, 15),
            Self::Pull => stroke("pull", 0.7, CONTINUOUS, Ink::Accent, 15),
            Self::PullWarm => stroke("pull-warm", 0.35, DASHED, Ink::Accent, 15),
            Self::Sideways => stroke("sideways", 0.7, CONTINUOUS, Ink::Ink, 15),
            Self::SidewaysWarm => stroke("sideways-warm", 0.35, DASHED, Ink::Ink, 15),
            Self::ScaleLine => stroke("scale-line", 0.18, CONTINUOUS, Ink::Band, 15),
        }
    }
}

/// What a filled area means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ToneKind {
    /// The solid black border of the glass, a light tone.
    Band,
    /// Out of reach inside: hatched at 45°.
    Blocked,
    /// Cloth outside the finished edge of a piece: hatched at 45°.
    Allowance,
    /// How well an edge is known: a soft border, its scale written beside it.
    Uncertain,
    /// Something in doubt: hatched in its own colour.
    Doubt,
}

/// How an area is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tone {
    /// Name used as class in SVG.
    pub name: &'static str,
    /// Its even colour.
    pub fill: Option<Ink>,
    /// Lines at 45° across it.
    pub hatch: Option<Stroke>,
}

/// Distance between hatch lines on paper. Chosen by us: open enough to stay lines in print.
pub(crate) const HATCH_SPACING: Length = Length::from_mm(1.6);

impl ToneKind {
    /// How it is drawn.
    #[must_use]
    pub const fn tone(self) -> Tone {
        match self {
            Self::Band => Tone { name: "band-tone", fill: Some(Ink::Band), hatch: None },
            Self::Blocked => Tone {
                name: "blocked-tone",
                fill: None,
                hatch: Some(stroke("blocked-hatch", 0.18, CONTINUOUS, Ink::Quiet, 15)),
            },
            Self::Allowance => Tone {
                name: "allowance-tone",
                fill: None,
                hatch: Some(stroke("allowance-hatch", 0.18, CONTINUOUS, Ink::Quiet, 15)),
            },
            Self::Uncertain => Tone { name: "uncertain-tone", fill: Some(Ink::Soft), hatch: None },
            Self::Doubt => Tone {
                name: "doubt-tone",
                fill: None,
                hatch: Some(stroke("doubt-hatch", 0.35, CONTINUOUS, Ink::Doubt, 15)),
            },
        }
    }
}

/// A colour by its purpose.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ink {
    /// Lines and words.
    Ink,
    /// Lines and words that stand back.
    Quiet,
    /// What can be acted on.
    Accent,
    /// What is in doubt.
    Doubt,
    /// Tone of the black border.
    Band,
    /// Soft border of what is uncertain.
    Soft,
    /// The paper itself.
    Paper,
}

impl Ink {
    /// Every ink.
    pub const ALL: [Self; 7] =
        [Self::Ink, Self::Quiet, Self::Accent, Self::Doubt, Self::Band, Self::Soft, Self::Paper];

    /// Its name: the CSS variable `--ink` and so on, by which a page may set it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ink => "ink",
            Self::Quiet => "quiet",
            Self::Accent => "accent",
            Self::Doubt => "doubt",
            Self::Band => "band",
            Self::Soft => "soft",
            Self::Paper => "paper",
        }
    }

    /// Red, green and blue on light paper.
    #[must_use]
    pub const fn light(self) -> [u8; 3] {
        match self {
            Self::Ink => [0x16, 0x23, 0x2B],
            Self::Quiet => [0x55, 0x60, 0x67],
            Self::Accent => [0x0F, 0x6E, 0x6E],
            Self::Doubt => [0xB4, 0x53, 0x09],
            Self::Band => [0xE4, 0xDF, 0xD4],
            Self::Soft => [0xC9, 0xDD, 0xDB],
            Self::Paper => [0xFB, 0xFA, 0xF7],
        }
    }

    /// Red, green and blue on a dark board.
    #[must_use]
    pub const fn dark(self) -> [u8; 3] {
        match self {
            Self::Ink => [0xE9, 0xEC, 0xEA],
            Self::Quiet => [0xA3, 0xAD, 0xB2],
            Self::Accent => [0x5F, 0xC2, 0xBE],
            Self::Doubt => [0xF0, 0xA0, 0x5A],
            Self::Band => [0x33, 0x3C, 0x41],
            Self::Soft => [0x1F, 0x48, 0x49],
            Self::Paper => [0x12, 0x19, 0x1D],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// WCAG 2.2, relative luminance and contrast ratio.
    fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
        let luminance = |rgb: [u8; 3]| {
            let [r, g, b] = rgb.map(|c| {
                let c = f64::from(c) / 255.0;
                if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
            });
            0.2126 * r + 0.7152 * g + 0.0722 * b
        };
        let (x, y) = (luminance(a) + 0.05, luminance(b) + 0.05);
        x.max(y) / x.min(y)
    }

    #[test]
    fn every_ink_that_carries_words_reads_on_both_boards() {
        for ink in [Ink::Ink, Ink::Quiet, Ink::Accent, Ink::Doubt] {
            assert!(contrast(ink.light(), Ink::Paper.light()) >= 4.5, "{ink:?} light");
            assert!(contrast(ink.dark(), Ink::Paper.dark()) >= 4.5, "{ink:?} dark");
        }
    }
}
