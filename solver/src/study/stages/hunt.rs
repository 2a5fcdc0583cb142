//! The hunt for the best setting: the box is scanned, the best places are polished, whole steps and printed digits are chosen, and
//! what is found is marched with care.

use super::question::{Question, Toward, excess, lower};
use super::search::{AGAIN, POLISH, Place, Search, apart, directions, scan, spans};
use super::{Asked, Of, Requirement, Setting, Staged, StagesError};
use crate::case::{Aim, CaseFile, Margin, Stages};
use crate::march::march;
use crate::maths::order::sort_by_number;
use crate::study::search::ceilings::{Ceiling, What};
use crate::study::search::confirm::half_widths;

/// Careful marches before an answer is given up.
const CONFIRMATIONS: usize = 8;
/// By how much more than it was exceeded a requirement is lowered, in tolerances.
const RESERVE: f64 = 0.1;
/// Rounds in which an answer and the band at it are made consistent.
const ROUNDS: usize = 6;
/// Change of a half width of a band that is none, relative.
const CONSISTENT: f64 = 5e-3;
/// A requirement holds an answer where less than this share of its span is to spare.
const HOLDS: f64 = 4e-3;
/// Steps of a search on the lattice of printed digits, as a share of the range: the first.
const LATTICE: f64 = 2e-3;
/// So many ways to choose whole steps are all tried.
const EVERY: i64 = 32;
/// Half the side of the box of a linear model while others are rounded: first and last.
const ROUNDED: [f64; 2] = [2e-3, 3e-5];
/// An aim that changes by less than this, relative, over the whole box does not change.
const LEVER: f64 = 1e-6;

/// A search under way.
pub(super) struct Hunt<'a> {
    pub(super) question: &'a Question<'a>,
    pub(super) case: &'a CaseFile,
    pub(super) stages: &'a Stages,
    /// Spans of the requirements over the scan.
    pub(super) scales: Vec<f64>,
    pub(super) scanned: Vec<Vec<f64>>,
    /// The case as it is, kept within the bounds.
    pub(super) today: Vec<f64>,
}

/// A place whose numbers are as they are printed.
#[derive(Clone, Debug)]
pub(super) struct Printed {
    pub(super) places: Vec<i64>,
    pub(super) at: Place,
}

impl<'a> Hunt<'a> {
    /// Scans the box.
    pub(super) fn new(question: &'a Question<'a>) -> Result<Hunt<'a>, StagesError> {
        let problem = &question.problem;
        let scanned = scan(problem.numbers.len());
        let points = question.points(&scanned);
        let known: Vec<f64> = points.iter().map(|point| point.aim).filter(|aim| aim.is_finite()).collect();
        if known.is_empty() {
            let middle = question.values(&vec![0.5; problem.numbers.len()]);
            let case = problem.case_at(&middle).map_err(StagesError::Value)?;
            let reason = march(&case).err().map_or("it has one".to_string(), |error| error.to_string());
            return Err(StagesError::Nowhere { reason });
        }
        let [low, high] =
            known.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], aim| [low.min(*aim), high.max(*aim)]);
        if high - low <= LEVER * low.abs().max(high.abs()) {
            return Err(StagesError::NoLever { aim: problem.stages.aim.word() });
        }
        let values: Vec<f64> = problem.numbers.iter().map(|number| number.variable.get(problem.case)).collect();
        let today = problem.numbers.iter().zip(&values).map(|(number, value)| number.share(*value)).collect();
        let (case, stages) = (problem.case, problem.stages);
        Ok(Hunt { question, case, stages, scales: spans(&points), scanned, today })
    }

    /// The search with something added to the values of the requirements.
    pub(super) fn with<T>(&self, toward: Toward, raised: &[f64], work: impl FnOnce(&Search<'_>) -> T) -> T {
        self.question.ask(toward, raised);
        let functions = |places: &[Vec<f64>]| self.question.points(places);
        work(&Search::new(&functions, self.scales.clone()))
    }

    /// The best place of any values.
    pub(super) fn best(&self, toward: Toward, raised: &[f64]) -> Option<Place> {
        self.with(toward, raised, |search| {
            let scanned = search.places(self.scanned.clone());
            search.whole(&scanned, std::slice::from_ref(&self.today)).map(|best| self.stepped(search, best))
        })
    }

    /// The best place from others that are known, the best of all that were looked at among them.
    pub(super) fn best_from(&self, toward: Toward, raised: &[f64], starts: &[Vec<f64>]) -> Option<Place> {
        const KNOWN: usize = 3;
        const NEAR: [f64; 2] = [0.04, 5e-4];
        self.with(toward, raised, |search| {
            let mut starts = starts.to_vec();
            starts.extend(apart(&self.question.every(), &self.scales, KNOWN));
            let all: Vec<usize> = (0..self.today.len()).collect();
            let best = search.best(search.polish(starts, &all, NEAR))?;
            let best = search.settle(best, &all);
            Some(self.stepped(search, best))
        })
    }

    /// The best place whose numbers with steps are whole ones: all of a few, of more the corners about the best of any values, then
    /// neighbours for as long as one gains; the other numbers follow.
    pub(super) fn stepped(&self, search: &Search<'_>, best: Place) -> Place {
        let numbers = &self.question.problem.numbers;
        let (whole, free): (Vec<usize>, Vec<usize>) =
            (0..numbers.len()).partition(|&index| numbers[index].step.is_some());
        if whole.is_empty() {
            return best;
        }
        let moved = |places: &[i64]| -> Option<Vec<f64>> {
            let mut x = best.x.clone();
            for (&index, &place) in whole.iter().zip(places) {
                x[index] = numbers[index].of_lattice(place)?;
            }
            Some(x)
        };
        let below: Vec<i64> = whole.iter().map(|&index| numbers[index].lattice_at(best.x[index])).collect();
        let try_all = |places: Vec<Vec<i64>>, size: [f64; 2]| -> Vec<(Vec<i64>, Place)> {
            let (places, starts): (Vec<_>, Vec<_>) =
                places.into_iter().filter_map(|places| moved(&places).map(|x| (places, x))).unzip();
            places.into_iter().zip(search.polish(starts, &free, size)).collect()
        };
        let better = |found: Vec<(Vec<i64>, Place)>| {
            let order = |a: &Place, b: &Place| b.at.order(&a.at, &search.scales).is_lt();
            found.into_iter().reduce(|a, b| if order(&a.1, &b.1) { b } else { a })
        };
        let all = whole.iter().map(|&index| numbers[index].count().min(EVERY + 1)).product::<i64>();
        if all <= EVERY {
            let each = whole.iter().fold(vec![Vec::new()], |each: Vec<Vec<i64>>, &index| {
                let places = numbers[index].places();
                each.iter().flat_map(|some| places.clone().map(move |place| [&some[..], &[place]].concat())).collect()
            });
            return better(try_all(each, POLISH)).map_or(best, |(_, best)| best);
        }
        let Some(mut chosen) = better(try_all(corners(&below), POLISH)) else { return best };
        let directions = directions(whole.len());
        loop {
            let near = |direction: &Vec<i32>| {
                chosen.0.iter().zip(direction).map(|(place, sign)| place + i64::from(*sign)).collect()
            };
            match better(try_all(directions.iter().map(near).collect(), POLISH)) {
                Some(found) if found.1.at.gains(&chosen.1.at, &search.scales) => chosen = found,
                _ => return chosen.1,
            }
        }
    }

    /// The best place about another whose numbers are as they are printed: one after the other is rounded to either side, the
    /// coarsest first, and those that are left follow; then a compass over the last digits.
    pub(super) fn printed(&self, raised: &[f64], best: &Place) -> Option<Printed> {
        let numbers = &self.question.problem.numbers;
        self.with(Toward::Aim, raised, |search| {
            let mut places: Vec<i64> = numbers.iter().zip(&best.x).map(|(number, x)| number.lattice_at(*x)).collect();
            let mut left = self.question.problem.smooth();
            sort_by_number(&mut left, |&index| numbers[index].count() as f64);
            let mut at = best.clone();
            while !left.is_empty() {
                let index = left.remove(0);
                let below = numbers[index].lattice_at(at.x[index]);
                let sides =
                    [below, below + 1].into_iter().filter_map(|place| Some((place, numbers[index].of_lattice(place)?)));
                let (sides, starts): (Vec<i64>, Vec<Vec<f64>>) = sides
                    .map(|(place, share)| {
                        let mut x = at.x.clone();
                        x[index] = share;
                        (place, x)
                    })
                    .unzip();
                let found = sides.into_iter().zip(search.polish(starts, &left, ROUNDED));
                let better = |a: &Place, b: &Place| b.at.order(&a.at, &search.scales).is_lt();
                (places[index], at) = found.reduce(|a, b| if better(&a.1, &b.1) { b } else { a })?;
            }
            self.on_lattice(search, Printed { places, at })
        })
    }

    /// The best place of the lattice of printed digits about another: steps in all directions, halved until none gains.
    pub(super) fn on_lattice(&self, search: &Search<'_>, start: Printed) -> Option<Printed> {
        let numbers = &self.question.problem.numbers;
        let of = |places: &[i64]| -> Option<Vec<f64>> {
            numbers.iter().zip(places).map(|(number, &place)| number.of_lattice(place)).collect()
        };
        let better = |places: Vec<Vec<i64>>| -> Option<Printed> {
            let (places, xs): (Vec<_>, Vec<_>) =
                places.into_iter().filter_map(|places| of(&places).map(|x| (places, x))).unzip();
            let found = places.into_iter().zip(search.places(xs)).map(|(places, at)| Printed { places, at });
            found.reduce(|a, b| if b.at.at.order(&a.at.at, &search.scales).is_lt() { b } else { a })
        };
        let mut chosen = better(vec![start.places])?;
        // Whole steps are chosen already, and one of them is far for a compass.
        let first: Vec<i64> = numbers.iter().map(|number| number.far(LATTICE)).collect();
        let mut size = first.iter().copied().max().unwrap_or(1);
        while size >= 1 {
            let step = |(sign, first): (&i32, &i64)| i64::from(*sign) * size.min(*first);
            let near = |direction: &Vec<i32>| -> Vec<i64> {
                let steps = direction.iter().zip(&first).map(step);
                chosen.places.iter().zip(steps).map(|(place, step)| place + step).collect()
            };
            match better(directions(numbers.len()).iter().map(near).collect()) {
                Some(found) if found.at.at.gains(&chosen.at.at, &search.scales) => chosen = found,
                _ => size /= 2,
            }
        }
        Some(chosen)
    }

    /// A setting, carefully marched.
    pub(super) fn setting(&self, values: Vec<f64>) -> Result<Setting, StagesError> {
        let problem = &self.question.problem;
        let case = problem.case_at(&values).map_err(StagesError::Value)?;
        let solution = march(&case).map_err(StagesError::March)?;
        Ok(Setting { told: problem.of_solution(&case, &solution), case, values, solution })
    }

    /// What the uncertainty of the inputs adds to each requirement at a setting.
    pub(super) fn half_widths(&self, case: &CaseFile) -> Result<Vec<f64>, StagesError> {
        let requirements = &self.question.problem.requirements;
        let ceiling = |requirement: &Requirement| match (&requirement.of, requirement.melt(case)) {
            (Of::Ceiling(ceiling), _) => Some(ceiling.clone()),
            (Of::Output(_), Some(layer)) => Some(Ceiling {
                what: What::MeltShrink(layer),
                name: requirement.name.clone(),
                temperature: String::new(),
                path: String::new(),
                max: requirement.max,
            }),
            _ => None,
        };
        let ceilings: Vec<Option<Ceiling>> = requirements.iter().map(ceiling).collect();
        let known: Vec<Ceiling> = ceilings.iter().flatten().cloned().collect();
        let widths = half_widths(case, &known).map_err(StagesError::March)?;
        let mut widths = widths.iter().map(|half| half.up());
        Ok(ceilings.iter().map(|ceiling| ceiling.as_ref().and_then(|_| widths.next()).unwrap_or(0.0)).collect())
    }

    /// The best setting as it is printed, in which a careful march finds everything met, with `band` to spare beside the margins.
    pub(super) fn confirmed(&self, best: Place, band: &[f64]) -> Result<(Setting, Printed, Vec<f64>), StagesError> {
        let requirements = &self.question.problem.requirements;
        let numbers = &self.question.problem.numbers;
        let (mut best, mut raised) = (best, band.to_vec());
        for _ in 0..CONFIRMATIONS {
            let printed = self.printed(&raised, &best).ok_or(StagesError::Unsteady)?;
            let values = numbers.iter().zip(&printed.places).map(|(number, place)| number.value_of(*place)).collect();
            let setting = self.setting(values)?;
            let excess = excess(requirements, &setting.told.values, band);
            if excess.iter().all(|&excess| excess <= 0.0) {
                return Ok((setting, printed, raised));
            }
            if !printed.at.at.is_met() {
                return Err(self.unmet(&setting, band));
            }
            for (raised, excess) in raised.iter_mut().zip(excess).filter(|(_, excess)| *excess > 0.0) {
                *raised += excess + RESERVE * self.case.tolerance;
            }
            let free = self.question.problem.smooth();
            best = self.with(Toward::Aim, &raised, |search| {
                let polished = search.polish(vec![printed.at.x.clone()], &free, AGAIN);
                search.best(polished).map_or(printed.at, |best| search.settle(best, &free))
            });
        }
        Err(StagesError::Unsteady)
    }

    /// What is missed most of a setting.
    pub(super) fn unmet(&self, setting: &Setting, band: &[f64]) -> StagesError {
        let problem = &self.question.problem;
        let excess = excess(&problem.requirements, &setting.told.values, band);
        let share = |which: &usize| excess[*which] / self.scales[*which];
        let worst = (0..excess.len()).max_by(|a, b| share(a).total_cmp(&share(b))).unwrap_or(0);
        let mut requirement = problem.requirements[worst].clone();
        requirement.margin += band[worst];
        StagesError::Unmet {
            requirement: Box::new(requirement),
            value: setting.told.values[worst],
            at: problem.numbers.iter().cloned().zip(setting.values.iter().copied()).collect(),
        }
    }

    pub(super) fn answer(&self, asked: Asked) -> Result<Staged, StagesError> {
        let problem = &self.question.problem;
        let nothing = vec![0.0; problem.requirements.len()];
        let mut band = nothing.clone();
        let mut relaxed = self.best(Toward::Aim, &band).ok_or(StagesError::Unsteady)?;
        if self.stages.margin == Margin::Band {
            for _ in 0..ROUNDS {
                let case = problem.case_at(&self.question.values(&relaxed.x)).map_err(StagesError::Value)?;
                let widths = self.half_widths(&case)?;
                if consistent(&widths, &band) {
                    break;
                }
                band = widths;
                let from = std::slice::from_ref(&relaxed.x);
                relaxed = self.best_from(Toward::Aim, &band, from).ok_or(StagesError::Unsteady)?;
            }
        }
        let (after, printed, raised) = self.confirmed(relaxed, &band)?;
        let before = self.today();
        let excess = excess(&problem.requirements, &after.told.values, &band);
        let holds = |which: &usize| match problem.requirements[*which].of {
            Of::Line => problem.is_short(&after.case),
            _ => -excess[*which] <= HOLDS * self.scales[*which],
        };
        let binding: Vec<usize> = (0..excess.len()).filter(holds).collect();
        let on_bound =
            problem.numbers.iter().zip(&printed.places).enumerate().filter_map(|(index, (number, place))| {
                let (_, [first, last]) = number.lattice(0.0);
                (*place == first || *place == last).then_some((index, *place == last))
            });
        let on_bound = on_bound.collect();
        let unfavourable = if asked.range { self.unfavourable(&after, &printed, &band)? } else { None };
        let neighbours = self.neighbours(&printed, &band);
        let traded = if asked.front { self.traded(&binding) } else { None };
        let front = traded.and_then(|which| self.front(which, &raised, before.as_ref(), &after, &printed));
        let grid = if asked.grid { self.grid(&printed, &band) } else { None };
        Ok(Staged {
            aim: self.stages.aim,
            numbers: problem.numbers.clone(),
            requirements: problem.requirements.clone(),
            before,
            printed: problem
                .numbers
                .iter()
                .zip(&printed.places)
                .map(|(number, place)| number.printed(*place))
                .collect(),
            after,
            binding,
            on_bound,
            band,
            unfavourable,
            neighbours,
            front,
            grid,
            evaluations: self.question.solved(),
        })
    }

    /// The case as it is.
    pub(super) fn today(&self) -> Option<Setting> {
        let problem = &self.question.problem;
        let case = self.case.clone();
        let solution = march(&case).ok()?;
        let values = problem.numbers.iter().map(|number| number.variable.get(&case)).collect();
        Some(Setting { told: problem.of_solution(&case, &solution), case, values, solution })
    }

    /// The aim that the unfavourable end of the inputs' uncertainty leaves.
    pub(super) fn unfavourable(
        &self,
        after: &Setting,
        printed: &Printed,
        band: &[f64],
    ) -> Result<Option<f64>, StagesError> {
        let problem = &self.question.problem;
        let mut widths = self.half_widths(&after.case)?;
        let mut found = None;
        for _ in 0..ROUNDS {
            let raised: Vec<f64> = band.iter().zip(&widths).map(|(band, width)| band.max(*width)).collect();
            found = self.best_from(Toward::Aim, &raised, std::slice::from_ref(&printed.at.x));
            // A band is narrower at a slower line: it is that of the place where it is kept.
            let Some(place) = found.as_ref().filter(|found| found.at.is_met()) else { break };
            let case = problem.case_at(&self.question.values(&place.x)).map_err(StagesError::Value)?;
            let there = self.half_widths(&case)?;
            if consistent(&there, &widths) {
                break;
            }
            widths = there;
        }
        let aim = found.filter(|found| found.at.is_met()).map(|found| lower(self.stages.aim, found.at.aim));
        if self.stages.aim != Aim::LeastVoid {
            return Ok(aim);
        }
        let layers = 0..after.case.layers.len();
        let melts = layers.map(|layer| Ceiling {
            what: What::MeltShrink(layer),
            name: String::new(),
            temperature: String::new(),
            path: String::new(),
            max: 0.0,
        });
        let widths = half_widths(&after.case, &melts.collect::<Vec<_>>()).map_err(StagesError::March)?;
        let widest = widths.iter().map(|half| half.up()).fold(0.0, f64::max);
        Ok(aim.map(|aim| aim + widest))
    }
}

/// Whether half widths of bands are the same.
fn consistent(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(a, b)| (a - b).abs() <= CONSISTENT * a.max(*b))
}

/// The corners of the cell of a lattice above a place.
fn corners(below: &[i64]) -> Vec<Vec<i64>> {
    let mut all = vec![Vec::new()];
    for &place in below {
        all = all
            .into_iter()
            .flat_map(|corner: Vec<i64>| [0, 1].map(|up| [&corner[..], &[place + up]].concat()))
            .collect();
    }
    all
}
