//! What makes samples good: known points, nets, integrals, orders, and that nothing depends on the order of asking.

#![allow(clippy::unwrap_used)]

use super::*;
use proptest::prelude::*;

const POINTS: &str = include_str!("../../../../validation/reference/sobol.csv");

#[test]
fn unscrambled_points_are_those_of_an_independent_library() {
    let mut compared = 0;
    for line in POINTS.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let [index, dimension]: [u64; 2] = [0, 1].map(|i| fields[i].parse().unwrap());
        let expected: f64 = fields[2].parse().unwrap();
        let digits = sobol::digits(index, &sobol::column(dimension as usize));
        assert_eq!(digits as f64 / 2.0_f64.powi(64), expected, "point {index}, dimension {dimension}");
        compared += 1;
    }
    assert!(compared > 250, "{compared} coordinates only");
}

/// How many of some points fall into each of so many equal parts of a dimension.
fn parts(points: impl Iterator<Item = f64>, parts: usize) -> Vec<usize> {
    let mut counts = vec![0; parts];
    points.for_each(|x| counts[(x * parts as f64) as usize] += 1);
    counts
}

#[test]
fn every_dimension_is_a_net_before_and_after_scrambling() {
    for dimension in 0..Sampler::SOBOL_DIMENSIONS {
        let column = sobol::column(dimension);
        // Any 2^m points that begin at a multiple of 2^m: also far beyond 2^32.
        for start in [0, 512, (1 << 33) + 512, (1 << 45) + (1 << 20)] {
            let raw = (start..start + 512).map(|index| unit(sobol::digits(index, &column)));
            assert!(parts(raw, 512).iter().all(|&count| count == 1), "dimension {dimension} from {start}");
            let key = key(3, 0, dimension as u64);
            let scrambled = (start..start + 512).map(|i| unit(sobol::scrambled(sobol::digits(i, &column), key)));
            assert!(parts(scrambled, 512).iter().all(|&count| count == 1), "scrambled {dimension} from {start}");
        }
    }
}

#[test]
fn the_first_two_dimensions_are_a_net_together() {
    // A (0, 2)-sequence: 256 points leave no box of 2^-a by 2^-(8 - a) empty, whatever a; scrambling keeps that.
    let sampler = Sampler::new(Method::Sobol, 9, 256, 2).unwrap();
    for a in 0..=8 {
        let [wide, high] = [1 << a, 1 << (8 - a)];
        let mut held = vec![0; 256];
        for point in (0..256).map(|index| sampler.point(index)) {
            held[(point[0] * wide as f64) as usize * high + (point[1] * high as f64) as usize] += 1;
        }
        assert!(held.iter().all(|&count| count == 1), "boxes of 1/{wide} by 1/{high}");
    }
}

/// Largest error over some seeds of the mean of g(x) = product of (1 + (12 x_j - 6) / (j + 2)^2), which is 1.
fn error(method: Method, count: u64, dimensions: usize) -> f64 {
    let of = |seed| {
        let sampler = Sampler::new(method, seed, count, dimensions).unwrap();
        let weight = |j: usize, x: f64| 1.0 + (12.0 * x - 6.0) / ((j + 2) * (j + 2)) as f64;
        let g = |index| sampler.point(index).iter().enumerate().map(|(j, &x)| weight(j, x)).product::<f64>();
        ((0..count).map(g).sum::<f64>() / count as f64 - 1.0).abs()
    };
    (0..8).map(of).fold(0.0, f64::max)
}

#[test]
fn even_samples_integrate_better_than_random_ones() {
    // Variance of g: product of (1 + 12 / (j + 2)^4) - 1, about 1.1; random samples err by 3 standard errors at most here.
    let random = error(Method::Random, 4096, 20);
    assert!((5e-3..0.05).contains(&random), "{random}");
    // Scrambled nets of smooth functions: the root mean square falls faster than 1/N; a Latin hypercube takes out what is
    // additive.
    let sobol = error(Method::Sobol, 4096, 20);
    assert!(sobol < random / 20.0, "{sobol} against {random}");
    let latin = error(Method::LatinHypercube, 4096, 20);
    assert!(latin < random / 1.5, "{latin} against {random}");
    let larger = error(Method::Sobol, 16384, 20);
    assert!(larger < sobol / 3.0, "{larger} with four times the samples of {sobol}");
}

#[test]
fn a_latin_hypercube_has_one_sample_in_every_part() {
    for count in [1, 2, 3, 10, 100, 1023] {
        let sampler = Sampler::new(Method::LatinHypercube, 4, count, 5).unwrap();
        for dimension in 0..5 {
            let points = (0..count).map(|index| sampler.coordinate(index, dimension));
            assert!(parts(points, count as usize).iter().all(|&held| held == 1), "{count} samples");
        }
    }
}

#[test]
fn dimensions_are_uncorrelated() {
    for method in Method::ALL {
        let sampler = Sampler::new(method, 11, 4096, 24).unwrap();
        let points: Vec<Vec<f64>> = (0..4096).map(|index| sampler.point(index)).collect();
        for (a, b) in (0..24).flat_map(|a| (0..a).map(move |b| (a, b))) {
            let product: f64 = points.iter().map(|p| 12.0 * (p[a] - 0.5) * (p[b] - 0.5)).sum();
            // Standard error 1/64 for independent samples; the largest of 276 stays below 4.5 of them.
            assert!((product / 4096.0).abs() < 4.5 / 64.0, "{method:?}: dimensions {a} and {b}: {}", product / 4096.0);
        }
    }
}

#[test]
fn seeds_change_the_samples_and_nothing_else_does() {
    for method in Method::ALL {
        let of = |seed| Sampler::new(method, seed, 64, 4).unwrap();
        assert_eq!(of(1).point(9), of(1).point(9));
        assert_ne!(of(1).point(9), of(2).point(9));
        let all: Vec<f64> = of(1).point(9);
        assert!(all.iter().enumerate().all(|(j, &x)| of(1).coordinate(9, j) == x));
        assert_ne!(all[0], all[1]);
    }
}

#[test]
fn what_cannot_be_laid_out_is_refused() {
    let refused = Sampler::new(Method::Sobol, 1, 8, 257).unwrap_err();
    assert!(refused.to_string().contains("257 dimensions") && refused.to_string().contains("has 256"), "{refused}");
    assert!(Sampler::new(Method::Random, 1, 8, 257).is_ok());
    assert_eq!(Sampler::new(Method::Random, 1, 0, 1).unwrap_err(), SampleError::Count { count: 0 });
    assert!(Sampler::new(Method::Sobol, 1, u64::MAX, 1).is_err());
    assert!(Sampler::new(Method::Sobol, 1, 8, 2).unwrap().coordinate(0, 2).is_nan());
}

#[test]
fn digits_are_flipped_independently() {
    // Of 4096 keys half flip a digit, half flip two digits alike: 2048 +- 32, and the largest of some 1400 counts stays below
    // 4.5 standard deviations.
    let flips: Vec<u64> = (0..4096).map(|seed| sobol::scrambled(0, key(seed, 0, 0)) >> 12).collect();
    for (a, b) in (0..52).flat_map(|a| (0..=a).map(move |b| (a, b))) {
        let alike = flips.iter().filter(|&flips| (flips >> a ^ if a == b { 0 } else { flips >> b }) & 1 == 1).count();
        assert!(alike.abs_diff(2048) < 144, "digits {a} and {b}: {alike}");
    }
}

proptest! {
    #[test]
    fn coordinates_stay_inside(seed: u64, index in 0..Sampler::MOST_SAMPLES, count in 1..Sampler::MOST_SAMPLES) {
        for method in Method::ALL {
            let x = Sampler::new(method, seed, count, 3).unwrap().coordinate(index % count, 2);
            prop_assert!(x > 0.0 && x < 1.0, "{method:?}: {x}");
        }
    }

    #[test]
    fn scrambling_is_nested(seed: u64, a: u64, b: u64) {
        // Points that agree in their first digits agree in as many after scrambling, and in no more.
        let [a, b] = [a, b].map(|digits| digits >> 12 << 12);
        let agree = |a: u64, b: u64| (a ^ b).leading_zeros();
        prop_assert_eq!(agree(a, b), agree(sobol::scrambled(a, seed), sobol::scrambled(b, seed)));
    }
}
