//! The least total effort that brings a variance down: a convex problem with an exact solution.

/// Inputs that are improved together, as far as the variance of the result is concerned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Improvable {
    /// What the inputs contribute to the variance of the result.
    pub variance: f64,
    /// The price of effort, above 0.
    pub cost: f64,
    /// The smallest fraction of the standard uncertainty that can be reached, 0 to 1.
    pub lowest: f64,
}

impl Improvable {
    /// The effort of bringing the standard uncertainty down to the fraction `s` of what it is.
    ///
    /// ```text
    /// E(s) = cost (1/s - 1)
    /// ```
    /// Nothing for leaving it as it is, `cost` for halving it, without bound for a perfect input.
    /// Our choice: convex, and the same price for each halving relative to what is left.
    pub fn effort(&self, fraction: f64) -> f64 {
        self.cost * (1.0 / fraction - 1.0)
    }

    /// Cube root of `cost / (2 variance)`: the fraction of least effort over that of all others.
    fn scale(&self) -> f64 {
        libm::cbrt(self.cost / (2.0 * self.variance))
    }

    fn fraction(&self, tau: f64) -> f64 {
        // an input without effect is left as it is
        if self.variance > 0.0 {
            (self.scale() * tau).max(self.lowest).min(1.0)
        } else {
            1.0
        }
    }
}

/// The fractions `s_i` of the standard uncertainties that meet a variance with the least total
/// effort; `None` where the variance is below what can be reached.
///
/// ```text
/// minimise sum_i c_i (1/s_i - 1)   subject to   F + sum_i v_i s_i^2 <= V,   l_i <= s_i <= 1
/// ```
/// Convex in `s`. With the multiplier `lambda` of the variance, the conditions of Karush, Kuhn and
/// Tucker are `c_i / s_i^2 = 2 lambda v_i s_i` between the bounds, so that
///
/// ```text
/// s_i = clamp(tau (c_i / (2 v_i))^(1/3), l_i, 1),   tau = lambda^(-1/3)
/// ```
/// The variance rises with `tau` and is a parabola between the values at which an input meets a
/// bound, so the root is in closed form once its interval is found.
///
/// # Source
/// S. Boyd and L. Vandenberghe, *Convex Optimization*, Cambridge 2004, 5.5.3 (conditions) and
/// example 5.2 (water-filling); from memory.
///
/// # Example
/// ```
/// use flowdoubt::plan::{least_effort, Improvable};
/// // two inputs of equal effect and price share the work: each variance goes down to a half
/// let one = Improvable { variance: 2.0, cost: 1.0, lowest: 0.0 };
/// let fractions = least_effort(1.0, &[one, one], 3.0).expect("reachable");
/// assert!(fractions.iter().all(|s| (s - 0.5_f64.sqrt()).abs() < 1e-15));
/// ```
pub fn least_effort(fixed_variance: f64, inputs: &[Improvable], variance: f64) -> Option<Vec<f64>> {
    let fractions = |tau: f64| -> Vec<f64> { inputs.iter().map(|i| i.fraction(tau)).collect() };
    let at = |tau: f64| {
        let parts = inputs.iter().zip(fractions(tau));
        fixed_variance + parts.map(|(i, s)| i.variance * s * s).sum::<f64>()
    };
    // where an input leaves the upper bound or meets the lower one, and no improvement at all
    let effective = || inputs.iter().filter(|i| i.variance > 0.0);
    let mut bounds: Vec<f64> = effective()
        .flat_map(|i| [1.0 / i.scale(), i.lowest / i.scale()])
        .chain([0.0])
        .collect();
    bounds.sort_by(f64::total_cmp);
    let most = bounds.last().copied().unwrap_or(0.0);
    if variance >= at(most) {
        return Some(fractions(most));
    }
    if variance.is_nan() || variance < at(0.0) {
        return None;
    }
    let above = bounds.partition_point(|tau| at(*tau) <= variance);
    let (low, high) = (bounds[above - 1], bounds[above]);
    let middle = 0.5 * (low + high);
    let (mut held, mut free) = (fixed_variance, 0.0);
    for input in inputs {
        let scale = input.scale();
        let fraction = input.fraction(middle);
        if input.variance > 0.0 && fraction > input.lowest && fraction < 1.0 {
            free += input.variance * scale * scale;
        } else {
            held += input.variance * fraction * fraction;
        }
    }
    let tau = ((variance - held) / free).sqrt();
    Some(fractions(tau.max(low).min(high)))
}
