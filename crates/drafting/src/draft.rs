//! What drafting answers with: pieces, figures and remarks.

use std::fmt;

use geometry::{Angle, Area, Length, Path, Piece as PieceFrame, Placement, Point, Roll};

use crate::{Closure, Piece};

/// Pieces drafted together, with what there is to say about them.
#[derive(Clone, Debug, PartialEq)]
pub struct Draft {
    /// The pieces; parts of one panel from left to right.
    pub pieces: Vec<Piece>,
    /// Figures of each piece, in the same order.
    pub figures: Vec<PieceFigures>,
    /// What the benches should know.
    pub remarks: Vec<Remark>,
}

/// Figures of one piece, cut once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PieceFigures {
    /// What it covers when finished; a part of a panel covers up to the middle of its seams.
    pub finished_area: Area,
    /// Cloth it takes.
    pub cut_area: Area,
    /// Length of the knife's way round it, cut-outs included.
    pub cut_length: Length,
    /// Length of roll it takes lying alone, at the first of its turns.
    pub along_roll: Length,
    /// Width of roll it takes there.
    pub across_roll: Length,
}

impl PieceFigures {
    /// Measures a piece that is `finished` inside its allowances.
    pub(crate) fn of(piece: &Piece, finished_area: Area) -> Self {
        let holes = &piece.cut_outs;
        let turn = piece.turns.first().copied().unwrap_or(Angle::ZERO);
        let onto_roll = Placement::<PieceFrame, Roll>::new(turn, Point::ORIGIN);
        let bounds = piece.cut_line.placed(&onto_roll).bounds().expect("a cut line has vertices");
        Self {
            finished_area,
            cut_area: piece.cut_line.area() - holes.iter().map(|hole| hole.area().abs()).sum(),
            cut_length: piece.cut_line.length() + holes.iter().map(Path::length).sum(),
            along_roll: bounds.width(),
            across_roll: bounds.height(),
        }
    }
}

/// Something the benches should know about a draft; shown as a plain sentence.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// Hems that have too much cloth to lie flat where the edge curves, or too little, and are
    /// notched for it.
    Eased {
        /// The piece.
        item: String,
        /// The sides and corners meant, and whether cloth is to spare there (the edge bulges) or
        /// short (it is hollow).
        places: Vec<(String, bool)>,
        /// Notches marked in all.
        n: usize,
        /// Difference in length between the hem's cut edge and where it comes to lie, relative, at
        /// its largest.
        excess: f64,
    },
    /// A corner whose rounding is lost.
    SharpCorner {
        /// Its number, from 1.
        corner: usize,
        /// Radius of the glass there.
        radius: Length,
        /// How far inside the finished edge runs.
        inset: Length,
    },
    /// A grip that would stand on or by something left free.
    GripLeftOut {
        /// Its number.
        number: u32,
        /// What is left free.
        name: String,
    },
    /// A panel cut in parts.
    Joined {
        /// The panel.
        item: String,
        /// Number of parts.
        n_parts: usize,
        /// Usable width of the cloth.
        usable_width: Length,
        /// Whether seams were moved aside, off where none may run.
        kept_off: bool,
    },
    /// A grip where a seam runs.
    GripOnSeam {
        /// Number of the grip.
        number: u32,
        /// How far its middle is from the seam.
        from_seam: Length,
    },
    /// Where the magnets of a panel sit.
    Pocketed {
        /// The panel.
        item: String,
        /// Names of the grips stitched into the hem.
        in_hem: Vec<String>,
        /// Names of the grips in patches of their own.
        in_patches: Vec<String>,
    },
    /// A pocket that reaches over a rounded edge.
    PocketOver {
        /// Name of its grip.
        name: String,
        /// By how much.
        by: Length,
    },
    /// Cloth that has to give more than it takes to lie on glass bent both ways.
    Strained {
        /// The piece.
        item: String,
        /// The most it has to gather, relative.
        gathers: f64,
        /// The most it has to stretch, relative.
        stretches: f64,
        /// What the cloth takes, relative.
        takes: f64,
    },
    /// What draws a hood's opening in.
    Threaded {
        /// The piece with the casing.
        item: String,
        /// Cord or elastic.
        closure: Closure,
        /// Length to cut of it.
        cut: Length,
    },
    /// What closes a sleeve, and what its arm's opening is bound with.
    Fastened {
        /// The piece.
        item: String,
        /// Width of the tape.
        tape: Length,
        /// Lengths of hook tape, on each side of the arm.
        hook: [Length; 2],
        /// Length of loop tape.
        looped: Length,
        /// Length of the opening's edge.
        bound: Length,
    },
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Eased { item, places, n, excess } => {
                // Past a half, a figure says no more than "much" does.
                let much = if *excess < 0.5 {
                    format!("up to {:.0} %", 100.0 * excess)
                } else {
                    "much".to_owned()
                };
                let named = |wanted: bool| -> Vec<&str> {
                    let of = places.iter().filter(|(_, spare)| *spare == wanted);
                    of.map(|(place, _)| place.as_str()).collect()
                };
                let (spare, short) = (named(true), named(false));
                let mut says = Vec::new();
                if !spare.is_empty() {
                    says.push(format!("longer at {}: take out the Vs", listed(&spare)));
                }
                if !short.is_empty() {
                    says.push(format!("shorter at {}: snip at the slits", listed(&short)));
                }
                write!(f, "The hem of {item} is {much} {}; {n} are marked.", says.join(", and "))
            }
            Self::SharpCorner { corner, radius, inset } => write!(
                f,
                "Corner {corner} of the glass is rounded by {radius:.1}, no more than the {inset:.1} \
                 inset, so the finished corner is sharp."
            ),
            Self::GripLeftOut { number, name } => write!(
                f,
                "Grip {number} would stand by the {name}, so it is left out: leave its partner inside \
                 out too."
            ),
            Self::Joined { item, n_parts, usable_width, kept_off } => {
                let aside = match kept_off {
                    true => " They differ in width: no seam runs in the driver's line of sight.",
                    false => "",
                };
                write!(
                    f,
                    "The cloth is usable over {usable_width:.0}, so {item} is cut in {n_parts} parts: \
                     join them at the notches before hemming.{aside}"
                )
            }
            Self::GripOnSeam { number, from_seam } => write!(
                f,
                "Grip {number} stands {from_seam:.0} from a seam, so its pocket runs over the seam: \
                 press the seam open there, or move the grip."
            ),
            Self::Pocketed { item, in_hem, in_patches } => {
                let are = |names: &[String]| if names.len() == 1 { "sits" } else { "sit" };
                let mut says = Vec::new();
                if !in_hem.is_empty() {
                    let (names, sit) = (numbered(in_hem), are(in_hem));
                    says.push(format!(
                        "{names} {sit} in the hem of {item}, between the cross stitches: sew the \
                         second one when the magnet is in."
                    ));
                }
                if !in_patches.is_empty() {
                    let (names, sit) = (numbered(in_patches), are(in_patches));
                    says.push(format!(
                        "{names} {sit} in pockets sewn on the inside of {item} where the squares are \
                         drawn: sew the last side when the magnet is in."
                    ));
                }
                f.write_str(&says.join(" "))
            }
            Self::PocketOver { name, by } => write!(
                f,
                "The pocket of {name} reaches over the rounded edge by {by:.1}: turn that corner of it \
                 in, or round it off."
            ),
            Self::Strained { item, gathers, stretches, takes } => write!(
                f,
                "The glass is bent both ways, so {item} has to gather by up to {:.1} % and stretch by \
                 up to {:.1} %, more than the {:.1} % it takes: use a cloth that gives, or put darts \
                 where it gathers.",
                100.0 * gathers,
                100.0 * stretches,
                100.0 * takes
            ),
            Self::Fastened { item, tape, hook: [near, far], looped, bound } => write!(
                f,
                "Close {item} with {tape:.0} hook-and-loop tape: hook cut to {near:.0} and {far:.0}, \
                 loop to {looped:.0}. Bind the {bound:.0} round the arm's opening."
            ),
            Self::Threaded { item, closure, cut } => match closure {
                Closure::Drawcord => write!(
                    f,
                    "Thread the casing of {item} with a cord cut to {cut:.0}, its ends out at the arm \
                     slot with a toggle, to be tied round the arm."
                ),
                Closure::Elastic => write!(
                    f,
                    "Thread the casing of {item} with elastic cut to {cut:.0} and sew its ends down at \
                     the arm slot."
                ),
            },
        }
    }
}

/// `Grip 2`, `Grips 1 to 4, 7 and 9`: names that end in numbers, runs of three and more in short.
fn numbered(names: &[String]) -> String {
    let number = |name: &String| name.rsplit(' ').next().and_then(|n| n.parse::<u32>().ok());
    let numbers: Option<Vec<u32>> = names.iter().map(number).collect();
    let Some(numbers) = numbers else {
        return listed(&names.iter().map(String::as_str).collect::<Vec<_>>());
    };
    let runs = numbers.chunk_by(|a, b| a + 1 == *b).flat_map(|run| match run {
        [first, .., last] if run.len() > 2 => vec![format!("{first} to {last}")],
        _ => run.iter().map(u32::to_string).collect(),
    });
    let runs: Vec<String> = runs.collect();
    let word = if numbers.len() == 1 { "Grip" } else { "Grips" };
    format!("{word} {}", listed(&runs.iter().map(String::as_str).collect::<Vec<_>>()))
}

/// `side 2`, `side 1 and corner 2`, `side 1, side 2 and corner 3`.
fn listed(names: &[&str]) -> String {
    match names.split_last() {
        Some((last, [])) => (*last).to_owned(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remark_says_what_to_do() {
        let remark = |excess| Remark::Eased {
            item: "front panel".to_owned(),
            places: vec![("corner 1".to_owned(), true), ("side 3".to_owned(), false)],
            n: 7,
            excess,
        };
        assert!(remark(3.0).to_string().contains("is much longer at corner 1: take out the Vs"));
        assert!(remark(0.08).to_string().contains("and shorter at side 3: snip at the slits; 7"));
    }

    #[test]
    fn grips_are_listed_by_their_runs() {
        let names =
            |numbers: &[u32]| numbers.iter().map(|n| format!("grip {n}")).collect::<Vec<_>>();
        assert_eq!(numbered(&names(&[3])), "Grip 3");
        assert_eq!(numbered(&names(&[1, 2, 3, 4, 7, 8, 11])), "Grips 1 to 4, 7, 8 and 11");
    }

    #[test]
    fn places_are_listed_as_people_say_them() {
        assert_eq!(listed(&["side 2"]), "side 2");
        assert_eq!(listed(&["side 1", "side 2", "side 4"]), "side 1, side 2 and side 4");
    }
}
