//! Judges an invented windscreen, places its grips and draws it as SVG and PDF:
//!
//! ```sh
//! cargo run -p export --example pane -- target/pane
//! ```

use std::{env, error::Error, fs, path::Path as FilePath};

use export::{Caption, PanePicture, drawing_of_pane, fit_scale, write_pdf, write_svg};
use geometry::Length;
use hold::{GripAsk, Magnet, Partner, magnet_cautions, place_grips};
use survey::{
    Class, Family, PaneReadings, Policy, Reading, ReadingName, Side, Steering, Unit, Vehicle,
    Voice, judge, read_tape,
};

/// What the owner of an invented mobile library wrote; the height on the passenger side is an inch
/// too long.
const READINGS: [(&str, &str); 30] = [
    ("height.centre", "57 1/4"),
    ("height.left", "55 3/4"),
    ("height.right", "54 5/8"),
    ("width.base", "91"),
    ("width.top", "84 7/8"),
    ("diagonal.rising", "100 1/4"),
    ("diagonal.falling", "100 3/8"),
    ("edge.left", "51 7/8"),
    ("edge.top", "82 1/2"),
    ("bow.base", "2 3/4"),
    ("radius.base-left", "4"),
    ("radius.top-right", "4"),
    ("band.base-centre", "5 1/4"),
    ("band.base-left", "5"),
    ("band.base-right", "5 1/8"),
    ("band.left-low", "3"),
    ("band.left-high", "2 1/2"),
    ("band.right-low", "3"),
    ("band.right-high", "2 1/2"),
    ("band.top-left", "2 5/8"),
    ("band.top-centre", "2 3/4"),
    ("band.top-right", "2 5/8"),
    ("inside.height.centre", "53"),
    ("inside.band.base-centre", "1"),
    ("inside.band.base-left", "1"),
    ("inside.band.base-right", "1"),
    ("inside.band.left-low", "2"),
    ("inside.band.right-low", "2"),
    ("inside.band.top-centre", "2 3/4"),
    ("inside.band.left-high", "2 1/2"),
];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = env::args().nth(1).ok_or("say which folder to write to")?;
    let out = FilePath::new(&folder);
    fs::create_dir_all(out)?;

    let eighth = Length::from_inches(0.125);
    let mut readings = Vec::new();
    for (name, words) in READINGS {
        let (side, span) = match name.strip_prefix("inside.") {
            Some(span) => (Side::Inside, span),
            None => (Side::Outside, name),
        };
        let name = ReadingName { side, span: span.parse()? };
        let taken = vec![read_tape(words, Unit::Inch)?.on_tape_of(eighth)];
        readings.push(Reading { name, taken, place: None });
    }
    let pane = PaneReadings::new("front", Family::Windscreen, readings);
    let vehicle = Vehicle {
        class: Class::Coach,
        make: None,
        model: None,
        year: None,
        steering: Some(Steering::Left),
    };
    let voice = Voice::new(Unit::Inch, eighth, &vehicle, &pane);
    let judgement = judge(&vehicle, &pane, None, &voice, &Policy::starting())?;

    let disc: Magnet = "disc:20x3:N35H".parse()?;
    let (gap, clearance) = (Length::from_mm(8.0), Length::from_mm(16.0));
    let plan = place_grips(&GripAsk::usual(&judgement, &disc, &disc, gap, clearance))?;

    let glass = judgement.outline.path().bounds().ok_or("an outline has corners")?;
    for (file, plan) in [("readings", None), ("grips", Some(&plan))] {
        let caption = Caption {
            title: format!("H-0142 front, {file}"),
            job: "H-0142".into(),
            foot: "release 2 · 24 November 2026".into(),
            scale: fit_scale(&glass, Length::from_mm(273.0)),
        };
        let cautions = magnet_cautions(&disc, &Partner::Magnet(disc))?;
        let picture = PanePicture {
            judgement: &judgement,
            pane: &pane,
            voice: &voice,
            plan,
            cautions: &cautions,
            wind: None,
            caption,
        };
        let drawing = drawing_of_pane(&picture);
        fs::write(out.join(format!("{file}.svg")), write_svg(&drawing)?)?;
        fs::write(out.join(format!("{file}.pdf")), write_pdf(&drawing)?)?;
    }
    Ok(())
}
