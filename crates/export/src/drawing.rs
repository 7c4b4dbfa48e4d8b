//! One drawing: lines, tones, marks and words in one frame, before it becomes any file.
//!
//! Coordinates are the real ones, in millimetres with y up. Line widths, dashes, arrowheads and
//! drawing words are sizes on paper; the drawing's scale turns them into real ones.

use std::fmt;

use drafting::NotchForm;
use geometry::{Angle, Bounds, Frame, Length, Path, Point};

use crate::ExportError;
use crate::dimension::arrowhead;
use crate::hatch::hatch;
use crate::lettering::{self, Weight};
use crate::stroke::{HATCH_SPACING, Ink, LineKind, Stroke, ToneKind};

/// How many millimetres of the real thing one millimetre of paper stands for.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Scale(f64);

impl Scale {
    /// True size.
    pub const TRUE: Self = Self(1.0);

    /// One to `n`.
    ///
    /// # Panics
    /// When `n` is not a positive finite number.
    #[must_use]
    pub const fn one_to(n: f64) -> Self {
        assert!(n.is_finite() && n > 0.0, "a scale must be positive");
        Self(n)
    }

    /// Size in reality of a size on paper.
    #[must_use]
    pub fn real(self, on_paper: Length) -> Length {
        on_paper * self.0
    }

    /// Size on paper of a real size.
    #[must_use]
    pub fn paper(self, real: Length) -> Length {
        real / self.0
    }
}

impl fmt::Display for Scale {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if *self == Self::TRUE {
            f.write_str("true size")
        } else if self.0 < 1.0 {
            write!(f, "{}:1", 1.0 / self.0)
        } else {
            write!(f, "1:{}", self.0)
        }
    }
}

/// What stands on every drawing beside what is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Caption {
    /// What the drawing shows: `H-0142 front, pieces`.
    pub title: String,
    /// The order or batch it belongs to: `H-0142`; may be empty.
    pub job: String,
    /// Release and date, or whatever else belongs in the foot; may be empty. The exporters know no
    /// clock.
    pub foot: String,
    /// Scale on paper.
    pub scale: Scale,
}

/// A drawing in one frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing<F: Frame> {
    /// Title, foot and scale.
    pub caption: Caption,
    /// Its groups, drawn in this order.
    pub groups: Vec<Group<F>>,
}

/// What belongs together: one piece, the dimensions, the cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Group<F: Frame> {
    /// Its name. It need not be unique.
    pub name: String,
    /// What the piece is, when the group is a piece to be cut: then it is a block in DXF.
    pub label: Option<Label<F>>,
    /// What is drawn, in this order.
    pub elements: Vec<Element<F>>,
}

/// What a piece is, for people and for the cutting table.
#[derive(Clone, Debug, PartialEq)]
pub struct Label<F: Frame> {
    /// Middle of the base line of its first line of words.
    pub at: Point<F>,
    /// Direction of its base lines.
    pub turn: Angle,
    /// Height of its capitals.
    pub height: Length,
    /// Whether its words stand in one line, as on a narrow piece, or in three.
    pub one_line: bool,
    /// Name of the piece.
    pub piece: String,
    /// The pane it is for.
    pub pane: String,
    /// How many to cut.
    pub count: u32,
    /// The cloth.
    pub cloth: String,
    /// The job it belongs to.
    pub job: String,
}

/// One thing drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Element<F: Frame> {
    /// A line.
    Line {
        /// What it means.
        kind: LineKind,
        /// Where it runs.
        path: Path<F>,
    },
    /// A toned or hatched area. DXF leaves tones out: a cutting table has no ink.
    Tone {
        /// What it means.
        kind: ToneKind,
        /// Its outer edge, closed.
        outer: Path<F>,
        /// Holes in it, closed.
        holes: Vec<Path<F>>,
    },
    /// A closed arrowhead at the end of a line.
    Arrow {
        /// Kind of the line.
        kind: LineKind,
        /// Its point.
        tip: Point<F>,
        /// Where it points.
        heading: Angle,
    },
    /// A notch in a cut line.
    Notch {
        /// On the cut line.
        at: Point<F>,
        /// Into the piece.
        inward: Angle,
        /// How deep.
        depth: Length,
        /// Slit or V.
        form: NotchForm,
    },
    /// A place marked through the cloth.
    Drill {
        /// Where.
        at: Point<F>,
        /// Diameter of what sits there.
        diameter: Length,
    },
    /// Words.
    Text(Text<F>),
}

/// Words on a drawing, in one line.
#[derive(Clone, Debug, PartialEq)]
pub struct Text<F: Frame> {
    /// Start, middle or end of the base line.
    pub at: Point<F>,
    /// Which of those.
    pub anchor: Anchor,
    /// Real height of capitals.
    pub height: Length,
    /// Direction of the base line.
    pub turn: Angle,
    /// What they say.
    pub words: String,
    /// What they are there for.
    pub role: TextRole,
}

/// Where words stand from their point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// They start there.
    Start,
    /// They are centred there.
    Middle,
    /// They end there.
    End,
}

/// What words are there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextRole {
    /// A name or title, bold.
    Name,
    /// Plain words.
    Plain,
    /// Words that stand back.
    Quiet,
    /// A dimension: paper shows round it where it crosses lines.
    Dimension,
    /// A dimension in doubt, bold.
    Doubt,
    /// A dimension that is asked about, bold.
    Chosen,
}

impl TextRole {
    /// Name used as class in SVG.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Plain => "plain",
            Self::Quiet => "note",
            Self::Dimension => "measure",
            Self::Doubt => "measure-doubt",
            Self::Chosen => "measure-chosen",
        }
    }

    /// Colour.
    #[must_use]
    pub const fn ink(self) -> Ink {
        match self {
            Self::Name | Self::Plain | Self::Dimension => Ink::Ink,
            Self::Quiet => Ink::Quiet,
            Self::Doubt => Ink::Doubt,
            Self::Chosen => Ink::Accent,
        }
    }

    pub(crate) const fn weight(self) -> Weight {
        match self {
            Self::Name | Self::Doubt | Self::Chosen => Weight::Bold,
            Self::Plain | Self::Quiet | Self::Dimension => Weight::Regular,
        }
    }

    pub(crate) const fn has_halo(self) -> bool {
        matches!(self, Self::Dimension | Self::Doubt | Self::Chosen)
    }
}

impl<F: Frame> Text<F> {
    /// The box its words take up, from a quarter of their height below the base line.
    #[must_use]
    pub fn outline(&self) -> Path<F> {
        let width = lettering::width(&self.words, self.role.weight(), self.height);
        let start = self.at.toward(
            self.turn,
            width
                * match self.anchor {
                    Anchor::Start => 0.0,
                    Anchor::Middle => -0.5,
                    Anchor::End => -1.0,
                },
        );
        let up = self.turn + Angle::from_degrees(90.0);
        let end = start.toward(self.turn, width);
        let below = self.height * -0.25;
        Path::polygon([
            start.toward(up, below),
            end.toward(up, below),
            end.toward(up, self.height),
            start.toward(up, self.height),
        ])
    }
}

impl<F: Frame> Label<F> {
    /// The words people read: what, how many of which cloth, for what.
    #[must_use]
    pub fn texts(&self) -> Vec<Text<F>> {
        let how_many = join(&[&format!("cut {}", self.count), &self.cloth]);
        let for_what = join(&[&self.job, &self.pane]);
        let up = self.turn + Angle::from_degrees(90.0);
        let lines = if self.one_line {
            vec![(join(&[&self.piece, &how_many, &for_what]), TextRole::Name, 0.0, 1.0)]
        } else {
            vec![
                (self.piece.clone(), TextRole::Name, 0.0, 1.0),
                (how_many, TextRole::Plain, 1.6, 0.7),
                (for_what, TextRole::Quiet, 2.8, 0.7),
            ]
        };
        lines
            .into_iter()
            .filter(|(words, ..)| !words.is_empty())
            .map(|(words, role, down, size)| Text {
                at: self.at.toward(up, self.height * -down),
                anchor: Anchor::Middle,
                height: self.height * size,
                turn: self.turn,
                words,
                role,
            })
            .collect()
    }
}

/// The parts that say something, with a point between.
pub(crate) fn join(parts: &[&str]) -> String {
    parts.iter().copied().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

/// What is left of an element when only strokes, fills and words remain.
pub(crate) enum Mark<F: Frame> {
    /// Paths drawn with one stroke.
    Lines(Stroke, Vec<Path<F>>),
    /// Closed paths filled together, even and odd.
    Fill { name: &'static str, ink: Ink, paths: Vec<Path<F>> },
    /// Words.
    Text(Text<F>),
}

impl<F: Frame> Mark<F> {
    /// The smallest upright rectangle around it.
    pub(crate) fn bounds(&self) -> Option<Bounds<F>> {
        match self {
            Self::Lines(_, paths) | Self::Fill { paths, .. } => {
                paths.iter().filter_map(|path| path.bounds()).reduce(Bounds::with)
            }
            Self::Text(text) => text.outline().bounds(),
        }
    }

    /// Its paths; of words, the box they take up.
    pub(crate) fn into_outlines(self) -> Vec<Path<F>> {
        match self {
            Self::Lines(_, paths) | Self::Fill { paths, .. } => paths,
            Self::Text(text) => vec![text.outline()],
        }
    }
}

/// Half the length of the cross at a drill point, on paper. Chosen by us.
pub(crate) const CROSS: Length = Length::from_mm(3.0);

impl<F: Frame> Element<F> {
    /// Strokes, fills and words to draw for it.
    pub(crate) fn marks(&self, scale: Scale) -> Vec<Mark<F>> {
        match self {
            Self::Line { kind, path } => {
                vec![Mark::Lines(kind.stroke(), vec![path.clone()])]
            }
            Self::Tone { kind, outer, holes } => {
                let tone = kind.tone();
                let paths: Vec<_> = std::iter::once(outer).chain(holes).cloned().collect();
                let spacing = scale.real(HATCH_SPACING);
                let lines = tone.hatch.map(|stroke| Mark::Lines(stroke, hatch(&paths, spacing)));
                let fill = tone.fill.map(|ink| Mark::Fill { name: tone.name, ink, paths });
                fill.into_iter().chain(lines).collect()
            }
            Self::Arrow { kind, tip, heading } => {
                let stroke = kind.stroke();
                let head = arrowhead(*kind, *tip, *heading, scale);
                vec![Mark::Fill { name: stroke.name, ink: stroke.ink, paths: vec![head] }]
            }
            Self::Notch { at, inward, depth, form } => {
                let path = notch_path(*at, *inward, *depth, *form);
                vec![Mark::Lines(LineKind::Notch.stroke(), vec![path])]
            }
            Self::Drill { at, diameter } => {
                let arm = scale.real(CROSS);
                let cross = [0.0, 90.0].map(|degrees| {
                    let heading = Angle::from_degrees(degrees);
                    Path::polyline([at.toward(heading, -arm), at.toward(heading, arm)])
                });
                let circle = (*diameter > Length::ZERO).then(|| {
                    let circle = Path::circle(*at, *diameter / 2.0);
                    Mark::Lines(LineKind::Fitting.stroke(), vec![circle])
                });
                let cross = Mark::Lines(LineKind::Drill.stroke(), cross.to_vec());
                circle.into_iter().chain([cross]).collect()
            }
            Self::Text(text) => vec![Mark::Text(text.clone())],
        }
    }
}

/// The cut of a notch: into the piece, and for a V out again.
pub(crate) fn notch_path<F: Frame>(
    at: Point<F>,
    inward: Angle,
    depth: Length,
    form: NotchForm,
) -> Path<F> {
    let tip = at.toward(inward, depth);
    match form {
        NotchForm::Slit => Path::polyline([at, tip]),
        NotchForm::Vee { width } => {
            let along = inward + Angle::from_degrees(90.0);
            let half = width / 2.0;
            Path::polyline([at.toward(along, half), tip, at.toward(along, -half)])
        }
    }
}

/// Blank paper around a drawing. As on the sheets, which keep 12 mm.
pub const MARGIN: Length = Length::from_mm(12.0);

impl<F: Frame> Group<F> {
    /// Strokes, fills and words to draw for it, the label included; words come last, so that their
    /// halo clears the lines below them.
    pub(crate) fn marks(&self, scale: Scale) -> Vec<Mark<F>> {
        let elements = self.elements.iter().flat_map(|element| element.marks(scale));
        let (mut words, mut marks): (Vec<_>, Vec<_>) =
            elements.partition(|mark| matches!(mark, Mark::Text(_)));
        marks.append(&mut words);
        marks.extend(self.label.iter().flat_map(Label::texts).map(Mark::Text));
        marks
    }

    /// The smallest upright rectangle around all it draws, words included.
    #[must_use]
    pub fn bounds(&self, scale: Scale) -> Option<Bounds<F>> {
        self.marks(scale).iter().filter_map(Mark::bounds).reduce(Bounds::with)
    }
}

impl<F: Frame> Drawing<F> {
    /// The smallest upright rectangle around all that is drawn, words included.
    ///
    /// # Errors
    /// [`ExportError::NothingDrawn`] when there is nothing.
    pub fn drawn(&self) -> Result<Bounds<F>, ExportError> {
        let Caption { title, scale, .. } = &self.caption;
        self.groups
            .iter()
            .filter_map(|group| group.bounds(*scale))
            .reduce(Bounds::with)
            .ok_or_else(|| ExportError::NothingDrawn { title: title.clone() })
    }

    /// What is drawn and [`MARGIN`] of paper around it: the page of an SVG or of a one-page PDF.
    ///
    /// # Errors
    /// [`ExportError::NothingDrawn`] when there is nothing.
    pub fn sheet(&self) -> Result<Bounds<F>, ExportError> {
        let drawn = self.drawn()?;
        let margin = self.caption.scale.real(MARGIN);
        Ok(Bounds { min: drawn.min.moved(-margin, -margin), max: drawn.max.moved(margin, margin) })
    }
}
