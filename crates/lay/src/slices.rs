//! Where two pieces would overlap if one were slid along a line: exact, by slicing.
//!
//! A polygon is cut across at every corner's height into trapezoids ([`Slice`]) and these are strung
//! into parts that meet each level line in one stretch. Let part A stay and part B be raised by d.
//! At level s they overlap for every slide x in (Aₗ(s) − Bᵣ(s−d), Aᵣ(s) − Bₗ(s−d)); both ends move
//! along with s, so over all common levels these intervals join to **one** interval, whose ends are
//! the least and the greatest of linear functions: attained at the levels where slices begin or end.
//!
//! Symbols: s level, x slide, d rise, ₗ ᵣ left and right edge; mm. Valid for simple polygons, concave
//! ones too. Overlap of less than [`HAIR`] is ignored.
//! Source: the two-dimensional case of the fast translation search of Egeblad, Nielsen and Odgaard,
//! *Fast neighborhood search for two- and three-dimensional nesting problems*, EJOR 183 (2007) [from
//! memory]; the form for parts is ours. Accuracy: that of f64, about 1e-11 mm on a 40 m roll.

/// Overlap thinner than this, in mm, is contact. Chosen by us: far above the rounding of f64 on a
/// 100 m roll (1e-11 mm), a thousand times below the 0.001 mm of the re-check.
pub(crate) const HAIR: f64 = 1e-6;

/// Levels nearer than this, in mm, are one level. Chosen by us: below [`HAIR`], above rounding.
const SAME_LEVEL: f64 = 1e-8;

/// A corner or a position, in mm.
pub(crate) type Xy = [f64; 2];

/// A trapezoid between two levels.
#[derive(Clone, Copy, Debug)]
struct Slice {
    /// Lower and upper level.
    level: [f64; 2],
    /// Left edge at these levels.
    left: [f64; 2],
    /// Right edge at these levels.
    right: [f64; 2],
}

impl Slice {
    /// Left and right edge at a level within it.
    fn at(&self, s: f64) -> (f64, f64) {
        let t = (s - self.level[0]) / (self.level[1] - self.level[0]);
        let between = |e: [f64; 2]| e[0] + t * (e[1] - e[0]);
        (between(self.left), between(self.right))
    }

    /// Whether `upper`, which starts where this ends, shares more than a point with it.
    fn carries(&self, upper: &Self) -> bool {
        self.left[1].max(upper.left[0]) + HAIR < self.right[1].min(upper.right[0])
    }

    /// This and `upper` as one trapezoid, when both edges run straight on.
    fn joined(&self, upper: &Self) -> Option<Self> {
        let level = [self.level[0], upper.level[1]];
        let whole = Self {
            level,
            left: [self.left[0], upper.left[1]],
            right: [self.right[0], upper.right[1]],
        };
        let (l, r) = whole.at(self.level[1]);
        let on = |e: f64, a: f64, b: f64| (e - a).abs() < SAME_LEVEL && (e - b).abs() < SAME_LEVEL;
        (on(l, self.left[1], upper.left[0]) && on(r, self.right[1], upper.right[0]))
            .then_some(whole)
    }
}

/// A part of a polygon that meets each level line in one stretch: slices, lowest first.
#[derive(Clone, Debug)]
pub(crate) struct Part(Vec<Slice>);

impl Part {
    fn low(&self) -> f64 {
        self.0[0].level[0]
    }

    fn high(&self) -> f64 {
        self.0[self.0.len() - 1].level[1]
    }
}

/// A polygon cut into parts.
#[derive(Clone, Debug)]
pub(crate) struct Slices {
    parts: Vec<Part>,
    /// Lowest and highest level.
    pub(crate) reach: [f64; 2],
}

impl Slices {
    /// Cuts a simple polygon across; either sense of turning will do.
    pub(crate) fn of(outline: &[Xy]) -> Self {
        let mut levels: Vec<f64> = outline.iter().map(|p| p[1]).collect();
        levels.sort_by(f64::total_cmp);
        let reach = [levels[0], levels[levels.len() - 1]];
        levels.dedup_by(|b, a| *b - *a < SAME_LEVEL);
        let mut parts: Vec<Part> = Vec::new();
        // Parts that end at the level reached, by index.
        let mut open: Vec<usize> = Vec::new();
        for level in levels.windows(2) {
            let row = row_between(outline, [level[0], level[1]]);
            let carries = |part: &usize, slice: &Slice| {
                parts[*part].0.last().is_some_and(|last| last.carries(slice))
            };
            let below: Vec<Vec<usize>> = row
                .iter()
                .map(|slice| open.iter().copied().filter(|p| carries(p, slice)).collect())
                .collect();
            open = row
                .into_iter()
                .zip(&below)
                .map(|(slice, under)| match under[..] {
                    // One on one: the part goes on, unless another slice stands on it too.
                    [p] if below.iter().filter(|b| b.contains(&p)).count() == 1 => {
                        let last = parts[p].0.last_mut().expect("a part has a slice");
                        match last.joined(&slice) {
                            Some(whole) => *last = whole,
                            None => parts[p].0.push(slice),
                        }
                        p
                    }
                    _ => {
                        parts.push(Part(vec![slice]));
                        parts.len() - 1
                    }
                })
                .collect();
        }
        Self { parts, reach }
    }

    /// Adds to `spans` the slides at which `mover`, raised by `rise`, would overlap this.
    pub(crate) fn add_spans(&self, mover: &Self, rise: f64, slide: f64, spans: &mut Vec<[f64; 2]>) {
        for a in &self.parts {
            for b in &mover.parts {
                if let Some([l, r]) = span(a, b, rise) {
                    spans.push([l + slide, r + slide]);
                }
            }
        }
    }
}

/// The trapezoids of a polygon between two neighbouring levels, from left to right.
fn row_between(outline: &[Xy], level: [f64; 2]) -> Vec<Slice> {
    let mut edges: Vec<[f64; 2]> = (0..outline.len())
        .filter_map(|i| {
            let (mut a, mut b) = (outline[i], outline[(i + 1) % outline.len()]);
            if a[1] > b[1] {
                std::mem::swap(&mut a, &mut b);
            }
            let spans = a[1] < level[0] + SAME_LEVEL && b[1] > level[1] - SAME_LEVEL;
            let at = |s: f64| a[0] + (b[0] - a[0]) * ((s - a[1]) / (b[1] - a[1])).clamp(0.0, 1.0);
            spans.then(|| [at(level[0]), at(level[1])])
        })
        .collect();
    edges.sort_by(|e, f| (e[0] + e[1]).total_cmp(&(f[0] + f[1])));
    edges.chunks_exact(2).map(|pair| Slice { level, left: pair[0], right: pair[1] }).collect()
}

/// The slides at which `mover`, raised by `rise`, overlaps `fixed`.
fn span(fixed: &Part, mover: &Part, rise: f64) -> Option<[f64; 2]> {
    let low = fixed.low().max(mover.low() + rise);
    let high = fixed.high().min(mover.high() + rise);
    if high - low < HAIR {
        return None;
    }
    let first = |part: &Part, s: f64| part.0.partition_point(|slice| slice.level[1] <= s);
    let (mut i, mut j) = (first(fixed, low), first(mover, low - rise));
    let (mut least, mut greatest) = (f64::INFINITY, f64::NEG_INFINITY);
    while i < fixed.0.len() && j < mover.0.len() {
        let (a, b) = (&fixed.0[i], &mover.0[j]);
        let from = a.level[0].max(b.level[0] + rise);
        let to = a.level[1].min(b.level[1] + rise);
        if to > from {
            for s in [from, to] {
                let ((al, ar), (bl, br)) = (a.at(s), b.at(s - rise));
                least = least.min(al - br);
                greatest = greatest.max(ar - bl);
            }
        } else if from >= high {
            break;
        }
        if a.level[1] <= b.level[1] + rise {
            i += 1;
        } else {
            j += 1;
        }
    }
    (greatest - least > HAIR).then_some([least, greatest])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spans(fixed: &[Xy], mover: &[Xy], rise: f64) -> Vec<[f64; 2]> {
        let mut spans = Vec::new();
        Slices::of(fixed).add_spans(&Slices::of(mover), rise, 0.0, &mut spans);
        spans.sort_by(|a, b| a[0].total_cmp(&b[0]));
        spans
    }

    const SQUARE: [Xy; 4] = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];

    #[test]
    fn a_square_keeps_its_twin_a_side_away() {
        assert_eq!(spans(&SQUARE, &SQUARE, 5.0), [[-10.0, 10.0]]);
        assert!(spans(&SQUARE, &SQUARE, 10.0).is_empty(), "resting on top is no overlap");
    }

    #[test]
    fn a_square_fits_between_the_legs_of_an_arch() {
        // Legs 0..5 and 20..25 under a beam at 30..40: a 10 mm square may slide 5..10 between them.
        let arch = [
            [0.0, 0.0],
            [5.0, 0.0],
            [5.0, 30.0],
            [20.0, 30.0],
            [20.0, 0.0],
            [25.0, 0.0],
            [25.0, 40.0],
            [0.0, 40.0],
        ];
        assert_eq!(Slices::of(&arch).parts.len(), 3);
        assert_eq!(spans(&arch, &SQUARE, 20.0), [[-10.0, 5.0], [10.0, 25.0]]);
        assert_eq!(spans(&arch, &SQUARE, 35.0), [[-10.0, 25.0]]);
    }

    #[test]
    fn slopes_touch_between_corners() {
        // The right flank of the one is x = 10 − y/2, the left flank of the other x = y/2 − 2.
        let wedge = [[0.0, 0.0], [10.0, 0.0], [5.0, 10.0], [0.0, 10.0]];
        let other = [[0.0, 4.0], [3.0, 10.0], [0.0, 10.0]];
        // 10 − s/2 is greatest over 4..10 at s = 4, where the other begins with its corner x = 0.
        assert_eq!(spans(&wedge, &other, 0.0)[0], [-3.0, 8.0]);
    }

    #[test]
    fn a_rectangle_with_points_on_its_sides_is_one_slice() {
        let dotted =
            [[0.0, 0.0], [4.0, 0.0], [9.0, 0.0], [9.0, 5.0], [9.0, 8.0], [0.0, 8.0], [0.0, 2.0]];
        let slices = Slices::of(&dotted);
        assert_eq!((slices.parts.len(), slices.parts[0].0.len()), (1, 1));
    }
}
