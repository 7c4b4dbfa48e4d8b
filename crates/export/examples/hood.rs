//! Drafts an invented mirror's hood and a blade's sleeve, and draws the pieces as SVG and PDF at a
//! tenth of their size:
//!
//! ```sh
//! cargo run -p export --example hood -- target/hood
//! ```

use std::{env, error::Error, fs, path::Path as FilePath};

use drafting::{
    ArmSlot, CameraBulge, Closure, Cloth, HoodAsk, MirrorSide, Sewing, Shrinkage, draft_hood,
};
use export::{Caption, Scale, drawing_of_pieces, write_pdf, write_svg};
use geometry::Length;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = env::args().nth(1).ok_or("say which folder to write to")?;
    let out = FilePath::new(&folder);
    fs::create_dir_all(out)?;
    let mm = Length::from_mm;
    let cloth = Cloth {
        name: "screen mesh, dove".to_owned(),
        usable_width: mm(1500.0),
        half_turn: true,
        print: None,
        shrinkage: Shrinkage::default(),
    };
    let sewing =
        Sewing { seam_allowance: mm(12.0), stitch_from_edge: mm(5.0), notch_depth: mm(5.0) };
    let hood = draft_hood(&HoodAsk {
        mirror: "left mirror",
        order: "H-0142",
        count: 1,
        side: MirrorSide::Left,
        height: Length::from_inches(17.5),
        width: Length::from_inches(10.25),
        depth: Length::from_inches(7.0),
        camera: Some(CameraBulge { stands_out: mm(45.0), between: [0.2, 0.8] }),
        corner_radius: mm(60.0),
        room: mm(6.0),
        draw_in: mm(20.0),
        reach: mm(30.0),
        arm: ArmSlot { width: mm(60.0), depth: mm(70.0), up: 0.5 },
        closure: Closure::Drawcord,
        casing: mm(25.0),
        cloth: &cloth,
        sewing,
    })?;
    for (name, pieces, scale) in [
        ("hood", &hood.draft.pieces[..], 6.0),
        ("front", &hood.draft.pieces[..1], 2.5),
        ("gusset", &hood.draft.pieces[1..], 5.0),
    ] {
        let caption = Caption {
            title: format!("H-0142 {name}"),
            job: "H-0142".to_owned(),
            foot: "draft, not a release".to_owned(),
            scale: Scale::one_to(scale),
        };
        let drawing = drawing_of_pieces(pieces, caption);
        fs::write(out.join(format!("{name}.svg")), write_svg(&drawing)?)?;
        fs::write(out.join(format!("{name}.pdf")), write_pdf(&drawing)?)?;
    }
    Ok(())
}
