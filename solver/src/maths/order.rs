//! Things in the order of a number or of a text that each has: one sort for things of every kind, compiled once.

use std::cmp::Ordering;

/// Sorts by a number, the lowest first, in the order of [`f64::total_cmp`]; things of one number stay in their order.
///
/// Minus zero comes before zero, and what is not a number at the end that its sign says. With the sign of every number turned
/// the order is the opposite one, exactly.
pub fn sort_by_number<T>(things: &mut [T], number: impl Fn(&T) -> f64) {
    sort_by_numbers(things, |thing| [number(thing), 0.0]);
}

/// As [`sort_by_number`]; things of one first number by the second.
pub fn sort_by_numbers<T>(things: &mut [T], numbers: impl Fn(&T) -> [f64; 2]) {
    let keys: Vec<[f64; 2]> = things.iter().map(numbers).collect();
    arrange(things, places(&keys, by_numbers));
}

/// Sorts by a text, in the order of its bytes; things of one text stay in their order.
pub fn sort_by_text<T>(things: &mut [T], text: impl Fn(&T) -> &str) {
    let keys: Vec<&str> = things.iter().map(text).collect();
    let places = places(&keys, Ord::cmp);
    arrange(things, places);
}

fn by_numbers(a: &[f64; 2], b: &[f64; 2]) -> Ordering {
    a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
}

/// Where each key goes. It knows no thing, so that the sort is not compiled for every kind of them.
fn places<K>(keys: &[K], compare: fn(&K, &K) -> Ordering) -> Vec<usize> {
    let mut order: Vec<usize> = (0..keys.len()).collect();
    order.sort_unstable_by(|&a, &b| compare(&keys[a], &keys[b]).then(a.cmp(&b)));
    let mut places = vec![0; order.len()];
    order.into_iter().enumerate().for_each(|(place, index)| places[index] = place);
    places
}

/// Moves each thing to its place.
fn arrange<T>(things: &mut [T], mut places: Vec<usize>) {
    for index in 0..things.len() {
        // Every swap brings one thing to where it stays.
        while places[index] != index {
            let place = places[index];
            things.swap(index, place);
            places.swap(index, place);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const NUMBERS: [f64; 9] = [2.0, -f64::NAN, 0.0, f64::NAN, -0.0, f64::INFINITY, -1.0, f64::NEG_INFINITY, 1e-300];

    /// Every two of the numbers with a name of their own, in an order that is none, each pair of numbers twice.
    fn things() -> Vec<([f64; 2], String)> {
        let pair = |index: usize| [NUMBERS[index * 7 % 9], NUMBERS[index / 9 % 9]];
        (0..162).map(|index| (pair(index), format!("{}", (index * 37) % 162))).collect()
    }

    /// Names in order: what is not a number is not equal to itself.
    fn names(things: &[([f64; 2], String)]) -> Vec<&str> {
        things.iter().map(|(_, name)| name.as_str()).collect()
    }

    #[test]
    fn numbers_come_as_the_stable_sort_has_them() {
        let (mut own, mut known) = (things(), things());
        sort_by_number(&mut own, |(pair, _)| pair[0]);
        known.sort_by(|(a, _), (b, _)| a[0].total_cmp(&b[0]));
        assert_eq!(names(&own), names(&known));
        sort_by_number(&mut own, |(pair, _)| -pair[0]);
        known.sort_by(|(a, _), (b, _)| b[0].total_cmp(&a[0]));
        assert_eq!(names(&own), names(&known));
    }

    #[test]
    fn two_numbers_come_as_the_stable_sort_has_them() {
        let (mut own, mut known) = (things(), things());
        sort_by_numbers(&mut own, |(pair, _)| *pair);
        known.sort_by(|(a, _), (b, _)| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        assert_eq!(names(&own), names(&known));
    }

    #[test]
    fn texts_come_as_the_stable_sort_has_them() {
        let (mut own, mut known) = (things(), things());
        sort_by_text(&mut own, |(_, name)| &name[..1]);
        known.sort_by(|(_, a), (_, b)| a[..1].cmp(&b[..1]));
        assert_eq!(names(&own), names(&known));
    }

    #[test]
    fn none_and_one_stay() {
        let (mut none, mut one) = ([0.0; 0], [f64::NAN]);
        sort_by_number(&mut none, |number| *number);
        sort_by_number(&mut one, |number| *number);
        assert!(one[0].is_nan());
        sort_by_text(&mut none, |_| "");
        sort_by_text(&mut one, |_| "");
        assert!(one[0].is_nan());
    }
}
