//! Meshes of a layer: edges graded from its faces, no physics.

/// How fine a layer must be: size(x) = min(inner + growth d_inner, outer + growth d_outer, largest).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sizing {
    /// Interval size wanted at the inner face, m (infinite where it asks for nothing).
    pub inner: f64,
    /// Interval size wanted at the outer face, m.
    pub outer: f64,
    /// Growth of the size per distance from a face, > 0.
    pub growth: f64,
    /// Largest interval, m.
    pub largest: f64,
}

impl Sizing {
    /// Edges of a layer from `start` to `end` (m): n = ceil(integral of dx/size) intervals, equal parts of the integral;
    /// with `refinement` r, ceil(r n) of them.
    ///
    /// Returns `Err(n)` when more than `allowed` intervals would be needed.
    ///
    /// ```
    /// use quenchway::slice::mesh::Sizing;
    /// let even = Sizing { inner: f64::INFINITY, outer: f64::INFINITY, growth: 0.3, largest: 0.25 };
    /// assert_eq!(even.edges(1.0, 2.0, 1.0, 100).unwrap(), vec![1.0, 1.25, 1.5, 1.75, 2.0]);
    /// assert_eq!(even.edges(1.0, 2.0, 2.0, 100).unwrap().len(), 9);
    /// ```
    ///
    /// # Errors
    ///
    /// How many intervals would be needed, where that is more than `allowed`.
    pub fn edges(&self, start: f64, end: f64, refinement: f64, allowed: usize) -> Result<Vec<f64>, usize> {
        let width = end - start;
        let (reach_inner, reach_outer) = self.reaches(width);
        let flat = (width - reach_inner - reach_outer).max(0.0);
        let graded = |size: f64, reach: f64| {
            if reach > 0.0 { libm::log1p(self.growth * reach / size) / self.growth } else { 0.0 }
        };
        let (part_inner, part_outer) = (graded(self.inner, reach_inner), graded(self.outer, reach_outer));
        let part_flat = if flat > 0.0 { flat / self.largest } else { 0.0 };
        let total = part_inner + part_flat + part_outer;
        // The slack keeps a product that is whole but for rounding from growing by one.
        let n = (total.ceil().max(1.0) * refinement - 1e-9).ceil().max(1.0);
        if n > allowed as f64 {
            return Err(n.min(1e9) as usize);
        }
        let distance_of = |size: f64, part: f64| libm::expm1(part * self.growth) * size / self.growth;
        let n = n as usize;
        let mut edges = Vec::with_capacity(n + 1);
        edges.push(start);
        for i in 1..n {
            let part = total * i as f64 / n as f64;
            edges.push(if part <= part_inner {
                start + distance_of(self.inner, part)
            } else if part <= part_inner + part_flat {
                start + reach_inner + (part - part_inner) * self.largest
            } else {
                end - distance_of(self.outer, total - part)
            });
        }
        edges.push(end);
        Ok(edges)
    }

    /// How far the gradings from the inner and the outer face reach, m.
    fn reaches(&self, width: f64) -> (f64, f64) {
        let reach = |size: f64| if size.is_finite() { (self.largest - size).max(0.0) / self.growth } else { 0.0 };
        let (inner, outer) = (reach(self.inner), reach(self.outer));
        if inner + outer <= width {
            return (inner, outer);
        }
        match (self.inner.is_finite(), self.outer.is_finite()) {
            (true, true) => {
                let meet = (self.outer - self.inner + self.growth * width) / (2.0 * self.growth);
                let meet = meet.clamp(0.0, width);
                (meet.min(inner), (width - meet).min(outer))
            }
            (true, false) => (inner.min(width), 0.0),
            _ => (0.0, outer.min(width)),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::Sizing;

    /// Edges share the integral of dx/size into equal parts, none above one, and no fewer would do.
    #[test]
    fn intervals_are_equal_parts_of_the_integral() {
        const NONE: f64 = f64::INFINITY;
        for (inner, outer, largest, width) in [
            (0.01, 0.02, 0.2, 3.0),
            (0.01, 0.02, 0.2, 1.0),
            (0.01, 0.02, NONE, 1.0),
            (0.3, 0.01, NONE, 0.5),
            (0.01, 0.3, 0.12, 0.5),
            (0.02, NONE, 0.1, 1.0),
            (0.02, NONE, NONE, 1.0),
            (NONE, 0.02, 0.1, 1.0),
            (NONE, 0.02, NONE, 1.0),
            (NONE, NONE, 0.07, 1.0),
            (0.5, 0.5, 0.1, 1.0),
            (0.04, 0.06, 0.1, 0.45),
        ] {
            let growth = 0.3;
            let size = |x: f64| (inner + growth * x).min(outer + growth * (width - x)).min(largest);
            let sizing = Sizing { inner, outer, growth, largest };
            let edges = sizing.edges(2.0, 2.0 + width, 1.0, 1000).unwrap();
            // A size wanted above the largest allowed one counts as the largest: the midpoint rule sees that by itself.
            let parts: Vec<f64> = edges
                .windows(2)
                .map(|pair| {
                    let step = (pair[1] - pair[0]) / 2000.0;
                    (0..2000).map(|i| step / size(pair[0] - 2.0 + (f64::from(i) + 0.5) * step)).sum()
                })
                .collect();
            let total: f64 = parts.iter().sum();
            for part in &parts {
                // The midpoint rule in 2000 steps, and one corner of the size in an interval.
                assert!((part - total / parts.len() as f64).abs() < 1e-5, "{sizing:?}: {parts:?}");
            }
            assert_eq!(parts.len(), (total - 1e-6).ceil() as usize, "{sizing:?}: {total}");
            assert_eq!((edges[0], edges[edges.len() - 1]), (2.0, 2.0 + width));
        }
    }

    #[test]
    fn more_intervals_than_allowed_are_refused() {
        let even = Sizing { inner: f64::INFINITY, outer: f64::INFINITY, growth: 0.3, largest: 0.01 };
        assert_eq!(even.edges(0.0, 1.0, 1.0, 100).unwrap().len(), 101);
        assert_eq!(even.edges(0.0, 1.0, 1.0, 99), Err(100));
    }
}
