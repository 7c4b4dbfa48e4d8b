//! The lettering of drawings: Atkinson Hyperlegible Next, shaped and measured.
//!
//! Fractions are real ones: `57 3/8` written with a fraction slash (`3⁄8`), or with the single
//! characters ⅛ ⅜ ⅝ ⅞ …, takes the font's fraction figures. A character the font lacks is drawn as
//! its empty box and stays readable as text.

use std::borrow::Cow;
use std::sync::LazyLock;

use geometry::Length;
use rustybuzz::ttf_parser::{GlyphId, OutlineBuilder, Tag};
use rustybuzz::{Face, Feature, GlyphBuffer, UnicodeBuffer};

/// How heavy letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    Regular,
    Bold,
}

/// The font files drawings are lettered with, regular and bold, for papers that go with them.
pub const FONTS: [&[u8]; 2] = [Weight::Regular.font(), Weight::Bold.font()];

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
        '¼' => Some("1⁄4"),
        '½' => Some("1⁄2"),
        '¾' => Some("3⁄4"),
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
            Some(slashed) => {
                // Else 92⅛ would run together into 921⁄8.
                if spelled.ends_with(|last: char| last.is_ascii_digit()) {
                    spelled.push(' ');
                }
                spelled.push_str(slashed);
            }
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

/// How far the chords of a letter drawn by pen may stand off its curves. Chosen by us: a fifth of the
/// width of a thin line.
const LETTER_CHORD: f64 = 0.05;

/// The outlines of words whose capitals are this high, from the start of their base line: millimetres
/// to the right and up, each closed.
pub(crate) fn outlines(words: &str, weight: Weight, height: Length) -> Vec<Vec<[f64; 2]>> {
    let face = weight.face();
    let zoom = height.mm() / CAPITALS / f64::from(face.units_per_em());
    let mut pen = LetterPen { zoom, at: [0.0; 2], shift: [0.0; 2], outlines: Vec::new() };
    let glyphs = shape(&spelled(words), weight);
    let mut advance = 0.0;
    for (info, position) in glyphs.glyph_infos().iter().zip(glyphs.glyph_positions()) {
        pen.shift = [advance + f64::from(position.x_offset), f64::from(position.y_offset)];
        if let Ok(glyph) = u16::try_from(info.glyph_id) {
            // A space has no outline.
            let _ = face.outline_glyph(GlyphId(glyph), &mut pen);
        }
        advance += f64::from(position.x_advance);
    }
    pen.outlines
}

/// Follows a letter's outline and keeps chords of it.
struct LetterPen {
    zoom: f64,
    at: [f64; 2],
    shift: [f64; 2],
    outlines: Vec<Vec<[f64; 2]>>,
}

impl LetterPen {
    fn place(&self, x: f32, y: f32) -> [f64; 2] {
        let [right, up] = self.shift;
        [(f64::from(x) + right) * self.zoom, (f64::from(y) + up) * self.zoom]
    }

    fn to(&mut self, point: [f64; 2]) {
        self.at = point;
        if let Some(outline) = self.outlines.last_mut() {
            outline.push(point);
        }
    }

    /// Chords of a cubic curve: n of equal steps stand off it by at most max|B″|/(8n²), and B″ is a
    /// mean of six times the second differences of its control points.
    fn curve(&mut self, b: [f64; 2], c: [f64; 2], d: [f64; 2]) {
        let a = self.at;
        let second = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
            6.0 * (p[0] - 2.0 * q[0] + r[0]).hypot(p[1] - 2.0 * q[1] + r[1])
        };
        let bend = second(a, b, c).max(second(b, c, d));
        let mut n = 1_u32;
        while bend / (8.0 * f64::from(n * n)) > LETTER_CHORD {
            n += 1;
        }
        for i in 1..=n {
            let t = f64::from(i) / f64::from(n);
            let u = 1.0 - t;
            let (wa, wb, wc, wd) = (u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t);
            self.to([0, 1].map(|k| wa * a[k] + wb * b[k] + wc * c[k] + wd * d[k]));
        }
    }
}

impl OutlineBuilder for LetterPen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.outlines.push(Vec::new());
        self.to(self.place(x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.to(self.place(x, y));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (a, q, d) = (self.at, self.place(x1, y1), self.place(x, y));
        // A quadratic curve as the cubic it also is.
        let toward = |p: [f64; 2]| [0, 1].map(|k| p[k] + (q[k] - p[k]) * 2.0 / 3.0);
        self.curve(toward(a), toward(d), d);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.curve(self.place(x1, y1), self.place(x2, y2), self.place(x, y));
    }

    fn close(&mut self) {
        let start = self.outlines.last().and_then(|outline| outline.first().copied());
        if let Some(start) = start {
            self.to(start);
        }
    }
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
    fn a_fraction_right_after_a_whole_number_stays_apart_from_it() {
        assert_eq!(glyphs("92⅛"), glyphs("92 1⁄8"));
        assert_eq!(glyphs("92¼"), glyphs("92 1⁄4"));
        assert_ne!(glyphs("92⅛"), glyphs("921⁄8"));
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
    fn outlines_of_letters_are_as_high_and_wide_as_the_words() {
        let height = Length::from_mm(10.0);
        let drawn = outlines("HiH 3⁄8", Weight::Bold, height);
        let span = |k: usize| {
            let all = || drawn.iter().flatten().map(|p| p[k]);
            [all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)]
        };
        let ([left, right], [low, _]) = (span(0), span(1));
        let capital = drawn[0].iter().map(|p| p[1]).fold(f64::NEG_INFINITY, f64::max);
        assert!((capital - 10.0).abs() < 0.05 && low.abs() < 0.3, "{capital} {low}");
        let wide = width("HiH 3⁄8", Weight::Bold, height).mm();
        assert!(left > 0.0 && right < wide && right - left > 0.9 * wide, "{left} {right} {wide}");
        assert!(drawn.iter().all(|outline| outline.first() == outline.last()));
    }

    #[test]
    fn width_grows_with_height_and_words() {
        let mm = |words, h| width(words, Weight::Bold, Length::from_mm(h)).mm();
        assert!((mm("front panel", 10.0) - 2.0 * mm("front panel", 5.0)).abs() < 1e-9);
        assert!(mm("front panel, left", 5.0) > mm("front panel", 5.0));
        assert_eq!(mm("", 5.0), 0.0);
    }
}
