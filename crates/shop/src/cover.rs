//! How covers are made: what an order and its panes say, and the workshop's usual choices for what
//! they leave out.
//!
//! A pane's cover is the usual one for its family, changed by what the order says of all its covers,
//! changed by what the pane says of its own.

use std::fmt;

use drafting::{
    Cloth, CornerStyle, Corners, DraftError, EdgeFinish, Free, FreeFinish, PocketStyle, Print,
    SeamType, Shrinkage,
};
use geometry::{Length, Outline, Pane, Path};
use survey::{Edge, Family, KeepOut};

macro_rules! spelt {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $text:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name {
            $($(#[$of])* $variant),+
        }

        impl $name {
            /// Every one, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// How it is spelt in files.
            #[must_use]
            pub const fn spelling(self) -> &'static str {
                match self {
                    $(Self::$variant => $text),+
                }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.spelling())
            }
        }
    };
}

pub(crate) use spelt;

spelt!(
    /// What sort of cover a pane gets.
    CoverKind {
        /// A screen on the outside of a windscreen.
        Screen = "screen",
        /// A cover on the outside of a side, door or rear pane.
        Cover = "cover",
        /// A blackout on the inside, of one layer or several.
        Blackout = "blackout",
    }
);

spelt!(
    /// How an edge is finished.
    Finish {
        /// Turned in once and stitched.
        Hem = "hem",
        /// Turned in twice and stitched.
        DoubleHem = "double-hem",
        /// Turned in once and welded.
        Welded = "welded",
        /// Bound with tape.
        Bound = "bound",
        /// Cut and left.
        Raw = "raw",
    }
);

spelt!(
    /// How the edge round something left free is finished.
    FreeEdge {
        /// Bound with tape.
        Bound = "bound",
        /// Turned in over a facing.
        Faced = "faced",
        /// Cut and left.
        Raw = "raw",
    }
);

/// Something on a pane that its cover leaves free, and how.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeChoice {
    /// What and where it is.
    pub keep_out: KeepOut,
    /// How far the finished edge stays from it.
    pub clearance: Length,
    /// How that edge is finished.
    pub edge: FreeEdge,
    /// Whether a slit leads to it.
    pub slit: bool,
}

impl FreeChoice {
    /// Clearance where none is stated. Common practice, no source.
    pub const CLEARANCE: Length = Length::from_mm(5.0);
    /// Cloth turned in over a facing. Common practice, no source.
    const TURNING: Length = Length::from_mm(8.0);
    /// How far a facing reaches beyond the edge. Common practice, no source.
    const FACING: Length = Length::from_mm(30.0);
    /// How far magnets stay from what they upset: where a pair's field is within that of a door
    /// magnet. Chosen by us.
    const MAGNETS_OFF: Length = Length::from_mm(100.0);

    /// As it is drafted on a pane of that outline. Tape is as wide as the cover's.
    ///
    /// # Errors
    /// [`DraftError::KeepOutAway`] when its readings put it nowhere near the glass.
    pub fn free(&self, outline: &Outline, tape: Length) -> Result<Free<Pane>, DraftError> {
        let name = self.keep_out.kind.to_string().replace('-', " ");
        let Some(shape) = self.keep_out.path(outline) else {
            return Err(DraftError::KeepOutAway { name });
        };
        Ok(Free {
            name,
            shape,
            clearance: self.clearance,
            finish: match self.edge {
                FreeEdge::Bound => FreeFinish::Bound { tape },
                FreeEdge::Faced => {
                    FreeFinish::Faced { turning: Self::TURNING, width: Self::FACING }
                }
                FreeEdge::Raw => FreeFinish::Raw,
            },
            slit: self.slit,
            magnets_off: self.magnets_off(),
        })
    }

    fn magnets_off(&self) -> Length {
        match self.keep_out.kind.minds_magnets() {
            true => Self::MAGNETS_OFF,
            false => Length::ZERO,
        }
    }

    /// Where no magnet may reach on a pane of that outline: `None` when it is nowhere near the glass.
    #[must_use]
    pub fn clear_of_magnets(&self, outline: &Outline) -> Option<Vec<Path<Pane>>> {
        let room = self.clearance.max(self.magnets_off());
        Some(self.keep_out.path(outline)?.inset(-room))
    }
}

/// A cloth the order describes.
#[derive(Clone, Debug, PartialEq)]
pub struct ClothEntry {
    /// The workshop's name for it.
    pub name: String,
    /// Usable width.
    pub width: Length,
    /// Thickness of one layer.
    pub thickness: Option<Length>,
    /// Whether it has a nap, or another reason that all pieces lie the same way.
    pub nap: bool,
    /// How its print stands, when it has one.
    pub print: Option<Print>,
    /// Its shrinkage.
    pub shrinkage: Shrinkage,
    /// How much it gathers or stretches without a crease, as a part, when stated.
    pub gives: Option<f64>,
}

/// What is said of covers; what is left out has its usual value.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CoverWishes {
    /// What sort of cover.
    pub kind: Option<CoverKind>,
    /// The workshop's name for the cloth.
    pub cloth: Option<String>,
    /// Usable width of the cloth.
    pub cloth_width: Option<Length>,
    /// Thickness of one layer of cloth.
    pub cloth_thickness: Option<Length>,
    /// How far the finished edge lies inside the glass edge.
    pub inset: Option<Length>,
    /// Width of the hem along each edge, in the order of [`Edge::ALL`].
    pub hem: [Option<Length>; 4],
    /// Finish of each edge, in the order of [`Edge::ALL`].
    pub finish: [Option<Finish>; 4],
    /// How much a hem turned twice tucks under.
    pub tuck: Option<Length>,
    /// Width of the binding tape, flat.
    pub tape: Option<Length>,
    /// How corners are made.
    pub corner: Option<CornerStyle>,
    /// Width of the turning left round mitred and butted corners.
    pub turning: Option<Length>,
    /// Cloth beyond the seam where parts are joined.
    pub seam: Option<Length>,
    /// How parts are joined.
    pub seam_type: Option<SeamType>,
    /// The magnets, as a specification such as `disc:20x3:N35`.
    pub magnet: Option<String>,
    /// How magnets are held.
    pub pocket: Option<PocketStyle>,
    /// Its layers, when it has more than one or one with a name of its own.
    pub layers: Vec<LayerWishes>,
}

/// What is said of one layer of a cover; what is left out is as for the cover.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerWishes {
    /// What it is called: `lining`.
    pub name: String,
    /// Its cloth.
    pub cloth: Option<String>,
    /// Usable width of its cloth.
    pub cloth_width: Option<Length>,
    /// How far its finished edge lies inside the glass edge.
    pub inset: Option<Length>,
    /// Width of the hem along each edge.
    pub hem: [Option<Length>; 4],
    /// Finish of each edge.
    pub finish: [Option<Finish>; 4],
}

/// How one pane's cover is made.
#[derive(Clone, Debug, PartialEq)]
pub struct CoverChoices {
    /// What sort of cover.
    pub kind: CoverKind,
    /// Its layers, the outermost first; at least one.
    pub layers: Vec<LayerChoices>,
    /// Width of binding tape, flat.
    pub tape: Length,
    /// How its corners are made.
    pub corners: Corners,
    /// Cloth beyond the seam where parts are joined.
    pub seam: Length,
    /// How parts are joined.
    pub seam_type: SeamType,
    /// The magnets, when stated.
    pub magnet: Option<String>,
    /// How magnets are held.
    pub pockets: PocketStyle,
    /// Thickness of one layer of cloth.
    pub cloth_thickness: Length,
}

/// How one layer of a cover is made.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerChoices {
    /// What it is called on its pieces: `panel`, `blackout`, `lining`.
    pub name: String,
    /// Its cloth, when stated.
    pub cloth: Option<String>,
    /// Usable width of its cloth, when stated.
    pub cloth_width: Option<Length>,
    /// How far its finished edge lies inside the glass edge.
    pub inset: Length,
    /// Finish of each edge, in the order of [`Edge::ALL`].
    pub edges: [EdgeFinish; 4],
}

impl LayerChoices {
    /// The finish along that edge.
    #[must_use]
    pub fn finish(&self, edge: Edge) -> EdgeFinish {
        let place = Edge::ALL.iter().position(|&other| other == edge);
        self.edges[place.expect("every edge is in the list of all")]
    }
}

impl CoverWishes {
    /// Inset where none is stated: the aim of the chance of fit.
    pub const INSET: Length = Length::from_mm(4.0);
    /// Hem where none is stated. Common practice, no source.
    pub const HEM: Length = Length::from_mm(20.0);
    /// Tuck of a hem turned twice where none is stated. Common practice, no source.
    pub const TUCK: Length = Length::from_mm(10.0);
    /// Width of binding tape where none is stated. Common practice, no source.
    pub const TAPE: Length = Length::from_mm(25.0);
    /// Turning round corners where none is stated. Common practice, no source.
    pub const TURNING: Length = Length::from_mm(10.0);
    /// Seam allowance where none is stated. Common practice, no source.
    pub const SEAM: Length = Length::from_mm(12.0);
    /// Thickness of cloth where none is stated. Chosen by us: a coated cloth of about 600 g/m².
    pub const CLOTH_THICKNESS: Length = Length::from_mm(0.6);

    /// Whether nothing is said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// These wishes where they say something, else the others.
    #[must_use]
    pub fn or(&self, other: &Self) -> Self {
        let each =
            |a: [Option<Length>; 4], b: [Option<Length>; 4]| std::array::from_fn(|i| a[i].or(b[i]));
        let layers = if self.layers.is_empty() { &other.layers } else { &self.layers };
        // The width belongs to the cloth it is stated with.
        let same_cloth = self.cloth.is_none() || self.cloth == other.cloth;
        Self {
            kind: self.kind.or(other.kind),
            cloth: self.cloth.clone().or_else(|| other.cloth.clone()),
            cloth_width: self.cloth_width.or(other.cloth_width.filter(|_| same_cloth)),
            cloth_thickness: self.cloth_thickness.or(other.cloth_thickness.filter(|_| same_cloth)),
            inset: self.inset.or(other.inset),
            hem: each(self.hem, other.hem),
            finish: std::array::from_fn(|i| self.finish[i].or(other.finish[i])),
            tuck: self.tuck.or(other.tuck),
            tape: self.tape.or(other.tape),
            corner: self.corner.or(other.corner),
            turning: self.turning.or(other.turning),
            seam: self.seam.or(other.seam),
            seam_type: self.seam_type.or(other.seam_type),
            magnet: self.magnet.clone().or_else(|| other.magnet.clone()),
            pocket: self.pocket.or(other.pocket),
            layers: layers.clone(),
        }
    }

    /// The choices for a pane of that family.
    #[must_use]
    pub fn choices(&self, family: Family) -> CoverChoices {
        let kind = self.kind.unwrap_or(match family {
            Family::Windscreen | Family::HalfScreen => CoverKind::Screen,
            Family::CabSide | Family::Door | Family::Side | Family::Rear => CoverKind::Cover,
        });
        // An inside blackout is bound: a hem would stand between it and the glass and let light in.
        let usual = match kind {
            CoverKind::Screen | CoverKind::Cover => Finish::Hem,
            CoverKind::Blackout => Finish::Bound,
        };
        let inset = self.inset.unwrap_or(Self::INSET);
        let finish = |i: usize, layer: Option<&LayerWishes>| {
            let finish = layer.and_then(|layer| layer.finish[i]).or(self.finish[i]);
            let hem = layer.and_then(|layer| layer.hem[i]).or(self.hem[i]);
            // A hem's width alone asks for a hem, and none for a raw edge.
            let finish = match (finish, hem) {
                (Some(finish), _) => finish,
                (None, Some(Length::ZERO)) => Finish::Raw,
                (None, Some(_)) => Finish::Hem,
                (None, None) => usual,
            };
            let width = hem.unwrap_or(Self::HEM);
            match finish {
                Finish::Hem | Finish::DoubleHem | Finish::Welded if width == Length::ZERO => {
                    EdgeFinish::Raw
                }
                Finish::Hem => EdgeFinish::Hem { width },
                Finish::DoubleHem => {
                    EdgeFinish::DoubleHem { width, tuck: self.tuck.unwrap_or(Self::TUCK) }
                }
                Finish::Welded => EdgeFinish::Welded { width },
                Finish::Bound => EdgeFinish::Bound { tape: self.tape.unwrap_or(Self::TAPE) },
                Finish::Raw => EdgeFinish::Raw,
            }
        };
        let layer = |name: &str, layer: Option<&LayerWishes>| {
            let own_cloth = layer.and_then(|layer| layer.cloth.clone());
            let own_width = layer.and_then(|layer| layer.cloth_width);
            let cover_width = self.cloth_width.filter(|_| own_cloth.is_none());
            LayerChoices {
                name: name.to_owned(),
                cloth: own_cloth.or_else(|| self.cloth.clone()),
                cloth_width: own_width.or(cover_width),
                inset: layer.and_then(|layer| layer.inset).unwrap_or(inset),
                edges: std::array::from_fn(|i| finish(i, layer)),
            }
        };
        let layers = if self.layers.is_empty() {
            let name = match kind {
                CoverKind::Screen | CoverKind::Cover => "panel",
                CoverKind::Blackout => "blackout",
            };
            vec![layer(name, None)]
        } else {
            self.layers.iter().map(|wishes| layer(&wishes.name, Some(wishes))).collect()
        };
        CoverChoices {
            kind,
            layers,
            tape: self.tape.unwrap_or(Self::TAPE),
            corners: Corners {
                style: self.corner.unwrap_or(CornerStyle::Mitred),
                turning: self.turning.unwrap_or(Self::TURNING),
            },
            seam: self.seam.unwrap_or(Self::SEAM),
            seam_type: self.seam_type.unwrap_or(SeamType::Plain),
            magnet: self.magnet.clone(),
            pockets: self.pocket.unwrap_or(PocketStyle::Hem),
            cloth_thickness: self.cloth_thickness.unwrap_or(Self::CLOTH_THICKNESS),
        }
    }
}

impl ClothEntry {
    /// As it is drafted on, usable over that width.
    #[must_use]
    pub fn cloth(&self, usable_width: Length) -> Cloth {
        Cloth {
            name: self.name.clone(),
            usable_width,
            half_turn: !self.nap && self.print.is_none(),
            print: self.print,
            shrinkage: self.shrinkage,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pane_says_more_than_its_order_and_its_order_more_than_the_family() {
        let mm = Length::from_mm;
        let order = CoverWishes {
            hem: [Some(mm(30.0)); 4],
            cloth: Some("mesh".to_owned()),
            cloth_width: Some(mm(1500.0)),
            ..Default::default()
        };
        let pane = CoverWishes {
            cloth: Some("blackout".to_owned()),
            finish: [Some(Finish::DoubleHem), None, Some(Finish::Bound), None],
            ..Default::default()
        };
        let choices = pane.or(&order).choices(Family::Rear);
        assert_eq!(choices.kind, CoverKind::Cover);
        let layer = &choices.layers[0];
        // The width was stated with another cloth.
        assert_eq!((layer.cloth.as_deref(), layer.cloth_width), (Some("blackout"), None));
        let double = EdgeFinish::DoubleHem { width: mm(30.0), tuck: mm(10.0) };
        assert_eq!(layer.finish(Edge::ALL[0]), double);
        assert_eq!(layer.finish(Edge::ALL[1]), EdgeFinish::Hem { width: mm(30.0) });
        assert_eq!(layer.finish(Edge::ALL[2]), EdgeFinish::Bound { tape: mm(25.0) });
    }

    #[test]
    fn an_inside_blackout_is_bound_and_a_hem_of_nothing_is_raw() {
        let blackout = CoverWishes { kind: Some(CoverKind::Blackout), ..Default::default() };
        let layer = &blackout.choices(Family::Windscreen).layers[0];
        assert_eq!(layer.name, "blackout");
        assert!(matches!(layer.edges[0], EdgeFinish::Bound { .. }));
        let raw = CoverWishes { hem: [Some(Length::ZERO); 4], ..Default::default() };
        assert_eq!(raw.choices(Family::Side).layers[0].edges, [EdgeFinish::Raw; 4]);
    }
}
