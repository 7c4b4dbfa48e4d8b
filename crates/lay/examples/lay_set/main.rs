//! Lays a shapes file and prints what it took.
//!
//! Run: `cargo run --release -p lay --example lay_set -- checks/data/lay/swim.json 200 1 [SECONDS]`
//! (file, rounds, seed, time limit).

#![allow(clippy::print_stdout)]

mod shapes_file;

use std::time::{Duration, Instant};

use lay::{Effort, lay};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [path, rounds, seed, rest @ ..] = &args[..] else {
        return Err("needed: FILE ROUNDS SEED [SECONDS]".into());
    };
    let seconds = rest.first().map_or(Ok(3600), |s| s.parse())?;
    let ask = shapes_file::read(&std::fs::read_to_string(path)?).ok_or("not a shapes file")?;
    let start = Instant::now();
    let effort = Effort {
        seed: seed.parse()?,
        rounds: rounds.parse()?,
        keep_going: &|| start.elapsed() < Duration::from_secs(seconds),
        progress: &|_| (),
    };
    let laid = lay(&ask, &effort)?;
    let took = start.elapsed().as_secs_f64();
    println!("{path}: length {:.3} use {:.4} in {took:.1} s", laid.length, laid.use_);
    Ok(())
}
