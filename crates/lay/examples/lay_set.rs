//! Lays a shapes file and prints what it took.
//!
//! Run: `cargo run --release -p lay --example lay_set -- checks/data/lay/swim.json 200 1 [SECONDS]`
//! (file, rounds, seed, time limit).

#![allow(clippy::print_stdout)]

use std::time::{Duration, Instant};

use geometry::{Angle, Length, Point};
use lay::{Ask, Effort, Shape, lay};
use serde_json::Value;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [path, rounds, seed, rest @ ..] = &args[..] else {
        return Err("needed: FILE ROUNDS SEED [SECONDS]".into());
    };
    let seconds = rest.first().map_or(Ok(3600), |s| s.parse())?;
    let ask = read(&std::fs::read_to_string(path)?).ok_or("not a shapes file")?;
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

fn read(text: &str) -> Option<Ask> {
    let file: Value = serde_json::from_str(text).ok()?;
    let numbers = |v: &Value| v.as_array()?.iter().map(Value::as_f64).collect::<Option<Vec<_>>>();
    let shape = |piece: &Value| {
        let corners = piece["outline_mm"].as_array()?.iter();
        Some(Shape {
            name: piece["name"].as_str()?.to_owned(),
            count: piece["count"].as_u64()? as usize,
            turns: numbers(&piece["turns_deg"])?.into_iter().map(Angle::from_degrees).collect(),
            outline: corners
                .map(|corner| Some(Point::from_mm(corner[0].as_f64()?, corner[1].as_f64()?)))
                .collect::<Option<_>>()?,
        })
    };
    Some(Ask {
        width: Length::from_mm(file["width_mm"].as_f64()?),
        gap: Length::ZERO,
        shapes: file["pieces"].as_array()?.iter().map(shape).collect::<Option<_>>()?,
    })
}
