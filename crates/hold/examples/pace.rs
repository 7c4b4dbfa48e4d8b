//! Computes many forces of offset disc pairs and prints their sum, for a clock outside:
//! `cargo run --release -p hold --example pace -- 2000000`.

use std::error::Error;
use std::io::Write;

use geometry::Length;
use hold::{Magnet, pair_force};

fn main() -> Result<(), Box<dyn Error>> {
    let n: u32 = std::env::args().nth(1).ok_or("say how many forces")?.parse()?;
    let magnet: Magnet = "disc:20x3:N35".parse()?;
    let gap = Length::from_mm(7.0);
    let mut sum = 0.0;
    for i in 0..n {
        // From 0.2 to 20 mm aside, in turn.
        let aside = Length::from_mm(0.2 * f64::from(1 + i % 100));
        sum += pair_force(&magnet, &magnet, gap, (aside, Length::ZERO))?.slide.newtons();
    }
    writeln!(std::io::stdout(), "{n} forces, sum of slides {sum:.6} N")?;
    Ok(())
}
