//! What wind a coach windscreen cover of 2.3 × 1.35 m is rated for, and which assumptions decide it, as in
//! docs/hold.md.
//!
//! Run: `cargo run -p hold --example rating` (all), `… --example rating 3` (the third row only).
//!
//! Grips all round at equal distances, on a very coarse mesh, so that each row takes seconds.

#[path = "../tests/common/mod.rs"]
mod common;

use std::error::Error;
use std::io::Write;

use common::{COARSEST, EqualSpacing, GAP, PANES, judged_pane, magnet_choice, plan_ask};
use hold::{
    CapacityAsk, ClothChoice, CoverWind, Friction, HoldAsk, InnerHeld, MagnetChoice, Partner,
    Pressure, PressureZone, Speed, grip_capacity, rated_gust,
};

struct Row {
    name: &'static str,
    choice: MagnetChoice,
    cloth: ClothChoice,
    n_grips: usize,
    /// How far a grip may slide, in diameters, where not as usual.
    most_slide: Option<f64>,
}

fn rows() -> Result<Vec<Row>, Box<dyn Error>> {
    let usual = || magnet_choice("disc:20x3:N35");
    let with = |change: &dyn Fn(&mut CapacityAsk)| -> Result<MagnetChoice, Box<dyn Error>> {
        let mut choice = usual();
        let mut ask = CapacityAsk::usual(choice.outer, Partner::Magnet(choice.inner), GAP);
        change(&mut ask);
        choice.capacity = grip_capacity(&ask)?;
        Ok(choice)
    };
    let cloth = ClothChoice::usual();
    let eased = ClothChoice { ease: 0.02, ..cloth };
    let rough = with(&|ask| ask.friction = Friction { outer: 0.4, inner: 0.4 })?;
    let trapped = with(&|ask| ask.inner_held = InnerHeld::Trapped)?;
    let stronger = || magnet_choice("disc:20x5:N42H");
    let row = |name, choice, cloth, n_grips| Row { name, choice, cloth, n_grips, most_slide: None };
    Ok(vec![
        row("24 pairs of 20 × 3 N35", usual(), cloth, 24),
        row("40 pairs", usual(), cloth, 40),
        row("24 pairs, ease 2 % for 1 %", usual(), eased, 24),
        row("24 pairs, friction 0.4 for 0.25", rough, cloth, 24),
        row("24 pairs, inner magnets kept in place", trapped, cloth, 24),
        row("24 pairs of 20 × 5 N42H", stronger(), cloth, 24),
        row("40 pairs of 20 × 5 N42H", stronger(), cloth, 40),
        Row {
            most_slide: Some(0.25),
            ..row("24 pairs of 20 × 3 N35, lost when slid by 5 mm", usual(), cloth, 24)
        },
    ])
}

fn main() -> Result<(), Box<dyn Error>> {
    let only: Option<usize> = std::env::args().nth(1).map(|n| n.parse()).transpose()?;
    let pane = judged_pane(PANES[0]);
    let area = pane.outline.path().area();
    let mut out = std::io::stdout().lock();
    writeln!(out, "| cover | suction, Pa | closed, A | closed, C | mesh, A | mesh, C |")?;
    writeln!(out, "| --- | --- | --- | --- | --- | --- |")?;
    for (i, row) in rows()?.into_iter().enumerate() {
        if only.is_some_and(|only| only != i + 1) {
            continue;
        }
        let magnets = [row.choice];
        let usual = plan_ask(&pane, &magnets, Pressure::ZERO);
        let ask = HoldAsk { cloth: row.cloth, fineness: COARSEST, ..usual };
        let mut equal = EqualSpacing::new(&ask);
        equal.most_slide = row.most_slide;
        let suction = equal.rated(row.n_grips, Pressure::from_pascals(0.15 * row.n_grips as f64));
        let gust = |zone, openness| -> Result<Speed, Box<dyn Error>> {
            let cover = CoverWind { zone, ..CoverWind::worst(area, openness) };
            Ok(rated_gust(suction, &cover)?.gust)
        };
        write!(out, "| {} | {:.1} |", row.name, suction.pascals())?;
        for (zone, openness) in [
            (PressureZone::A, 0.0),
            (PressureZone::C, 0.0),
            (PressureZone::A, 0.05),
            (PressureZone::C, 0.05),
        ] {
            write!(out, " {:.1} |", gust(zone, openness)?.m_per_s())?;
        }
        writeln!(out)?;
        out.flush()?;
    }
    Ok(())
}
