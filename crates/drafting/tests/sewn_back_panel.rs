//! A panel sewn back: from the lines of its flat pieces alone, as a sewer would, to the cover asked for.
//!
//! The pieces are taken as they come off the table: lying anywhere, turned, cut larger for what the cloth
//! shrinks. They are let shrink, joined seam on seam with their notches together, and turned in along
//! their fold lines: what is beyond a fold comes to lie as far inside it, along the fold's normal. The form a
//! panel is to have is its pane's, flattened: glass bent one way keeps lengths, so what fits there fits the
//! glass. Nothing but the glass edge, and the widths that were asked for, is held against the result.

use drafting::{
    Cloth, CornerStyle, Corners, Draft, EdgeFinish, Notch, NotchForm, PanelAsk, Piece, PocketStyle,
    SeamType, Sewing, Shrinkage, draft_panel,
};
use geometry::{Angle, Length, Outline, Pane, Path, Piece as PieceFrame, Placement, Point};
use hold::{Force, Grip};

type At = Point<PieceFrame>;
type Line = Path<PieceFrame>;

/// How far what is sewn back may be off.
const WITHIN: f64 = 1.0;
const INSET: f64 = 4.0;
const STITCH: f64 = 5.0;

fn mm(mm: f64) -> Length {
    Length::from_mm(mm)
}

fn windscreen() -> Outline {
    let corners = [(-1159.0, 20.0), (1159.0, 20.0), (1068.0, 1352.0), (-1068.0, 1352.0)];
    Outline::new(
        corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        [45.0, 12.0, 40.0, 12.0].map(mm).to_vec(),
        [90.0, 90.0, 70.0, 70.0].map(mm).to_vec(),
    )
    .expect("a sound outline")
}

/// A cab window with a hollow base, leaning.
fn cab_window() -> Outline {
    let corners = [(-420.0, 10.0), (400.0, 0.0), (430.0, 610.0), (-300.0, 640.0)];
    Outline::new(
        corners.map(|(x, y)| Point::from_mm(x, y)).to_vec(),
        [-12.0, 5.0, 10.0, 8.0].map(mm).to_vec(),
        [60.0, 45.0, 80.0, 50.0].map(mm).to_vec(),
    )
    .expect("a sound outline")
}

struct Bench {
    outline: Outline,
    finishes: Vec<EdgeFinish>,
    style: CornerStyle,
    seam: SeamType,
    cloth: Cloth,
    grips: Vec<Grip>,
}

impl Bench {
    fn new(outline: Outline, finish: EdgeFinish, usable_width: f64) -> Self {
        let finishes = vec![finish; outline.corners().len()];
        let cloth = Cloth {
            name: "mesh".to_owned(),
            usable_width: mm(usable_width),
            half_turn: true,
            print: None,
            shrinkage: Shrinkage::default(),
        };
        let (style, seam) = (CornerStyle::Mitred, SeamType::Plain);
        Self { outline, finishes, style, seam, cloth, grips: Vec::new() }
    }

    fn draft(&self) -> Draft {
        draft_panel(&PanelAsk {
            pane: "front",
            what: "panel",
            order: "H-0142",
            count: 1,
            outline: &self.outline,
            inset: mm(INSET),
            finishes: &self.finishes,
            corners: Corners { style: self.style, turning: mm(10.0) },
            grips: &self.grips,
            pockets: PocketStyle::Hem,
            keep_outs: &[],
            cloth: &self.cloth,
            sewing: Sewing {
                seam_allowance: mm(12.0),
                stitch_from_edge: mm(STITCH),
                notch_depth: mm(5.0),
            },
            seam: self.seam,
            seams_off: &[],
            straps: &[],
        })
        .expect("a panel that can be sewn")
    }

    /// Its pieces off the table, joined.
    fn joined(&self) -> Vec<Part> {
        let mut draft = self.draft();
        draft.pieces.retain(|piece| !piece.name.ends_with("pocket"));
        let n = draft.pieces.len();
        let parts = draft.pieces.iter().enumerate().map(|(k, piece)| {
            let n_seams = usize::from(k > 0) + usize::from(k + 1 < n);
            // As if it had been thrown on the table.
            let turn = Angle::from_degrees(37.0 * k as f64);
            let anywhere = Placement::new(turn, Point::from_mm(900.0 * k as f64, -300.0));
            Part::of(piece, n_seams, &self.cloth).placed(&anywhere)
        });
        let mut parts: Vec<Part> = parts.collect();
        for k in 1..n {
            let right_seam = parts[k - 1].seams.last().expect("a seam on its right").clone();
            let left_seam = &parts[k].seams[0];
            let off = (right_seam.length() - left_seam.length()).mm().abs();
            assert!(off < 0.2, "seam {k}: lengths differ by {off} mm");
            let onto = lying_on(left_seam, &right_seam);
            parts[k] = parts[k].placed(&onto);
        }
        parts
    }
}

/// The motion that lays one straight line on another.
fn lying_on(line: &Line, on: &Line) -> Placement<PieceFrame, PieceFrame> {
    let ends = |line: &Line| (line.at_length(mm(0.0)).0, line.at_length(line.length()).0);
    let ((a, b), (c, d)) = (ends(line), ends(on));
    let turn = c.heading_to(d) - a.heading_to(b);
    let turned = Placement::<PieceFrame, PieceFrame>::new(turn, Point::ORIGIN).apply(a);
    Placement::new(turn, Point::new(c.x() - turned.x(), c.y() - turned.y()))
}

/// One piece of the panel, its cloth relaxed.
struct Part {
    cut: Line,
    sews: Vec<Line>,
    folds: Vec<Line>,
    /// Left and right one, as far as there are such.
    seams: Vec<Line>,
    notches: Vec<Notch>,
}

impl Part {
    fn of(piece: &Piece, n_seams: usize, cloth: &Cloth) -> Self {
        // What was cut 1/(1 − s) times as large shrinks by s, along the grain and across it.
        let [from, to] = piece.grain_line;
        let along_x = (to.x() - from.x()).abs() > (to.y() - from.y()).abs();
        let Shrinkage { warp, weft } = cloth.shrinkage;
        let (x, y) = if along_x { (warp, weft) } else { (weft, warp) };
        let relaxed = |p: At| Point::new(p.x() * (1.0 - x), p.y() * (1.0 - y));
        let line = |path: &Line| {
            if cloth.shrinkage == Shrinkage::default() {
                return path.clone();
            }
            let points = path.flatten(mm(0.002)).into_iter().map(relaxed);
            if path.is_closed() { Path::polygon(points) } else { Path::polyline(points) }
        };
        let lines = |paths: &[Line]| paths.iter().map(line).collect::<Vec<_>>();
        let mut sews = lines(&piece.sew_lines);
        let seams = sews.split_off(sews.len() - n_seams);
        let notches =
            piece.notches.iter().map(|notch| Notch { at: relaxed(notch.at), ..*notch }).collect();
        Self { cut: line(&piece.cut_line), sews, folds: lines(&piece.fold_lines), seams, notches }
    }

    fn placed(&self, onto: &Placement<PieceFrame, PieceFrame>) -> Self {
        let lines = |paths: &[Line]| paths.iter().map(|p| p.placed(onto)).collect();
        Self {
            cut: self.cut.placed(onto),
            sews: lines(&self.sews),
            folds: lines(&self.folds),
            seams: lines(&self.seams),
            notches: self
                .notches
                .iter()
                .map(|notch| Notch {
                    at: onto.apply(notch.at),
                    inward: notch.inward + onto.turn(),
                    ..*notch
                })
                .collect(),
        }
    }

    /// Whether a place belongs to the part once its seams are sewn: not to their allowances.
    fn holds(&self, at: At) -> bool {
        let (middle, _) = self.cut.bounds().map(|b| (b.min.midpoint(b.max), ())).expect("bounds");
        self.seams.iter().all(|seam| side_of(seam, at) * side_of(seam, middle) > -1e-3)
    }
}

/// Distance to the left of a straight line, mm.
fn side_of(line: &Line, at: At) -> f64 {
    let (from, heading) = line.at_length(mm(0.0));
    let bearing = from.heading_to(at) - heading;
    from.distance(at).mm() * bearing.radians().sin()
}

/// The glass, put where the joined panel lies: by its finished edge's lowest place and centre line it
/// would be pinned; here the first part's motion from the pane's frame is undone, which any pinning finds.
fn on_glass(parts: &[Part], first: &Placement<PieceFrame, PieceFrame>) -> Vec<Part> {
    let back_turn = Angle::ZERO - first.turn();
    let at = Placement::<PieceFrame, PieceFrame>::new(back_turn, Point::ORIGIN).apply(first.at());
    let back = Placement::new(back_turn, Point::new(-at.x(), -at.y()));
    parts.iter().map(|part| part.placed(&back)).collect()
}

/// A sewn panel on its glass.
struct Sewn<'a> {
    bench: &'a Bench,
    parts: Vec<Part>,
    /// The glass edge, and its sides without the roundings.
    glass: Line,
    sides: Vec<Line>,
}

fn sew(bench: &Bench) -> Sewn<'_> {
    let same = Placement::<Pane, PieceFrame>::new(Angle::ZERO, Point::ORIGIN);
    let glass = bench.outline.path().placed(&same);
    // The path runs round the first corner, along the first side, and so on.
    let vertices = glass.vertices();
    let n = bench.outline.corners().len();
    let side =
        |k: usize| Path::open(vec![vertices[2 * k + 1], vertices[(2 * k + 2) % vertices.len()]]);
    let sides = (0..n).map(side).collect();
    let first = Placement::new(Angle::ZERO, Point::from_mm(0.0, -300.0));
    Sewn { bench, parts: on_glass(&bench.joined(), &first), glass, sides }
}

impl Sewn<'_> {
    /// Number of the side a place on the finished edge belongs to; `None` at a rounding.
    fn side_at(&self, on_edge: At) -> Option<usize> {
        let (along, off) = self.glass.nearest(on_edge);
        let on_glass = self.glass.at_length(along).0;
        assert!((off.mm() - INSET).abs() < WITHIN, "{off} inside the glass edge");
        self.sides.iter().position(|side| side.nearest(on_glass).1.mm() < 1e-6)
    }

    fn within_glass(&self, at: At) -> f64 {
        let off = self.glass.nearest(at).1.mm();
        if self.glass.contains(at) { off } else { -off }
    }

    /// Where the cut edge of a part comes to lie, with the place of its fold; what isn't turned in stays.
    /// Places are `step` apart along the cut edge.
    fn turned_in(&self, part: &Part, step: f64) -> Vec<(At, Option<At>)> {
        let (outer, inner): (Vec<&Line>, Vec<&Line>) = part.folds.iter().partition(|fold| {
            let (middle, _) = fold.at_length(fold.length() / 2.0);
            (self.within_glass(middle) - INSET).abs() < WITHIN
        });
        let nearest = |folds: &[&Line], at: At| {
            let best = folds.iter().map(|fold| (fold.nearest(at), fold));
            let best = best.min_by(|a, b| a.0.1.mm().total_cmp(&b.0.1.mm()));
            best.map(|((along, off), fold)| (fold.at_length(along).0, off.mm()))
        };
        let over =
            |at: At, foot: At| at.moved((foot.x() - at.x()) * 2.0, (foot.y() - at.y()) * 2.0);
        let mut folded = Vec::new();
        let steps = (part.cut.length().mm() / step).round();
        let mut k = 0.0;
        while k < steps {
            let at = part.cut.at_length(part.cut.length() * (k / steps)).0;
            k += 1.0;
            if !part.holds(at) {
                continue;
            }
            let beyond = INSET - self.within_glass(at);
            let Some((foot, off)) = nearest(&outer, at).filter(|_| beyond > 0.01) else {
                folded.push((at, None));
                continue;
            };
            // A hem turned twice is folded along its inner fold first.
            let once = match nearest(&inner, at) {
                Some((inner_foot, tuck)) if tuck < off - 0.01 => {
                    let twice = nearest(&outer, inner_foot).map_or(off, |(_, width)| width);
                    if off > twice { over(at, inner_foot) } else { at }
                }
                _ => at,
            };
            let foot = nearest(&outer, once).map_or(foot, |(foot, _)| foot);
            folded.push((over(once, foot), Some(foot)));
        }
        folded
    }

    /// Checks finished edge, hems, stitches and joined lines.
    fn check(&self) {
        let bench = self.bench;
        for part in &self.parts {
            for (lies, foot) in self.turned_in(part, 2.0) {
                let inside = self.within_glass(lies);
                let Some(foot) = foot else {
                    // Bound and raw edges are the finished edge themselves.
                    assert!((inside - INSET).abs() < WITHIN, "{inside} inside at {lies:?}");
                    continue;
                };
                assert!(inside > INSET - WITHIN, "a hem shows by {inside} at {lies:?}");
                let Some(side) = self.side_at(foot) else { continue };
                let width = match bench.finishes[side] {
                    EdgeFinish::Hem { width } | EdgeFinish::Welded { width } => width.mm(),
                    // Its cut edge is tucked under, back towards the fold; its ends are not.
                    EdgeFinish::DoubleHem { width, .. } => width.mm(),
                    EdgeFinish::Raw | EdgeFinish::Bound { .. } => 0.0,
                };
                let deep = self.sides[side].nearest(lies).1.mm() - INSET;
                assert!(deep < width + WITHIN, "a hem {deep} deep on side {side}");
                // Where it has its full width, its stitch holds it.
                if (deep - width).abs() < 0.01
                    && matches!(bench.finishes[side], EdgeFinish::Hem { .. })
                {
                    let stitch = part.sews.iter().map(|sew| sew.nearest(lies).1.mm());
                    let stitch = stitch.fold(f64::MAX, f64::min);
                    assert!((stitch - STITCH).abs() < WITHIN, "{stitch} from its stitch");
                }
                // A hem ends at the line that halves its corner, so that two never lie on one another.
                if bench.style == CornerStyle::Mitred {
                    for other in 0..self.sides.len() {
                        let (own, its) = (
                            self.sides[side].nearest(lies).1.mm(),
                            self.sides[other].nearest(lies).1.mm(),
                        );
                        assert!(own < its + WITHIN || its > 80.0, "{own} and {its} at {lies:?}");
                    }
                }
            }
        }
        // A line that a seam cuts runs on in the next part: what lies in one part's seam allowance lies
        // on the other part's line.
        for pair in self.parts.windows(2) {
            for (of, onto) in [(&pair[0], &pair[1]), (&pair[1], &pair[0])] {
                for (lines, others) in [(&of.folds, &onto.folds), (&of.sews, &onto.sews)] {
                    let ends = lines.iter().filter(|line| !line.is_closed());
                    let ends =
                        ends.flat_map(|l| [l.at_length(mm(0.0)).0, l.at_length(l.length()).0]);
                    for end in ends.filter(|end| !of.holds(*end) && onto.holds(*end)) {
                        let off = others.iter().map(|line| line.nearest(end).1.mm());
                        let off = off.fold(f64::MAX, f64::min);
                        assert!(off < 0.2, "a line is off by {off} beyond a seam");
                    }
                }
            }
        }
    }

    /// Places of the notches along a seam, from its foot.
    fn balance(&self, part: &Part, seam: &Line) -> Vec<f64> {
        let (foot, heading) = seam.at_length(mm(0.0));
        let mut up: Vec<f64> = part
            .notches
            .iter()
            .filter(|notch| (1.0..15.0).contains(&side_of(seam, notch.at).abs()))
            .filter(|notch| (notch.inward - heading).radians().cos().abs() < 1e-6)
            .map(|n| foot.distance(n.at).mm() * (foot.heading_to(n.at) - heading).radians().cos())
            .filter(|up| (50.0..seam.length().mm() - 50.0).contains(up))
            .collect();
        up.sort_by(f64::total_cmp);
        up
    }
}

#[test]
fn a_panel_sewn_back_has_its_hems_inside_and_its_edge_on_the_glass() {
    for finish in [
        EdgeFinish::Hem { width: mm(40.0) },
        EdgeFinish::DoubleHem { width: mm(25.0), tuck: mm(12.0) },
        EdgeFinish::Welded { width: mm(30.0) },
        EdgeFinish::Bound { tape: mm(24.0) },
        EdgeFinish::Raw,
    ] {
        for outline in [windscreen(), cab_window()] {
            sew(&Bench::new(outline, finish, 1600.0)).check();
        }
    }
}

#[test]
fn edges_finished_differently_fit_one_another_when_sewn_back() {
    let mut bench = Bench::new(windscreen(), EdgeFinish::Hem { width: mm(60.0) }, 1600.0);
    bench.finishes[1] = EdgeFinish::Hem { width: mm(25.0) };
    bench.finishes[2] = EdgeFinish::Bound { tape: mm(24.0) };
    for style in CornerStyle::ALL {
        bench.style = *style;
        sew(&bench).check();
    }
}

#[test]
fn parts_sewn_back_are_the_whole_panel_with_their_notches_together() {
    for (width, n_parts) in [(1250.0, 2), (900.0, 3), (700.0, 4)] {
        for seam in SeamType::ALL {
            let finish = EdgeFinish::Hem { width: mm(30.0) };
            let bench = Bench { seam: *seam, ..Bench::new(windscreen(), finish, width) };
            let sewn = sew(&bench);
            assert_eq!(sewn.parts.len(), n_parts);
            sewn.check();
            for pair in sewn.parts.windows(2) {
                let seam = &pair[1].seams[0];
                let [left, right] = [&pair[0], &pair[1]].map(|part| sewn.balance(part, seam));
                assert_eq!(left.len(), 3, "{left:?}");
                for (a, b) in left.iter().zip(&right) {
                    assert!((a - b).abs() < 0.2, "{left:?} against {right:?}");
                }
                // One low and two high: no part can be joined upside down.
                assert!(left[1] - left[0] > 100.0 && left[2] - left[1] < 30.0);
            }
        }
    }
}

#[test]
fn a_panel_cut_for_cloth_that_shrinks_fits_once_it_has() {
    let shrinkage = Shrinkage { warp: 0.03, weft: -0.015 };
    for width in [1700.0, 1300.0] {
        let finish = EdgeFinish::Hem { width: mm(40.0) };
        let mut bench = Bench::new(windscreen(), finish, width);
        bench.cloth.shrinkage = shrinkage;
        sew(&bench).check();
        // Without the correction it would be off by centimetres.
        let draft = bench.draft();
        let plain = Bench::new(windscreen(), finish, width).draft();
        let off = draft.figures[0].along_roll - plain.figures[0].along_roll;
        assert!(off.mm() > 30.0, "{off}");
    }
}

/// A grip so deep inside the glass edge, at that part of the way round it.
fn grip(outline: &Outline, number: u32, part: f64, depth: f64) -> Grip {
    let edge = outline.path();
    let along = edge.length() * part;
    let (on_edge, heading) = edge.at_length(along);
    Grip {
        number,
        at: on_edge.toward(heading + Angle::from_degrees(90.0), mm(depth)),
        along,
        depth: mm(depth),
        diameter: mm(20.0),
        pull: Force::from_newtons(8.0),
    }
}

#[test]
fn a_pocket_sewn_back_holds_its_magnet_where_it_is_marked() {
    let mut bench = Bench::new(windscreen(), EdgeFinish::Hem { width: mm(40.0) }, 1600.0);
    // In the hem along each side, and three too deep for it.
    bench.grips = (0..9)
        .map(|k| {
            let depth = if k % 4 == 3 { 70.0 } else { 20.0 };
            grip(&bench.outline, k + 1, (f64::from(k) + 0.4) / 9.0, depth)
        })
        .collect();
    let draft = bench.draft();
    let sewn = sew(&bench);
    let (panel, pocket) = (&draft.pieces[0], &draft.pieces[1]);
    let folded: Vec<At> = sewn.turned_in(&sewn.parts[0], 1.0).iter().map(|(at, _)| *at).collect();
    let (mut in_hem, mut in_patch) = (0, 0);
    for (drill, grip) in panel.drill_points.iter().zip(&bench.grips) {
        let [x, y] = grip.at.mm();
        assert!(drill.at.distance(Point::from_mm(x, y)).mm() < 1e-6);
        // What is sewn round the magnet leaves it a millimetre and no more, on two sides at least.
        let near = |lines: &[Line], off: f64| {
            lines.iter().filter(|l| (l.nearest(drill.at).1.mm() - off).abs() < 0.05).count()
        };
        let patch = panel.internal_lines.iter().find(|place| place.contains(drill.at));
        match patch {
            None => {
                in_hem += 1;
                assert_eq!(near(&panel.sew_lines, 11.0), 2, "{}", drill.name);
                // Once turned in the hem covers it, and its cut edge lies beyond the magnet.
                let beyond = sewn.within_glass(drill.at) + 10.0;
                let hem = folded.iter().filter(|p| p.distance(drill.at).mm() < 60.0);
                let reach = hem.map(|p| sewn.within_glass(*p)).fold(f64::MIN, f64::max);
                assert!(reach > beyond, "the hem ends {reach} inside, the magnet {beyond}");
            }
            Some(place) => {
                in_patch += 1;
                // The patch's edges turned in along its folds make it the square drawn on the panel.
                let fold = &pocket.fold_lines[0];
                let turned = pocket.cut_line.vertices().iter().map(|v| {
                    let (along, _) = fold.nearest(v.point);
                    let foot = fold.at_length(along).0;
                    v.point.moved((foot.x() - v.point.x()) * 2.0, (foot.y() - v.point.y()) * 2.0)
                });
                assert!(turned.into_iter().all(|at| fold.contains(at)), "a turning shows");
                assert!((fold.area() - place.area()).mm2().abs() < 1.0);
                let room = pocket.sew_lines[0].bounds().expect("a seam");
                let room = room.width().min(room.height()) - grip.diameter;
                assert!((1.0..3.0).contains(&room.mm()), "{room} of room");
            }
        }
    }
    assert_eq!(pocket.count, in_patch);
    assert!(in_hem >= 5 && in_patch >= 2, "{in_hem} in the hem, {in_patch} in patches");
}

#[test]
fn what_the_vs_take_out_is_what_a_hem_is_too_long_round_a_corner() {
    for radius in [90.0, 140.0] {
        let hem = 40.0;
        let mut bench = Bench::new(windscreen(), EdgeFinish::Hem { width: mm(hem) }, 1600.0);
        bench.style = CornerStyle::Rounded;
        let radii = vec![mm(radius); 4];
        let (corners, bows) = (bench.outline.corners().to_vec(), bench.outline.bows().to_vec());
        bench.outline = Outline::new(corners, bows, radii).expect("a sound outline");
        let sewn = sew(&bench);
        let part = &sewn.parts[0];
        // Round each corner: what is cut, and where it comes to lie.
        let step = 0.2;
        let folded = sewn.turned_in(part, step);
        let step = part.cut.length().mm() / (part.cut.length().mm() / step).round();
        let mut too_long = 0.0;
        for pair in folded.windows(2) {
            let [(a, Some(foot)), (b, Some(_))] = pair else { panic!("it is hemmed all round") };
            if sewn.side_at(*foot).is_none() {
                too_long += step - a.distance(*b).mm();
            }
        }
        let taken: f64 = part
            .notches
            .iter()
            .map(|notch| match notch.form {
                NotchForm::Vee { width } => width.mm(),
                NotchForm::Slit => 0.0,
            })
            .sum();
        assert!((taken - too_long).abs() < WITHIN, "{taken} taken out of {too_long}");
        assert!(taken > 400.0, "{taken}");
    }
}
