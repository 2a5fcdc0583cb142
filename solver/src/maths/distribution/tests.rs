//! Quantiles against known values, against their own integrals, and at their ends.

#![allow(clippy::unwrap_used)]

use super::*;
use approx::assert_relative_eq;
use proptest::prelude::*;

#[test]
fn normal_quantiles_are_those_of_an_independent_library() {
    // scipy.special.ndtri of SciPy 1.17.1; each of the three ranges and both sides of their joints.
    #[rustfmt::skip]
    let known = [
        (0.25, -0.6744897501960817), (0.001, -3.090232306167813), (1e-20, -9.262340089798409), (0.5, 0.0),
        (0.075, -1.4395314709384563), (0.925, 1.4395314709384563), (0.9999, 3.719016485455709),
    ];
    for (p, z) in known {
        assert_relative_eq!(quantile(p), z, max_relative = 4e-15);
    }
    assert_eq!((quantile(0.0), quantile(1.0)), (f64::NEG_INFINITY, f64::INFINITY));
    assert!(quantile(-0.1).is_nan() && quantile(1.1).is_nan() && quantile(f64::NAN).is_nan());
}

#[test]
fn cumulative_and_quantile_undo_each_other() {
    for step in -600..=600 {
        let z = f64::from(step) * 0.01;
        // Where the share is near one its last digit is worth many of z: compared through the smaller side.
        let side = -z.abs();
        assert_relative_eq!(quantile(cumulative(side)), side, max_relative = 1e-14, epsilon = 1e-15);
    }
}

/// Mean and standard deviation by the midpoint rule over the share.
fn moments(distribution: &Distribution) -> [f64; 2] {
    let n = 200_000;
    let values = || (0..n).map(|i| distribution.quantile((f64::from(i) + 0.5) / f64::from(n)));
    let mean = values().sum::<f64>() / f64::from(n);
    [mean, (values().map(|value| (value - mean) * (value - mean)).sum::<f64>() / f64::from(n)).sqrt()]
}

#[test]
fn moments_are_those_of_the_textbook() {
    let s2 = 1.5_f64.ln().powi(2);
    let all = [
        // A normal distribution cut off at one standard deviation to either side: 1 - 2 phi(1) / (2 Phi(1) - 1).
        (Distribution::normal(10.0, 2.0).unwrap(), 10.0, 2.0),
        (Distribution::normal(10.0, 2.0).unwrap().within([8.0, 12.0]).unwrap(), 10.0, 2.0 * 0.539_560_3),
        // Half a normal distribution: sqrt(2/pi) and sqrt(1 - 2/pi).
        (Distribution::two_sided(1.0, 0.0, 3.0).unwrap(), 1.0 + 3.0 * 0.797_884_6, 3.0 * 0.602_810_3),
        (Distribution::uniform(2.0, 5.0).unwrap(), 3.5, 3.0 / 12_f64.sqrt()),
        // (b - a) / ln(b/a), and (b^2 - a^2) / (2 ln(b/a)) for the square.
        (
            Distribution::log_uniform(0.5, 2.0).unwrap(),
            1.5 / 4_f64.ln(),
            (3.75 / 16_f64.ln() - 2.25 / 4_f64.ln().powi(2)).sqrt(),
        ),
        (Distribution::triangular(0.0, 1.0, 3.0).unwrap(), 4.0 / 3.0, (7.0_f64 / 18.0).sqrt()),
        // exp(s^2/2), and exp(s^2/2) sqrt(exp(s^2) - 1), s = ln 1.5.
        (Distribution::log_normal(1.0, 1.5).unwrap(), (s2 / 2.0).exp(), ((2.0 * s2).exp() - s2.exp()).sqrt()),
    ];
    for (distribution, mean, sd) in all {
        let [found, width] = moments(&distribution);
        // The midpoint rule misses a little of unbounded tails.
        assert_relative_eq!(found, mean, max_relative = 1e-5);
        assert_relative_eq!(width, sd, max_relative = 1e-4);
    }
}

#[test]
fn a_side_of_its_own_width_keeps_the_median() {
    let preheat = Distribution::two_sided(25.0, 10.0, 65.0).unwrap();
    assert_eq!(preheat.quantile(0.5), 25.0);
    assert_relative_eq!(preheat.quantile(cumulative(1.0)), 90.0, max_relative = 1e-14);
    assert_relative_eq!(preheat.quantile(cumulative(-1.0)), 15.0, max_relative = 1e-14);
    // One side only: the median of the half is what the quarter of the whole is.
    let one_sided = Distribution::two_sided(0.0, 0.0, 1.0).unwrap();
    assert_relative_eq!(one_sided.quantile(0.5), quantile(0.75), max_relative = 1e-14);
    assert_eq!(one_sided.quantile(0.0), 0.0);
}

#[test]
fn numbers_that_make_no_distribution_are_refused() {
    use DistributionError::*;
    assert_eq!(Distribution::normal(1.0, 0.0).unwrap_err(), Spread);
    assert_eq!(Distribution::normal(f64::NAN, 1.0).unwrap_err(), NotFinite);
    assert_eq!(Distribution::uniform(2.0, 2.0).unwrap_err(), Order);
    assert_eq!(Distribution::log_uniform(0.0, 2.0).unwrap_err(), Logarithm);
    assert_eq!(Distribution::log_normal(1.0, 1.0).unwrap_err(), Factor);
    assert_eq!(Distribution::triangular(0.0, 4.0, 3.0).unwrap_err(), Mode);
    assert_eq!(Distribution::two_sided(0.0, 0.0, 0.0).unwrap_err(), Spread);
    assert_eq!(Distribution::normal(5.0, 1.0).unwrap().within([0.0, 4.0]).unwrap_err(), Centre);
    assert_eq!(Distribution::log_uniform(1.0, 9.0).unwrap().within([0.0, 4.0]).unwrap_err(), Outside);
    assert!(Distribution::uniform(1.0, 2.0).unwrap().quantile(1.5).is_nan());
}

fn any() -> impl Strategy<Value = Distribution> {
    let [centre, width] = [-50.0..50.0_f64, 0.01..20.0];
    (centre, width, 0.0..1.0_f64, 0..6).prop_map(|(centre, width, share, which)| match which {
        0 => Distribution::normal(centre, width).unwrap(),
        1 => Distribution::uniform(centre, centre + width).unwrap(),
        2 => Distribution::log_uniform(centre.abs() + 0.01, centre.abs() + 0.01 + width).unwrap(),
        3 => Distribution::triangular(centre, centre + share * width, centre + width).unwrap(),
        4 => Distribution::log_normal(centre.abs() + 0.01, 1.0 + share + 0.01).unwrap(),
        _ => Distribution::two_sided(centre, share * width, width).unwrap(),
    })
}

proptest! {
    #[test]
    fn quantiles_rise(distribution in any(), a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let [low, high] = [a.min(b), a.max(b)].map(|p| distribution.quantile(p));
        prop_assert!(low <= high, "{distribution:?}: {low} {high}");
    }

    #[test]
    fn bounds_hold_and_every_cut_keeps_its_share(mean in -2.0..2.0_f64, sd in 0.05..30.0_f64, p in 0.0..=1.0_f64) {
        let cut = Distribution::normal(mean, sd).unwrap().within([-2.0, 2.0]).unwrap();
        let value = cut.quantile(p);
        prop_assert!((-2.0..=2.0).contains(&value));
        let share = |x: f64| cumulative((x - mean) / sd);
        let found = (share(value) - share(-2.0)) / (share(2.0) - share(-2.0));
        prop_assert!((found - p).abs() < 1e-12, "{found} for {p}");
    }
}
