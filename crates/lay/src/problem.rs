//! The ask made ready for searching: every shape at every turn, kept apart by half the gap, sliced.

use geometry::{Angle, Area, Length, Path, Piece, Placement, Point, Roll, Segment};

use crate::ask::Sound;
use crate::slices::{Slices, Xy};
use crate::{Ask, Lay, LayError, Place, Shape};

/// Half-gap corners are rounded to within this. Chosen by us: the thickness of a pencil line's edge.
const CORNER: Length = Length::from_mm(0.05);

/// A shape at one of its turns, relative to its origin.
#[derive(Clone, Debug)]
pub(crate) struct Turned {
    pub(crate) turn: Angle,
    /// Least and greatest corner of the outline itself.
    pub(crate) min: Xy,
    pub(crate) max: Xy,
    /// The outline with half the gap around it.
    pub(crate) slices: Slices,
}

/// Where a piece is put.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Spot {
    /// Index of the shape.
    pub(crate) shape: usize,
    /// Index among its turns.
    pub(crate) turn: usize,
    pub(crate) at: Xy,
}

/// All that a search needs to know.
pub(crate) struct Problem<'a> {
    ask: &'a Ask,
    area: Area,
    pub(crate) width: f64,
    /// For each shape, its turns.
    pub(crate) turned: Vec<Vec<Turned>>,
    /// Area of each shape, mm².
    pub(crate) areas: Vec<f64>,
}

impl<'a> Problem<'a> {
    /// Prepares the ask; `spare` is added to its gap.
    pub(crate) fn new(ask: &'a Ask, sound: &[Sound], spare: Length) -> Result<Self, LayError> {
        let half = (ask.gap + spare) / 2.0;
        let turned = ask
            .shapes
            .iter()
            .zip(sound)
            .map(|(shape, sound)| {
                let padded = padded(&sound.outline, half)
                    .ok_or_else(|| LayError::NoRoom { name: shape.name.clone(), gap: ask.gap })?;
                let turns = sound.turns.iter();
                Ok(turns.map(|&turn| Turned::new(&sound.outline, &padded, turn)).collect())
            })
            .collect::<Result<_, LayError>>()?;
        let total = |(shape, sound): (&Shape, &Sound)| sound.area * shape.count as f64;
        Ok(Self {
            ask,
            area: ask.shapes.iter().zip(sound).map(total).sum(),
            width: ask.width.mm(),
            turned,
            areas: sound.iter().map(|shape| shape.area.mm2()).collect(),
        })
    }

    /// Every piece to lay, as the index of its shape.
    pub(crate) fn pieces(&self) -> Vec<usize> {
        let counts = self.ask.shapes.iter().enumerate();
        counts.flat_map(|(i, shape)| std::iter::repeat_n(i, shape.count)).collect()
    }

    pub(crate) fn turned_at(&self, spot: &Spot) -> &Turned {
        &self.turned[spot.shape][spot.turn]
    }

    /// Length of roll that the spots need, mm.
    pub(crate) fn length(&self, spots: &[Spot]) -> f64 {
        spots.iter().map(|s| s.at[0] + self.turned_at(s).max[0]).fold(0.0, f64::max)
    }

    /// The spots as a lay.
    pub(crate) fn lay_of(&self, spots: &[Spot]) -> Lay {
        let length = Length::from_mm(self.length(spots));
        let mut spots = spots.to_vec();
        spots.sort_by_key(|spot| spot.shape);
        let place = |spot: &Spot| Place {
            name: self.ask.shapes[spot.shape].name.clone(),
            turn: self.turned_at(spot).turn,
            at: Point::from_mm(spot.at[0], spot.at[1]),
        };
        Lay {
            length,
            use_: self.area.mm2() / (self.ask.width * length).mm2(),
            places: spots.iter().map(place).collect(),
        }
    }
}

impl Turned {
    fn new(outline: &Path<Piece>, padded: &[Point<Piece>], turn: Angle) -> Self {
        let placement = Placement::<Piece, Roll>::new(turn, Point::ORIGIN);
        let bounds = outline.placed(&placement).bounds().expect("an outline has points");
        let padded: Vec<Xy> = padded.iter().map(|p| placement.apply(*p).mm()).collect();
        let slices = Slices::of(&padded);
        Self { turn, min: bounds.min.mm(), max: bounds.max.mm(), slices }
    }
}

/// The outline with `half` the gap around it, as points; rounded corners are replaced by tangents,
/// so that nothing of the gap is lost. Holes it closes to are filled. `None` when the offset fails,
/// which shows in an outline that didn't grow.
fn padded(outline: &Path<Piece>, half: Length) -> Option<Vec<Point<Piece>>> {
    if half <= Length::ZERO {
        return Some(outline.vertices().iter().map(|v| v.point).collect());
    }
    let outer = outline
        .inset(-half)
        .into_iter()
        .max_by(|a, b| a.area().mm2().total_cmp(&b.area().mm2()))
        .filter(|outer| outer.area() > outline.area())?;
    let mut points = Vec::new();
    for segment in outer.segments() {
        points.push(segment.from());
        if let Segment::Arc { centre, radius, start, sweep, .. } = segment {
            let n = segment.chords(CORNER);
            let step = sweep / n as f64;
            // Neighbouring tangents meet at r / cos(step / 2).
            let out = radius / (0.5 * step.radians()).cos();
            points.extend((0..n).map(|i| centre.toward(start + step * (i as f64 + 0.5), out)));
        }
    }
    Some(points)
}
