//! A random order of 0 to count - 1, asked for place by place: nothing is stored.
//!
//! A Feistel network shuffles the numbers of an even count of bits (M. Luby, C. Rackoff, How to construct pseudorandom
//! permutations from pseudorandom functions, SIAM Journal on Computing 17 (1988) 373-386, doi 10.1137/0217022); a result beyond
//! the count is shuffled again until it is inside, which keeps the order one (J. Black, P. Rogaway, Ciphers with arbitrary
//! finite domains, CT-RSA 2002, doi 10.1007/3-540-45760-7_9, their cycle-walking cipher).

use super::hash;

/// Rounds of the network: four make it a good shuffle of large halves, more help where the halves are a few bits.
const ROUNDS: u64 = 8;

/// Where number `index` goes in the order that a key stands for.
pub(super) fn place(index: u64, count: u64, key: u64) -> u64 {
    if index >= count {
        return index;
    }
    let half = (u64::BITS - count.saturating_sub(1).leading_zeros()).div_ceil(2).max(1);
    let mask = (1_u64 << half) - 1;
    let mut number = index;
    loop {
        let [mut left, mut right] = [number >> half, number & mask];
        for round in 0..ROUNDS {
            (left, right) = (right, left ^ (hash::output(key, (round << 32) | right) >> 32 & mask));
        }
        number = (left << half) | right;
        // The walk leaves the count at most three times as often as it stays in, and ends where it began at the latest.
        if number < count {
            return number;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_is_taken_once() {
        for count in (1..70).chain([100, 255, 256, 257, 1000, 4097]) {
            for key in [1, 77] {
                let mut places: Vec<u64> = (0..count).map(|index| place(index, count, key)).collect();
                places.sort_unstable();
                assert!(places.into_iter().eq(0..count), "{count} numbers, key {key}");
            }
        }
    }

    #[test]
    fn places_are_taken_evenly() {
        // Of 2000 orders of 10 numbers each place of the first holds 200 +- 13.4; five standard deviations are 67.
        let mut held = [[0_u32; 10]; 10];
        for key in 0..2000 {
            (0..10).for_each(|index| held[index as usize][place(index, 10, hash::key(key, 0, 0)) as usize] += 1);
        }
        assert!(held.iter().flatten().all(|&times| times.abs_diff(200) < 67), "{held:?}");
    }

    #[test]
    fn large_counts_and_numbers_outside_are_answered() {
        let count = 1_u64 << 52;
        assert!(place(count - 1, count, 5) < count);
        assert!(place(12, u64::MAX, 5) < u64::MAX);
        assert_eq!(place(7, 7, 5), 7);
    }
}
