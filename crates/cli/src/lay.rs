//! `paneloft lay`: pieces on cloth.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Args;
use export::{Caption, Scale, write_dxf, write_svg};
use geometry::Length;
use lay::{Ask, Effort, Lay};
use shop::{
    HoldSearch, KNIFE_GAP, LayAnswer, Made, MadeFile, Order, drawing_of_laid, lay_orders,
    make_order, read_shapes, starting_policy, write_folder,
};

use crate::files::{book_of, bytes_of, order_of};
use crate::outcome::{Answer, Outcome};
use crate::say;

/// What `paneloft lay` is asked.
#[derive(Args)]
pub(crate) struct LayArgs {
    /// Order files, TOML or JSON, laid together.
    #[arg(value_name = "ORDER", required_unless_present = "shapes", conflicts_with = "shapes")]
    orders: Vec<PathBuf>,
    /// A file of shapes instead of orders.
    #[arg(long, value_name = "FILE")]
    shapes: Option<PathBuf>,
    /// The workshop's glass book, for orders.
    #[arg(long, value_name = "FILE")]
    book: Option<PathBuf>,
    /// Usable width of the cloth in mm, instead of the one stated.
    #[arg(long, value_name = "MM", value_parser = length)]
    width: Option<Length>,
    /// Gap between pieces in mm: 3 for orders, 0 for shapes.
    #[arg(long, value_name = "MM", value_parser = length)]
    gap: Option<Length>,
    /// How long to look for better lays; without it a fixed number of rounds is tried, so that the
    /// same input gives the same lay.
    #[arg(long, value_name = "S", value_parser = seconds)]
    seconds: Option<Duration>,
    /// Seed of the search.
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    /// Folder for the lay as SVG, DXF and JSON.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Answer in JSON.
    #[arg(long)]
    json: bool,
}

/// Rounds tried when no time is given.
const ROUNDS: usize = 8;
/// Rounds that no time given will see the end of.
const ENDLESS: usize = 1_000_000;

pub(crate) fn lay(args: &LayArgs) -> Answer {
    let until = args.seconds.map(|seconds| Instant::now() + seconds);
    let keep_going = || until.is_none_or(|end| Instant::now() < end);
    let rounds = if until.is_some() { ENDLESS } else { ROUNDS };
    let effort = Effort { seed: args.seed, rounds, keep_going: &keep_going, progress: &|_| () };
    let (answer, cloths, files) = match &args.shapes {
        Some(path) => lay_shapes(args, path, &effort)?,
        None => lay_files(args, &effort)?,
    };
    if let Some(out) = &args.out {
        write_folder(out, "lay", &files).map_err(|fault| fault.to_string())?;
    }
    if args.json {
        say::json_line(&say::to_value(&answer));
    } else {
        cloths.iter().for_each(|line| say::line(line));
        if let Some(out) = &args.out {
            say::line(&format!("{} files in {}", files.len(), out.display()));
        }
    }
    Ok(Outcome::Settled)
}

/// An answer, what it says in words, a line for each cloth, and its files.
type Laid = (LayAnswer, Vec<String>, Vec<MadeFile>);

fn words(lay: &Lay, cloth: &str) -> String {
    format!(
        "{} pieces on {:.3} m of {cloth}; they cover {:.1} % of it",
        lay.places.len(),
        lay.length.mm() / 1000.0,
        100.0 * lay.use_
    )
}

fn lay_shapes(args: &LayArgs, path: &std::path::Path, effort: &Effort<'_>) -> Result<Laid, String> {
    let name = path.display().to_string();
    let file = read_shapes(&bytes_of(path)?, &name).map_err(|fault| fault.to_string())?;
    let width = args.width.or(file.width).ok_or_else(|| {
        format!("{name}: no width of cloth; state `width_mm` in the file or give --width")
    })?;
    let gap = args.gap.unwrap_or(Length::ZERO);
    let lay = lay::lay(&Ask { width, gap, shapes: file.shapes }, effort)
        .map_err(|fault| format!("{name}: {fault}"))?;
    let answer = LayAnswer::of(&lay);
    let files = vec![answer_file(&answer)];
    Ok((answer, vec![words(&lay, "cloth")], files))
}

fn lay_files(args: &LayArgs, effort: &Effort<'_>) -> Result<Laid, String> {
    let book = book_of(args.book.as_deref())?;
    let orders: Vec<Order> = args.orders.iter().map(|p| order_of(p)).collect::<Result<_, _>>()?;
    let search = HoldSearch { progress: &say::progress, ..HoldSearch::USUAL };
    let made: Vec<(&Order, Made)> = orders
        .iter()
        .map(|order| {
            make_order(order, &book, &starting_policy(), &search)
                .map(|made| (order, made))
                .map_err(|fault| format!("{}: {fault}", order.reference))
        })
        .collect::<Result<_, _>>()?;
    say::progress_done();
    let gap = args.gap.unwrap_or(KNIFE_GAP);
    let laid = lay_orders(&made, args.width, gap, effort).map_err(|fault| fault.to_string())?;
    let job = orders.iter().map(|o| o.reference.as_str()).collect::<Vec<_>>().join(", ");
    let mut files = Vec::new();
    for (k, laid) in laid.iter().enumerate() {
        let caption = Caption {
            title: format!("lay of {job}, {}", laid.cloth.name),
            job: job.clone(),
            foot: "draft, not a release".to_owned(),
            scale: Scale::one_to(10.0),
        };
        let drawing = drawing_of_laid(laid, caption);
        let svg = write_svg(&drawing).map_err(|fault| fault.to_string())?;
        let dxf = write_dxf(&drawing).map_err(|fault| fault.to_string())?;
        // The first cloth's file bears the plain name.
        let name = match k {
            0 => "lay".to_owned(),
            _ => format!("lay-{}", k + 1),
        };
        files.push(MadeFile { name: format!("{name}.svg"), kind: "lay", bytes: svg.into_bytes() });
        files.push(MadeFile { name: format!("{name}.dxf"), kind: "lay", bytes: dxf });
    }
    let answer = LayAnswer::of_laid(&laid).ok_or("no order has a piece to lay")?;
    files.push(answer_file(&answer));
    let lines = laid.iter().map(|laid| words(&laid.lay, &laid.cloth.name)).collect();
    Ok((answer, lines, files))
}

fn answer_file(answer: &LayAnswer) -> MadeFile {
    let mut bytes = say::to_value(answer).to_string().into_bytes();
    bytes.push(b'\n');
    MadeFile { name: "lay.json".into(), kind: "lay", bytes }
}

fn length(words: &str) -> Result<Length, String> {
    match words.parse::<f64>() {
        Ok(mm) if mm.is_finite() && (0.0..=1e6).contains(&mm) => Ok(Length::from_mm(mm)),
        _ => Err("write a number of millimetres, such as 1500".to_owned()),
    }
}

fn seconds(words: &str) -> Result<Duration, String> {
    match words.parse::<f64>() {
        Ok(s) if s.is_finite() && (0.0..=86_400.0).contains(&s) => Ok(Duration::from_secs_f64(s)),
        _ => Err("write a number of seconds from 0 to 86400, such as 30".to_owned()),
    }
}
