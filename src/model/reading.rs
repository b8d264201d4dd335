//! The model as a function of one reading, and what the meter would read.

use super::{Intermediates, Quantity, SiteModel};
use crate::scalar::Dual;

/// The measurement model as a function of one of its readings, all else at its estimate.
pub(crate) struct Reading {
    model: SiteModel,
    estimates: Vec<f64>,
    /// The place of the reading among the inputs.
    place: usize,
}

/// Steps with their slopes along a reading.
type Steps = Intermediates<Dual<f64, 1>>;

impl Reading {
    /// `estimates` are those of all inputs, the reading of `q` among them.
    pub(crate) fn of(model: SiteModel, estimates: Vec<f64>, q: Quantity) -> Reading {
        let place = model.terms().iter().position(|other| *other == q);
        Reading {
            model,
            estimates,
            place: place.unwrap_or_default(), // always there: it was added
        }
    }

    /// The estimate of the reading.
    pub(crate) fn estimate(&self) -> f64 {
        self.estimates.get(self.place).copied().unwrap_or_default()
    }

    /// Every step at a value of the reading, with its slope.
    pub(crate) fn steps(&self, reading: f64) -> Steps {
        let mut x: Vec<Dual<f64, 1>> = self.estimates.iter().copied().map(Dual::fixed).collect();
        if let Some(own) = x.get_mut(self.place) {
            *own = Dual::variable(reading, 0);
        }
        self.model.steps(&x)
    }

    /// The reading at which a step has the value `wanted`, to first order from no reading: exact for
    /// a step that is linear in the reading, as those are that a meter reads.
    pub(crate) fn at_which(&self, step: fn(&Steps) -> Dual<f64, 1>, wanted: f64) -> f64 {
        let from_nothing = step(&self.steps(0.0));
        (wanted - from_nothing.value) / from_nothing.gradient[0]
    }
}
