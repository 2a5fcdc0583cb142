//! Which metres are marched: as many as each piece needs, piece by piece.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use super::asked::Asked;
use super::metre::{Metre, Request};
use super::pieces::{Judged, Piece};
use crate::line::clock::Side;
use crate::maths::order::sort_by_numbers;

/// A metre by its length and side.
type Key = (u64, Side);

/// What is known of a metre.
enum Known {
    /// It is marched: which one it is.
    There(usize),
    /// These pieces wait for it.
    Wanted(Vec<usize>),
}

/// Pieces on their way to be settled, and the metres that they stand on.
pub(super) struct Settling<'a> {
    /// Of each station.
    asked: &'a [Asked],
    /// What lies between metres is settled to this, K.
    close: f64,
    known: HashMap<Key, Known>,
    /// Pieces and how many metres each waits for; none once it is judged.
    open: Vec<Option<(Piece, usize)>>,
    pub(super) metres: Vec<Metre>,
    pub(super) settled: Vec<Piece>,
}

/// Zero has two signs.
fn key(length: f64, side: Side) -> Key {
    ((length + 0.0).to_bits(), side)
}

impl<'a> Settling<'a> {
    pub(super) fn new(asked: &'a [Asked], close: f64) -> Settling<'a> {
        let (metres, settled) = (Vec::new(), Vec::new());
        Settling { asked, close, known: HashMap::new(), open: Vec::new(), metres, settled }
    }

    /// Takes a piece; adds to `wanted` what is to be marched for it.
    pub(super) fn want(&mut self, piece: Piece, wanted: &mut Vec<Request>) {
        let (number, mut lacks) = (self.open.len(), 0);
        for request in piece.requests() {
            match self.known.entry(key(request.length, request.side)) {
                Entry::Vacant(place) => {
                    place.insert(Known::Wanted(vec![number]));
                    wanted.push(request);
                    lacks += 1;
                }
                Entry::Occupied(mut known) => {
                    if let Known::Wanted(by) = known.get_mut() {
                        by.push(number);
                        lacks += 1;
                    }
                }
            }
        }
        if lacks == 0 {
            self.judge(piece, wanted);
        } else {
            self.open.push(Some((piece, lacks)));
        }
    }

    /// Takes a metre; adds to `wanted` what is to be marched for the pieces that waited for it.
    pub(super) fn take(&mut self, metre: Metre, wanted: &mut Vec<Request>) {
        let there = Known::There(self.metres.len());
        let before = self.known.insert(key(metre.length, metre.side), there);
        self.metres.push(metre);
        let Some(Known::Wanted(by)) = before else { return };
        for number in by {
            if let Some((_, lacks)) = &mut self.open[number] {
                *lacks -= 1;
            }
            if let Some((piece, _)) = self.open[number].take_if(|(_, lacks)| *lacks == 0) {
                self.judge(piece, wanted);
            }
        }
    }

    fn judge(&mut self, piece: Piece, wanted: &mut Vec<Request>) {
        let of = |request: Request| match self.known.get(&key(request.length, request.side)) {
            Some(Known::There(index)) => *index,
            _ => 0,
        };
        let of: Vec<usize> = piece.requests().map(of).collect();
        match piece.judged(of, &self.metres, self.asked, self.close) {
            Judged::Settled(piece) => self.settled.push(piece),
            Judged::Finer(pieces) => pieces.into_iter().for_each(|piece| self.want(piece, wanted)),
        }
    }

    /// Its metres by length and side, and its pieces in order, which name them by their numbers.
    pub(super) fn in_order(self) -> (Vec<Metre>, Vec<Piece>) {
        let Settling { metres, settled: mut pieces, .. } = self;
        let mut order: Vec<(usize, Metre)> = metres.into_iter().enumerate().collect();
        sort_by_numbers(&mut order, |(_, metre)| [metre.length, f64::from(metre.side as u8)]);
        let mut place = vec![0; order.len()];
        order.iter().enumerate().for_each(|(new, (old, _))| place[*old] = new);
        pieces.iter_mut().for_each(|piece| piece.renumber(&place));
        sort_by_numbers(&mut pieces, Piece::span);
        (order.into_iter().map(|(_, metre)| metre).collect(), pieces)
    }
}
