//! The cover and cloth tables of order files, read and written.

use std::fmt::Display;

use drafting::{CornerStyle, PocketStyle, Print, SeamType, Shrinkage};
use geometry::Length;
use survey::{Across, Edge, KeepOut, KeepOutKind, KeepOutShape, Up};

use crate::cover::{ClothEntry, CoverKind, CoverWishes, Finish, FreeChoice, FreeEdge, LayerWishes};
use crate::fault::Faults;
use crate::fields::{Field, Fields, Least};
use crate::order_file::{Sheet, Table, exact, new_name, quoted};
use crate::tree::Value;

/// Most layers of one cover. Chosen by us: more cannot be sewn together.
pub(crate) const MOST_LAYERS: usize = 4;
/// Most things one cover leaves free. Chosen by us: more leave no cover.
pub(crate) const MOST_KEEP_OUTS: usize = 20;
/// Widest cloth, longest inset, and other limits of sense. Chosen by us: beyond them the unit was
/// forgotten.
const WIDEST_CLOTH: f64 = 10_000.0;
const MOST_INSET: f64 = 100.0;
const MOST_HEM: f64 = 200.0;
const MOST_SEAM: f64 = 100.0;
const MOST_THICKNESS: f64 = 10.0;
/// Most per cent a cloth may shrink or stretch, as drafting corrects for.
pub(crate) const MOST_SHRINKAGE: f64 = Shrinkage::MOST * 100.0;

impl Sheet {
    fn cover_length(
        &self,
        field: Option<Field<'_>>,
        least: Least,
        most: f64,
        faults: &mut Faults<'_>,
    ) -> Option<Length> {
        field?.length(self.unit, least, Length::from_mm(most), faults)
    }

    /// One value for all edges, or a table with some edges.
    fn by_edge<T: Copy>(
        field: Option<Field<'_>>,
        faults: &mut Faults<'_>,
        read: impl Fn(&Field<'_>, &mut Faults<'_>) -> Option<T>,
    ) -> [Option<T>; 4] {
        let Some(field) = field else { return [None; 4] };
        if !matches!(field.node.value, Value::Table(_)) {
            return [read(&field, faults); 4];
        }
        let Some(mut edges) = field.table(faults) else { return [None; 4] };
        let mut values = [None; 4];
        for (value, edge) in values.iter_mut().zip(Edge::ALL) {
            *value = edges.get(edge.spelling()).and_then(|field| read(&field, faults));
        }
        edges.finish(faults);
        values
    }

    fn hem(&self, field: Option<Field<'_>>, faults: &mut Faults<'_>) -> [Option<Length>; 4] {
        let most = Length::from_mm(MOST_HEM);
        Self::by_edge(field, faults, |f, faults| f.length(self.unit, Least::Zero, most, faults))
    }

    fn finish(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> [Option<Finish>; 4] {
        Self::by_edge(field, faults, |f, faults| f.one_of(Finish::ALL, faults))
    }

    /// What is said of a cover, of the whole order or of one pane.
    pub(crate) fn cover(&self, mut fields: Fields<'_>, faults: &mut Faults<'_>) -> CoverWishes {
        let f = &mut fields;
        let wishes = CoverWishes {
            kind: f.get("kind").and_then(|f| f.one_of(CoverKind::ALL, faults)),
            cloth: f.get("cloth").and_then(|f| f.name(faults)),
            cloth_width: self.cover_length(
                f.get("cloth_width"),
                Least::AboveZero,
                WIDEST_CLOTH,
                faults,
            ),
            cloth_thickness: self.cover_length(
                f.get("cloth_thickness"),
                Least::AboveZero,
                MOST_THICKNESS,
                faults,
            ),
            inset: self.cover_length(f.get("inset"), Least::Zero, MOST_INSET, faults),
            hem: self.hem(f.get("hem"), faults),
            finish: Self::finish(f.get("finish"), faults),
            tuck: self.cover_length(f.get("tuck"), Least::AboveZero, MOST_HEM, faults),
            tape: self.cover_length(f.get("tape"), Least::AboveZero, MOST_HEM, faults),
            corner: f.get("corner").and_then(|f| f.one_of(CornerStyle::ALL, faults)),
            turning: self.cover_length(f.get("turning"), Least::Zero, MOST_HEM, faults),
            seam: self.cover_length(f.get("seam"), Least::AboveZero, MOST_SEAM, faults),
            seam_type: f.get("seam_type").and_then(|f| f.one_of(SeamType::ALL, faults)),
            magnet: f.get("magnet").and_then(|f| f.name(faults)),
            pocket: f.get("pocket").and_then(|f| f.one_of(PocketStyle::ALL, faults)),
            layers: self.layers(f, faults),
        };
        fields.finish(faults);
        wishes
    }

    fn layers(&self, fields: &mut Fields<'_>, faults: &mut Faults<'_>) -> Vec<LayerWishes> {
        let mut names = Vec::new();
        let tables = fields.tables("layer", MOST_LAYERS, faults);
        let layer = |mut f: Fields<'_>| {
            let name = new_name(&mut f, "\"lining\"", &mut names, faults);
            let cloth = f.get("cloth").and_then(|f| f.name(faults));
            let width = f.get("cloth_width");
            let cloth_width = self.cover_length(width, Least::AboveZero, WIDEST_CLOTH, faults);
            let inset = self.cover_length(f.get("inset"), Least::Zero, MOST_INSET, faults);
            let hem = self.hem(f.get("hem"), faults);
            let finish = Self::finish(f.get("finish"), faults);
            f.finish(faults);
            Some(LayerWishes { name: name?, cloth, cloth_width, inset, hem, finish })
        };
        tables.into_iter().filter_map(layer).collect()
    }

    /// What a pane's cover leaves free.
    pub(crate) fn keep_outs(
        &self,
        fields: &mut Fields<'_>,
        faults: &mut Faults<'_>,
    ) -> Vec<FreeChoice> {
        let tables = fields.tables("keep-out", MOST_KEEP_OUTS, faults);
        tables.into_iter().filter_map(|fields| self.keep_out(fields, faults)).collect()
    }

    fn keep_out(&self, mut fields: Fields<'_>, faults: &mut Faults<'_>) -> Option<FreeChoice> {
        let f = &mut fields;
        let kind = f.need("kind", "\"sensor\"", faults);
        let kind = kind.and_then(|f| f.one_of(KeepOutKind::ALL, faults));
        let across = self.one_given(
            f,
            [
                ("from_left", Across::FromLeft),
                ("from_right", Across::FromRight),
                ("from_centre", Across::FromCentre),
            ],
            faults,
        );
        let up =
            self.one_given(f, [("from_base", Up::FromBase), ("from_top", Up::FromTop)], faults);
        let diameter = f.get("diameter");
        let shape = if let Some(diameter) = diameter {
            for key in ["width", "height"] {
                if let Some(field) = f.get(key) {
                    field.fault(faults, "is given beside a diameter; keep one or the other");
                }
            }
            let diameter = diameter.reading(self.unit, Least::AboveZero, faults);
            diameter.map(|diameter| KeepOutShape::Circle { diameter: diameter.length })
        } else {
            let width = self.size(f, "width", "\"4\"", faults);
            let height = self.size(f, "height", "\"3\"", faults);
            width.zip(height).map(|(width, height)| KeepOutShape::Rectangle {
                width: width.length,
                height: height.length,
            })
        };
        let clearance = match f.get("clearance") {
            None => Some(FreeChoice::CLEARANCE),
            field => self.cover_length(field, Least::Zero, MOST_INSET, faults),
        };
        let edge = f
            .get("finish")
            .map_or(Some(FreeEdge::Bound), |field| field.one_of(FreeEdge::ALL, faults));
        let slit = f.get("slit").map_or(Some(false), |field| field.truth(faults));
        fields.finish(faults);
        let keep_out = KeepOut { kind: kind?, across: across?, up: up?, shape: shape? };
        Some(FreeChoice { keep_out, clearance: clearance?, edge: edge?, slit: slit? })
    }

    /// The one length of several that is given.
    fn one_given<T, const N: usize>(
        &self,
        fields: &mut Fields<'_>,
        ways: [Way<T>; N],
        faults: &mut Faults<'_>,
    ) -> Option<T> {
        let mut found = None;
        for (key, make) in ways {
            let Some(field) = fields.get(key) else { continue };
            if found.is_some() {
                let others: Vec<String> = ways.iter().map(|way| format!("`{}`", way.0)).collect();
                field.fault(faults, format!("is one too many; keep one of {}", others.join(", ")));
                continue;
            }
            found = Some(field.reading(self.unit, Least::Any, faults).map(|r| make(r.length)));
        }
        match found {
            Some(found) => found,
            None => fields.need(ways[0].0, "\"2 1/2\"", faults).and(None),
        }
    }

    /// A cloth the order describes.
    pub(crate) fn cloth(
        &self,
        mut fields: Fields<'_>,
        names: &mut Vec<String>,
        faults: &mut Faults<'_>,
    ) -> Option<ClothEntry> {
        let f = &mut fields;
        let name = new_name(f, "\"screen mesh\"", names, faults);
        let width = f.need("width", "\"1500 mm\"", faults);
        let width = self.cover_length(width, Least::AboveZero, WIDEST_CLOTH, faults);
        let thickness = f.get("thickness");
        let thickness = self.cover_length(thickness, Least::AboveZero, MOST_THICKNESS, faults);
        let nap = f.get("nap").map_or(Some(false), |f| f.truth(faults));
        let print = f.get("print").and_then(|f| f.one_of(Print::ALL, faults));
        let limits = -MOST_SHRINKAGE..=MOST_SHRINKAGE;
        let mut part = |key| match f.get(key) {
            None => 0.0,
            Some(field) => field.number(limits.clone(), faults).unwrap_or(0.0) / 100.0,
        };
        let shrinkage = Shrinkage { warp: part("shrinks_along"), weft: part("shrinks_across") };
        let gives = f.get("gives").and_then(|f| f.number(0.0..=MOST_SHRINKAGE, faults));
        let gives = gives.map(|percent| percent / 100.0);
        fields.finish(faults);
        let (name, width, nap) = (name?, width?, nap?);
        Some(ClothEntry { name, width, thickness, nap, print, shrinkage, gives })
    }
}

/// A key that may state a place, and what its length then says.
type Way<T> = (&'static str, fn(Length) -> T);

/// Writes what is said of a cover; `heading` is its table's, without brackets.
pub(crate) fn write_cover(file: &mut String, heading: &str, cover: &CoverWishes) {
    if cover.is_empty() {
        return;
    }
    let mut table = Table::of(file, &format!("[{heading}]"));
    table.maybe("kind", cover.kind, spelt);
    table.maybe("cloth", cover.cloth.as_deref(), quoted);
    table.maybe("cloth_width", cover.cloth_width, exact);
    table.maybe("cloth_thickness", cover.cloth_thickness, exact);
    table.maybe("inset", cover.inset, exact);
    write_edges(&mut table, &cover.hem, &cover.finish);
    table.maybe("tuck", cover.tuck, exact);
    table.maybe("tape", cover.tape, exact);
    table.maybe("corner", cover.corner, spelt);
    table.maybe("turning", cover.turning, exact);
    table.maybe("seam", cover.seam, exact);
    table.maybe("seam_type", cover.seam_type, spelt);
    table.maybe("magnet", cover.magnet.as_deref(), quoted);
    table.maybe("pocket", cover.pocket, spelt);
    for layer in &cover.layers {
        let mut table = Table::of(file, &format!("[[{heading}.layer]]"));
        table.text("name", &layer.name);
        table.maybe("cloth", layer.cloth.as_deref(), quoted);
        table.maybe("cloth_width", layer.cloth_width, exact);
        table.maybe("inset", layer.inset, exact);
        write_edges(&mut table, &layer.hem, &layer.finish);
    }
}

fn write_edges(table: &mut Table<'_>, hem: &[Option<Length>; 4], finish: &[Option<Finish>; 4]) {
    for (edge, hem) in Edge::ALL.iter().zip(hem) {
        table.maybe(&format!("hem.{edge}"), *hem, exact);
    }
    for (edge, finish) in Edge::ALL.iter().zip(finish) {
        table.maybe(&format!("finish.{edge}"), *finish, spelt);
    }
}

/// Writes what a pane's cover leaves free.
pub(crate) fn write_keep_out(file: &mut String, free: &FreeChoice) {
    let mut table = Table::of(file, "[[pane.keep-out]]");
    let KeepOut { kind, across, up, shape } = free.keep_out;
    table.text("kind", kind);
    let (key, length) = match across {
        Across::FromLeft(length) => ("from_left", length),
        Across::FromRight(length) => ("from_right", length),
        Across::FromCentre(length) => ("from_centre", length),
    };
    table.line(key, exact(length));
    let (key, length) = match up {
        Up::FromBase(length) => ("from_base", length),
        Up::FromTop(length) => ("from_top", length),
    };
    table.line(key, exact(length));
    match shape {
        KeepOutShape::Rectangle { width, height } => {
            table.line("width", exact(width));
            table.line("height", exact(height));
        }
        KeepOutShape::Circle { diameter } => table.line("diameter", exact(diameter)),
    }
    table.line("clearance", exact(free.clearance));
    table.text("finish", free.edge);
    table.line("slit", free.slit.to_string());
}

/// Writes a cloth.
pub(crate) fn write_cloth(file: &mut String, cloth: &ClothEntry) {
    let mut table = Table::of(file, "[[cloth]]");
    table.text("name", &cloth.name);
    table.line("width", exact(cloth.width));
    table.maybe("thickness", cloth.thickness, exact);
    table.line("nap", cloth.nap.to_string());
    table.maybe("print", cloth.print, spelt);
    let percent = |part: f64| (part * 100.0).to_string();
    table.line("shrinks_along", percent(cloth.shrinkage.warp));
    table.line("shrinks_across", percent(cloth.shrinkage.weft));
    table.maybe("gives", cloth.gives, percent);
}

fn spelt(word: impl Display) -> String {
    quoted(&word.to_string())
}
