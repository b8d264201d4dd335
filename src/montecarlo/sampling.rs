//! Draws of the input quantities: one uniform number an input and trial.

use super::draws::Stream;
use super::points::Replicates;
use crate::error::{Error, Result};
use crate::scalar::InstructionSet;
use crate::scalar::special::chi_squared_quantile;
use crate::uncertainty::{Distribution, Input, InputSet, Sampler};
use aligned_vec::{AVec, avec};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::{Deref, DerefMut};

thread_local! {
    /// Columns kept from block to block.
    static COLUMNS: RefCell<Vec<AVec<f64>>> = RefCell::default();
}

/// The draws of each input, in columns that the thread keeps for the next ones. They begin with a
/// line of the cache: a vector of numbers that lies in two lines costs as much as two.
#[derive(Debug)]
pub(super) struct Draws(Vec<AVec<f64>>);

impl Deref for Draws {
    type Target = [AVec<f64>];
    fn deref(&self) -> &[AVec<f64>] {
        &self.0
    }
}

impl DerefMut for Draws {
    fn deref_mut(&mut self) -> &mut [AVec<f64>] {
        &mut self.0
    }
}

impl Drop for Draws {
    fn drop(&mut self) {
        COLUMNS.set(std::mem::take(&mut self.0));
    }
}

/// How the draws of all inputs come about.
pub(super) struct Sampling {
    sources: Vec<Source>,
    mixings: Vec<Mixing>,
    /// The standard normal distribution.
    deviates: Sampler,
    /// Points instead of random numbers: a dimension for each source, then for each mixing.
    points: Option<Replicates>,
}

/// How the draws of one input come about.
struct Source {
    stream: Stream,
    sampler: Sampler,
    /// The value of an input that is known exactly, and needs no draws.
    only_value: Option<f64>,
    /// The terms of its row of the lower factor of the correlation matrix, input and factor, where
    /// the input is not drawn from its own numbers alone.
    mix: Option<Vec<(usize, f64)>>,
    /// Its membership in a multivariate t distribution.
    joint_t: Option<Member>,
}

/// A member of a multivariate t distribution.
struct Member {
    mixing: usize,
    location: f64,
    scale: f64,
}

/// The divisor that the members of a multivariate t distribution share.
struct Mixing {
    stream: Stream,
    dof: f64,
}

impl Sampling {
    /// Prepares the draws; `purpose` tells the streams of several samples of one seed apart.
    ///
    /// # Errors
    /// An input without a finite variance.
    pub fn new(inputs: &InputSet, seed: u64, purpose: &str) -> Result<Sampling> {
        let correlations = inputs.correlations();
        let factor = correlations.lower_factor();
        let stream = |name: &str| Stream::new(seed, &format!("{purpose}{name}"));
        let source = |(i, input): (usize, &Input)| {
            let distribution = input.distribution();
            let mut joint_t = None;
            if let Distribution::StudentT {
                location,
                scale,
                dof,
            } = *distribution
            {
                let allowed = "above 2 degrees of freedom for Monte Carlo: four readings or mountings or more";
                Error::range(dof > 2.0, input.name(), dof, "", allowed)?;
                let groups = inputs.joint_t();
                let mixing = groups.iter().position(|g| g.members.contains(&i));
                joint_t = mixing.map(|mixing| Member {
                    mixing,
                    location,
                    scale,
                });
            }
            let row = factor[i].iter().copied().enumerate();
            let terms: Vec<(usize, f64)> = row.filter(|(_, l)| *l != 0.0).collect();
            // others are mixed with the normal deviate of an input, which must then make its draw too
            let alone = factor.iter().skip(i + 1).all(|row| row[i] == 0.0);
            let own = alone && terms == [(i, 1.0)] && joint_t.is_none();
            Ok(Source {
                stream: stream(input.name()),
                sampler: distribution.sampler(),
                only_value: distribution.only_value(),
                mix: (!own).then_some(terms),
                joint_t,
            })
        };
        let sources = inputs.inputs().iter().enumerate().map(source);
        let mixings = inputs.joint_t().iter().map(|group| {
            let members = group.members.iter().map(|m| inputs.inputs()[*m].name());
            let names: Vec<&str> = members.collect();
            Mixing {
                stream: stream(&format!("divisor of {}", names.join(", "))),
                dof: group.dof,
            }
        });
        let standard_normal = Distribution::Normal {
            mean: 0.0,
            standard_deviation: 1.0,
        };
        Ok(Sampling {
            deviates: standard_normal.sampler(),
            mixings: mixings.collect(),
            sources: sources.collect::<Result<_>>()?,
            points: None,
        })
    }

    /// Takes replicates of scrambled Sobol points for random numbers from now on.
    ///
    /// # Errors
    /// Those of [`Replicates::new`].
    pub fn take_points(
        &mut self,
        points: u64,
        replicates: u64,
        antithetic: bool,
        seed: u64,
    ) -> Result<()> {
        let dimensions = self.sources.len() + self.mixings.len();
        let replicates = Replicates::new(dimensions, points, replicates, antithetic, seed)?;
        self.points = Some(replicates);
        Ok(())
    }

    /// The draws of all inputs for trials `start..start + size`, by input.
    pub fn draw(&self, set: InstructionSet, start: u64, size: usize) -> Draws {
        let uniforms = |dimension: usize, stream: &Stream, column: &mut [f64]| match &self.points {
            Some(points) => points.fill(dimension, start, column),
            None => stream.fill(set, start, column),
        };
        let draws = |dimension: usize, sampler: &Sampler, column: &mut [f64]| {
            let stream = &self.sources[dimension].stream;
            if self.points.is_some() {
                uniforms(dimension, stream, column);
                sampler.quantiles(set, column);
            } else {
                stream.draw(set, sampler, start, column);
            }
        };
        let mixed = self.sources.iter().filter_map(|source| source.mix.as_ref());
        let needed: BTreeSet<usize> = mixed.flatten().map(|(of, _)| *of).collect();
        let deviates = needed.into_iter().map(|of| {
            let mut column = avec![0.0; size];
            draws(of, &self.deviates, &mut column);
            (of, column)
        });
        let deviates: BTreeMap<usize, AVec<f64>> = deviates.collect();
        let mixings = self.mixings.iter().zip(self.sources.len()..);
        let spreads = mixings.map(|(mixing, dimension)| {
            let mut column = vec![0.0; size];
            uniforms(dimension, &mixing.stream, &mut column);
            for u in &mut column {
                *u = (mixing.dof / chi_squared_quantile(*u, mixing.dof)).sqrt();
            }
            column
        });
        let spreads: Vec<Vec<f64>> = spreads.collect();
        let mut columns = COLUMNS.take();
        columns.resize_with(self.sources.len(), || AVec::new(0));
        for ((dimension, source), column) in self.sources.iter().enumerate().zip(&mut columns) {
            column.resize(size, 0.0);
            if let Some(value) = source.only_value {
                column.fill(value);
                continue;
            }
            let Some(terms) = &source.mix else {
                draws(dimension, &source.sampler, column);
                continue;
            };
            column.fill(0.0);
            for (of, factor) in terms {
                let pairs = column.iter_mut().zip(deviates[of].iter());
                pairs.for_each(|(z, deviate)| *z += factor * deviate);
            }
            match &source.joint_t {
                Some(member) => {
                    let pairs = column.iter_mut().zip(&spreads[member.mixing]);
                    pairs.for_each(|(z, spread)| *z = member.location + member.scale * *z * spread);
                }
                None => source.sampler.from_normal_deviates(set, column),
            }
        }
        Draws(columns)
    }
}
