//! Water that does not touch all round: what its keys leave as it is, and what is refused.

use crate::case::Case;
use crate::case::error::Error;
use crate::march::march_by_rule;

fn numbers(case: &Case) -> Vec<u64> {
    let solution = march_by_rule(case).unwrap();
    let points =
        solution.stations.iter().map(|station| &station.point).chain(solution.sections.iter().map(|s| &s.exit));
    points.flat_map(|point| point.temperatures()).map(f64::to_bits).collect()
}

/// What is all round by its key is all round, to the last bit; one that turns has the mean film.
#[test]
fn all_round_by_its_key_is_all_round_to_the_last_bit() {
    let text = include_str!("../../../cases/house-wire.toml");
    let with = |keys: &str| {
        let text = text.replace("medium = \"water\"", &format!("medium = \"water\"\n{keys}"));
        crate::file::read(&text).unwrap()
    };
    let plain = numbers(&with(""));
    for keys in ["wetted = 1", "one_sided = 1", "one_sided = 4\nturning = true", "poured = false", "turning = true"] {
        assert_eq!(numbers(&with(keys)), plain, "{keys}");
    }
    assert_ne!(numbers(&with("one_sided = 1.01")), plain);
    // Half wet and turning: the mean of a film and of none to speak of.
    let half =
        march_by_rule(&with("film = \"3000 W/(m2 K)\"\nwetted = 0.5\ndry_film = \"10 W/(m2 K)\"\nturning = true"));
    let mean = march_by_rule(&with("film = \"1505 W/(m2 K)\""));
    let [half, mean] = [half.unwrap(), mean.unwrap()].map(|solution| solution.stations[2].point.core);
    // One is solved with the slopes of a given film, the other with differences of it.
    assert!((half - mean).abs() < 1e-3, "{half} {mean}");
}

/// A flat product has no circumference; the reader says so, and the march where a case was made by hand.
#[test]
fn a_flat_product_is_refused() {
    let mut flat = crate::file::read(include_str!("../../../cases/flat-slab.toml")).unwrap();
    flat.sections[0].wetting.pattern = crate::film::Pattern::Part(0.5);
    assert!(matches!(march_by_rule(&flat), Err(Error::Unphysical { reason, .. }) if reason.contains("circumference")));
}
