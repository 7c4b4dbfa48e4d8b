//! Draws a windscreen cover under suction, held by eighteen grips, as docs/pictures/loaded-cover.svg.
//!
//! Run: `cargo run -p hold --example loaded > docs/pictures/loaded-cover.svg`

use std::error::Error;
use std::io::Write;

use geometry::{Length, Outline, Point};
use hold::{Fabric, Fineness, Force, Hold, Loading, Membrane, Mesh, Pressure, Support, Tension};

fn main() -> Result<(), Box<dyn Error>> {
    let mm = Length::from_mm;
    let outline = Outline::new(
        [(-1150.0, 0.0), (1150.0, 0.0), (1080.0, 1310.0), (-1080.0, 1310.0)]
            .map(|(x, y)| Point::from_mm(x, y))
            .to_vec(),
        [40.0, 12.0, 40.0, 12.0].map(mm).to_vec(),
        [90.0, 90.0, 70.0, 70.0].map(mm).to_vec(),
    )?
    .path();
    let ring = outline.inset(mm(35.0)).remove(0);
    let places: Vec<_> =
        (0..18).map(|i| ring.at_length(ring.length() * (f64::from(i) / 18.0)).0).collect();
    let mesh = Mesh::of(&outline, Fineness { edge: mm(60.0), middle: mm(85.0) }, &places)?;
    let fabric = Fabric::even(Tension::from_n_per_mm(100.0), 0.2)?;
    let cover = Membrane::new(&mesh, fabric, Force::from_newtons(4000.0), 0.005)?;
    let hold = Hold::Grip { slide: Force::from_newtons(1e9), creep: mm(1.0) };
    let supports: Vec<_> = mesh.places().iter().map(|&node| Support { node, hold }).collect();
    let shape = cover.load(Pressure::from_pascals(50.0), Loading::Upright, &supports, None)?;

    let mut out = std::io::stdout().lock();
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"260mm\" viewBox=\"-1300 -1560 2600 1700\" \
         font-family=\"sans-serif\" font-size=\"44\">\n<rect x=\"-1300\" y=\"-1560\" width=\"2600\" \
         height=\"1700\" fill=\"white\"/>"
    )?;
    let most = shape.most_height().mm();
    writeln!(out, "<g stroke=\"hsl(205 30% 45%)\" stroke-opacity=\"0.5\">")?;
    for nodes in mesh.triangles() {
        let high = nodes.iter().map(|&i| shape.height(i).mm()).sum::<f64>() / (3.0 * most);
        let points: Vec<String> = nodes
            .iter()
            .map(|&i| {
                let at = shape.place(i);
                format!("{:.0},{:.0}", at.x_mm(), -at.y_mm())
            })
            .collect();
        // From pale where the cloth lies on the glass to dark where it stands off most.
        let light = 94.0 - 55.0 * high;
        writeln!(
            out,
            "<polygon points=\"{}\" fill=\"hsl(205 45% {light:.0}%)\" stroke=\"hsl(205 30% 45%)\" \
             stroke-width=\"1\" stroke-opacity=\"0.5\"/>",
            points.join(" ")
        )?;
    }
    writeln!(out, "</g>")?;
    for (support, reaction) in supports.iter().zip(&shape.reactions) {
        let at = shape.place(support.node);
        let (x, y) = (at.x_mm(), -at.y_mm());
        // The pull of the cloth on the grip, a newton drawn as 3 mm.
        let [right, up] = reaction.along.map(|force| 3.0 * force.newtons());
        writeln!(
            out,
            "<line x1=\"{x:.1}\" y1=\"{y:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#b3261e\" \
             stroke-width=\"9\"/><circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"16\" fill=\"#222\"/>",
            x + right,
            y - up
        )?;
    }
    let pulls = shape.reactions.iter().map(|r| r.pull_along().newtons());
    let lifts = shape.reactions.iter().map(|r| r.lift.newtons());
    writeln!(
        out,
        "<text x=\"-1150\" y=\"-1470\">50 Pa of suction: the cloth stands {most:.0} mm off the \
         glass (darkest); eighteen grips</text>\n<text x=\"-1150\" y=\"-1410\">are pulled along the \
         glass by up to {:.0} N (lines, 3 mm a newton) and off it by up to {:.0} N</text>\n</svg>",
        pulls.fold(0.0, f64::max),
        lifts.fold(0.0, f64::max)
    )?;
    Ok(())
}
