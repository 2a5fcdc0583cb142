//! Random numbers by counter: the same number for the same key and counter, whatever came before.
//!
//! The generator is SplitMix64: G. L. Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA 2014,
//! doi 10.1145/2660193.2660195; its constants are those of the authors' published code, quoted from memory and held by a test
//! against its known first outputs.

const GAMMA: u64 = 0x9e37_79b9_7f4a_7c15;

/// Scatters the bits of a number; every bit of the result depends on every bit of it.
fn mixed(number: u64) -> u64 {
    let number = (number ^ (number >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let number = (number ^ (number >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    number ^ (number >> 31)
}

/// Output `counter`, from 0, of the generator that starts at `key`.
pub(crate) fn output(key: u64, counter: u64) -> u64 {
    mixed(key.wrapping_add(counter.wrapping_add(1).wrapping_mul(GAMMA)))
}

/// A key of its own for one use of a seed: what for, and which of several.
pub(crate) fn key(seed: u64, purpose: u64, which: u64) -> u64 {
    // Twice mixed, so that keys of neighbours are no neighbours: generators started at neighbours would run beside each other.
    output(output(seed, purpose), which)
}

/// A number above 0 and below 1 from the first 52 bits: the middle of one of 2^52 equal parts.
pub(crate) fn unit(bits: u64) -> f64 {
    ((bits >> 12) as f64 + 0.5) * f64::from_bits((1023 - 52) << 52)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_generator_gives_its_known_outputs() {
        // First outputs for the seed 0 of the authors' published code (from memory; the same in other implementations).
        let known = [0xe220_a839_7b1d_cdaf, 0x6e78_9e6a_a1b9_65f4, 0x06c4_5d18_8009_454f];
        assert_eq!([0, 1, 2].map(|counter| output(0, counter)), known);
    }

    #[test]
    fn units_stay_inside() {
        assert_eq!(unit(0), 0.5_f64.powi(53));
        assert_eq!(unit(u64::MAX), 1.0 - 0.5_f64.powi(53));
        assert_eq!(unit(1 << 63), 0.5 + 0.5_f64.powi(53));
    }
}
