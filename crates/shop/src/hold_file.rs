//! The hold, strap and magnet tables of order files, read and written.

use hold::{
    Beaufort, ClothInSun, Force, GlassInSun, HeatTransfer, Magnet, Measured, Partner, Speed,
    StrapTo, Temperature, Tension,
};
use survey::{Corner, PaneReadings, nearest};

use crate::fault::Faults;
use crate::fields::{Field, Fields, Least};
use crate::hold_wishes::{Exposure, HoldWishes, Inner, MagnetEntry, StrapWish, WantedWind, limits};
use crate::order_file::{Sheet, Table, exact, new_name, quoted};
use crate::tree::Value;

/// Weight of a kilogram on a luggage scale, N: standard gravity.
const NEWTONS_PER_KG: f64 = 9.806_65;

fn number(
    field: Option<Field<'_>>,
    [least, most]: [f64; 2],
    faults: &mut Faults<'_>,
) -> Option<f64> {
    field?.number(least..=most, faults)
}

fn share(field: Option<Field<'_>>, limits: [f64; 2], faults: &mut Faults<'_>) -> Option<f64> {
    number(field, limits, faults).map(|percent| percent / 100.0)
}

fn celsius(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> Option<Temperature> {
    number(field, limits::CELSIUS, faults).map(Temperature::from_celsius)
}

/// What a luggage scale shows, `1.4 kg`, or newtons, `13.7 N`.
fn force(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> Option<Force> {
    let field = field?;
    let way_out = "write what the scale shows with its unit, \"1.4 kg\" or \"13.7 N\"";
    let text = field.text(faults)?.trim();
    let read = || {
        let (number, per_unit) = match (text.strip_suffix("kg"), text.strip_suffix('N')) {
            (Some(number), _) => (number, NEWTONS_PER_KG),
            (None, Some(number)) => (number, 1.0),
            (None, None) => return None,
        };
        let number: f64 = number.trim().replace(',', ".").parse().ok()?;
        number.is_finite().then_some(number * per_unit)
    };
    let [least, most] = limits::FORCE;
    match read() {
        None => field.fault(faults, format!("cannot be read as a force; {way_out}")),
        Some(newtons) if (least..=most).contains(&newtons) => {
            return Some(Force::from_newtons(newtons));
        }
        Some(newtons) => field.fault(
            faults,
            format!("is {newtons:.3} N; it must be from {least} to {most} N; {way_out}"),
        ),
    }
    None
}

/// A magnet or iron as `paneloft pull` writes it.
fn spec<T: std::str::FromStr<Err = hold::HoldError>>(
    field: &Field<'_>,
    faults: &mut Faults<'_>,
) -> Option<T> {
    match field.text(faults)?.parse() {
        Ok(magnet) => Some(magnet),
        Err(fault) => {
            field.fault(faults, format!("cannot be used: {fault}"));
            None
        }
    }
}

impl Sheet {
    /// What is said of how covers are held, of the whole order or of one pane; straps are the
    /// order's alone.
    pub(crate) fn hold(
        &self,
        mut fields: Fields<'_>,
        straps: Option<Straps<'_>>,
        faults: &mut Faults<'_>,
    ) -> HoldWishes {
        let f = &mut fields;
        if let Some(straps) = straps {
            let tables = f.tables("strap", limits::STRAPS, faults);
            let read = |fields| strap(fields, straps.panes, faults);
            straps.found.extend(tables.into_iter().filter_map(read));
        }
        let wishes = HoldWishes {
            wind: wind(f, faults),
            margin: number(f.get("margin"), limits::MARGIN, faults),
            exposure: f.get("exposure").and_then(|f| f.one_of(Exposure::ALL, faults)),
            magnets: self.magnets(f.get("magnets"), faults),
            pad: self.hold_length(f.get("pad"), Least::Zero, limits::PAD, faults),
            non_slip: f.get("non_slip").and_then(|f| f.truth(faults)),
            inner: f.get("inner").and_then(|f| f.one_of(Inner::ALL, faults)),
            friction: friction(f.get("friction"), faults),
            ease: share(f.get("ease"), limits::EASE, faults),
            stiffness: stiffness(f.get("stiffness"), faults),
            openness: share(f.get("openness"), limits::OPENNESS, faults),
            in_sun: celsius(f.get("in_sun"), faults),
            hottest: celsius(f.get("hottest"), faults),
            cloth_in_sun: cloth_in_sun(f.get("sun"), faults),
            glass_in_sun: glass_in_sun(f.get("glass"), faults),
            most_grips: f
                .get("most_grips")
                .and_then(|f| f.whole(limits::GRIPS[0]..=limits::GRIPS[1], faults))
                .and_then(|n| usize::try_from(n).ok()),
            most_apart: self.hold_length(
                f.get("most_apart"),
                Least::AboveZero,
                limits::APART,
                faults,
            ),
            confidence: number(f.get("confidence"), limits::CONFIDENCE, faults),
        };
        fields.finish(faults);
        wishes
    }

    /// One magnet, or a list with the one to be used first: names of the order's list, or
    /// specifications.
    fn magnets(&self, field: Option<Field<'_>>, faults: &mut Faults<'_>) -> Vec<String> {
        let Some(field) = field else { return Vec::new() };
        let items = match field.node.value {
            Value::List(_) => field.list(limits::MAGNETS, faults).unwrap_or_default(),
            _ => vec![field],
        };
        items.iter().filter_map(|item| self.magnet_named(item, faults)).collect()
    }

    fn magnet_named(&self, field: &Field<'_>, faults: &mut Faults<'_>) -> Option<String> {
        let name = field.name(faults)?;
        let fault = match name.parse::<Magnet>() {
            _ if self.magnets.contains(&name) => return Some(name),
            Ok(_) => return Some(name),
            Err(fault) => fault,
        };
        if name.contains(':') {
            field.fault(faults, format!("cannot be used: {fault}"));
            return None;
        }
        let way_out = match nearest(&name, self.magnets.iter().cloned()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => "add it as [[magnet]], or write a specification such as disc:20x5:N42H".into(),
        };
        field.fault(faults, format!("is `{name}`, which is no magnet of this order; {way_out}"));
        None
    }

    fn hold_length(
        &self,
        field: Option<Field<'_>>,
        least: Least,
        most: f64,
        faults: &mut Faults<'_>,
    ) -> Option<geometry::Length> {
        field?.length(self.unit, least, geometry::Length::from_mm(most), faults)
    }
}

/// `gust = 12`, in metres per second, or `beaufort = 5`.
fn wind(fields: &mut Fields<'_>, faults: &mut Faults<'_>) -> Option<WantedWind> {
    let (gust, force) = (fields.get("gust"), fields.get("beaufort"));
    if let (Some(_), Some(force)) = (&gust, &force) {
        force.fault(faults, "is given beside a gust; keep one or the other");
    }
    let gust = number(gust, limits::GUST, faults)
        .map(|speed| WantedWind::Gust(Speed::from_m_per_s(speed)));
    let force = force.and_then(|f| f.whole(1..=i32::from(WantedWind::MOST_BEAUFORT), faults));
    let force = force.and_then(|n| Beaufort::new(u8::try_from(n).ok()?).ok());
    gust.or(force.map(WantedWind::Beaufort))
}

fn friction(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> [Option<f64>; 2] {
    let Some(mut fields) = field.and_then(|field| field.table(faults)) else { return [None; 2] };
    let both = ["outside", "inside"];
    let both = both.map(|key| number(fields.get(key), limits::FRICTION, faults));
    fields.finish(faults);
    both
}

/// One value for cloth alike both ways, or a table.
fn stiffness(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> [Option<Tension>; 3] {
    let Some(field) = field else { return [None; 3] };
    let tension = |field, faults: &mut Faults<'_>| {
        number(field, limits::STIFFNESS, faults).map(Tension::from_n_per_mm)
    };
    if !matches!(field.node.value, Value::Table(_)) {
        let alike = tension(Some(field), faults);
        return [alike, alike, None];
    }
    let Some(mut fields) = field.table(faults) else { return [None; 3] };
    let ways = ["across", "up", "shear"].map(|key| tension(fields.get(key), faults));
    fields.finish(faults);
    ways
}

fn cloth_in_sun(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> Option<ClothInSun> {
    let mut fields = field?.table(faults)?;
    let through = fields.need("through", "10", faults);
    let back = fields.need("back", "30", faults);
    fields.finish(faults);
    let transmitted = share(through, limits::THROUGH, faults);
    let reflected = share(back, limits::BACK, faults);
    Some(ClothInSun { transmitted: transmitted?, reflected: reflected? })
}

fn glass_in_sun(field: Option<Field<'_>>, faults: &mut Faults<'_>) -> Option<GlassInSun> {
    let mut fields = field?.table(faults)?;
    let (g, u) = (fields.need("g", "0.78", faults), fields.need("u", "5.6", faults));
    fields.finish(faults);
    let g = number(g, limits::G, faults);
    let u = number(u, limits::U, faults).map(HeatTransfer::from_w_per_m2k);
    Some(GlassInSun { g: g?, u: u? })
}

/// Straps being read, each for one of these panes.
pub(crate) struct Straps<'a> {
    pub(crate) panes: &'a [Option<PaneReadings>],
    pub(crate) found: &'a mut Vec<StrapWish>,
}

fn strap(
    mut fields: Fields<'_>,
    panes: &[Option<PaneReadings>],
    faults: &mut Faults<'_>,
) -> Option<StrapWish> {
    let field = fields.need("pane", "\"front\"", faults);
    let pane = field.as_ref().and_then(|f| f.name(faults));
    // Of a pane that has a fault of its own, the name is not known.
    let names = || panes.iter().flatten().map(|pane| pane.name.clone());
    if let (Some(field), Some(pane)) = (field, &pane)
        && panes.iter().all(Option::is_some)
        && !names().any(|name| name == *pane)
    {
        let known: Vec<String> = names().map(|name| format!("`{name}`")).collect();
        let message = format!("is `{pane}`, which is no pane of this order; write one of ");
        field.fault(faults, message + &known.join(", "));
    }
    let corner = fields.need("corner", "\"base-left\"", faults);
    let corner = corner.and_then(|f| f.one_of(Corner::ALL, faults));
    let to = fields.need("to", "\"door\"", faults).and_then(|f| f.one_of(StrapTo::ALL, faults));
    fields.finish(faults);
    Some(StrapWish { pane: pane?, corner: corner?, to: to? })
}

/// A magnet pair of the workshop's list.
pub(crate) fn magnet(
    mut fields: Fields<'_>,
    names: &mut Vec<String>,
    faults: &mut Faults<'_>,
) -> Option<MagnetEntry> {
    let f = &mut fields;
    let name = new_name(f, "\"round 20 x 5\"", names, faults);
    let outer = f.need("outer", "\"disc:20x5:N42H\"", faults);
    let outer: Option<Magnet> = outer.and_then(|f| spec(&f, faults));
    let inner: Option<Partner> = match f.get("inner") {
        None => outer.map(Partner::Magnet),
        Some(field) => spec(&field, faults),
    };
    let cost = number(f.get("cost"), limits::COST, faults);
    let on_hand = f.get("on_hand");
    let on_hand = on_hand.and_then(|f| f.whole(limits::ON_HAND[0]..=limits::ON_HAND[1], faults));
    let measured = Measured {
        pull_off: force(f.get("pull_off"), faults),
        slide: force(f.get("slide"), faults),
    };
    fields.finish(faults);
    Some(MagnetEntry {
        name: name?,
        outer: outer?,
        inner: inner?,
        cost,
        on_hand: on_hand.and_then(|n| usize::try_from(n).ok()),
        measured,
    })
}

/// Writes what is said of how covers are held; `heading` is its table's, without brackets.
pub(crate) fn write_hold(file: &mut String, heading: &str, hold: &HoldWishes) {
    if hold.is_empty() {
        return;
    }
    let mut table = Table::of(file, &format!("[{heading}]"));
    let plain = |number: f64| number.to_string();
    let percent = |share: f64| per_cent(share).to_string();
    match hold.wind {
        Some(WantedWind::Gust(gust)) => table.line("gust", plain(gust.m_per_s())),
        Some(WantedWind::Beaufort(force)) => table.line("beaufort", force.force().to_string()),
        None => {}
    }
    table.maybe("margin", hold.margin, plain);
    table.maybe("exposure", hold.exposure, |exposure| quoted(exposure.spelling()));
    if !hold.magnets.is_empty() {
        let names: Vec<String> = hold.magnets.iter().map(|name| quoted(name)).collect();
        table.line("magnets", format!("[{}]", names.join(", ")));
    }
    table.maybe("pad", hold.pad, exact);
    table.maybe("non_slip", hold.non_slip, |truth| truth.to_string());
    table.maybe("inner", hold.inner, |inner| quoted(inner.spelling()));
    for (key, value) in ["outside", "inside"].iter().zip(hold.friction) {
        table.maybe(&format!("friction.{key}"), value, plain);
    }
    table.maybe("ease", hold.ease, percent);
    for (key, value) in ["across", "up", "shear"].iter().zip(hold.stiffness) {
        table.maybe(&format!("stiffness.{key}"), value, written_tension);
    }
    table.maybe("openness", hold.openness, percent);
    table.maybe("in_sun", hold.in_sun, written_celsius);
    table.maybe("hottest", hold.hottest, written_celsius);
    table.maybe("sun", hold.cloth_in_sun, |sun| {
        format!("{{ through = {}, back = {} }}", percent(sun.transmitted), percent(sun.reflected))
    });
    table.maybe("glass", hold.glass_in_sun, |glass| {
        format!("{{ g = {}, u = {} }}", glass.g, glass.u.w_per_m2k())
    });
    table.maybe("most_grips", hold.most_grips, |n| n.to_string());
    table.maybe("most_apart", hold.most_apart, exact);
    table.maybe("confidence", hold.confidence, plain);
}

fn written_celsius(temperature: Temperature) -> String {
    let read = |celsius| Temperature::from_celsius(celsius).kelvin();
    reads_back(temperature.celsius(), temperature.kelvin(), read).to_string()
}

fn written_tension(tension: Tension) -> String {
    let read = |kilonewtons| Tension::from_n_per_mm(kilonewtons).n_per_m();
    reads_back(tension.n_per_mm(), tension.n_per_m(), read).to_string()
}

/// Writes a strap.
pub(crate) fn write_strap(file: &mut String, strap: &StrapWish) {
    let mut table = Table::of(file, "[[hold.strap]]");
    table.text("pane", &strap.pane);
    table.text("corner", strap.corner);
    table.text("to", strap.to);
}

/// Writes a magnet pair.
pub(crate) fn write_magnet(file: &mut String, magnet: &MagnetEntry) {
    let mut table = Table::of(file, "[[magnet]]");
    table.text("name", &magnet.name);
    table.text("outer", magnet.outer);
    table.text("inner", magnet.inner);
    table.maybe("cost", magnet.cost, |cost| cost.to_string());
    table.maybe("on_hand", magnet.on_hand, |n| n.to_string());
    let newtons = |force: Force| quoted(&format!("{} N", force.newtons()));
    table.maybe("pull_off", magnet.measured.pull_off, newtons);
    table.maybe("slide", magnet.measured.slide, newtons);
}

/// A share as the per cent it was read from.
fn per_cent(share: f64) -> f64 {
    reads_back(share * 100.0, share, |percent| percent / 100.0)
}

/// Of the numbers near `value`, the one with fewest digits that reads back as `meant`.
fn reads_back(value: f64, meant: f64, read: impl Fn(f64) -> f64) -> f64 {
    let tidy = (value * 1e9).round() / 1e9;
    let near = [tidy, value, value.next_up(), value.next_down()];
    near.into_iter().find(|&near| read(near) == meant).unwrap_or(value)
}
