//! What commands answer with `--json`: the same structs are written and described by the schemas.

use std::collections::BTreeMap;

use lay::Lay;
use schemars::JsonSchema;
use serde::Serialize;
use survey::{Depth, FittingJudgement, Judgement, SlipKind, Source, Station, Verdict};

use crate::beside::Beside;
use crate::chain::LaidPieces;
use crate::held_answer::HoldAnswer;
use crate::materials::{ClothNeed, Materials, PieceNeed};

/// Spellings of what a check may say of a pane.
fn verdicts() -> [&'static str; 3] {
    [Verdict::Accept, Verdict::Ask, Verdict::Refuse].map(Verdict::spelling)
}

/// Spellings of the slips a check may name.
fn kinds() -> [&'static str; 13] {
    [
        SlipKind::Inch,
        SlipKind::HalfInch,
        SlipKind::Foot,
        SlipKind::Ten,
        SlipKind::FractionDropped,
        SlipKind::DigitsExchanged,
        SlipKind::Unit,
        SlipKind::FrameIncluded,
        SlipKind::DotsIncluded,
        SlipKind::ReadingsExchanged,
        SlipKind::SidesExchanged,
        SlipKind::FrameIncludedEverywhere,
        SlipKind::Unexplained,
    ]
    .map(SlipKind::spelling)
}

/// Spellings of where a depth may come from.
fn sources() -> [&'static str; 4] {
    [Source::Reading, Source::Book, Source::Class, Source::Mirrored].map(Source::spelling)
}

/// Spellings of the places bands and blocked depths are told for.
fn stations() -> Vec<&'static str> {
    Station::ALL.iter().map(|station| station.spelling()).collect()
}

/// Lengths are told to the micrometre, probabilities to the millionth: beyond it digits say nothing.
pub(crate) fn rounded(value: f64, per_unit: f64) -> f64 {
    (value * per_unit).round() / per_unit
}

pub(crate) fn mm(length: geometry::Length) -> f64 {
    rounded(length.mm(), 1e3)
}

fn chance(probability: f64) -> f64 {
    rounded(probability, 1e6)
}

/// Whether an order's readings can be trusted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CheckAnswer {
    /// The order's reference.
    #[serde(rename = "ref")]
    pub reference: String,
    /// Its panes, in the order's order.
    pub panes: Vec<CheckedPane>,
    /// Its wiper blades.
    pub blades: Vec<CheckedFitting>,
    /// Its mirror housings.
    pub hoods: Vec<CheckedFitting>,
}

impl CheckAnswer {
    /// The answer for an order of that reference.
    #[must_use]
    pub fn of(reference: &str, judgements: &[Judgement], beside: &Beside) -> Self {
        let said = beside.unchecked.iter().zip(&beside.remarks);
        let panes =
            judgements.iter().zip(said).map(|(judgement, (unchecked, remarks))| CheckedPane {
                unchecked: unchecked.iter().map(ToString::to_string).collect(),
                remarks: remarks.clone(),
                ..CheckedPane::of(judgement)
            });
        let fittings = |all: &[FittingJudgement]| all.iter().map(CheckedFitting::of).collect();
        Self {
            reference: reference.to_owned(),
            panes: panes.collect(),
            blades: fittings(&beside.blades),
            hoods: fittings(&beside.hoods),
        }
    }
}

/// Whether the numbers of one blade or mirror housing can be trusted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CheckedFitting {
    /// Its name.
    pub name: String,
    /// What may be wrong, most probable first; readings are spelled as in its table: `length`,
    /// `heel.from_side`.
    pub doubts: Vec<DoubtAnswer>,
    /// What to ask.
    pub questions: Vec<QuestionAnswer>,
}

impl CheckedFitting {
    /// The answer for one.
    #[must_use]
    pub fn of(judgement: &FittingJudgement) -> Self {
        let doubts = judgement.doubts.iter().map(|doubt| DoubtAnswer {
            readings: vec![doubt.reading.to_owned()],
            kind: doubt.kind.spelling(),
            probability: chance(doubt.probability),
            suggested_mm: doubt.suggested.map(mm),
            corrected: false,
            message: doubt.message.clone(),
        });
        let questions = judgement.questions.iter().map(|question| QuestionAnswer {
            reading: question.reading.to_owned(),
            again: true,
            gain: 0.0,
            message: question.message.clone(),
        });
        Self {
            name: judgement.name.clone(),
            doubts: doubts.collect(),
            questions: questions.collect(),
        }
    }
}

/// Whether one pane's readings can be trusted.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CheckedPane {
    /// The pane's name.
    pub name: String,
    /// Cut from the readings, ask first, or measure anew.
    #[schemars(extend("enum" = verdicts()))]
    pub verdict: &'static str,
    /// Probability that a cover cut now fits.
    #[schemars(range(min = 0, max = 1))]
    pub chance_of_fit: f64,
    /// What may be wrong, most probable first.
    pub doubts: Vec<DoubtAnswer>,
    /// What to ask, most useful first.
    pub questions: Vec<QuestionAnswer>,
    /// The readings in which a slip of an inch would pass unseen, since nothing else checks them.
    pub unchecked: Vec<String>,
    /// What else its maker should know, in plain words.
    pub remarks: Vec<String>,
    /// The outline a cover would be cut from: x and y, anticlockwise.
    pub outline_mm: Vec<[f64; 2]>,
    /// Standard deviation of each of its points, square to the edge.
    pub outline_sd_mm: Vec<f64>,
    /// Width of the solid black band.
    #[schemars(extend("propertyNames" = {"enum": stations()}))]
    pub band_mm: BTreeMap<&'static str, DepthAnswer>,
    /// How far in from the edge the inside is out of reach.
    #[schemars(extend("propertyNames" = {"enum": stations()}))]
    pub blocked_mm: BTreeMap<&'static str, DepthAnswer>,
}

impl CheckedPane {
    /// The answer for one pane.
    #[must_use]
    pub fn of(judgement: &Judgement) -> Self {
        let doubts = judgement.doubts.iter().map(|doubt| DoubtAnswer {
            readings: doubt.readings.iter().map(ToString::to_string).collect(),
            kind: doubt.kind.spelling(),
            probability: chance(doubt.probability),
            suggested_mm: doubt.suggested.map(mm),
            corrected: doubt.corrected,
            message: doubt.message.clone(),
        });
        let questions = judgement.questions.iter().map(|question| QuestionAnswer {
            reading: question.reading.to_string(),
            again: question.again,
            gain: chance(question.gain),
            message: question.message.clone(),
        });
        let depths = |depths: &[Depth]| {
            let answer = |d: &Depth| DepthAnswer {
                value: mm(d.value),
                sd: mm(d.sd),
                from: d.from.spelling(),
            };
            depths.iter().map(|depth| (depth.station.spelling(), answer(depth))).collect()
        };
        Self {
            name: judgement.name.clone(),
            verdict: judgement.verdict.spelling(),
            chance_of_fit: chance(judgement.chance_of_fit),
            doubts: doubts.collect(),
            questions: questions.collect(),
            unchecked: Vec::new(),
            remarks: Vec::new(),
            outline_mm: judgement.edge.iter().map(|p| [mm(p.at.x()), mm(p.at.y())]).collect(),
            outline_sd_mm: judgement.edge.iter().map(|point| mm(point.sd)).collect(),
            band_mm: depths(&judgement.bands),
            blocked_mm: depths(&judgement.blocked),
        }
    }
}

/// Something that may be wrong with readings.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DoubtAnswer {
    /// The readings concerned, such as `outside.height.left`.
    pub readings: Vec<String>,
    /// How they are probably wrong.
    #[schemars(extend("enum" = kinds()))]
    pub kind: &'static str,
    /// Probability of that explanation, given all readings.
    #[schemars(range(min = 0, max = 1))]
    pub probability: f64,
    /// What the first of them probably should be; null when nothing can be suggested.
    pub suggested_mm: Option<f64>,
    /// Whether the outline is as if it were so.
    pub corrected: bool,
    /// In plain words.
    pub message: String,
}

/// Something to ask the owner.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct QuestionAnswer {
    /// What to read.
    pub reading: String,
    /// Whether it was read before.
    pub again: bool,
    /// How much the answer raises the chance of fit, once those before it are answered; 0 for what is
    /// no pane's.
    pub gain: f64,
    /// In plain words.
    pub message: String,
}

/// A depth in from the glass edge at one place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct DepthAnswer {
    /// Most probable depth, millimetres.
    pub value: f64,
    /// Its standard deviation, millimetres.
    #[schemars(range(min = 0))]
    pub sd: f64,
    /// Where it comes from.
    #[schemars(extend("enum" = sources()))]
    pub from: &'static str,
}

/// Force of one magnet pair.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct PullAnswer {
    /// Towards each other, newtons; negative when they push apart.
    pub pull_n: f64,
    /// Sideways along the offset, newtons; positive when it pulls back to centre.
    pub slide_n: f64,
    /// On the outer magnet, newtons: x, y, and z pointing away from the inner one.
    pub force_n: [f64; 3],
    /// Between the facing poles, millimetres.
    pub gap_mm: f64,
    /// Where one side is iron, `pull_n` being that of a wide thick plate: what this disc holds,
    /// newtons.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub iron_disc_n: Option<f64>,
    /// Forces at neighbouring gaps and temperatures, when asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub table: Vec<PullRow>,
    /// What to beware of, with figures.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
}

/// Forces of a magnet pair at one gap and temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PullRow {
    /// Between the facing poles, millimetres.
    pub gap_mm: f64,
    /// Of both, degrees Celsius.
    pub celsius: f64,
    /// Towards each other, centred, newtons.
    pub pull_n: f64,
    /// The most that draws back along x, newtons; nothing at iron.
    pub peak_slide_n: f64,
    /// How far aside that is, millimetres.
    pub peak_at_mm: f64,
    /// Whether some strength is lost for good that hot; null where the grade is not known.
    pub loses_for_good: Option<bool>,
}

/// Pieces laid on cloth.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LayAnswer {
    /// Length of roll needed.
    #[schemars(range(min = 0))]
    pub length_mm: f64,
    /// Area of the pieces over area of the cloth.
    #[serde(rename = "use")]
    #[schemars(range(min = 0, max = 1))]
    pub use_: f64,
    /// Where each piece goes.
    pub places: Vec<PlaceAnswer>,
    /// The cloth, where it has a name.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cloth: Option<String>,
    /// Lays of the other cloths that the same orders take.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<LayAnswer>,
}

impl LayAnswer {
    /// The answer for lays of several cloths; the first bears the others.
    #[must_use]
    pub fn of_laid(laid: &[LaidPieces<'_>]) -> Option<Self> {
        let named = |laid: &LaidPieces<'_>| Self {
            cloth: Some(laid.cloth.name.clone()),
            ..Self::of(&laid.lay)
        };
        let (first, others) = laid.split_first()?;
        Some(Self { others: others.iter().map(named).collect(), ..named(first) })
    }

    /// The answer for a lay. Places keep every digit, so that what does not overlap still doesn't.
    #[must_use]
    pub fn of(lay: &Lay) -> Self {
        let place = |place: &lay::Place| PlaceAnswer {
            name: place.name.clone(),
            x_mm: place.at.x().mm(),
            y_mm: place.at.y().mm(),
            turn_deg: rounded(place.turn.degrees(), 1e9),
        };
        Self {
            length_mm: lay.length.mm(),
            use_: lay.use_,
            places: lay.places.iter().map(place).collect(),
            cloth: None,
            others: Vec::new(),
        }
    }
}

/// Where one piece goes: turn the given outline about its own origin, then move it by x and y.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PlaceAnswer {
    /// Name of the shape.
    pub name: String,
    /// Along the roll, from its cut end.
    pub x_mm: f64,
    /// Across the roll, from the lower selvedge.
    pub y_mm: f64,
    /// Anticlockwise.
    pub turn_deg: f64,
}

/// What was made of an order.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MakeAnswer {
    /// The order's reference.
    #[serde(rename = "ref")]
    pub reference: String,
    /// The release it was made from, when it is a stored one.
    pub release: Option<String>,
    /// Its panes.
    pub panes: Vec<PaneAnswer>,
    /// What it takes.
    pub materials: MaterialsAnswer,
    /// The files written.
    pub files: Vec<FileAnswer>,
}

/// What an order takes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MaterialsAnswer {
    /// Each piece, all copies of it.
    pub pieces: Vec<PieceNeedAnswer>,
    /// Each cloth.
    pub cloths: Vec<ClothAnswer>,
    /// Thread.
    pub thread_mm: f64,
    /// Binding tape.
    pub binding_mm: f64,
    /// How many magnets of each specification.
    pub magnets: BTreeMap<String, usize>,
    /// Labels.
    pub n_labels: usize,
}

/// What one piece takes, all copies of it.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PieceNeedAnswer {
    /// Its name.
    pub name: String,
    /// Its cloth.
    pub cloth: String,
    /// How many are cut.
    pub count: u32,
    /// Cloth inside the cut lines.
    pub area_mm2: f64,
    /// Thread.
    pub thread_mm: f64,
}

/// What is needed of one cloth.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ClothAnswer {
    /// Its name.
    pub name: String,
    /// Its usable width.
    pub width_mm: f64,
    /// Area of the pieces.
    pub area_mm2: f64,
    /// Length of roll, one piece after another; the lay takes less.
    pub length_mm: f64,
}

impl MaterialsAnswer {
    /// The answer for an order.
    #[must_use]
    pub fn of(materials: &Materials) -> Self {
        let area = |area: geometry::Area| rounded(area.mm2(), 1e3);
        let piece = |piece: &PieceNeed| PieceNeedAnswer {
            name: piece.name.clone(),
            cloth: piece.cloth.clone(),
            count: piece.count,
            area_mm2: area(piece.area),
            thread_mm: mm(piece.thread),
        };
        let cloth = |cloth: &ClothNeed| ClothAnswer {
            name: cloth.name.clone(),
            width_mm: mm(cloth.width),
            area_mm2: area(cloth.area),
            length_mm: mm(cloth.length),
        };
        Self {
            pieces: materials.pieces.iter().map(piece).collect(),
            cloths: materials.cloths.iter().map(cloth).collect(),
            thread_mm: mm(materials.thread),
            binding_mm: mm(materials.binding),
            magnets: materials.magnets.iter().cloned().collect(),
            n_labels: materials.n_labels,
        }
    }
}

/// What was made for one pane.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PaneAnswer {
    /// The pane's name.
    pub name: String,
    /// Cut from the readings, ask first, or measure anew.
    #[schemars(extend("enum" = verdicts()))]
    pub verdict: &'static str,
    /// Probability that the cover fits.
    #[schemars(range(min = 0, max = 1))]
    pub chance_of_fit: f64,
    /// Names of the pieces drafted; none when the readings were refused.
    pub pieces: Vec<String>,
    /// How many magnet pairs it holds by.
    pub n_grips: usize,
    /// What holds it, and in what wind.
    pub hold: HoldAnswer,
}

/// A file written.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FileAnswer {
    /// Path below the output folder, parted by `/`.
    pub path: String,
    /// What it is: `cut`, `drawing`, `sheet`, `label`, `lay`, `order` or another word.
    pub kind: String,
    /// Its size.
    pub bytes: u64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_are_those_relied_on_from_outside() {
        assert_eq!(verdicts(), ["accept", "ask", "refuse"]);
        assert_eq!(sources(), ["reading", "book", "class", "mirrored"]);
        assert_eq!(
            kinds().join(" "),
            "inch half-inch foot ten fraction-dropped digits-exchanged unit frame-included \
             dots-included readings-exchanged sides-exchanged frame-included-everywhere unexplained"
        );
    }
}
