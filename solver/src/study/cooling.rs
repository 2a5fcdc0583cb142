//! What limits the cooling, film or plastic: what a doubled film is worth in trough.
//!
//! Of the temperature that decides, T as it is, T_2 with every film in water doubled and T_L with all water a tenth longer:
//! E = 0.1 (T - T_2)/(T - T_L) of the trough is what doubling the film is worth, and 2 E/(1 + E) is the film's share of the
//! resistance: halving a part r of it is worth r/2 of what is left, (1 - r/2) (1 + E) = 1.

use crate::case::error::Error;
use crate::case::warning::Warning;
use crate::case::{Case, CaseFile, Quantity};
use crate::march::march_by_rule;
use crate::march::solution::{Cooling, Doubled, LimitedBy, Solution};
use crate::names::key_path::KeyPath;
use crate::study::band::usual::{Input, inputs};
use crate::units::words::key;

/// How much longer the water is tried.
const LONGER: f64 = 0.1;
/// What changes a temperature by less, K, does not change it.
const NOTHING: f64 = 0.05;
/// Shares of the film up to which it is the plastic, mostly the plastic, and both.
const SHARES: [f64; 3] = [0.10, 0.35, 0.65];

/// Share of the film from which it matters that nobody measured the law of a product in water.
const UNMEASURED: f64 = 0.2;

/// Tells a solution what limits its cooling; nothing where the line has no answer with a doubled film or with more water.
///
/// `doubt`: with the films at the ends of their bands, too.
pub fn add_cooling(case: &CaseFile, solution: &mut Solution, doubt: bool) {
    solution.cooling = march_by_rule(case).ok().and_then(|base| cooling(case, &base, doubt).ok());
    let share = solution.cooling.as_ref().and_then(|cooling| cooling.now.film_share);
    if let Some(share) = share.filter(|share| *share > UNMEASURED) {
        let unmeasured = solution.warnings.iter().filter_map(|warning| match warning {
            Warning::FilmEstimated { section, means: Some(_), .. } => {
                Some(Warning::FilmLawUnmeasured { section: section.clone(), share })
            }
            _ => None,
        });
        let unmeasured: Vec<Warning> = unmeasured.collect();
        solution.warnings.extend(unmeasured);
    }
}

/// What limits the cooling of a case whose solution by the rule is `base`.
///
/// ```
/// let mut case = quenchway::file::read(quenchway::file::EXAMPLE).unwrap();
/// case.sections[1].film = quenchway::film::Film::Given(3000.0);
/// let base = quenchway::march::march_by_rule(&case).unwrap();
/// let cooling = quenchway::study::cooling::cooling(&case, &base, false).unwrap();
/// assert_eq!(cooling.temperature, "capstan.core");
/// // A film of 3000 W/(m2 K) on 0.8 mm of PVC: the plastic's, mostly.
/// assert!(cooling.now.worth.unwrap() > 0.02 && cooling.now.worth.unwrap() < 0.15);
/// ```
///
/// # Errors
///
/// The line has no answer with a doubled film or with more water.
pub fn cooling(case: &CaseFile, base: &Solution, doubt: bool) -> Result<Cooling, Error> {
    let target = Target::of(case, base);
    let now = doubled(case, base, &target)?;
    let low = if doubt { at_the_low_end(case, &target, now) } else { None };
    Ok(Cooling { temperature: target.name, now, low })
}

/// The temperature that decides.
struct Target {
    name: String,
    /// Index of its station; none: the end of the line.
    station: Option<usize>,
    quantity: Quantity,
}

impl Target {
    /// That of the limit with the least margin; without limits the core at the last station, or at the end of the line.
    fn of(case: &Case, base: &Solution) -> Target {
        let limits = case.stations.iter().enumerate().flat_map(|(index, station)| {
            let point = base.stations.get(index).map(|report| &report.point);
            station.limits.iter().filter_map(move |limit| {
                let quantity = limit.quantity.judged(case);
                Some((limit.max.0 - point?.quantity(quantity), index, quantity))
            })
        });
        let deciding = limits.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, station, quantity)| (station, quantity));
        let last = case.stations.len().checked_sub(1).map(|station| (station, Quantity::Core));
        match deciding.or(last) {
            Some((station, quantity)) => {
                let name = format!("{}.{}", key(&case.stations[station].name), quantity.name(case));
                Target { name, station: Some(station), quantity }
            }
            None => Target { name: "line.core".to_string(), station: None, quantity: Quantity::Core },
        }
    }

    fn in_solution(&self, solution: &Solution) -> f64 {
        let point = match self.station {
            Some(station) => solution.stations.get(station).map(|report| &report.point),
            None => solution.sections.last().map(|report| &report.exit),
        };
        point.map_or(f64::NAN, |point| point.quantity(self.quantity))
    }
}

/// A case with its water changed; with its air, where it has no water.
fn with_water(case: &Case, change: impl Fn(&mut crate::case::Section)) -> Case {
    let mut case = case.clone();
    let wet = case.sections.iter().any(|section| section.medium.is_water());
    case.sections.iter_mut().filter(|section| !wet || section.medium.is_water()).for_each(change);
    case
}

/// What doubling the film is worth.
fn doubled(case: &Case, base: &Solution, target: &Target) -> Result<Doubled, Error> {
    let solved = |case: Case| march_by_rule(&case).map(|solution| target.in_solution(&solution));
    let film_doubled = solved(with_water(case, |section| section.film_factor *= 2.0))?;
    let longer = solved(with_water(case, |section| section.length *= 1.0 + LONGER))?;
    Ok(judged(target.in_solution(base), film_doubled, longer))
}

/// The judgement of three temperatures, degC.
fn judged(value: f64, film_doubled: f64, longer: f64) -> Doubled {
    let worth = (value - longer).abs() >= NOTHING;
    let worth = worth.then(|| (LONGER * (value - film_doubled) / (value - longer)).clamp(0.0, 1.0));
    let film_share = worth.map(|worth| 2.0 * worth / (1.0 + worth));
    let limited_by = match film_share {
        None => LimitedBy::Neither,
        Some(share) if share < SHARES[0] => LimitedBy::Plastic,
        Some(share) if share <= SHARES[1] => LimitedBy::MostlyPlastic,
        Some(share) if share <= SHARES[2] => LimitedBy::Both,
        Some(_) => LimitedBy::Film,
    };
    Doubled { value, film_doubled, longer, worth, film_share, limited_by }
}

/// With the films in water at the low end of their bands, where the two ends do not call it by one word.
fn at_the_low_end(case: &CaseFile, target: &Target, now: Doubled) -> Option<Doubled> {
    let films: Vec<Input> = inputs(case).into_iter().filter(|input| is_film(case, input)).collect();
    let at = |end: fn(&Input) -> f64| {
        let case = films.iter().fold(case.clone(), |case, input| input.at(&case, end(input)));
        doubled(&case, &march_by_rule(&case).ok()?, target).ok()
    };
    if films.is_empty() || now.limited_by == LimitedBy::Neither {
        return None;
    }
    let (low, high) = (at(|input| input.band.low_end)?, at(|input| input.band.high_end)?);
    (low.limited_by != high.limited_by && low.limited_by != now.limited_by).then_some(low)
}

/// Whether an uncertain input is the film in water.
fn is_film(case: &Case, input: &Input) -> bool {
    let wet = |name: &str| case.sections.iter().any(|section| section.name == name && section.medium.is_water());
    KeyPath::parse_list(&input.band.input)
        .iter()
        .any(|path| path.table == "section" && path.key.starts_with("film") && path.name.as_deref().is_some_and(wet))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_have_their_words() {
        // Of the resistance: T - T_2 = 10 E K where a tenth more water takes 1 K.
        let by = |worth: f64| judged(50.0, 50.0 - 10.0 * worth, 49.0);
        for (worth, word) in [
            (0.0, LimitedBy::Plastic),
            (0.05, LimitedBy::Plastic),
            (0.055, LimitedBy::MostlyPlastic),
            (0.21, LimitedBy::MostlyPlastic),
            (0.22, LimitedBy::Both),
            (0.48, LimitedBy::Both),
            (0.49, LimitedBy::Film),
            (1.0, LimitedBy::Film),
        ] {
            let found = by(worth);
            assert!((found.worth.unwrap() - worth).abs() < 1e-12);
            assert_eq!(found.limited_by, word, "{worth}");
        }
        assert_eq!((by(-0.1).worth, by(3.0).worth), (Some(0.0), Some(1.0)));
        let cold = judged(16.0, 16.0, 15.96);
        assert_eq!((cold.worth, cold.limited_by), (None, LimitedBy::Neither));
        // A product that warms: both differences have the other sign.
        assert_eq!(judged(20.0, 22.0, 21.0).worth, Some(0.2));
    }

    /// Where the film decides, a law that nobody measured is told of; where the case knows its film, nothing is.
    #[test]
    fn a_film_that_matters_and_that_nobody_measured_is_told() {
        let warned = |text: &str| {
            let case = crate::file::read(text).unwrap();
            let mut solution = march_by_rule(&case).unwrap();
            add_cooling(&case, &mut solution, false);
            let share = solution.cooling.unwrap().now.film_share.unwrap();
            let of = |warning: &Warning| match warning {
                Warning::FilmLawUnmeasured { section, share } => Some((section.clone(), *share)),
                _ => None,
            };
            (share, solution.warnings.iter().find_map(of))
        };
        let house = include_str!("../../../cases/house-wire.toml");
        let (share, told) = warned(house);
        assert!(share < UNMEASURED && told.is_none(), "{share} {told:?}");
        let weak = house.replace("temperature = \"16 degC\"", "temperature = \"16 degC\"\nfilm_factor = 0.1");
        let (share, told) = warned(&weak);
        assert_eq!(told, Some(("trough".to_string(), share)));
        let (_, told) = warned(&format!("{weak}\n[band]\n\"section.trough.film_factor\" = 0.1\n"));
        assert_eq!(told, None);
    }

    /// The temperature that decides is that of the limit with the least margin, and what a doubled film does there is what a
    /// run with a doubled film says.
    #[test]
    fn the_limit_that_decides_is_judged() {
        let case = crate::file::read(include_str!("../../../cases/house-wire.toml")).unwrap();
        let base = march_by_rule(&case).unwrap();
        let found = cooling(&case, &base, false).unwrap();
        let mut more = case.clone();
        more.sections[1].film_factor = 2.0;
        assert_eq!(found.now.film_doubled, march_by_rule(&more).unwrap().stations[2].point.core);
        assert_eq!((found.temperature.as_str(), found.now.value), ("capstan.core", base.stations[2].point.core));
        let mut bare = case;
        bare.stations.clear();
        let at_end = cooling(&bare, &march_by_rule(&bare).unwrap(), false).unwrap();
        assert_eq!(at_end.temperature, "line.core");
        // Another mesh: nothing is asked so early.
        assert!((at_end.now.value - found.now.value).abs() < 0.1, "{at_end:?} {found:?}");
    }
}
