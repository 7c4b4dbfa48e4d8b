//! Cautions that follow from the numbers: each says what to do, a figure, and why.
//!
//! Distances are where one pair's field on its axis falls to a limit, both magnets as one stack; the
//! jump is the pull at a hair's breadth. Limits and their sources stand beside the constants.
//!
//! Ignores fields of other pairs near by, except in the packed parcel. They are the usual cautions,
//! not advice on a case: local codes and licensed practice rule wherever they say more.

use std::fmt;

use geometry::Length;

use crate::polarity::{AirCarriage, FORBIDDEN_ABOVE, MAGNETISED_FROM, Packing, parcel_field};
use crate::quadrature::bisect;
use crate::{
    CoverSide, FLUX_INDEX_LIMIT, FluxDensity, Force, GLASS_IN_SUN, HoldError, Magnet, Partner,
    RatedGust, flux_density, flux_index, heat_limit, iron_pull, pair_force,
};

/// Field from which implants may change over: 0.5 mT, the static limit of ISO 14117 and ICNIRP (from
/// memory).
const IMPLANT: FluxDensity = FluxDensity::from_tesla(0.5e-3);

/// Least distance from implants whatever the field: 15 cm, as the FDA advises; a study of 2008 saw
/// effects to 24 cm.
const IMPLANT_DISTANCE: Length = Length::from_mm(150.0);

/// Field that wipes common bank cards: 30 mT, a low-coercivity stripe of 300 Oe (from memory).
const CARD: FluxDensity = FluxDensity::from_tesla(30e-3);

/// Field that turns a compass by about 5°: a tenth of the earth's level field of 20 µT (from memory).
const COMPASS: FluxDensity = FluxDensity::from_tesla(2e-6);

/// A hair's breadth: how near magnets are when they meet with cloth pressed flat between them.
const MEETING: Length = Length::from_mm(0.5);

/// What a caution is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CautionKind {
    /// Pacemakers and other implants.
    Implants,
    /// Children.
    Children,
    /// Fingers and eyes.
    Fingers,
    /// Bank cards and compasses.
    Cards,
    /// Magnets that heat weakens.
    Heat,
    /// Carriage by air.
    Air,
    /// Ladders.
    Ladders,
    /// Driving.
    Driving,
    /// Exits.
    Exits,
    /// Glass that is heated by a cover inside.
    Glass,
    /// Wind.
    Wind,
    /// Local codes and licensed practice.
    Codes,
}

/// One caution.
#[derive(Clone, Debug, PartialEq)]
pub struct Caution {
    /// What it is about.
    pub kind: CautionKind,
    /// What to do, how much, and why.
    pub words: String,
    /// The same for who fits covers: short, without the units of physics.
    pub plain: String,
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words)
    }
}

/// What is made, fitted or sent.
#[derive(Clone, Copy, Debug)]
pub struct CautionAsk<'a> {
    /// The magnet in the hem.
    pub outer: &'a Magnet,
    /// What it holds on to.
    pub inner: &'a Partner,
    /// How many pairs; none where one pair alone is looked at.
    pub n_pairs: Option<usize>,
    /// Where the cover goes.
    pub side: CoverSide,
    /// The gust it is rated for, where that is known.
    pub rated: Option<RatedGust>,
}

/// The cautions for a pair of magnets, without a cover: what `paneloft pull` says.
///
/// # Errors
/// None that a valid magnet can cause; they are passed on from the forces.
pub fn magnet_cautions(outer: &Magnet, inner: &Partner) -> Result<Vec<Caution>, HoldError> {
    let field = |distance: f64| {
        let inside = match inner {
            Partner::Magnet(magnet) => on_axis(magnet, distance),
            // Iron gathers the field and cannot double it beyond.
            Partner::Iron(_) => on_axis(outer, distance),
        };
        on_axis(outer, distance) + inside
    };
    let reaches =
        |limit: FluxDensity| Length::from_mm(bisect(1.0, 5000.0, |d| field(d) - limit.tesla()));
    let implant = reaches(IMPLANT);
    let keep = round_up(implant.max(IMPLANT_DISTANCE), 10.0);
    let index = match inner {
        Partner::Magnet(magnet) => flux_index(magnet).max(flux_index(outer)),
        Partner::Iron(_) => flux_index(outer),
    };
    let jump = match inner {
        Partner::Magnet(magnet) => {
            pair_force(outer, magnet, MEETING, (Length::ZERO, Length::ZERO))?.pull
        }
        Partner::Iron(iron) => iron_pull(outer, iron, MEETING)?.plate,
    };
    let mut found = vec![
        caution(
            CautionKind::Implants,
            format!(
                "Keep magnets {:.0} cm or more from pacemakers, defibrillators and other implants: a \
                 pair reaches 0.5 mT, which may switch them over, at {:.0} cm.",
                keep.mm() / 10.0,
                (implant.mm() / 10.0).ceil(),
            ),
            format!(
                "Keep magnets {:.0} cm or more away from pacemakers and other implants. They may \
                 switch them over.",
                keep.mm() / 10.0
            ),
        ),
        caution(
            CautionKind::Children,
            children(index),
            "Keep magnets away from children. Two that are swallowed can kill. If it happens, get \
             medical help at once."
                .into(),
        ),
        caution(
            CautionKind::Fingers,
            format!(
                "Keep fingers clear and slide pairs together: they jump the last bit with {} (as a \
                 weight of {:.1} kg). Wear eye protection with bare magnets: they chip.",
                newtons(jump),
                jump.newtons() / 9.81,
            ),
            format!(
                "Keep fingers clear. A pair jumps together as if {:.1} kg fell on your finger. Slide \
                 pairs together, and wear eye protection: bare magnets chip.",
                jump.newtons() / 9.81
            ),
        ),
        caution(
            CautionKind::Cards,
            format!(
                "Keep bank cards {:.0} cm and compasses {:.1} m away: there the field of a pair can \
                 wipe a stripe or turn a needle by 5°.",
                (reaches(CARD).mm() / 10.0).ceil(),
                (reaches(COMPASS).mm() / 100.0).ceil() / 10.0,
            ),
            format!(
                "Keep bank cards {:.0} cm and compasses {:.1} m away from magnets.",
                (reaches(CARD).mm() / 10.0).ceil(),
                (reaches(COMPASS).mm() / 100.0).ceil() / 10.0,
            ),
        ),
    ];
    let (words, plain) = heat(outer, inner);
    found.push(caution(CautionKind::Heat, words, plain));
    Ok(found)
}

/// The cautions for a cover held by such pairs.
///
/// # Errors
/// When no pairs, or more than 500, are given.
pub fn cautions(ask: &CautionAsk<'_>) -> Result<Vec<Caution>, HoldError> {
    let mut found = magnet_cautions(ask.outer, ask.inner)?;
    if let Some(n_pairs) = ask.n_pairs {
        let plain = "Do not send magnets by air before the carrier has agreed.".into();
        found.push(caution(CautionKind::Air, air(ask, n_pairs)?, plain));
    }
    let mut say = |kind, words: String, plain: &str| found.push(caution(kind, words, plain.into()));
    say(
        CautionKind::Ladders,
        "Measuring and fitting high glass: use a ladder on firm ground, three points of contact, with \
         a second person to foot it; never lean out, and never in wind that moves the cover."
            .into(),
        "Use a ladder on firm, level ground, with a second person to hold it. Keep two feet and one \
         hand on it. Never lean out, and never fit a cover in wind that moves it.",
    );
    say(
        CautionKind::Driving,
        "Never drive with a cover on, not even 0.1 km: it blinds you, and at 90 km/h the wind is 25 m/s."
            .into(),
        "Never drive with a cover on, not even a short way. You cannot see out, and the wind of \
         driving tears it off.",
    );
    say(
        CautionKind::Exits,
        "Keep exits free: every door, hatch and escape window that people inside rely on must open \
         from inside with the covers on, so never cover the only way out."
            .into(),
        "Keep exits free. Every door, hatch and escape window must open from inside with the covers \
         on. Never cover the only way out.",
    );
    if ask.side == CoverSide::Inside {
        say(
            CautionKind::Glass,
            format!(
                "A cover inside sends the sun's heat back into the glass, so that it gets hotter than \
                 the {:.0} °C we take for a sunlit band: wired, cracked, chipped or part-shaded glass \
                 may break. Leave a gap, and ask the glass maker about tinted and double panes.",
                GLASS_IN_SUN.value.celsius(),
            ),
            "A cover inside makes sunlit glass hotter. Cracked, chipped or heated glass may break. \
             Leave a gap, and ask the glass maker about tinted and double panes.",
        );
    }
    let plain = match ask.rated {
        Some(rated) => format!(
            "This cover is made for a parked vehicle in {}. That is our estimate, not a promise. Take \
             covers off before a storm.",
            rated.in_short()
        ),
        None => "We promise nothing about wind. Take covers off before it blows.".to_owned(),
    };
    say(CautionKind::Wind, wind(ask.rated), &plain);
    say(
        CautionKind::Codes,
        "Local codes on parked vehicles, escape ways and covers rule, and licensed practice where work \
         on glass, body or cameras needs it; these cautions do not replace them."
            .into(),
        "Local rules on parked vehicles, ways out and covers come first. Leave work on glass, body or \
         cameras to people licensed for it.",
    );
    Ok(found)
}

fn caution(kind: CautionKind, words: String, plain: String) -> Caution {
    Caution { kind, words, plain }
}

fn children(index: f64) -> String {
    let danger = "two that are swallowed can kill. If it happens get medical help at once.";
    // Two figures: the index goes with the square of a strength known to a few per cent.
    let scale = 10_f64.powf(index.max(1.0).log10().floor() - 1.0);
    let shown = (index / scale).round() * scale;
    if index >= FLUX_INDEX_LIMIT {
        format!(
            "Keep magnets from children: flux index {shown:.0} kG² mm², where toys must stay below \
             {FLUX_INDEX_LIMIT:.0}; {danger}"
        )
    } else {
        format!(
            "Keep magnets from children all the same: flux index {shown:.0} kG² mm², below the toy \
             limit of {FLUX_INDEX_LIMIT:.0}, yet {danger}"
        )
    }
}

/// What heat does to them, in full and plainly.
fn heat(outer: &Magnet, inner: &Partner) -> (String, String) {
    let inner = match inner {
        Partner::Magnet(magnet) => Some(magnet),
        Partner::Iron(_) => None,
    };
    let limits = std::iter::once(outer).chain(inner).map(|m| heat_limit(m).map(|l| l.first_loss));
    let least = limits.reduce(|a, b| Ok(a?.min(b?)));
    let sun = GLASS_IN_SUN.value.celsius();
    let Some(Ok(limit)) = least else {
        return (
            format!(
                "Heat weakens magnets for good, and sunlit glass is taken to reach {sun:.0} °C: name \
                 their grade, such as N35H, to learn how hot these may get."
            ),
            "Heat weakens magnets for good. Keep spare ones in the shade.".to_owned(),
        );
    };
    let limit = limit.celsius();
    let shown = limit.floor();
    let plain =
        format!("Never leave magnets where it is hotter than {shown:.0} °C: they weaken for good.");
    let words = match limit < sun {
        true => format!(
            "These magnets begin to lose strength for good at about {shown:.0} °C, and sunlit glass is \
             taken to reach {sun:.0} °C: choose thicker ones or an H grade for covers that stay on."
        ),
        false => format!(
            "These magnets keep their strength to about {shown:.0} °C; sunlit glass is taken to reach \
             {sun:.0} °C. Never store them hotter."
        ),
    };
    (words, plain)
}

fn air(ask: &CautionAsk<'_>, n_pairs: usize) -> Result<String, HoldError> {
    let (magnet, n_magnets) = match ask.inner {
        Partner::Magnet(inner) => {
            let stronger = |a: &Magnet, b: &Magnet| moment(a) >= moment(b);
            (if stronger(ask.outer, inner) { *ask.outer } else { *inner }, 2 * n_pairs)
        }
        Partner::Iron(_) => (*ask.outer, n_pairs),
    };
    let [x, y, _] = magnet.shape().half_sizes_mm();
    let apart = Length::from_mm(2.5 * x.max(y));
    let field = |packing| parcel_field(&magnet, n_magnets, apart, packing);
    let (aligned, kept) = (field(Packing::Aligned)?, field(Packing::Alternating)?);
    let micro = |b: FluxDensity| b.tesla() * 1e6;
    let rule = match kept.air_carriage() {
        AirCarriage::Unrestricted => "below what counts as magnetised",
        AirCarriage::Declared => "so it must be declared as magnetised material",
        AirCarriage::Forbidden => "so it must not go by air",
    };
    Ok(format!(
        "Sending by air: packed with poles alternating the parcel has about {:.2} µT at 2.1 m ({:.2} \
         aligned; magnetised from {:.1} µT) and {:.3} µT at 4.6 m (forbidden above {:.3}), {rule}. \
         Have the packed parcel measured and ask the carrier.",
        micro(kept.at[1]),
        micro(aligned.at[1]),
        micro(MAGNETISED_FROM),
        micro(kept.at[2]),
        micro(FORBIDDEN_ABOVE),
    ))
}

fn wind(rated: Option<RatedGust>) -> String {
    let rating = match rated {
        Some(rated) => format!("Rated, {rated}."),
        None => "This cover is not rated for wind.".to_owned(),
    };
    format!(
        "{rating} A rating is an estimate, not a guarantee: forces alone may be 10 to 15 % off, and \
         vehicles are reckoned as buildings. Take covers off before a storm."
    )
}

/// Field of one magnet in T on its axis, so far from its middle in mm.
fn on_axis(magnet: &Magnet, distance: f64) -> f64 {
    let [.., half] = magnet.shape().half_sizes_mm();
    let place = [0.0, 0.0, half + distance].map(Length::from_mm);
    flux_density(magnet, place)[2].tesla()
}

fn moment(magnet: &Magnet) -> f64 {
    let shape = magnet.shape();
    magnet.polarisation().tesla() * shape.pole_area().mm2() * shape.thickness().mm()
}

fn round_up(length: Length, to_mm: f64) -> Length {
    Length::from_mm((length.mm() / to_mm).ceil() * to_mm)
}

fn newtons(force: Force) -> String {
    format!("{force:.0}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Beaufort, Speed};

    fn all(outer: &str, inner: &str, n_pairs: Option<usize>, side: CoverSide) -> Vec<Caution> {
        let (outer, inner) = (outer.parse().unwrap(), inner.parse().unwrap());
        let rated = RatedGust {
            gust: Speed::from_m_per_s(14.0),
            beaufort: Beaufort::whose_gusts_stay_below(Speed::from_m_per_s(14.0)),
        };
        let ask = CautionAsk { outer: &outer, inner: &inner, n_pairs, side, rated: Some(rated) };
        cautions(&ask).unwrap()
    }

    fn words(of: &[Caution], kind: CautionKind) -> &str {
        &of.iter().find(|c| c.kind == kind).unwrap().words
    }

    /// The project's notes give 8 to 11 cm to 0.5 mT from one pair, 14 to 17 mm for bank cards and a
    /// flux index near 2200 (from an independent program).
    #[test]
    fn figures_are_those_of_the_notes() {
        let found = all("disc:20x3:N35", "disc:20x3:N35", Some(18), CoverSide::Outside);
        let implants = words(&found, CautionKind::Implants);
        assert!(implants.contains("15 cm or more") && implants.contains("at 9 cm"), "{implants}");
        let children = words(&found, CautionKind::Children);
        assert!(children.contains("flux index 2200 kG²"), "{children}");
        let cards = words(&found, CautionKind::Cards);
        assert!(cards.contains("bank cards 2 cm"), "{cards}");
        let heat = words(&found, CautionKind::Heat);
        assert!(heat.contains("for good at about 3"), "{heat}");
    }

    #[test]
    fn every_caution_has_a_figure_or_a_rule() {
        let found = all("disc:20x5:N42H", "disc:20x5:N42H", Some(18), CoverSide::Inside);
        assert_eq!(found.len(), 12);
        for caution in &found {
            let told = caution.words.chars().any(|c| c.is_ascii_digit())
                || matches!(
                    caution.kind,
                    CautionKind::Ladders | CautionKind::Exits | CautionKind::Codes
                );
            assert!(told && caution.words.ends_with('.'), "{caution}");
            assert!(caution.plain.ends_with('.') && caution.plain.len() < 220, "{}", caution.plain);
        }
        assert!(words(&found, CautionKind::Wind).contains("parked only: gusts to 14 m/s"));
        assert!(words(&found, CautionKind::Air).contains("0.525"));
    }

    #[test]
    fn strong_blocks_are_kept_farther_from_implants() {
        let found = all("block:50x50x25:N52", "block:50x50x25:N52", None, CoverSide::Outside);
        let implants = words(&found, CautionKind::Implants);
        assert!(!implants.contains("Keep magnets 15 cm"), "{implants}");
        assert!(found.iter().all(|c| c.kind != CautionKind::Air && c.kind != CautionKind::Glass));
    }

    #[test]
    fn iron_and_unknown_grades_are_told_too() {
        let found = all("disc:10x2:0.3", "iron:20x3", Some(4), CoverSide::Outside);
        assert!(words(&found, CautionKind::Heat).contains("name their grade"));
        assert!(words(&found, CautionKind::Children).contains("all the same"));
    }
}
