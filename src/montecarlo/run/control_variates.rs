//! What is known beforehand of an output, and what that says about its figures.

use crate::error::Result;
use crate::montecarlo::engine::BlockModel;
use crate::scalar::InstructionSet;
use crate::uncertainty::{Distribution, InputSet, Output};

/// The first-order part `L = sum_i c_i (x_i - E x_i)` of an output, whose mean is zero and whose
/// variance is known exactly: a control variate. By default nothing is known.
#[derive(Default)]
pub(super) struct FirstOrder {
    terms: Vec<Term>,
    variance: f64,
}

struct Term {
    input: usize,
    sensitivity: f64,
    mean: f64,
}

impl FirstOrder {
    /// Those of all outputs of a model; nothing is known of one without sensitivity coefficients.
    pub fn of_outputs<M: BlockModel + ?Sized>(model: &M, inputs: &InputSet) -> Vec<FirstOrder> {
        let outputs = model.output_quantities().len();
        let fitting = |rows: &Vec<Vec<f64>>| {
            let inputs = inputs.inputs().len();
            rows.len() == outputs && rows.iter().all(|row| row.len() == inputs)
        };
        let known = with_known_covariances(inputs);
        match model.sensitivities(inputs).filter(fitting) {
            Some(rows) => rows
                .iter()
                .map(|c| FirstOrder::new(inputs, &known, c))
                .collect(),
            None => (0..outputs).map(|_| FirstOrder::default()).collect(),
        }
    }

    /// That of an output with these sensitivity coefficients, over the inputs whose covariances
    /// are known: all but those that a copula joins.
    fn new(inputs: &InputSet, known: &[usize], sensitivities: &[f64]) -> FirstOrder {
        let deviation = |i: usize| inputs.inputs()[i].distribution().variance().sqrt();
        let contribution = |i: usize| sensitivities[i] * deviation(i);
        let own = known.iter().map(|i| contribution(*i) * contribution(*i));
        let pairs = inputs.correlations().pairs();
        let shared = pairs
            .filter(|(i, j, _)| known.contains(i) && known.contains(j))
            .map(|(i, j, r)| 2.0 * r * contribution(i) * contribution(j));
        let variance = own.sum::<f64>() + shared.sum::<f64>();
        let terms = known.iter().map(|i| Term {
            input: *i,
            sensitivity: sensitivities[*i],
            mean: inputs.inputs()[*i].distribution().mean(),
        });
        FirstOrder {
            terms: terms.collect(),
            variance,
        }
    }

    /// The values of the part at a block of trials.
    fn values(&self, x: &[&[f64]], size: usize) -> Vec<f64> {
        let mut values = vec![0.0; size];
        for term in &self.terms {
            for (value, x) in values.iter_mut().zip(x[term.input]) {
                *value += term.sensitivity * (x - term.mean);
            }
        }
        values
    }

    /// Mean and standard uncertainty of an output with these values at evenly spread points, where
    /// the part has those.
    ///
    /// ```text
    /// mean = m(y) - b m(L),   u^2 = s^2(y) + b^2 (Var L - s^2(L)),   b = s(y, L) / s^2(L)
    /// ```
    /// with means of squares, not divided by one less than the number of points: the mean of evenly
    /// spread points is far nearer to the true one than that of random trials.
    ///
    /// # Source
    /// P. Glasserman, *Monte Carlo Methods in Financial Engineering*, Springer 2004, section 4.1, for
    /// the mean (from memory); the same regression gives the variance.
    pub fn controlled(&self, values: &[f64], part: &[f64]) -> (f64, f64) {
        let n = values.len() as f64;
        let mean = |values: &[f64]| {
            let first = values.first().copied().unwrap_or(f64::NAN);
            first + values.iter().map(|v| v - first).sum::<f64>() / n
        };
        let (mean_y, mean_l) = (mean(values), mean(part));
        let (mut yy, mut yl, mut ll) = (0.0, 0.0, 0.0);
        for (y, l) in values.iter().zip(part) {
            let (y, l) = (y - mean_y, l - mean_l);
            yy += y * y;
            yl += y * l;
            ll += l * l;
        }
        let slope = if ll > 0.0 { yl / ll } else { 0.0 };
        // what the part does not explain, and what it is known to contribute
        let left = (yy - slope * yl).max(0.0) / n;
        let variance = left + slope * slope * self.variance;
        (mean_y - slope * mean_l, variance.sqrt())
    }
}

/// The inputs whose covariances with each other are those of their correlation coefficients.
fn with_known_covariances(inputs: &InputSet) -> Vec<usize> {
    let (all, correlations) = (inputs.inputs(), inputs.correlations());
    let known = |i: &usize| {
        let correlated = |j: &usize| j != i && correlations.coefficient(*i, *j) != 0.0;
        let mut partners = (0..all.len()).filter(correlated);
        match inputs.joint_t().iter().find(|g| g.members.contains(i)) {
            // of a multivariate t distribution they are, but not with what is outside of it
            Some(group) => partners.all(|j| group.members.contains(&j)),
            // of others the coefficient is that of the normal deviates behind them
            None => {
                let normal = matches!(all[*i].distribution(), Distribution::Normal { .. });
                normal || partners.next().is_none()
            }
        }
    };
    (0..all.len()).filter(known).collect()
}

/// A model with the first-order part of each output as a further output.
pub(super) struct WithFirstOrder<'a> {
    pub model: &'a dyn BlockModel,
    pub parts: &'a [FirstOrder],
}

impl BlockModel for WithFirstOrder<'_> {
    fn output_quantities(&self) -> Vec<Output> {
        let outputs = self.model.output_quantities();
        [outputs.clone(), outputs].concat()
    }
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        let mut values = self.model.evaluate_block(x, size)?;
        values.extend(self.parts.iter().map(|part| part.values(x, size)));
        Ok(values)
    }
    fn block_size(&self) -> u64 {
        self.model.block_size()
    }
    fn instruction_set(&self) -> Result<InstructionSet> {
        self.model.instruction_set()
    }
    fn sequential(&self) -> bool {
        self.model.sequential()
    }
}
