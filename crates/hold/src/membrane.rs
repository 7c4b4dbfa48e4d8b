//! A loaded cover: cloth under wind, held at a few places.
//!
//! Constant-strain triangles with Green's strain and the relaxed energy of [`Fabric`], so that cloth
//! pulls and never pushes; the hem is a cable along the edge. The shape is where
//!
//! `Π(x) = Σ A W*(E(x)) + Σ hem + Σ grips − load · x`
//!
//! is least. Every term is convex in the places x of the nodes, so there is one least energy, and
//! damped Newton steps with a sparse Cholesky factorisation (`faer`) always go down to it, first with
//! softer cloth. Full steps with a predicted tension, as used for smooth shells, did not settle: too
//! much cloth goes slack and taut on the way.
//!
//! - Strain: `E = ½ (FᵀF − I)`, F from cloth to place. Cloth with ease e is cut larger than the
//!   span by 1 + e both ways.
//! - Load: suction p lifts the cover, z pointing away from the glass. [`Loading::Upright`] keeps it
//!   square to the glass, on the area of the span: its sum is exactly p times the area.
//!   [`Loading::Following`] turns it with the cloth, on the area as stretched.
//! - A [`Hold::Grip`] keeps its node on the glass and lets it creep along the glass: the pull along
//!   rises in proportion until the grip slides, then stays (dry friction). Energy
//!   `s d − ½ s δ` beyond creep δ, `½ s d²/δ` below, for slide s and way d.
//!   What a grip holds along the glass may follow its lift: it is set anew between Newton's steps, and
//!   the shape is found only when both agree. Beyond the way at which a grip is lost a stop may hold it
//!   back, `+ ½ (s/δ) (d − stop)²`, so that a cover that goes is not followed to where it flies; by
//!   convexity a shape that reaches no stop is the very same as without.
//! - A [`Hold::Strap`] is a cable from its node over the glass to a point beyond the edge.
//!
//! Units: millimetres, newtons, N/mm inside. Valid for slopes of the cloth up to about 30°; where the
//! wind pushes, the cover lies on the glass and needs no such reckoning. Ignores weight (a few Pa),
//! bending, flutter, and the flap of hem outside the grips catching the wind.
//!
//! Source: our own, on the relaxed energy named in [`Fabric`]. Accuracy: see the checks against closed
//! forms in `checks/tests/membrane.rs`, within 0.5 % of sag and tension.

use std::collections::BTreeSet;
use std::sync::Arc;

use faer::dyn_stack::{MemBuffer, MemStack, StackReq};
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, SymbolicCholesky, SymmetricOrdering, factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMat};
use faer::{Col, Conj, Par, Side};
use geometry::{Length, Pane, Point};

use crate::{Fabric, Force, HoldError, Mesh, Pressure, Tension};

/// How wind acts on cloth that has moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Loading {
    /// Square to the glass, on the area of the span.
    Upright,
    /// Square to the cloth, on its area as stretched.
    Following,
}

/// How a node is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Hold {
    /// It cannot move at all.
    Fixed,
    /// On the glass, sliding along it when pulled by more than `slide`.
    Grip {
        /// Pull along the glass at which it slides.
        slide: Force,
        /// How far it gives before it slides.
        creep: Length,
    },
    /// As a grip that is held back by as much again for each `creep` it has gone beyond `stop`.
    Stopped {
        /// Pull along the glass at which it slides.
        slide: Force,
        /// How far it gives before it slides.
        creep: Length,
        /// How far it goes, giving and sliding, before it is held back.
        stop: Length,
    },
    /// By a strap to a point beyond the edge.
    Strap {
        /// Where the strap leaves the glass plane.
        to: Point<Pane>,
        /// Pull that would double the strap's length.
        stiffness: Force,
    },
}

/// A held node.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Support {
    /// Number of the node.
    pub node: usize,
    /// How it is held.
    pub hold: Hold,
}

/// How a solution ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ending {
    /// Whether what is out of balance is below 5e-4 of the load.
    pub converged: bool,
    /// Forces out of balance over the load, both as sums of the sizes of all nodes' forces.
    pub residual: f64,
    /// Steps taken.
    pub n_steps: usize,
}

/// What a support bears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reaction {
    /// Pull off the glass, positive away from it.
    pub lift: Force,
    /// Pull of the cloth on the support along the glass, to the right and up.
    pub along: [Force; 2],
    /// How far it has moved along the glass.
    pub slid: Length,
}

impl Reaction {
    /// Size of the pull along the glass.
    #[must_use]
    pub fn pull_along(&self) -> Force {
        Force::from_newtons(self.along[0].newtons().hypot(self.along[1].newtons()))
    }
}

/// The shape of a loaded cover.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Where each node is, millimetres, z away from the glass.
    x: Vec<[f64; 3]>,
    /// What each support bears, in the order given.
    pub reactions: Vec<Reaction>,
    /// How the solution ended.
    pub ending: Ending,
}

impl Shape {
    /// Where a node is along the glass.
    #[must_use]
    pub fn place(&self, node: usize) -> Point<Pane> {
        Point::from_mm(self.x[node][0], self.x[node][1])
    }

    /// How far a node stands off the glass.
    #[must_use]
    pub fn height(&self, node: usize) -> Length {
        Length::from_mm(self.x[node][2])
    }

    /// How far the cloth stands off the glass at most.
    #[must_use]
    pub fn most_height(&self) -> Length {
        Length::from_mm(self.x.iter().map(|p| p[2]).fold(0.0, f64::max))
    }
}

/// What is out of balance over the load, below which a shape counts as found. Chosen by us: half of
/// the 0.1 % to which what supports bear must be the load, as it bounds what they miss.
pub(crate) const BALANCE: f64 = 5e-4;

/// Strain of the softest cloth tried first. Chosen by us by trial.
const FIRST_STRAIN: f64 = 0.02;
/// How many times stiffer each try is than the last. Chosen by us by trial.
const STIFFENING: f64 = 10.0;
/// What may be out of balance before cloth is stiffened. Chosen by us by trial.
const ROUGHLY: f64 = 0.1;

/// Damping of the first step from a known shape, over the film's tension. Chosen by us by trial.
const WARM_DAMPING: f64 = 1e-2;

/// Most damped steps. Chosen by us: twice what the slackest cover needed.
const MOST_STEPS: usize = 300;

/// A cover ready to be loaded.
#[derive(Clone, Debug)]
pub struct Membrane {
    fabric: Fabric,
    /// Places of the nodes on the glass.
    flat: Vec<[f64; 2]>,
    triangles: Vec<Triangle>,
    hem: Vec<Cable>,
    hem_stiffness: f64,
    pattern: Pattern,
}

/// A triangle of cloth.
#[derive(Clone, Debug)]
struct Triangle {
    nodes: [usize; 3],
    /// How each corner's place enters F: its two columns.
    slopes: [[f64; 2]; 3],
    /// Area of the cloth as cut.
    area: f64,
    /// Area of the span.
    span: f64,
}

/// A cable between two nodes, its length as cut.
#[derive(Clone, Copy, Debug)]
struct Cable {
    nodes: [usize; 2],
    length: f64,
}

/// The matrix's filled places: lower half, three unknowns to a node.
#[derive(Clone, Debug)]
struct Pattern {
    places: SymbolicSparseColMat<usize>,
    /// Nodes of higher number that share a triangle with each node, in order.
    above: Vec<Vec<usize>>,
    analysed: Arc<SymbolicCholesky<usize>>,
}

impl Membrane {
    /// Cloth over a mesh: how stiff the hem is as a cable (force for each unit of strain), and how
    /// much larger than the span the cloth is cut (0.01: 1 %).
    ///
    /// # Errors
    /// When the mesh is too large for the memory there is.
    pub fn new(
        mesh: &Mesh,
        fabric: Fabric,
        hem_stiffness: Force,
        ease: f64,
    ) -> Result<Self, HoldError> {
        let flat: Vec<[f64; 2]> = mesh.nodes().iter().map(|p| p.mm()).collect();
        let larger = 1.0 + ease;
        let triangles: Vec<Triangle> = mesh
            .triangles()
            .iter()
            .map(|&nodes| {
                let [a, b, c] = nodes.map(|i| flat[i]);
                let twice = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
                let slope = |p: [f64; 2], q: [f64; 2]| {
                    [(p[1] - q[1]) / (twice * larger), (q[0] - p[0]) / (twice * larger)]
                };
                Triangle {
                    nodes,
                    slopes: [slope(b, c), slope(c, a), slope(a, b)],
                    area: 0.5 * twice * larger * larger,
                    span: 0.5 * twice,
                }
            })
            .collect();
        let hem = mesh
            .edge()
            .iter()
            .map(|&nodes| {
                let [a, b] = nodes.map(|i| flat[i]);
                Cable { nodes, length: larger * (a[0] - b[0]).hypot(a[1] - b[1]) }
            })
            .collect();
        let pattern = Pattern::of(flat.len(), &triangles)
            .ok_or(HoldError::Mesh { n_nodes: flat.len() as f64 })?;
        Ok(Self { fabric, flat, triangles, hem, hem_stiffness: hem_stiffness.newtons(), pattern })
    }

    /// Number of its nodes.
    #[must_use]
    pub fn n_nodes(&self) -> usize {
        self.flat.len()
    }

    /// Its shape under a suction, starting from another shape of the same mesh where there is one.
    ///
    /// # Errors
    /// When too few supports hold it. A solution that did not settle is no error: see
    /// [`Shape::ending`].
    pub fn load(
        &self,
        suction: Pressure,
        loading: Loading,
        supports: &[Support],
        start: Option<&Shape>,
    ) -> Result<Shape, HoldError> {
        let held: BTreeSet<usize> = supports.iter().map(|s| s.node).collect();
        if held.len() < NEEDED || held.iter().any(|&node| node >= self.n_nodes()) {
            return Err(HoldError::Supports { found: held.len(), needed: NEEDED });
        }
        let mut case = Case::new(self, suction.pascals() * 1e-6, loading, supports, None);
        Ok(case.solve(start.map(|shape| shape.x.clone())))
    }

    /// The same where what a support holds along the glass follows its lift: `slide_under` says how
    /// much, from its number in the list and its lift.
    pub(crate) fn load_following(
        &self,
        suction: Pressure,
        loading: Loading,
        supports: &[Support],
        start: Option<&Shape>,
        slide_under: SlideUnder<'_>,
    ) -> Result<Shape, HoldError> {
        let held: BTreeSet<usize> = supports.iter().map(|s| s.node).collect();
        if held.len() < NEEDED {
            return Err(HoldError::Supports { found: held.len(), needed: NEEDED });
        }
        let p = suction.pascals() * 1e-6;
        let mut case = Case::new(self, p, loading, supports, Some(slide_under));
        Ok(case.solve(start.map(|shape| shape.x.clone())))
    }

    /// Principal tensions of the cloth in each triangle of the mesh, larger first.
    #[must_use]
    pub fn tensions(&self, shape: &Shape) -> Vec<[Tension; 2]> {
        let of = |triangle: &Triangle| {
            let [a, b, c] = self.fabric.response(triangle.strain(&shape.x).0).tension;
            let (middle, spread) = (0.5 * (a + b), (0.5 * (a - b)).hypot(c));
            [middle + spread, middle - spread].map(Tension::from_n_per_mm)
        };
        self.triangles.iter().map(of).collect()
    }

    /// Sum of the load, to the right, up and away from the glass.
    #[must_use]
    pub fn total_load(&self, suction: Pressure, loading: Loading, shape: &Shape) -> [Force; 3] {
        let nodes = self.nodal_load(suction.pascals() * 1e-6, loading, &shape.x);
        let sum = |i: usize| Force::from_newtons(nodes.iter().map(|f| f[i]).sum());
        [sum(0), sum(1), sum(2)]
    }

    fn nodal_load(&self, p: f64, loading: Loading, x: &[[f64; 3]]) -> Vec<[f64; 3]> {
        let mut load = vec![[0.0; 3]; x.len()];
        for triangle in &self.triangles {
            let force = match loading {
                Loading::Upright => [0.0, 0.0, p * triangle.span / 3.0],
                Loading::Following => {
                    let [a, b, c] = triangle.nodes.map(|i| x[i]);
                    cross(minus(b, a), minus(c, a)).map(|part| p * part / 6.0)
                }
            };
            for node in triangle.nodes {
                for (sum, part) in load[node].iter_mut().zip(force) {
                    *sum += part;
                }
            }
        }
        load
    }
}

/// Fewest places that can hold a cover.
const NEEDED: usize = 3;

impl Triangle {
    /// Green's strain and the two columns of F.
    fn strain(&self, x: &[[f64; 3]]) -> ([f64; 3], [[f64; 3]; 2]) {
        let mut f = [[0.0; 3]; 2];
        for (node, slopes) in self.nodes.iter().zip(&self.slopes) {
            for k in 0..3 {
                f[0][k] += x[*node][k] * slopes[0];
                f[1][k] += x[*node][k] * slopes[1];
            }
        }
        let strain =
            [0.5 * (dot(f[0], f[0]) - 1.0), 0.5 * (dot(f[1], f[1]) - 1.0), dot(f[0], f[1])];
        (strain, f)
    }
}

impl Pattern {
    fn of(n_nodes: usize, triangles: &[Triangle]) -> Option<Self> {
        let mut above = vec![BTreeSet::new(); n_nodes];
        for t in triangles {
            for &a in &t.nodes {
                above[a].extend(t.nodes.iter().filter(|&&b| b > a));
            }
        }
        let above: Vec<Vec<usize>> = above.into_iter().map(|s| s.into_iter().collect()).collect();
        let (mut columns, mut rows) = (vec![0], Vec::new());
        for (a, above) in above.iter().enumerate() {
            for i in 0..3 {
                rows.extend((i..3).map(|j| 3 * a + j));
                rows.extend(above.iter().flat_map(|b| (0..3).map(move |j| 3 * b + j)));
                columns.push(rows.len());
            }
        }
        let n = 3 * n_nodes;
        let places = SymbolicSparseColMat::new_checked(n, n, columns, None, rows);
        // Three unknowns a node make blocks worth the while even of small meshes.
        let params = CholeskySymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SUPERNODAL,
            ..CholeskySymbolicParams::default()
        };
        let ordering = SymmetricOrdering::Amd;
        let analysed =
            factorize_symbolic_cholesky(places.as_ref(), Side::Lower, ordering, params).ok()?;
        Some(Self { places, above, analysed: Arc::new(analysed) })
    }

    /// Where each column begins among the filled places; the last entry is their number.
    fn columns(&self) -> &[usize] {
        self.places.col_ptr()
    }

    /// The row of each filled place.
    fn rows(&self) -> &[usize] {
        self.places.row_idx()
    }

    /// Adds a 3×3 block of two nodes to the lower half.
    fn add(&self, values: &mut [f64], a: usize, b: usize, block: [[f64; 3]; 3]) {
        if a == b {
            for i in 0..3 {
                for j in i..3 {
                    values[self.columns()[3 * a + i] + j - i] += block[j][i];
                }
            }
        } else if b > a {
            // Rows of b, columns of a: the block is (b, a), given as (a, b).
            let rank = self.above[a].binary_search(&b).expect("they share a triangle");
            for (i, row) in block.iter().enumerate() {
                let at = self.columns()[3 * a + i] + (3 - i) + 3 * rank;
                for (j, value) in row.iter().enumerate() {
                    values[at + j] += value;
                }
            }
        }
    }
}

/// What a support holds along the glass under a lift, by its number.
pub(crate) type SlideUnder<'a> = &'a dyn Fn(usize, Force) -> Force;

/// Part of what a grip holds along the glass to which it agrees with its lift. Chosen by us: below
/// the 2 % to which suctions are found.
const AGREED: f64 = 0.02;
/// What may be out of balance before what grips hold is first set anew; half of it the next time, and so
/// on, so that the two cannot chase each other. Chosen by us by trial.
const NEAR_BALANCE: f64 = 0.03;

/// One cover under one load.
struct Case<'a> {
    cover: &'a Membrane,
    p: f64,
    loading: Loading,
    supports: Vec<Support>,
    slide_under: Option<SlideUnder<'a>>,
    /// Unknowns that stay where they are.
    fixed: Vec<[bool; 3]>,
}

/// Energy, its slope and its growth at one shape.
struct Local {
    energy: f64,
    slope: Vec<[f64; 3]>,
    values: Vec<f64>,
}

impl<'a> Case<'a> {
    fn new(
        cover: &'a Membrane,
        p: f64,
        loading: Loading,
        supports: &[Support],
        slide_under: Option<SlideUnder<'a>>,
    ) -> Self {
        let mut fixed = vec![[false; 3]; cover.n_nodes()];
        for support in supports {
            match support.hold {
                Hold::Fixed => fixed[support.node] = [true; 3],
                Hold::Grip { .. } | Hold::Stopped { .. } => fixed[support.node][2] = true,
                Hold::Strap { .. } => (),
            }
        }
        Self { cover, p, loading, supports: supports.to_vec(), slide_under, fixed }
    }

    fn flat(&self) -> Vec<[f64; 3]> {
        self.cover.flat.iter().map(|p| [p[0], p[1], 0.0]).collect()
    }

    /// Energy of cloth, hem and supports without the load, cloth and hem with that part of their
    /// stiffness, its slope and growth.
    fn local(&self, x: &[[f64; 3]], stiff: f64) -> Local {
        let cover = self.cover;
        let mut local = Local {
            energy: 0.0,
            slope: vec![[0.0; 3]; x.len()],
            values: vec![0.0; cover.pattern.rows().len()],
        };
        for t in &cover.triangles {
            let (strain, f) = t.strain(x);
            let r = cover.fabric.response(strain);
            let area = t.area * stiff;
            local.energy += area * r.energy;
            if r.energy == 0.0 {
                continue;
            }
            // B: how each corner's place changes the strain.
            let b: [[[f64; 3]; 3]; 3] = t.slopes.map(|[u, v]| {
                [
                    f[0].map(|part| part * u),
                    f[1].map(|part| part * v),
                    std::array::from_fn(|k| f[0][k] * v + f[1][k] * u),
                ]
            });
            let [t1, t2, t12] = r.tension;
            for (i, &a) in t.nodes.iter().enumerate() {
                let [across, up, askew] = b[i];
                for (k, sum) in local.slope[a].iter_mut().enumerate() {
                    *sum += area * (across[k] * t1 + up[k] * t2 + askew[k] * t12);
                }
                // D B of this corner.
                let db: [[f64; 3]; 3] = std::array::from_fn(|m| {
                    std::array::from_fn(|k| (0..3).map(|n| r.growth[m][n] * b[i][n][k]).sum())
                });
                let [u, v] = t.slopes[i];
                for (j, &c) in t.nodes.iter().enumerate() {
                    if c < a {
                        continue;
                    }
                    let [p, q] = t.slopes[j];
                    let turn = u * (t1 * p + t12 * q) + v * (t12 * p + t2 * q);
                    let block = std::array::from_fn(|k| {
                        std::array::from_fn(|l| {
                            let stretch: f64 = (0..3).map(|m| db[m][k] * b[j][m][l]).sum();
                            area * (stretch + if k == l { turn } else { 0.0 })
                        })
                    });
                    cover.pattern.add(&mut local.values, a, c, block);
                }
            }
        }
        if cover.hem_stiffness > 0.0 {
            let stiffness = stiff * cover.hem_stiffness;
            for cable in &cover.hem {
                let [a, b] = cable.nodes;
                let (part, pull, growth) = stretched(stiffness, cable.length, minus(x[b], x[a]));
                local.energy += part;
                if part == 0.0 {
                    continue;
                }
                for (k, part) in pull.iter().enumerate() {
                    local.slope[b][k] += part;
                    local.slope[a][k] -= part;
                }
                cover.pattern.add(&mut local.values, a, a, growth);
                cover.pattern.add(&mut local.values, b, b, growth);
                let away = growth.map(|row| row.map(|part| -part));
                cover.pattern.add(&mut local.values, a.min(b), a.max(b), away);
            }
        }
        for support in &self.supports {
            let node = support.node;
            let (part, pull, growth) = self.support(support, x[node]);
            local.energy += part;
            for (sum, part) in local.slope[node].iter_mut().zip(pull) {
                *sum += part;
            }
            cover.pattern.add(&mut local.values, node, node, growth);
        }
        local
    }

    /// Energy of a support, what it pulls the node back with, and how that grows.
    fn support(&self, support: &Support, x: [f64; 3]) -> (f64, [f64; 3], [[f64; 3]; 3]) {
        let flat = self.cover.flat[support.node];
        match support.hold {
            Hold::Fixed => (0.0, [0.0; 3], [[0.0; 3]; 3]),
            Hold::Stopped { slide, creep, stop } => {
                let grip = Support { hold: Hold::Grip { slide, creep }, ..*support };
                let (energy, mut pull, mut growth) = self.support(&grip, x);
                let d = [x[0] - flat[0], x[1] - flat[1]];
                let (way, stop) = (d[0].hypot(d[1]), stop.mm().max(creep.mm()));
                if way <= stop {
                    return (energy, pull, growth);
                }
                let k = slide.newtons() / creep.mm().max(LEAST_CREEP);
                let beyond = way - stop;
                for i in 0..2 {
                    pull[i] += k * beyond * d[i] / way;
                    for j in 0..2 {
                        let along = d[i] * d[j] / (way * way);
                        let across = if i == j { 1.0 - along } else { -along };
                        growth[i][j] += k * (along + across * beyond / way);
                    }
                }
                (energy + 0.5 * k * beyond * beyond, pull, growth)
            }
            Hold::Grip { slide, creep } => {
                let (s, give) = (slide.newtons(), creep.mm().max(LEAST_CREEP));
                let d = [x[0] - flat[0], x[1] - flat[1]];
                let way = d[0].hypot(d[1]);
                if way <= give {
                    let k = s / give;
                    let growth = [[k, 0.0, 0.0], [0.0, k, 0.0], [0.0; 3]];
                    return (0.5 * k * way * way, [k * d[0], k * d[1], 0.0], growth);
                }
                let u = d.map(|part| part / way);
                let across = s / way;
                let growth = [
                    [across * u[1] * u[1], -across * u[0] * u[1], 0.0],
                    [-across * u[0] * u[1], across * u[0] * u[0], 0.0],
                    [0.0; 3],
                ];
                (s * (way - 0.5 * give), [s * u[0], s * u[1], 0.0], growth)
            }
            Hold::Strap { to, stiffness } => {
                let [tx, ty] = to.mm();
                let length = (tx - flat[0]).hypot(ty - flat[1]).max(1.0);
                stretched(stiffness.newtons(), length, [x[0] - tx, x[1] - ty, x[2]])
            }
        }
    }

    /// Solves `(values + damping) step = −slope` for what is free.
    fn step(&self, values: &[f64], damping: f64, slope: &[[f64; 3]]) -> Option<Vec<[f64; 3]>> {
        let pattern = &self.cover.pattern;
        let n = 3 * slope.len();
        let is_fixed = |unknown: usize| self.fixed[unknown / 3][unknown % 3];
        let mut values = values.to_vec();
        for column in 0..n {
            let span = pattern.columns()[column]..pattern.columns()[column + 1];
            for at in span.clone() {
                if is_fixed(column) || is_fixed(pattern.rows()[at]) {
                    values[at] = 0.0;
                }
            }
            values[span.start] += if is_fixed(column) { 1.0 } else { damping };
        }
        let matrix = SparseColMatRef::new(pattern.places.as_ref(), &values);
        let analysed = &*pattern.analysed;
        let needed = StackReq::any_of(&[
            analysed.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default()),
            analysed.solve_in_place_scratch::<f64>(1, Par::Seq),
        ]);
        let mut memory = MemBuffer::try_new(needed).ok()?;
        let stack = MemStack::new(&mut memory);
        let mut factor = vec![0.0; analysed.len_val()];
        let (side, none) = (Side::Lower, Default::default());
        let factors = analysed
            .factorize_numeric_llt(
                &mut factor,
                matrix,
                side,
                none,
                Par::Seq,
                stack,
                Default::default(),
            )
            .ok()?;
        let mut step = Col::from_fn(n, |i| if is_fixed(i) { 0.0 } else { -slope[i / 3][i % 3] });
        factors.solve_in_place_with_conj(Conj::No, step.as_mat_mut(), Par::Seq, stack);
        let step: Vec<[f64; 3]> =
            (0..slope.len()).map(|i| [step[3 * i], step[3 * i + 1], step[3 * i + 2]]).collect();
        step.iter().flatten().all(|part| part.is_finite()).then_some(step)
    }

    /// About the tension that the cloth will have, N/mm: of the order of Hencky's membrane,
    /// N about (E t q² a²)^⅓.
    fn film(&self) -> f64 {
        let area: f64 = self.cover.triangles.iter().map(|t| t.span).sum();
        let stiffness = self.cover.fabric.mean_stiffness();
        0.3 * (stiffness * self.p * self.p * area).cbrt().max(1e-9)
    }

    /// A first shape: that of a soap film of about the tension the cloth will have.
    fn first_guess(&self) -> Vec<[f64; 3]> {
        let cover = self.cover;
        let mut x = self.flat();
        let film = self.film();
        let mut values = vec![0.0; cover.pattern.rows().len()];
        for t in &cover.triangles {
            for (i, &a) in t.nodes.iter().enumerate() {
                for (j, &b) in t.nodes.iter().enumerate() {
                    let [u, v] = [t.slopes[i], t.slopes[j]];
                    let k = film * t.area * (u[0] * v[0] + u[1] * v[1]);
                    let block = [[k, 0.0, 0.0], [0.0, k, 0.0], [0.0, 0.0, k]];
                    cover.pattern.add(&mut values, a, b, block);
                }
            }
        }
        let load = cover.nodal_load(self.p, Loading::Upright, &x);
        let slope: Vec<[f64; 3]> = load.iter().map(|f| [0.0, 0.0, -f[2]]).collect();
        if let Some(step) = self.step(&values, 1e-9 * film, &slope) {
            for (place, step) in x.iter_mut().zip(step) {
                place[2] += step[2];
            }
        }
        x
    }

    /// Sets anew what grips hold along the glass under the lift they bear; says whether any changed.
    fn follow_lift(&mut self, slope: &[[f64; 3]]) -> bool {
        let Some(slide_under) = self.slide_under else { return false };
        let mut changed = false;
        for (i, support) in self.supports.iter_mut().enumerate() {
            if let Hold::Grip { slide, .. } | Hold::Stopped { slide, .. } = &mut support.hold {
                let lift = Force::from_newtons(-slope[support.node][2]);
                let next = slide_under(i, lift);
                if (next - *slide).abs() > *slide * AGREED {
                    *slide = next;
                    changed = true;
                }
            }
        }
        changed
    }

    fn solve(&mut self, start: Option<Vec<[f64; 3]>>) -> Shape {
        let cover = self.cover;
        let started = start.filter(|x| x.len() == cover.n_nodes()).map(|mut x| {
            for (place, (flat, fixed)) in x.iter_mut().zip(cover.flat.iter().zip(&self.fixed)) {
                for k in (0..3).filter(|&k| fixed[k]) {
                    place[k] = if k < 2 { flat[k] } else { 0.0 };
                }
            }
            x
        });
        if let Some(x) = started {
            let shape = self.descend(x, 1.0, BALANCE, WARM_DAMPING);
            if shape.ending.converged {
                return shape;
            }
        }
        // Stiff cloth barely loaded turns far more readily than it stretches, and going down takes
        // many short steps; softer cloth, stiffened tenfold at a time, gets there in few.
        let mut x = self.first_guess();
        let mut part = (self.film() / (FIRST_STRAIN * cover.fabric.mean_stiffness())).min(1.0);
        let mut n_steps = 0;
        loop {
            let last = part >= 1.0;
            let enough = if last { BALANCE } else { ROUGHLY };
            let mut shape = self.descend(x, part, enough, 1.0);
            n_steps += shape.ending.n_steps;
            if last {
                shape.ending.n_steps = n_steps;
                return shape;
            }
            part = (STIFFENING * part).min(1.0);
            x = shape.x;
        }
    }

    /// Damped Newton steps that always go down, with that part of the stiffness, until what is out of
    /// balance is below `enough`.
    fn descend(
        &mut self,
        mut x: Vec<[f64; 3]>,
        part_stiff: f64,
        enough: f64,
        first_damping: f64,
    ) -> Shape {
        let cover = self.cover;
        let film = self.film();
        let mut damping = first_damping * film;
        let mut ending = Ending { converged: false, residual: f64::INFINITY, n_steps: 0 };
        let mut load = cover.nodal_load(self.p, self.loading, &x);
        let mut near = NEAR_BALANCE.max(enough);
        let mut local = self.local(&x, part_stiff);
        loop {
            let out = |local: &Local| -> Vec<[f64; 3]> {
                local.slope.iter().zip(&load).map(|(a, b)| minus(*a, *b)).collect()
            };
            let mut slope = out(&local);
            ending.residual = self.residual(&slope, &load);
            if ending.residual <= near && self.follow_lift(&slope) {
                near = (0.5 * near).max(enough);
                local = self.local(&x, part_stiff);
                slope = out(&local);
                ending.residual = self.residual(&slope, &load);
            }
            ending.converged = ending.residual <= enough;
            if ending.converged || ending.n_steps >= MOST_STEPS {
                let reactions = self.reactions(&x, &slope);
                return Shape { x, reactions, ending };
            }
            ending.n_steps += 1;
            let work =
                |x: &[[f64; 3]]| -> f64 { x.iter().zip(&load).map(|(x, f)| dot(*x, *f)).sum() };
            let energy = local.energy - work(&x);
            // Damping rises until a step goes down enough, and falls as steps do what they promise.
            let moved = loop {
                let Some(step) = self.step(&local.values, damping, &slope) else {
                    damping *= 10.0;
                    continue;
                };
                let promised: f64 = -step.iter().zip(&slope).map(|(d, g)| dot(*d, *g)).sum::<f64>();
                let mut part = 1.0;
                let mut found = None;
                while part > 0.05 {
                    let trial: Vec<[f64; 3]> = x
                        .iter()
                        .zip(&step)
                        .map(|(x, d)| std::array::from_fn(|k| x[k] + part * d[k]))
                        .collect();
                    // Most trials are where the next step begins.
                    let there = self.local(&trial, part_stiff);
                    let gain = energy - (there.energy - work(&trial));
                    let rounding = 1e-13 * energy.abs();
                    if gain >= 0.1 * part * promised - rounding {
                        found = Some((trial, there, gain > 0.3 * promised));
                        break;
                    }
                    part *= 0.5;
                }
                if let Some((trial, there, well)) = found {
                    if well {
                        damping = (damping * 0.1).max(1e-4 * film);
                    } else if part < 0.3 {
                        damping *= 4.0;
                    }
                    break Some((trial, there));
                }
                damping *= 10.0;
                if damping > 1e9 * film {
                    break None;
                }
            };
            let Some((trial, there)) = moved else {
                let reactions = self.reactions(&x, &slope);
                return Shape { x, reactions, ending };
            };
            (x, local) = (trial, there);
            load = cover.nodal_load(self.p, self.loading, &x);
        }
    }

    /// What is out of balance at free unknowns, over the load.
    fn residual(&self, slope: &[[f64; 3]], load: &[[f64; 3]]) -> f64 {
        let free = |(g, fixed): (&[f64; 3], &[bool; 3])| {
            let g: [f64; 3] = std::array::from_fn(|k| if fixed[k] { 0.0 } else { g[k] });
            dot(g, g).sqrt()
        };
        let out: f64 = slope.iter().zip(&self.fixed).map(free).sum();
        let total: f64 = load.iter().map(|f| dot(*f, *f).sqrt()).sum();
        out / total.max(f64::MIN_POSITIVE)
    }

    fn reactions(&self, x: &[[f64; 3]], slope: &[[f64; 3]]) -> Vec<Reaction> {
        let of = |support: &Support| {
            let node = support.node;
            let (_, pull, _) = self.support(support, x[node]);
            // What holds a fixed unknown is what is out of balance there; the cloth pulls opposite.
            let bears = |k: usize| {
                let force = if self.fixed[node][k] { -slope[node][k] } else { pull[k] };
                Force::from_newtons(force)
            };
            let flat = self.cover.flat[node];
            Reaction {
                lift: bears(2),
                along: [bears(0), bears(1)],
                slid: Length::from_mm((x[node][0] - flat[0]).hypot(x[node][1] - flat[1])),
            }
        };
        self.supports.iter().map(of).collect()
    }
}

/// Least way a grip gives before it slides, so that a rigid one can be reckoned with.
const LEAST_CREEP: f64 = 1e-3;

/// A cable that only pulls: its energy, the pull of its far end back, and how that grows.
fn stretched(stiffness: f64, length: f64, span: [f64; 3]) -> (f64, [f64; 3], [[f64; 3]; 3]) {
    let strain = 0.5 * (dot(span, span) / (length * length) - 1.0);
    if strain <= 0.0 {
        return (0.0, [0.0; 3], [[0.0; 3]; 3]);
    }
    let (first, second) = (stiffness * strain / length, stiffness / length.powi(3));
    let growth = std::array::from_fn(|i| {
        std::array::from_fn(|j| second * span[i] * span[j] + if i == j { first } else { 0.0 })
    });
    (0.5 * stiffness * strain * strain * length, span.map(|part| first * part), growth)
}

fn minus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}
