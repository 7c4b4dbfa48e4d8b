//! Lines at 45° across an area.
//!
//! With u = (x + y)/√2 along the lines and v = (y − x)/√2 across them, line k lies at v = k·spacing;
//! it is inside between odd and even crossings with the edge. Lines of neighbouring areas fall on one
//! family. Arcs are taken as chords within [`tolerance::CHORD`], far below the width of a line.

use std::f64::consts::FRAC_1_SQRT_2;

use geometry::{Frame, Length, Path, Point, tolerance};

/// The parts of the 45° lines that the closed paths enclose together, even and odd.
pub(crate) fn hatch<F: Frame>(edges: &[Path<F>], spacing: Length) -> Vec<Path<F>> {
    let loops: Vec<Vec<[f64; 2]>> = edges
        .iter()
        .map(|edge| {
            let turned = |p: Point<F>| {
                let [x, y] = p.mm();
                [(x + y) * FRAC_1_SQRT_2, (y - x) * FRAC_1_SQRT_2]
            };
            edge.flatten(tolerance::CHORD).into_iter().map(turned).collect()
        })
        .collect();
    let across = loops.iter().flatten().map(|[_, v]| v / spacing.mm());
    let (low, high) =
        across.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    let mut lines = Vec::new();
    let mut k = low.ceil();
    while k <= high {
        let v = k * spacing.mm();
        let mut crossings = Vec::new();
        for points in &loops {
            for (a, b) in points.iter().zip(points.iter().cycle().skip(1)) {
                if (a[1] <= v) != (b[1] <= v) {
                    crossings.push(a[0] + (v - a[1]) / (b[1] - a[1]) * (b[0] - a[0]));
                }
            }
        }
        crossings.sort_by(f64::total_cmp);
        let back = |u: f64| Point::from_mm((u - v) * FRAC_1_SQRT_2, (u + v) * FRAC_1_SQRT_2);
        lines.extend(
            crossings.as_chunks::<2>().0.iter().map(|&ends| Path::polyline(ends.map(back))),
        );
        k += 1.0;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::Page;

    #[test]
    fn hatch_lines_times_their_spacing_are_the_area() {
        let outer = Path::<Page>::circle(Point::from_mm(50.0, 20.0), Length::from_mm(40.0));
        let hole = Path::circle(Point::from_mm(55.0, 25.0), Length::from_mm(15.0));
        let area = outer.area().mm2() - hole.area().mm2();
        let spacing = Length::from_mm(0.05);
        let lines = hatch(&[outer, hole], spacing);
        let total: Length = lines.iter().map(Path::length).sum();
        assert!((total.mm() * spacing.mm() / area - 1.0).abs() < 1e-3);
    }
}
