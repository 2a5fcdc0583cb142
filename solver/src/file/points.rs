//! Lists of values: pairs and tables.

use toml::Spanned;
use toml::de::{DeArray, DeValue};

use super::entry::Entry;
use super::problem::Problems;
use super::words::{kind_of, sample, shown};
use crate::names::keys::Quantity;

/// Most points of a table.
const MOST_POINTS: usize = 1000;

impl<'a> Entry<'a> {
    /// Two values, the second above the first.
    pub(super) fn pair(&self, problems: &mut Problems) -> Option<[f64; 2]> {
        self.two(self.key.kind.quantity()?, problems)
    }

    /// Two values of a quantity, the second above the first.
    pub(super) fn two(&self, quantity: Quantity, problems: &mut Problems) -> Option<[f64; 2]> {
        let array = self.array(problems)?;
        let [first, second] = &array[..] else {
            self.wrong(
                problems,
                format!("{} values, two were expected", array.len()),
                "not two values",
                self.example(),
            );
            return None;
        };
        let (low, high) = (self.read_value(first, quantity, problems), self.read_value(second, quantity, problems));
        let (low, high) = (low?, high?);
        if high <= low {
            self.wrong(problems, "the second value is not above the first", "not rising", self.example());
            return None;
        }
        Some([low, high])
    }

    /// Pairs of values, the first of each strictly rising.
    pub(super) fn points(&self, x: Quantity, y: Quantity, problems: &mut Problems) -> Option<Vec<[f64; 2]>> {
        let array = self.array(problems)?;
        if array.is_empty() || array.len() > MOST_POINTS {
            self.wrong(
                problems,
                format!("{} points; 1 to {MOST_POINTS} are possible", array.len()),
                if array.is_empty() { "no points" } else { "too many points" },
                self.example(),
            );
            return None;
        }
        let mut points: Vec<[f64; 2]> = Vec::with_capacity(array.len());
        let mut whole = true;
        for item in array.iter() {
            let Some(point) = self.point(item, x, y, problems) else {
                whole = false;
                continue;
            };
            if let Some(last) = points.last()
                && point[0] <= last[0]
            {
                let show = |value| shown(value, x.dimension);
                problems.add(
                    &item.span(),
                    &self.path,
                    format!("{} follows {}: the points are not in rising order", show(point[0]), show(last[0])),
                    "not above the point before it",
                    "sort the points by their first value and give each of these once",
                );
                whole = false;
            }
            points.push(point);
        }
        whole.then_some(points)
    }

    fn point(
        &self,
        item: &'a Spanned<DeValue<'a>>,
        x: Quantity,
        y: Quantity,
        problems: &mut Problems,
    ) -> Option<[f64; 2]> {
        let pair = item.get_ref().as_array().map(|array| &array[..]);
        let Some([first, second]) = pair else {
            problems.add(
                &item.span(),
                &self.path,
                format!("{}, a pair in brackets was expected", kind_of(item.get_ref())),
                "not a pair",
                format!("[[{}, {}], ...]", sample(x.dimension), sample(y.dimension)),
            );
            return None;
        };
        let (first, second) = (self.read_value(first, x, problems), self.read_value(second, y, problems));
        Some([first?, second?])
    }

    /// The items of an array.
    pub(crate) fn array(&self, problems: &mut Problems) -> Option<&'a DeArray<'a>> {
        let array = self.value.get_ref().as_array();
        if array.is_none() {
            let found = kind_of(self.value.get_ref());
            self.wrong(problems, format!("{found}, a list in brackets was expected"), "not a list", self.example());
        }
        array
    }
}
