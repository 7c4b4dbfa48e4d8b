//! Words on a drawing, each where it is free.

use geometry::{Length, Pane};

use crate::drawing::{Element, Group, Scale, Text};
use crate::stroke::ToneKind;

/// Least paper between words.
const BETWEEN_WORDS: Length = Length::from_mm(0.7);
/// Paper kept free before and after words.
const BESIDE_WORDS: Length = Length::from_mm(0.8);
/// Paper kept free above and below words: less than between a dimension line and its own words.
const OVER_WORDS: Length = Length::from_mm(0.1);

/// Lines with words that may stand at several places, best first.
pub(super) struct Wanted {
    pub(super) name: String,
    pub(super) lines: Vec<Element<Pane>>,
    pub(super) words: Vec<Text<Pane>>,
    /// Whether it gives way: drawn only where it touches nothing.
    pub(super) modest: bool,
}

/// Lines, and the places where their words may stand, best first.
pub(super) type Drawn = (Vec<Element<Pane>>, Vec<Text<Pane>>);

/// Corners of something convex, or both ends of a line, mm.
pub(super) type Hull = Vec<[f64; 2]>;

/// What is drawn so far, as far as words must keep clear of it.
pub(super) struct Board {
    scale: Scale,
    pub(super) lines: Vec<Hull>,
    pub(super) words: Vec<Hull>,
}

impl Board {
    pub(super) const fn new(scale: Scale) -> Self {
        Self { scale, lines: Vec::new(), words: Vec::new() }
    }

    /// Lines of these elements; tones do not count, words may lie on them, save the hatch of a doubt.
    pub(super) fn lines_of(&self, elements: &[Element<Pane>]) -> Vec<Hull> {
        let drawn = elements
            .iter()
            .filter(|e| !matches!(e, Element::Tone { kind, .. } if *kind != ToneKind::Doubt));
        let chord = self.scale.real(Length::from_mm(0.1));
        let outlines = drawn.flat_map(|e| e.marks(self.scale)).flat_map(|m| m.into_outlines());
        outlines
            .flat_map(|path| {
                let mut points: Hull = path.flatten(chord).iter().map(|p| p.mm()).collect();
                points.extend(path.is_closed().then(|| points[0]));
                points.windows(2).map(<[_]>::to_vec).collect::<Vec<_>>()
            })
            .collect()
    }

    pub(super) fn rule(&mut self, elements: &[Element<Pane>]) {
        let lines = self.lines_of(elements);
        self.lines.extend(lines);
    }

    /// The box of some words with paper around it.
    pub(super) fn hull(&self, text: &Text<Pane>) -> Hull {
        let beside = self.scale.real(BESIDE_WORDS);
        let corners = text.outline();
        let at = corners.vertices().iter().map(|v| v.point);
        at.zip([-1.0, 1.0, 1.0, -1.0])
            .map(|(p, way)| p.toward(text.turn, beside * way).mm())
            .collect()
    }

    /// How many lines words in this hull would cross; `None` where they would lie on words.
    pub(super) fn crossings(&self, hull: &Hull, others: &[Hull]) -> Option<usize> {
        let [between, over] = [BETWEEN_WORDS, OVER_WORDS].map(|gap| self.scale.real(gap).mm());
        let free = !self.words.iter().any(|words| touch(hull, words, between));
        let lines = self.lines.iter().chain(others);
        free.then(|| lines.filter(|line| touch(hull, line, over)).count())
    }

    /// Draws what is wanted, first things first, and names what found no place.
    pub(super) fn place(mut self, wanted: Vec<Wanted>) -> (Vec<Group<Pane>>, Vec<String>) {
        for firm in wanted.iter().filter(|w| !w.modest) {
            self.rule(&firm.lines);
        }
        let (modest, firm): (Vec<_>, Vec<_>) = wanted.into_iter().partition(|w| w.modest);
        let mut placed = Vec::new();
        let mut left_out = Vec::new();
        for Wanted { name, lines, words, modest } in firm.into_iter().chain(modest) {
            let own = if modest { self.lines_of(&lines) } else { Vec::new() };
            let in_the_way = |line: &Hull| self.words.iter().any(|w| touch(line, w, 0.0));
            let free = match self.best(words, &own) {
                _ if own.iter().any(in_the_way) => None,
                Some((n_crossed, _)) if modest && n_crossed > 0 => None,
                best => best,
            };
            match free {
                Some((n_crossed, text)) => {
                    self.lines.extend(own);
                    self.words.push(self.hull(&text));
                    let elements = lines.into_iter().chain([Element::Text(text)]).collect();
                    placed.push((n_crossed, Group { name, label: None, elements }));
                }
                None if modest || lines.is_empty() => left_out.push(name),
                None => {
                    left_out.push(name.clone());
                    placed.push((0, Group { name, label: None, elements: lines }));
                }
            }
        }
        // Words that cross lines come last: their halo clears what lies below.
        placed.sort_by_key(|(n_crossed, _)| *n_crossed);
        (placed.into_iter().map(|(_, group)| group).collect(), left_out)
    }

    /// The first free place, else the one that crosses fewest lines.
    pub(super) fn best(
        &self,
        places: Vec<Text<Pane>>,
        own: &[Hull],
    ) -> Option<(usize, Text<Pane>)> {
        let mut best = None;
        for text in places {
            match self.crossings(&self.hull(&text), own) {
                Some(0) => return Some((0, text)),
                Some(n) if best.as_ref().is_none_or(|(fewest, _)| n < *fewest) => {
                    best = Some((n, text));
                }
                _ => {}
            }
        }
        best
    }
}

/// Whether two convex hulls are nearer than `gap` by the separating axis theorem: along every
/// direction square to a side of either.
pub(super) fn touch(a: &Hull, b: &Hull, gap: f64) -> bool {
    let along = |hull: &Hull, [x, y]: [f64; 2]| {
        hull.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
            let d = p[0] * x + p[1] * y;
            (low.min(d), high.max(d))
        })
    };
    [a, b].into_iter().flat_map(|hull| hull.iter().zip(hull.iter().cycle().skip(1))).all(
        |(from, to)| {
            let (x, y) = (to[0] - from[0], to[1] - from[1]);
            let side = x.hypot(y);
            if side == 0.0 {
                return true;
            }
            let normal = [-y / side, x / side];
            let ((a_low, a_high), (b_low, b_high)) = (along(a, normal), along(b, normal));
            a_low - b_high < gap && b_low - a_high < gap
        },
    )
}
