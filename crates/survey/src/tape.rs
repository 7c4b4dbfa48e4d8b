//! What people write when they read a tape, and how it is shown back.
//!
//! A reading is one number: whole, decimal or with a fraction, in inches, feet and inches,
//! millimetres, centimetres or metres; without a unit it is in the order's. Words with two meanings
//! are an error that names both, never a guess. One rule decides between meanings: a number that is
//! finer than 0.1 mm or longer than 10 m did not come off a tape held against vehicle glass.
//!
//! Commas and points. A comma before exactly three digits may part thousands or decimals, and the
//! rule above decides or the words are refused: `1,327 mm` is 1327 mm, `1,327 m` is 1.327 m and
//! `1,327` inches is refused. A point is a decimal mark; it is doubted only where it may part
//! thousands as well (`1.327 mm`). Any other comma or point is a decimal mark.
//!
//! Graduation: the finest step the words show. A fraction shows its denominator, a decimal one unit
//! of its last digit, a whole number its unit; but one to six decimals of an inch that are a
//! multiple of 1/2, 1/4 … 1/64 (`.5`, `.75`, `.125`) are that fraction typed on a keyboard, feet
//! are read on tapes that show inches and metres on tapes that show centimetres, and no tape shows
//! less than 0.1 mm.
//!
//! Source: 1 in = 25.4 mm and 1 ft = 12 in, international yard and pound agreement of 1959.

use std::fmt;
use std::iter::Peekable;
use std::str::Chars;

use geometry::{Length, MM_PER_INCH};
use thiserror::Error;

use crate::name::nearest;

/// The unit a tape is read in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Inches.
    Inch,
    /// Centimetres.
    Centimetre,
    /// Millimetres.
    Millimetre,
}

impl Unit {
    /// Every one, in order.
    pub const ALL: &'static [Self] = &[Self::Inch, Self::Centimetre, Self::Millimetre];

    /// Its spelling in files and after numbers.
    #[must_use]
    pub const fn spelling(self) -> &'static str {
        self.scale().spelling()
    }

    /// One of it.
    #[must_use]
    pub const fn length(self) -> Length {
        Length::from_mm(self.scale().mm())
    }

    const fn scale(self) -> Scale {
        match self {
            Self::Inch => Scale::Inch,
            Self::Centimetre => Scale::Centimetre,
            Self::Millimetre => Scale::Millimetre,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.spelling())
    }
}

/// One number taken with a tape, in the owner's own words.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeReading {
    /// Exactly what was written.
    pub words: String,
    /// The length it means.
    pub length: Length,
    /// The unit it was read in.
    pub unit: Unit,
    /// The finest step of the tape that the words show (or the order states).
    pub graduation: Length,
    /// Whether the owner marked it as rough (`~`, `about`).
    pub rough: bool,
    /// Whether the tape went straight across, as a chord, and not along the glass.
    pub straight: bool,
}

impl TapeReading {
    /// What a tape of that graduation shows at a length, to the nearest mark.
    #[must_use]
    pub fn showing(length: Length, unit: Unit, graduation: Length) -> Self {
        let step = graduation.mm();
        let length = Length::from_mm((length.mm() / step).round() * step);
        let words = show(length, unit, graduation);
        Self { words, length, unit, graduation, rough: false, straight: false }
    }

    /// The same, taken straight across.
    #[must_use]
    pub fn taken_straight(mut self) -> Self {
        self.straight = true;
        self
    }

    /// The same reading off a tape of that graduation, unless the words show a finer one.
    #[must_use]
    pub fn on_tape_of(mut self, graduation: Length) -> Self {
        self.graduation = self.graduation.min(graduation);
        self
    }
}

/// Words that are not one clear reading.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum TapeError {
    /// Nothing was written.
    #[error("the reading is empty; write what the tape shows, such as `52 1/4 in` or `1327 mm`")]
    Empty,
    /// More was written than a reading can need.
    #[error("the reading is {found} characters long, more than {MAX_WORDS}; write one number")]
    TooManyWords {
        /// Characters found.
        found: usize,
    },
    /// A character that does not belong in text.
    #[error("the reading holds the control character U+{0:04X}; type it again")]
    Control(u32),
    /// A number in a file that is not finite.
    #[error("{0} is not a length; write what the tape shows, such as 1327")]
    NotFinite(String),
    /// A word or sign without meaning here.
    #[error("`{found}` in `{words}` cannot be read{}", way_out(near))]
    Unknown {
        /// The whole reading.
        words: String,
        /// The part.
        found: String,
        /// The nearest known word, when one is near.
        near: Option<String>,
    },
    /// The parts make no number.
    #[error("`{words}` {fault}; write it like `52 1/4 in`, `4 ft 4 1/4 in` or `1327 mm`")]
    Malformed {
        /// The whole reading.
        words: String,
        /// What is wrong with it.
        fault: String,
    },
    /// More than one meaning, or none that a tape can show.
    #[error("`{words}` could mean {}; write the one that is meant", meanings.join(" or "))]
    Ambiguous {
        /// The whole reading.
        words: String,
        /// Each meaning, written so that it is clear.
        meanings: Vec<String>,
    },
    /// Longer than any vehicle glass.
    #[error("{reading} is {metres}, longer than any vehicle glass; {way_out}")]
    Absurd {
        /// The reading with its unit.
        reading: String,
        /// Its length in metres.
        metres: String,
        /// What to write instead.
        way_out: String,
    },
}

fn way_out(near: &Option<String>) -> String {
    match near {
        Some(near) => format!("; did you mean `{near}`?"),
        None => "; write one number and its unit, such as `52 1/4 in`".to_owned(),
    }
}

/// Most characters a reading may have. Chosen by us: the longest sensible one has about thirty.
const MAX_WORDS: usize = 64;
/// Longest reading. Chosen by us: three times the widest windscreen.
const LONGEST_MM: f64 = 10_000.0;
/// Finest step a tape shows. Chosen by us: a fifth of the closest graduation sold, 0.5 mm.
const FINEST_MM: f64 = 0.1;
/// Denominators that tapes are divided by.
const BINARY: [&str; 6] = ["2", "4", "8", "16", "32", "64"];
/// Largest denominator taken for a fraction of a tape's unit. Chosen by us: twice the finest sold.
const MAX_DENOMINATOR: u64 = 128;

/// Reads what was written; `bare` is the unit of a number without one.
///
/// ```
/// use survey::{Unit, read_tape};
/// assert_eq!(read_tape("52 1/4", Unit::Inch)?.length.mm(), 52.25 * 25.4);
/// assert_eq!(read_tape("4′ 4¼″", Unit::Millimetre)?.length.mm(), 52.25 * 25.4);
/// assert!(read_tape("4 6", Unit::Inch).is_err());
/// # Ok::<(), survey::TapeError>(())
/// ```
///
/// # Errors
/// When the words are empty, too many, unreadable, have two meanings, or mean more than 10 m.
/// Zero and negative lengths are read: what they may stand for is the caller's to know.
pub fn read_tape(words: &str, bare: Unit) -> Result<TapeReading, TapeError> {
    read(words, bare, Point::MayPartThousands)
}

/// Reads a number as files hold it, where a point can only be a decimal mark.
///
/// # Errors
/// When it is not finite, has more than 64 digits, or means more than 10 m.
pub fn from_number(number: f64, bare: Unit) -> Result<TapeReading, TapeError> {
    if !number.is_finite() {
        return Err(TapeError::NotFinite(number.to_string()));
    }
    // Adding zero turns a negative zero into a plain one.
    read(&(number + 0.0).to_string(), bare, Point::IsDecimal)
}

/// The length in that unit, rounded to the graduation: `52 1/4 in`, `132.7 cm`, `1327 mm`.
/// Reading it back gives the rounded length.
#[must_use]
pub fn show(length: Length, unit: Unit, graduation: Length) -> String {
    shown(length, unit, graduation).written("-", " ", |whole, n, d| match whole {
        0 => format!("{n}/{d}"),
        _ => format!("{whole} {n}/{d}"),
    })
}

/// As [`show`], set as a printer would: `52¼ in`, `52⁵⁄₁₆ in`, with a space that does not break.
#[must_use]
pub fn typeset(length: Length, unit: Unit, graduation: Length) -> String {
    shown(length, unit, graduation).written("\u{2212}", "\u{a0}", |whole, n, d| {
        let fraction = VULGAR.iter().find(|&&(_, vn, vd)| (vn, vd) == (n, d)).map_or_else(
            || format!("{}\u{2044}{}", raised(n, &SUPERSCRIPTS), raised(d, &SUBSCRIPTS)),
            |(sign, ..)| sign.to_string(),
        );
        if whole == 0 { fraction } else { format!("{whole}{fraction}") }
    })
}

/// A length as it is about to be written.
struct Shown {
    negative: bool,
    unit: Unit,
    number: ShownNumber,
}

enum ShownNumber {
    /// A whole number and a reduced fraction of it; the numerator may be zero.
    Fraction(u64, u64, u64),
    Decimal(String),
}

impl Shown {
    fn written(&self, minus: &str, space: &str, mixed: impl Fn(u64, u64, u64) -> String) -> String {
        let number = match &self.number {
            ShownNumber::Fraction(whole, 0, _) => whole.to_string(),
            &ShownNumber::Fraction(whole, n, d) => mixed(whole, n, d),
            ShownNumber::Decimal(text) => text.clone(),
        };
        let sign = if self.negative { minus } else { "" };
        format!("{sign}{number}{space}{}", self.unit.spelling())
    }
}

fn shown(length: Length, unit: Unit, graduation: Length) -> Shown {
    let value = length.abs() / unit.length();
    let step = graduation.max(Length::from_mm(FINEST_MM)) / unit.length();
    let per_unit = (1.0 / step).round().max(1.0);
    let divides = (1.0 / step - per_unit).abs() < 1e-6;
    let number = if unit == Unit::Inch && !(divides && [10.0, 100.0].contains(&per_unit)) {
        // A graduation that is no fraction of an inch is shown by the next finer binary one.
        let sold = divides && per_unit <= 64.0;
        let d = if sold { per_unit } else { 2f64.powi((1.0 / step).log2().ceil() as i32) };
        let d = d.clamp(1.0, 64.0);
        let total = (value * d).round() as u64;
        let (whole, n) = (total / d as u64, total % d as u64);
        let common = common_divisor(n, d as u64);
        ShownNumber::Fraction(whole, n / common, d as u64 / common)
    } else {
        // Two decimals at most: a third could be taken for thousands.
        let decimals = (0..2)
            .find(|&n| {
                let scaled = step * 10f64.powi(n);
                (scaled - scaled.round()).abs() < 1e-6
            })
            .unwrap_or(2) as usize;
        ShownNumber::Decimal(format!("{:.decimals$}", (value / step).round() * step))
    };
    let zero = match &number {
        ShownNumber::Fraction(whole, n, _) => *whole == 0 && *n == 0,
        ShownNumber::Decimal(text) => text.chars().all(|c| matches!(c, '0' | '.')),
    };
    Shown { negative: length < Length::ZERO && !zero, unit, number }
}

/// Greatest common divisor (Euclid).
fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common_divisor(b, a % b) }
}

fn raised(number: u64, digits: &[char; 10]) -> String {
    number.to_string().bytes().map(|b| digits[usize::from(b - b'0')]).collect()
}

const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
const SUBSCRIPTS: [char; 10] = ['₀', '₁', '₂', '₃', '₄', '₅', '₆', '₇', '₈', '₉'];

/// The fractions that have a sign of their own (Unicode, Number Forms and Latin-1 Supplement).
const VULGAR: [(char, u64, u64); 19] = [
    ('¼', 1, 4),
    ('½', 1, 2),
    ('¾', 3, 4),
    ('⅐', 1, 7),
    ('⅑', 1, 9),
    ('⅒', 1, 10),
    ('⅓', 1, 3),
    ('⅔', 2, 3),
    ('⅕', 1, 5),
    ('⅖', 2, 5),
    ('⅗', 3, 5),
    ('⅘', 4, 5),
    ('⅙', 1, 6),
    ('⅚', 5, 6),
    ('⅛', 1, 8),
    ('⅜', 3, 8),
    ('⅝', 5, 8),
    ('⅞', 7, 8),
    ('↉', 0, 3),
];

/// A unit as written, feet and metres included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Scale {
    Foot,
    Inch,
    Metre,
    Centimetre,
    Millimetre,
}

impl Scale {
    /// How many inches or millimetres it is.
    const fn count(self) -> f64 {
        match self {
            Self::Foot => 12.0,
            Self::Metre => 1000.0,
            Self::Centimetre => 10.0,
            Self::Inch | Self::Millimetre => 1.0,
        }
    }

    const fn mm(self) -> f64 {
        self.count() * if self.is_metric() { 1.0 } else { MM_PER_INCH }
    }

    const fn spelling(self) -> &'static str {
        match self {
            Self::Foot => "ft",
            Self::Inch => "in",
            Self::Metre => "m",
            Self::Centimetre => "cm",
            Self::Millimetre => "mm",
        }
    }

    const fn is_metric(self) -> bool {
        !matches!(self, Self::Foot | Self::Inch)
    }
}

#[derive(Clone, Debug, PartialEq)]
enum Token {
    /// Digits with the commas and points between them.
    Number(String),
    /// A fraction with a sign of its own.
    Fraction(u64, u64),
    Slash,
    Minus,
    And,
    Comma,
    Scale(Scale),
    Rough,
}

/// Words with their meaning, for the tokens that are words.
const WORDS: &[(&str, Token)] = &[
    ("in", Token::Scale(Scale::Inch)),
    ("ins", Token::Scale(Scale::Inch)),
    ("inch", Token::Scale(Scale::Inch)),
    ("inches", Token::Scale(Scale::Inch)),
    ("ft", Token::Scale(Scale::Foot)),
    ("foot", Token::Scale(Scale::Foot)),
    ("feet", Token::Scale(Scale::Foot)),
    ("mm", Token::Scale(Scale::Millimetre)),
    ("millimetre", Token::Scale(Scale::Millimetre)),
    ("millimetres", Token::Scale(Scale::Millimetre)),
    ("millimeter", Token::Scale(Scale::Millimetre)), // spelt as given
    ("millimeters", Token::Scale(Scale::Millimetre)), // spelt as given
    ("cm", Token::Scale(Scale::Centimetre)),
    ("centimetre", Token::Scale(Scale::Centimetre)),
    ("centimetres", Token::Scale(Scale::Centimetre)),
    ("centimeter", Token::Scale(Scale::Centimetre)), // spelt as given
    ("centimeters", Token::Scale(Scale::Centimetre)), // spelt as given
    ("m", Token::Scale(Scale::Metre)),
    ("metre", Token::Scale(Scale::Metre)),
    ("metres", Token::Scale(Scale::Metre)),
    ("meter", Token::Scale(Scale::Metre)),  // spelt as given
    ("meters", Token::Scale(Scale::Metre)), // spelt as given
    ("and", Token::And),
    ("about", Token::Rough),
    ("approx", Token::Rough),
    ("approximately", Token::Rough),
    ("around", Token::Rough),
    ("c", Token::Rough),
    ("ca", Token::Rough),
    ("circa", Token::Rough),
    ("roughly", Token::Rough),
];

/// A token, and whether white space stands before it.
type Spaced = (Token, bool);

fn tokens(words: &str) -> Result<Vec<Spaced>, TapeError> {
    let mut tokens = Vec::new();
    let mut chars = words.chars().peekable();
    let mut spaced = false;
    while let Some(c) = chars.next() {
        let unknown = |found: String| TapeError::Unknown {
            words: words.to_owned(),
            near: nearest(&found.to_lowercase(), WORDS.iter().map(|(word, _)| (*word).to_owned()))
                .filter(|_| found.chars().count() > 2),
            found,
        };
        let token = match c {
            _ if c.is_whitespace() => {
                spaced = true;
                continue;
            }
            '0'..='9' => Token::Number(numeral(c, &mut chars)),
            '.' | ',' if chars.peek().is_some_and(char::is_ascii_digit) => {
                Token::Number(numeral(c, &mut chars))
            }
            '/' | '\u{2044}' | '\u{2215}' => Token::Slash,
            '-' | '\u{2010}'..='\u{2014}' | '\u{2212}' => Token::Minus,
            '&' | '+' => Token::And,
            ',' => Token::Comma,
            '~' | '≈' | '?' => Token::Rough,
            '"' | '\u{201c}'..='\u{201f}' | '\u{2033}' | '\u{2ba}' => Token::Scale(Scale::Inch),
            '\'' | '`' | '´' | '\u{2018}'..='\u{201b}' | '\u{2032}' | '\u{2b9}' => {
                Token::Scale(match chars.next_if_eq(&c) {
                    Some(_) => Scale::Inch,
                    None => Scale::Foot,
                })
            }
            '⅟' => match digits(&mut chars, &SUBSCRIPTS) {
                0 => return Err(unknown(c.to_string())),
                d => Token::Fraction(1, d),
            },
            _ if SUPERSCRIPTS.contains(&c) => raised_fraction(c, &mut chars)
                .ok_or_else(|| unknown(c.to_string()))
                .map(|(n, d)| Token::Fraction(n, d))?,
            _ if c.is_alphabetic() => {
                let mut word = c.to_string();
                while let Some(next) = chars.next_if(|next| next.is_alphabetic()) {
                    word.push(next);
                }
                chars.next_if_eq(&'.');
                let lower = word.to_lowercase();
                let known = WORDS.iter().find(|(known, _)| *known == lower);
                known.ok_or_else(|| unknown(word))?.1.clone()
            }
            _ => match VULGAR.iter().find(|(sign, ..)| *sign == c) {
                Some(&(_, n, d)) => Token::Fraction(n, d),
                None => return Err(unknown(c.to_string())),
            },
        };
        tokens.push((token, spaced));
        spaced = false;
    }
    Ok(tokens)
}

/// The rest of a number that starts with `first`; a comma or point belongs to it between digits.
fn numeral(first: char, chars: &mut Peekable<Chars<'_>>) -> String {
    let mut text = first.to_string();
    loop {
        if let Some(digit) = chars.next_if(char::is_ascii_digit) {
            text.push(digit);
            continue;
        }
        let mut ahead = chars.clone();
        match (ahead.next(), ahead.next()) {
            (Some(mark @ ('.' | ',')), Some('0'..='9')) => {
                chars.next();
                text.push(mark);
            }
            _ => return text,
        }
    }
}

/// A run of digits, plain or of the given kind; zero when there is none or it is too long.
fn digits(chars: &mut Peekable<Chars<'_>>, kind: &[char; 10]) -> u64 {
    let value = |c: &char| c.to_digit(10).or(kind.iter().position(|k| k == c).map(|p| p as u32));
    let mut total = 0u64;
    while let Some(digit) = chars.peek().and_then(value) {
        chars.next();
        total = total.saturating_mul(10).saturating_add(digit.into());
    }
    total
}

/// `³⁄₈`: raised digits, a slash, lowered digits.
fn raised_fraction(first: char, chars: &mut Peekable<Chars<'_>>) -> Option<(u64, u64)> {
    let value = |c: &char| SUPERSCRIPTS.iter().position(|k| k == c).map(|p| p as u64);
    let mut n = value(&first)?;
    while let Some(digit) = chars.peek().and_then(value) {
        chars.next();
        n = n.saturating_mul(10).saturating_add(digit);
    }
    chars.next_if(|c| matches!(c, '/' | '\u{2044}' | '\u{2215}'))?;
    Some((n, digits(chars, &SUBSCRIPTS))).filter(|&(_, d)| d > 0)
}

/// What a point before exactly three digits may be.
#[derive(Clone, Copy, PartialEq)]
enum Point {
    MayPartThousands,
    IsDecimal,
}

/// One meaning of a number: its value and the step it shows, both in its unit.
#[derive(Clone, Debug)]
struct Magnitude {
    value: f64,
    form: Form,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Form {
    Whole,
    /// With that many decimals.
    Decimal(usize),
    /// With that denominator, after a whole number or not.
    Fraction(u64, bool),
}

impl Magnitude {
    /// The step shown, in millimetres, before limits.
    fn step_mm(&self, scale: Scale) -> f64 {
        let step = match self.form {
            Form::Whole => 1.0,
            Form::Fraction(d, _) => 1.0 / d as f64,
            Form::Decimal(n) => {
                let halvings = 2f64.powi(n.min(6) as i32);
                let binary = scale == Scale::Inch
                    && n <= 6
                    && self.value.fract() != 0.0
                    && (self.value * halvings).fract() == 0.0;
                if binary { 1.0 / halvings } else { 10f64.powi(-(n.min(300) as i32)) }
            }
        };
        step * scale.mm()
    }

    fn graduation(&self, scale: Scale) -> Length {
        let coarsest = match scale {
            Scale::Foot => Scale::Inch.mm(),
            Scale::Metre => Scale::Centimetre.mm(),
            _ => f64::INFINITY,
        };
        Length::from_mm(self.step_mm(scale).min(coarsest).max(FINEST_MM))
    }

    /// Whether a tape held against vehicle glass can show it.
    fn comes_off_a_tape(&self, scale: Scale) -> bool {
        self.step_mm(scale) > FINEST_MM - 1e-9 && self.fits(scale)
    }

    fn fits(&self, scale: Scale) -> bool {
        self.value * scale.mm() <= LONGEST_MM
    }

    fn with_unit(&self, scale: Scale) -> String {
        format!("`{} {}`", self.value, scale.spelling())
    }
}

/// A number and its unit, as far as written.
struct Part {
    /// The meanings of the number: one, or decimals first and thousands second.
    meanings: Vec<Magnitude>,
    /// Whether the mark between the two meanings is a comma.
    comma: bool,
    scale: Option<Scale>,
}

struct Parser<'a> {
    words: &'a str,
    tokens: &'a [Spaced],
    at: usize,
    bare: Unit,
    point: Point,
}

fn read(words: &str, bare: Unit, point: Point) -> Result<TapeReading, TapeError> {
    let words = words.trim();
    if words.is_empty() {
        return Err(TapeError::Empty);
    }
    if let Some(c) = words.chars().find(|c| c.is_control()) {
        return Err(TapeError::Control(c.into()));
    }
    let found = words.chars().count();
    if found > MAX_WORDS {
        return Err(TapeError::TooManyWords { found });
    }
    let tokens = tokens(words)?;
    let mut parser = Parser { words, tokens: &tokens, at: 0, bare, point };
    let mut rough = parser.eat(&Token::Rough);
    let negative = parser.eat(&Token::Minus);
    rough |= parser.eat(&Token::Rough);
    let parts = parser.parts()?;
    rough |= parser.eat(&Token::Rough);
    if parser.at < tokens.len() {
        return Err(parser.malformed("holds more than one number"));
    }
    let (mut mm, unit, graduation) = parser.total(parts)?;
    if negative && mm != 0.0 {
        mm = -mm;
    }
    Ok(TapeReading {
        words: words.to_owned(),
        length: Length::from_mm(mm),
        unit,
        graduation,
        rough,
        straight: false,
    })
}

impl Parser<'_> {
    fn peek(&self, ahead: usize) -> Option<&Token> {
        self.tokens.get(self.at + ahead).map(|(token, _)| token)
    }

    fn is_spaced(&self, ahead: usize) -> bool {
        self.tokens.get(self.at + ahead).is_some_and(|&(_, spaced)| spaced)
    }

    fn eat(&mut self, token: &Token) -> bool {
        let here = self.peek(0) == Some(token);
        self.at += usize::from(here);
        here
    }

    fn malformed(&self, fault: &str) -> TapeError {
        TapeError::Malformed { words: self.words.to_owned(), fault: fault.to_owned() }
    }

    fn ambiguous(&self, meanings: impl IntoIterator<Item = String>) -> TapeError {
        TapeError::Ambiguous {
            words: self.words.to_owned(),
            meanings: meanings.into_iter().collect(),
        }
    }

    /// The unit written at the cursor or after it, else the bare one: for naming meanings.
    fn scale_ahead(&self) -> Scale {
        let rest = self.tokens.get(self.at..).unwrap_or_default();
        let written = rest.iter().find_map(|(token, _)| match token {
            Token::Scale(scale) => Some(*scale),
            _ => None,
        });
        written.unwrap_or(self.bare.scale())
    }

    fn parts(&mut self) -> Result<Vec<Part>, TapeError> {
        let mut parts = Vec::new();
        loop {
            let (meanings, comma) = self.magnitude()?;
            let scale = match self.peek(0) {
                Some(&Token::Scale(scale)) => {
                    self.at += 1;
                    Some(scale)
                }
                _ => None,
            };
            parts.push(Part { meanings, comma, scale });
            let joined = scale.is_some() && (self.eat(&Token::And) || self.eat(&Token::Comma))
                || scale == Some(Scale::Foot) && self.eat(&Token::Minus);
            let more = matches!(self.peek(0), Some(Token::Number(_) | Token::Fraction(..)));
            if joined && !more {
                return Err(self.malformed("stops before its last number"));
            }
            if scale.is_none() || !more {
                return Ok(parts);
            }
        }
    }

    /// A number with its meanings: `52`, `52.25`, `1 327`, `1/4`, `52 1/4`, `52-1/4`, `52 and 1/4`.
    fn magnitude(&mut self) -> Result<(Vec<Magnitude>, bool), TapeError> {
        if let Some((n, d)) = self.fraction()? {
            return Ok((vec![self.proper(n, d, None)?], false));
        }
        let Some(Token::Number(text)) = self.peek(0) else {
            return Err(self.malformed(match self.at {
                0 => "does not start with a number",
                _ => "lacks a number",
            }));
        };
        let mut text = text.clone();
        self.at += 1;
        let leads = is_plain(&text) && text.len() <= 3 && !text.starts_with('0');
        while let Some(Token::Number(next)) = self.peek(0)
            && self.peek(1) != Some(&Token::Slash)
        {
            let group = next.bytes().take_while(u8::is_ascii_digit).count() == 3;
            if !(leads && group && is_plain(&text)) {
                return Err(self.two_numbers(&text, next));
            }
            text.push_str(next);
            self.at += 1;
        }
        let meanings = self.meanings(&text)?;
        let comma = text.contains(',');

        let start = self.at;
        let joined = self.eat(&Token::And);
        let minus = !joined && self.eat(&Token::Minus);
        let clear = !minus || !(self.is_spaced(0) || self.tokens[start].1);
        let Some((n, d)) = self.fraction()? else {
            if joined || minus {
                return Err(self.malformed("holds more than one number"));
            }
            return Ok((meanings, comma));
        };
        let whole = match &meanings[..] {
            [Magnitude { value, form: Form::Whole }] => *value,
            _ => return Err(self.malformed("has both decimals and a fraction")),
        };
        let mixed = self.proper(n, d, Some((whole, &text)))?;
        if !clear {
            let scale = self.scale_ahead().spelling();
            let less = whole - n as f64 / d as f64;
            return Err(
                self.ambiguous([format!("`{text} {n}/{d} {scale}`"), format!("`{less} {scale}`")])
            );
        }
        Ok((vec![mixed], false))
    }

    /// A fraction at the cursor: a sign of its own, or number, slash, number.
    fn fraction(&mut self) -> Result<Option<(u64, u64)>, TapeError> {
        if let Some(&Token::Fraction(n, d)) = self.peek(0) {
            self.at += 1;
            return Ok(Some((n, d)));
        }
        let (Some(Token::Number(n)), Some(Token::Slash)) = (self.peek(0), self.peek(1)) else {
            return Ok(None);
        };
        let Some(Token::Number(d)) = self.peek(2) else {
            return Err(self.malformed("has a slash without a number after it"));
        };
        let (Ok(top), Ok(bottom)) = (n.parse::<u64>(), d.parse::<u64>()) else {
            return Err(self.malformed("has a fraction that is not of whole numbers"));
        };
        if let (Some(Token::Slash), Some(Token::Number(last))) = (self.peek(3), self.peek(4)) {
            let scale = self.scale_ahead().spelling();
            return Err(self.ambiguous([
                format!("`{n} {d}/{last} {scale}`"),
                format!("`{n}/{d}` or `{d}/{last}` alone"),
            ]));
        }
        self.at += 3;
        Ok(Some((top, bottom)))
    }

    /// The number of a fraction that is less than one, after a whole number or alone.
    fn proper(&self, n: u64, d: u64, whole: Option<(f64, &str)>) -> Result<Magnitude, TapeError> {
        if d == 0 || d > MAX_DENOMINATOR {
            let fault = format!("has a fraction over {d}, which no tape shows");
            return Err(self.malformed(&fault));
        }
        let (base, before) = whole.unwrap_or((0.0, ""));
        let value = base + n as f64 / d as f64;
        if n < d {
            return Ok(Magnitude { value, form: Form::Fraction(d, whole.is_some()) });
        }
        // `5 21/4` may be a space gone astray, `521/4` one left out.
        let scale = self.scale_ahead();
        let top = n.to_string();
        let mut meanings: Vec<String> = (1..top.len())
            .map(|cut| top.split_at(cut))
            .filter(|(_, top)| !top.starts_with('0') && parsed(top) < d as f64)
            .map(|(left, top)| format!("`{before}{left} {top}/{d} {}`", scale.spelling()))
            .collect();
        if meanings.is_empty() {
            return Err(
                self.malformed(&format!("has the fraction {n}/{d}, which is not below one"))
            );
        }
        meanings.push(Magnitude { value, form: Form::Whole }.with_unit(scale));
        Err(self.ambiguous(meanings))
    }

    /// What two numbers side by side may mean.
    fn two_numbers(&self, first: &str, second: &str) -> TapeError {
        let after = match (self.peek(1), self.peek(2), self.peek(3)) {
            (None | Some(Token::Scale(_) | Token::Rough), ..) => Some(String::new()),
            (Some(Token::Number(n)), Some(Token::Slash), Some(Token::Number(d))) => {
                Some(format!(" {n}/{d}"))
            }
            (Some(Token::Fraction(n, d)), ..) => Some(format!(" {n}/{d}")),
            _ => None,
        };
        let (Some(after), true, true) = (after, is_plain(first), is_plain(second)) else {
            return self.malformed("holds more than one number");
        };
        let scale = self.scale_ahead();
        let unit = scale.spelling();
        let mut meanings = Vec::new();
        if parsed(second) < 12.0 && parsed(first) * Scale::Foot.mm() < LONGEST_MM {
            meanings.push(format!("`{first} ft {second}{after} in`"));
        }
        if parsed(&format!("{first}{second}")) * scale.mm() <= LONGEST_MM {
            meanings.push(format!("`{first}{second}{after} {unit}`"));
        }
        if after.is_empty() {
            let halves = (1..second.len()).map(|cut| second.split_at(cut));
            meanings.extend(
                halves
                    .filter(|(n, d)| parsed(n) < parsed(d) && BINARY.contains(d))
                    .map(|(n, d)| format!("`{first} {n}/{d} {unit}`")),
            );
            meanings.push(format!("`{first}.{second} {unit}`"));
        }
        match &meanings[..] {
            [] => self.malformed("holds more than one number"),
            [only] => self.malformed(&format!("holds two numbers, or means {only}")),
            _ => self.ambiguous(meanings),
        }
    }

    /// The meanings of a number with its commas and points.
    fn meanings(&self, text: &str) -> Result<Vec<Magnitude>, TapeError> {
        let marks: Vec<(usize, char)> =
            text.char_indices().filter(|(_, c)| matches!(c, '.' | ',')).collect();
        let magnitude = |whole: &str, decimals: &str| {
            let whole: String = whole.chars().filter(char::is_ascii_digit).collect();
            let form =
                if decimals.is_empty() { Form::Whole } else { Form::Decimal(decimals.len()) };
            let value = format!("0{whole}.{decimals}0").parse().unwrap_or(f64::MAX);
            Magnitude { value, form }
        };
        let Some(&(last, mark)) = marks.last() else {
            return Ok(vec![magnitude(text, "")]);
        };
        let (whole, decimals) = (&text[..last], &text[last + 1..]);
        let groups = |text: &str, mark: char| {
            let mut groups = text.split(mark);
            let first = groups.next().unwrap_or_default();
            (1..=3).contains(&first.len())
                && !first.starts_with('0')
                && text.bytes().all(|b| b.is_ascii_digit() || b == mark as u8)
                && groups.all(|group| group.len() == 3)
        };
        let first = marks[0].1;
        if marks.len() == 1 {
            let decimal = magnitude(whole, decimals);
            let sure = mark == '.' && self.point == Point::IsDecimal;
            return Ok(if !sure && groups(text, mark) {
                vec![decimal, magnitude(text, "")]
            } else {
                vec![decimal]
            });
        }
        if groups(text, first) {
            return Ok(vec![magnitude(text, "")]);
        }
        if first != mark && groups(whole, first) {
            return Ok(vec![magnitude(whole, decimals)]);
        }
        Err(self.malformed("has commas or points that part neither thousands nor decimals"))
    }

    /// The one meaning of a part that can come off a tape.
    fn choose(&self, part: &Part, scale: Scale) -> Result<Magnitude, TapeError> {
        let [decimal, thousands] = &part.meanings[..] else {
            return Ok(part.meanings[0].clone());
        };
        let ambiguous = || self.ambiguous([thousands.with_unit(scale), decimal.with_unit(scale)]);
        if !part.comma {
            return if thousands.fits(scale) { Err(ambiguous()) } else { Ok(decimal.clone()) };
        }
        match (decimal.comes_off_a_tape(scale), thousands.comes_off_a_tape(scale)) {
            (true, false) => Ok(decimal.clone()),
            (false, true) => Ok(thousands.clone()),
            _ => Err(ambiguous()),
        }
    }

    /// Millimetres, the unit it was read in, and the graduation.
    fn total(&self, parts: Vec<Part>) -> Result<(f64, Unit, Length), TapeError> {
        // In inches or millimetres, so that 4 ft 4 1/4 in is 52 1/4 in to the last bit.
        let mut total = 0.0;
        let mut before: Option<(Scale, Magnitude)> = None;
        let only = parts.len() == 1;
        for part in &parts {
            let scale = match (part.scale, &before) {
                (Some(scale), _) => scale,
                (None, None) => self.bare.scale(),
                (None, Some((Scale::Foot | Scale::Inch, _))) => Scale::Inch,
                (None, Some((larger, whole))) => {
                    let second = &part.meanings[0];
                    let next = if *larger == Scale::Metre { "cm" } else { "mm" };
                    let joined =
                        format!("`{}.{} {}`", whole.value, second.value, larger.spelling());
                    let parted =
                        format!("`{} {} {} {next}`", whole.value, larger.spelling(), second.value);
                    return Err(self.ambiguous([joined, parted]));
                }
            };
            let magnitude = self.choose(part, scale)?;
            if let Some((larger, whole)) = &before {
                self.check_step(*larger, whole, scale, &magnitude)?;
            } else if only
                && part.scale.is_none()
                && self.bare != Unit::Inch
                && matches!(magnitude.form, Form::Fraction(..))
            {
                let inches =
                    format!("`{} in` ({:.2} mm)", self.words, magnitude.value * Scale::Inch.mm());
                return Err(self.ambiguous([inches, magnitude.with_unit(scale)]));
            }
            total += magnitude.value * scale.count();
            before = Some((scale, magnitude));
        }
        let (scale, last) = before.expect("a reading has at least one part");
        let mm = total * if scale.is_metric() { 1.0 } else { MM_PER_INCH };
        let (reading, single) = match &parts[..] {
            [part] => {
                (format!("{} {}", last.value, scale.spelling()), Some((last.value, part.scale)))
            }
            _ => (self.words.to_owned(), None),
        };
        check_length(mm, reading, single, self.bare)?;
        let unit = match (scale, last.form) {
            (Scale::Foot | Scale::Inch, _) => Unit::Inch,
            (Scale::Metre, Form::Decimal(3..)) | (Scale::Millimetre, _) => Unit::Millimetre,
            (Scale::Metre | Scale::Centimetre, _) => Unit::Centimetre,
        };
        Ok((mm, unit, last.graduation(scale)))
    }

    /// A part may follow a larger whole one that it does not fill.
    fn check_step(
        &self,
        larger: Scale,
        whole: &Magnitude,
        scale: Scale,
        part: &Magnitude,
    ) -> Result<(), TapeError> {
        let fraction_of_inch = (larger, scale) == (Scale::Inch, Scale::Inch)
            && matches!(part.form, Form::Fraction(_, false));
        let descends = larger.is_metric() == scale.is_metric() && larger.mm() > scale.mm();
        if !(fraction_of_inch || descends) {
            return Err(self.malformed("holds more than one number"));
        }
        if whole.form != Form::Whole {
            let all = |value: f64| {
                let mm = value * larger.mm() + part.value * scale.mm();
                format!("`{} {}`", mm / scale.mm(), scale.spelling())
            };
            return Err(self.ambiguous([all(whole.value), all(whole.value.trunc())]));
        }
        if part.value * scale.mm() >= larger.mm() {
            let fault = format!(
                "has {} {} after {}, which is {} {} or more",
                part.value,
                scale.spelling(),
                larger.spelling(),
                (larger.mm() / scale.mm()).round(),
                scale.spelling()
            );
            return Err(self.malformed(&fault));
        }
        Ok(())
    }
}

fn is_plain(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_digit())
}

/// The value of plain digits.
fn parsed(digits: &str) -> f64 {
    digits.parse().unwrap_or(f64::INFINITY)
}

/// Refuses what is longer than any glass, and names the unit it may have been in.
fn check_length(
    mm: f64,
    reading: String,
    single: Option<(f64, Option<Scale>)>,
    bare: Unit,
) -> Result<(), TapeError> {
    if mm.abs() <= LONGEST_MM {
        return Ok(());
    }
    let instead = single.and_then(|(number, scale)| {
        let (name, scale) = match (scale, bare) {
            (None, Unit::Inch | Unit::Centimetre) => ("millimetres", Scale::Millimetre),
            (Some(Scale::Foot), _) => ("inches", Scale::Inch),
            (Some(Scale::Metre), _) => ("centimetres", Scale::Centimetre),
            _ => return None,
        };
        let fits = number * scale.mm() <= LONGEST_MM;
        fits.then(|| format!("if it was {name} write `{number} {}`", scale.spelling()))
    });
    let metres = mm / 1000.0;
    Err(TapeError::Absurd {
        reading,
        metres: if metres < 1e6 { format!("{metres:.1} m") } else { format!("{metres:.0e} m") },
        way_out: instead.unwrap_or_else(|| "check its unit and read it again".to_owned()),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn mm(words: &str, bare: Unit) -> f64 {
        match read_tape(words, bare) {
            Ok(reading) => reading.length.mm(),
            Err(error) => panic!("{words}: {error}"),
        }
    }

    fn fault(words: &str, bare: Unit) -> String {
        read_tape(words, bare).expect_err(words).to_string()
    }

    #[test]
    fn every_way_of_writing_52_and_a_quarter_inches_is_read() {
        // 1 in = 25.4 mm exactly (1959), so 52 1/4 in = 1327.15 mm.
        for words in [
            "52 1/4\"",
            "52-1/4",
            "52¼",
            "52 ¼",
            "52.25 in",
            "52,25",
            "52.25",
            "4' 4 1/4\"",
            "4ft 4.25in",
            "4'4¼\"",
            "4’ 4 1/4”",
            "4′ 4 1⁄4″",
            "4'-4 1/4\"",
            "4' - 4 1/4''",
            "52 1/4 inches",
            "~52 1/4",
            "about 52 1/4 in.",
            "52 and 1/4",
            "52 in 1/4",
            "52\" 1/4",
            "52\u{a0}1/4\u{2009}in",
            "52 ¹⁄₄ in",
            "52 ⅟₄",
            "4 ft. 4 1/4 in.",
            "4 feet, 4 1/4 inches",
            "52 2/8",
            "52 1/4 ?",
            "52‑1/4",
            "4 ft 4¼",
            "52 & 1/4 IN",
            "  52 1/4  ",
        ] {
            assert!((mm(words, Unit::Inch) - 1327.15).abs() < 1e-9, "{words}");
        }
    }

    #[test]
    fn metric_is_read_with_and_without_units() {
        for words in [
            "1327",
            "1327mm",
            "132.7 cm",
            "1,327 mm",
            "1 327",
            "132,7 cm",
            "1.327 m",
            "1,327 m",
            "1\u{202f}327 mm",
            "1327.0",
            "1,327.0",
            "1.327,0",
            "1 m 32.7 cm",
            "≈1327 MM",
            "1,327",
        ] {
            assert!((mm(words, Unit::Millimetre) - 1327.0).abs() < 1e-9, "{words}");
        }
        assert_eq!(mm("132,7", Unit::Centimetre), 1327.0);
        assert_eq!(mm("-3 mm", Unit::Inch), -3.0);
        assert_eq!(mm("−1/8", Unit::Inch), -25.4 / 8.0);
        assert_eq!(mm("0", Unit::Inch), 0.0);
        assert_eq!(mm("4'", Unit::Millimetre), 48.0 * 25.4);
    }

    #[test]
    fn two_meanings_are_named_and_neither_is_taken() {
        for (words, bare, one, other) in [
            ("4 6", Unit::Inch, "`4 ft 6 in`", "`46 in`"),
            ("4 6\"", Unit::Millimetre, "`4 ft 6 in`", "`46 in`"),
            ("4 6 1/2", Unit::Inch, "`4 ft 6 1/2 in`", "`46 1/2 in`"),
            ("52 14", Unit::Inch, "`52 1/4 in`", "`52.14 in`"),
            ("1,327", Unit::Inch, "`1327 in`", "`1.327 in`"),
            ("1.327", Unit::Millimetre, "`1327 mm`", "`1.327 mm`"),
            ("52 1/4", Unit::Millimetre, "`52 1/4 in` (1327.15 mm)", "`52.25 mm`"),
            ("132½", Unit::Centimetre, "`132½ in` (3365.50 mm)", "`132.5 cm`"),
            ("5 21/4", Unit::Inch, "`52 1/4 in`", "`10.25 in`"),
            ("521/4", Unit::Inch, "`52 1/4 in`", "`130.25 in`"),
            ("4.5' 3\"", Unit::Inch, "`57 in`", "`51 in`"),
            ("52/1/4", Unit::Inch, "`52 1/4 in`", "`52/1`"),
            ("52 - 1/4", Unit::Inch, "`52 1/4 in`", "`51.75 in`"),
            ("1 m 32", Unit::Millimetre, "`1.32 m`", "`1 m 32 cm`"),
        ] {
            let message = fault(words, bare);
            assert!(message.contains(one) && message.contains(other), "{words}: {message}");
            assert!(message.contains("could mean"), "{words}: {message}");
        }
    }

    #[test]
    fn every_meaning_named_can_be_written() {
        for words in ["4 6", "52 14", "5 21/4", "521/4", "4.5' 3\"", "52 - 1/4", "4 6 1/2"] {
            let Err(TapeError::Ambiguous { meanings, .. }) = read_tape(words, Unit::Inch) else {
                panic!("{words} has two meanings")
            };
            for meaning in meanings {
                mm(meaning.trim_matches('`'), Unit::Inch);
            }
        }
    }

    #[test]
    fn an_absurd_length_names_the_unit_it_may_have_been_in() {
        assert_eq!(
            fault("1327", Unit::Inch),
            "1327 in is 33.7 m, longer than any vehicle glass; if it was millimetres write `1327 mm`"
        );
        assert!(fault("52'", Unit::Inch).contains("if it was inches write `52 in`"));
        assert!(fault("99999999999999999999", Unit::Millimetre).contains("read it again"));
        assert!(from_number(1e300, Unit::Inch).is_err());
        assert!(from_number(f64::MAX, Unit::Inch).is_err());
        assert!(from_number(f64::NAN, Unit::Inch).is_err());
        assert_eq!(mm("10 m", Unit::Inch), 10_000.0);
    }

    #[test]
    fn unreadable_words_say_the_way_out() {
        for words in [
            "",
            "  ",
            "52 1/0",
            "52 1/",
            "/",
            "-",
            "--3",
            "52 1/4 1/8",
            "52.5 1/4",
            "4' 14\"",
            "52 inchs",
            "fifty",
            "52\u{0}",
            "52\n53",
            "1,2,3",
            "52 x 31",
            "3 cm 1 m",
            "4 in 3 in",
            "52 4/4",
            "½½",
            "'",
            "52 and",
            "52 mm 1/4",
            "²",
            "⅟",
            "52 1/1000",
        ] {
            assert!(
                fault(words, Unit::Inch).contains("; "),
                "{words}: {}",
                fault(words, Unit::Inch)
            );
        }
        assert!(fault("52 inchs", Unit::Inch).contains("did you mean `inch"));
        assert!(fault(&"1".repeat(65), Unit::Inch).contains("65 characters"));
    }

    #[test]
    fn the_graduation_is_the_finest_step_shown() {
        let graduation = |words, bare| {
            let reading = read_tape(words, bare).unwrap();
            reading.graduation
        };
        let inches = |words| 1.0 / graduation(words, Unit::Inch).inches();
        assert!((inches("52 1/4") - 4.0).abs() < 1e-9);
        assert!((inches("52 4/16") - 16.0).abs() < 1e-9);
        assert!((inches("52") - 1.0).abs() < 1e-9);
        assert!((inches("4'") - 1.0).abs() < 1e-9);
        assert!((inches("52.5") - 2.0).abs() < 1e-9);
        assert!((inches("52.75") - 4.0).abs() < 1e-9);
        assert!((inches("52.375") - 8.0).abs() < 1e-9);
        assert!((inches("52.3") - 10.0).abs() < 1e-9);
        for (words, mm) in
            [("1327", 1.0), ("1327.5", 0.1), ("132.7 cm", 1.0), ("1.3 m", 10.0), ("1.327 m", 1.0)]
        {
            assert!((graduation(words, Unit::Millimetre).mm() - mm).abs() < 1e-9, "{words}");
        }
        let stated = read_tape("52", Unit::Inch).unwrap().on_tape_of(Length::from_inches(0.125));
        assert_eq!(stated.graduation, Length::from_inches(0.125));
        assert!(from_number(52.300000000000004, Unit::Inch).unwrap().graduation.mm() >= 0.1);
    }

    #[test]
    fn numbers_in_files_have_one_meaning() {
        let reading = from_number(1.327, Unit::Millimetre).unwrap();
        assert_eq!((reading.length.mm(), reading.words.as_str()), (1.327, "1.327"));
        assert_eq!(from_number(-0.0, Unit::Inch).unwrap().words, "0");
    }

    #[test]
    fn lengths_are_shown_in_the_owners_unit() {
        let inch = |n: f64, d: f64| {
            let (length, step) = (Length::from_inches(n), Length::from_inches(1.0 / d));
            (show(length, Unit::Inch, step), typeset(length, Unit::Inch, step))
        };
        assert_eq!(inch(52.25, 16.0), ("52 1/4 in".into(), "52¼\u{a0}in".into()));
        assert_eq!(inch(52.3125, 16.0), ("52 5/16 in".into(), "52⁵⁄₁₆\u{a0}in".into()));
        assert_eq!(inch(52.3, 8.0).0, "52 1/4 in");
        assert_eq!(inch(-0.25, 4.0), ("-1/4 in".into(), "−¼\u{a0}in".into()));
        assert_eq!(inch(-0.01, 4.0).0, "0 in");
        assert_eq!(inch(51.99, 4.0).0, "52 in");
        assert_eq!(inch(52.1, 10.0).0, "52.1 in");
        let metric = |mm, unit, step| show(Length::from_mm(mm), unit, Length::from_mm(step));
        assert_eq!(metric(1327.2, Unit::Millimetre, 1.0), "1327 mm");
        assert_eq!(metric(1327.2, Unit::Centimetre, 1.0), "132.7 cm");
        assert_eq!(metric(1327.3, Unit::Millimetre, 0.5), "1327.5 mm");
        assert_eq!(metric(1327.15, Unit::Inch, 1.0), "52 1/4 in");
    }

    proptest! {
        #[test]
        fn what_is_shown_reads_back(
            steps in -9000i32..9000, halvings in 0i32..=6, metric in 0usize..5, in_inches: bool,
        ) {
            let (unit, length, graduation) = if in_inches {
                let step = 2f64.powi(-halvings);
                let inches = f64::from(steps) * step;
                prop_assume!(inches.abs() < 393.0);
                (Unit::Inch, Length::from_inches(inches), Length::from_inches(step))
            } else {
                let (unit, per_mm) = [
                    (Unit::Millimetre, 1.0),
                    (Unit::Millimetre, 2.0),
                    (Unit::Millimetre, 10.0),
                    (Unit::Centimetre, 1.0),
                    (Unit::Centimetre, 2.0),
                ][metric];
                let length = Length::from_mm(f64::from(steps) / per_mm);
                (unit, length, Length::from_mm(1.0 / per_mm))
            };
            for words in [show(length, unit, graduation), typeset(length, unit, graduation)] {
                let reading = read_tape(&words, Unit::Millimetre);
                let reading = reading.map_err(|e| TestCaseError::fail(e.to_string()))?;
                prop_assert_eq!(reading.unit, unit);
                prop_assert!((reading.length - length).abs().mm() < 1e-9, "{}", words);
                prop_assert_eq!(show(reading.length, unit, graduation), show(length, unit, graduation));
            }
        }

        #[test]
        fn no_words_break_the_reader(words in "\\PC{0,70}") {
            for &unit in Unit::ALL {
                let _ = read_tape(&words, unit).map_err(|e| e.to_string());
            }
        }

        #[test]
        fn no_mix_of_known_parts_breaks_the_reader(
            parts in prop::collection::vec(
                prop::sample::select(vec![
                    "1", "52", "327", "000", "0", ",", ".", " ", "/", "-", "'", "\"", "¼", "³", "⁄",
                    "₈", "⅟", "in", "ft", "mm", "cm", "m", "and", "~", "99999999999999999999",
                ]),
                0..12,
            ),
        ) {
            for &unit in Unit::ALL {
                let words = parts.concat();
                if let Ok(reading) = read_tape(&words, unit) {
                    prop_assert!(reading.length.mm().abs() <= 10_000.0);
                    prop_assert!(reading.graduation.mm() >= 0.1);
                    prop_assert_eq!(reading.words, words.trim());
                }
            }
        }

        #[test]
        fn a_number_reads_the_same_as_its_words(steps in -4000i32..4000) {
            let number = f64::from(steps) / 16.0;
            let words = read_tape(&number.to_string(), Unit::Inch);
            prop_assert_eq!(from_number(number, Unit::Inch), words);
        }
    }
}
