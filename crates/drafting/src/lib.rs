//! Outline and grips to pieces ready to cut.
//!
//! [`draft_panel`] gives the screen of one pane, [`draft_sleeve`] the sleeve of one wiper blade,
//! [`draft_hood`] the hood of one mirror and [`draft_strap`] one strap. Each answers with a [`Draft`]: the
//! pieces, their figures, and remarks for whoever makes them. Choices of the workshop arrive in [`Cloth`]
//! and [`Sewing`]; there are no hidden ones.

mod allowance;
mod cloth;
mod draft;
mod ease;
mod edge;
mod error;
mod finish;
mod flatten;
mod form;
mod hood;
mod keep_out;
mod marks;
mod panel;
mod piece;
mod pocket;
#[cfg(test)]
mod samples;
mod sleeve;
mod strap;
mod stretch;
mod unroll;

pub use cloth::{Cloth, Print, Sewing, Shrinkage};
pub use draft::{Draft, PieceFigures, Remark};
pub use error::DraftError;
pub use finish::{CornerStyle, Corners, EdgeFinish, SeamType};
pub use flatten::{
    DoubleBend, FlatPane, Flattened, Settled, Strain, Surface, flatten, flatten_pane,
};
pub use form::{Form, FormPart, SpacePoint};
pub use hood::{ArmSlot, CameraBulge, Closure, HoodAsk, HoodDraft, MirrorSide, draft_hood};
pub use keep_out::{Free, FreeFinish};
pub use panel::{PanelAsk, bound_length, draft_panel};
pub use piece::{DrillPoint, Notch, NotchForm, Piece, PieceText};
pub use pocket::PocketStyle;
pub use sleeve::{ArmOpening, BladeSection, ClosedEnd, SleeveAsk, SleeveDraft, draft_sleeve};
pub use strap::{StrapAsk, StrapPlace, draft_strap};
pub use unroll::{UnrolledStrip, unroll};
