//! What holds a cover and in what wind, in plain words.

use geometry::Length;
use hold::{Barren, Hindrance, RatedGust};
use survey::Voice;

use crate::chain::DraftedPane;
use crate::held::{AfterLoss, MagnetOption, PaneHold, Rating, WindRating};

/// How many ways to raise a rating are told: the best of them.
const MOST_RAISES: usize = 4;

/// What holds one pane's cover, a line each; `voice` is the reader's.
pub(crate) fn held_words(pane: &DraftedPane, voice: &Voice) -> Vec<String> {
    let hold = &pane.hold;
    let mut lines = Vec::new();
    match &hold.rating {
        Rating::Unheld(why) => lines.push(format!("  No magnet pairs: {why}")),
        Rating::Inside => {
            lines.push(pairs(hold));
            lines.push("  Inside the glass, where no wind reaches it: not rated".to_owned());
        }
        Rating::Wind(wind) => {
            lines.push(pairs(hold));
            lines.extend(rated(hold, wind));
            let most = hold.loaded.as_ref().map(|loaded| loaded.stand.shape.most_height());
            let stands =
                |most| format!("  In that gust it stands {} off at most", voice.length(most));
            lines.extend(most.map(stands));
        }
    }
    lines.extend(short_of(hold));
    lines.extend(compared(&hold.alternatives));
    lines.extend(no_grip_words(&pane.plan.barren, voice));
    if !hold.grips.is_empty() {
        lines.extend(heat(hold));
    }
    lines
}

fn pairs(hold: &PaneHold) -> String {
    let n = hold.grips.len();
    let pairs = if n == 1 { "pair" } else { "pairs" };
    let straps = match hold.straps.len() {
        0 => String::new(),
        1 => " and a strap".to_owned(),
        n => format!(" and {n} straps"),
    };
    let holds = hold.capacity.as_ref().map_or_else(String::new, |capacity| {
        format!(
            "; at {:.0} °C each holds {:.1} off the glass and {:.1} along it",
            hold.choices.in_sun.celsius(),
            capacity.pull_off,
            capacity.slide
        )
    });
    format!("  {n} magnet {pairs}{straps}, {}{holds}", hold.magnet.name)
}

/// A gust alone: `gusts to 9 m/s`. Rounded down: a rating is not made better by rounding.
pub(crate) fn gust_words(gust: &RatedGust) -> String {
    let speed = gust.gust.m_per_s();
    match &gust.beaufort {
        Some(beaufort) => {
            format!("gusts to {:.1} m/s, Beaufort {}", floor(speed), beaufort.force())
        }
        None => format!("gusts to {:.1} m/s", floor(speed)),
    }
}

fn floor(speed: f64) -> f64 {
    (speed * 10.0).floor() / 10.0
}

fn rated(hold: &PaneHold, wind: &WindRating) -> Vec<String> {
    let mut lines = vec![format!("  Rated, {}", wind.gust)];
    let margin = hold.choices.margin;
    lines.push(match &wind.after_loss {
        Some(AfterLoss { grip, gust, .. }) => format!(
            "  With every pair in place {margin} times that suction; with pair {grip}, the worst to \
             lose, gone: {}",
            gust_words(gust)
        ),
        None => format!("  With every pair in place {margin} times that suction, or any one gone"),
    });
    if wind.cut_short {
        lines.push(
            "  The search was ended early: not every loss and every way was looked at".to_owned(),
        );
    }
    lines.push(match (&hold.choices.wind, hold.raises.is_empty()) {
        (Some(wanted), _) if wind.is_met => format!("  Wanted {wanted}: met"),
        (Some(wanted), true) => {
            format!("  Wanted {wanted}: NOT met, and nothing that was tried raises it much")
        }
        (Some(wanted), false) => format!("  Wanted {wanted}: NOT met; what would raise it, about:"),
        (None, true) => {
            "  No wind was asked for: these are as few as keep the hem close".to_owned()
        }
        (None, false) => {
            "  No wind was asked for: these are as few as keep the hem close; what would \
                          raise the rating, about:"
                .to_owned()
        }
    });
    if hold.choices.wind.is_some() && wind.is_met {
        return lines;
    }
    let raises = hold.raises.iter().take(MOST_RAISES);
    lines.extend(raises.map(|raise| format!("    {}: {}", raise.words, gust_words(&raise.gust))));
    lines
}

/// Whether the workshop has enough of them.
fn short_of(hold: &PaneHold) -> Option<String> {
    let (on_hand, needed) = (hold.magnet.on_hand?, hold.grips.len());
    (on_hand < needed)
        .then(|| format!("  {needed} pairs of {} needed, {on_hand} on hand", hold.magnet.name))
}

/// The workshop's magnets side by side, where there are several.
fn compared(alternatives: &[MagnetOption]) -> Vec<String> {
    if alternatives.len() < 2 {
        return Vec::new();
    }
    let line = |option: &MagnetOption| {
        if option.n_pairs == 0 {
            return format!("    {}: fits nowhere on this pane", option.name);
        }
        let cost = option.cost.map_or_else(String::new, |cost| format!(", costing {cost:.2}"));
        format!(
            "    {}: {} pairs, {}, {:.2} kg{cost}",
            option.name,
            option.n_pairs,
            gust_words(&option.gust),
            option.mass_kg
        )
    };
    let head = "  The workshop's magnets compared:".to_owned();
    std::iter::once(head).chain(alternatives.iter().map(line)).collect()
}

fn heat(hold: &PaneHold) -> Vec<String> {
    let solar = match &hold.heat.solar {
        Ok(solar) => format!("  Sun square to the glass: {solar} (EN ISO 52022-1, simple method)"),
        Err(why) => format!("  Nothing is said of the sun's heat: {why}"),
    };
    vec![solar, format!("  Cloth, {}", hold.heat.openness)]
}

/// Where no grip goes and why: one line for each hindrance, each place in it once, in the reader's unit.
#[must_use]
pub fn no_grip_words(barren: &[Barren], voice: &Voice) -> Vec<String> {
    let hindrances =
        [Hindrance::Narrow, Hindrance::Blocked, Hindrance::Forbidden, Hindrance::Unsure];
    let line = |hindrance: Hindrance| {
        let of_it: Vec<&Barren> = barren.iter().filter(|b| b.hindrance == hindrance).collect();
        let needed = of_it.iter().map(|b| b.needed).fold(Length::ZERO, Length::max);
        let needed = voice.length(needed);
        let why = match hindrance {
            Hindrance::Narrow => format!("too narrow a border, {needed} needed"),
            Hindrance::Blocked => format!("too much is out of reach inside, {needed} needed"),
            Hindrance::Forbidden => "to be kept clear".into(),
            Hindrance::Unsure => {
                "not sure enough; read the border there, outside and inside".into()
            }
        };
        let mut places: Vec<(String, &Barren)> = Vec::new();
        for &barren in &of_it {
            let place = voice.station(barren.near);
            if !places.iter().any(|(known, _)| *known == place) {
                places.push((place, barren));
            }
        }
        let told = |(place, barren): &(String, &Barren)| {
            let (band, blocked) = (voice.length(barren.band), voice.length(barren.blocked));
            match hindrance {
                Hindrance::Narrow => format!("{place} (border {band})"),
                Hindrance::Blocked => format!("{place} (border {band}, {blocked} blocked)"),
                Hindrance::Forbidden | Hindrance::Unsure => place.clone(),
            }
        };
        let places: Vec<String> = places.iter().map(told).collect();
        (!places.is_empty()).then(|| format!("  no grip {}: {why}", places.join("; ")))
    };
    hindrances.into_iter().filter_map(line).collect()
}

#[cfg(test)]
mod tests {
    use survey::Policy;

    use super::*;
    use crate::demo::{GLASS_BOOK, ORDERS};
    use crate::{HoldSearch, make_order, read_book, read_order, voice_of};

    #[test]
    fn no_line_about_grips_is_said_twice() {
        for (name, words) in ORDERS {
            let order = read_order(words.as_bytes(), name).unwrap();
            let book = read_book(GLASS_BOOK.1.as_bytes(), GLASS_BOOK.0).unwrap();
            let search = HoldSearch { most_shapes: 5, ..HoldSearch::QUICK };
            let made = make_order(&order, &book, &Policy::starting(), &search).unwrap();
            for (readings, pane) in order.panes.iter().zip(&made.panes) {
                let lines = no_grip_words(&pane.plan.barren, &voice_of(&order, readings));
                assert!(lines.len() <= 4 && lines.is_empty() == pane.plan.barren.is_empty());
                for line in &lines {
                    let places: Vec<&str> = line.split(": ").next().unwrap().split("; ").collect();
                    let mut once = places.clone();
                    once.dedup();
                    assert_eq!(once, places);
                }
                let words = held_words(pane, &voice_of(&order, readings)).join("\n");
                match &pane.hold.rating {
                    Rating::Wind(_) => {
                        assert!(words.contains("parked only: gusts to"), "{words}");
                        assert!(words.contains("m/s"), "{words}");
                    }
                    Rating::Inside => assert!(words.contains("no wind reaches it"), "{words}"),
                    Rating::Unheld(_) => assert!(words.contains("No magnet pairs: "), "{words}"),
                }
            }
        }
    }
}
