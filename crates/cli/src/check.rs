//! `paneloft check`: can the readings be trusted?

use std::path::{Path, PathBuf};
use std::thread;

use export::write_svg;
use shop::{
    Beside, CheckAnswer, MadeFile, Order, by_importance, doubt_words, judge_order, picture_of_pane,
    safe_file_name, write_folder,
};
use survey::{GlassBook, Judgement, PaneReadings, Policy, Verdict, in_a_hundred};

use crate::files::{book_of, name_of, order_of, parent_of, policy_of};
use crate::outcome::{Answer, Outcome};
use crate::say;

/// Orders judged at a time by each thread, before their answers are written.
const BATCH: usize = 16;

type Judged = Result<(Order, Vec<Judgement>, Beside), String>;

/// Judges the orders and says what was found, in the order they were named.
pub(crate) fn check(
    orders: &[PathBuf],
    book: Option<&Path>,
    policy: Option<&Path>,
    json: bool,
    svg: Option<&Path>,
) -> Answer {
    let (book, policy) = (book_of(book)?, policy_of(policy)?);
    if svg.is_some() && orders.len() > 1 {
        return Err("--svg draws one order; name one, or draw each by itself".into());
    }
    let n_threads = thread::available_parallelism().map_or(1, usize::from);
    let mut worst = Outcome::Settled;
    for (i, batch) in orders.chunks(BATCH * n_threads).enumerate() {
        for (j, judged) in judge_all(batch, &book, &policy, n_threads).into_iter().enumerate() {
            worst = worst.max(match judged {
                Ok((order, judgements, beside)) => {
                    if json {
                        let answer = CheckAnswer::of(&order.reference, &judgements, &beside);
                        say::json_line(&say::to_value(&answer));
                    } else {
                        if i + j > 0 {
                            say::line("");
                        }
                        tell(&order, &judgements, &beside);
                    }
                    if let Some(path) = svg {
                        draw(path, &order, &judgements)?;
                    }
                    outcome_of(&judgements, &beside)
                }
                Err(message) => {
                    say::error(&message);
                    Outcome::Unusable
                }
            });
        }
    }
    Ok(worst)
}

fn judge_all(
    paths: &[PathBuf],
    book: &GlassBook,
    policy: &Policy,
    n_threads: usize,
) -> Vec<Judged> {
    let judge = |path: &PathBuf| -> Judged {
        let order = order_of(path)?;
        let judgements = judge_order(&order, book, policy)
            .map_err(|fault| format!("{}: {fault}", path.display()))?;
        let beside = Beside::of(&order, &judgements, policy);
        Ok((order, judgements, beside))
    };
    let share = paths.len().div_ceil(n_threads).max(1);
    thread::scope(|scope| {
        let parts: Vec<_> = paths
            .chunks(share)
            .map(|part| scope.spawn(move || part.iter().map(judge).collect::<Vec<_>>()))
            .collect();
        parts.into_iter().flat_map(|part| part.join().expect("judging does not panic")).collect()
    })
}

/// Draws each pane of an order.
fn draw(path: &Path, order: &Order, judgements: &[Judgement]) -> Result<(), String> {
    let name = name_of(path)?;
    let several = judgements.len() > 1;
    let (stem, ending) = name.rsplit_once('.').unwrap_or((&name, "svg"));
    let picture = |(pane, judgement): (&PaneReadings, &Judgement)| {
        let drawing = picture_of_pane(order, pane, judgement, None);
        let svg = write_svg(&drawing).map_err(|fault| fault.to_string())?;
        let name = match several {
            true => format!("{stem}-{}.{ending}", safe_file_name(&pane.name)),
            false => name.clone(),
        };
        Ok(MadeFile { name, kind: "picture", bytes: svg.into_bytes() })
    };
    let files: Result<Vec<MadeFile>, String> =
        order.panes.iter().zip(judgements).map(picture).collect();
    let owner = format!("picture-{}", safe_file_name(&name));
    write_folder(parent_of(path), &owner, &files?).map_err(|fault| fault.to_string())
}

/// How a judged order ends a command.
fn outcome_of(judgements: &[Judgement], beside: &Beside) -> Outcome {
    let panes = judgements.iter().all(|j| j.verdict == Verdict::Accept);
    match panes && beside.is_settled() {
        true => Outcome::Settled,
        false => Outcome::ToAsk,
    }
}

/// Says what was found in words.
fn tell(order: &Order, judgements: &[Judgement], beside: &Beside) {
    let owner = order.owner.as_deref().unwrap_or_default();
    say::line(format!("{}  {owner}", say::styled(say::STRONG, &order.reference)).trim_end());
    let longest = judgements.iter().map(|j| j.name.chars().count()).max().unwrap_or(0);
    for (judgement, remarks) in judgements.iter().zip(&beside.remarks) {
        let verdict = match judgement.verdict {
            Verdict::Accept => "can be cut",
            Verdict::Ask => "ask first",
            Verdict::Refuse => "cannot be cut",
        };
        let name = format!("{:longest$}", judgement.name);
        say::line(&format!(
            "  {}  {verdict:13}  {:3} in 100 such covers would fit",
            say::styled(say::STRONG, &name),
            in_a_hundred(judgement.chance_of_fit)
        ));
        for doubt in by_importance(judgement) {
            say::line(&say::styled(say::DOUBT, &format!("    ! {}", doubt_words(doubt))));
        }
        for question in &judgement.questions {
            say::line(&say::styled(say::NEXT, &format!("    ? {}", question.message)));
        }
        for remark in remarks {
            say::line(&format!("    . {remark}"));
        }
    }
    for fitting in beside.blades.iter().chain(&beside.hoods).filter(|f| !f.doubts.is_empty()) {
        say::line(&format!("  {}  ask first", say::styled(say::STRONG, &fitting.name)));
        for doubt in &fitting.doubts {
            say::line(&say::styled(say::DOUBT, &format!("    ! {}", doubt.message)));
        }
        for question in &fitting.questions {
            say::line(&say::styled(say::NEXT, &format!("    ? {}", question.message)));
        }
    }
}
