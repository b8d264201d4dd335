//! Sums over rows, from which the total and its budget follow.

use crate::evaluate::Channel;
use crate::model::Quantity;
use crate::profile::Regime;

/// A channel of the readings as an input of the model.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    pub(super) channel: Channel,
    /// Its place among the inputs.
    pub(super) place: usize,
    /// The standard deviation of a single reading.
    pub(super) scatter: f64,
}

/// An uncertainty whose size depends on the state of the row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Varying {
    /// Its place among the inputs.
    pub(super) place: usize,
    pub(super) quantity: Quantity,
    /// Its standard uncertainty where an in-situ calibration does not cover it, if that is the same
    /// in all rows.
    pub(super) uncovered: Option<f64>,
}

/// Sums over the rows of a block for an uncertainty whose size varies: one deviation, scaled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scaled {
    /// `sum w c s`, where `s` is the size in the row.
    pub(super) contribution: f64,
    /// `sum |w c|` and `sum |w c| s`, for the mean size.
    pub(super) weight: f64,
    pub(super) weighted: f64,
    pub(super) smallest: f64,
    pub(super) largest: f64,
}

/// Sums over rows. Adding them up in the order of the blocks gives the same bits on any number of
/// threads.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sums {
    pub(super) volume: f64,
    /// `sum w`, in s.
    pub(super) time: f64,
    /// `sum w c` for each input.
    pub(super) sensitivities: Vec<f64>,
    /// `sum (w c)^2` for each reading.
    pub(super) squares: Vec<f64>,
    pub(super) scaled: Vec<Scaled>,
    /// Time in s of rows below the low-flow cut-off, and their number.
    pub(super) idle_time: f64,
    pub(super) idle: usize,
    pub(super) laminar: usize,
    pub(super) transition: usize,
    /// Valid rows beyond the points of a calibration, the nearest of which is held, and beyond the
    /// Reynolds numbers of an in-situ calibration.
    pub(super) beyond: [usize; 2],
    /// Valid rows.
    pub(super) rows: usize,
}

impl Sums {
    pub(super) fn new(inputs: usize, readings: usize, varying: &[Varying]) -> Sums {
        let none = Scaled {
            contribution: 0.0,
            weight: 0.0,
            weighted: 0.0,
            smallest: f64::INFINITY,
            largest: 0.0,
        };
        Sums {
            volume: 0.0,
            time: 0.0,
            sensitivities: vec![0.0; inputs],
            squares: vec![0.0; readings],
            scaled: vec![none; varying.len()],
            idle_time: 0.0,
            idle: 0,
            laminar: 0,
            transition: 0,
            beyond: [0; 2],
            rows: 0,
        }
    }

    /// Counts a row.
    pub(super) fn regime(&mut self, regime: Regime, valid: bool) {
        if valid {
            self.rows += 1;
            self.laminar += usize::from(regime == Regime::Laminar);
            self.transition += usize::from(regime == Regime::Transition);
        }
    }

    /// Counts a valid row that is beyond points of a calibration, or beyond the Reynolds numbers of an
    /// in-situ calibration.
    pub(super) fn calibrated(&mut self, beyond: [bool; 2]) {
        for (count, beyond) in self.beyond.iter_mut().zip(beyond) {
            *count += usize::from(beyond);
        }
    }

    /// Adds the rows of a block; of those that are not valid all columns are zero.
    pub(super) fn add(
        &mut self,
        (readings, varying): (&[Reading], &[Varying]),
        weights: &[f64],
        flow: &[f64],
        sensitivities: &[Vec<f64>],
        widths: &[Vec<f64>],
    ) {
        let product = |column: &[f64]| -> f64 {
            let pairs = weights.iter().zip(column);
            pairs.map(|(weight, value)| weight * value).sum()
        };
        self.volume += product(flow);
        self.time += weights.iter().sum::<f64>();
        for (sum, column) in self.sensitivities.iter_mut().zip(sensitivities) {
            *sum += product(column);
        }
        for (sum, reading) in self.squares.iter_mut().zip(readings) {
            let column = &sensitivities[reading.place];
            let own = weights.iter().zip(column).map(|(w, c)| (w * c) * (w * c));
            *sum += own.sum::<f64>();
        }
        for ((scaled, varying), sizes) in self.scaled.iter_mut().zip(varying).zip(widths) {
            let column = &sensitivities[varying.place];
            for ((weight, sensitivity), size) in weights.iter().zip(column).zip(sizes) {
                let own = weight * sensitivity;
                scaled.contribution += own * size;
                scaled.weight += own.abs();
                scaled.weighted += own.abs() * size;
                if own != 0.0 {
                    scaled.smallest = scaled.smallest.min(*size);
                    scaled.largest = scaled.largest.max(*size);
                }
            }
        }
    }

    /// Adds the time of rows below the low-flow cut-off.
    pub(super) fn idle(&mut self, weights: &[f64], idle: &[bool]) {
        for (weight, _) in weights.iter().zip(idle).filter(|(_, idle)| **idle) {
            self.idle_time += weight;
            self.idle += 1;
        }
    }

    /// Adds the next block.
    pub(super) fn merge(&mut self, next: &Sums) {
        let add = |sums: &mut [f64], others: &[f64]| {
            sums.iter_mut().zip(others).for_each(|(a, b)| *a += b);
        };
        self.volume += next.volume;
        self.time += next.time;
        add(&mut self.sensitivities, &next.sensitivities);
        add(&mut self.squares, &next.squares);
        for (own, other) in self.scaled.iter_mut().zip(&next.scaled) {
            own.contribution += other.contribution;
            own.weight += other.weight;
            own.weighted += other.weighted;
            own.smallest = own.smallest.min(other.smallest);
            own.largest = own.largest.max(other.largest);
        }
        self.idle_time += next.idle_time;
        self.idle += next.idle;
        self.laminar += next.laminar;
        self.transition += next.transition;
        self.rows += next.rows;
        for (own, other) in self.beyond.iter_mut().zip(next.beyond) {
            *own += other;
        }
    }
}
