//! Points of a Sobol' sequence by index, and their scrambling.

use super::hash;
use super::joe_kuo::JOE_KUO;

/// Most dimensions.
pub(super) const DIMENSIONS: usize = JOE_KUO.len();
/// Binary digits of a coordinate, and of an index: 2^52 points before a coordinate comes again.
const DIGITS: usize = 52;

/// The direction numbers of one dimension, each a binary fraction of 64 digits.
pub(super) type Column = [u64; DIGITS];

/// Direction numbers of a dimension below `DIMENSIONS`.
///
/// With the polynomial x^s + a_1 x^(s-1) + ... + 1 and m_1..m_s given, V_k = m_k / 2^k, and beyond s
/// V_k = a_1 V_(k-1) + ... + a_(s-1) V_(k-s+1) + V_(k-s) + V_(k-s) / 2^s, every + without carry.
pub(super) fn column(dimension: usize) -> Column {
    let mut column = [0; DIGITS];
    let (polynomial, first) = JOE_KUO[dimension];
    let degree = first.len();
    for k in 0..DIGITS {
        column[k] = if degree == 0 {
            1 << (63 - k)
        } else if k < degree {
            u64::from(first[k]) << (63 - k)
        } else {
            let last = column[k - degree];
            let inner = (1..degree).filter(|i| polynomial >> (degree - i) & 1 == 1);
            inner.fold(last ^ (last >> degree), |sum, i| sum ^ column[k - i])
        };
    }
    column
}

/// The digits of point `index` in one dimension, in the order of the sequence as published (by Gray code).
pub(super) fn digits(index: u64, column: &Column) -> u64 {
    let mut gray = (index ^ (index >> 1)) & ((1 << DIGITS) - 1);
    let mut sum = 0;
    while gray != 0 {
        sum ^= column[gray.trailing_zeros() as usize];
        gray &= gray - 1;
    }
    sum
}

/// Owen's nested uniform scrambling: a digit is flipped or not, for all points alike that agree in the digits before it.
///
/// A. B. Owen, Randomly permuted (t,m,s)-nets and (t,s)-sequences, in Monte Carlo and Quasi-Monte Carlo Methods in Scientific
/// Computing (1995) 299-317, doi 10.1007/978-1-4612-2552-2_19. The flips are not stored: a hash of the digits before is the coin,
/// the idea of B. Burley, Practical hash-based Owen scrambling, Journal of Computer Graphics Techniques 9 (2020) 1-20; here with
/// one hash a digit, which needs no special hash and has as many digits as a coordinate.
pub(super) fn scrambled(digits: u64, key: u64) -> u64 {
    let mut flips = 0;
    for digit in 0..DIGITS {
        // The leading one tells the same digits of different depth apart.
        let before = (1 << digit) | if digit == 0 { 0 } else { digits >> (64 - digit) };
        flips |= (hash::output(key, before) >> 63) << (63 - digit);
    }
    digits ^ flips
}
