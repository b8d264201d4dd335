//! Input quantities that are known together: a vector estimate with its covariance matrix, or
//! readings of several quantities taken at the same times.

use super::linear::by_rows;
use super::model::few_enough;
use super::{Correlations, Distribution, Input, InputSet, TypeA};
use crate::error::{Error, Result};
use serde::{Deserialize, Serialize};

/// Members of an [`InputSet`] that follow one multivariate t distribution.
///
/// Their draws share a divisor, so that a trial with one far value is likely to have the others
/// far too: the joint density is not that of t marginals under a Gaussian copula.
///
/// # Source
/// JCGM 102:2011, 5.3.2.4.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct JointT {
    /// The places of the members in the set.
    pub members: Vec<usize>,
    /// The degrees of freedom.
    pub dof: f64,
}

impl InputSet {
    /// Jointly normal quantities: a vector estimate, shape `(n,)`, and its covariance matrix,
    /// shape `(n, n)` by rows, in SI units.
    ///
    /// # Errors
    /// Shapes that do not fit, a matrix that is not symmetric or has a negative variance, and
    /// those of [`InputSet::correlated`].
    ///
    /// # Source
    /// JCGM 101:2008, 6.4.8.
    pub fn multivariate_normal(
        names: &[&str],
        estimates: &[f64],
        covariance: &[Vec<f64>],
    ) -> Result<InputSet> {
        let n = names.len();
        length("estimates", estimates.len(), n)?;
        length("covariance", covariance.len(), n)?;
        let mut inputs = Vec::with_capacity(n);
        for (i, (name, row)) in names.iter().zip(covariance).enumerate() {
            length(&format!("covariance[{i}]"), row.len(), n)?;
            let allowed = "variances of 0 or above";
            Error::range(
                row[i] >= 0.0,
                format!("variance of {name}"),
                row[i],
                "",
                allowed,
            )?;
            inputs.push(Input::with_standard_uncertainty(
                name,
                estimates[i],
                row[i].sqrt(),
                f64::INFINITY,
            )?);
        }
        let mut pairs = Vec::new();
        for i in 0..n {
            for j in 0..i {
                let field = || format!("covariance of {} and {}", names[i], names[j]);
                let (here, there) = (covariance[i][j], covariance[j][i]);
                let allowed = format!("a symmetric matrix, so {there}");
                let scale = (covariance[i][i] * covariance[j][j]).sqrt();
                let symmetric = (here - there).abs() <= 1e-12 * scale;
                Error::range(symmetric, field(), here, "", allowed)?;
                if here != 0.0 {
                    Error::range(scale > 0.0, field(), here, "", "0 where a variance is 0")?;
                    // rounding may carry a full correlation past one
                    let r = here / scale;
                    let r = if r.abs() < 1.0 + 1e-12 {
                        r.clamp(-1.0, 1.0)
                    } else {
                        r
                    };
                    pairs.push((names[i].to_owned(), names[j].to_owned(), r));
                }
            }
        }
        InputSet::correlated(inputs, &pairs)
    }

    /// Means of quantities that were read together: `readings[i]` are the `n` readings of the
    /// quantity `names[i]`, and the same place in each list was read at the same time.
    ///
    /// The budget uses the standard deviations of the means and their correlations with `n - 1`
    /// degrees of freedom (JCGM 100:2008, 5.2.3 and H.2); Monte Carlo draws from the multivariate
    /// t distribution with `n - N` degrees of freedom for `N` quantities.
    ///
    /// # Errors
    /// Lists of different length, fewer than `N + 1` readings, readings that do not vary, numbers
    /// that are not finite.
    ///
    /// # Source
    /// JCGM 102:2011, 5.3.2.4 (there with the scale matrix `S / (n (n - N))`, `S` the sum of
    /// squares and products).
    pub fn from_joint_readings(names: &[&str], readings: &[Vec<f64>]) -> Result<InputSet> {
        let quantities = names.len();
        length("readings", readings.len(), quantities)?;
        let count = readings.first().map_or(0, Vec::len);
        for (name, column) in names.iter().zip(readings) {
            if column.len() != count || count <= quantities {
                return Err(Error::Length {
                    field: (*name).to_owned(),
                    found: column.len(),
                    allowed: format!(
                        "as many readings of each quantity, and at least {}",
                        quantities + 1
                    ),
                });
            }
        }
        let n = count as f64;
        let dof = n - quantities as f64;
        let statistics: Vec<TypeA> = readings
            .iter()
            .zip(names)
            .map(|(column, name)| TypeA::of(column, name))
            .collect::<Result<_>>()?;
        let mut inputs = Vec::with_capacity(quantities);
        for (name, a) in names.iter().zip(&statistics) {
            let s = a.standard_uncertainty();
            Error::range(s > 0.0, *name, s, "", "readings that vary")?;
            // (n - 1) s^2 / (n (n - N)) is the scale matrix of the guide on its diagonal
            let scale = s * ((n - 1.0) / dof).sqrt();
            let t = Distribution::StudentT {
                location: a.mean,
                scale,
                dof,
            };
            inputs.push(Input::of_type_a(name, a, t)?);
        }
        let mut pairs = Vec::new();
        for i in 0..quantities {
            for j in 0..i {
                let products = readings[i]
                    .iter()
                    .zip(&readings[j])
                    .map(|(x, y)| (x - statistics[i].mean) * (y - statistics[j].mean));
                let deviations =
                    statistics[i].standard_deviation * statistics[j].standard_deviation;
                let r = products.sum::<f64>() / ((n - 1.0) * deviations);
                pairs.push((names[i].to_owned(), names[j].to_owned(), r.clamp(-1.0, 1.0)));
            }
        }
        let mut set = InputSet::correlated(inputs, &pairs)?;
        set.joint_t.push(JointT {
            members: (0..quantities).collect(),
            dof,
        });
        Ok(set)
    }

    /// This set followed by another that is independent of it.
    ///
    /// # Errors
    /// A name that is in both.
    pub fn and(mut self, other: InputSet) -> Result<InputSet> {
        let before = self.inputs.len();
        few_enough(before + other.inputs.len())?;
        for input in &other.inputs {
            if self.inputs.iter().any(|own| own.name() == input.name()) {
                return Err(Error::Conflict {
                    field: input.name().to_owned(),
                    found: "two inputs of this name".to_owned(),
                    allowed: "a name for each input".to_owned(),
                });
            }
        }
        self.correlations = self.correlations.beside(&other.correlations);
        self.inputs.extend(other.inputs);
        for mut group in other.joint_t {
            group.members.iter_mut().for_each(|m| *m += before);
            self.joint_t.push(group);
        }
        Ok(self)
    }

    /// This set followed by more inputs, which may be correlated with those before and with each other:
    /// coefficients by pairs of names, as in [`InputSet::correlated`]. So a model that nests another one
    /// takes over its inputs with their correlations, and correlates its own with them.
    ///
    /// # Errors
    /// Those of [`InputSet::correlated`] for both together; a pair that is correlated already; a pair
    /// with a member of a multivariate t distribution, whose draws share a divisor.
    ///
    /// # Example
    /// Two thermometers of one make, of which the first serves a measurement that is known already:
    /// ```
    /// use flowdoubt::uncertainty::{Input, InputSet};
    /// let of = |name| Input::with_standard_uncertainty(name, 285.0, 0.1, f64::INFINITY);
    /// let site = InputSet::independent(vec![of("supply temperature")?])?;
    /// let pair = ("supply temperature".to_owned(), "return temperature".to_owned(), 0.8);
    /// let both = site.and_correlated(vec![of("return temperature")?], &[pair])?;
    /// assert_eq!(both.correlations().coefficient(0, 1), 0.8);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn and_correlated(
        self,
        inputs: Vec<Input>,
        pairs: &[(String, String, f64)],
    ) -> Result<InputSet> {
        let of_a_group = |name: &str| {
            let mut members = self.joint_t.iter().flat_map(|group| &group.members);
            members.any(|member| self.inputs[*member].name() == name)
        };
        if let Some((a, b, _)) = pairs
            .iter()
            .find(|(a, b, _)| of_a_group(a) || of_a_group(b))
        {
            return Err(Error::Conflict {
                field: format!("correlation of {a} and {b}"),
                found: "a member of a multivariate t distribution".to_owned(),
                allowed: "inputs with a distribution of their own".to_owned(),
            });
        }
        let name = |i: usize| self.inputs[i].name().to_owned();
        let before = self.correlations.pairs();
        let mut all: Vec<_> = before.map(|(i, j, r)| (name(i), name(j), r)).collect();
        all.extend_from_slice(pairs);
        let both = self.and(InputSet::independent(inputs)?)?;
        let names: Vec<&str> = both.inputs.iter().map(Input::name).collect();
        let correlations = Correlations::from_pairs(&names, &all)?;
        Ok(InputSet {
            correlations,
            ..both
        })
    }

    /// The groups of inputs that follow a multivariate t distribution.
    pub fn joint_t(&self) -> &[JointT] {
        &self.joint_t
    }

    /// The covariance matrix of the inputs by rows, shape `(n, n)`, in SI units.
    pub fn covariance(&self) -> Vec<Vec<f64>> {
        let u: Vec<f64> = self
            .inputs
            .iter()
            .map(Input::standard_uncertainty)
            .collect();
        by_rows(u.len(), |i, j| {
            u[i] * u[j] * self.correlations.coefficient(i, j)
        })
    }
}

fn length(field: &str, found: usize, needed: usize) -> Result<()> {
    if found == needed {
        return Ok(());
    }
    Err(Error::Length {
        field: field.to_owned(),
        found,
        allowed: format!("{needed}, one a quantity"),
    })
}
