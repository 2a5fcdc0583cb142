//! Tridiagonal systems: factorised once, solved for many right-hand sides.

/// A factorised tridiagonal matrix.
#[derive(Clone, Debug, Default)]
pub struct Tridiagonal {
    /// Row i, column i - 1 (entry 0 unused).
    pub lower: Vec<f64>,
    /// Row i, column i; after `factor` the inverse pivots.
    pub diagonal: Vec<f64>,
    /// Row i, column i + 1 (last entry unused).
    pub upper: Vec<f64>,
}

impl Tridiagonal {
    /// A matrix of `n` rows, all zero.
    pub fn new(n: usize) -> Tridiagonal {
        Tridiagonal { lower: vec![0.0; n], diagonal: vec![0.0; n], upper: vec![0.0; n] }
    }

    /// Gaussian elimination of the first `n` rows, without pivoting (sound for diagonally dominant ones); replaces them by
    /// their factors.
    ///
    /// After it `lower[i]` holds the multiplier of row i - 1, `diagonal[i]` the inverse pivot and `upper[i]` the entry
    /// divided by the pivot, so that each substitution has one product and one difference in its chain.
    #[inline(always)]
    pub fn factor(&mut self, n: usize) {
        let (lower, diagonal, upper) = (&mut self.lower[..n], &mut self.diagonal[..n], &mut self.upper[..n]);
        let mut inverse = 1.0 / diagonal[0];
        diagonal[0] = inverse;
        for i in 1..n {
            let above = upper[i - 1];
            let scaled = above * inverse;
            upper[i - 1] = scaled;
            let own = lower[i];
            lower[i] = own * inverse;
            inverse = 1.0 / (diagonal[i] - own * scaled);
            diagonal[i] = inverse;
        }
    }

    /// Solves in place for one right-hand side of as many rows as were factorised.
    ///
    /// ```
    /// use quenchway::tridiagonal::Tridiagonal;
    /// let mut a = Tridiagonal { lower: vec![0.0, -1.0], diagonal: vec![2.0, 2.0], upper: vec![-1.0, 0.0] };
    /// a.factor(2);
    /// let mut x = [3.0, 0.0];
    /// a.solve(&mut x);
    /// assert!((x[0] - 2.0).abs() < 1e-15 && (x[1] - 1.0).abs() < 1e-15);
    /// ```
    #[inline(always)]
    pub fn solve(&self, x: &mut [f64]) {
        let n = x.len();
        let (lower, upper, inverse) = (&self.lower[..n], &self.upper[..n], &self.diagonal[..n]);
        let mut previous = x[0];
        for i in 1..n {
            previous = x[i] - lower[i] * previous;
            x[i] = previous;
        }
        let mut next = previous * inverse[n - 1];
        x[n - 1] = next;
        for i in (0..n - 1).rev() {
            next = x[i] * inverse[i] - upper[i] * next;
            x[i] = next;
        }
    }
}
