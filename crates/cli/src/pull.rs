//! `paneloft pull`: force of one magnet pair, over gaps and temperatures too, and as a plot.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use export::{Axis, Chart, Curve, LineKind, drawing_of_chart, write_svg};
use geometry::{Angle, Length};
use hold::{
    Force, GLASS_IN_SUN, GapParts, HoldError, Iron, Magnet, MagnetShape, Partner, Temperature,
    at_temperature, gap_through, heat_limit, iron_pull, kept_after, magnet_cautions, pair_force,
    peak_slide, plate_pull,
};
use shop::{PullAnswer, PullRow};

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
    #[arg(
        long,
        value_name = "MM",
        allow_negative_numbers = true,
        required_unless_present = "glass",
        conflicts_with = "glass"
    )]
    gap: Option<f64>,
    /// Instead of the gap: thickness of the glass in mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    glass: Option<f64>,
    /// With --glass: cloth between each magnet and the glass in mm, outer and inner.
    #[arg(long, value_name = "MM[,MM]", allow_hyphen_values = true, requires = "glass")]
    cloth: Option<String>,
    /// With --glass: felt or non-slip face beyond the cloths in mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, requires = "glass")]
    pad: Option<f64>,
    /// How far the outer one is moved sideways, in mm, along x and y.
    #[arg(long, value_name = "DX[,DY]", allow_hyphen_values = true)]
    offset: Option<String>,
    /// Temperature of both; without it neither heat nor permeability is reckoned with.
    #[arg(long, value_name = "T", allow_negative_numbers = true)]
    celsius: Option<f64>,
    /// Also forces at neighbouring gaps and temperatures.
    #[arg(long)]
    table: bool,
    /// Also a plot of the forces over the gap, as SVG; a file that is there is left alone.
    #[arg(long, value_name = "FILE")]
    plot: Option<PathBuf>,
    /// Answer in JSON.
    #[arg(long)]
    json: bool,
}

pub(crate) fn pull(args: &PullArgs) -> Answer {
    let asked = Asked::read(args)?;
    let answer = asked.answer(args.table).map_err(|fault| fault.to_string())?;
    if let Some(path) = &args.plot {
        let chart = asked.chart().map_err(|fault| fault.to_string())?;
        let svg = write_svg(&drawing_of_chart(&chart)).map_err(|fault| fault.to_string())?;
        write_new(path, svg.as_bytes())?;
    }
    if args.json {
        say::json_line(&say::to_value(&answer));
    } else {
        asked.say(&answer).map_err(|fault| fault.to_string())?;
        if let Some(path) = &args.plot {
            say::line(&format!("plot: {}", path.display()));
            say::line("");
        }
        answer.cautions.iter().for_each(|caution| say::line(caution));
    }
    Ok(Outcome::Settled)
}

/// Temperatures of table and plot: tables' own, a warm day, and sunlit glass.
const COLD: f64 = 20.0;
const WARM: f64 = 40.0;

/// Gaps of the table, from the one asked for, in mm.
const NEIGHBOURS: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];

/// A pair with everything read.
struct Asked {
    magnet: Magnet,
    other: Partner,
    gap: Length,
    offset: (Length, Length),
    celsius: Option<Temperature>,
}

impl Asked {
    fn read(args: &PullArgs) -> Result<Self, String> {
        let offset = match &args.offset {
            Some(words) => pair_of("--offset", words, "5 or 5,-2")?,
            None => (Length::ZERO, Length::ZERO),
        };
        let partner = |option: &str, spec: &str| -> Result<Partner, String> {
            spec.parse().map_err(|fault| format!("--{option}: {fault}"))
        };
        let (magnet, other) = match (partner("outer", &args.outer)?, partner("inner", &args.inner)?)
        {
            (Partner::Magnet(magnet), other) => (magnet, other),
            (iron @ Partner::Iron(_), Partner::Magnet(magnet)) => (magnet, iron),
            (Partner::Iron(_), Partner::Iron(_)) => {
                return Err("both sides are iron, which does not hold; make one a magnet, such \
                                as disc:20x3:N35"
                    .to_owned());
            }
        };
        if matches!(other, Partner::Iron(_)) && offset != (Length::ZERO, Length::ZERO) {
            return Err(
                "--offset: how iron draws back when moved aside is not reckoned; leave the \
                        offset out, and count on friction alone"
                    .to_owned(),
            );
        }
        let celsius = match args.celsius {
            Some(t) => Some(Temperature::from_celsius(finite("--celsius", t)?.mm())),
            None => None,
        };
        Ok(Self { magnet, other, gap: gap(args)?, offset, celsius })
    }

    /// The pair at a temperature; as tables have it without one.
    fn at(&self, t: Option<Temperature>) -> Result<(Magnet, Partner), HoldError> {
        let Some(t) = t else { return Ok((self.magnet, self.other)) };
        let other = match &self.other {
            Partner::Magnet(magnet) => Partner::Magnet(at_temperature(magnet, t)?),
            iron @ Partner::Iron(_) => *iron,
        };
        Ok((at_temperature(&self.magnet, t)?, other))
    }

    fn answer(&self, with_table: bool) -> Result<PullAnswer, HoldError> {
        let (magnet, other) = self.at(self.celsius)?;
        let mut answer = PullAnswer { gap_mm: self.gap.mm(), ..PullAnswer::default() };
        match &other {
            Partner::Magnet(inner) => {
                let pair = pair_force(&magnet, inner, self.gap, self.offset)?;
                answer.pull_n = pair.pull.newtons();
                answer.slide_n = pair.slide.newtons();
                answer.force_n = pair.force.map(Force::newtons);
            }
            Partner::Iron(iron) => {
                let pull = iron_pull(&magnet, iron, self.gap)?;
                answer.pull_n = pull.plate.newtons();
                answer.force_n = [0.0, 0.0, -pull.plate.newtons()];
                answer.iron_disc_n = Some(pull.disc.newtons());
            }
        }
        if with_table {
            answer.table = self.table()?;
        }
        answer.cautions =
            magnet_cautions(&self.magnet, &self.other)?.into_iter().map(|c| c.words).collect();
        Ok(answer)
    }

    /// Temperatures of the table, in °C.
    fn warmths(&self) -> Vec<f64> {
        let mut warmths = vec![COLD, WARM, GLASS_IN_SUN.value.celsius()];
        warmths.extend(self.celsius.map(Temperature::celsius));
        warmths.sort_by(f64::total_cmp);
        warmths.dedup_by(|a, b| (*a - *b).abs() < 0.05);
        warmths
    }

    fn table(&self) -> Result<Vec<PullRow>, HoldError> {
        let gaps =
            NEIGHBOURS.map(|more| self.gap.mm() + more).into_iter().filter(|gap| *gap >= 0.5);
        let mut rows = Vec::new();
        for gap in gaps {
            for celsius in self.warmths() {
                rows.push(self.row(Length::from_mm(gap), celsius)?);
            }
        }
        Ok(rows)
    }

    fn row(&self, gap: Length, celsius: f64) -> Result<PullRow, HoldError> {
        let t = Temperature::from_celsius(celsius);
        let (magnet, other) = self.at(Some(t))?;
        let (pull, peak) = match &other {
            Partner::Magnet(inner) => {
                let centred = pair_force(&magnet, inner, gap, (Length::ZERO, Length::ZERO))?;
                let peak = peak_slide(&magnet, inner, gap, Angle::ZERO)?;
                (centred.pull, (peak.force.slide, peak.offset))
            }
            Partner::Iron(_) => (plate_pull(&magnet, gap)?, (Force::ZERO, Length::ZERO)),
        };
        Ok(PullRow {
            gap_mm: gap.mm(),
            celsius,
            pull_n: pull.newtons(),
            peak_slide_n: peak.0.newtons(),
            peak_at_mm: peak.1.mm(),
            loses_for_good: self.first_loss().map(|limit| t > limit),
        })
    }

    fn magnets(&self) -> Vec<&Magnet> {
        match &self.other {
            Partner::Magnet(inner) => vec![&self.magnet, inner],
            Partner::Iron(_) => vec![&self.magnet],
        }
    }

    /// From where on some strength is lost for good; nothing where a grade is unknown.
    fn first_loss(&self) -> Option<Temperature> {
        let limits = self.magnets().into_iter().map(|m| heat_limit(m).ok().map(|l| l.first_loss));
        limits.reduce(|a, b| Some(a?.min(b?))).flatten()
    }

    fn say(&self, answer: &PullAnswer) -> Result<(), HoldError> {
        let at = match answer.iron_disc_n {
            Some(_) => "at a wide thick plate",
            None => "towards each other",
        };
        say::line(&format!("pull   {:8.2} N  {at}, gap {} mm", answer.pull_n, answer.gap_mm));
        if let Some(disc) = answer.iron_disc_n {
            say::line(&format!("       {disc:8.2} N  at this disc: count on this"));
        } else if self.offset != (Length::ZERO, Length::ZERO) {
            say::line(&format!("slide  {:8.2} N  back to the centre", answer.slide_n));
        }
        if let (Some(limit), Some(t)) = (self.first_loss(), self.celsius)
            && t > limit
        {
            let kept: f64 =
                self.magnets().into_iter().map(|m| kept_after(m, t)).product::<Result<f64, _>>()?;
            // Iron is magnetised by the one magnet, whose loss counts twice.
            let kept = if answer.iron_disc_n.is_some() { kept * kept } else { kept };
            say::line(&format!(
                "       this hot some strength is lost for good, from {:.0} °C on: reckon with {:.0} % \
                 of the pull",
                limit.celsius().floor(),
                (100.0 * kept).floor()
            ));
        }
        say::line("");
        if !answer.table.is_empty() {
            self.say_table(&answer.table);
        }
        Ok(())
    }

    fn say_table(&self, rows: &[PullRow]) {
        let iron = matches!(self.other, Partner::Iron(_));
        let what =
            if iron { "Pull in N" } else { "Pull and, in brackets, peak sideways force in N" };
        say::line(&format!("{what}, permeability reckoned with:"));
        let warmths = self.warmths();
        let mut head = format!("{:>9}", "gap");
        for t in &warmths {
            let lost = self.first_loss().is_some_and(|limit| *t > limit.celsius());
            let label = format!("{t} °C{}", if lost { " *" } else { "" });
            head.push_str(&format!("{label:>18}"));
        }
        say::line(&head);
        for row in rows.chunks(warmths.len()) {
            let mut words = format!("{:>6} mm", (row[0].gap_mm * 100.0).round() / 100.0);
            for cell in row {
                let forces = if iron {
                    format!("{:.2}", cell.pull_n)
                } else {
                    format!("{:.2} ({:.2})", cell.pull_n, cell.peak_slide_n)
                };
                words.push_str(&format!("{forces:>18}"));
            }
            say::line(&words);
        }
        match self.first_loss() {
            Some(limit) if rows.iter().any(|row| row.loses_for_good == Some(true)) => {
                say::line(&format!(
                    "* from {:.0} °C on some strength is lost for good besides",
                    limit.celsius().floor()
                ));
            }
            Some(_) => {}
            None => say::line("how hot they may get is a matter of grade: name it, such as N35H"),
        }
        say::line("");
    }

    /// Pull and peak sideways force over the gap, cold and as warm as asked or as sunlit glass.
    fn chart(&self) -> Result<Chart, HoldError> {
        const POINTS: u32 = 60;
        let marked = self.gap.mm();
        let (from, to) = ((0.5 * marked).max(0.5).min(marked), 2.0 * marked.max(0.5));
        let warm = self.celsius.unwrap_or(GLASS_IN_SUN.value).celsius();
        let warmths = if (warm - COLD).abs() < 0.05 { vec![COLD] } else { vec![COLD, warm] };
        let mut curves = Vec::new();
        for celsius in &warmths {
            let rows = (0..=POINTS)
                .map(|i| from + (to - from) * f64::from(i) / f64::from(POINTS))
                .map(|gap| self.row(Length::from_mm(gap), *celsius))
                .collect::<Result<Vec<_>, _>>()?;
            let cold = (celsius - COLD).abs() < 0.05;
            let mut curve = |name: &str, kind, of: fn(&PullRow) -> f64| {
                let points = rows.iter().map(|row| [row.gap_mm, of(row)]).collect();
                let warmth = (celsius * 10.0).round() / 10.0;
                curves.push(Curve { name: format!("{name}, {warmth} °C"), kind, points });
            };
            let kind = if cold { LineKind::Pull } else { LineKind::PullWarm };
            curve("pull", kind, |row| row.pull_n);
            if matches!(self.other, Partner::Magnet(_)) {
                let kind = if cold { LineKind::Sideways } else { LineKind::SidewaysWarm };
                curve("sideways at most", kind, |row| row.peak_slide_n);
            }
        }
        let mut notes =
            vec!["gap: glass, cloths and pad together · recoil permeability 1.05".to_owned()];
        notes.push(match self.first_loss() {
            Some(limit) => format!(
                "strength is lost for good from {:.0} °C on; not in these curves",
                limit.celsius().floor()
            ),
            None => "heat loss for good is a matter of grade; not in these curves".to_owned(),
        });
        Ok(Chart {
            title: format!("{} and {}", pretty(&Partner::Magnet(self.magnet)), pretty(&self.other)),
            notes,
            x: Axis { name: "gap between the facing poles in mm".to_owned(), from, to },
            y_name: "force of the pair in N".to_owned(),
            y_unit: "N".to_owned(),
            marked: Some(marked),
            curves,
        })
    }
}

/// A magnet or a piece of iron as people write it: `disc 20 × 3 N35`.
fn pretty(partner: &Partner) -> String {
    let size = |shape: MagnetShape| match shape {
        MagnetShape::Disc { diameter, thickness } => {
            format!("disc {} × {}", diameter.mm(), thickness.mm())
        }
        MagnetShape::Block { length, width, thickness } => {
            format!("block {} × {} × {}", length.mm(), width.mm(), thickness.mm())
        }
    };
    match partner {
        Partner::Magnet(magnet) => {
            let strength = magnet.grade().map_or_else(
                || format!("{} T", magnet.polarisation().tesla()),
                |grade| grade.to_string(),
            );
            format!("{} {strength}", size(magnet.shape()))
        }
        Partner::Iron(iron) => format!("iron {}, as a plate", size(Iron::shape(iron))),
    }
}

/// Writes a file that was not there before.
fn write_new(path: &Path, bytes: &[u8]) -> Result<(), String> {
    OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .and_then(|mut file| file.write_all(bytes))
        .map_err(|fault| {
            format!("--plot {}: {fault}; name a file that is not there yet", path.display())
        })
}

fn gap(args: &PullArgs) -> Result<Length, String> {
    let length = |option, value: Option<f64>| finite(option, value.unwrap_or_default());
    if args.gap.is_some() {
        return length("--gap", args.gap);
    }
    let (outer_cloth, inner_cloth) = match &args.cloth {
        Some(words) => pair_of("--cloth", words, "0.5 or 0.5,0.4")?,
        None => (Length::ZERO, Length::ZERO),
    };
    let parts = GapParts {
        glass: length("--glass", args.glass)?,
        outer_cloth,
        inner_cloth,
        pad: length("--pad", args.pad)?,
    };
    gap_through(&parts).map_err(|fault| fault.to_string())
}

fn finite(option: &str, value: f64) -> Result<Length, String> {
    match value.is_finite() {
        true => Ok(Length::from_mm(value)),
        false => Err(format!("{option}: {value} is no measure; write a number")),
    }
}

/// Two measures with a comma between; the second is nothing when it is left out.
fn pair_of(option: &str, words: &str, example: &str) -> Result<(Length, Length), String> {
    let number = |part: &str| {
        part.trim()
            .parse::<f64>()
            .map_err(|_| {
                format!("{option}: `{words}` is not one or two numbers in mm, such as {example}")
            })
            .and_then(|mm| finite(option, mm))
    };
    match words.split_once(',') {
        Some((x, y)) => Ok((number(x)?, number(y)?)),
        None => Ok((number(words)?, Length::ZERO)),
    }
}
