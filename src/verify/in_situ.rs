//! What a verification found, put back into the site as an in-situ calibration.

use super::model::{METER_FACTOR, OF_POINT};
use super::question::{Indicated, Question};
use super::result::{OfQuantity, VerificationResult};
use crate::error::{Error, Result};
use crate::site::{InSitu, Site};
use crate::uncertainty::{Budget, JointResult, propagate};
use std::fmt::Write as _;

/// The meter factor of every point, in the order of rising flow, with its correlations.
struct Factors {
    /// Flow that the meter indicated, in m3/s.
    flows: Vec<f64>,
    factors: Vec<OfQuantity>,
    correlation: Vec<Vec<f64>>,
}

impl VerificationResult {
    /// The section `[in_situ_calibration]` of a site file, with the meter factor of each flow point
    /// and the correlations between them.
    ///
    /// For the error as installed it holds the factor twice: as it is while the sensors stay where
    /// they are, and with the uncertainty that the mounting of the verification adds once they have been
    /// off. A mean over several mountings is not that of the present one, so there the latter counts.
    ///
    /// # Errors
    /// The agreement of two results, which is no error of the meter; the flow that the meter showed,
    /// which is not the one that the factor belongs to; a site that has an in-situ calibration
    /// already; points at the same flow.
    pub fn in_situ_section(&self) -> Result<String> {
        let site = self.verified_site()?;
        let installed = self.question == Question::ErrorAsInstalled;
        let own = self.factors(&propagate(&self.model, &self.inputs)?)?;
        let several = self.points.iter().any(|point| point.placements > 1);
        let in_force = InSitu {
            verification: self.name.clone(),
            installed,
            mounted_anew: several,
            reynolds: self.reynolds(),
        };
        let mut text = String::new();
        let [low, high] = in_force.reynolds;
        let question = self.question.in_words();
        // writing into a text does not fail
        let _ = writeln!(
            text,
            "\n# What a verification found, to be used by evaluations of this site: factor true over\n\
             # computed flow, at the flow that the meter tells without it, straight lines between.\n\
             [in_situ_calibration]\nverification = {}\nquestion = {}",
            quoted(&self.name),
            quoted(question)
        );
        if installed {
            let (sensors, why) = if several {
                let why = "a mean over several mountings is not that of the present one: placement, zero\n\
                           # and repeatability of mounting count";
                ("mounted anew", why)
            } else {
                let why = "\"mounted anew\" once the sensors have been off: placement, zero and\n\
                           # repeatability of mounting count again";
                ("as verified", why)
            };
            let _ = writeln!(text, "# {why}\nsensors = {}", quoted(sensors));
        }
        for warning in &self.warnings {
            let words = warning.words.replace('\n', " ");
            let _ = writeln!(text, "# warning of the verification: {words}");
        }
        let _ = writeln!(
            text,
            "# outside these the factor of the nearest point is held{}\nreynolds = [{low:?}, {high:?}]",
            if installed {
                ", and the velocity profile counts again"
            } else {
                ""
            }
        );
        let mut evidence = format!("verification \"{}\", {question}", self.name);
        if !self.reference_name.is_empty() {
            let _ = write!(evidence, ", against {}", self.reference_name);
        }
        text += &self.table("factor", &own, &evidence);
        if installed {
            let mut freed = self.model.clone();
            for run in &mut freed.runs {
                run.frees_mounting = true;
            }
            let freed = self.factors(&propagate(&freed, &self.inputs)?)?;
            let evidence = format!("{evidence}, with the mounting of the verification");
            text += &self.table("factor_mounted_anew", &freed, &evidence);
        }
        text += "\n# the flow was computed with these; the factor belongs to no others\n\
                 [in_situ_calibration.choices]\n";
        for (heading, words) in site.choices_covered(&in_force) {
            let _ = writeln!(text, "{} = {}", quoted(&heading), quoted(&words));
        }
        text += "\n# in SI units\n[in_situ_calibration.with]\n";
        for (name, value) in site.estimates_covered(&in_force) {
            let _ = writeln!(text, "{} = {value:?}", quoted(&name));
        }
        Ok(text)
    }

    /// The site that was verified, if its result can be put back.
    fn verified_site(&self) -> Result<&Site> {
        let conflict = |field: &str, found: &str, allowed: &str| Error::Conflict {
            field: field.to_owned(),
            found: found.to_owned(),
            allowed: allowed.to_owned(),
        };
        if self.question == Question::Agreement {
            return Err(conflict(
                "verification.question",
                "the agreement of two results, which is no error of the meter",
                "\"error as installed\" or \"error of the meter\", to put the result back",
            ));
        }
        if self.indicated == Indicated::Shown {
            return Err(conflict(
                "verification.indicated",
                "the flow shown by the meter, which evaluations do not start from",
                "\"computed from its readings\", to put the result back; a flow that is shown may \
                 be what is read",
            ));
        }
        let site = self.evaluations.first().map(|evaluation| &evaluation.site);
        let bare = site.filter(|site| site.in_situ.is_none());
        bare.ok_or_else(|| {
            conflict(
                "in_situ_calibration",
                "a verification of a site that has an in-situ calibration",
                "one of the site without: its factor belongs to the flow without another one",
            )
        })
    }

    /// The smallest and the largest Reynolds number of the runs, rounded outwards.
    fn reynolds(&self) -> [f64; 2] {
        let all = self.evaluations.iter().map(|e| e.steps.reynolds.abs());
        let low = all.clone().fold(f64::INFINITY, f64::min);
        let high = all.fold(0.0, f64::max);
        let place = |x: f64| libm::pow(10.0, libm::floor(libm::log10(x)) - 3.0);
        [
            libm::floor(low / place(low)) * place(low),
            libm::ceil(high / place(high)) * place(high),
        ]
    }

    /// The meter factors of budgets of the points.
    fn factors(&self, budgets: &[Budget]) -> Result<Factors> {
        let joint = JointResult::of_budgets(budgets, &self.inputs)?;
        let at = |point: usize| OF_POINT * point + METER_FACTOR;
        let indicated = |point: usize| {
            let own = &self.points[point];
            own.flow.value * (1.0 + own.error.value)
        };
        let mut order: Vec<usize> = (0..self.points.len()).collect();
        order.sort_by(|a, b| indicated(*a).total_cmp(&indicated(*b)));
        let same = order
            .windows(2)
            .find(|pair| indicated(pair[0]) == indicated(pair[1]));
        if let Some(pair) = same {
            return Err(Error::Conflict {
                field: format!("point[{}]", self.points[pair[1]].point),
                found: "the same flow as another point".to_owned(),
                allowed: "points at different flows, between which a factor can be interpolated"
                    .to_owned(),
            });
        }
        let correlation = |i: usize, j: usize| {
            let (low, high) = (i.min(j), i.max(j));
            let r = joint.correlation(at(order[high]), at(order[low]));
            match i == j {
                true => 1.0,
                false if r.is_finite() => r.clamp(-1.0, 1.0),
                false => 0.0,
            }
        };
        let count = order.len();
        let factors = order.iter().map(|point| {
            let budget = &budgets[at(*point)];
            OfQuantity::of(budget, self.coverage_probability)
        });
        Ok(Factors {
            flows: order.iter().map(|point| indicated(*point)).collect(),
            factors: factors.collect::<Result<_>>()?,
            correlation: (0..count)
                .map(|i| (0..count).map(|j| correlation(i, j)).collect())
                .collect(),
        })
    }

    /// A factor as a table of the section.
    fn table(&self, key: &str, of: &Factors, evidence: &str) -> String {
        let mut text = format!(
            "\n[in_situ_calibration.{key}]\nevidence = {}\n",
            quoted(evidence)
        );
        let stated = |factor: &OfQuantity| {
            let dof = factor.effective_dof.map(|dof| significant(dof, 4));
            let dof = dof.map_or_else(String::new, |dof| format!("\ndof = {dof:?}"));
            format!(
                "value = \"{}\"\nstandard_uncertainty = \"{} %\"{dof}",
                significant(factor.value, 10),
                significant(100.0 * factor.standard_uncertainty, 7)
            )
        };
        if let [factor] = of.factors.as_slice() {
            return text + &stated(factor) + "\n";
        }
        text += "point = [\n";
        let unit = &self.flow_unit;
        for (flow, factor) in of.flows.iter().zip(&of.factors) {
            let flow = significant(unit.from_si(*flow), 10);
            let stated = stated(factor).replace('\n', ", ");
            let _ = writeln!(
                text,
                "    {{ flow = \"{flow} {}\", {stated} }},",
                unit.symbol
            );
        }
        text += "]\ncorrelation = [\n";
        for row in &of.correlation {
            let _ = writeln!(text, "    {row:?},");
        }
        text + "]\n"
    }
}

impl Site {
    /// The site with the result of a verification as its in-situ calibration. Its
    /// [text](Site::text) is that of the site file, comments and all, with the section at its end.
    ///
    /// The error as installed belongs to the pipe and the mounting of the verification, that of the
    /// meter to its meter and sensors on any pipe. A site that differs in what the factor belongs to
    /// is refused.
    ///
    /// # Errors
    /// Those of [`VerificationResult::in_situ_section`]; a site that has an in-situ calibration
    /// already; one whose pipe, meter or choices are not those of the verification.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{site::Site, verify::Verification};
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let found = site.verify(&Verification::load("notebooks/demo/verification.toml")?)?;
    /// let calibrated = site.calibrated_by(&found)?;
    /// assert!(calibrated.text().starts_with(site.text()));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn calibrated_by(&self, result: &VerificationResult) -> Result<Site> {
        if self.in_situ.is_some() {
            return Err(Error::Conflict {
                field: "in_situ_calibration".to_owned(),
                found: "an in-situ calibration in the site file".to_owned(),
                allowed: "a site file without, to which the new one is added".to_owned(),
            });
        }
        let mut text = self.text().to_owned();
        if !text.ends_with('\n') {
            text.push('\n');
        }
        text += &result.in_situ_section()?;
        Site::from_toml(&text, &self.file)
    }
}

/// A text as TOML has it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A number with so many significant digits.
fn significant(number: f64, digits: usize) -> f64 {
    format!("{number:.*e}", digits - 1)
        .parse()
        .unwrap_or(number)
}
