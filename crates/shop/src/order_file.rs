//! Order files: TOML or JSON of the same shape to an [`Order`], and back to TOML.
//!
//! Whatever is wrong is told with its line and column, all of it at once. Readings keep the owner's
//! words, so that writing an order and reading it again gives the same order.

use std::collections::BTreeMap;
use std::fmt::{Display, Write as _};

use drafting::{BladeSection, ClosedEnd};
use geometry::Length;
use survey::{
    Blade, BladePoint, Class, Column, Course, Family, Flank, Half, Hood, HoodSide, Level,
    PaneReadings, Park, Reading, ReadingName, Side, Span, Steering, TapeReading, Unit, Vehicle,
    nearest,
};

use crate::book_file::CORNERS;
use crate::cover::{CoverWishes, FreeChoice};
use crate::cover_file::{write_cloth, write_cover, write_keep_out};
use crate::fault::{Faults, FileFault};
use crate::fields::{Field, Fields, Least, MOST_ITEMS};
use crate::hold_file::{Straps, magnet, write_hold, write_magnet, write_strap};
use crate::hold_wishes::HoldWishes;
use crate::order::{Order, SleeveWishes, safe_file_name};
use crate::tree::{Value, read_file};

/// Most bytes of an order file. Chosen by us: the largest sensible one is a fiftieth of it.
pub(crate) const MOST_ORDER_BYTES: usize = 1_000_000;
/// Most times one reading may be taken. Chosen by us.
pub(crate) const MOST_TAKEN: usize = 20;
/// Thickest glass. Chosen by us: thicker is armoured, no magnet holds through it, and mostly a unit was
/// forgotten.
const THICKEST_GLASS: Length = Length::from_mm(40.0);
/// Most a blade and its arm measure across. Chosen by us: above it the unit was forgotten.
const MOST_SECTION: Length = Length::from_mm(300.0);
/// First and last year a vehicle may be built in. Chosen by us.
pub(crate) const YEARS: [i32; 2] = [1900, 2100];

/// Reads an order file; `file_name` is used in messages, and a name ending in `.json` means JSON.
///
/// # Errors
/// When the file is not text, too large, neither TOML nor JSON, or says something that cannot be
/// used; every fault is told with where it stands.
pub fn read_order(bytes: &[u8], file_name: &str) -> Result<Order, FileFault> {
    read_file(bytes, file_name, MOST_ORDER_BYTES, order)
}

fn order(mut file: Fields<'_>, faults: &mut Faults<'_>) -> Option<Order> {
    let mut head = file.need_table("order", faults)?;
    let reference = head.need("ref", "\"H-0142\"", faults).and_then(|f| f.name(faults));
    let owner = head.get("owner").and_then(|f| f.name(faults));
    let unit = head.need("unit", "\"in\"", faults).and_then(|f| f.one_of(Unit::ALL, faults));
    let graduation = head.get("graduation");
    head.finish(faults);
    // Without the unit, no number below it can be read.
    let unit = unit?;
    let inch = Length::from_inches(1.0);
    let graduation = graduation.and_then(|f| f.length(unit, Least::AboveZero, inch, faults));

    let vehicle = file.need_table("vehicle", faults).and_then(|fields| vehicle(fields, faults));
    let mut names = Vec::new();
    let magnets: Vec<_> = file
        .tables("magnet", MOST_ITEMS, faults)
        .into_iter()
        .map(|f| magnet(f, &mut names, faults))
        .collect();
    let magnet_names = magnets.iter().flatten().map(|magnet| magnet.name.clone()).collect();
    let sheet = Sheet { unit, graduation, magnets: magnet_names };
    names.clear();
    file.need("pane", "[{}]", faults);
    let mut pane_wishes = Vec::new();
    let panes: Vec<_> = file
        .tables("pane", MOST_ITEMS, faults)
        .into_iter()
        .map(|f| sheet.pane(f, &mut names, &mut pane_wishes, faults))
        .collect();
    if panes.is_empty() && faults.is_empty() {
        faults.add(0, "`pane` is empty; add at least one pane");
    }
    names.clear();
    let blades: Vec<_> = file
        .tables("blade", MOST_ITEMS, faults)
        .into_iter()
        .map(|f| sheet.blade(f, &mut names, faults))
        .collect();
    let blades: Option<Vec<_>> = blades.into_iter().collect();
    names.clear();
    let hoods: Vec<_> = file
        .tables("hood", MOST_ITEMS, faults)
        .into_iter()
        .map(|f| sheet.hood(f, &mut names, faults))
        .collect();
    let cover = file.get("cover").and_then(|field| field.table(faults));
    let cover = cover.map(|fields| sheet.cover(fields, faults)).unwrap_or_default();
    names.clear();
    let cloths: Vec<_> = file
        .tables("cloth", MOST_ITEMS, faults)
        .into_iter()
        .map(|f| sheet.cloth(f, &mut names, faults))
        .collect();
    let mut straps = Vec::new();
    let hold = file.get("hold").and_then(|field| field.table(faults));
    let straps_of = Straps { panes: &panes, found: &mut straps };
    let hold = hold.map(|fields| sheet.hold(fields, Some(straps_of), faults)).unwrap_or_default();
    file.finish(faults);
    let (mut pane_covers, mut keep_outs, mut pane_holds) = (Vec::new(), Vec::new(), Vec::new());
    for wishes in pane_wishes {
        pane_covers.push(wishes.cover);
        keep_outs.push(wishes.keep_outs);
        pane_holds.push(wishes.hold);
    }
    let (blades, sleeves) = blades?.into_iter().unzip();
    Some(Order {
        reference: reference?,
        owner,
        unit,
        graduation,
        vehicle: vehicle?,
        panes: panes.into_iter().collect::<Option<_>>()?,
        blades,
        sleeves,
        hoods: hoods.into_iter().collect::<Option<_>>()?,
        cover,
        pane_covers,
        keep_outs,
        cloths: cloths.into_iter().collect::<Option<_>>()?,
        hold,
        pane_holds,
        straps,
        magnets: magnets.into_iter().collect::<Option<_>>()?,
    })
}

fn vehicle(mut fields: Fields<'_>, faults: &mut Faults<'_>) -> Option<Vehicle> {
    let class =
        fields.need("class", "\"coach\"", faults).and_then(|f| f.one_of(Class::ALL, faults));
    let make = fields.get("make").and_then(|f| f.name(faults));
    let model = fields.get("model").and_then(|f| f.name(faults));
    let year = fields.get("year").and_then(|f| f.whole(YEARS[0]..=YEARS[1], faults));
    let steering = fields.get("steering").and_then(|f| f.one_of(Steering::ALL, faults));
    fields.finish(faults);
    Some(Vehicle { class: class?, make, model, year, steering })
}

/// Which half or side of the vehicle a pane of that family is, refused where there is none.
pub(crate) fn half_and_flank(
    fields: &mut Fields<'_>,
    family: Option<Family>,
    faults: &mut Faults<'_>,
) -> (Option<Half>, Option<Flank>) {
    let mut only_for = |field: &Field<'_>, allowed: &[Family]| {
        let Some(family) = family.filter(|family| !allowed.contains(family)) else { return };
        let allowed: Vec<String> = allowed.iter().map(|family| format!("`{family}`")).collect();
        let message = format!(
            "is only for {}, and this is a `{family}`; take it out or change the family",
            allowed.join(", ")
        );
        field.fault(faults, message);
    };
    let (half, flank) = (fields.get("half"), fields.get("flank"));
    half.iter().for_each(|field| only_for(field, &HALVED));
    flank.iter().for_each(|field| only_for(field, &FLANKED));
    (
        half.and_then(|field| field.one_of(Half::ALL, faults)),
        flank.and_then(|field| field.one_of(Flank::ALL, faults)),
    )
}

/// Families of panes that come in two halves.
pub(crate) const HALVED: [Family; 1] = [Family::HalfScreen];
/// Families of panes that stand on one side of the vehicle.
pub(crate) const FLANKED: [Family; 3] = [Family::CabSide, Family::Door, Family::Side];

/// The key that states another place of a reading, for readings that have one.
pub(crate) const fn place_key(span: Span) -> Option<&'static str> {
    match span {
        Span::Height(Column::Left | Column::Right) => Some("in_from_side"),
        Span::Width(Level::Base) => Some("up_from_base"),
        Span::Width(Level::Top) => Some("down_from_top"),
        _ => None,
    }
}

/// The least a reading may be.
const fn least(span: Span) -> Least {
    match span {
        Span::Bow(_) | Span::Bend | Span::BendUp => Least::Any,
        Span::Radius(_) | Span::Band(_) | Span::Blocked(_) => Least::Zero,
        Span::Height(_) | Span::Width(_) | Span::Diagonal(_) | Span::Edge(_) => Least::AboveZero,
    }
}

/// What a pane says of its cover.
struct PaneWishes {
    cover: CoverWishes,
    keep_outs: Vec<FreeChoice>,
    hold: HoldWishes,
}

/// How the numbers of one order are read.
pub(crate) struct Sheet {
    pub(crate) unit: Unit,
    graduation: Option<Length>,
    /// Names of the magnets the order lists.
    pub(crate) magnets: Vec<String>,
}

impl Sheet {
    fn pane(
        &self,
        mut fields: Fields<'_>,
        names: &mut Vec<String>,
        wishes: &mut Vec<PaneWishes>,
        faults: &mut Faults<'_>,
    ) -> Option<PaneReadings> {
        let name = new_name(&mut fields, "\"front\"", names, faults);
        let family = fields.need("family", "\"windscreen\"", faults);
        let family = family.and_then(|f| f.one_of(Family::ALL, faults));
        let (half, flank) = half_and_flank(&mut fields, family, faults);
        let corners = fields.get("corners");
        let [least, most] = CORNERS.map(|n| n as i32);
        let corners = corners.and_then(|f| f.whole(least..=most, faults));
        let corners = corners.and_then(|n| usize::try_from(n).ok());
        let glass = fields.get("glass");
        let glass =
            glass.and_then(|f| f.length(self.unit, Least::AboveZero, THICKEST_GLASS, faults));
        let mut readings = BTreeMap::new();
        for (side, key) in [(Side::Outside, "outside"), (Side::Inside, "inside")] {
            if let Some(table) = fields.get(key).and_then(|field| field.table(faults)) {
                self.readings(&table, side, &mut readings, faults);
            }
        }
        let cover = fields.get("cover").and_then(|field| field.table(faults));
        let cover = cover.map(|fields| self.cover(fields, faults)).unwrap_or_default();
        let hold = fields.get("hold").and_then(|field| field.table(faults));
        let hold = hold.map(|fields| self.hold(fields, None, faults)).unwrap_or_default();
        wishes.push(PaneWishes { cover, keep_outs: self.keep_outs(&mut fields, faults), hold });
        fields.finish(faults);
        let readings = readings.into_values().collect();
        Some(PaneReadings { name: name?, family: family?, half, flank, glass, corners, readings })
    }

    /// Everything read on one side, `height.centre` and `height = { centre = … }` alike.
    fn readings(
        &self,
        table: &Fields<'_>,
        side: Side,
        readings: &mut BTreeMap<ReadingName, Reading>,
        faults: &mut Faults<'_>,
    ) {
        let spans: Vec<String> = Span::all().iter().map(Span::to_string).collect();
        let in_group = |span: &str, key: &str| span.split_once('.').is_some_and(|s| s.0 == key);
        for (entry, field) in table.all() {
            let is_table = matches!(field.node.value, Value::Table(_));
            let whole = [Span::Bend, Span::BendUp].map(|span| span.to_string());
            let is_name = whole.contains(&entry.key) || entry.key.contains('.');
            if is_table && !is_name {
                let Some(group) = field.table(faults) else { continue };
                for (inner, field) in group.all() {
                    let name = format!("{}.{}", entry.key, inner.key);
                    self.reading(&name, inner.at, &field, side, readings, faults);
                }
            } else if let Some(example) = spans.iter().find(|s| in_group(s, &entry.key)) {
                field.fault(
                    faults,
                    format!("does not say where; write `{example}` or another place"),
                );
            } else {
                self.reading(&entry.key, entry.at, &field, side, readings, faults);
            }
        }
    }

    fn reading(
        &self,
        name: &str,
        at: usize,
        field: &Field<'_>,
        side: Side,
        readings: &mut BTreeMap<ReadingName, Reading>,
        faults: &mut Faults<'_>,
    ) {
        if faults.are_enough() {
            return;
        }
        let span = match name.parse::<Span>() {
            Ok(span) => span,
            Err(unknown) => {
                let groups = Span::all().into_iter().filter_map(|span| {
                    span.to_string().split_once('.').map(|(group, _)| group.to_owned())
                });
                let way_out = match unknown.near.or_else(|| nearest(name, groups)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "readings are named like `height.centre`".to_owned(),
                };
                faults.add(at, format!("`{}` is not a reading; {way_out}", field.path));
                return;
            }
        };
        if !span.can_be_read(side) {
            let way_out = match side {
                Side::Inside => "only height, width, band and blocked are; move it under outside",
                Side::Outside => "move it under inside",
            };
            faults.add(at, format!("`{}` is not read {side}; {way_out}", field.path));
            return;
        }
        let (taken, place) = match &field.node.value {
            Value::Table(_) => self.placed(span, field, faults),
            _ => (self.taken(span, field, faults), None),
        };
        let name = ReadingName { side, span };
        let reading = Reading { name, taken: taken.unwrap_or_default(), place };
        if readings.insert(name, reading).is_some() {
            faults.add(at, format!("`{}` is given twice; keep one, or write a list", field.path));
        }
    }

    /// `{ read = …, taken = "straight", in_from_side = … }`.
    fn placed(
        &self,
        span: Span,
        field: &Field<'_>,
        faults: &mut Faults<'_>,
    ) -> (Option<Vec<TapeReading>>, Option<Length>) {
        let Some(mut fields) = field.table(faults) else { return (None, None) };
        let taken = fields.need("read", "\"56 1/2\"", faults);
        let mut taken = taken.and_then(|field| self.taken(span, &field, faults));
        if !span.is_length() {
            field.fault(faults, "has no other place or way; write the reading alone");
            return (taken, None);
        }
        if course(&mut fields, faults) == Some(Course::Straight) {
            taken.iter_mut().flatten().for_each(|tape| tape.straight = true);
        }
        let place = place_key(span).and_then(|key| fields.get(key));
        let place = place.and_then(|f| f.reading(self.unit, Least::AboveZero, faults));
        for key in ["in_from_side", "up_from_base", "down_from_top"] {
            if place_key(span) != Some(key)
                && let Some(field) = fields.get(key)
            {
                let way_out = match place_key(span) {
                    Some(own) => format!("is not for this reading; did you mean `{own}`?"),
                    None => "is not for this reading, which has no other place; take it out".into(),
                };
                field.fault(faults, way_out);
            }
        }
        fields.finish(faults);
        (taken, place.map(|place| place.length))
    }

    /// One reading, or a list of it taken again.
    fn taken(
        &self,
        span: Span,
        field: &Field<'_>,
        faults: &mut Faults<'_>,
    ) -> Option<Vec<TapeReading>> {
        let fields = match &field.node.value {
            Value::List(items) if items.is_empty() => {
                field.fault(faults, "is an empty list; write what the tape showed");
                return None;
            }
            Value::List(_) => field.list(MOST_TAKEN, faults)?,
            _ => {
                let reading = field.reading(self.unit, least(span), faults)?;
                return Some(vec![self.on_tape(reading)]);
            }
        };
        let read = |f: &Field<'_>| match &f.node.value {
            Value::Table(_) if span.is_length() => self.taken_so(span, f, faults),
            _ => f.reading(self.unit, least(span), faults).map(|reading| self.on_tape(reading)),
        };
        fields.iter().map(read).collect()
    }

    /// One of several: `{ read = …, taken = "straight" }`.
    fn taken_so(
        &self,
        span: Span,
        field: &Field<'_>,
        faults: &mut Faults<'_>,
    ) -> Option<TapeReading> {
        let mut fields = field.table(faults)?;
        let read = fields.need("read", "\"56 1/2\"", faults);
        let reading = read.and_then(|f| f.reading(self.unit, least(span), faults));
        let straight = course(&mut fields, faults) == Some(Course::Straight);
        fields.finish(faults);
        Some(TapeReading { straight, ..self.on_tape(reading?) })
    }

    fn on_tape(&self, reading: TapeReading) -> TapeReading {
        match self.graduation {
            Some(graduation) => reading.on_tape_of(graduation),
            None => reading,
        }
    }

    /// A length that must be given and is more than zero.
    pub(crate) fn size(
        &self,
        fields: &mut Fields<'_>,
        key: &'static str,
        example: &str,
        faults: &mut Faults<'_>,
    ) -> Option<TapeReading> {
        let field = fields.need(key, example, faults)?;
        field.reading(self.unit, Least::AboveZero, faults).map(|reading| self.on_tape(reading))
    }

    fn blade(
        &self,
        mut fields: Fields<'_>,
        names: &mut Vec<String>,
        faults: &mut Faults<'_>,
    ) -> Option<(Blade, SleeveWishes)> {
        let name = new_name(&mut fields, "\"left blade\"", names, faults);
        let length = self.size(&mut fields, "length", "\"32\"", faults);
        let park =
            fields.need("park", "\"flat\"", faults).and_then(|f| f.one_of(Park::ALL, faults));
        let mut point = |key| {
            let mut fields = fields.get(key)?.table(faults)?;
            let up = fields.need("from_base", "\"3 1/4\"", faults);
            let up = up.and_then(|f| f.reading(self.unit, Least::Any, faults));
            let level = fields.need("from_side", "\"14\"", faults);
            let level = level.and_then(|f| f.reading(self.unit, Least::Zero, faults));
            fields.finish(faults);
            Some(BladePoint { from_base: self.on_tape(up?), from_side: self.on_tape(level?) })
        };
        let (heel, tip) = (point("heel"), point("tip"));
        let sleeve = self.sleeve(&mut fields, faults);
        fields.finish(faults);
        Some((Blade { name: name?, length: length?, park: park?, heel, tip }, sleeve))
    }

    /// What a blade's table states of its sleeve.
    fn sleeve(&self, fields: &mut Fields<'_>, faults: &mut Faults<'_>) -> SleeveWishes {
        let section = fields.get("section").and_then(|field| field.table(faults));
        let section = section.and_then(|mut fields| {
            let mut size = |key, example| {
                let field = fields.need(key, example, faults)?;
                field.length(self.unit, Least::AboveZero, MOST_SECTION, faults)
            };
            let (width, height) = (size("width", "\"1 1/2\""), size("height", "\"2\""));
            fields.finish(faults);
            Some(BladeSection { width: width?, height: height? })
        });
        let arm = fields.get("arm").and_then(|f| f.reading(self.unit, Least::Zero, faults));
        let closed = fields.get("closed").and_then(|f| f.one_of(ClosedEnd::ALL, faults));
        SleeveWishes { section, arm: arm.map(|arm| arm.length), closed }
    }

    fn hood(
        &self,
        mut fields: Fields<'_>,
        names: &mut Vec<String>,
        faults: &mut Faults<'_>,
    ) -> Option<Hood> {
        let name = new_name(&mut fields, "\"left mirror\"", names, faults);
        let height = self.size(&mut fields, "height", "\"17 1/2\"", faults);
        let width = self.size(&mut fields, "width", "\"10 1/4\"", faults);
        let depth = self.size(&mut fields, "depth", "\"7\"", faults);
        let camera = fields.get("camera").map_or(Some(false), |field| field.truth(faults));
        let side = fields
            .get("side")
            .map_or(Some(None), |field| field.one_of(HoodSide::ALL, faults).map(Some));
        fields.finish(faults);
        let (height, width, depth) = (height?, width?, depth?);
        Some(Hood { name: name?, height, width, depth, camera: camera?, side: side? })
    }
}

/// Which way the tape went, where that is said.
fn course(fields: &mut Fields<'_>, faults: &mut Faults<'_>) -> Option<Course> {
    fields.get("taken").and_then(|field| field.one_of(Course::ALL, faults))
}

/// A name no other of its kind has, as a file name either.
pub(crate) fn new_name(
    fields: &mut Fields<'_>,
    example: &str,
    names: &mut Vec<String>,
    faults: &mut Faults<'_>,
) -> Option<String> {
    let field = fields.need("name", example, faults)?;
    let name = field.name(faults)?;
    let safe = safe_file_name(&name).to_lowercase();
    if names.contains(&safe) {
        let message = format!("is `{name}`, which another has or which makes the same file name");
        field.fault(faults, format!("{message}; choose a different one"));
        return None;
    }
    names.push(safe);
    Some(name)
}

/// The order as a TOML file that reads back as the same order.
#[must_use]
pub fn write_order(order: &Order) -> String {
    let mut file = String::new();
    let mut head = Table::of(&mut file, "[order]");
    head.text("ref", &order.reference);
    head.maybe("owner", order.owner.as_deref(), quoted);
    head.text("unit", order.unit.spelling());
    head.maybe("graduation", order.graduation, exact);

    let vehicle = &order.vehicle;
    let mut table = Table::of(&mut file, "[vehicle]");
    table.text("class", vehicle.class);
    table.maybe("make", vehicle.make.as_deref(), quoted);
    table.maybe("model", vehicle.model.as_deref(), quoted);
    table.maybe("year", vehicle.year, |year| year.to_string());
    table.maybe("steering", vehicle.steering, |steering| quoted(steering.spelling()));

    write_cover(&mut file, "cover", &order.cover);
    order.cloths.iter().for_each(|cloth| write_cloth(&mut file, cloth));
    write_hold(&mut file, "hold", &order.hold);
    order.straps.iter().for_each(|strap| write_strap(&mut file, strap));
    order.magnets.iter().for_each(|magnet| write_magnet(&mut file, magnet));
    for (i, pane) in order.panes.iter().enumerate() {
        let mut table = Table::of(&mut file, "[[pane]]");
        table.text("name", &pane.name);
        table.text("family", pane.family);
        table.maybe("half", pane.half, |half| quoted(half.spelling()));
        table.maybe("flank", pane.flank, |flank| quoted(flank.spelling()));
        table.maybe("glass", pane.glass, exact);
        table.maybe("corners", pane.corners, |n| n.to_string());
        for &side in Side::ALL {
            let mut readings = pane.readings.iter().filter(|r| r.name.side == side).peekable();
            if readings.peek().is_some() {
                let _ = writeln!(file, "[pane.{side}]");
            }
            for reading in readings {
                let _ = writeln!(file, "{} = {}", reading.name.span, written(reading));
            }
        }
        if let Some(cover) = order.pane_covers.get(i) {
            write_cover(&mut file, "pane.cover", cover);
        }
        if let Some(hold) = order.pane_holds.get(i) {
            write_hold(&mut file, "pane.hold", hold);
        }
        let free = order.keep_outs.get(i).into_iter().flatten();
        free.for_each(|free| write_keep_out(&mut file, free));
    }
    for (i, blade) in order.blades.iter().enumerate() {
        let mut table = Table::of(&mut file, "[[blade]]");
        table.text("name", &blade.name);
        table.line("length", words(&blade.length));
        table.text("park", blade.park);
        let point = |p: &BladePoint| {
            format!(
                "{{ from_base = {}, from_side = {} }}",
                words(&p.from_base),
                words(&p.from_side)
            )
        };
        table.maybe("heel", blade.heel.as_ref(), point);
        table.maybe("tip", blade.tip.as_ref(), point);
        let sleeve = order.sleeves.get(i).copied().unwrap_or_default();
        let section = |BladeSection { width, height }| {
            format!("{{ width = {}, height = {} }}", exact(width), exact(height))
        };
        table.maybe("section", sleeve.section, section);
        table.maybe("arm", sleeve.arm, exact);
        if let Some(closed) = sleeve.closed {
            table.text("closed", closed);
        }
    }
    for hood in &order.hoods {
        let mut table = Table::of(&mut file, "[[hood]]");
        table.text("name", &hood.name);
        table.line("height", words(&hood.height));
        table.line("width", words(&hood.width));
        table.line("depth", words(&hood.depth));
        table.line("camera", hood.camera.to_string());
        if let Some(side) = hood.side {
            table.text("side", side);
        }
    }
    file
}

/// A table being written.
pub(crate) struct Table<'f> {
    file: &'f mut String,
}

impl<'f> Table<'f> {
    pub(crate) fn of(file: &'f mut String, heading: &str) -> Self {
        if !file.is_empty() {
            file.push('\n');
        }
        let _ = writeln!(file, "{heading}");
        Self { file }
    }

    pub(crate) fn line(&mut self, key: &str, value: String) {
        let _ = writeln!(self.file, "{key} = {value}");
    }

    pub(crate) fn text(&mut self, key: &str, value: impl Display) {
        self.line(key, quoted(&value.to_string()));
    }

    pub(crate) fn maybe<T>(&mut self, key: &str, value: Option<T>, written: impl Fn(T) -> String) {
        if let Some(value) = value {
            self.line(key, written(value));
        }
    }
}

pub(crate) fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

/// A length in millimetres to the last bit, never with the three decimals that may be thousands.
pub(crate) fn exact(length: Length) -> String {
    let number = length.mm().to_string();
    let thousands = number.split_once('.').is_some_and(|(_, decimals)| decimals.len() == 3);
    quoted(&format!("{number}{} mm", if thousands { "0" } else { "" }))
}

/// The owner's words. What could be a number in a file is written as one: there a point has one
/// meaning.
fn words(reading: &TapeReading) -> String {
    match reading.words.parse::<f64>() {
        Ok(number) if number.to_string() == reading.words => reading.words.clone(),
        _ => quoted(&reading.words),
    }
}

fn written(reading: &Reading) -> String {
    let way = format!("taken = {}", quoted(Course::Straight.spelling()));
    let all_straight = reading.taken.iter().all(|tape| tape.straight);
    let item = |tape: &TapeReading| match tape.straight && !all_straight {
        true => format!("{{ read = {}, {way} }}", words(tape)),
        false => words(tape),
    };
    let taken = match &reading.taken[..] {
        [once] => item(once),
        more => format!("[{}]", more.iter().map(item).collect::<Vec<_>>().join(", ")),
    };
    let place = reading.place.zip(place_key(reading.name.span));
    let place = place.map(|(place, key)| format!("{key} = {}", exact(place)));
    let more: Vec<String> = all_straight.then_some(way).into_iter().chain(place).collect();
    match more.is_empty() {
        true => taken,
        false => format!("{{ read = {taken}, {} }}", more.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use hold::{
        Beaufort, ClothInSun, Force, GlassInSun, Measured, Speed, StrapTo, Temperature, Tension,
    };
    use proptest::prelude::*;
    use survey::{Across, Corner, Edge, Station, read_tape, show};

    use super::*;
    use crate::hold_wishes::{Exposure, Inner, MagnetEntry, StrapWish, WantedWind};

    /// The example of the order format, as its description gives it.
    const EXAMPLE: &str = r#"
[order]
ref = "H-0142"
owner = "Mobile library 4"
unit = "in"
graduation = "1/8"

[vehicle]
class = "coach"
make = "Corvane"
model = "Twelve"
year = 2014
steering = "right"

[[pane]]
name = "front"
family = "windscreen"
glass = "7 mm"
[pane.outside]
height.centre = "57 3/8"
height.left = { read = "56 1/2", in_from_side = "10" }
width.base = "91 1/4"
band.base-centre = "5 1/2"
[pane.inside]
height.centre = ["50 3/4", "50 7/8"]
band.base-centre = 2.25

[[blade]]
name = "left blade"
length = "32"
park = "flat"
heel = { from_base = "3 1/4", from_side = "14" }
tip = { from_base = "4", from_side = "45 1/2" }
section = { width = "1 1/2", height = "2" }
arm = "16"
closed = "right"

[[hood]]
name = "left mirror"
height = "17 1/2"
width = "10 1/4"
depth = "7"
camera = true
"#;

    const JSON: &str = r#"{
  "order": {"ref": "H-0142", "owner": "Mobile library 4", "unit": "in", "graduation": "1/8"},
  "vehicle": {"class": "coach", "make": "Corvane", "model": "Twelve", "year": 2014,
              "steering": "right"},
  "pane": [{
    "name": "front", "family": "windscreen", "glass": "7 mm",
    "outside": {
      "height": {"centre": "57 3/8", "left": {"read": "56 1/2", "in_from_side": "10"}},
      "width.base": "91 1/4",
      "band": {"base-centre": "5 1/2"}
    },
    "inside": {"height": {"centre": ["50 3/4", "50 7/8"]}, "band": {"base-centre": 2.25}}
  }],
  "blade": [{"name": "left blade", "length": "32", "park": "flat",
             "heel": {"from_base": "3 1/4", "from_side": "14"},
             "tip": {"from_base": "4", "from_side": "45 1/2"},
             "section": {"width": "1 1/2", "height": "2"}, "arm": "16", "closed": "right"}],
  "hood": [{"name": "left mirror", "height": "17 1/2", "width": "10 1/4", "depth": "7",
            "camera": true}]
}"#;

    fn read(text: &str) -> Order {
        read_order(text.as_bytes(), "order.toml").unwrap_or_else(|fault| panic!("{fault}"))
    }

    fn fault(text: &str) -> String {
        read_order(text.as_bytes(), "order.toml").expect_err(text).to_string()
    }

    /// A small order with those lines in its first pane's outside readings.
    fn outside(unit: &str, lines: &str) -> String {
        format!(
            "[order]\nref = \"A\"\nunit = \"{unit}\"\n[vehicle]\nclass = \"van\"\n\
             [[pane]]\nname = \"front\"\nfamily = \"windscreen\"\n[pane.outside]\n{lines}\n"
        )
    }

    #[test]
    fn the_example_is_read() {
        let order = read(EXAMPLE);
        assert_eq!(order.reference, "H-0142");
        assert_eq!((order.unit, order.vehicle.year), (Unit::Inch, Some(2014)));
        let pane = &order.panes[0];
        assert_eq!(pane.glass, Some(Length::from_mm(7.0)));
        assert_eq!(pane.readings.len(), 6);
        let find = |name| pane.readings.iter().find(|r| r.name == name).unwrap();
        let left = find(ReadingName::outside(Span::Height(Column::Left)));
        assert_eq!(left.place, Some(Length::from_inches(10.0)));
        assert_eq!(left.taken[0].graduation, Length::from_inches(0.125));
        let inside = find(ReadingName::inside(Span::Height(Column::Centre)));
        assert_eq!(inside.taken[1].length, Length::from_inches(50.875));
        let band = find(ReadingName::inside(Span::Band(Station::BaseCentre)));
        assert_eq!(band.taken[0].words, "2.25");
        assert_eq!(
            order.blades[0].heel.as_ref().unwrap().from_base.length,
            Length::from_inches(3.25)
        );
        let sleeve = order.sleeves[0];
        assert_eq!(sleeve.section.unwrap().height, Length::from_inches(2.0));
        assert_eq!(sleeve.arm, Some(Length::from_inches(16.0)));
        assert_eq!(sleeve.closed, Some(ClosedEnd::Right));
        assert!(order.hoods[0].camera);
        assert!(order.cover.is_empty() && order.pane_covers.iter().all(CoverWishes::is_empty));
    }

    #[test]
    fn json_of_the_same_shape_is_the_same_order() {
        assert_eq!(read_order(JSON.as_bytes(), "x").unwrap(), read(EXAMPLE));
    }

    #[test]
    fn cover_choices_are_read_and_have_defaults() {
        let order = read(&format!(
            "{EXAMPLE}\n[cover]\ncloth = \"Silver 600\"\ncloth_width = \"1500 mm\"\n\
             hem = {{ base = \"30 mm\" }}\nmagnet = \"disc:20x3:N35\"\ninset = \"1/8\"\n"
        ));
        let cover = order.cover_of(0);
        let hem = |edge| cover.layers[0].finish(edge).allowance();
        assert_eq!((hem(Edge::Base).mm(), hem(Edge::Top)), (30.0, CoverWishes::HEM));
        assert_eq!(cover.layers[0].inset, Length::from_inches(0.125));
        assert_eq!(cover.seam, CoverWishes::SEAM);
        assert_eq!(read(&write_order(&order)), order);
    }

    /// A cover of every kind of choice, two layers and two cloths.
    const COVERS: &str = r#"
[pane.cover]
kind = "blackout"
inset = "2 mm"
finish = { base = "raw", top = "double-hem" }
hem.top = "25 mm"
tuck = "8 mm"
tape = "24 mm"
corner = "butted"
turning = "9 mm"
seam = "16 mm"
seam_type = "flat-felled"
[[pane.cover.layer]]
name = "face"
cloth = "blackout, sand"
[[pane.cover.layer]]
name = "lining"
cloth = "felt"
cloth_width = "1400 mm"
inset = "10 mm"
finish = "raw"
[[pane.keep-out]]
kind = "sensor"
from_centre = 0
from_top = "2 1/2"
width = "5"
height = "3 1/2"
finish = "faced"
[[pane.keep-out]]
kind = "mirror-arm"
from_left = "-10 mm"
from_base = "20"
diameter = "2"
clearance = "8 mm"
slit = true

[[cloth]]
name = "blackout, sand"
width = "1500 mm"
thickness = "0.8 mm"
nap = true
print = "along"
shrinks_along = 1.5
shrinks_across = -0.5
"#;

    #[test]
    fn a_pane_may_have_a_cover_of_its_own_with_layers() {
        let at = EXAMPLE.find("[[blade]]").unwrap();
        let (panes, rest) = EXAMPLE.split_at(at);
        let order = read(&format!("{panes}{COVERS}{rest}[cover]\nseam = \"20 mm\"\n"));
        let cover = order.cover_of(0);
        assert_eq!((cover.kind, cover.seam.mm()), (crate::CoverKind::Blackout, 16.0));
        let [face, lining] = &cover.layers[..] else { panic!("two layers") };
        assert_eq!((face.inset.mm(), lining.inset.mm()), (2.0, 10.0));
        assert_eq!(face.finish(Edge::Top).allowance().mm(), 33.0);
        assert_eq!(lining.finish(Edge::Top), drafting::EdgeFinish::Raw);
        assert_eq!((face.cloth_width, lining.cloth_width.unwrap().mm()), (None, 1400.0));
        assert_eq!(order.cloths[0].shrinkage.warp, 0.015);
        let [sensor, arm] = &order.keep_outs[0][..] else { panic!("two keep-outs") };
        assert_eq!(sensor.keep_out.across, Across::FromCentre(Length::ZERO));
        assert_eq!((sensor.edge, arm.edge), (crate::FreeEdge::Faced, crate::FreeEdge::Bound));
        assert!(arm.slit && arm.clearance.mm() == 8.0);
        assert_eq!(read(&write_order(&order)), order, "{}", write_order(&order));
    }

    #[test]
    fn a_fault_in_a_cover_says_where_it_stands() {
        for (lines, message) in [
            ("finish = \"hemmed\"", ":2:10: `cover.finish` is `hemmed`, which is not known"),
            ("finish.base = \"weld\"", "did you mean `welded`?"),
            ("finish.bottom = \"raw\"", "`cover.finish.bottom` is not known"),
            ("hem = \"9 in\"", "which is 228.6 mm, more than 200 mm"),
            ("seam = 0", "must be more than zero"),
            ("kind = \"curtain\"", "write one of `screen`, `cover`, `blackout`"),
            ("layer = 3", "is a number; write a list"),
            ("[[cover.layer]]", "`cover.layer[0].name` is missing; add name = \"lining\""),
            ("[[cloth]]\nname = \"x\"", "`cloth[0].width` is missing"),
            (
                "[[cloth]]\nname = \"x\"\nwidth = \"1 m\"\nshrinks_along = 30",
                "is 30; it must be from -10 to 10",
            ),
        ] {
            let found = fault(&format!("[cover]\n{lines}\n{}", outside("in", "")));
            assert!(found.contains(message), "{lines}: {found}");
        }
        let size = "width = 4\nheight = 3";
        for (lines, message) in [
            (format!("from_left = 1\nfrom_top = 2\n{size}"), "keep-out[0].kind` is missing"),
            (format!("kind = \"sensor\"\nfrom_top = 2\n{size}"), "from_left` is missing"),
            (
                format!("kind = \"rail\"\nfrom_top = 2\nfrom_base = 2\nfrom_left = 1\n{size}"),
                "from_top` is one too many; keep one of `from_base`, `from_top`",
            ),
            (
                format!("kind = \"rail\"\nfrom_top = 2\nfrom_left = 1\ndiameter = 2\n{size}"),
                "width` is given beside a diameter; keep one or the other",
            ),
        ] {
            let found = fault(&format!("{}[[pane.keep-out]]\n{lines}\n", outside("in", "")));
            assert!(found.contains(message), "{lines}: {found}");
        }
    }

    #[test]
    fn a_fault_says_where_it_stands_and_the_way_out() {
        for (lines, message) in [
            (
                "height.center = \"57\"", // spelt as given
                "order.toml:10:8: `pane[0].outside.height.center` is not a reading; \
                 did you mean `height.centre`?", // spelt as given
            ),
            (
                "width.base = \"4 6\"",
                "order.toml:10:14: `pane[0].outside.width.base` cannot be used: `4 6` could mean \
                 `4 ft 6 in` or `46 in` or `4.6 in`; write the one that is meant",
            ),
            ("hight.centre = 57", "did you mean `height.centre`?"), // spelt as given
            ("height = 57", "does not say where; write `height.left` or another place"),
            ("height.centre = 0", "is `0`; it must be more than zero, read it again"),
            ("height.centre = -57", "must be more than zero"),
            ("band.base-left = -1", "must be zero or more"),
            ("blocked.base-left = 1", "is not read outside; move it under inside"),
            ("height.centre = 1e9", "1000000000 in is 3e7 m, longer than any vehicle glass"),
            ("height.centre = inf", "inf is not a length"),
            ("height.centre = nan", "NaN is not a length"),
            ("height.centre = true", "is true or false; write what the tape shows"),
            ("height.centre = []", "is an empty list"),
            ("height.centre = [[57]]", "[0]` is a list; write what the tape shows"),
            ("height.centre = 1979-05-27", "is a date or time"),
            ("height.centre = { read = 57, in_from_side = 9 }", "has no other place"),
            ("height.left = { in_from_side = 9 }", "`pane[0].outside.height.left.read` is missing"),
            ("width.top = { read = 57, up_from_base = 9 }", "did you mean `down_from_top`?"),
            ("height.centre = 57\nheight.centre = 58", "given twice; keep one"),
            ("height.centre = 57\n\"height.centre\" = 58", "given twice; keep one"),
            ("height.centre = 57 3/8", "put text and readings in quotes"),
            ("height.centre = \"57", "this is not TOML"),
            ("bend = 99999999999999999999", "is a number too large to be meant"),
            (
                "[pane.inside]\nedge.base = 57",
                "is not read inside; only height, width, band and blocked",
            ),
        ] {
            let found = fault(&outside("in", lines));
            assert!(found.contains(message), "{lines}: {found}");
            assert!(found.starts_with("order.toml:1"), "{lines}: {found}");
        }
        assert_eq!(read(&outside("in", "bow.base = \"-3 mm\"\nbend = 0")).panes.len(), 1);
    }

    #[test]
    fn all_faults_are_told_at_once_up_to_a_limit() {
        let text = EXAMPLE
            .replace("unit = \"in\"", "unit = \"in\"\ncolour = 3")
            .replace("\"coach\"", "\"coch\"")
            .replace("2014", "\"2014\"")
            .replace("\"flat\"", "\"sideways\"")
            .replace("camera = true", "camera = 1\nflap = 1")
            .replace("height = \"2\"", "height = \"20\"")
            .replace("closed = \"right\"", "closed = \"tip\"")
            .replace("glass = \"7 mm\"", "glass = \"7\"\nflank = \"driver\"");
        let found = fault(&text);
        for message in [
            "order.toml:6:1: `order.colour` is not known; known here: ref, owner, unit, graduation",
            "`vehicle.class` is `coch`, which is not known; did you mean `coach`?",
            "`vehicle.year` is text; write a number, without quotes",
            "`pane[0].glass` is `7`, which is 177.8 mm, more than 40 mm; write its unit",
            "`pane[0].flank` is only for `cab-side`, `door`, `side`, and this is a `windscreen`",
            "`blade[0].park` is `sideways`, which is not known; write one of `flat`, `upright`",
            "`blade[0].section.height` is `20`, which is 508.0 mm, more than 300 mm; write its unit",
            "`blade[0].closed` is `tip`, which is not known; write one of `left`, `right`",
            "`hood[0].camera` is a number; write true or false",
            "`hood[0].flap` is not known",
        ] {
            assert!(found.contains(message), "{message}\n\n{found}");
        }
        assert_eq!(found.lines().count(), 10, "{found}");
        let many = (0..30).map(|i| format!("a{i} = 1\n")).collect::<String>();
        let found = fault(&outside("in", &many));
        assert_eq!(found.lines().count(), 21);
        assert!(found.ends_with("order.toml: 10 more faults are not shown; mend these first"));
    }

    #[test]
    fn what_is_missing_is_told_with_an_example() {
        assert_eq!(
            fault("\n"),
            "order.toml:1:1: the file is empty; check that it is the right file"
        );
        assert!(fault("# nothing").contains("`order` is missing; add [order]"));
        let found = fault("[order]\nunit = \"in\"\n");
        for message in
            ["`order.ref` is missing; add ref = \"H-0142\"", "add [vehicle]", "add [[pane]]"]
        {
            assert!(found.contains(message), "{found}");
        }
        let json = fault("{\"order\": {\"unit\": \"in\"}, \"pane\": []}");
        for message in ["add \"ref\": \"H-0142\"", "add \"vehicle\": { … }"] {
            assert!(json.contains(message), "{json}");
        }
        let one = outside("in", "").replace("[[pane]]", "[pane]");
        assert!(fault(&one).contains("`pane` is one table; write its heading as [[pane]]"));
    }

    #[test]
    fn names_are_unique_and_short() {
        let pane = "[[pane]]\nfamily = \"side\"\n";
        let named = |name: &str| format!("{}{pane}name = {}\n", outside("in", ""), quoted(name));
        assert!(fault(&named("Front")).contains("choose a different one"));
        assert!(fault(&named("front ")).contains("choose a different one"));
        assert!(fault(&named("  ")).contains("is empty; write a name"));
        assert!(fault(&named(&"x".repeat(81))).contains("81 characters long, more than 80"));
        assert!(fault(&named("a\u{7}b")).contains("control character U+0007"));
        let many: String = (0..201).map(|i| format!("{pane}name = \"p{i}\"\n")).collect();
        assert!(fault(&format!("{}{many}", outside("in", ""))).contains("has 202 items"));
    }

    #[test]
    fn junk_is_refused_in_good_order() {
        let name = "order.toml";
        let refused = |bytes: &[u8]| read_order(bytes, name).expect_err("junk").to_string();
        assert!(refused(&vec![b'x'; 10_000_000]).contains("10000000 bytes long"));
        assert!(refused(b"[order]\nref = \"\xff\"").contains(":2:8: this is not text"));
        assert!(refused(b"[order]\0").contains(":1:8: this is not text"));
        assert!(refused(b"\xff\xfe[\0o\0").contains("save the file as plain text in UTF-8"));
        for (open, n) in [("[", 400_000), ("{\"a\":", 100_000), ("x = [", 1), ("a.", 300_000)] {
            let deep = open.repeat(n);
            refused(deep.as_bytes());
            let toml = format!("x = {deep}");
            refused(toml.as_bytes());
            let json = format!("{{\"x\": {deep}");
            assert!(refused(json.as_bytes()).contains("order.toml:1:"));
        }
        for text in [EXAMPLE, JSON] {
            for cut in (0..text.len() - 3).step_by(7) {
                let _ = read_order(&text.as_bytes()[..cut], name);
            }
        }
        for text in ["[1]", "{}", "{", "{\"order\": 3}", "{\"order\": null}", "{} {}", "{,}"] {
            let found = read_order(text.as_bytes(), "order.json").expect_err(text).to_string();
            assert!(found.starts_with("order.json:1:"), "{found}");
        }
        let twice = JSON.replace("\"camera\": true", "\"camera\": true, \"camera\": false");
        assert!(refused(twice.as_bytes()).contains("`camera` is given twice; keep one"));
        let with_mark = [b"\xef\xbb\xbf", EXAMPLE.as_bytes()].concat();
        assert_eq!(read_order(&with_mark, name).unwrap(), read(EXAMPLE));
        let other_lines = EXAMPLE.replace('\n', "\r\n");
        assert_eq!(read(&other_lines), read(EXAMPLE));
    }

    #[test]
    fn a_large_file_of_faults_is_refused_in_few_words() {
        let keys: String = (0..90_000).map(|i| format!("a{i} = 1\n")).collect();
        let commas = format!("x = [{}", ",".repeat(900_000));
        for text in [
            "x=1\n".repeat(240_000),
            keys.clone(),
            commas,
            "[[pane]]\n".repeat(110_000),
            outside("in", &keys),
            "\"".repeat(900_000),
            format!("x = {{{}", "a=1,".repeat(200_000)),
        ] {
            let name = text[..9].to_owned();
            let fault = read_order(text.as_bytes(), "order.toml").expect_err(&name);
            assert!(fault.faults.len() <= 20);
        }
    }

    #[test]
    fn the_example_reads_back_as_it_was_written() {
        let order = read(EXAMPLE);
        let written = write_order(&order);
        assert_eq!(read(&written), order, "{written}");
        assert!(written.contains("height.centre = \"57 3/8\""), "{written}");
    }

    const BENT: &str = r#"
[order]
ref = "B"
unit = "in"
[vehicle]
class = "coach"
[[pane]]
name = "front"
family = "windscreen"
corners = 6
[pane.outside]
width.middle = { read = "91", taken = "straight" }
width.base = ["91 1/4", { read = "90 1/2", taken = "straight" }]
height.left = { read = "56 1/2", taken = "surface", in_from_side = "10" }
bend = "4 3/4"
"#;

    #[test]
    fn readings_taken_straight_across_are_told_from_those_along_the_glass() {
        let order = read(BENT);
        let pane = &order.panes[0];
        assert_eq!(pane.corners, Some(6));
        let straight = |span| {
            let reading = pane.readings.iter().find(|r| r.name.span == span).unwrap();
            reading.taken.iter().map(|t| t.straight).collect::<Vec<_>>()
        };
        assert_eq!(straight(Span::Width(Level::Middle)), [true]);
        assert_eq!(straight(Span::Width(Level::Base)), [false, true]);
        assert_eq!(straight(Span::Height(Column::Left)), [false]);
        assert_eq!(read(&write_order(&order)), order);
    }

    #[test]
    fn a_wrong_way_or_number_of_corners_is_told_where_it_stands() {
        for (from, to, message) in [
            (
                "\"91\", taken = \"straight\"",
                "\"91\", taken = \"strait\"",
                ":12:39: `pane[0].outside.width.middle.taken` is `strait`, which is not known; did you mean `straight`?",
            ),
            (
                "taken = \"surface\"",
                "taken = 3",
                "`pane[0].outside.height.left.taken` is a number; write text in quotes",
            ),
            (
                "bend = \"4 3/4\"",
                "bend = { read = 4, taken = \"straight\" }",
                "`pane[0].outside.bend` has no other place or way; write the reading alone",
            ),
            (
                "corners = 6",
                "corners = 9",
                ":10:11: `pane[0].corners` is 9; it must be from 3 to 8",
            ),
            ("{ read = \"90 1/2\", ", "{ ", "`pane[0].outside.width.base[1].read` is missing"),
        ] {
            let text = BENT.replacen(from, to, 1);
            let fault = read_order(text.as_bytes(), "order.toml").expect_err(to).to_string();
            assert!(fault.contains(message), "{to}: {fault}");
        }
    }

    fn any_words() -> impl Strategy<Value = String> {
        let number = (1u32..2000, 0i32..=4, any::<bool>());
        prop_oneof![
            number.prop_map(|(n, halvings, rough)| {
                let step = 2f64.powi(-halvings);
                let inches = Length::from_inches(f64::from(n) * step / 8.0);
                let words = show(inches, Unit::Inch, Length::from_inches(step / 8.0));
                if rough { format!("about {words}") } else { words }
            }),
            (1u32..9000).prop_map(|n| format!("{n} mm")),
            (1u32..3000).prop_map(|n| format!("{} cm", f64::from(n) / 10.0)),
            (1u32..300).prop_map(|n| n.to_string()),
            (1u32..3000).prop_map(|n| format!("{:.1}", f64::from(n) / 10.0)),
        ]
    }

    fn any_name() -> impl Strategy<Value = String> {
        "[a-zé\"'\\\\#= ]{1,30}".prop_map(|name| format!("x{}", name.trim_end()))
    }

    fn taped(length: Length) -> TapeReading {
        read_tape(exact(length).trim_matches('"'), Unit::Millimetre).unwrap()
    }

    fn any_length() -> impl Strategy<Value = Length> {
        (1u32..900_000).prop_map(|n| Length::from_inches(f64::from(n) / 8192.0))
    }

    prop_compose! {
        fn any_pane(unit: Unit)(
            family in prop::sample::select(Family::ALL),
            left in any::<bool>(),
            glass in prop::option::of((1u32..=40).prop_map(|n| Length::from_mm(f64::from(n)))),
            corners in prop::option::of(3..=8_usize),
            straight in prop::collection::vec(any::<bool>(), 4),
            readings in prop::collection::btree_map(
                (prop::sample::select(Side::ALL), prop::sample::select(Span::all())),
                (prop::collection::vec(any_words(), 1..4), prop::option::of(any_length())),
                0..8,
            ),
        ) -> PaneReadings {
            let readings = readings.into_iter().filter(|((side, span), _)| span.can_be_read(*side));
            let readings = readings.map(|((side, span), (words, place))| Reading {
                name: ReadingName { side, span },
                taken: words
                    .iter()
                    .zip(&straight)
                    .map(|(words, &straight)| TapeReading {
                        straight: straight && span.is_length(),
                        ..read_tape(words, unit).unwrap()
                    })
                    .collect(),
                place: place.filter(|_| place_key(span).is_some()),
            });
            PaneReadings {
                name: String::new(),
                family,
                half: HALVED.contains(&family).then_some(if left { Half::Left } else { Half::Right }),
                flank: (left && FLANKED.contains(&family)).then_some(Flank::Driver),
                glass,
                corners,
                readings: readings.collect(),
            }
        }
    }

    prop_compose! {
        fn any_hold()(
            (gust, force, is_gust) in (10..600_u32, 1..=11_u8, any::<bool>()),
            (margin, ease, openness) in (10..50_u32, 0..1000_u32, 0..50_u32),
            (stiffness, celsius) in (1..5000_u32, -40..150_i32),
            (friction, pad) in (0..200_u32, any_length()),
            named in prop::sample::subsequence(vec!["a", "disc:20x3:N35"], 0..=2),
        ) -> HoldWishes {
            HoldWishes {
                wind: Some(match is_gust {
                    true => WantedWind::Gust(Speed::from_m_per_s(f64::from(gust) / 10.0)),
                    false => WantedWind::Beaufort(Beaufort::new(force).unwrap()),
                }),
                margin: Some(f64::from(margin) / 10.0),
                exposure: Some(Exposure::Along),
                magnets: named.into_iter().map(str::to_owned).collect(),
                pad: Some(Length::from_mm(pad.mm().min(20.0))),
                non_slip: Some(is_gust),
                inner: Some(Inner::Trapped),
                friction: [None, Some(f64::from(friction) / 100.0)],
                ease: Some(f64::from(ease) / 100.0 / 100.0),
                stiffness: [Some(Tension::from_n_per_mm(f64::from(stiffness))), None, None],
                openness: Some(f64::from(openness) / 100.0),
                in_sun: Some(Temperature::from_celsius(f64::from(celsius) + 0.1)),
                cloth_in_sun: Some(ClothInSun { transmitted: 0.07, reflected: 0.29 }),
                glass_in_sun: Some(GlassInSun::LAMINATED),
                most_grips: Some(30),
                most_apart: Some(Length::from_mm(250.0)),
                confidence: Some(0.9),
                ..HoldWishes::default()
            }
        }
    }

    fn any_magnet() -> impl Strategy<Value = MagnetEntry> {
        (1..900_u32, any::<bool>()).prop_map(|(n, is_iron)| MagnetEntry {
            name: "a".to_owned(),
            inner: if is_iron { "iron:40x3" } else { "disc:15x5:1.2" }.parse().unwrap(),
            cost: Some(f64::from(n) / 100.0),
            on_hand: (!is_iron).then_some(n as usize),
            measured: Measured {
                pull_off: Some(Force::from_newtons(f64::from(n) * 0.098_066_5)),
                slide: None,
            },
            ..MagnetEntry::alike("block:40x12x5:N42H").unwrap()
        })
    }

    prop_compose! {
        fn any_order()(unit in prop::sample::select(Unit::ALL))(
            unit in Just(unit),
            reference in any_name(),
            owner in prop::option::of(any_name()),
            class in prop::sample::select(Class::ALL),
            year in prop::option::of(1900i32..2100),
            panes in prop::collection::vec(any_pane(unit), 1..4),
            names in (any_name(), any_name()),
            lengths in (any_length(), any_length(), any_length()),
            extras in any::<bool>(),
            (hold, pane_hold, magnet) in (any_hold(), any_hold(), any_magnet()),
        ) -> Order {
            let number = |(i, pane): (usize, PaneReadings)| {
                PaneReadings { name: format!("{} {i}", names.0), ..pane }
            };
            let point =
                BladePoint { from_base: taped(-lengths.0), from_side: taped(lengths.1) };
            let blade = Blade {
                name: names.1.clone(),
                length: taped(lengths.2),
                park: Park::Upright,
                heel: Some(point.clone()),
                tip: extras.then_some(point),
            };
            let section = BladeSection { width: Length::from_mm(38.1), height: Length::from_mm(50.0) };
            let sleeve = SleeveWishes {
                section: extras.then_some(section),
                arm: extras.then_some(Length::from_mm(210.0)),
                closed: (!extras).then_some(ClosedEnd::Right),
            };
            let [height, width, depth] = [lengths.0, lengths.1, lengths.2].map(taped);
            let side = extras.then_some(HoodSide::Right);
            let hood = Hood { name: names.1.clone(), height, width, depth, camera: extras, side };
            let (inset, n) = (Length::from_mm(3.175), panes.len());
            let strap = StrapWish {
                pane: format!("{} 0", names.0),
                corner: Corner::TopRight,
                to: StrapTo::MirrorArm,
            };
            Order {
                reference,
                owner,
                unit,
                graduation: None,
                vehicle: Vehicle { class, make: Some(names.0.clone()), model: None, year, steering: None },
                panes: panes.into_iter().enumerate().map(number).collect(),
                blades: vec![blade],
                sleeves: vec![sleeve],
                hoods: vec![hood],
                pane_covers: vec![CoverWishes::default(); n],
                keep_outs: vec![Vec::new(); n],
                cloths: Vec::new(),
                hold: if extras { HoldWishes::default() } else { hold },
                pane_holds: vec![pane_hold; n],
                straps: vec![strap],
                magnets: vec![magnet],
                cover: if extras {
                    CoverWishes { inset: Some(inset), ..Default::default() }
                } else {
                    CoverWishes::default()
                },
            }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn every_order_reads_back_as_it_was_written(order in any_order()) {
            let written = write_order(&order);
            let read = read_order(written.as_bytes(), "order.toml");
            prop_assert_eq!(read.map_err(|f| TestCaseError::fail(format!("{f}\n{written}")))?, order);
        }

        #[test]
        fn no_change_of_a_file_breaks_the_reader(
            at in 0usize..1000, change in "\\PC{0,3}", n_cut in 0usize..5, json: bool,
        ) {
            let text = if json { JSON } else { EXAMPLE };
            let at = at % (text.len() - n_cut);
            let bytes = [&text.as_bytes()[..at], change.as_bytes(), &text.as_bytes()[at + n_cut..]];
            if let Ok(order) = read_order(&bytes.concat(), "order") {
                prop_assert_eq!(read_order(write_order(&order).as_bytes(), "order"), Ok(order));
            }
        }
    }
}
