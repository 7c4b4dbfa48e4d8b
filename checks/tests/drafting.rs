//! Panels against shapely.
//!
//! Source: shapely 2.2 (GEOS), BSD-3-Clause, run by `checks/python/check_offsets.py`. It is given
//! the glass edge as points within 0.001 mm of the curve and forms the finished edge by a negative
//! buffer, the cut line as the union of it with a strip along each side, as wide as its allowance and
//! mitred, butted or stepped at its ends, and a ring round each corner, the parts by cutting with
//! rectangles, and what keep-outs leave by difference. Tolerances: areas to two parts in 100,000, lengths to one in 10,000.
//! GEOS thins out the points of what it buffers (from memory, within a hundredth of the distance),
//! so its edges are a little jagged: finer chords bring the areas of parts nearer to one another, but
//! leave 3 in a million of the finished edge's, and make lengths grow.

use drafting::{
    Cloth, CornerStyle, Corners, EdgeFinish, Free, FreeFinish, PanelAsk, PocketStyle, SeamType,
    Sewing, Shrinkage, draft_panel,
};
use geometry::{Area, Length, Outline, Pane, Path, Point};
use serde_json::{Value, json};

const AREAS: f64 = 2e-5;
const LENGTHS: f64 = 1e-4;

struct Case {
    corners: &'static [(f64, f64)],
    bows: &'static [f64],
    radii: &'static [f64],
    inset: f64,
    allowances: &'static [f64],
    style: CornerStyle,
    /// Usable width of the cloth, and the parts it makes necessary.
    cloth: (f64, usize),
}

/// Invented panes: a bowed windscreen with equal and unequal hems, whole and in parts; a leaning
/// quarter light; a door glass with a hollow edge; a pane of eight corners.
const CASES: [Case; 8] = [
    Case { allowances: &[40.0, 40.0, 40.0, 40.0], ..WINDSCREEN },
    Case { allowances: &[60.0, 30.0, 45.0, 25.0], cloth: (1250.0, 2), ..WINDSCREEN },
    Case {
        allowances: &[60.0, 30.0, 45.0, 25.0],
        style: CornerStyle::Rounded,
        cloth: (1250.0, 2),
        ..WINDSCREEN
    },
    Case { allowances: &[60.0, 30.0, 0.0, 25.0], style: CornerStyle::Butted, ..WINDSCREEN },
    Case { allowances: &[40.0, 40.0, 40.0, 40.0], cloth: (900.0, 3), ..WINDSCREEN },
    Case {
        corners: &[(-300.0, 0.0), (310.0, 30.0), (180.0, 520.0)],
        bows: &[6.0, 14.0, 9.0],
        radii: &[35.0, 28.0, 50.0],
        inset: 4.0,
        style: CornerStyle::Mitred,
        allowances: &[30.0, 18.0, 24.0],
        cloth: (1500.0, 1),
    },
    Case {
        corners: &[(-420.0, 10.0), (400.0, 0.0), (430.0, 610.0), (-300.0, 640.0)],
        bows: &[-12.0, 5.0, 10.0, -8.0],
        radii: &[60.0, 45.0, 80.0, 30.0],
        inset: 6.5,
        style: CornerStyle::Butted,
        allowances: &[20.0, 35.0, 35.0, 25.0],
        cloth: (400.0, 3),
    },
    Case {
        corners: &[
            (-500.0, 0.0),
            (500.0, 0.0),
            (700.0, 200.0),
            (720.0, 500.0),
            (480.0, 760.0),
            (-460.0, 800.0),
            (-700.0, 520.0),
            (-690.0, 210.0),
        ],
        bows: &[15.0, 4.0, 6.0, 5.0, 20.0, 5.0, 6.0, 0.0],
        radii: &[25.0; 8],
        inset: 4.0,
        style: CornerStyle::Mitred,
        allowances: &[30.0, 25.0, 20.0, 25.0, 30.0, 25.0, 20.0, 15.0],
        cloth: (1500.0, 1),
    },
];

const WINDSCREEN: Case = Case {
    corners: &[(-1159.0, 20.0), (1159.0, 20.0), (1068.0, 1352.0), (-1068.0, 1352.0)],
    bows: &[45.0, 12.0, 40.0, 12.0],
    radii: &[90.0, 90.0, 70.0, 70.0],
    inset: 4.0,
    style: CornerStyle::Mitred,
    allowances: &[],
    cloth: (1600.0, 1),
};

const SEAM: f64 = 15.0;
const TURNING: f64 = 10.0;
const CLEARANCE: f64 = 6.0;

fn points(path: &Path<Pane>) -> Vec<[f64; 2]> {
    path.flatten(Length::from_mm(0.001)).iter().map(|p| p.mm()).collect()
}

fn lengths(mm: &[f64]) -> Vec<Length> {
    mm.iter().copied().map(Length::from_mm).collect()
}

impl Case {
    fn outline(&self) -> Outline {
        let corners = self.corners.iter().map(|(x, y)| Point::from_mm(*x, *y)).collect();
        Outline::new(corners, lengths(self.bows), lengths(self.radii)).expect("a sound outline")
    }

    /// A round thing in the middle and an upright one beside it, as large as the pane allows, so far inside
    /// that neither is opened to the edge.
    fn keep_outs(&self) -> Vec<Path<Pane>> {
        let bounds = self.outline().path().bounds().expect("an outline has corners");
        let n = self.corners.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| self.corners.iter().map(of).sum::<f64>() / n;
        let middle = Point::from_mm(mean(|c| c.0), mean(|c| c.1));
        let size = bounds.height().min(bounds.width());
        let beside =
            |right: f64, up: f64| middle.moved(size * (0.2 + right * 0.05), size * (up * 0.1));
        let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        vec![
            Path::circle(middle.moved(size * -0.05, Length::ZERO), size / 12.0),
            Path::polygon(corners.map(|(right, up)| beside(right, up))),
        ]
    }

    fn for_shapely(&self) -> Value {
        // The path runs round the first corner, along the first side, round the second corner, …
        let path = self.outline().path();
        let vertices = path.vertices();
        let run = |k: usize| -> Vec<[f64; 2]> {
            let ends = vec![vertices[k], vertices[(k + 1) % vertices.len()]];
            points(&Path::open(ends))
        };
        let n = self.corners.len();
        json!({
            "corners": (0..n).map(|k| run(2 * k)).collect::<Vec<_>>(),
            "sides": (0..n).map(|k| run(2 * k + 1)).collect::<Vec<_>>(),
            "radii": self.radii,
            "inset": self.inset,
            "allowances": self.allowances,
            "style": self.style.spelling(),
            "turning": TURNING,
            "seam": SEAM,
            "n_parts": self.cloth.1,
            "clearance": CLEARANCE,
            "keep_outs": self.keep_outs().iter().map(points).collect::<Vec<_>>(),
        })
    }

    fn agrees_with(&self, shapely: &Value) {
        let outline = self.outline();
        let finishes: Vec<EdgeFinish> = lengths(self.allowances)
            .into_iter()
            .map(|width| match width {
                Length::ZERO => EdgeFinish::Raw,
                width => EdgeFinish::Hem { width },
            })
            .collect();
        let draft = |usable_width: f64, keep_outs: &[Free<Pane>]| {
            let cloth = Cloth {
                name: "mesh".to_owned(),
                usable_width: Length::from_mm(usable_width),
                half_turn: true,
                print: None,
                shrinkage: Shrinkage::default(),
            };
            draft_panel(&PanelAsk {
                pane: "front",
                what: "panel",
                order: "H-0142",
                count: 1,
                outline: &outline,
                inset: Length::from_mm(self.inset),
                finishes: &finishes,
                corners: Corners { style: self.style, turning: Length::from_mm(TURNING) },
                grips: &[],
                pockets: PocketStyle::Marked,
                keep_outs,
                cloth: &cloth,
                sewing: Sewing {
                    seam_allowance: Length::from_mm(SEAM),
                    stitch_from_edge: Length::from_mm(5.0),
                    notch_depth: Length::from_mm(5.0),
                },
                seam: SeamType::Plain,
                seams_off: &[],
                straps: &[],
            })
            .expect("a panel that can be sewn")
        };
        let free: Vec<Free<Pane>> = self
            .keep_outs()
            .into_iter()
            .map(|shape| Free {
                name: "camera".to_owned(),
                shape,
                clearance: Length::from_mm(CLEARANCE),
                finish: FreeFinish::Raw,
                slit: false,
                magnets_off: Length::ZERO,
            })
            .collect();
        let agree = |what: &str, ours: f64, theirs: &Value, tolerance: f64| {
            let theirs = theirs.as_f64().expect("shapely answers with a number");
            assert!((ours / theirs - 1.0).abs() < tolerance, "{what}: {ours} against {theirs}");
        };
        let areas_agree = |what: &str, ours: Area, theirs: &Value| {
            agree(what, ours.mm2(), theirs, AREAS);
        };
        let lengths_agree = |what: &str, ours: Length, theirs: &Value| {
            agree(what, ours.mm(), theirs, LENGTHS);
        };
        let whole = draft(1e4, &[]);
        let figures = whole.figures[0];
        areas_agree("finished area", figures.finished_area, &shapely["finished_area"]);
        let fold = &whole.pieces[0].fold_lines[0];
        if fold.is_closed() {
            lengths_agree("finished length", fold.length(), &shapely["finished_length"]);
        }
        areas_agree("cut area", figures.cut_area, &shapely["cut_area"]);
        lengths_agree("cut length", figures.cut_length, &shapely["cut_length"]);
        let parts = draft(self.cloth.0, &[]);
        let left = draft(1e4, &free).figures[0];
        areas_agree("finished, keep-outs off", left.finished_area, &shapely["finished_left"]);
        areas_agree("cut, keep-outs off", left.cut_area, &shapely["cut_left"]);
        assert_eq!(parts.pieces.len(), self.cloth.1);
        for (k, part) in parts.figures.iter().enumerate() {
            areas_agree("part, finished", part.finished_area, &shapely["parts_finished"][k]);
            areas_agree("part, cut", part.cut_area, &shapely["parts_cut"][k]);
        }
    }
}

#[test]
fn panels_agree_with_shapely() {
    let ask: Vec<Value> = CASES.iter().map(Case::for_shapely).collect();
    let answer = checks::python::run("check_offsets.py", &[], &json!(ask).to_string());
    let answer: Vec<Value> = serde_json::from_str(&answer).expect("the script prints JSON");
    assert_eq!(answer.len(), CASES.len());
    for (case, shapely) in CASES.iter().zip(&answer) {
        case.agrees_with(shapely);
    }
}
