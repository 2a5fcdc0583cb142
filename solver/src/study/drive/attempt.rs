//! One attempt at a drive: metres marched at an accuracy until nothing between them is open, and some of them again, tighter.
//!
//! Every march hangs on nothing but its own: pieces of the product, metres that stand, and the checks of both go on side by side.

use std::collections::HashSet;

use super::asked::Asked;
use super::metre::{Metre, Request};
use super::parked::Standing;
use super::pieces::Piece;
use super::pool::{self, Next, Wish};
use super::settle::Settling;
use super::{Driven, Method, Programme, spans, spoilt};
use crate::case::error::Error;
use crate::line::Settings;

/// Share of the tolerance at which what lies between metres is settled.
const SETTLED: f64 = 0.5;
/// The check of a march is so much tighter.
const TIGHTER: f64 = 8.0;
/// Stated error of a march as a share of its difference from the tighter one, as of a run.
const SHARE: f64 = 1.5;
/// Least stated error as a share of the tolerance, as of a run.
const FLOOR: f64 = 0.2;
/// Of the metres of a piece both ends are checked, and every one of so many.
const CHECKED: usize = 8;
/// How often the time on wheels is halved at most.
const FINEST: u32 = 3;

/// What a metre is marched for.
#[derive(Clone, Copy)]
enum For {
    /// The pieces that stand on it.
    Pieces,
    /// The check of a metre, by its number.
    Check(usize),
    /// What a station sees of it while it stands.
    Standing(usize),
    /// The check of that.
    StandingCheck(usize),
}

/// What is known of an attempt on its way.
struct Attempt<'a> {
    asked: &'a [Asked],
    close: f64,
    /// How finely metres are followed on wheels.
    fine: u32,
    /// By the rule, and tighter where that is wanted.
    settings: Settings,
    tight: Option<Settings>,
    watch: &'a (dyn Fn(usize) + Sync),
    /// How many wishes there were before those that hold, and what each of these is for.
    before: usize,
    wished: Vec<For>,
    settling: Settling<'a>,
    standing: Standing,
    /// Numbers of the metres that are checked.
    checked: HashSet<usize>,
    /// Largest difference of a march from a tighter one, K.
    rule: f64,
    /// What lies open between looks at metres on wheels, and at metres that stand, K.
    on_wheels: f64,
    at_rest: f64,
    failed: Option<Error>,
}

/// One attempt: metres marched at an accuracy, K.
pub(super) fn at(
    programme: &Programme,
    accuracy: f64,
    method: Method,
    watch: &(dyn Fn(usize) + Sync),
) -> Result<Driven, Error> {
    let Programme { case, clock, tolerance, .. } = *programme;
    let spoilt = spoilt(programme);
    let spans = spans(programme, &spoilt);
    let of_station = |station: usize| Asked::of(case, station, method.limits_alone);
    let asked: Vec<Asked> = (0..case.stations.len()).map(of_station).collect();
    let close = SETTLED * tolerance;
    let (mut fine, mut before) = (0, 0);
    let attempt = loop {
        let mut attempt = Attempt {
            asked: &asked,
            close,
            fine,
            settings: Settings { fixed_step: method.fixed_step, ..Settings::rule(accuracy) },
            tight: method.checked.then(|| Settings::tightened(accuracy, TIGHTER)),
            watch,
            before,
            wished: Vec::new(),
            settling: Settling::new(&asked, close),
            standing: Standing::new(programme),
            checked: HashSet::new(),
            rule: 0.0,
            on_wheels: 0.0,
            at_rest: 0.0,
            failed: None,
        };
        // What stands takes longest.
        let mut wishes: Vec<Wish> = (0..attempt.standing.all.len()).map(|index| attempt.stand(index)).collect();
        let mut wanted = Vec::new();
        spans.iter().for_each(|&span| attempt.settling.want(Piece::new(span, fine), &mut wanted));
        attempt.wish_all(wanted, &mut wishes);
        pool::as_wanted(programme, method.path, wishes, &mut |number, metre| attempt.take(number, metre))?;
        if let Some(error) = attempt.failed {
            return Err(error);
        }
        if !attempt.is_too_coarse(attempt.on_wheels) {
            break attempt;
        }
        (fine, before) = (fine + 1, before + attempt.wished.len());
    };
    let Attempt { settling, standing, rule, on_wheels, at_rest, .. } = attempt;
    let (metres, pieces) = settling.in_order();
    let between = pieces.iter().map(|piece| piece.open).fold(on_wheels, f64::max);
    let error = (SHARE * rule + between.max(at_rest)).max(FLOOR * tolerance);
    let error = if method.checked { error } else { tolerance };
    let steps = metres.iter().fold([0, 0], |[a, b], metre| [a + metre.steps[0], b + metre.steps[1]]);
    let stations = case.stations.iter().map(|station| case.station_distance(station)).collect();
    let (clock, met, parked) = (clock.clone(), error <= tolerance, standing.all);
    Ok(Driven { metres, pieces, parked, spoilt, error, met, steps, clock, stations })
}

impl Attempt<'_> {
    fn wish(&mut self, request: Request, what: For) -> Wish {
        self.wished.push(what);
        (self.watch)(self.before + self.wished.len());
        let tight = self.tight.filter(|_| matches!(what, For::Check(_) | For::StandingCheck(_)));
        Wish { request, settings: tight.unwrap_or(self.settings) }
    }

    fn wish_all(&mut self, wanted: Vec<Request>, wishes: &mut Vec<Wish>) {
        wishes.extend(wanted.into_iter().map(|request| self.wish(request, For::Pieces)));
    }

    fn stand(&mut self, index: usize) -> Wish {
        self.wish(self.standing.request(index), For::Standing(index))
    }

    /// Whether what lies open between looks on wheels, K, wants metres that are followed more finely.
    fn is_too_coarse(&self, open: f64) -> bool {
        open > self.close && self.fine < FINEST
    }

    /// Takes a metre that was wished for; what is wished for next.
    fn take(&mut self, number: usize, metre: Metre) -> Next {
        let mut wishes = Vec::new();
        match self.wished[number] {
            For::Pieces => {
                self.on_wheels = self.on_wheels.max(metre.open_on_wheels(self.asked));
                if self.is_too_coarse(self.on_wheels) {
                    return Next::Stop;
                }
                let (mut wanted, settled) = (Vec::new(), self.settling.settled.len());
                self.settling.take(metre, &mut wanted);
                self.wish_all(wanted, &mut wishes);
                self.check(settled, &mut wishes);
            }
            For::Check(index) => {
                let pairs = self.settling.metres[index].seen.iter().zip(&metre.seen);
                let apart = pairs.filter_map(|(a, b)| Some(a.as_ref()?.sight.distance(&b.as_ref()?.sight)));
                self.rule = apart.fold(self.rule, f64::max);
            }
            For::Standing(index) => match self.standing.take(index, metre, self.asked, self.close) {
                Err(error) => {
                    self.failed = Some(error);
                    return Next::Stop;
                }
                Ok(true) => wishes.push(self.stand(index)),
                Ok(false) if self.tight.is_some() => {
                    wishes.push(self.wish(self.standing.request(index), For::StandingCheck(index)));
                }
                Ok(false) => {}
            },
            For::StandingCheck(index) => {
                let [rule, between] = self.standing.errors(index, &metre, self.asked);
                (self.rule, self.at_rest) = (self.rule.max(rule), self.at_rest.max(between));
            }
        }
        Next::March(wishes)
    }

    /// Wishes for the checks of the pieces that were settled since there were so many.
    fn check(&mut self, settled: usize, wishes: &mut Vec<Wish>) {
        if self.tight.is_none() {
            return;
        }
        let of = self.settling.settled[settled..].iter().flat_map(|piece| piece.checked(CHECKED));
        let new: Vec<usize> = of.filter(|&index| self.checked.insert(index)).collect();
        for index in new {
            let metre = &self.settling.metres[index];
            let request = Request::followed(metre.length, metre.side, self.fine);
            wishes.push(self.wish(request, For::Check(index)));
        }
    }
}
