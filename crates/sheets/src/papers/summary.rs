//! The order summary: what was measured, what was assumed and from where, what was decided by whom.

use export::Paper;
use serde::Serialize;
use shop::{by_importance, doubt_words, voice_of};
use survey::{Depth, FittingJudgement, ReadingName, Source, Verdict, in_a_hundred};

use super::Head;
use crate::album::{Album, Picture};
use crate::guide::Guide;
use crate::words::{capital, family, sentence, set};
use crate::{Decision, SheetError, SheetsAsk};
use geometry::Length;

const ROOM: [Length; 2] = [Length::from_mm(80.0), Length::from_mm(58.0)];

#[derive(Serialize)]
pub(crate) struct Summary {
    head: Head,
    unit: &'static str,
    panes: Vec<Pane>,
    fittings: Vec<FittingLine>,
    assumed: Vec<String>,
    decisions: Vec<DecisionLine>,
}

#[derive(Serialize)]
struct Pane {
    name: String,
    what: &'static str,
    verdict: &'static str,
    chance: u8,
    picture: Picture,
    readings: Vec<Row>,
    /// What was not read.
    assumed: Vec<Assumed>,
    doubts: Vec<String>,
    remarks: Vec<String>,
}

#[derive(Serialize)]
struct Row {
    name: String,
    /// As the owner wrote it.
    written: String,
    /// In the workshop's unit.
    read: String,
    expected: String,
    note: String,
}

#[derive(Serialize)]
struct Assumed {
    name: String,
    value: String,
    spread: String,
    from: &'static str,
}

#[derive(Serialize)]
struct FittingLine {
    name: String,
    numbers: String,
    words: Vec<String>,
}

#[derive(Serialize)]
struct DecisionLine {
    what: String,
    by: String,
    when: String,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Summary, SheetError> {
    let panes =
        (0..ask.order.panes.len()).map(|i| pane_of(ask, i, album)).collect::<Result<_, _>>()?;
    Ok(Summary {
        head: Head::for_making(ask, "Order summary".to_owned(), paper),
        unit: ask.bench_units().name(),
        panes,
        fittings: fittings(ask),
        assumed: ask.made.assumed.iter().map(|line| capital(&line.replace('`', ""))).collect(),
        decisions: decisions(ask),
    })
}

fn pane_of(ask: &SheetsAsk<'_>, i: usize, album: &mut Album) -> Result<Pane, SheetError> {
    let units = ask.bench_units();
    let readings = &ask.order.panes[i];
    let judgement = &ask.made.panes[i].judgement;
    let voice = voice_of(ask.order, readings);
    let note = |name: ReadingName| {
        let doubted = judgement.doubts.iter().any(|doubt| doubt.readings.contains(&name));
        let asked = judgement.questions.iter().any(|question| question.reading == name);
        let unchecked = ask.made.beside.unchecked.get(i).is_some_and(|all| all.contains(&name));
        match (doubted, asked, unchecked) {
            (true, true, _) => "in doubt, asked again",
            (true, false, _) => "in doubt",
            (false, true, _) => "asked again",
            (false, false, true) => "nothing else checks it",
            _ => "",
        }
    };
    let rows = readings.readings.iter().map(|reading| {
        let written: Vec<String> = reading.taken.iter().map(|taken| taken.words.clone()).collect();
        let lengths: Vec<String> = reading.taken.iter().map(|t| units.number(t.length)).collect();
        let expected = judgement.readings.iter().find(|r| r.name == reading.name);
        Row {
            name: capital(&voice.name(reading.name)),
            written: sentence(&set_words(&written.join("; "))),
            read: lengths.join("; "),
            expected: expected.map_or_else(String::new, |r| units.number(r.expected)),
            note: note(reading.name).to_owned(),
        }
    });
    let depth = |what: &str, depth: &Depth| Assumed {
        name: format!("{what} {}", voice.station(depth.station)),
        value: units.number(depth.value),
        spread: format!("±\u{a0}{}", units.number(depth.sd)),
        from: source(depth.from),
    };
    let unread = |depths: &[Depth], what: &str| -> Vec<Assumed> {
        depths.iter().filter(|d| d.from != Source::Reading).map(|d| depth(what, d)).collect()
    };
    let mut assumed = unread(&judgement.bands, "Black border");
    assumed.extend(unread(&judgement.blocked, "Out of reach inside"));
    let guide = Guide {
        judgement,
        voice: &voice,
        spans: Vec::new(),
        inside: false,
        chosen: false,
        blade: None,
        room: ROOM,
        title: format!("{} outline", readings.name),
    };
    let alt = format!("The outline of the {} as it is made", readings.name);
    Ok(Pane {
        name: capital(&readings.name),
        what: family(readings.family),
        verdict: match judgement.verdict {
            Verdict::Accept => "can be cut",
            Verdict::Ask => "ask first",
            Verdict::Refuse => "measure anew",
        },
        chance: in_a_hundred(judgement.chance_of_fit),
        picture: album.drawing(&guide.drawing(), &alt)?,
        readings: rows.collect(),
        assumed,
        doubts: by_importance(judgement).map(|doubt| sentence(&doubt_words(doubt))).collect(),
        remarks: ask
            .made
            .beside
            .remarks
            .get(i)
            .into_iter()
            .flatten()
            .map(|r| sentence(r))
            .collect(),
    })
}

/// An owner's words on one line.
fn set_words(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Where a value comes from.
const fn source(source: Source) -> &'static str {
    match source {
        Source::Reading => "read",
        Source::Book => "glass book",
        Source::Class => "usual for the class",
        Source::Mirrored => "read on the other side",
    }
}

fn fittings(ask: &SheetsAsk<'_>) -> Vec<FittingLine> {
    let words = |all: &[FittingJudgement], name: &str| -> Vec<String> {
        let found = all.iter().find(|fitting| fitting.name == name);
        found
            .iter()
            .flat_map(|fitting| {
                let doubts = fitting.doubts.iter().map(|d| sentence(&d.message));
                doubts.chain(fitting.questions.iter().map(|q| sentence(&q.message)))
            })
            .collect()
    };
    let units = ask.bench_units();
    let blades = ask.order.blades.iter().map(|blade| FittingLine {
        name: capital(&blade.name),
        numbers: format!(
            "{} long ({}), parked {}",
            units.of(blade.length.length),
            set(&blade.length.words),
            blade.park
        ),
        words: words(&ask.made.beside.blades, &blade.name),
    });
    let hoods = ask.order.hoods.iter().map(|hood| {
        let [height, width, depth] =
            [&hood.height, &hood.width, &hood.depth].map(|tape| units.number(tape.length));
        let camera = if hood.camera { ", with a camera" } else { "" };
        FittingLine {
            name: capital(&hood.name),
            numbers: format!("{height} high, {width} wide, {depth} deep{camera}"),
            words: words(&ask.made.beside.hoods, &hood.name),
        }
    });
    blades.chain(hoods).collect()
}

/// Who decided what: people first, then what was reckoned without anybody's word.
fn decisions(ask: &SheetsAsk<'_>) -> Vec<DecisionLine> {
    let told = |decision: &Decision| DecisionLine {
        what: decision.what.clone(),
        by: decision.who.clone(),
        when: decision.when.clone(),
    };
    let mut lines: Vec<DecisionLine> = ask.decisions.iter().map(told).collect();
    let units = ask.bench_units();
    for (readings, pane) in ask.order.panes.iter().zip(&ask.made.panes) {
        let voice = voice_of(ask.order, readings);
        for doubt in pane.judgement.doubts.iter().filter(|doubt| doubt.corrected) {
            let (Some(name), Some(suggested)) = (doubt.readings.first(), doubt.suggested) else {
                continue;
            };
            lines.push(DecisionLine {
                what: format!(
                    "{}: {} taken as {}",
                    capital(&readings.name),
                    voice.name(*name),
                    units.of(suggested)
                ),
                by: "reckoned; nobody has confirmed it".to_owned(),
                when: String::new(),
            });
        }
    }
    lines
}
