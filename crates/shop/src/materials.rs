//! What an order takes of cloth, thread, binding, magnets and labels.
//!
//! Cloth: the area of a piece is that inside its cut line, less its cut-outs; the length is what its
//! pieces take of the roll one after another, each alone, which the lay undercuts. Thread: the sew
//! lines of all pieces times [`THREAD_PER_SEAM`]; a seam that joins two parts stands on both and is
//! counted on both, which covers its beginnings and ends. Binding: the bound edges and
//! [`BINDING_SPARE`] for each cover. Nothing else is added: a workshop that wants a reserve adds its
//! own.

use drafting::{Cloth, Draft, Piece, PieceFigures};
use geometry::{Area, Length, Path};

use crate::hold_wishes::MagnetEntry;

/// Thread a lockstitch takes for each length of seam, both threads. About 2.5 to 3 with two layers of
/// cover cloth and 3 mm stitches: common practice, no source.
pub const THREAD_PER_SEAM: f64 = 3.0;
/// Tape to start, overlap and trim for each cover that is bound. Chosen by us.
pub const BINDING_SPARE: Length = Length::from_mm(100.0);

/// What an order takes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Materials {
    /// Each piece, in the order they are made.
    pub pieces: Vec<PieceNeed>,
    /// Each cloth.
    pub cloths: Vec<ClothNeed>,
    /// Thread.
    pub thread: Length,
    /// Binding tape.
    pub binding: Length,
    /// Magnets, outer and inner, by their specification.
    pub magnets: Vec<(String, usize)>,
    /// Labels: one for each cover.
    pub n_labels: usize,
}

/// What a piece takes, all copies of it.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceNeed {
    /// Its name.
    pub name: String,
    /// Its cloth.
    pub cloth: String,
    /// How many are cut.
    pub count: u32,
    /// Cloth inside the cut lines.
    pub area: Area,
    /// Thread.
    pub thread: Length,
}

/// What is needed of one cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct ClothNeed {
    /// Its name.
    pub name: String,
    /// Its usable width.
    pub width: Length,
    /// Area of the pieces.
    pub area: Area,
    /// Length of roll, one piece after another.
    pub length: Length,
}

impl Materials {
    /// Adds a draft, each of its pieces cut from the cloth of the same place.
    pub(crate) fn add(&mut self, draft: &Draft, cloths: &[Cloth]) {
        for (piece, figures) in draft.pieces.iter().zip(&draft.figures) {
            self.add_piece(piece, figures, cloths);
        }
    }

    fn add_piece(&mut self, piece: &Piece, figures: &PieceFigures, cloths: &[Cloth]) {
        let copies = f64::from(piece.count);
        let area = figures.cut_area * copies;
        let sewn: Length = piece.sew_lines.iter().map(Path::length).sum();
        let thread = sewn * (THREAD_PER_SEAM * copies);
        self.thread += thread;
        self.pieces.push(PieceNeed {
            name: piece.name.clone(),
            cloth: piece.cloth.clone(),
            count: piece.count,
            area,
            thread,
        });
        let length = figures.along_roll * copies;
        match self.cloths.iter_mut().find(|need| need.name == piece.cloth) {
            Some(need) => {
                need.area += area;
                need.length += length;
            }
            None => {
                let cloth = cloths.iter().find(|cloth| cloth.name == piece.cloth);
                let width = cloth.map_or(Length::ZERO, |cloth| cloth.usable_width);
                self.cloths.push(ClothNeed { name: piece.cloth.clone(), width, area, length });
            }
        }
    }

    /// Adds the bound edge of a cover.
    pub(crate) fn bind(&mut self, edge: Length) {
        if edge > Length::ZERO {
            self.binding += edge + BINDING_SPARE;
        }
    }

    /// Adds pairs of magnets.
    pub(crate) fn hold(&mut self, magnet: &MagnetEntry, n_pairs: usize) {
        for spec in [magnet.outer.to_string(), magnet.inner.to_string()] {
            match self.magnets.iter_mut().find(|(known, _)| *known == spec) {
                _ if n_pairs == 0 => {}
                Some((_, n)) => *n += n_pairs,
                None => self.magnets.push((spec, n_pairs)),
            }
        }
    }

    /// In plain words, a line each.
    #[must_use]
    pub fn words(&self) -> Vec<String> {
        let metres = |length: Length| length.mm() / 1000.0;
        let mut lines: Vec<String> = self
            .cloths
            .iter()
            .map(|cloth| {
                let (area, length) = (cloth.area.m2(), metres(cloth.length));
                format!(
                    "{}, {:.0} wide: {area:.2} m² of pieces, {length:.2} m of roll at most",
                    cloth.name, cloth.width
                )
            })
            .collect();
        lines.push(format!("thread: {:.0} m", metres(self.thread).ceil()));
        if self.binding > Length::ZERO {
            lines.push(format!("binding tape: {:.1} m", metres(self.binding)));
        }
        let magnets = self.magnets.iter();
        lines.extend(magnets.map(|(spec, n)| format!("magnets {spec}: {n}")));
        lines.push(format!("labels: {}", self.n_labels));
        lines
    }
}

#[cfg(test)]
mod tests {
    use geometry::{Angle, Point};

    use super::*;

    fn mm(mm: f64) -> Length {
        Length::from_mm(mm)
    }

    fn square(name: &str, cloth: &str, count: u32) -> (Piece, PieceFigures) {
        let corners = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 500.0), (0.0, 500.0)];
        let cut_line = Path::polygon(corners.map(|(x, y)| Point::from_mm(x, y)));
        let piece = Piece {
            name: name.to_owned(),
            pane: "front".to_owned(),
            count,
            cloth: cloth.to_owned(),
            sew_lines: vec![cut_line.clone()],
            cut_line,
            cut_outs: Vec::new(),
            fold_lines: Vec::new(),
            internal_lines: Vec::new(),
            notches: Vec::new(),
            drill_points: Vec::new(),
            grain_line: [Point::ORIGIN; 2],
            turns: vec![Angle::ZERO],
            texts: Vec::new(),
        };
        let figures = PieceFigures {
            finished_area: Area::from_mm2(5e5),
            cut_area: Area::from_mm2(5e5),
            cut_length: mm(3000.0),
            along_roll: mm(1000.0),
            across_roll: mm(500.0),
        };
        (piece, figures)
    }

    #[test]
    fn needs_add_up_by_cloth() {
        let (pieces, figures) =
            [square("a", "mesh", 1), square("b", "felt", 1), square("c", "mesh", 2)]
                .into_iter()
                .unzip();
        let mut needs = Materials::default();
        needs.add(&Draft { pieces, figures, remarks: Vec::new() }, &[]);
        needs.bind(mm(2000.0));
        needs.bind(Length::ZERO);
        let magnet = MagnetEntry::alike("disc:20x3:N35").unwrap();
        needs.hold(&magnet, 5);
        needs.hold(&magnet, 2);
        assert_eq!(needs.cloths.len(), 2);
        assert!((needs.cloths[0].area.m2() - 1.5).abs() < 1e-9);
        assert_eq!(needs.cloths[0].length, mm(3000.0));
        // Four squares of 3 m round, three times.
        assert!((needs.thread.mm() - 36_000.0).abs() < 1e-6);
        assert_eq!(needs.binding, mm(2100.0));
        assert_eq!(needs.magnets, [("disc:20x3:N35".to_owned(), 14)]);
        let words = needs.words().join("; ");
        assert!(words.contains("1.50 m² of pieces, 3.00 m of roll at most"), "{words}");
        assert!(words.contains("thread: 36 m; binding tape: 2.1 m"), "{words}");
    }
}
