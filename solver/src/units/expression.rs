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
pub(super) const BTU: f64 = 1_055.055_852_62;
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

/// How many SI units a unit is: `times / over * 10^tens`. Kept apart so that 1.78 mm is 1.78/1000, rounded once.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    times: f64,
    over: f64,
    tens: i32,
}

impl Scale {
    /// `times` SI units.
    pub(super) const fn times(times: f64) -> Scale {
        Scale { times, over: 1.0, tens: 0 }
    }

    /// One SI unit in `over`.
    pub(super) const fn over(over: f64) -> Scale {
        Scale { times: 1.0, over, tens: 0 }
    }

    /// A power of ten of SI units.
    pub(super) const fn tens(tens: i32) -> Scale {
        Scale { times: 1.0, over: 1.0, tens }
    }

    /// The same with a further power of ten.
    pub(super) const fn shifted(self, tens: i32) -> Scale {
        Scale { tens: self.tens + tens, ..self }
    }

    /// The product of two.
    fn with(self, other: Scale) -> Scale {
        Scale { times: self.times * other.times, over: self.over * other.over, tens: self.tens + other.tens }
    }

    /// A power of it.
    fn to_the(self, power: i32) -> Scale {
        let (times, over) = if power < 0 { (self.over, self.times) } else { (self.times, self.over) };
        let power_of = |base: f64| libm::pow(base, f64::from(power.abs()));
        Scale { times: power_of(times), over: power_of(over), tens: self.tens * power }
    }

    /// A number of this unit in SI.
    pub(super) fn to_si(self, number: f64) -> f64 {
        shift(number * self.times / self.over, self.tens)
    }

    /// An SI value in this unit.
    pub(super) fn of_si(self, value: f64) -> f64 {
        shift(value * self.over / self.times, -self.tens)
    }
}

/// value * 10^tens; powers of ten are exact up to 10^22, their inverses are not.
fn shift(value: f64, tens: i32) -> f64 {
    let power = libm::pow(10.0, f64::from(tens.abs()));
    if tens < 0 { value / power } else { value * power }
}

const BTU_PER_HOUR: Scale = Scale { times: BTU, over: HOUR, tens: 0 };
const FOOT_PER_MINUTE: Scale = Scale { times: FOOT, over: MINUTE, tens: 0 };
const CUBIC_FOOT_PER_MINUTE: Scale = Scale { times: FOOT * FOOT * FOOT, over: MINUTE, tens: 0 };
const GALLON_PER_MINUTE: Scale = Scale { times: GALLON, over: MINUTE, tens: 0 };
const LITRE_PER_MINUTE: Scale = Scale { times: 1.0, over: MINUTE, tens: -3 };

/// Symbol, scale, exponents, whether it takes an SI prefix.
const UNITS: [(&str, Scale, Exponents, bool); 44] = [
    ("m", Scale::times(1.0), LENGTH, true),
    ("in", Scale::times(INCH), LENGTH, false),
    ("inch", Scale::times(INCH), LENGTH, false),
    ("mil", Scale::times(INCH).shifted(-3), LENGTH, false),
    ("mils", Scale::times(INCH).shifted(-3), LENGTH, false),
    ("thou", Scale::times(INCH).shifted(-3), LENGTH, false),
    ("ft", Scale::times(FOOT), LENGTH, false),
    ("yd", Scale::times(3.0 * FOOT), LENGTH, false),
    ("cmil", Scale::times(CIRCULAR_MIL), AREA, false),
    ("kcmil", Scale::times(CIRCULAR_MIL).shifted(3), AREA, false),
    ("MCM", Scale::times(CIRCULAR_MIL).shifted(3), AREA, false),
    ("L", Scale::tens(-3), VOLUME, true),
    ("l", Scale::tens(-3), VOLUME, true),
    ("gal", Scale::times(GALLON), VOLUME, false),
    ("g", Scale::tens(-3), MASS, true),
    ("t", Scale::tens(3), MASS, false),
    ("lb", Scale::times(POUND), MASS, false),
    ("lbs", Scale::times(POUND), MASS, false),
    ("lbm", Scale::times(POUND), MASS, false),
    ("s", Scale::times(1.0), TIME, true),
    ("sec", Scale::times(1.0), TIME, false),
    ("min", Scale::times(MINUTE), TIME, false),
    ("h", Scale::times(HOUR), TIME, false),
    ("hr", Scale::times(HOUR), TIME, false),
    ("K", Scale::times(1.0), TEMPERATURE, true),
    ("degC", Scale::times(1.0), TEMPERATURE, false),
    ("C", Scale::times(1.0), TEMPERATURE, false),
    ("degF", Scale::times(FAHRENHEIT), TEMPERATURE, false),
    ("F", Scale::times(FAHRENHEIT), TEMPERATURE, false),
    ("degR", Scale::times(FAHRENHEIT), TEMPERATURE, false),
    ("J", Scale::times(1.0), ENERGY, true),
    ("Wh", Scale::times(HOUR), ENERGY, true),
    ("BTU", Scale::times(BTU), ENERGY, false),
    ("Btu", Scale::times(BTU), ENERGY, false),
    ("btu", Scale::times(BTU), ENERGY, false),
    ("W", Scale::times(1.0), POWER, true),
    ("BTUH", BTU_PER_HOUR, POWER, false),
    ("fpm", FOOT_PER_MINUTE, SPEED, false),
    ("lpm", LITRE_PER_MINUTE, FLOW, false),
    ("LPM", LITRE_PER_MINUTE, FLOW, false),
    ("gpm", GALLON_PER_MINUTE, FLOW, false),
    ("GPM", GALLON_PER_MINUTE, FLOW, false),
    ("cfm", CUBIC_FOOT_PER_MINUTE, FLOW, false),
    ("CFM", CUBIC_FOOT_PER_MINUTE, FLOW, false),
];

/// SI prefixes that occur in the trade, and their powers of ten.
const PREFIXES: [(char, i32); 7] = [('G', 9), ('M', 6), ('k', 3), ('d', -1), ('c', -2), ('m', -3), ('u', -6)];

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

/// Scale and exponents of a unit expression; none if it is not understood.
///
/// Symbols follow one another with blank, `*` or `-` between them; an exponent follows its symbol, with or without `^`;
/// everything after a slash divides, up to the end of the parentheses that it stands in.
pub(super) fn read(unit: &str) -> Option<(Scale, Exponents)> {
    if unit.len() > LONGEST {
        return None;
    }
    let mut scale = Scale::times(1.0);
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
                let (symbol_scale, symbol_exponents) = symbol_of(symbol, sign < 0)?;
                scale = scale.with(symbol_scale.to_the(sign * power));
                for (sum, one) in exponents.iter_mut().zip(symbol_exponents) {
                    *sum += sign * power * one;
                }
                symbols += 1;
                tail
            }
        };
    }
    (symbols > 0 && outer.is_empty()).then_some((scale, exponents))
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
fn symbol_of(symbol: &str, divides: bool) -> Option<(Scale, Exponents)> {
    let whole = if divides && symbol == "mK" { None } else { one_symbol(symbol) };
    whole.or_else(|| {
        symbol.char_indices().skip(1).find_map(|(at, _)| {
            let (first, second) = symbol.split_at(at);
            let ((a, left), (b, right)) = (one_symbol(first)?, one_symbol(second)?);
            Some((a.with(b), std::array::from_fn(|i| left[i] + right[i])))
        })
    })
}

/// A symbol of the table, with an SI prefix where it takes one.
fn one_symbol(symbol: &str) -> Option<(Scale, Exponents)> {
    let find = |name: &str| UNITS.iter().find(|unit| unit.0 == name);
    if let Some((_, scale, exponents, _)) = find(symbol) {
        return Some((*scale, *exponents));
    }
    let first = symbol.chars().next()?;
    let (_, prefix) = PREFIXES.iter().find(|(prefix, _)| *prefix == first)?;
    let (_, scale, exponents, _) = find(&symbol[first.len_utf8()..]).filter(|unit| unit.3)?;
    Some((scale.shifted(*prefix), *exponents))
}
