//! The measurement model row by row: flow, sensitivities and the sizes of uncertainties that depend on the
//! state, for blocks of rows at once.

use super::pulses_and_counters::CountedRows;
use super::sums::{Reading, Sums, Varying};
use super::{Faults, Reason, SeriesOptions};
use crate::error::{Error, Result};
use crate::evaluate::installation::check_flow;
use crate::evaluate::profile_inputs::ProfileUncertainty;
use crate::evaluate::{Channel, Log};
use crate::liquid::State;
use crate::model::{JUDGED, Judged, LiquidModel, Quantity, SiteModel};
use crate::montecarlo::Program;
use crate::profile::Regime;
use crate::scalar::{Dual, InstructionSet, Scalar};
use crate::site::Site;
use crate::uncertainty::{Input, InputSet};

/// Rows that are evaluated at once. Sums are taken block by block, so it is part of their bits.
pub(super) const BLOCK: usize = 1024;

/// Inputs whose derivatives are carried together.
const WIDTH: usize = 8;

/// What is the same in all rows.
pub(super) struct Rows<'a> {
    pub(super) site: &'a Site,
    pub(super) model: SiteModel,
    /// The inputs as they are in the first valid row.
    pub(super) inputs: InputSet,
    pub(super) readings: Vec<Reading>,
    pub(super) varying: Vec<Varying>,
    /// Straight pipe over which laminar flow develops, in inside diameters of the first valid row.
    run: f64,
    /// Correlated pairs of inputs with twice their coefficient.
    pub(super) pairs: Vec<(usize, usize, f64)>,
    faults: Faults,
    /// Low-flow cut-off in m3/s; 0 where there is none.
    pub(super) cut_off: f64,
    separate: bool,
    /// What a count is worth, where the flow was made of counts.
    pub(super) counted: Option<CountedRows>,
    program: Option<Program>,
    set: InstructionSet,
}

/// Places of the outputs of [`Rows::outputs`].
const FLOW: usize = 0;
const MEAN_VELOCITY: usize = 1;
const LAW: usize = 2;
const FRICTION: usize = 3;
const EXPECTED_TIME: usize = 4;
const TIME: usize = 5;
const STEPS: usize = 6;
const SENSITIVITIES: usize = STEPS + JUDGED;

/// A block of rows, evaluated.
pub(super) struct Block {
    pub(super) flow: Vec<f64>,
    pub(super) standard_uncertainty: Vec<f64>,
    pub(super) random_uncertainty: Vec<f64>,
    pub(super) reynolds: Vec<f64>,
    /// Places of rows within the block that are not used, with the reason.
    pub(super) refused: Vec<(usize, Reason)>,
    pub(super) sums: Sums,
    /// Sums of the parts of the total that the block has a share of, by their number.
    pub(super) parts: Vec<(usize, Sums)>,
    /// Sums of forward and of reverse flow, where they are asked for.
    pub(super) directions: Option<[Sums; 2]>,
}

impl<'a> Rows<'a> {
    pub(super) fn new(
        site: &'a Site,
        model: SiteModel,
        inputs: InputSet,
        readings: Vec<Reading>,
        varying: Vec<Varying>,
        options: &SeriesOptions,
    ) -> Result<Rows<'a>> {
        let pairs = inputs.correlations().pairs();
        let pairs = pairs.map(|(i, j, r)| (j, i, 2.0 * r)).collect();
        let mut rows = Rows {
            site,
            model,
            inputs,
            readings,
            varying,
            run: 0.0,
            pairs,
            faults: options.faults,
            cut_off: options.low_flow_cut_off.unwrap_or(0.0),
            separate: options.separate,
            counted: None,
            program: None,
            set: InstructionSet::chosen()?,
        };
        let steps = rows.model.steps(&rows.inputs.estimates());
        rows.run = site.developing_run(&steps);
        rows.program = Program::record_finite(rows.readings.len(), |x| Some(rows.outputs(x)));
        Ok(rows)
    }

    /// The inputs of the model, with the readings of a row in their places.
    fn inputs_of_row<S: Scalar>(&self, readings: &[S]) -> Vec<S> {
        let inputs = self.inputs.inputs().iter();
        let mut x: Vec<S> = inputs.map(|i| S::constant(i.estimate())).collect();
        for (reading, value) in self.readings.iter().zip(readings) {
            x[reading.place] = *value;
        }
        x
    }

    /// Flow, mean velocity, uncertainties of profile law and friction, judged steps, sensitivity
    /// coefficients.
    fn outputs<S: Scalar>(&self, readings: &[S]) -> Vec<S> {
        let x = self.inputs_of_row(readings);
        let (steps, judged) = self.model.judged_steps(&x);
        let profile = if self.site.derive_law_uncertainty {
            ProfileUncertainty::at(self.model.choices(), &steps, self.run)
        } else {
            let zero = S::constant(0.0);
            ProfileUncertainty {
                law: zero,
                friction: zero,
            }
        };
        let mut outputs = vec![
            steps.volume_flow,
            steps.mean_velocity,
            profile.law,
            profile.friction,
            steps.path.time_in_liquid,
            steps.time_in_liquid,
        ];
        outputs.extend(judged.listed());
        for first in (0..x.len()).step_by(WIDTH) {
            let seeded = x.iter().enumerate();
            let seeded: Vec<Dual<S, WIDTH>> = seeded
                .map(|(i, x)| match i.checked_sub(first) {
                    Some(place) if place < WIDTH => Dual::variable(*x, place),
                    _ => Dual::fixed(*x),
                })
                .collect();
            let gradient = self.model.steps(&seeded).volume_flow.gradient;
            outputs.extend(&gradient[..WIDTH.min(x.len() - first)]);
        }
        outputs
    }

    /// The outputs of a block, one column for each.
    fn columns(&self, readings: &[&[f64]], size: usize) -> Vec<Vec<f64>> {
        if let Some(program) = &self.program {
            return program.evaluate(self.set, readings, size);
        }
        let mut columns =
            vec![Vec::with_capacity(size); SENSITIVITIES + self.inputs.inputs().len()];
        for row in 0..size {
            let own: Vec<f64> = readings.iter().map(|column| column[row]).collect();
            let outputs = self.outputs(&own);
            let places = columns.iter_mut().zip(outputs);
            places.for_each(|(column, value)| column.push(value));
        }
        columns
    }

    /// Why no measurement can have led to the readings of a row, if it is so. A row below the low-flow
    /// cut-off counts as no flow, for which neither fitting nor calibration must hold.
    fn refusal(&self, readings: &[f64]) -> Option<Error> {
        let steps = match self.model.checked_steps(&self.inputs_of_row(readings)) {
            Ok(steps) => steps,
            Err(error) => return Some(error),
        };
        let flow = steps.volume_flow;
        let idle = self.is_idle(flow);
        let checked = match &self.site.upstream {
            Some(_) if !idle => {
                check_flow(steps.mean_velocity, steps.reynolds, self.site.transition)
            }
            _ => Ok(()),
        };
        let finite = || Error::range(flow.is_finite(), "volume flow", flow, "m3/s", "finite");
        let unit = &self.site.flow_unit;
        let calibrated = || match idle {
            true => Ok(()),
            false => self.model.check_calibration(&steps, unit),
        };
        checked
            .and_then(|()| calibrated())
            .and_then(|()| finite())
            .err()
    }

    /// Whether a flow counts as none.
    fn is_idle(&self, flow: f64) -> bool {
        flow.abs() < self.cut_off
    }

    /// Why a row that the model allows is a fault, if it is one: by its mean velocity, and by expected
    /// and measured time in the liquid.
    fn fault(&self, velocity: f64, (expected, measured): (f64, f64)) -> Option<Reason> {
        let beyond = |limit: f64| velocity.abs() > limit;
        if self.faults.velocity.is_some_and(beyond) {
            return Some(Reason::Velocity(velocity));
        }
        self.reading_of(Channel::TransitTime)?;
        let difference = expected / measured - 1.0;
        let beyond = |limit: f64| difference.abs() > limit;
        let found = self.faults.sound_speed.is_some_and(beyond);
        found.then_some(Reason::SoundSpeed(difference))
    }

    fn reading_of(&self, channel: Channel) -> Option<usize> {
        self.readings.iter().position(|r| r.channel == channel)
    }

    /// The state of the liquid where the temperature is `read`.
    fn state(&self, base: &State<f64>, read: Option<f64>) -> State<f64> {
        State {
            temperature: read.map_or(base.temperature, |read| {
                let place = self.reading_of(Channel::Temperature);
                let of = |place: usize| self.inputs.inputs()[self.readings[place].place].estimate();
                base.temperature - place.map_or(0.0, of) + read
            }),
            ..*base
        }
    }

    /// The standard uncertainties that vary, in a row.
    fn sizes(
        &self,
        state: &State<f64>,
        profile: ProfileUncertainty<f64>,
        reynolds: f64,
        sizes: &mut [f64],
    ) {
        let in_situ = self.site.in_situ.as_ref();
        let in_situ = in_situ.map(|own| (own, own.holds_at(reynolds)));
        let uncertainties = match &self.model.choices().liquid {
            LiquidModel::Computed(liquid) => Some(liquid.uncertainties(state)),
            LiquidModel::Stated => None,
        };
        for (varying, size) in self.varying.iter().zip(sizes) {
            let q = varying.quantity;
            if in_situ.is_some_and(|(own, among)| own.covers(q, among)) {
                *size = 0.0;
                continue;
            }
            if let Some(uncovered) = varying.uncovered {
                *size = uncovered;
                continue;
            }
            *size = match (q, &uncertainties) {
                (Quantity::LawFactor, _) => profile.law,
                (Quantity::FrictionRatio, _) => profile.friction,
                (Quantity::DensityFactor, Some(uncertainties)) => uncertainties.density.relative,
                (Quantity::ViscosityFactor, Some(uncertainties)) => {
                    uncertainties.viscosity.relative
                }
                (Quantity::SoundSpeedFactor, Some(uncertainties)) => uncertainties
                    .sound_speed
                    .map_or(0.0, |uncertainty| uncertainty.relative),
                _ => 0.0,
            };
        }
    }

    /// Evaluates the rows `used` of a log, with their weights in the total and in parts of it.
    pub(super) fn block(
        &self,
        log: &Log,
        used: &[usize],
        weights: &[f64],
        parts: Vec<(usize, Vec<f64>)>,
    ) -> Block {
        let size = used.len();
        let of = |reading: &Reading| match log.column(reading.channel) {
            Some(column) => used.iter().map(|row| column.values[*row]).collect(),
            None => vec![f64::NAN; size], // not reached: the log has the channels wanted
        };
        let readings: Vec<Vec<f64>> = self.readings.iter().map(of).collect();
        let slices: Vec<&[f64]> = readings.iter().map(Vec::as_slice).collect();
        let mut columns = self.columns(&slices, size);
        let mut sensitivities = columns.split_off(SENSITIVITIES);

        let base = self.model.liquid_state(&self.inputs.estimates());
        let temperature = self.reading_of(Channel::Temperature);
        let transit_time = self.reading_of(Channel::TransitTime);
        let mut block = Block {
            flow: std::mem::take(&mut columns[FLOW]),
            standard_uncertainty: vec![0.0; size],
            random_uncertainty: vec![0.0; size],
            reynolds: Vec::with_capacity(size),
            refused: Vec::new(),
            sums: self.no_sums(),
            parts: Vec::new(),
            directions: None,
        };
        let mut widths = vec![vec![0.0; size]; self.varying.len()];
        let mut sizes = vec![0.0; self.varying.len()];
        let mut valid = vec![true; size];
        for row in 0..size {
            let at = |place: Option<usize>| place.map(|place| readings[place][row]);
            let state = self.state(&base, at(temperature));
            let judged = Judged::of(std::array::from_fn(|i| columns[STEPS + i][row]));
            let time = at(transit_time).unwrap_or(f64::NAN);
            let transition = self.site.transition;
            let from_fitting =
                || check_flow(columns[MEAN_VELOCITY][row], judged.reynolds, transition).is_ok();
            let sure = block.flow[row].is_finite()
                && self.model.surely_valid(&state, time, &judged)
                && (self.site.upstream.is_none()
                    || self.is_idle(block.flow[row])
                    || from_fitting());
            if !sure {
                let own: Vec<f64> = readings.iter().map(|column| column[row]).collect();
                if let Some(error) = self.refusal(&own) {
                    block.refused.push((row, Reason::OutsideModel(error)));
                    valid[row] = false;
                }
            }
            let of = |place: usize| columns[place][row];
            let times = (of(EXPECTED_TIME), of(TIME));
            if let Some(reason) = self.fault(of(MEAN_VELOCITY), times).filter(|_| valid[row]) {
                block.refused.push((row, reason));
                valid[row] = false;
            }
            let profile = ProfileUncertainty {
                law: of(LAW),
                friction: of(FRICTION),
            };
            self.sizes(&state, profile, judged.reynolds, &mut sizes);
            let places = widths.iter_mut().zip(&sizes);
            places.for_each(|(column, size)| column[row] = *size);
            block.reynolds.push(judged.reynolds);
            let regime = Regime::within(judged.reynolds, self.site.transition);
            block.sums.regime(regime, valid[row]);
            if valid[row] {
                let in_situ = self.site.in_situ.as_ref();
                block.sums.calibrated([
                    self.model.beyond_points(&judged.uncalibrated),
                    in_situ.is_some_and(|own| !own.holds_at(judged.reynolds)),
                ]);
            }
        }
        // a row that is not valid adds nothing anywhere, one below the cut-off its time
        let below: Vec<bool> = block.flow.iter().map(|q| self.is_idle(*q)).collect();
        let nothing = |row: &usize| !valid[*row] || below[*row];
        for row in (0..size).filter(nothing) {
            block.flow[row] = 0.0;
            sensitivities
                .iter_mut()
                .for_each(|column| column[row] = 0.0);
            widths.iter_mut().for_each(|column| column[row] = 0.0);
        }
        let counting = self.counting(used, &sensitivities);
        self.uncertainties(&mut block, &sensitivities, &widths, counting.as_deref());
        let idle: Vec<bool> = below.iter().zip(&valid).map(|(b, v)| *b && *v).collect();
        for (row, _) in idle.iter().enumerate().filter(|(_, idle)| **idle) {
            block.standard_uncertainty[row] = self.cut_off / 3.0_f64.sqrt();
        }
        let add = |sums: &mut Sums, weights: &[f64], flow: &[f64]| {
            sums.add(
                (&self.readings, &self.varying),
                weights,
                flow,
                &sensitivities,
                &widths,
            );
            sums.idle(weights, &idle);
        };
        add(&mut block.sums, weights, &block.flow);
        if self.separate {
            let own = |forward: bool| {
                let pairs = weights.iter().zip(&block.flow);
                let wanted = pairs.map(|(w, q)| if (*q >= 0.0) == forward { *w } else { 0.0 });
                let mut sums = self.no_sums();
                add(&mut sums, &wanted.collect::<Vec<f64>>(), &block.flow);
                sums
            };
            block.directions = Some([own(true), own(false)]);
        }
        for (part, weights) in parts {
            let mut sums = self.no_sums();
            add(&mut sums, &weights, &block.flow);
            let rows = weights.iter().zip(&valid).zip(&block.reynolds);
            for ((_, valid), reynolds) in rows.filter(|((weight, _), _)| **weight > 0.0) {
                sums.regime(Regime::at(*reynolds), *valid);
            }
            block.parts.push((part, sums));
        }
        for (row, _) in valid.iter().enumerate().filter(|(_, valid)| !**valid) {
            for column in [
                &mut block.flow,
                &mut block.standard_uncertainty,
                &mut block.random_uncertainty,
                &mut block.reynolds,
            ] {
                column[row] = f64::NAN;
            }
        }
        block
    }

    /// Sums of no rows.
    pub(super) fn no_sums(&self) -> Sums {
        let readings = self.readings.len();
        Sums::new(self.inputs.inputs().len(), readings, &self.varying)
    }

    /// The place among the inputs of the flow that was made of counts.
    pub(super) fn flow_of_counts(&self) -> Option<usize> {
        let reading = self.reading_of(Channel::VolumeFlow)?;
        Some(self.readings[reading].place)
    }

    /// What the error of counting adds to the standard uncertainties of rows.
    fn counting(&self, used: &[usize], sensitivities: &[Vec<f64>]) -> Option<Vec<f64>> {
        let counted = self.counted.as_ref()?;
        let column = &sensitivities[self.flow_of_counts()?];
        let rows = used.iter().zip(column);
        Some(
            rows.map(|(row, c)| c * counted.uncertainty_of(*row))
                .collect(),
        )
    }

    /// The standard uncertainty of every row, and the part of it that is the row's own.
    fn uncertainties(
        &self,
        block: &mut Block,
        sensitivities: &[Vec<f64>],
        widths: &[Vec<f64>],
        counting: Option<&[f64]>,
    ) {
        let contributions = |(place, column): (usize, &Vec<f64>)| -> Vec<f64> {
            let varying = self.varying.iter().position(|v| v.place == place);
            match varying {
                Some(v) => {
                    let pairs = column.iter().zip(&widths[v]);
                    pairs.map(|(c, size)| c * size).collect()
                }
                None => {
                    let u = self.input(place).standard_uncertainty();
                    column.iter().map(|c| c * u).collect()
                }
            }
        };
        let all = sensitivities.iter().enumerate();
        let all: Vec<Vec<f64>> = all.map(contributions).collect();
        let mut variance = vec![0.0; block.flow.len()];
        // readings have no uncertainty here: they are exact but for their scatter
        for own in &all {
            let places = variance.iter_mut().zip(own);
            places.for_each(|(variance, own)| *variance += own * own);
        }
        for (i, j, doubled) in &self.pairs {
            let products = all[*i].iter().zip(&all[*j]);
            let places = variance.iter_mut().zip(products);
            places.for_each(|(variance, (a, b))| *variance += doubled * a * b);
        }
        for (row, variance) in variance.into_iter().enumerate() {
            let own = self.readings.iter().map(|reading| {
                let scatter = sensitivities[reading.place][row] * reading.scatter;
                scatter * scatter
            });
            let counting = counting.map_or(0.0, |counting| counting[row]);
            let random = own.sum::<f64>() + counting * counting;
            block.random_uncertainty[row] = random.sqrt();
            block.standard_uncertainty[row] = (variance.max(0.0) + random).sqrt();
        }
    }

    /// The reading at a place among the inputs.
    pub(super) fn reading_at(&self, place: usize) -> Option<usize> {
        self.readings.iter().position(|r| r.place == place)
    }

    /// The inputs as they are in the first valid row.
    pub(super) fn input(&self, place: usize) -> &Input {
        &self.inputs.inputs()[place]
    }
}
