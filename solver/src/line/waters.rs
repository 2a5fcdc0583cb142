//! Water whose temperature changes over clock time: a table of moments with a cubic between neighbours, constant beyond.

/// Of each section the water's temperature over clock time; none where the medium is held.
#[derive(Clone, Debug, PartialEq)]
pub struct Waters(pub Vec<Option<Over>>);

/// A temperature over clock time.
#[derive(Clone, Debug, PartialEq)]
pub struct Over {
    /// Moments in rising order: time, s; temperature, degC; its change, K/s.
    pub nodes: Vec<[f64; 3]>,
}

impl Waters {
    /// That of a section.
    pub(crate) fn of(&self, section: usize) -> Option<&Over> {
        self.0.get(section)?.as_ref()
    }
}

impl Over {
    /// Always one temperature.
    pub fn constant(temperature: f64) -> Over {
        Over { nodes: vec![[0.0, temperature, 0.0]] }
    }

    /// The temperature at a moment, degC.
    pub fn at(&self, time: f64) -> f64 {
        self.value_and_rate(time)[0]
    }

    /// Its change at a moment, K/s.
    pub fn rate(&self, time: f64) -> f64 {
        self.value_and_rate(time)[1]
    }

    fn value_and_rate(&self, time: f64) -> [f64; 2] {
        let next = self.nodes.partition_point(|node| node[0] <= time);
        let (Some(before), Some(behind)) = (next.checked_sub(1).map(|index| self.nodes[index]), self.nodes.get(next))
        else {
            // Before the first and behind the last.
            let held = if next == 0 { self.nodes.first() } else { self.nodes.last() };
            return [held.map_or(f64::NAN, |node| node[1]), 0.0];
        };
        let ([t0, y0, d0], [t1, y1, d1]) = (before, *behind);
        let span = t1 - t0;
        let u = (time - t0) / span;
        let rise = (y1 - y0) / span;
        // y = y0 + span u (d0 + u (3 rise - 2 d0 - d1 + u (d0 + d1 - 2 rise))).
        let (square, cube) = (3.0 * rise - 2.0 * d0 - d1, d0 + d1 - 2.0 * rise);
        let value = y0 + span * u * (d0 + u * (square + u * cube));
        [value, d0 + u * (2.0 * square + 3.0 * u * cube)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cubic_is_met_and_its_ends_are_held() {
        let cubic = |t: f64| [t, 2.0 + t * (1.0 - t * t), 1.0 - 3.0 * t * t];
        let over = Over { nodes: vec![cubic(0.0), cubic(0.4), cubic(1.0)] };
        for time in [0.0, 0.1, 0.4, 0.77] {
            let [_, value, rate] = cubic(time);
            assert!((over.at(time) - value).abs() < 1e-14 && (over.rate(time) - rate).abs() < 1e-14, "{time}");
        }
        assert_eq!([over.at(-3.0), over.rate(-3.0)], [2.0, 0.0]);
        assert_eq!([over.at(5.0), over.rate(5.0)], [2.0, 0.0]);
        assert_eq!([Over::constant(16.0).at(7.0), Over::constant(16.0).rate(7.0)], [16.0, 0.0]);
    }
}
