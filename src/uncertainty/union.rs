//! The union of the inputs of several measurements: what they share is one input.

use super::{Input, InputSet};
use crate::error::{Error, Result};
use crate::scalar::Scalar;
use std::collections::{HashMap, HashSet};

/// What a measurement, such as a run of a verification, makes of an input of the union.
///
/// An uncertainty that depends on the state of a run (that of a profile law on the Reynolds number, that of a
/// percentage on the reading) is one uncertainty of different size in each: the same deviation, scaled.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Term {
    /// Which input.
    pub(crate) input: usize,
    /// Its estimate in the union.
    centre: f64,
    /// The estimate that the run has for it.
    estimate: f64,
    /// The standard uncertainty that the run has for it, over that in the union.
    pub(crate) scale: f64,
    /// Whether it is the mean of repeated readings of this run alone, whose scatter shows in the
    /// scatter of the runs.
    pub(crate) scatters: bool,
}

impl Term {
    /// The value for the run.
    pub(crate) fn value<S: Scalar>(&self, x: &[S]) -> S {
        let x = x[self.input];
        if self.scale == 1.0 && self.estimate == self.centre {
            return x;
        }
        (x - self.centre) * self.scale + self.estimate
    }

    /// The estimate for the run.
    pub(crate) fn at_estimate<S: Scalar>(&self) -> S {
        S::constant(self.estimate)
    }
}

/// An input as one of the measurements knows it.
#[derive(Debug, Clone)]
pub(crate) struct Own {
    /// Its name in the union.
    pub(crate) name: String,
    pub(crate) input: Input,
    pub(crate) scatters: bool,
}

/// Collects the inputs of measurements.
#[derive(Debug, Clone, Default)]
pub(crate) struct Union {
    /// The input with the largest uncertainty of each name.
    inputs: Vec<Input>,
    places: HashMap<String, usize>,
    pairs: Vec<(String, String, f64)>,
    /// The names of the pairs, in alphabetical order.
    paired: HashSet<[String; 2]>,
}

impl Union {
    /// Takes in an input; its place is returned.
    pub(crate) fn take(&mut self, own: &Own) -> usize {
        match self.places.get(&own.name) {
            Some(&place) => {
                let known = &mut self.inputs[place];
                if own.input.standard_uncertainty() > known.standard_uncertainty() {
                    *known = own.input.clone().named(own.name.as_str());
                }
                place
            }
            None => {
                let place = self.inputs.len();
                self.inputs.push(own.input.clone().named(own.name.as_str()));
                self.places.insert(own.name.clone(), place);
                place
            }
        }
    }

    /// Takes in a correlation between two inputs of the union; once is enough.
    pub(crate) fn correlate(&mut self, a: &str, b: &str, coefficient: f64) {
        let names = if a <= b { [a, b] } else { [b, a] };
        if self.paired.insert(names.map(str::to_owned)) {
            self.pairs.push((a.to_owned(), b.to_owned(), coefficient));
        }
    }

    /// Refuses a name that no input has.
    pub(crate) fn check_name(&self, name: &str) -> Result<()> {
        if self.places.contains_key(name) {
            return Ok(());
        }
        let names: Vec<&str> = self.inputs.iter().map(Input::name).collect();
        Err(Error::unknown_name("correlation.between", name, &names))
    }

    /// The terms of a run, once all inputs are known.
    pub(crate) fn terms(&self, own: &[Own]) -> Vec<Term> {
        let term = |own: &Own| {
            let input = self.places[&own.name];
            let (mine, all) = (&own.input, &self.inputs[input]);
            let (u, largest) = (mine.standard_uncertainty(), all.standard_uncertainty());
            Term {
                input,
                centre: all.estimate(),
                estimate: mine.estimate(),
                scale: if u == largest { 1.0 } else { u / largest },
                scatters: own.scatters,
            }
        };
        own.iter().map(term).collect()
    }

    /// The inputs with their correlations.
    ///
    /// # Errors
    /// Those of [`InputSet::correlated`].
    pub(crate) fn into_inputs(self) -> Result<InputSet> {
        InputSet::correlated(self.inputs, &self.pairs)
    }
}
