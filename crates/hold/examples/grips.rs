//! Grips by our plan beside equal spacing, for the same rated wind: ten panes of five families.
//!
//! Run: `cargo run --release -p hold --example grips` (all), `… --example grips 3` (the third pane only).
//!
//! Both have the same magnets, cloth and rating (hold over 1.5, and any one grip gone), and neighbours as
//! far apart as wind allows. Equal spacing gets as many grips as reach what the plan is rated for.

#[path = "../tests/common/mod.rs"]
mod common;

use std::error::Error;
use std::io::Write;

use common::{EqualSpacing, PANES, effort, judged_pane, magnet_choice, mm, plan_ask};
use hold::{HoldAsk, Pressure, plan_hold};

/// Suction wanted of panes above and below 1 m², Pa. Chosen by us so that more than the corners are needed.
const WANTED: [f64; 2] = [10.0, 40.0];

fn main() -> Result<(), Box<dyn Error>> {
    let only: Option<usize> = std::env::args().nth(1).map(|n| n.parse()).transpose()?;
    let magnets = [magnet_choice("block:40x12x5:N42H")];
    let mut out = std::io::stdout().lock();
    writeln!(out, "| pane | rated suction, Pa | our grips | equally spaced | shapes |")?;
    writeln!(out, "| --- | --- | --- | --- | --- |")?;
    for (i, sizes) in PANES.into_iter().enumerate() {
        if only.is_some_and(|only| only != i + 1) {
            continue;
        }
        let pane = judged_pane(sizes);
        let area = pane.outline.path().area().m2();
        let wanted = Pressure::from_pascals(WANTED[usize::from(area < 1.0)]);
        // Far enough that wind decides, not how close the hem shall lie.
        let ask = HoldAsk { most_apart: mm(700.0), ..plan_ask(&pane, &magnets, wanted) };
        let plan = plan_hold(&ask, &effort(2000))?;
        let equal = EqualSpacing::new(&ask);
        let reaches = |n: usize| equal.rated(n, plan.suction()) >= plan.suction();
        let n_ours = plan.plan.grips.len();
        let mut n_equal = n_ours;
        // From as many as ours upwards; below it, equal spacing would be the better.
        if reaches(n_equal) {
            while n_equal > 4 && reaches(n_equal - 1) {
                n_equal -= 1;
            }
        } else {
            n_equal += 1;
            while n_equal < 3 * n_ours && !reaches(n_equal) {
                n_equal += 1;
            }
        }
        writeln!(
            out,
            "| {} | {:.1} | {n_ours} | {n_equal} | {} |",
            sizes.0,
            plan.suction().pascals(),
            plan.n_shapes
        )?;
        out.flush()?;
    }
    Ok(())
}
