//! Why there is no honest draft.

use geometry::Length;
use thiserror::Error;

/// Why something can't be drafted. Sides and corners are numbered from 1, anticlockwise from the
/// base: side 1 runs from corner 1 to corner 2.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum DraftError {
    /// A length of nothing or less where cloth is needed.
    #[error("{item} is {found:.1}; give one above 0 mm")]
    NotPositive {
        /// Which length.
        item: String,
        /// What it was.
        found: Length,
    },
    /// A length below nothing.
    #[error("{item} is {found:.1}; give 0 mm or more")]
    Negative {
        /// Which length.
        item: String,
        /// What it was.
        found: Length,
    },
    /// Not one finish for each side.
    #[error("the outline has {sides} sides but {found} edge finishes; give one for each side")]
    Finishes {
        /// Sides of the outline.
        sides: usize,
        /// Finishes given.
        found: usize,
    },
    /// Nothing to cut.
    #[error("{item} is to be cut 0 times; ask for one or more, or leave it out")]
    Count {
        /// Which piece.
        item: String,
    },
    /// The finished edge would lose a side, fall apart or vanish.
    #[error(
        "a finished edge {inset:.1} inside the glass edge loses a side of the outline or all of it; \
         choose a smaller inset, or leave the shortest side out of the outline"
    )]
    Inset {
        /// How far inside the glass edge.
        inset: Length,
    },
    /// A hem wider than fits into the piece when it is turned in.
    #[error(
        "{item} has a {hem:.1} hem, wider than the {most:.1} that fits when it is turned in; choose \
         a narrower hem"
    )]
    HemTooWide {
        /// Which side.
        item: String,
        /// Its hem.
        hem: Length,
        /// The widest hem that fits.
        most: Length,
    },
    /// A hem too narrow for its stitch.
    #[error(
        "{item} has a {hem:.1} hem, no wider than the {stitch:.1} its stitch keeps from the cut \
         edge; choose a wider hem, or a raw or bound edge"
    )]
    HemTooNarrow {
        /// Which side.
        item: String,
        /// Its hem.
        hem: Length,
        /// How far the stitch keeps from the cut edge.
        stitch: Length,
    },
    /// The edge curves inwards more tightly than its allowance can follow.
    #[error(
        "{item} curves inwards with a radius of {radius:.1}, no more than its {allowance:.1} \
         allowance; choose a narrower allowance there or a larger radius"
    )]
    Radius {
        /// Which side.
        item: String,
        /// Radius of the finished edge.
        radius: Length,
        /// Allowance outside it.
        allowance: Length,
    },
    /// A hem that cannot lie flat where the edge bulges.
    #[error(
        "{item} is rounded by {radius:.1}, too tight to turn in {hem:.1} of cloth; bind the edge, \
         choose mitred corners, or turn in no more than {most:.1}"
    )]
    HemOnCurve {
        /// Which side or corner.
        item: String,
        /// Radius of the finished edge there.
        radius: Length,
        /// Cloth to be turned in.
        hem: Length,
        /// The most that can be.
        most: Length,
    },
    /// A side shorter than what the ends of its hem take off it.
    #[error(
        "{item} is {length:.1}, too short for the ends of a hem as wide as this; choose a narrower \
         hem there, a bound edge, or butted corners"
    )]
    ShortSide {
        /// Which side.
        item: String,
        /// Its finished length.
        length: Length,
    },
    /// Lines that would cross each other.
    #[error(
        "the {line} would cross itself; choose narrower allowances, or straighten the outline where \
         it turns inwards"
    )]
    Tangled {
        /// Which line.
        line: String,
    },
    /// A grip not wholly inside the finished edge.
    #[error(
        "grip {number} stands {found:.1} inside the finished edge, but its radius needs {needed:.1}; \
         move it in or leave it out"
    )]
    GripOutside {
        /// Number of the grip.
        number: u32,
        /// Distance of its middle inside the finished edge; negative outside.
        found: Length,
        /// Radius of its larger disc.
        needed: Length,
    },
    /// Something to be left free that is nowhere on the panel.
    #[error(
        "the {name} lies beside the cover; check its distances from the glass edges, or leave it out"
    )]
    KeepOutAway {
        /// What it is.
        name: String,
    },
    /// Something to be left free that would cut the panel apart.
    #[error(
        "leaving the {name} free cuts the cover apart; make it smaller, or split the cover into two \
         panes there"
    )]
    KeepOutParts {
        /// What it is.
        name: String,
    },
    /// Things to be left free that lie on one another.
    #[error("the {name} meets another thing to be left free; give both as one")]
    KeepOutsMeet {
        /// The later one.
        name: String,
    },
    /// Something to be left free that is too small for its finish.
    #[error(
        "the hole for the {name} is too small to turn in {turning:.1}; choose a narrower turning, or \
         a bound or raw edge"
    )]
    KeepOutSmall {
        /// What it is.
        name: String,
        /// Cloth to be turned in.
        turning: Length,
    },
    /// Cloth that shrinks or stretches too much.
    #[error(
        "{cloth} shrinks by {:.1} %, and pieces are only corrected for up to 10 % either way; wash \
         or relax it before cutting, or choose another cloth", .part * 100.0
    )]
    Shrinkage {
        /// The cloth.
        cloth: String,
        /// By how much, as a part.
        part: f64,
    },
    /// Cloth too narrow even for parts.
    #[error(
        "{item} needs cloth with more than {needed:.1} of usable width, and {cloth} has {found:.1}; \
         choose a wider cloth or narrower allowances"
    )]
    ClothNarrow {
        /// Which piece.
        item: String,
        /// The cloth.
        cloth: String,
        /// Its usable width.
        found: Length,
        /// The usable width below which nothing helps.
        needed: Length,
    },
    /// Cloth printed across the roll and too narrow for the piece to stand upright in the print.
    #[error(
        "{item} stands upright in the print of {cloth} only on {needed:.1} of usable width, and it has \
         {found:.1}; choose a wider cloth or one printed along the roll"
    )]
    PrintNarrow {
        /// Which piece.
        item: String,
        /// The cloth.
        cloth: String,
        /// Its usable width.
        found: Length,
        /// The usable width needed.
        needed: Length,
    },
    /// A seam that would meet the panel's edge more than twice.
    #[error(
        "a seam of {item} would run out of the cloth and in again; choose a wider cloth, so that \
         fewer seams are needed"
    )]
    SeamBroken {
        /// Which part.
        item: String,
    },
    /// A strip with no flat form.
    #[error("{item} cannot be laid flat: {fault}; measure its edges again")]
    Strip {
        /// Which strip.
        item: String,
        /// What is wrong with it.
        fault: &'static str,
    },
    /// A hood with no depth.
    #[error(
        "{item} is for a housing {found:.1} deep, and a hood that shallow has nothing to hold by; \
         measure the depth from the rim to the deepest point, or order a flat cover instead"
    )]
    HoodShallow {
        /// Which hood.
        item: String,
        /// Depth of the housing.
        found: Length,
    },
    /// Corners too tight for what is sewn round them.
    #[error(
        "the corners of {item} are rounded by {radius:.1} where it is seamed, less than its \
         {allowance:.1} allowance, which would not lie flat; choose a larger corner radius or a \
         narrower allowance"
    )]
    CornerTight {
        /// Which piece.
        item: String,
        /// Radius of the seam at the corners.
        radius: Length,
        /// Allowance outside it.
        allowance: Length,
    },
    /// A straight side too short for its rounded corners, or for what sits on it.
    #[error(
        "{item} needs a straight side of {needed:.1} for {what}, and has {found:.1}; measure \
         the housing again, or choose a smaller {smaller}"
    )]
    SideShort {
        /// Which piece.
        item: String,
        /// What has to fit there.
        what: &'static str,
        /// Length of the side.
        found: Length,
        /// Length needed.
        needed: Length,
        /// What to make smaller.
        smaller: &'static str,
    },
    /// An arm slot that would reach the front seam.
    #[error(
        "the arm slot of {item} is {found:.1} deep and may be {most:.1}, so that cloth is left \
         between it and the front seam; choose a shallower slot"
    )]
    SlotDeep {
        /// Which hood.
        item: String,
        /// How deep it is.
        found: Length,
        /// How deep it may be.
        most: Length,
    },
    /// A blade longer than the glass it wipes.
    #[error(
        "{blade} is {found:.1} long, longer than the {most:.1} its glass measures at most; measure \
         the blade again from end to end of the rubber"
    )]
    BladeLong {
        /// Which blade.
        blade: String,
        /// Its length.
        found: Length,
        /// The longest straight line on the glass.
        most: Length,
    },
    /// An opening for the arm wider than the sleeve's outer face.
    #[error(
        "the arm's opening in {item} is {found:.1} wide, more than the {most:.1} of the sleeve there; \
         measure blade and arm across again, or choose a narrower opening"
    )]
    ArmWide {
        /// Which sleeve.
        item: String,
        /// Width of the opening.
        found: Length,
        /// Width of the sleeve.
        most: Length,
    },
    /// An arm that would come out at a sleeve's end.
    #[error(
        "the arm of {item} is {found:.1} from the blade's left end, and its opening needs it between \
         {least:.1} and {most:.1}; measure again from the blade's left end to the arm's middle, or \
         choose a narrower opening"
    )]
    ArmAway {
        /// Which sleeve.
        item: String,
        /// Where the arm is.
        found: Length,
        /// The nearest it may be.
        least: Length,
        /// The farthest it may be.
        most: Length,
    },
    /// An overlap with no room for its tape.
    #[error(
        "{item} overlaps by {found:.1}, and its tape is {needed:.1} wide; choose a wider overlap or a \
         narrower tape"
    )]
    OverlapNarrow {
        /// Which sleeve.
        item: String,
        /// Its overlap.
        found: Length,
        /// Width of the tape.
        needed: Length,
    },
    /// An overlap that would reach the top of the sleeve.
    #[error(
        "{item} overlaps by {found:.1}, more than the {most:.1} up to its top; choose a narrower \
         overlap, or measure blade and arm across again"
    )]
    OverlapWide {
        /// Which sleeve.
        item: String,
        /// Its overlap.
        found: Length,
        /// The most there is room for.
        most: Length,
    },
    /// A surface with no flat form.
    #[error("{item} cannot be laid flat: {fault}; measure its bends again")]
    Surface {
        /// Which pane.
        item: String,
        /// What is wrong with it.
        fault: &'static str,
    },
}
