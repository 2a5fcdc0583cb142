//! Unit expressions: symbols with exponents, multiplied and divided.
//!
//! Factors: NIST Special Publication 811 (2008), Appendix B.8; those of inch, foot, pound and the International Table
//! BTU are exact by definition.

/// International inch, m.
pub(super) const INCH: f64 = 0.0254;
/// International foot, m.
pub(super) const FOOT: f64 = 0.3048;
/// Avoirdupois pound, kg.
pub(super) const POUND: f64 = 0.453_592_37;
/// US gallon (231 cubic inches), m3.
pub(super) const GALLON: f64 = 231.0 * INCH * INCH * INCH;
/// International Table British thermal unit, J.
pub(super) const BTU: f64 = 1055.055_852_62;
/// Degree Fahrenheit as an interval, K.
pub(super) const FAHRENHEIT: f64 = 5.0 / 9.0;
/// Area of a circle one mil across, m2.
pub(super) const CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * (1e-3 * INCH) * (1e-3 * INCH);
/// Minute, s.
pub(super) const MINUTE: f64 = 60.0;
/// Hour, s.
pub(super) const HOUR: f64 = 3600.0;

/// Exponents of m, kg, s, K.
type Exponents = [i32; 4];

const LENGTH: Exponents = [1, 0, 0, 0];
const AREA: Exponents = [2, 0, 0, 0];
const VOLUME: Exponents = [3, 0, 0, 0];
const MASS: Exponents = [0, 1, 0, 0];
const TIME: Exponents = [0, 0, 1, 0];
const TEMPERATURE: Exponents = [0, 0, 0, 1];
const SPEED: Exponents = [1, 0, -1, 0];
const FLOW: Exponents = [3, 0, -1, 0];
const ENERGY: Exponents = [2, 1, -2, 0];
const POWER: Exponents = [2, 1, -3, 0];

/// Symbol, factor to SI, exponents, whether it takes an SI prefix.
const UNITS: [(&str, f64, Exponents, bool); 44] = [
    ("m", 1.0, LENGTH, true),
    ("in", INCH, LENGTH, false),
    ("inch", INCH, LENGTH, false),
    ("mil", 1e-3 * INCH, LENGTH, false),
    ("mils", 1e-3 * INCH, LENGTH, false),
    ("thou", 1e-3 * INCH, LENGTH, false),
    ("ft", FOOT, LENGTH, false),
    ("yd", 3.0 * FOOT, LENGTH, false),
    ("cmil", CIRCULAR_MIL, AREA, false),
    ("kcmil", 1e3 * CIRCULAR_MIL, AREA, false),
    ("MCM", 1e3 * CIRCULAR_MIL, AREA, false),
    ("L", 1e-3, VOLUME, true),
    ("l", 1e-3, VOLUME, true),
    ("gal", GALLON, VOLUME, false),
    ("g", 1e-3, MASS, true),
    ("t", 1e3, MASS, false),
    ("lb", POUND, MASS, false),
    ("lbs", POUND, MASS, false),
    ("lbm", POUND, MASS, false),
    ("s", 1.0, TIME, true),
    ("sec", 1.0, TIME, false),
    ("min", MINUTE, TIME, false),
    ("h", HOUR, TIME, false),
    ("hr", HOUR, TIME, false),
    ("K", 1.0, TEMPERATURE, true),
    ("degC", 1.0, TEMPERATURE, false),
    ("C", 1.0, TEMPERATURE, false),
    ("degF", FAHRENHEIT, TEMPERATURE, false),
    ("F", FAHRENHEIT, TEMPERATURE, false),
    ("degR", FAHRENHEIT, TEMPERATURE, false),
    ("J", 1.0, ENERGY, true),
    ("Wh", HOUR, ENERGY, true),
    ("BTU", BTU, ENERGY, false),
    ("Btu", BTU, ENERGY, false),
    ("btu", BTU, ENERGY, false),
    ("W", 1.0, POWER, true),
    ("BTUH", BTU / HOUR, POWER, false),
    ("fpm", FOOT / MINUTE, SPEED, false),
    ("lpm", 1e-3 / MINUTE, FLOW, false),
    ("LPM", 1e-3 / MINUTE, FLOW, false),
    ("gpm", GALLON / MINUTE, FLOW, false),
    ("GPM", GALLON / MINUTE, FLOW, false),
    ("cfm", FOOT * FOOT * FOOT / MINUTE, FLOW, false),
    ("CFM", FOOT * FOOT * FOOT / MINUTE, FLOW, false),
];

/// SI prefixes that occur in the trade.
const PREFIXES: [(char, f64); 7] =
    [('G', 1e9), ('M', 1e6), ('k', 1e3), ('d', 1e-1), ('c', 1e-2), ('m', 1e-3), ('u', 1e-6)];

/// Spellings and the one that is read; applied in this order.
const SPELLINGS: [(&str, &str); 28] = [
    ("\u{a0}", " "),
    ("\u{202f}", " "),
    ("\u{2212}", "-"),
    ("\u{207b}", "-"),
    ("\u{b9}", "1"),
    ("\u{b2}", "2"),
    ("\u{b3}", "3"),
    ("\u{b5}", "u"),
    ("\u{3bc}", "u"),
    ("\u{b7}", "*"),
    ("\u{22c5}", "*"),
    ("\u{d7}", "*"),
    ("\u{2103}", "degC"),
    ("\u{2109}", "degF"),
    ("\u{b0}", "deg"),
    ("\u{394}", "delta"),
    ("\u{2206}", "delta"),
    ("deg C", "degC"),
    ("deg F", "degF"),
    ("deg K", "K"),
    ("degK", "K"),
    ("delta deg", "deltadeg"),
    ("deltadeg", "delta deg"),
    ("delta F", "delta degF"),
    ("delta C", "delta degC"),
    ("sq mm", "mm2"),
    ("sqmm", "mm2"),
    ("sq in", "in2"),
];

/// The text in the one spelling that the readers know.
pub(super) fn normal(text: &str) -> String {
    let mut text = text.trim().to_string();
    for (written, read) in SPELLINGS {
        if text.contains(written) {
            text = text.replace(written, read);
        }
    }
    text
}

/// Longest unit that is read, in bytes.
const LONGEST: usize = 60;

/// Factor to SI and exponents of a unit expression; none if it is not understood.
///
/// Symbols follow one another with blank, `*` or `-` between them; an exponent follows its symbol, with or without `^`;
/// everything after a slash divides, up to the end of the parentheses that it stands in.
pub(super) fn read(unit: &str) -> Option<(f64, Exponents)> {
    if unit.len() > LONGEST {
        return None;
    }
    let mut factor = 1.0;
    let mut exponents = [0; 4];
    let mut rest = unit.trim();
    // +1 multiplies, -1 divides; one entry for each open parenthesis.
    let mut outer: Vec<i32> = Vec::new();
    let (mut base, mut sign) = (1, 1);
    let mut symbols = 0;
    while let Some(first) = rest.chars().next() {
        let after = &rest[first.len_utf8()..];
        rest = match first {
            ' ' | '*' | '-' => after,
            '/' => {
                sign = -base;
                after
            }
            '(' => {
                outer.push(base);
                outer.push(sign);
                base = sign;
                after
            }
            ')' => {
                sign = outer.pop()?;
                base = outer.pop()?;
                after
            }
            _ => {
                let letters = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
                let (symbol, tail) = rest.split_at(letters);
                let (power, tail) = exponent(tail);
                let (symbol_factor, symbol_exponents) = symbol_of(symbol, sign < 0)?;
                factor *= libm::pow(symbol_factor, f64::from(sign * power));
                for (sum, one) in exponents.iter_mut().zip(symbol_exponents) {
                    *sum += sign * power * one;
                }
                symbols += 1;
                tail
            }
        };
    }
    (symbols > 0 && outer.is_empty()).then_some((factor, exponents))
}

/// The exponent at the start of the text (1 where there is none) and what follows it.
fn exponent(text: &str) -> (i32, &str) {
    let tail = text.strip_prefix('^').unwrap_or(text);
    let (sign, tail) = match tail.strip_prefix('-') {
        Some(tail) => (-1, tail),
        None => (1, tail),
    };
    match tail.chars().next().and_then(|c| c.to_digit(10)) {
        Some(digit) => (sign * digit as i32, &tail[1..]),
        None => (1, text),
    }
}

/// A symbol, or two written without a blank: `kgK`; below a slash `mK` is a metre kelvin.
fn symbol_of(symbol: &str, divides: bool) -> Option<(f64, Exponents)> {
    let whole = if divides && symbol == "mK" { None } else { one_symbol(symbol) };
    whole.or_else(|| {
        symbol.char_indices().skip(1).find_map(|(at, _)| {
            let (first, second) = symbol.split_at(at);
            let ((a, left), (b, right)) = (one_symbol(first)?, one_symbol(second)?);
            Some((a * b, std::array::from_fn(|i| left[i] + right[i])))
        })
    })
}

/// A symbol of the table, with an SI prefix where it takes one.
fn one_symbol(symbol: &str) -> Option<(f64, Exponents)> {
    let find = |name: &str| UNITS.iter().find(|unit| unit.0 == name);
    if let Some((_, factor, exponents, _)) = find(symbol) {
        return Some((*factor, *exponents));
    }
    let first = symbol.chars().next()?;
    let (_, prefix) = PREFIXES.iter().find(|(prefix, _)| *prefix == first)?;
    let (_, factor, exponents, _) = find(&symbol[first.len_utf8()..]).filter(|unit| unit.3)?;
    Some((prefix * factor, *exponents))
}
