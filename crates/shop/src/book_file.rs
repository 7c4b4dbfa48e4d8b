//! Glass book files: TOML or JSON to a [`GlassBook`]. A bare number is millimetres.

use geometry::{Area, Length, Pane, Path, Point};
use survey::{BookEntry, Class, Family, GlassBook, Station, Unit};

use crate::fault::{Faults, FileFault};
use crate::fields::{Field, Fields, Least};
use crate::order_file::{YEARS, half_and_flank};
use crate::tree::read_file;

/// Most bytes of a glass book. Chosen by us: about ten thousand entries.
const MOST_BYTES: usize = 8_000_000;
/// Most entries of a glass book. Chosen by us: every model a workshop can meet.
const MOST_ENTRIES: usize = 10_000;
/// Corners a pane may have.
pub(crate) const CORNERS: [usize; 2] = [3, 8];
/// Most panes that can stand behind an entry.
pub(crate) const MOST_SETTLED: i32 = 1_000_000;

/// Reads a glass book file; `file_name` is used in messages.
///
/// # Errors
/// When the file is not text, too large, neither TOML nor JSON, or says something that cannot be
/// used; every fault is told with where it stands.
pub fn read_book(bytes: &[u8], file_name: &str) -> Result<GlassBook, FileFault> {
    read_file(bytes, file_name, MOST_BYTES, |mut file, faults| {
        file.need("pane", "[{}]", faults);
        let entries = file.tables("pane", MOST_ENTRIES, faults);
        let entries: Vec<_> = entries.into_iter().map(|fields| entry(fields, faults)).collect();
        file.finish(faults);
        Some(GlassBook { entries: entries.into_iter().collect::<Option<_>>()? })
    })
}

fn entry(mut fields: Fields<'_>, faults: &mut Faults<'_>) -> Option<BookEntry> {
    let make = fields.need("make", "\"Corvane\"", faults).and_then(|f| f.name(faults));
    let model = fields.need("model", "\"Twelve\"", faults).and_then(|f| f.name(faults));
    let years = fields.need("years", "[2008, 2016]", faults).and_then(|f| years(&f, faults));
    let class =
        fields.need("class", "\"coach\"", faults).and_then(|f| f.one_of(Class::ALL, faults));
    let family = fields.need("family", "\"windscreen\"", faults);
    let family = family.and_then(|f| f.one_of(Family::ALL, faults));
    let (half, flank) = half_and_flank(&mut fields, family, faults);
    let settled = fields.need("settled", "9", faults);
    let settled = settled.and_then(|f| f.whole(0..=MOST_SETTLED, faults));
    let corners = fields.need("corners", "[[-1159, 20], [1159, 20], …]", faults);
    let corners = corners.and_then(|f| corners_of(&f, faults));
    let n_corners = corners.as_ref().map(Vec::len);
    let mut each = |key, example, least| {
        let field = fields.need(key, example, faults)?;
        let lengths = lengths(&field, least, faults)?;
        if n_corners.is_some_and(|n| n != lengths.len()) {
            let n = n_corners.unwrap_or_default();
            field.fault(
                faults,
                format!("has {} items; write one for each of the {n} corners", lengths.len()),
            );
        }
        Some(lengths)
    };
    let bows = each("bows", "[45, 12, 40, 12]", Least::Any);
    let radii = each("radii", "[90, 90, 70, 70]", Least::Zero);
    let sd = fields.need("sd", "4", faults).and_then(|f| mm(&f, Least::AboveZero, faults));
    let mut depths = |key| match fields.get(key) {
        Some(field) => field.table(faults).and_then(|table| at_stations(table, faults)),
        None => Some(Vec::new()),
    };
    let (band, blocked) = (depths("band"), depths("blocked"));
    // Without bands there is nothing for their scatter to say; the glass's own then stands in.
    let band_sd = match (fields.get("band_sd"), &band, &blocked) {
        (Some(field), ..) => mm(&field, Least::AboveZero, faults),
        (None, Some(band), Some(blocked)) if band.is_empty() && blocked.is_empty() => sd,
        _ => fields.need("band_sd", "6", faults).and(None),
    };
    fields.finish(faults);
    Some(BookEntry {
        make: make?,
        model: model?,
        years: years?,
        class: class?,
        family: family?,
        half,
        flank,
        settled: settled?.unsigned_abs(),
        corners: corners?,
        bows: bows?,
        radii: radii?,
        sd: sd?,
        band: band?,
        blocked: blocked?,
        band_sd: band_sd?,
    })
}

/// The book as a TOML file in millimetres, to the thousandth: what lies behind it says nothing.
#[must_use]
pub fn write_book(book: &GlassBook) -> String {
    let mut file = String::from(
        "# A glass book: what the workshop knows of panes, in millimetres. Corners run anticlockwise\n\
         # from the base-left one; bows start with the edge after it.\n",
    );
    let lengths = |all: &[Length]| {
        let all: Vec<String> = all.iter().map(|&length| thousandths(length)).collect();
        format!("[{}]", all.join(", "))
    };
    let quoted = |text: &str| toml::Value::from(text).to_string();
    for entry in &book.entries {
        let corners: Vec<String> = entry.corners.iter().map(|corner| lengths(corner)).collect();
        let depths = |known: &[(Station, Length)]| {
            let known: Vec<String> =
                known.iter().map(|(at, depth)| format!("{at} = {}", thousandths(*depth))).collect();
            format!("{{ {} }}", known.join(", "))
        };
        let mut lines = vec![
            "\n[[pane]]".to_owned(),
            format!("make = {}", quoted(&entry.make)),
            format!("model = {}", quoted(&entry.model)),
            format!("years = [{}, {}]", entry.years[0], entry.years[1]),
            format!("class = \"{}\"", entry.class),
            format!("family = \"{}\"", entry.family),
        ];
        lines.extend(entry.half.map(|half| format!("half = \"{half}\"")));
        lines.extend(entry.flank.map(|flank| format!("flank = \"{flank}\"")));
        lines.extend([
            format!("settled = {}", entry.settled),
            format!("corners = [{}]", corners.join(", ")),
            format!("bows = {}", lengths(&entry.bows)),
            format!("radii = {}", lengths(&entry.radii)),
            format!("sd = {}", thousandths(entry.sd)),
        ]);
        for (key, known) in [("band", &entry.band), ("blocked", &entry.blocked)] {
            lines.extend((!known.is_empty()).then(|| format!("{key} = {}", depths(known))));
        }
        lines.push(format!("band_sd = {}", thousandths(entry.band_sd)));
        file.push_str(&lines.join("\n"));
        file.push('\n');
    }
    file
}

/// Millimetres to the thousandth; a spread never becomes zero.
fn thousandths(length: Length) -> String {
    let mm = length.mm();
    let rounded = (mm * 1e3).round() / 1e3;
    if rounded == 0.0 && mm > 0.0 { mm.to_string() } else { (rounded + 0.0).to_string() }
}

fn mm(field: &Field<'_>, least: Least, faults: &mut Faults<'_>) -> Option<Length> {
    field.reading(Unit::Millimetre, least, faults).map(|reading| reading.length)
}

fn lengths(field: &Field<'_>, least: Least, faults: &mut Faults<'_>) -> Option<Vec<Length>> {
    let items = field.list(CORNERS[1], faults)?;
    // Every item is read, so that all their faults are told.
    let lengths: Vec<_> = items.iter().map(|item| mm(item, least, faults)).collect();
    lengths.into_iter().collect()
}

fn years(field: &Field<'_>, faults: &mut Faults<'_>) -> Option<[i32; 2]> {
    let items = field.list(2, faults)?;
    let [first, last] = &items[..] else {
        field.fault(faults, "needs the first and the last year, such as [2008, 2016]");
        return None;
    };
    let [first, last] = [first, last].map(|item| item.whole(YEARS[0]..=YEARS[1], faults));
    let years = [first?, last?];
    if years[0] > years[1] {
        field.fault(faults, format!("runs from {} back to {}; exchange them", years[0], years[1]));
        return None;
    }
    Some(years)
}

fn corners_of(field: &Field<'_>, faults: &mut Faults<'_>) -> Option<Vec<[Length; 2]>> {
    let items = field.list(CORNERS[1], faults)?;
    if items.len() < CORNERS[0] {
        field.fault(faults, format!("has {} corners; a pane has 3 to 8", items.len()));
        return None;
    }
    let corners: Vec<_> = items
        .iter()
        .map(|item| {
            let pair = lengths(item, Least::Any, faults)?;
            let pair = <[Length; 2]>::try_from(pair).ok();
            if pair.is_none() {
                item.fault(faults, "needs x and y, such as [-1159, 20]");
            }
            pair
        })
        .collect();
    let corners: Vec<[Length; 2]> = corners.into_iter().collect::<Option<_>>()?;
    let outline = Path::<Pane>::polygon(corners.iter().map(|&[x, y]| Point::new(x, y)));
    if outline.crosses_itself() {
        field.fault(faults, "cross over; list them round the pane, base-left first");
        return None;
    }
    if outline.area() <= Area::ZERO {
        let way_out = "list them base-left, base-right, top-right, top-left";
        field.fault(faults, format!("do not run anticlockwise; {way_out}"));
        return None;
    }
    Some(corners)
}

fn at_stations(mut table: Fields<'_>, faults: &mut Faults<'_>) -> Option<Vec<(Station, Length)>> {
    let mut found = Vec::new();
    for &station in Station::ALL {
        if let Some(field) = table.get(station.spelling()) {
            found.push(mm(&field, Least::Zero, faults).map(|length| (station, length)));
        }
    }
    table.finish(faults);
    found.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the format, as its description gives it.
    const EXAMPLE: &str = "
[[pane]]
make = \"Corvane\"
model = \"Twelve\"
years = [2008, 2016]
class = \"coach\"
family = \"windscreen\"
settled = 9
corners = [[-1159, 20], [1159, 20], [1068, 1352], [-1068, 1352]]
bows = [45, 12, 40, 12]
radii = [90, 90, 70, 70]
sd = 4
band = { base-centre = 140, left-low = 60 }
blocked = { base-centre = 70 }
band_sd = 6
";

    #[test]
    fn the_example_is_read() {
        let book = read_book(EXAMPLE.as_bytes(), "book.toml").unwrap();
        let [entry] = &book.entries[..] else { panic!("one entry") };
        assert_eq!((entry.settled, entry.years), (9, [2008, 2016]));
        assert_eq!(entry.corners[2], [Length::from_mm(1068.0), Length::from_mm(1352.0)]);
        let mm = Length::from_mm;
        assert_eq!(entry.band, [(Station::BaseCentre, mm(140.0)), (Station::LeftLow, mm(60.0))]);
        assert_eq!((entry.sd, entry.band_sd), (mm(4.0), mm(6.0)));
    }

    #[test]
    fn what_is_wrong_is_told() {
        for (from, to, message) in [
            (
                "[2008, 2016]",
                "[2016, 2008]",
                "book.toml:5:9: `pane[0].years` runs from 2016 back to 2008",
            ),
            (
                "[45, 12, 40, 12]",
                "[45, 12]",
                "`pane[0].bows` has 2 items; write one for each of the 4 corners",
            ),
            (
                "[90, 90, 70, 70]",
                "[90, 90, 70, -1]",
                "`pane[0].radii[3]` is `-1`; it must be zero or more",
            ),
            ("[-1159, 20], [1159, 20]", "[1159, 20], [-1159, 20]", "cross over"),
            (
                "[[-1159, 20], [1159, 20], [1068, 1352], [-1068, 1352]]",
                "[[-1068, 1352], [1068, 1352], [1159, 20], [-1159, 20]]",
                "do not run anticlockwise",
            ),
            ("[-1159, 20]", "[-1159, 20, 3]", "`pane[0].corners[0]` needs x and y"),
            (
                "[-1159, 20], [1159, 20]",
                "[0, 0]",
                "has 4 items; write one for each of the 3 corners",
            ),
            ("sd = 4", "sd = 0", "`pane[0].sd` is `0`; it must be more than zero"),
            ("band_sd = 6", "", "`pane[0].band_sd` is missing; add band_sd = 6"),
            ("base-centre = 140", "base-center = 140", "did you mean `base-centre`?"), // spelt as given
            ("settled = 9", "settled = 9.5", "write a whole number"),
            ("settled = 9", "settled = -9", "it must be from 0 to 1000000"),
            ("-1159", "-1e9", "longer than any vehicle glass"),
            ("sd = 4", "sd = inf", "inf is not a length"),
        ] {
            let text = EXAMPLE.replacen(from, to, 1);
            let fault = read_book(text.as_bytes(), "book.toml").expect_err(to).to_string();
            assert!(fault.contains(message), "{to}: {fault}");
        }
    }
}
