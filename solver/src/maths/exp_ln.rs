//! Logarithm and exponential of every lane, of operations that IEEE 754 fixes: the same bits on every path.

use std::f64::consts::{LN_2, LOG2_E, SQRT_2};

use crate::maths::vector::{Row, Vector};

/// ln 2 in two parts: the first has so few digits that its product with a whole number is exact.
const LN_2_HIGH: f64 = f64::from_bits(LN_2.to_bits() & (u64::MAX << 32));
const LN_2_LOW: f64 = 4.749_325_039_031_672_6e-7;
/// Added to a number below 2^51 it leaves the nearest whole number in the last bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
const MANTISSA: u32 = 52;
const BIAS: u64 = 1023 << MANTISSA;

/// ln x of positive normal numbers, within 1e-15 of the larger of 1 and its size; near x = 1 relative to ln x.
///
/// x = 2^e m with m from sqrt(1/2) to sqrt 2, and ln m = 2 artanh s = 2 (s + s^3/3 + s^5/5 + ...), s = (m - 1)/(m + 1): with
/// s^2 below 0.0295 what is left out is below 1e-17.
#[inline(always)]
pub fn ln<V: Vector>(x: V) -> V {
    let (mut exponents, mut mantissas) = (V::Row::all(0.0), V::Row::all(0.0));
    x.store(&mut mantissas);
    let low = (0.5 * SQRT_2).to_bits();
    for (exponent, mantissa) in exponents.numbers_mut().iter_mut().zip(mantissas.numbers_mut()) {
        let bits = mantissa.to_bits();
        let biased = bits.wrapping_sub(low).wrapping_add(BIAS) >> MANTISSA;
        *mantissa = f64::from_bits(bits.wrapping_sub(biased << MANTISSA).wrapping_add(BIAS));
        *exponent = f64::from_bits(ROUNDER.to_bits().wrapping_add(biased).wrapping_sub(1023));
    }
    let exponent = V::load(&exponents).sub(V::all(ROUNDER));
    let (m, one) = (V::load(&mantissas), V::all(1.0));
    let s = m.sub(one).div(m.add(one));
    let z = s.mul(s);
    let sum = polynomial(&OVER_ODD, z);
    let twice = s.add(s);
    exponent.mul_add(V::all(LN_2), twice.mul(z).mul_add(sum, twice))
}

/// e^x for x between -700 and 700, within 1e-15 of itself.
///
/// x = k ln 2 + r with |r| up to half of ln 2, and e^r = sum r^n/n! up to n = 13: what is left out is below 1e-17.
#[inline(always)]
pub fn exp<V: Vector>(x: V) -> V {
    let rounded = x.mul_add(V::all(LOG2_E), V::all(ROUNDER));
    let k = rounded.sub(V::all(ROUNDER));
    let r = k.mul_sub_from(V::all(LN_2_LOW), k.mul_sub_from(V::all(LN_2_HIGH), x));
    let sum = polynomial(&OVER_FACTORIAL, r);
    let (mut whole, mut power) = (V::Row::all(0.0), V::Row::all(0.0));
    rounded.store(&mut whole);
    sum.store(&mut power);
    for (power, whole) in power.numbers_mut().iter_mut().zip(whole.numbers()) {
        *power = f64::from_bits(power.to_bits().wrapping_add(whole.to_bits() << MANTISSA));
    }
    V::load(&power)
}

/// Horner's rule for the even powers and for the odd ones, lowest order first, an even number of them: two short chains that
/// wait for their products side by side.
#[inline(always)]
fn polynomial<V: Vector, const N: usize>(coefficients: &[f64; N], x: V) -> V {
    let square = x.mul(x);
    let (mut even, mut odd) = (V::all(coefficients[N - 2]), V::all(coefficients[N - 1]));
    for pair in (0..N / 2 - 1).rev() {
        even = even.mul_add(square, V::all(coefficients[2 * pair]));
        odd = odd.mul_add(square, V::all(coefficients[2 * pair + 1]));
    }
    odd.mul_add(x, even)
}

/// 1/3, 1/5 ... 1/21
const OVER_ODD: [f64; 10] = {
    let mut over = [1.0; 10];
    let mut k = 0;
    while k < 10 {
        over[k] = 1.0 / (2 * k + 3) as f64;
        k += 1;
    }
    over
};

/// 1/n!
const OVER_FACTORIAL: [f64; 14] = {
    let mut over = [1.0; 14];
    let mut factorial = 1.0;
    let mut n = 1;
    while n < 14 {
        factorial *= n as f64;
        over[n] = 1.0 / factorial;
        n += 1;
    }
    over
};

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::vector::{Eight, Plain};

    fn of(function: impl Fn(Plain) -> Plain, x: f64) -> f64 {
        let mut row = Eight::all(x);
        function(Plain::load(&row)).store(&mut row);
        row.0[3]
    }

    #[test]
    fn as_those_of_the_library() {
        for i in 0..20_000 {
            let y = -60.0 + 0.006 * f64::from(i);
            let (found, expected) = (of(exp, y), libm::exp(y));
            assert!((found / expected - 1.0).abs() < 1e-15, "exp {y}: {found} {expected}");
            let (found, expected) = (of(ln, expected), libm::log(expected));
            assert!((found - expected).abs() < 1e-15 * expected.abs().max(1.0), "ln of exp {y}: {found} {expected}");
        }
        // Near 1, where the logarithm vanishes, relative to itself.
        for i in 1..200 {
            let x = 1.0 + 1e-3 * f64::from(i - 100) + 1e-9;
            let (found, expected) = (of(ln, x), libm::log(x));
            assert!((found / expected - 1.0).abs() < 1e-15, "ln {x}: {found} {expected}");
        }
    }
}
