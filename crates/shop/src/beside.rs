//! What is found in an order beside its panes' outlines: remarks on each pane, and what is doubted
//! of blades and mirror housings.

use geometry::Length;
use survey::bend::bend_remarks;
use survey::{
    Family, FittingJudgement, Half, Judgement, PaneReadings, Policy, ReadingName, Source, Verdict,
    judge_blades, judge_hoods,
};

use crate::chain::voice_of;
use crate::order::Order;

/// A slip of that size should not pass unseen; chosen by us: the commonest one, of an inch.
const SLIP: Length = Length::from_mm(25.4);

/// What is said of an order beside its panes' doubts.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// For each pane the readings that nothing else checks.
    pub unchecked: Vec<Vec<ReadingName>>,
    /// For each pane what its maker should know, in plain sentences.
    pub remarks: Vec<Vec<String>>,
    /// Each blade.
    pub blades: Vec<FittingJudgement>,
    /// Each mirror housing.
    pub hoods: Vec<FittingJudgement>,
}

impl Beside {
    /// Finds it, given the judgements of the order's panes.
    #[must_use]
    pub fn of(order: &Order, judgements: &[Judgement], policy: &Policy) -> Self {
        let panes = || order.panes.iter().zip(judgements);
        let unchecked: Vec<_> = panes().map(|(_, judgement)| judgement.unchecked(SLIP)).collect();
        let remarks = panes()
            .zip(&unchecked)
            .map(|((pane, judgement), unchecked)| {
                let voice = voice_of(order, pane);
                let mut remarks = bend_remarks(pane, judgement, &policy.errors, &voice);
                remarks.extend(corners_remark(pane, judgement));
                remarks.extend(voice.unchecked(unchecked));
                remarks
            })
            .collect();
        let class = order.vehicle.class;
        let Some(first) = order.panes.first() else {
            return Self { unchecked, remarks, blades: Vec::new(), hoods: Vec::new() };
        };
        let voice = voice_of(order, first);
        let blades = order
            .blades
            .iter()
            .map(|blade| screen_of(order, judgements, &blade.name))
            .collect::<Vec<_>>();
        // Blades of one screen are judged together; those of two halves, each on its own half.
        let same = blades.windows(2).all(|two| match (two[0], two[1]) {
            (Some(a), Some(b)) => std::ptr::eq(a, b),
            (None, None) => true,
            _ => false,
        });
        let blades = match same {
            true => {
                let screen = blades.first().copied().flatten();
                judge_blades(class, &order.blades, screen, &voice, policy)
            }
            false => order
                .blades
                .iter()
                .zip(blades)
                .flat_map(|(blade, screen)| {
                    judge_blades(class, std::slice::from_ref(blade), screen, &voice, policy)
                })
                .collect(),
        };
        let hoods = judge_hoods(class, &order.hoods, &voice, policy);
        Self { unchecked, remarks, blades, hoods }
    }

    /// Whether nothing is asked of blades and housings.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.blades.iter().chain(&self.hoods).all(|fitting| fitting.questions.is_empty())
    }
}

/// The judged screen a blade parks on: the windscreen, or the half that its name tells.
fn screen_of<'j>(order: &Order, judgements: &'j [Judgement], blade: &str) -> Option<&'j Judgement> {
    let screens = order.panes.iter().zip(judgements);
    let lower = blade.to_lowercase();
    let half = match (lower.contains("left"), lower.contains("right")) {
        (true, false) => Some(Half::Left),
        (false, true) => Some(Half::Right),
        _ => None,
    };
    let mut fitting = screens.filter(|(pane, judgement)| {
        let is_screen = match pane.family {
            Family::Windscreen => true,
            Family::HalfScreen => half.is_some() && pane.half == half,
            _ => false,
        };
        is_screen && judgement.verdict != Verdict::Refuse
    });
    let first = fitting.next()?;
    // Of two screens nobody says which is meant.
    fitting.next().is_none().then_some(first.1)
}

/// What would settle a pane of many corners that readings do not.
fn corners_remark(pane: &PaneReadings, judgement: &Judgement) -> Option<String> {
    let n = judgement.outline.corners().len();
    let unsettled = judgement.verdict == Verdict::Refuse && judgement.questions.is_empty();
    (n > 4 && unsettled && judgement.outline_source == Source::Class).then(|| {
        format!(
            "Tape readings reach four of the {n} corners of {}; a paper template of the others, or an \
             entry in the glass book, settles its outline.",
            pane.name
        )
    })
}
