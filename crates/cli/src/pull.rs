//! `paneloft pull`: force of one magnet pair.

use clap::Args;
use geometry::Length;
use hold::{Magnet, Temperature, at_temperature, pair_force};
use shop::PullAnswer;

use crate::outcome::{Answer, Outcome};
use crate::say;

/// What `paneloft pull` is asked.
#[derive(Args)]
pub(crate) struct PullArgs {
    /// The magnet outside, in the hem.
    #[arg(long, value_name = "SPEC")]
    outer: String,
    /// The magnet inside.
    #[arg(long, value_name = "SPEC")]
    inner: String,
    /// Between their facing poles: glass, cloth and air, in mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    gap: f64,
    /// How far the outer one is moved sideways, in mm, along x and y.
    #[arg(long, value_name = "DX[,DY]", allow_hyphen_values = true)]
    offset: Option<String>,
    /// Temperature of both; without it neither heat nor permeability is reckoned with.
    #[arg(long, value_name = "T", allow_negative_numbers = true)]
    celsius: Option<f64>,
    /// Answer in JSON.
    #[arg(long)]
    json: bool,
}

pub(crate) fn pull(args: &PullArgs) -> Answer {
    let gap = finite("--gap", args.gap)?;
    let offset = offset(args.offset.as_deref())?;
    let magnet = |option: &str, spec: &str| -> Result<Magnet, String> {
        let magnet: Magnet = spec.parse().map_err(|fault| format!("--{option}: {fault}"))?;
        match args.celsius {
            None => Ok(magnet),
            Some(t) => {
                let t = Temperature::from_celsius(finite("--celsius", t)?.mm());
                at_temperature(&magnet, t).map_err(|fault| format!("--celsius: {fault}"))
            }
        }
    };
    let (outer, inner) = (magnet("outer", &args.outer)?, magnet("inner", &args.inner)?);
    let pair = pair_force(&outer, &inner, gap, offset).map_err(|fault| fault.to_string())?;
    if args.json {
        say::json_line(&say::to_value(&PullAnswer {
            pull_n: pair.pull.newtons(),
            slide_n: pair.slide.newtons(),
            force_n: pair.force.map(hold::Force::newtons),
        }));
    } else {
        say::line(&format!("pull   {:8.2} N  towards each other", pair.pull.newtons()));
        if offset != (Length::ZERO, Length::ZERO) {
            say::line(&format!("slide  {:8.2} N  back to the centre", pair.slide.newtons()));
        }
        say::line("");
        hold::CAUTIONS.iter().for_each(|caution| say::line(caution));
    }
    Ok(Outcome::Settled)
}

fn finite(option: &str, value: f64) -> Result<Length, String> {
    match value.is_finite() {
        true => Ok(Length::from_mm(value)),
        false => Err(format!("{option}: {value} is no measure; write a number")),
    }
}

fn offset(words: Option<&str>) -> Result<(Length, Length), String> {
    let Some(words) = words else { return Ok((Length::ZERO, Length::ZERO)) };
    let number = |part: &str| {
        part.trim()
            .parse::<f64>()
            .map_err(|_| format!("--offset: `{words}` is not DX or DX,DY in mm, such as 5 or 5,-2"))
            .and_then(|mm| finite("--offset", mm))
    };
    match words.split_once(',') {
        Some((x, y)) => Ok((number(x)?, number(y)?)),
        None => Ok((number(words)?, Length::ZERO)),
    }
}
