//! Can these readings be trusted, what would a cover cut now be worth, and what should be asked?
//!
//! `judge` takes the readings of one pane and gives the outline a cover would be cut from, how well
//! it is known, the chance that the cover fits, the readings that are probably wrong, and the
//! questions whose answers save most. A question is worth its expected rise in the chance of fit,
//! in remakes saved; it is asked while that is more than it costs. While an outline is far from
//! determined every question leaves the chance near nothing, and the one that narrows the edge
//! most is asked; several are asked at once, never one a day.

use geometry::{Length, Outline, Pane, Point};
use nalgebra::{DMatrix, DVector};
use thiserror::Error;

use crate::adjust::NotSettled;
use crate::bend::{Bending, supposed};
use crate::explain::{Component, Mixture, Origin, SlipKind, any_slipped, explain, meant, slipped};
use crate::fit::{Observation, Problem};
use crate::fitness::Trial;
use crate::learn::OutlineEvidence;
use crate::model::{EdgeMotion, Sight, edge_motion, see};
use crate::name::{Column, ReadingName, Side, Span, Station};
use crate::policy::Policy;
use crate::prior::{N_STATIONS, Prior, Source, outline_of};
use crate::reading::{BookEntry, PaneReadings, Vehicle};
use crate::standing::{SMALL_PANE, Standing};
use crate::words::Voice;

/// What to do with a pane's readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Cut from them.
    Accept,
    /// Ask first.
    Ask,
    /// No cover can be cut from them, whatever is asked: measure anew.
    Refuse,
}

impl Verdict {
    /// Its spelling in answers.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        match self {
            Self::Accept => "accept",
            Self::Ask => "ask",
            Self::Refuse => "refuse",
        }
    }
}

/// A finding about readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Doubt {
    /// The readings concerned.
    pub readings: Vec<ReadingName>,
    /// How they are probably wrong.
    pub kind: SlipKind,
    /// Probability of that explanation given everything.
    pub probability: f64,
    /// What the first of them probably should be.
    pub suggested: Option<Length>,
    /// Whether the outline was cut as if it were so.
    pub corrected: bool,
    /// One or two plain sentences.
    pub message: String,
}

/// What is asked of the owner.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// What to read.
    pub reading: ReadingName,
    /// Whether it was read before.
    pub again: bool,
    /// How much its answer raises the chance of fit, with the questions before it answered.
    pub gain: f64,
    /// A plain sentence.
    pub message: String,
}

/// How one reading stands against the others.
#[derive(Clone, Debug, PartialEq)]
pub struct Standpoint {
    /// Which reading.
    pub name: ReadingName,
    /// Which taking of it, from 0.
    pub take: usize,
    /// What was read.
    pub read: Length,
    /// What all readings and the prior together expect there.
    pub expected: Length,
    /// Baarda's w statistic: how many standard deviations it stands off what the others say.
    pub w: f64,
    /// Smallest slip the others would find in it four times in five; `None` where nothing else
    /// controls it.
    pub detectable: Option<Length>,
    /// Probability that it slipped.
    pub slipped: f64,
    /// How it slipped, most probably, if it did.
    pub likeliest: Option<SlipKind>,
}

/// A depth at a station: band width or blocked depth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Depth {
    /// Where on the edge.
    pub station: Station,
    /// Most probable depth, square to the edge.
    pub value: Length,
    /// Its standard deviation.
    pub sd: Length,
    /// Where it comes from.
    pub from: Source,
}

/// One point of the outline with how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgePoint {
    /// Where.
    pub at: Point<Pane>,
    /// Standard deviation square to the edge, in the pane's frame.
    pub sd: Length,
}

/// The answer about one pane.
#[derive(Clone, Debug)]
pub struct Judgement {
    /// The pane's name.
    pub name: String,
    /// What to do.
    pub verdict: Verdict,
    /// Probability that a cover cut now fits.
    pub chance_of_fit: f64,
    /// Probability that any reading slipped.
    pub slipped: f64,
    /// Findings about readings, most probable first.
    pub doubts: Vec<Doubt>,
    /// What to ask, most useful first; to be sent together.
    pub questions: Vec<Question>,
    /// The outline a cover would be cut from.
    pub outline: Outline,
    /// Whether the pane is small (shorter than 500 mm), so that places on it are in thirds.
    pub small: bool,
    /// Where an unread outline would come from: the glass book or the class.
    pub outline_source: Source,
    /// The outline as points, anticlockwise, with how well each is known.
    pub edge: Vec<EdgePoint>,
    /// Each reading against the others.
    pub readings: Vec<Standpoint>,
    /// Band width at every station, in [`Station::ALL`] order.
    pub bands: Vec<Depth>,
    /// Blocked depth at every station, in the same order.
    pub blocked: Vec<Depth>,
    /// Covariance, mm², of all bands and then all blocked depths.
    pub depth_covariance: DMatrix<f64>,
    /// Where each station lies on the outline.
    pub stations: Vec<(Station, Point<Pane>)>,
    /// What the readings alone say of the outline, for the glass book to learn from.
    pub evidence: Option<OutlineEvidence>,
}

impl Judgement {
    /// The outside lengths in which a slip of that size would probably pass unseen, since neither the
    /// other readings nor what is known of the pane check them: to be read twice.
    #[must_use]
    pub fn unchecked(&self, slip: Length) -> Vec<ReadingName> {
        let passes = |r: &&Standpoint| r.detectable.is_none_or(|least| least > slip);
        let lengths = self.readings.iter().filter(|r| r.name.is_outside_length());
        let mut names: Vec<ReadingName> = lengths.filter(passes).map(|r| r.name).collect();
        names.dedup();
        names
    }
}

/// Why a pane cannot be judged at all.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum JudgeError {
    /// A reading of something this pane does not have.
    #[error(
        "pane `{pane}` has no {reading} to read: its outline has {n_corners} corners; take the \
         reading out, or check which pane it belongs to"
    )]
    NoSuchSpan {
        /// The pane.
        pane: String,
        /// The reading.
        reading: ReadingName,
        /// Corners of its outline.
        n_corners: usize,
    },
    /// The glass book's entry is no outline.
    #[error("the glass book's entry for pane `{pane}` is no outline; mend or remove that entry")]
    Entry {
        /// The pane.
        pane: String,
    },
    /// No outline comes near the readings.
    #[error(
        "pane `{pane}`: no outline agrees with its readings even roughly; check that they belong \
         to one pane and are in the unit stated, then measure the heights and widths anew"
    )]
    NoOutline {
        /// The pane.
        pane: String,
    },
}

/// Judges one pane.
///
/// `entry` is what the glass book knows of it, if anything; `voice` is how to speak to the reader.
///
/// # Errors
/// When there is no honest answer: a reading of a span the pane lacks, a broken book entry, or
/// readings that no outline comes near.
pub fn judge(
    vehicle: &Vehicle,
    pane: &PaneReadings,
    entry: Option<&BookEntry>,
    voice: &Voice,
    policy: &Policy,
) -> Result<Judgement, JudgeError> {
    let mut judgement = as_read(vehicle, pane, entry, voice, policy)?;
    if let Some(with_bend) = supposed(pane, &policy.errors) {
        let known = as_read(vehicle, &with_bend, entry, voice, policy)?;
        let gain = (known.chance_of_fit - judgement.chance_of_fit).max(0.0);
        let reading = ReadingName::outside(Span::Bend);
        let message = voice.bend_question();
        judgement.questions.insert(0, Question { reading, again: false, gain, message });
        if known.verdict != Verdict::Refuse {
            judgement.verdict = Verdict::Ask;
        }
    }
    Ok(judgement)
}

fn as_read(
    vehicle: &Vehicle,
    pane: &PaneReadings,
    entry: Option<&BookEntry>,
    voice: &Voice,
    policy: &Policy,
) -> Result<Judgement, JudgeError> {
    if entry.is_none() && pane.corners.is_some_and(|n| n != 4) {
        return best_form(vehicle, pane, voice, policy);
    }
    let prior = Prior::of(vehicle, pane, entry);
    let by_book = weigh(&prior, pane, voice, policy);
    // Readings at odds with the book may belong to another vehicle.
    let at_odds = match &by_book {
        Ok(weighed) => weighed.strained,
        Err(error) => matches!(error, JudgeError::NoOutline { .. }),
    };
    if entry.is_none() || !at_odds {
        return by_book.map(|w| w.judgement);
    }
    let Ok(alone) = weigh(&Prior::of(vehicle, pane, None), pane, voice, policy) else {
        return by_book.map(|w| w.judgement);
    };
    let other = match &by_book {
        Ok(book) => 1.0 / (1.0 + (book.evidence - alone.evidence).exp() / OTHER_VEHICLE),
        Err(_) => 1.0,
    };
    match by_book {
        Ok(book) if other < 0.5 => Ok(book.judgement),
        _ => Ok(not_this_vehicle(alone.judgement, voice, other)),
    }
}

/// A judgement of a pane that may have several forms, by the form its readings make likeliest. Where
/// another is nearly as likely, the reading that tells them apart best is asked for.
fn best_form(
    vehicle: &Vehicle,
    pane: &PaneReadings,
    voice: &Voice,
    policy: &Policy,
) -> Result<Judgement, JudgeError> {
    let (mut weighed, mut faults) = (Vec::new(), Vec::new());
    for prior in Prior::of_each_form(vehicle, pane) {
        match weigh(&prior, pane, voice, policy) {
            Ok(form) => weighed.push(form),
            Err(fault) => faults.push(fault),
        }
    }
    weighed.sort_by(|a, b| b.evidence.total_cmp(&a.evidence));
    let mut forms = weighed.into_iter();
    let Some(best) = forms.next() else { return Err(faults.swap_remove(0)) };
    let others: Vec<Weighed> = forms.collect();
    let against: f64 = others.iter().map(|other| (other.evidence - best.evidence).exp()).sum();
    let mut judgement = best.judgement;
    if best.strained && judgement.doubts.is_empty() {
        return Err(JudgeError::NoOutline { pane: pane.name.clone() });
    }
    judgement.chance_of_fit /= 1.0 + against;
    if against > OTHER_FORM
        && let Some(other) = others.first()
        && let Some(name) = telling(&judgement, &other.judgement, pane)
    {
        judgement.questions.retain(|q| q.reading != name);
        let gain = judgement.chance_of_fit * against;
        let message = voice.form_question(name);
        judgement.questions.insert(0, Question { reading: name, again: false, gain, message });
        if judgement.verdict == Verdict::Accept {
            judgement.verdict = Verdict::Ask;
        }
    }
    if judgement.verdict == Verdict::Accept && judgement.chance_of_fit < policy.fit.least_chance {
        judgement.verdict = Verdict::Refuse;
    }
    Ok(judgement)
}

/// Odds from which another form is asked about; chosen by us: a remake in twenty.
const OTHER_FORM: f64 = 0.05;

/// The outside reading not yet taken in which two outlines differ most.
fn telling(a: &Judgement, b: &Judgement, pane: &PaneReadings) -> Option<ReadingName> {
    let [one, other] = [a, b].map(|j| Standing::of(&j.outline, j.small));
    let (one, other) = (one?, other?);
    let apart = |span: Span| Some((one.read(span, None)? - other.read(span, None)?).abs());
    Span::all()
        .into_iter()
        .filter(|span| pane.readings.iter().all(|r| r.name != ReadingName::outside(*span)))
        .filter_map(|span| Some((span, apart(span)?)))
        .max_by(|x, y| x.1.total_cmp(&y.1))
        .map(|(span, _)| ReadingName::outside(span))
}

/// Odds that an order names another vehicle than the one that was measured; chosen by us: names of
/// models are confused about as often as a frame is measured all round.
const OTHER_VEHICLE: f64 = 0.01;

/// A judgement by the readings alone, with one doubt that says why.
fn not_this_vehicle(mut judgement: Judgement, voice: &Voice, probability: f64) -> Judgement {
    let mut readings: Vec<ReadingName> = judgement.readings.iter().map(|r| r.name).collect();
    readings.retain(|name| name.is_outside_length());
    readings.dedup();
    let doubt = Doubt {
        readings,
        kind: SlipKind::Unexplained,
        probability,
        suggested: None,
        corrected: true,
        message: voice.other_vehicle(probability),
    };
    judgement.doubts.insert(0, doubt);
    if judgement.verdict == Verdict::Accept {
        judgement.verdict = Verdict::Ask;
    }
    judgement
}

/// A judgement and how probable its prior made the readings.
struct Weighed {
    judgement: Judgement,
    evidence: f64,
    strained: bool,
}

/// As [`judge`], with a prior of the caller's own.
///
/// # Errors
/// As [`judge`].
pub fn judge_with(
    prior: &Prior,
    pane: &PaneReadings,
    voice: &Voice,
    policy: &Policy,
) -> Result<Judgement, JudgeError> {
    weigh(prior, pane, voice, policy).map(|w| w.judgement)
}

fn weigh(
    prior: &Prior,
    pane: &PaneReadings,
    voice: &Voice,
    policy: &Policy,
) -> Result<Weighed, JudgeError> {
    let small = is_small(prior, pane);
    let (observations, origins, hidden) = observe(pane, policy);
    can_be_read(prior, pane, small, &observations, &origins)?;
    let no_outline = || JudgeError::NoOutline { pane: pane.name.clone() };
    let problem = Problem::new(prior, small, observations, hidden)
        .ok_or_else(|| JudgeError::Entry { pane: pane.name.clone() })?;
    let mixture =
        explain(&problem, &origins, &policy.slips, policy.fit.caution).map_err(|e| match e {
            NotSettled::Start => JudgeError::Entry { pane: pane.name.clone() },
            NotSettled::Open | NotSettled::Steps { .. } => no_outline(),
        })?;
    let best = &mixture.components[0];
    let n = 4 * prior.n_corners;
    let state = best.state.as_slice();
    let coarse = edge_motion(prior.n_corners, state, small, 3.0, 180.0).ok_or_else(no_outline)?;
    let trial = Trial::new(&coarse, policy);
    let cut = best.state.rows(0, n).into_owned();
    let weighted: Vec<(f64, &Component)> =
        mixture.components.iter().map(|c| (c.weight, c)).collect();
    let chance = trial.chance(&weighted, &cut, 1.0, |c| c.spread.head(n));
    let doubts = doubts(&problem, &origins, &mixture, voice, policy);
    let asker = Asker::new(&problem, &mixture, &trial, &coarse);
    let questions = asker.questions(pane, &origins, &doubts, chance, voice, policy);
    let after = chance + questions.iter().map(|q| q.gain).sum::<f64>();
    let verdict = match (questions.is_empty(), chance >= policy.fit.least_chance) {
        (true, true) => Verdict::Accept,
        (true, false) => Verdict::Refuse,
        (false, _) if after < policy.fit.least_chance => Verdict::Refuse,
        (false, _) => Verdict::Ask,
    };
    let fine = edge_motion(prior.n_corners, state, small, 0.05, 60.0).ok_or_else(no_outline)?;
    let outline = outline_of(prior.n_corners, state, fine.origin).ok_or_else(no_outline)?;
    let stations = stations(&outline, small);
    let covariance = best.spread.whole();
    let depths = covariance.view((n, n), (2 * N_STATIONS, 2 * N_STATIONS)).into_owned();
    let judgement = Judgement {
        name: pane.name.clone(),
        verdict,
        chance_of_fit: chance,
        slipped: any_slipped(&mixture),
        doubts,
        questions,
        outline,
        small,
        outline_source: prior.outline_source,
        edge: edge_points(&fine, &covariance),
        readings: standpoints(&problem, &origins, &mixture),
        bands: depth_list(prior, &problem, (&best.state, &covariance), true),
        blocked: depth_list(prior, &problem, (&best.state, &covariance), false),
        depth_covariance: depths,
        stations,
        evidence: OutlineEvidence::beyond(
            (
                &prior.mean.rows(0, n).into_owned(),
                &prior.covariance.view((0, 0), (n, n)).into_owned(),
            ),
            (&cut, &best.spread.head(n)),
        ),
    };
    Ok(Weighed { judgement, evidence: mixture.evidence, strained: mixture.strained })
}

/// Whether the pane is shorter than 500 mm: by its read height, else by what is expected.
fn is_small(prior: &Prior, pane: &PaneReadings) -> bool {
    let read = |column: Column| {
        let name = ReadingName::outside(Span::Height(column));
        let reading = pane.readings.iter().find(|r| r.name == name)?;
        reading.taken.first().map(|t| t.length)
    };
    let expected = || {
        let ys = (0..prior.n_corners).map(|i| prior.mean[2 * i + 1]);
        let (low, high) = ys.fold((f64::MAX, f64::MIN), |(l, h), y| (l.min(y), h.max(y)));
        Length::from_mm(high - low)
    };
    [Column::Centre, Column::Left, Column::Right]
        .into_iter()
        .find_map(read)
        .unwrap_or_else(expected)
        < SMALL_PANE
}

/// The pane's readings as observations; a taking counts by itself. The last list holds the stations
/// where no band is visible from inside.
fn observe(pane: &PaneReadings, policy: &Policy) -> (Vec<Observation>, Vec<Origin>, Vec<Station>) {
    let (mut observations, mut origins, mut hidden) = (Vec::new(), Vec::new(), Vec::new());
    let bending = Bending::of(pane, &policy.errors);
    for reading in &pane.readings {
        let place = reading.place.map(|l| l.mm());
        for (take, tape) in reading.taken.iter().enumerate() {
            let sight = match (reading.name.side, reading.name.span) {
                (_, Span::Bend | Span::BendUp) => continue,
                (Side::Inside, Span::Height(column)) => Sight::InsideHeight(column, place),
                (Side::Inside, Span::Width(level)) => {
                    Sight::InsideWidth(level, place, bending.thickness_and_bend())
                }
                (Side::Inside, Span::Band(station)) if tape.length.mm() <= 0.0 => {
                    hidden.push(station);
                    continue;
                }
                (Side::Inside, Span::Band(station)) => Sight::VisibleBand(station),
                (Side::Outside, Span::Band(station)) => Sight::Band(station),
                (_, Span::Blocked(station)) => Sight::Blocked(station),
                (_, span) if tape.straight && span.is_length() => {
                    Sight::Straight(span, place, bending.height.mm())
                }
                (_, span) => Sight::Outline(span, place),
            };
            let ReadingName { side, span } = reading.name;
            let mut sd = policy.errors.sd_mm(side, span, tape.length, tape.graduation);
            if tape.rough {
                sd *= 2.5;
            }
            let mut variance = sd * sd;
            if tape.straight {
                variance += bending.variance(span, tape.length);
            }
            observations.push(Observation { sight, value: tape.length.mm(), variance });
            origins.push(Origin { name: reading.name, take, tape: tape.clone() });
        }
    }
    hidden.dedup();
    (observations, origins, hidden)
}

/// Checks that every span read exists on the pane as it is expected.
fn can_be_read(
    prior: &Prior,
    pane: &PaneReadings,
    small: bool,
    observations: &[Observation],
    origins: &[Origin],
) -> Result<(), JudgeError> {
    let seen = |sights: &[Sight]| see(prior.n_corners, prior.mean.as_slice(), small, sights);
    if seen(&[]).is_none() {
        return Err(JudgeError::Entry { pane: pane.name.clone() });
    }
    let sights: Vec<Sight> = observations.iter().map(|o| o.sight).collect();
    if seen(&sights).is_some() {
        return Ok(());
    }
    for (observation, origin) in observations.iter().zip(origins) {
        if seen(&[observation.sight]).is_none() {
            return Err(JudgeError::NoSuchSpan {
                pane: pane.name.clone(),
                reading: origin.name,
                n_corners: prior.n_corners,
            });
        }
    }
    Ok(())
}

/// Boundary points in the pane's frame: the outward movement there less that of the frame itself.
fn edge_points(motion: &EdgeMotion, covariance: &DMatrix<f64>) -> Vec<EdgePoint> {
    let n = motion.movement.ncols();
    let covariance = covariance.view((0, 0), (n, n));
    let origin = motion.origin;
    (0..motion.points.len())
        .map(|j| {
            let (p, normal) = (motion.points[j], motion.normals[j]);
            let frame = normal[0] * motion.origin_movement.row(0)
                + normal[1] * motion.origin_movement.row(1);
            let row = motion.movement.row(j) - frame;
            let variance = (&row * covariance * row.transpose())[(0, 0)].max(0.0);
            EdgePoint {
                at: Point::from_mm(p[0] - origin[0], p[1] - origin[1]),
                sd: Length::from_mm(variance.sqrt()),
            }
        })
        .collect()
}

fn stations(outline: &Outline, small: bool) -> Vec<(Station, Point<Pane>)> {
    let Some(standing) = Standing::of(outline, small) else { return Vec::new() };
    Station::ALL
        .iter()
        .filter_map(|&s| {
            let [x, y] = standing.station(s)?.at;
            Some((s, Point::from_mm(x, y)))
        })
        .collect()
}

fn standpoints(problem: &Problem<'_>, origins: &[Origin], mixture: &Mixture) -> Vec<Standpoint> {
    origins
        .iter()
        .enumerate()
        .map(|(i, origin)| Standpoint {
            name: origin.name,
            take: origin.take,
            read: Length::from_mm(problem.observations[i].value),
            expected: Length::from_mm(mixture.expected[i]),
            w: mixture.w[i],
            detectable: mixture.detectable[i].map(Length::from_mm),
            slipped: slipped(mixture, i),
            likeliest: likeliest(mixture, i).map(|(kind, ..)| kind),
        })
        .collect()
}

fn depth_list(
    prior: &Prior,
    problem: &Problem<'_>,
    (state, covariance): (&DVector<f64>, &DMatrix<f64>),
    band: bool,
) -> Vec<Depth> {
    let has = |wanted: Sight| problem.observations.iter().any(|o| o.sight == wanted);
    let read = |s: Station| {
        let both = has(Sight::Band(s)) && has(Sight::VisibleBand(s));
        if band { has(Sight::Band(s)) } else { both || has(Sight::Blocked(s)) }
    };
    let first = 4 * prior.n_corners + if band { 0 } else { N_STATIONS };
    let sources = if band { &prior.band_source } else { &prior.blocked_source };
    Station::ALL
        .iter()
        .map(|&station| {
            let i = first + station as usize;
            let from = match () {
                () if read(station) => Source::Reading,
                () if read(station.mirrored()) => Source::Mirrored,
                () => sources[station as usize],
            };
            Depth {
                station,
                value: Length::from_mm(state[i].max(0.0)),
                sd: Length::from_mm(covariance[(i, i)].max(0.0).sqrt()),
                from,
            }
        })
        .collect()
}

/// The likeliest way in which an observation slipped, if it did: kind, observations touched,
/// probability, and the most probable component in which it did. Explanations of one kind that touch
/// the same observations count together.
fn likeliest(
    mixture: &Mixture,
    observation: usize,
) -> Option<(SlipKind, Vec<usize>, f64, &Component)> {
    let mut kinds: Vec<(SlipKind, Vec<usize>, f64, &Component)> = Vec::new();
    for component in &mixture.components {
        for slip in &component.slips {
            let touched: Vec<usize> = slip.touches.iter().map(|t| t.0).collect();
            if slip.kind == SlipKind::Sloppy || !touched.contains(&observation) {
                continue;
            }
            match kinds.iter_mut().find(|k| k.0 == slip.kind && k.1 == touched) {
                Some(known) => known.2 += component.probability,
                None => kinds.push((slip.kind, touched, component.probability, component)),
            }
        }
    }
    kinds.into_iter().max_by(|a, b| a.2.total_cmp(&b.2))
}

/// Readings that probably slipped, each with its likeliest explanation.
fn doubts(
    problem: &Problem<'_>,
    origins: &[Origin],
    mixture: &Mixture,
    voice: &Voice,
    policy: &Policy,
) -> Vec<Doubt> {
    let best = &mixture.components[0];
    let mut doubts: Vec<Doubt> = Vec::new();
    for i in 0..origins.len() {
        if slipped(mixture, i) < policy.fit.doubt_at {
            continue;
        }
        let Some((kind, touched, probability, component)) = likeliest(mixture, i) else {
            continue;
        };
        let mut readings: Vec<(ReadingName, Length)> =
            touched.iter().map(|&t| (origins[t].name, origins[t].tape.length)).collect();
        readings.dedup_by_key(|r| r.0);
        let names: Vec<ReadingName> = readings.iter().map(|r| r.0).collect();
        if doubts.iter().any(|d| d.kind == kind && d.readings == names) {
            continue;
        }
        let exact = component.slips.iter().find(|s| s.kind == kind && s.touches[0].0 == touched[0]);
        let suggested = exact
            .and_then(|slip| meant(slip, touched[0], origins[touched[0]].tape.length.mm()))
            .or_else(|| expected(problem, &component.state, touched[0]));
        let corrected = best
            .slips
            .iter()
            .any(|s| s.kind == kind && s.touches.iter().any(|t| t.0 == touched[0]));
        let message = voice.doubt(kind, &readings, suggested, probability);
        doubts.push(Doubt { readings: names, kind, probability, suggested, corrected, message });
    }
    doubts.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    doubts
}

fn expected(problem: &Problem<'_>, state: &DVector<f64>, observation: usize) -> Option<Length> {
    let sight = problem.observations[observation].sight;
    let seen = see(problem.prior.n_corners, state.as_slice(), problem.small, &[sight])?;
    Some(Length::from_mm(seen.values[0]))
}

/// Looks for the questions that save most.
struct Asker<'a> {
    problem: &'a Problem<'a>,
    mixture: &'a Mixture,
    trial: &'a Trial<'a>,
    coarse: &'a EdgeMotion,
    /// Explanations probable enough to enter the gain of a question.
    considered: &'a [Component],
    /// Probability of all others, and the chance of fit under them as it is now.
    rest: (f64, f64),
}

/// A question under consideration.
#[derive(Clone)]
struct Candidate {
    name: ReadingName,
    again: bool,
    /// Observations it would settle.
    settles: Vec<usize>,
    /// Derivatives of the answer after the outline's parameters, at the most probable state.
    row: DVector<f64>,
    variance: f64,
}

/// Most questions sent at once.
const MOST_QUESTIONS: usize = 6;
/// Candidates whose gain is computed in full at each choice.
const N_CONSIDERED: usize = 4;
/// Explanations less probable than this keep out of the gain of a question.
const CONSIDERED_FROM: f64 = 2e-3;
/// Below this chance the outline counts as undetermined.
const UNDETERMINED: f64 = 0.3;
/// Part of the draws with which candidates are compared.
const SCREENING: f64 = 0.25;
/// Cost of one more question in the same letter, as a part of the first one's.
const ONE_MORE: f64 = 0.15;

impl<'a> Asker<'a> {
    fn new(
        problem: &'a Problem<'a>,
        mixture: &'a Mixture,
        trial: &'a Trial<'a>,
        coarse: &'a EdgeMotion,
    ) -> Self {
        let n = coarse.movement.ncols();
        let components = &mixture.components;
        let (considered, others) =
            components.split_at(components.partition_point(|c| c.probability >= CONSIDERED_FROM));
        let others: Vec<(f64, &Component)> = others.iter().map(|c| (c.weight, c)).collect();
        let cut = components[0].state.rows(0, n).into_owned();
        let chance = trial.chance(&others, &cut, SCREENING, |c| c.spread.head(n));
        let rest = (others.iter().map(|c| c.0).sum(), chance);
        Self { problem, mixture, trial, coarse, considered, rest }
    }

    fn questions(
        &self,
        pane: &PaneReadings,
        origins: &[Origin],
        doubts: &[Doubt],
        chance: f64,
        voice: &Voice,
        policy: &Policy,
    ) -> Vec<Question> {
        let mut candidates = self.candidates(pane, origins, policy);
        let mut chosen: Vec<Candidate> = Vec::new();
        let mut gains = Vec::new();
        let mut now = chance;
        while chosen.len() < MOST_QUESTIONS && 1.0 - now > policy.fit.question_cost * ONE_MORE {
            let narrowing = self.narrowing(&chosen, &candidates);
            let doubted = |c: &Candidate| doubts.iter().any(|d| d.readings.contains(&c.name));
            let mut order: Vec<usize> = (0..candidates.len()).collect();
            order.sort_by(|&a, &b| {
                doubted(&candidates[b])
                    .cmp(&doubted(&candidates[a]))
                    .then(narrowing[b].total_cmp(&narrowing[a]))
            });
            let tried = order.into_iter().take(N_CONSIDERED).map(|i| {
                let mut with = chosen.clone();
                with.push(candidates[i].clone());
                (i, self.chance_if(&with, SCREENING))
            });
            let Some((i, after)) = tried.max_by(|a, b| {
                if now < UNDETERMINED && (a.1 - b.1).abs() < 0.02 {
                    narrowing[a.0].total_cmp(&narrowing[b.0])
                } else {
                    a.1.total_cmp(&b.1)
                }
            }) else {
                break;
            };
            // Screened with few draws, the best is reckoned with all of them.
            let mut with = chosen.clone();
            with.push(candidates[i].clone());
            let after = if after < UNDETERMINED { after } else { self.chance_if(&with, 1.0) };
            let gain = after - now;
            let worth = policy.fit.question_cost * if chosen.is_empty() { 1.0 } else { ONE_MORE };
            if gain <= worth && now >= UNDETERMINED {
                break;
            }
            chosen.push(candidates.remove(i));
            gains.push(gain);
            now = after;
        }
        let bundle = chosen.len() > 1;
        chosen
            .into_iter()
            .zip(gains)
            .map(|(c, gain)| Question {
                reading: c.name,
                again: c.again,
                gain,
                message: voice.question(c.name, c.again, bundle),
            })
            .collect()
    }

    /// Every outside span of the pane, taken again or new.
    fn candidates(
        &self,
        pane: &PaneReadings,
        origins: &[Origin],
        policy: &Policy,
    ) -> Vec<Candidate> {
        let best = &self.mixture.components[0];
        let n_corners = self.problem.prior.n_corners;
        let n = self.coarse.movement.ncols();
        let mut spans = Span::all();
        spans.retain(|span| {
            !matches!(span, Span::Bend | Span::BendUp | Span::Band(_) | Span::Blocked(_))
        });
        let sights: Vec<Sight> = spans.iter().map(|span| Sight::Outline(*span, None)).collect();
        let see =
            |sights: &[Sight]| see(n_corners, best.state.as_slice(), self.problem.small, sights);
        // Where the tape would miss the glass, the others are still to be had one by one.
        let together = see(&sights);
        let shown = |i: usize| match &together {
            Some(all) => Some((all.values[i], all.slopes.row(i).columns(0, n).transpose())),
            None => see(&sights[i..=i])
                .map(|one| (one.values[0], one.slopes.row(0).columns(0, n).transpose())),
        };
        let mut found = Vec::new();
        for (i, &span) in spans.iter().enumerate() {
            let name = ReadingName::outside(span);
            let Some((value, row)) = shown(i) else { continue };
            let settles: Vec<usize> =
                (0..origins.len()).filter(|&k| origins[k].name == name).collect();
            let graduation = pane
                .readings
                .iter()
                .flat_map(|r| &r.taken)
                .map(|t| t.graduation)
                .fold(Length::from_mm(6.35), Length::min);
            let length = Length::from_mm(value);
            let sd = policy.errors.sd_mm(Side::Outside, span, length, graduation);
            found.push(Candidate {
                name,
                again: !settles.is_empty(),
                settles,
                row,
                variance: sd * sd,
            });
        }
        found
    }

    /// Covariance after the answers, by one rank-one step each.
    fn answered(mut covariance: DMatrix<f64>, answers: &[Candidate]) -> DMatrix<f64> {
        for answer in answers {
            let c = &covariance * &answer.row;
            let total = answer.variance + answer.row.dot(&c);
            covariance.ger(-1.0 / total, &c, &c, 1.0);
        }
        covariance
    }

    /// How much each candidate's answer lowers the mean variance of the edge, mm².
    fn narrowing(&self, chosen: &[Candidate], candidates: &[Candidate]) -> Vec<f64> {
        let best = &self.mixture.components[0];
        let n = self.coarse.movement.ncols();
        let covariance = Self::answered(best.spread.head(n), chosen);
        candidates
            .iter()
            .map(|candidate| {
                let c = &covariance * &candidate.row;
                let total = candidate.variance + candidate.row.dot(&c);
                let moved = &self.coarse.movement * c;
                moved.norm_squared() / (total * moved.len() as f64)
            })
            .collect()
    }

    /// Expected chance of fit once these are answered: explanations that differ on a settled
    /// reading are told apart, and a cover is cut for each group by itself.
    fn chance_if(&self, answers: &[Candidate], part: f64) -> f64 {
        let settled: Vec<usize> = answers.iter().flat_map(|a| a.settles.iter().copied()).collect();
        // Which settled readings slipped, and the explanations that say so.
        type Group<'c> = (Vec<bool>, Vec<(f64, &'c Component)>);
        let mut groups: Vec<Group<'_>> = Vec::new();
        for component in self.considered {
            let pattern: Vec<bool> = settled
                .iter()
                .map(|i| component.slips.iter().any(|s| s.touches.iter().any(|t| t.0 == *i)))
                .collect();
            let weighted = (component.weight, component);
            match groups.iter_mut().find(|g| g.0 == pattern) {
                Some(group) => group.1.push(weighted),
                None => groups.push((pattern, vec![weighted])),
            }
        }
        let n = self.coarse.movement.ncols();
        let mut fits = self.rest.0 * self.rest.1;
        for (_, group) in &groups {
            let weight: f64 = group.iter().map(|c| c.0).sum();
            let cut = group[0].1.state.rows(0, n).into_owned();
            // Draws go where the weight is.
            let part = part * weight;
            let after = |c: &Component| Self::answered(c.spread.head(n), answers);
            fits += weight * self.trial.chance(group, &cut, part, after);
        }
        fits
    }
}
