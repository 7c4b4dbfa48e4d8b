//! PDF: the drawing at its scale on one page.
//!
//! Curves are cubic Béziers there. A cubic with control points at (4/3)·tan(θ/4)·r along the
//! tangents stands off an arc of sweep θ by at most 2.73e-4·r·(θ/90°)⁶ for θ ≤ 90° (sixth order:
//! Goldapp 1991, from memory; the constant is the well-known one of a quarter circle, tested below),
//! so arcs are cut until that is below [`OFF_ARC`].

use geometry::{Angle, Bounds, Frame, Length, Page as PageFrame, Path, Point};
use krilla::color::rgb;
use krilla::geom::{PathBuilder, Point as PdfPoint, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Paint, Stroke as PdfStroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Data, Document};

use crate::ExportError;
use crate::drawing::{Anchor, Drawing, Element, MARGIN, Mark, Scale, Text, TextRole, join};
use crate::lettering::{self, CAPITALS, Weight};
use crate::stroke::Ink;
use crate::svg::HALO;
use crate::view::{Step, View, steps};

/// Longest side of a page. Without a user unit PDF readers take 14,400 points of 1/72 inch
/// (ISO 32000-1, annex C).
pub const LONGEST_PAGE: Length = Length::from_inches(14_400.0 / 72.0);
/// How far a Bézier may stand off its arc: a tenth of what the formats must agree to, halved for the
/// rounding of coordinates to 24 bits.
const OFF_ARC: Length = Length::from_mm(0.0005);
/// Height of capitals in the foot: those of 10 point type.
pub(crate) const FOOT: Length = Length::from_mm(10.0 * 25.4 / 72.0 * CAPITALS);

/// The drawing as a PDF of one page, with [`MARGIN`] around it and title, foot and scale below.
///
/// # Errors
/// [`ExportError::NothingDrawn`]; [`ExportError::PageTooLong`] when a side would be longer than
/// [`LONGEST_PAGE`].
pub fn write_pdf<F: Frame>(drawing: &Drawing<F>) -> Result<Vec<u8>, ExportError> {
    let caption = &drawing.caption;
    let (sheet, scale) = (drawing.sheet()?, caption.scale);
    let size = [scale.paper(sheet.width()), scale.paper(sheet.height())];
    let longest = size[0].max(size[1]);
    if longest > LONGEST_PAGE {
        let title = caption.title.clone();
        return Err(ExportError::PageTooLong { title, found: longest, most: LONGEST_PAGE });
    }
    let mut press = Press::new(&caption.title);
    press.page(size, |page| {
        let view = View::new(&sheet, 1.0 / scale.real(Length::from_mm(1.0)).mm(), [0.0, 0.0]);
        for mark in drawing.groups.iter().flat_map(|group| group.marks(scale)) {
            page.paint(&mark, &view, 1.0);
        }
        let foot = [join(&[&caption.title, &caption.foot]), scale.to_string()];
        page.draw(&foot_words(size[0], MARGIN * 0.4, foot));
    });
    press.finish()
}

/// Words at the left and right end of a foot, cut where they would meet.
pub(crate) fn foot_words(
    width: Length,
    base_line: Length,
    [left, right]: [String; 2],
) -> Vec<Element<PageFrame>> {
    let text = |x, anchor, words| {
        let (at, turn) = (Point::new(x, base_line), Angle::ZERO);
        Element::Text(Text { at, anchor, height: FOOT, turn, words, role: TextRole::Quiet })
    };
    let taken = lettering::width(&right, Weight::Regular, FOOT) + FOOT * 3.0;
    let left = fitted(&left, FOOT, width - MARGIN * 2.0 - taken);
    vec![text(MARGIN, Anchor::Start, left), text(width - MARGIN, Anchor::End, right)]
}

/// The words, or as many of their first letters as there is room for.
pub(crate) fn fitted(words: &str, height: Length, room: Length) -> String {
    let wide = |words: &str| lettering::width(words, Weight::Regular, height) > room;
    if !wide(words) {
        return words.to_owned();
    }
    let ends = words.char_indices().rev().map(|(end, _)| format!("{}…", words[..end].trim_end()));
    ends.into_iter().find(|shorter| !wide(shorter)).unwrap_or_default()
}

/// A PDF in the making.
pub(crate) struct Press {
    document: Document,
    fonts: [Font; 2],
    title: String,
}

impl Press {
    pub(crate) fn new(title: &str) -> Self {
        let mut document = Document::new();
        document.set_metadata(Metadata::new().title(title.to_owned()).language("en".to_owned()));
        let fonts = [Weight::Regular, Weight::Bold].map(|weight| {
            Font::new(Data::from(weight.font()), 0).expect("the font in assets is a font")
        });
        Self { document, fonts, title: title.to_owned() }
    }

    /// Adds a page of this width and height.
    pub(crate) fn page(&mut self, size: [Length; 2], draw: impl FnOnce(&mut Page<'_, '_>)) {
        const POINTS_PER_MM: f64 = 72.0 / 25.4;
        let [width, height] = size.map(|side| (side.mm() * POINTS_PER_MM) as f32);
        let settings = PageSettings::from_wh(width, height).expect("a page has two sides");
        let mut page = self.document.start_page_with(settings);
        let mut surface = page.surface();
        let zoom = POINTS_PER_MM as f32;
        surface.push_transform(&Transform::from_scale(zoom, zoom));
        draw(&mut Page { surface: &mut surface, fonts: &self.fonts, size });
        surface.pop();
        surface.finish();
        page.finish();
    }

    pub(crate) fn finish(self) -> Result<Vec<u8>, ExportError> {
        let refused = |reason| ExportError::Pdf { title: self.title, reason };
        self.document.finish().map_err(|error| refused(format!("{error:?}")))
    }
}

/// One page, in millimetres to the right and down.
pub(crate) struct Page<'p, 's> {
    surface: &'p mut Surface<'s>,
    fonts: &'p [Font; 2],
    size: [Length; 2],
}

impl Page<'_, '_> {
    /// Draws elements in the page's own frame.
    pub(crate) fn draw(&mut self, elements: &[Element<PageFrame>]) {
        let [width, height] = self.size;
        let all = Bounds { min: Point::<PageFrame>::ORIGIN, max: Point::new(width, height) };
        let view = View::new(&all, 1.0, [0.0, 0.0]);
        for mark in elements.iter().flat_map(|element| element.marks(Scale::TRUE)) {
            self.paint(&mark, &view, 1.0);
        }
    }

    /// Draws only within a rectangle: left, top, width, height.
    pub(crate) fn within(&mut self, [x, y, w, h]: [f64; 4], draw: impl FnOnce(&mut Self)) {
        let mut path = PathBuilder::new();
        let corners = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]].map(|c| c.map(|v| v as f32));
        path.move_to(corners[0][0], corners[0][1]);
        corners[1..].iter().for_each(|&[x, y]| path.line_to(x, y));
        path.close();
        let Some(path) = path.finish() else { return };
        self.surface.push_clip_path(&path, &FillRule::NonZero);
        draw(self);
        self.surface.pop();
    }

    /// Draws one mark; `boldness` times its width on paper.
    pub(crate) fn paint<F: Frame>(&mut self, mark: &Mark<F>, view: &View, boldness: f64) {
        match mark {
            Mark::Lines(stroke, paths) => {
                let width = stroke.width.mm() * boldness;
                let array: Vec<f32> = stroke.dash.iter().map(|d| (d * width) as f32).collect();
                self.surface.set_fill(None);
                self.surface.set_stroke(Some(PdfStroke {
                    paint: paint(stroke.ink.light()),
                    width: width as f32,
                    line_cap: LineCap::Butt,
                    line_join: LineJoin::Round,
                    dash: (!array.is_empty()).then_some(StrokeDash { array, offset: 0.0 }),
                    ..PdfStroke::default()
                }));
                self.paths(paths, view);
            }
            Mark::Fill { ink, paths, .. } => {
                self.fill(ink.light());
                self.paths(paths, view);
            }
            Mark::Text(text) => self.text(text, view),
        }
    }

    fn fill(&mut self, rgb: [u8; 3]) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill {
            paint: paint(rgb),
            opacity: NormalizedF32::ONE,
            rule: FillRule::EvenOdd,
        }));
    }

    fn paths<F: Frame>(&mut self, paths: &[Path<F>], view: &View) {
        let mut builder = PathBuilder::new();
        for path in paths {
            for step in steps(path, most_sweep) {
                let xy = |point| view.place(point).map(|v| v as f32);
                match step {
                    Step::Start(at) => {
                        let [x, y] = xy(at);
                        builder.move_to(x, y);
                    }
                    Step::Line(to) => {
                        let [x, y] = xy(to);
                        builder.line_to(x, y);
                    }
                    Step::Arc { from, to, radius, sweep, headings } => {
                        let reach = radius * (4.0 / 3.0 * (sweep.radians().abs() / 4.0).tan());
                        let [ax, ay] = xy(from.toward(headings[0], reach));
                        let [bx, by] = xy(to.toward(headings[1], -reach));
                        let [x, y] = xy(to);
                        builder.cubic_to(ax, ay, bx, by, x, y);
                    }
                    Step::Close => builder.close(),
                }
            }
        }
        if let Some(path) = builder.finish() {
            self.surface.draw_path(&path);
        }
    }

    fn text<F: Frame>(&mut self, text: &Text<F>, view: &View) {
        let weight = text.role.weight();
        let spelled = lettering::spelled(&text.words);
        let size = view.size(text.height) / CAPITALS;
        let width = view.size(lettering::width(&text.words, weight, text.height));
        let start = match text.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -width / 2.0,
            Anchor::End => -width,
        };
        let glyphs = glyphs(&spelled, weight);
        let font = &self.fonts[weight as usize];
        let at = PdfPoint::from_xy(start as f32, 0.0);
        let [x, y] = view.place(text.at).map(|v| v as f32);
        let turn = -text.turn.degrees() as f32;
        self.surface.push_transform(&Transform::from_translate(x, y));
        self.surface.push_transform(&Transform::from_rotate(turn));
        if text.role.has_halo() {
            self.surface.set_fill(None);
            self.surface.set_stroke(Some(PdfStroke {
                paint: paint([0xFF; 3]),
                width: (view.size(text.height) * HALO) as f32,
                line_join: LineJoin::Round,
                ..PdfStroke::default()
            }));
            // As outlines, so that the words are there once for who searches them.
            self.surface.draw_glyphs(at, &glyphs, font.clone(), &spelled, size as f32, true);
        }
        self.fill(text.role.ink().light());
        self.surface.draw_glyphs(at, &glyphs, font.clone(), &spelled, size as f32, false);
        self.surface.pop();
        self.surface.pop();
    }
}

fn paint([r, g, b]: [u8; 3]) -> Paint {
    rgb::Color::new(r, g, b).into()
}

/// Largest sweep of one Bézier on an arc of this radius.
fn most_sweep(radius: Length) -> Angle {
    const OFF_QUARTER: f64 = 2.73e-4;
    let quarters = (OFF_ARC / (radius * OFF_QUARTER)).powf(1.0 / 6.0);
    Angle::from_degrees(90.0 * quarters.min(1.0))
}

/// Shaped words as the PDF library wants them, in parts of the font size.
fn glyphs(spelled: &str, weight: Weight) -> Vec<KrillaGlyph> {
    const UNITS: f32 = 1000.0;
    let shaped = lettering::shape(spelled, weight);
    let mut starts: Vec<usize> = shaped.glyph_infos().iter().map(|i| i.cluster as usize).collect();
    starts.push(spelled.len());
    starts.sort_unstable();
    let infos = shaped.glyph_infos().iter().zip(shaped.glyph_positions());
    infos
        .map(|(info, position)| {
            let start = info.cluster as usize;
            let end = starts.iter().copied().find(|&next| next > start).unwrap_or(spelled.len());
            let [advance, right, up] = [position.x_advance, position.x_offset, position.y_offset]
                .map(|v| v as f32 / UNITS);
            let id = GlyphId::new(info.glyph_id);
            KrillaGlyph::new(id, advance, right, up, 0.0, start..end, None)
        })
        .collect()
}

// Grey prints need inks that differ in lightness, which colour alone would not give.
const _: () = assert!(Ink::Doubt.light()[1] > Ink::Ink.light()[1]);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;

    #[test]
    fn a_bezier_stands_off_its_arc_by_less_than_asked() {
        for radius in [0.5, 30.0, 400.0, 9e3, 2e5] {
            let sweep = most_sweep(Length::from_mm(radius)).radians();
            let k = 4.0 / 3.0 * (sweep / 4.0).tan();
            let (sin, cos) = sweep.sin_cos();
            let ends = [[1.0, 0.0], [1.0, k], [cos + k * sin, sin - k * cos], [cos, sin]];
            let off = (0..=200)
                .map(|i| {
                    let (t, u) = (f64::from(i) / 200.0, 1.0 - f64::from(i) / 200.0);
                    let weights = [u * u * u, 3.0 * t * u * u, 3.0 * t * t * u, t * t * t];
                    let at = |axis: usize| (0..4).map(|j| weights[j] * ends[j][axis]).sum::<f64>();
                    (at(0).hypot(at(1)) - 1.0).abs() * radius
                })
                .fold(0.0, f64::max);
            assert!(off <= OFF_ARC.mm() * 1.01, "radius {radius}: {off}");
        }
    }

    #[test]
    fn same_drawing_same_bytes() {
        let drawing = samples::cut(samples::rectangle(800.0, 300.0));
        assert_eq!(write_pdf(&drawing).unwrap(), write_pdf(&drawing).unwrap());
    }

    #[test]
    fn a_page_longer_than_readers_accept_is_refused_with_the_way_out() {
        let drawing = samples::cut(samples::rectangle(6000.0, 300.0));
        let message = write_pdf(&drawing).unwrap_err().to_string();
        assert_eq!(
            message,
            "the page for `sample` would be 6024 mm long, more than the 5080 mm a PDF page may be; \
             print it as tiles, or draw it at a smaller scale"
        );
    }

    #[test]
    fn words_are_cut_to_the_room_there_is() {
        let room = Length::from_mm(40.0);
        let cut = fitted("a title much too long for the foot of a page", FOOT, room);
        assert!(cut.ends_with('…') && lettering::width(&cut, Weight::Regular, FOOT) <= room);
        assert_eq!(fitted("short", FOOT, room), "short");
    }
}
