//! What is asked, as functions over the unit box; what was solved once is known.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use super::problem::{Problem, Requirement, Told};
use super::search::{Place, Point};
use crate::case::Aim;
use crate::maths::parallel::each_chunk;

/// Excess of a requirement that is left out.
const LEFT_OUT: f64 = -1e6;
/// Cases that a thread takes at a time, so many at least: they march side by side.
const TOGETHER: usize = 8;

/// What the search looks for the lowest of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Toward {
    /// The aim of the case, a speed with the other sign.
    Aim,
    /// The value of a requirement, which itself is left out.
    Least(usize),
}

/// The question as functions over the unit box.
pub(super) struct Question<'a> {
    pub(super) problem: Problem<'a>,
    /// What is added to each requirement's value.
    raised: RefCell<Vec<f64>>,
    toward: Cell<Toward>,
    known: RefCell<BTreeMap<Vec<u64>, Known>>,
    /// Told of so many more cases that are solved.
    done: &'a (dyn Fn(usize) + Sync),
}

/// A place and what it tells; nothing where it has no answer.
type Known = (Vec<f64>, Option<Told>);

impl<'a> Question<'a> {
    pub(super) fn new(problem: Problem<'a>, done: &'a (dyn Fn(usize) + Sync)) -> Question<'a> {
        let raised = RefCell::new(vec![0.0; problem.requirements.len()]);
        Question { problem, raised, toward: Cell::new(Toward::Aim), known: RefCell::default(), done }
    }

    /// How many cases were looked at.
    pub(super) fn solved(&self) -> usize {
        self.known.borrow().len()
    }

    /// Asks for something else, with something else added to the values of the requirements.
    pub(super) fn ask(&self, toward: Toward, raised: &[f64]) {
        self.toward.set(toward);
        self.raised.borrow_mut().copy_from_slice(raised);
    }

    /// The values of a place, SI.
    pub(super) fn values(&self, x: &[f64]) -> Vec<f64> {
        self.problem.numbers.iter().zip(x).map(|(number, x)| number.at(*x)).collect()
    }

    /// What places tell, solved where they are not known, on all threads of the present pool.
    pub(super) fn told(&self, places: &[Vec<f64>]) -> Vec<Option<Told>> {
        let key = |x: &Vec<f64>| -> Vec<u64> { x.iter().map(|share| share.to_bits()).collect() };
        let mut new: BTreeMap<Vec<u64>, &Vec<f64>> = places.iter().map(|x| (key(x), x)).collect();
        new.retain(|key, _| !self.known.borrow().contains_key(key));
        let xs: Vec<&Vec<f64>> = new.values().copied().collect();
        let each = xs.len().div_ceil(rayon::current_num_threads()).max(TOGETHER);
        let (problem, done) = (&self.problem, self.done);
        let of_chunk = |xs: &[&Vec<f64>]| {
            let told = problem.solve(xs);
            done(xs.len());
            told
        };
        let solved = each_chunk(&xs, each, of_chunk);
        let mut known = self.known.borrow_mut();
        known.extend(new.into_iter().zip(solved).map(|((key, x), told)| (key, (x.clone(), told))));
        places.iter().map(|x| known.get(&key(x)).and_then(|(_, told)| told.clone())).collect()
    }

    /// The functions of the search.
    pub(super) fn points(&self, places: &[Vec<f64>]) -> Vec<Point> {
        self.told(places).iter().map(|told| self.point(told.as_ref())).collect()
    }

    /// Every place that is known, as it is asked now.
    pub(super) fn every(&self) -> Vec<Place> {
        let place = |(x, told): &Known| Place { x: x.clone(), at: self.point(told.as_ref()) };
        self.known.borrow().values().map(place).collect()
    }

    fn point(&self, told: Option<&Told>) -> Point {
        let Some(told) = told else {
            return Point { aim: f64::NAN, excess: vec![f64::NAN; self.problem.requirements.len()] };
        };
        let excess = excess(&self.problem.requirements, &told.values, &self.raised.borrow());
        match self.toward.get() {
            Toward::Aim => Point { aim: lower(self.problem.stages.aim, told.aim), excess },
            Toward::Least(which) => {
                let others = |(index, excess)| if index == which { LEFT_OUT } else { excess };
                Point { aim: told.values[which], excess: excess.into_iter().enumerate().map(others).collect() }
            }
        }
    }
}

/// An aim as something to be low.
pub(super) fn lower(of: Aim, aim: f64) -> f64 {
    if of == Aim::Fastest { -aim } else { aim }
}

/// By how much each requirement is exceeded, its margin and what is added counted.
pub(super) fn excess(requirements: &[Requirement], values: &[f64], raised: &[f64]) -> Vec<f64> {
    let of = |((requirement, value), raised): ((&Requirement, &f64), &f64)| {
        value - (requirement.max - requirement.margin) + raised
    };
    requirements.iter().zip(values).zip(raised).map(of).collect()
}
