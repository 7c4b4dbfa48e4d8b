//! What keep-outs take from a panel: holes, notches open to its edge, slits, and their facings.
//!
//! The region left free is the keep-out grown by its clearance. Where a strip narrower than the hem
//! and [`STRIP`] would stand between it and the finished edge, the region is opened to that edge,
//! straight down, up, left or right, whichever is nearest. Raw and bound edges are cut at the region;
//! a faced edge is cut its turning inside it, folded at it, and lined with a facing that is as wide
//! all round as asked. A slit runs from a hole to the nearest edge and is faced too.
//!
//! Unions and differences are those of paths, arcs exact; nothing is approximated.

use geometry::{Angle, Frame, Length, Path, Piece as PieceFrame, Point, tolerance};

use crate::DraftError;

/// Narrowest strip of cloth between a hole and the hem. Chosen by us: narrower ones tear.
const STRIP: Length = Length::from_mm(10.0);
/// From a slit to the stitch on either side of it. Common practice, no source.
const SLIT_STITCH: Length = Length::from_mm(5.0);
/// A stitch's distance from the edge of the tape it holds down. Chosen by us.
const FROM_TAPE: Length = Length::from_mm(2.0);

/// How the edge round something left free is finished.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FreeFinish {
    /// Cut and left.
    Raw,
    /// Bound with tape.
    Bound {
        /// Width of the tape, flat.
        tape: Length,
    },
    /// Turned in over a facing.
    Faced {
        /// Cloth turned in.
        turning: Length,
        /// How far the facing reaches beyond the edge.
        width: Length,
    },
}

/// Something that a panel leaves free.
#[derive(Clone, Debug, PartialEq)]
pub struct Free<F: Frame> {
    /// What it is called: `sensor`.
    pub name: String,
    /// Its edge, closed and anticlockwise.
    pub shape: Path<F>,
    /// How far the finished edge stays from it.
    pub clearance: Length,
    /// How the edge round it is finished.
    pub finish: FreeFinish,
    /// Whether a slit leads to it, so that the cover goes round what stands on the glass.
    pub slit: bool,
    /// How far magnets stay from it.
    pub magnets_off: Length,
}

/// A facing to be cut.
#[derive(Clone, Debug)]
pub(crate) struct Facing {
    /// What it is for.
    pub(crate) name: String,
    pub(crate) edge: Path<PieceFrame>,
    pub(crate) holes: Vec<Path<PieceFrame>>,
    /// Where it is sewn on, and slit afterwards.
    pub(crate) sewn: Vec<Path<PieceFrame>>,
    pub(crate) slits: Vec<Path<PieceFrame>>,
}

/// What is left of a panel.
#[derive(Clone, Debug)]
pub(crate) struct Freed {
    pub(crate) finished: Path<PieceFrame>,
    pub(crate) cut: Path<PieceFrame>,
    /// Holes as they are cut, and as they are once finished.
    pub(crate) holes: Vec<Path<PieceFrame>>,
    pub(crate) finished_holes: Vec<Path<PieceFrame>>,
    /// Everything left free, as it is once finished.
    pub(crate) regions: Vec<Path<PieceFrame>>,
    pub(crate) folds: Vec<Path<PieceFrame>>,
    pub(crate) sewn: Vec<Path<PieceFrame>>,
    pub(crate) slits: Vec<Path<PieceFrame>>,
    pub(crate) facings: Vec<Facing>,
}

impl Freed {
    /// Takes what is to be left free from a panel whose hems reach in by `reach` at most.
    pub(crate) fn new(
        finished: Path<PieceFrame>,
        cut: Path<PieceFrame>,
        reach: Length,
        free: &[Free<PieceFrame>],
    ) -> Result<Self, DraftError> {
        let whole = finished.clone();
        let mut freed = Self {
            finished,
            cut,
            holes: Vec::new(),
            finished_holes: Vec::new(),
            regions: Vec::new(),
            folds: Vec::new(),
            sewn: Vec::new(),
            slits: Vec::new(),
            facings: Vec::new(),
        };
        for keep_out in free {
            freed.take(keep_out, &whole, reach + STRIP)?;
        }
        Ok(freed)
    }

    fn take(
        &mut self,
        keep_out: &Free<PieceFrame>,
        whole: &Path<PieceFrame>,
        strip: Length,
    ) -> Result<(), DraftError> {
        let name = || keep_out.name.clone();
        let away = || DraftError::KeepOutAway { name: name() };
        let grown = single(offset(&keep_out.shape, -keep_out.clearance)).ok_or_else(away)?;
        let start = grown.at_length(Length::ZERO).0;
        let meets = grown.meets(whole);
        if !meets && !whole.contains(start) {
            return Err(away());
        }
        let off = grown.flatten(Length::from_mm(0.1)).into_iter().map(|p| whole.nearest(p).1);
        let off = off.fold(Length::from_mm(1e6), Length::min);
        let is_open = meets || off < strip;
        let out = way_out(&grown, whole);
        let region = if is_open { opened(&grown, &self.cut, out) } else { Some(grown.clone()) };
        let parts = || DraftError::KeepOutParts { name: name() };
        let region = region.ok_or_else(parts)?;
        if self.regions.iter().any(|other| other.meets(&region) || other.contains(start)) {
            return Err(DraftError::KeepOutsMeet { name: name() });
        }
        let turning = match keep_out.finish {
            FreeFinish::Faced { turning, .. } => turning,
            FreeFinish::Raw | FreeFinish::Bound { .. } => Length::ZERO,
        };
        let small = || DraftError::KeepOutSmall { name: name(), turning };
        let knife = single(offset(&region, turning)).ok_or_else(small)?;
        if is_open {
            self.cut = left(&self.cut, &knife).ok_or_else(parts)?;
            self.finished = left(&self.finished, &region).ok_or_else(parts)?;
        } else {
            self.holes.push(knife.clone());
            self.finished_holes.push(region.clone());
        }
        match keep_out.finish {
            FreeFinish::Raw => {}
            FreeFinish::Bound { tape } => {
                let stitch = single(offset(&region, FROM_TAPE - tape / 2.0)).ok_or_else(small)?;
                self.sewn.extend(runs(&stitch, whole, true));
            }
            FreeFinish::Faced { width, .. } => {
                let fold = runs(&region, whole, true);
                let around = single(offset(&region, -width)).ok_or_else(small)?;
                let mut around = around.intersection(whole).outer;
                let around = if around.len() == 1 { around.remove(0) } else { return Err(parts()) };
                let (edge, holes) = if is_open {
                    (left(&around, &knife).ok_or_else(parts)?, Vec::new())
                } else {
                    (around, vec![knife])
                };
                let (sewn, slits) = (fold.clone(), Vec::new());
                self.facings.push(Facing { name: name(), edge, holes, sewn, slits });
                self.folds.extend(fold);
            }
        }
        if keep_out.slit && !is_open {
            self.slit(keep_out, &region, out)?;
        }
        self.regions.push(region);
        Ok(())
    }

    /// A slit from a hole to the edge, with its facing.
    fn slit(
        &mut self,
        keep_out: &Free<PieceFrame>,
        region: &Path<PieceFrame>,
        out: Angle,
    ) -> Result<(), DraftError> {
        let parts = || DraftError::KeepOutParts { name: keep_out.name.clone() };
        let bounds = region.bounds().ok_or_else(parts)?;
        let middle = bounds.min.midpoint(bounds.max);
        let ray = |from: Point<PieceFrame>| {
            let far = Length::from_mm(1e5);
            Path::polyline([from, from.toward(out, far)])
        };
        let first = |line: &Path<PieceFrame>, closed: &Path<PieceFrame>| {
            let from = line.vertices()[0].point;
            let met = closed.meetings(line);
            met.into_iter().min_by(|a, b| a.distance(from).mm().total_cmp(&b.distance(from).mm()))
        };
        let from = first(&ray(middle), region).ok_or_else(parts)?;
        let to =
            first(&ray(from.toward(out, Length::from_mm(0.01))), &self.cut).ok_or_else(parts)?;
        let slit = Path::polyline([from, to]);
        let half = SLIT_STITCH * 6.0;
        let aside = |by: Length| {
            let side = out + Angle::from_degrees(90.0);
            [from.toward(side, by), to.toward(side, by)]
        };
        let stitches = [SLIT_STITCH, -SLIT_STITCH].map(|by| Path::polyline(aside(by)));
        let ([a, b], [d, c]) = (aside(-half), aside(half));
        let mut edge = Path::polygon([a, b, c, d]).intersection(&self.finished).outer;
        let edge = if edge.len() == 1 { edge.remove(0) } else { return Err(parts()) };
        let edge = left(&edge, region).unwrap_or(edge);
        let sewn: Vec<_> = stitches.iter().flat_map(|s| runs(s, &edge, true)).collect();
        self.sewn.extend(sewn.iter().cloned());
        self.slits.push(slit.clone());
        let slits = runs(&slit, &edge, true);
        let name = format!("{} slit", keep_out.name);
        self.facings.push(Facing { name, edge, holes: Vec::new(), sewn, slits });
        Ok(())
    }

    /// What of a line runs outside everything left free.
    pub(crate) fn spared(&self, line: &Path<PieceFrame>) -> Vec<Path<PieceFrame>> {
        let mut lines = vec![line.clone()];
        for region in &self.regions {
            lines = lines.iter().flat_map(|line| runs(line, region, false)).collect();
        }
        lines
    }
}

fn single<F: Frame>(mut loops: Vec<Path<F>>) -> Option<Path<F>> {
    if loops.len() == 1 { loops.pop() } else { None }
}

/// A closed path moved inwards, outwards when that is negative.
fn offset<F: Frame>(path: &Path<F>, by: Length) -> Vec<Path<F>> {
    if by == Length::ZERO { vec![path.clone()] } else { path.inset(by) }
}

/// What is left of a closed path without another, when that is one piece.
pub(crate) fn left<F: Frame>(path: &Path<F>, taken: &Path<F>) -> Option<Path<F>> {
    let mut left = path.difference(taken);
    if left.outer.len() == 1 && left.holes.is_empty() { left.outer.pop() } else { None }
}

/// Down, right, up or left: where the edge is nearest to a region.
fn way_out(region: &Path<PieceFrame>, edge: &Path<PieceFrame>) -> Angle {
    let (Some(inner), Some(outer)) = (region.bounds(), edge.bounds()) else { return Angle::ZERO };
    let middle = inner.min.midpoint(inner.max);
    let far = Length::from_mm(1.0) + outer.width() + outer.height();
    let to_edge = |heading: &f64| -> f64 {
        let heading = Angle::from_degrees(*heading);
        let ray = Path::polyline([middle, middle.toward(heading, far)]);
        let met = edge.meetings(&ray).into_iter().map(|p| p.distance(middle).mm());
        met.fold(f64::INFINITY, f64::min)
    };
    let ways = [-90.0, 0.0, 90.0, 180.0];
    let best = ways.into_iter().min_by(|a, b| to_edge(a).total_cmp(&to_edge(b)));
    let best = best.unwrap_or(-90.0);
    // From beside the panel, the way out is away from it.
    Angle::from_degrees(if edge.contains(middle) { best } else { best + 180.0 })
}

/// The region with everything beyond it towards the edge.
fn opened(
    region: &Path<PieceFrame>,
    cut: &Path<PieceFrame>,
    out: Angle,
) -> Option<Path<PieceFrame>> {
    let (around, cut) = (region.bounds()?, cut.bounds()?);
    let far = cut.width() + cut.height();
    let middle = around.min.midpoint(around.max);
    let half = if out.radians().cos().abs() > 0.5 { around.height() } else { around.width() } / 2.0;
    let side = out + Angle::from_degrees(90.0);
    let corner = |along: Length, by: Length| middle.toward(out, along).toward(side, by);
    let zero = Length::ZERO;
    let bridge = Path::polygon([
        corner(zero, -half),
        corner(far, -half),
        corner(far, half),
        corner(zero, half),
    ]);
    single(region.union(&bridge).outer)
}

/// The runs of a line inside a closed path, or outside it.
pub(crate) fn runs<F: Frame>(line: &Path<F>, closed: &Path<F>, inside: bool) -> Vec<Path<F>> {
    let wanted = |run: &Path<F>| closed.contains(run.at_length(run.length() / 2.0).0) == inside;
    let mut cuts: Vec<Length> =
        line.meetings(closed).into_iter().map(|p| line.nearest(p).0).collect();
    if cuts.is_empty() {
        return if wanted(line) { vec![line.clone()] } else { Vec::new() };
    }
    if !line.is_closed() {
        cuts.extend([Length::ZERO, line.length()]);
    }
    cuts.sort_by(|a, b| a.mm().total_cmp(&b.mm()));
    cuts.dedup_by(|a, b| (*a - *b).abs() < tolerance::SAME_POINT);
    if line.is_closed() {
        cuts.push(cuts[0]);
    }
    cuts.windows(2)
        .map(|pair| line.part(pair[0], pair[1]))
        .filter(|run| run.length() > tolerance::SAME_POINT && wanted(run))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples::mm;

    fn rectangle(left: f64, low: f64, right: f64, high: f64) -> Path<PieceFrame> {
        let corners = [(left, low), (right, low), (right, high), (left, high)];
        Path::polygon(corners.map(|(x, y)| Point::from_mm(x, y)))
    }

    fn free(shape: Path<PieceFrame>, finish: FreeFinish) -> Free<PieceFrame> {
        Free {
            name: "sensor".to_owned(),
            shape,
            clearance: mm(5.0),
            finish,
            slit: false,
            magnets_off: mm(0.0),
        }
    }

    fn freed(free: &[Free<PieceFrame>]) -> Result<Freed, DraftError> {
        let finished = rectangle(0.0, 0.0, 1000.0, 600.0);
        let cut = rectangle(-20.0, -20.0, 1020.0, 620.0);
        Freed::new(finished, cut, mm(20.0), free)
    }

    #[test]
    fn a_camera_in_the_middle_is_a_hole_grown_by_its_clearance() {
        let camera = free(Path::circle(Point::from_mm(500.0, 300.0), mm(40.0)), FreeFinish::Raw);
        let freed = freed(&[camera]).unwrap();
        assert_eq!(freed.holes.len(), 1);
        let expected = std::f64::consts::PI * 45.0 * 45.0;
        assert!((freed.holes[0].area().mm2() - expected).abs() < 1e-6);
    }

    #[test]
    fn a_sensor_near_the_top_is_opened_to_it() {
        let sensor = free(rectangle(450.0, 500.0, 550.0, 580.0), FreeFinish::Raw);
        let freed = freed(&[sensor]).unwrap();
        assert!(freed.holes.is_empty());
        // 110 wide with 5 mm rounded corners below, from 495 up to the finished edge at 600.
        let corners = 2.0 * 25.0 * (1.0 - std::f64::consts::FRAC_PI_4);
        let off = freed.finished.area().mm2() - (6e5 - 110.0 * 105.0 + corners);
        assert!(off.abs() < 0.01, "{off}");
        let line = Path::polyline([Point::from_mm(0.0, 590.0), Point::from_mm(1000.0, 590.0)]);
        let spared = freed.spared(&line);
        assert_eq!(spared.len(), 2);
        assert!((spared[0].length().mm() - 445.0).abs() < 1e-6);
    }

    #[test]
    fn a_faced_edge_leaves_cloth_to_turn_in_and_has_a_facing() {
        let finish = FreeFinish::Faced { turning: mm(8.0), width: mm(30.0) };
        let freed = freed(&[free(rectangle(450.0, 250.0, 550.0, 330.0), finish)]).unwrap();
        let hole = freed.holes[0].bounds().unwrap();
        assert!((hole.width().mm() - (110.0 - 16.0)).abs() < 1e-6);
        let facing = freed.facings[0].edge.bounds().unwrap();
        assert!((facing.width().mm() - 170.0).abs() < 1e-6);
        assert_eq!(freed.facings[0].holes.len(), 1);
    }

    #[test]
    fn a_slit_leads_from_a_hole_to_the_nearest_edge() {
        let arm = free(Path::circle(Point::from_mm(120.0, 300.0), mm(20.0)), FreeFinish::Raw);
        let freed = freed(&[Free { slit: true, ..arm }]).unwrap();
        // From the hole's edge at 95 to the cut edge at −20.
        assert!((freed.slits[0].length().mm() - 115.0).abs() < 1e-6);
        let facing = freed.facings[0].edge.bounds().unwrap();
        assert!((facing.height().mm() - 60.0).abs() < 1e-6 && facing.min.x().mm().abs() < 1e-6);
        assert_eq!(freed.sewn.len(), 2);
    }

    #[test]
    fn what_cannot_be_left_free_is_refused() {
        let at =
            |x: f64, y: f64| free(Path::circle(Point::from_mm(x, y), mm(40.0)), FreeFinish::Raw);
        let away = freed(&[at(-200.0, 300.0)]).unwrap_err();
        assert!(matches!(away, DraftError::KeepOutAway { .. }), "{away}");
        let meet = freed(&[at(500.0, 300.0), at(540.0, 300.0)]).unwrap_err();
        assert!(matches!(meet, DraftError::KeepOutsMeet { .. }), "{meet}");
        let apart = free(rectangle(400.0, -50.0, 600.0, 650.0), FreeFinish::Raw);
        let apart = freed(&[apart]).unwrap_err();
        assert!(matches!(apart, DraftError::KeepOutParts { .. }), "{apart}");
        let finish = FreeFinish::Faced { turning: mm(60.0), width: mm(30.0) };
        let small = freed(&[Free { finish, ..at(500.0, 300.0) }]).unwrap_err();
        assert!(matches!(small, DraftError::KeepOutSmall { .. }), "{small}");
    }
}
