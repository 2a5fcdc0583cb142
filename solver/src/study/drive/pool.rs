//! Metres that the threads of the present rayon pool march as they are wanted: none waits for a round of others to end.
//!
//! A thread fills the lanes of one structure, marches until a lane is free, hands its metre to whoever asked, who may then want more,
//! and fills the lane anew. A metre has the same bits in whatever company, so no answer depends on who marches what when.

use std::collections::VecDeque;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use super::Programme;
use super::kept::Kept;
use super::metre::{self, Begun, Metre, Request, Sights};
use crate::case::Case;
use crate::case::error::Error;
use crate::engine::{Path, Structure};
use crate::line::clock::Side;
use crate::line::{LANES, Outcome, Runner, Settings, alone};

/// How long a thread sleeps at most before it looks for other work of the rayon pool.
const NAP: Duration = Duration::from_millis(1);

/// A metre that is wanted, and how it is marched.
pub(super) struct Wish {
    pub(super) request: Request,
    pub(super) settings: Settings,
}

/// What becomes of the wishes when a metre is there.
pub(super) enum Next {
    /// More metres are wanted, or none.
    March(Vec<Wish>),
    /// Nothing is wanted any more, of all that was.
    Stop,
}

/// Marches metres, in order.
///
/// # Errors
///
/// A metre has no answer; of several errors that of the shortest length.
pub(super) fn all(
    programme: &Programme,
    requests: Vec<Request>,
    settings: Settings,
    path: Path,
) -> Result<Vec<Metre>, Error> {
    let mut metres: Vec<Option<Metre>> = vec![None; requests.len()];
    let wishes = requests.into_iter().map(|request| Wish { request, settings }).collect();
    as_wanted(programme, path, wishes, &mut |number, metre| {
        metres[number] = Some(metre);
        Next::March(Vec::new())
    })?;
    Ok(metres.into_iter().flatten().collect())
}

/// Marches what is wished for, and what `next` wishes for when it is given a metre, until no wish is open.
///
/// Wishes are numbered as they come. One thread at a time asks `next`, in no certain order of the metres.
///
/// # Errors
///
/// A metre has no answer; all else is marched before, and of several errors that of the shortest length is returned.
pub(super) fn as_wanted(
    programme: &Programme,
    path: Path,
    wishes: Vec<Wish>,
    next: &mut (dyn FnMut(usize, Metre) -> Next + Send),
) -> Result<(), Error> {
    let kept = Kept::default();
    let mut work =
        Work { wished: VecDeque::new(), ready: Vec::new(), told: 0, open: 0, failed: None, stopped: false, next };
    work.wish(wishes);
    let (work, news, bell) = (Mutex::new(work), AtomicBool::new(true), Condvar::new());
    let pool = Pool { programme, path, kept: &kept, work, news, bell };
    rayon::scope(|scope| {
        (1..rayon::current_num_threads()).for_each(|_| scope.spawn(|_| pool.work()));
        pool.work();
    });
    let work = pool.work.into_inner().unwrap_or_else(PoisonError::into_inner);
    work.failed.map_or(Ok(()), |(_, error)| Err(error))
}

/// What threads share.
struct Pool<'a> {
    programme: &'a Programme<'a>,
    path: Path,
    /// Cases of metres of their own.
    kept: &'a Kept<Case>,
    work: Mutex<Work<'a>>,
    /// Whether there is a wish that nobody has taken.
    news: AtomicBool,
    /// Rings when there is something to do for who has nothing, and when there is nothing more to do.
    bell: Condvar,
}

/// What is to be done.
struct Work<'a> {
    /// What nobody has taken.
    wished: VecDeque<(usize, Wish)>,
    /// What waits for a lane, by structure.
    ready: Vec<(Structure, Vec<(usize, Begun<'a>)>)>,
    /// How many wishes there were, and how many have no metre yet.
    told: usize,
    open: usize,
    /// Which metre has no answer.
    failed: Option<((f64, Side), Error)>,
    stopped: bool,
    next: &'a mut (dyn FnMut(usize, Metre) -> Next + Send),
}

/// Lanes of a thread for metres of one structure.
struct Lanes<'a> {
    runner: Runner<'a, Sights>,
    begun: [Option<(usize, Begun<'a>)>; LANES],
}

/// What came of a wish: its number, which metre it was.
type Done = (usize, (f64, Side), Result<Metre, Error>);

/// What a thread has to hand over.
#[derive(Default)]
struct Hands<'a> {
    begun: Vec<(Structure, (usize, Begun<'a>))>,
    done: Vec<Done>,
}

/// What a thread does next.
enum Order<'a> {
    Begin(usize, Wish),
    March(Structure, Vec<(usize, Begun<'a>)>),
    Wait,
    End,
}

impl<'a> Work<'a> {
    /// The newest first: what hangs on them takes longest.
    fn wish(&mut self, wishes: Vec<Wish>) {
        let first = self.told;
        (self.told, self.open) = (first + wishes.len(), self.open + wishes.len());
        for (place, wish) in wishes.into_iter().enumerate().rev() {
            self.wished.push_front((first + place, wish));
        }
    }

    fn take(&mut self, hands: &mut Hands<'a>) {
        for (structure, begun) in hands.begun.drain(..) {
            match self.ready.iter_mut().find(|(known, _)| *known == structure) {
                Some((_, waiting)) => waiting.push(begun),
                None => self.ready.push((structure, vec![begun])),
            }
        }
        for (number, place, metre) in hands.done.drain(..) {
            self.open -= 1;
            match metre {
                _ if self.stopped => {}
                Ok(metre) => match (self.next)(number, metre) {
                    Next::March(wishes) => self.wish(wishes),
                    Next::Stop => self.stopped = true,
                },
                Err(error) if self.failed.as_ref().is_none_or(|(other, _)| place < *other) => {
                    self.failed = Some((place, error));
                }
                Err(_) => {}
            }
        }
    }

    /// Whether there is something that nobody has taken, or that waits for a lane.
    fn has_more(&self) -> bool {
        !self.wished.is_empty() || self.ready.iter().any(|(_, waiting)| !waiting.is_empty())
    }

    /// What waits for a structure's lanes, as many as are free.
    fn ready(&mut self, structure: &Structure, free: usize) -> Vec<(usize, Begun<'a>)> {
        let waiting = self.ready.iter_mut().find(|(known, _)| known == structure);
        waiting.map_or(Vec::new(), |(_, waiting)| waiting.split_off(waiting.len().saturating_sub(free)))
    }

    /// What a thread does next that marches in the last of its lanes, where it has some.
    fn order(&mut self, own: &[Lanes<'a>]) -> Order<'a> {
        if self.stopped || self.open == 0 {
            return Order::End;
        }
        if let Some(last) = own.last() {
            let (structure, free) = (last.runner.structure(), last.free());
            let ready = self.ready(structure, free);
            if free == 0 || !ready.is_empty() {
                return Order::March(structure.clone(), ready);
            }
        }
        let waits = |of: &Structure| self.ready.iter().find(|(known, _)| known == of).map_or(0, |(_, all)| all.len());
        let of_own = own.iter().map(|lanes| (lanes.runner.structure(), LANES - lanes.free()));
        let others = self.ready.iter().map(|(structure, _)| (structure, 0));
        let filled = of_own.chain(others).map(|(structure, cases)| (cases + waits(structure), structure));
        let best = filled.filter(|(cases, _)| *cases > 0).max_by_key(|(cases, _)| *cases);
        // Half-filled lanes march where nothing is left to fill them.
        if best.is_none_or(|(cases, _)| cases < LANES)
            && let Some((number, wish)) = self.wished.pop_front()
        {
            return Order::Begin(number, wish);
        }
        let Some((_, structure)) = best else { return Order::Wait };
        let structure = structure.clone();
        let free = own.iter().find(|lanes| *lanes.runner.structure() == structure).map_or(LANES, Lanes::free);
        let ready = self.ready(&structure, free);
        Order::March(structure, ready)
    }
}

impl<'a> Pool<'a> {
    fn lock(&self) -> MutexGuard<'_, Work<'a>> {
        self.work.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Works until nothing is left to do.
    fn work(&self) {
        let on_panic = OnPanic(self);
        let (mut own, mut hands): (Vec<Lanes<'a>>, Hands<'a>) = (Vec::new(), Hands::default());
        loop {
            let order = {
                let mut work = self.lock();
                work.take(&mut hands);
                let order = work.order(&own);
                let ends = matches!(order, Order::End);
                self.news.store(!work.wished.is_empty(), Ordering::Relaxed);
                if ends || work.has_more() {
                    self.bell.notify_all();
                }
                order
            };
            match order {
                Order::Begin(number, wish) => self.begin(number, &wish, &mut hands),
                Order::March(structure, begun) => {
                    match own.iter().position(|lanes| *lanes.runner.structure() == structure) {
                        Some(place) => own[place..].rotate_left(1),
                        None => own.push(Lanes::new(self.path, structure)),
                    }
                    if let Some(last) = own.last_mut() {
                        last.march(begun, self, &mut hands);
                    }
                }
                Order::Wait => self.wait(),
                Order::End => break,
            }
        }
        drop(on_panic);
    }

    fn begin(&self, number: usize, wish: &Wish, hands: &mut Hands<'a>) {
        let place = (wish.request.length, wish.request.side);
        let begun = match metre::begin(self.programme, &wish.request, wish.settings, self.kept) {
            Ok(begun) => begun,
            Err(error) => return hands.done.push((number, place, Err(error))),
        };
        let structure = begun.prepared.as_ref().filter(|of| self.path != Path::Single && of.has_room_beside());
        let structure = structure.map(|of| Structure::of(&of.slice));
        if let Some(structure) = structure {
            return hands.begun.push((structure, (number, begun)));
        }
        let noted = begun.prepared.clone().map(|prepared| alone(prepared, &mut metre::notes())).transpose();
        hands.done.push((number, place, noted.map(|noted| begun.end(self.programme, noted))));
    }

    /// Does other work of the rayon pool, or sleeps until there is some here.
    fn wait(&self) {
        if matches!(rayon::yield_now(), Some(rayon::Yield::Executed)) {
            return;
        }
        let work = self.lock();
        if !work.has_more() && work.open > 0 && !work.stopped {
            drop(self.bell.wait_timeout(work, NAP));
        }
    }
}

/// Lets the others go home where a thread panics.
struct OnPanic<'p, 'a>(&'p Pool<'a>);

impl Drop for OnPanic<'_, '_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.0.lock().stopped = true;
            self.0.bell.notify_all();
        }
    }
}

impl<'a> Lanes<'a> {
    fn new(path: Path, structure: Structure) -> Lanes<'a> {
        Lanes { runner: Runner::new(path, structure, metre::notes), begun: std::array::from_fn(|_| None) }
    }

    fn free(&self) -> usize {
        self.begun.iter().filter(|begun| begun.is_none()).count()
    }

    /// Marches until a metre is done; with a free lane also until there is news.
    fn march(&mut self, begun: Vec<(usize, Begun<'a>)>, pool: &Pool<'a>, hands: &mut Hands<'a>) {
        let mut new = begun.into_iter();
        for (lane, room) in self.begun.iter_mut().enumerate().filter(|(_, room)| room.is_none()) {
            *room = new.next();
            let prepared = room.as_ref().and_then(|(_, begun)| begun.prepared.clone());
            prepared.into_iter().for_each(|prepared| self.runner.put(lane, prepared));
        }
        let mut done = Vec::new();
        let on = |cases: usize, done: usize| done == 0 && (cases == LANES || !pool.news.load(Ordering::Relaxed));
        self.runner.run(&mut done, on);
        for Outcome { index, answer, .. } in done {
            if let Some((number, begun)) = self.begun[index].take() {
                let place = begun.place();
                hands.done.push((number, place, answer.map(|noted| begun.end(pool.programme, Some(noted)))));
            }
        }
    }
}
