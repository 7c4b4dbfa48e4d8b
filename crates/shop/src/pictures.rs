//! The picture of a judged pane.

use export::{Caption, Drawing, Element, Group, LineKind, Scale};
use geometry::{Pane, Path};
use hold::GripPlan;
use survey::{Judgement, PaneReadings, Voice};

pub(crate) fn picture_of_pane(
    _r: &PaneReadings,
    j: &Judgement,
    _p: &GripPlan,
    _v: &Voice,
    caption: Caption,
) -> Drawing<Pane> {
    let elements = vec![Element::Line {
        kind: LineKind::GlassEdge,
        path: Path::closed(j.outline.path().vertices().to_vec()),
    }];
    Drawing {
        caption: Caption { scale: Scale::one_to(10.0), ..caption },
        groups: vec![Group { name: "glass".into(), label: None, elements }],
    }
}
