//! Draws of the input quantities: one uniform number an input and trial, through the inverse
//! distribution function.

use super::{SobolPoints, Stream};
use crate::error::{Error, Result};
use crate::scalar::InstructionSet;
use crate::scalar::math::{NormalQuantile, map_split};
use crate::scalar::special::chi_squared_quantile;
use crate::uncertainty::{Distribution, Input, InputSet, Sampler};
use std::collections::{BTreeMap, BTreeSet};

/// How the draws of all inputs come about.
pub(super) struct Sampling {
    sources: Vec<Source>,
    mixings: Vec<Mixing>,
    /// Points instead of random numbers: a dimension for each source, then for each mixing.
    points: Option<SobolPoints>,
}

/// How the draws of one input come about.
struct Source {
    stream: Stream,
    sampler: Sampler,
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
                let allowed = "above 2 degrees of freedom for Monte Carlo: four readings or more";
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
            let own = terms == [(i, 1.0)] && joint_t.is_none();
            Ok(Source {
                stream: stream(input.name()),
                sampler: distribution.sampler(),
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
        Ok(Sampling {
            mixings: mixings.collect(),
            sources: sources.collect::<Result<_>>()?,
            points: None,
        })
    }

    /// Takes scrambled Sobol points for random numbers from now on.
    ///
    /// # Errors
    /// Those of [`SobolPoints::new`].
    pub fn take_points(&mut self, seed: u64, replicate: u64) -> Result<()> {
        let dimensions = self.sources.len() + self.mixings.len();
        self.points = Some(SobolPoints::new(dimensions, seed, replicate)?);
        Ok(())
    }

    /// The draws of all inputs for trials `start..start + size`, by input.
    pub fn draw(&self, set: InstructionSet, start: u64, size: usize) -> Vec<Vec<f64>> {
        let uniforms = |dimension: usize, stream: &Stream| {
            let mut column = vec![0.0; size];
            match &self.points {
                Some(points) => points.fill(dimension, start, &mut column),
                None => stream.fill(set, start, &mut column),
            }
            column
        };
        let mixed = self.sources.iter().filter_map(|source| source.mix.as_ref());
        let needed: BTreeSet<usize> = mixed.flatten().map(|(of, _)| *of).collect();
        let deviates = needed.into_iter().map(|of| {
            let mut column = uniforms(of, &self.sources[of].stream);
            map_split::<NormalQuantile>(set, &mut column, |z| z);
            (of, column)
        });
        let deviates: BTreeMap<usize, Vec<f64>> = deviates.collect();
        let spreads: Vec<Vec<f64>> = self
            .mixings
            .iter()
            .zip(self.sources.len()..)
            .map(|(mixing, dimension)| {
                let spread = |u: f64| (mixing.dof / chi_squared_quantile(u, mixing.dof)).sqrt();
                uniforms(dimension, &mixing.stream)
                    .into_iter()
                    .map(spread)
                    .collect()
            })
            .collect();
        let column = |(dimension, source): (usize, &Source)| {
            let Some(terms) = &source.mix else {
                let mut column = uniforms(dimension, &source.stream);
                source.sampler.quantiles(set, &mut column);
                return column;
            };
            let mut column = vec![0.0; size];
            for (of, factor) in terms {
                let pairs = column.iter_mut().zip(&deviates[of]);
                pairs.for_each(|(z, deviate)| *z += factor * deviate);
            }
            match &source.joint_t {
                Some(member) => {
                    let pairs = column.iter_mut().zip(&spreads[member.mixing]);
                    pairs.for_each(|(z, spread)| *z = member.location + member.scale * *z * spread);
                }
                None => source.sampler.from_normal_deviates(set, &mut column),
            }
            column
        };
        self.sources.iter().enumerate().map(column).collect()
    }
}
