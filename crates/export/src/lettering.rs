//! The lettering of drawings: Atkinson Hyperlegible Next, shaped and measured.
//!
//! Fractions are real ones: `57 3/8` written with a fraction slash (`3⁄8`), or with the single
//! characters ⅛ ⅜ ⅝ ⅞ …, takes the font's fraction figures. A character the font lacks is drawn as
//! its empty box and stays readable as text.

use std::borrow::Cow;
use std::sync::LazyLock;

use geometry::Length;
use rustybuzz::ttf_parser::Tag;
use rustybuzz::{Face, Feature, GlyphBuffer, UnicodeBuffer};

/// How heavy letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    Regular,
    Bold,
}

impl Weight {
    /// The font file.
    pub(crate) const fn font(self) -> &'static [u8] {
        match self {
            Self::Regular => include_bytes!("../assets/AtkinsonHyperlegibleNext-Regular.ttf"),
            Self::Bold => include_bytes!("../assets/AtkinsonHyperlegibleNext-Bold.ttf"),
        }
    }

    fn face(self) -> &'static Face<'static> {
        static FACES: LazyLock<[Face<'static>; 2]> = LazyLock::new(|| {
            [Weight::Regular, Weight::Bold].map(|weight| {
                Face::from_slice(weight.font(), 0).expect("the font in assets is a font")
            })
        });
        &FACES[self as usize]
    }
}

/// Height of capitals over the size of the font: 668 of 1000 units, from the font's OS/2 table.
pub(crate) const CAPITALS: f64 = 0.668;

/// Words as they are shaped: single fraction characters spelled with a fraction slash.
pub(crate) fn spelled(words: &str) -> Cow<'_, str> {
    let fraction = |c| match c {
        '⅓' => Some("1⁄3"),
        '⅔' => Some("2⁄3"),
        '⅛' => Some("1⁄8"),
        '⅜' => Some("3⁄8"),
        '⅝' => Some("5⁄8"),
        '⅞' => Some("7⁄8"),
        _ => None,
    };
    if !words.chars().any(|c| c.is_control() || fraction(c).is_some()) {
        return Cow::Borrowed(words);
    }
    let mut spelled = String::with_capacity(words.len());
    for c in words.chars() {
        match fraction(c) {
            Some(slashed) => spelled.push_str(slashed),
            None => spelled.push(if c.is_control() { ' ' } else { c }),
        }
    }
    Cow::Owned(spelled)
}

/// Glyphs of words already [`spelled`], with their advances in thousandths of the font size.
pub(crate) fn shape(spelled: &str, weight: Weight) -> GlyphBuffer {
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(spelled);
    buffer.guess_segment_properties();
    let features: Vec<Feature> = fraction_spans(spelled)
        .map(|span| Feature::new(Tag::from_bytes(b"frac"), 1, span))
        .collect();
    rustybuzz::shape(weight.face(), &features, buffer)
}

/// Where digits, fraction slash, digits stand, in bytes.
fn fraction_spans(words: &str) -> impl Iterator<Item = std::ops::Range<usize>> + '_ {
    words.match_indices('⁄').filter_map(|(at, slash)| {
        let digits = |c: char| c.is_ascii_digit();
        let before = words[..at].chars().rev().take_while(|&c| digits(c)).count();
        let after = words[at + slash.len()..].chars().take_while(|&c| digits(c)).count();
        (before > 0 && after > 0).then(|| at - before..at + slash.len() + after)
    })
}

/// Width of words whose capitals are this high.
pub(crate) fn width(words: &str, weight: Weight, height: Length) -> Length {
    let advance: i32 =
        shape(&spelled(words), weight).glyph_positions().iter().map(|glyph| glyph.x_advance).sum();
    height * (f64::from(advance) / f64::from(weight.face().units_per_em()) / CAPITALS)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn glyphs(words: &str) -> Vec<u32> {
        shape(&spelled(words), Weight::Regular).glyph_infos().iter().map(|g| g.glyph_id).collect()
    }

    #[test]
    fn fractions_are_set_as_fractions() {
        assert_eq!(glyphs("57 3⁄8"), glyphs("57 ⅜"));
        let (three, whole) = (glyphs("3")[0], glyphs("57 ⅜"));
        assert!(!whole.contains(&three), "the 3 is a small raised one");
        assert_eq!(whole[..2], glyphs("57")[..], "the whole number is not");
    }

    #[test]
    fn capitals_are_as_high_as_the_font_says() {
        for weight in [Weight::Regular, Weight::Bold] {
            let capitals = weight.face().capital_height().unwrap();
            let em = weight.face().units_per_em();
            assert!((f64::from(capitals) / f64::from(em) - CAPITALS).abs() < 1e-9);
        }
    }

    #[test]
    fn width_grows_with_height_and_words() {
        let mm = |words, h| width(words, Weight::Bold, Length::from_mm(h)).mm();
        assert!((mm("front panel", 10.0) - 2.0 * mm("front panel", 5.0)).abs() < 1e-9);
        assert!(mm("front panel, left", 5.0) > mm("front panel", 5.0));
        assert_eq!(mm("", 5.0), 0.0);
    }
}
