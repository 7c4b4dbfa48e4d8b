//! The question letter: only what is asked again or new, each with its drawing and why.

use export::Paper;
use geometry::Length;
use serde::Serialize;
use shop::{voice_of, where_to_put_the_tape};
use survey::{Judgement, PaneReadings, Question, Side, Span, in_a_hundred};

use super::Head;
use super::measuring::{Link, link};
use crate::album::{Album, Picture};
use crate::guide::Guide;
use crate::words::{capital, count, sentence};
use crate::{SheetError, SheetsAsk};

const ROOM: [Length; 2] = [Length::from_mm(84.0), Length::from_mm(62.0)];

#[derive(Serialize)]
pub(crate) struct Questions {
    head: Head,
    unit: &'static str,
    greeting: String,
    /// Why we write.
    opening: String,
    asked: Vec<Asked>,
    /// What is asked of blades and mirrors, which have no drawing of their own.
    fittings: Vec<FittingAsked>,
    link: Option<Link>,
}

#[derive(Serialize)]
struct Asked {
    number: usize,
    pane: String,
    title: String,
    again: bool,
    place: String,
    why: String,
    picture: Picture,
}

#[derive(Serialize)]
struct FittingAsked {
    number: usize,
    name: String,
    words: String,
}

pub(crate) fn of(
    ask: &SheetsAsk<'_>,
    paper: Paper,
    album: &mut Album,
) -> Result<Questions, SheetError> {
    let mut asked = Vec::new();
    for (readings, pane) in ask.order.panes.iter().zip(&ask.made.panes) {
        for question in &pane.judgement.questions {
            asked.push(of_pane(ask, readings, &pane.judgement, question, asked.len() + 1, album)?);
        }
    }
    let beside = &ask.made.beside;
    let mut fittings = Vec::new();
    for fitting in beside.blades.iter().chain(&beside.hoods) {
        for question in &fitting.questions {
            fittings.push(FittingAsked {
                number: asked.len() + fittings.len() + 1,
                name: capital(&fitting.name),
                words: sentence(&question.message),
            });
        }
    }
    let n = asked.len() + fittings.len();
    let n_again = asked.iter().filter(|a| a.again).count() + fittings.len();
    let readings = |n: usize| format!("{} reading{}", count(n), if n == 1 { "" } else { "s" });
    let what = match (n_again, n - n_again) {
        (again, 0) => format!("Please take {} once more", readings(again)),
        (0, new) => format!("Please take {} more", readings(new)),
        (again, new) => {
            format!("Please take {} once more and {} new", readings(again), readings(new))
        }
    };
    let greeting = match &ask.order.owner {
        Some(owner) => format!("Dear {owner},"),
        None => "Good day,".to_owned(),
    };
    Ok(Questions {
        head: Head::of(
            ask,
            format!("{} question{}", capital(&count(n)), if n == 1 { "" } else { "s" }),
            paper,
        ),
        unit: ask.owner_units().name(),
        greeting,
        opening: format!(
            "Thank you for measuring. {what}, before we cut your cover. Everything else you sent is fine."
        ),
        asked,
        fittings,
        link: link(ask, album)?,
    })
}

fn of_pane(
    ask: &SheetsAsk<'_>,
    pane: &PaneReadings,
    judgement: &Judgement,
    question: &Question,
    number: usize,
    album: &mut Album,
) -> Result<Asked, SheetError> {
    let voice = voice_of(ask.order, pane);
    let name = question.reading;
    let inside = name.side == Side::Inside;
    let guide = Guide {
        judgement,
        voice: &voice,
        spans: vec![(number.to_string(), name)],
        inside,
        chosen: true,
        blade: None,
        room: ROOM,
        title: format!("{}, question {number}", pane.name),
    };
    let seen = if inside { "seen from inside" } else { "seen from outside" };
    let title = capital(&voice.name(name));
    let picture = album.drawing(&guide.drawing(), &format!("{title}, {seen}"))?;
    Ok(Asked {
        number,
        pane: capital(&pane.name),
        title,
        again: question.again,
        place: sentence(&where_to_put_the_tape(name, judgement.small, pane.family, &voice)),
        why: why(ask, pane, judgement, question),
        picture,
    })
}

/// Why it is asked. What we expect is not told: who knows it reads it off the tape.
fn why(
    ask: &SheetsAsk<'_>,
    pane: &PaneReadings,
    judgement: &Judgement,
    question: &Question,
) -> String {
    let name = question.reading;
    let units = ask.owner_units();
    let read = pane.readings.iter().find(|reading| reading.name == name);
    let rise = in_a_hundred(question.gain);
    let worth = match (rise, name.span) {
        (0, Span::Band(_) | Span::Blocked(_)) => {
            "It tells us where magnets can sit unseen.".to_owned()
        }
        (0, _) => "It tells us most about the shape of your glass.".to_owned(),
        (n, _) => format!("With it, {n} more in 100 such covers would fit."),
    };
    match read {
        Some(read) => {
            let noted: Vec<String> = read.taken.iter().map(|t| units.of(t.length)).collect();
            let doubted = judgement.doubts.iter().any(|d| d.readings.contains(&name));
            let reason = match doubted {
                true => "it does not go with your other numbers",
                false => "nothing else checks it",
            };
            format!("You wrote {}, and {reason}. {worth}", noted.join(" and "))
        }
        None => match name.span {
            Span::Bend => "Some of your lengths were taken straight across the bent glass. This tells us by how \
                           much they fall short."
                .to_owned(),
            _ => worth,
        },
    }
}
