//! What the section `[installation]` says of the fitting upstream.

use super::Site;
use super::builder::Builder;
use super::stated_quantity::Stated;
use crate::error::{Error, Result};
use crate::model::Quantity;
use crate::profile::disturbance::{Fitting, Mounting, Planes, check_straight_run};
use crate::uncertainty::{Input, plain};
use crate::units::{Dimension, quantity};
use toml::Spanned;

/// The fitting nearest upstream, and how the path lies to it.
#[derive(Debug, Clone)]
pub(crate) struct UpstreamFitting {
    /// The fitting.
    pub(crate) fitting: Fitting,
    /// From its end to the middle of the path: in m, or in inside diameters.
    straight_run: Input,
    in_diameters: bool,
    /// Angle between path plane and plane of the bend, in rad.
    orientation: Option<Input>,
    planes: Planes,
    /// The line of the straight run, for errors that come to light with the bore.
    pub(crate) line: usize,
}

impl UpstreamFitting {
    /// The mounting in a pipe of the given bore, in m.
    ///
    /// # Errors
    /// A straight run for which the families do not hold.
    pub(crate) fn mounting(&self, inside_diameter: f64) -> Result<Mounting<f64>> {
        let straight_run = self.straight_run.estimate() / self.run_unit(inside_diameter);
        check_straight_run(straight_run, RUN)?;
        Ok(Mounting {
            straight_run,
            orientation: self.orientation.as_ref().map(Input::estimate),
            planes: self.planes,
        })
    }

    /// Name, standard uncertainty and degrees of freedom of straight run, in inside diameters, and
    /// orientation, in rad.
    pub(crate) fn uncertainties(&self, inside_diameter: f64) -> [(&'static str, f64, f64); 2] {
        let of = |input: &Input| (input.standard_uncertainty(), input.dof());
        let (run, run_dof) = of(&self.straight_run);
        let (angle, angle_dof) = self.orientation.as_ref().map_or((0.0, f64::INFINITY), of);
        let run = run / self.run_unit(inside_diameter);
        [
            ("straight_run", run, run_dof),
            ("orientation", angle, angle_dof),
        ]
    }

    /// What is chosen and the estimates, in words.
    pub(super) fn in_words(&self) -> String {
        let unit = if self.in_diameters { "D" } else { "m" };
        let orientation = self.orientation.as_ref().map_or_else(
            || "unknown".to_owned(),
            |angle| format!("{} deg", plain(angle.estimate().to_degrees())),
        );
        let planes = self.planes.number();
        format!(
            "{}, straight run {} {unit}, orientation {orientation}, planes {planes}",
            self.fitting.name(),
            plain(self.straight_run.estimate())
        )
    }

    fn run_unit(&self, inside_diameter: f64) -> f64 {
        if self.in_diameters {
            1.0
        } else {
            inside_diameter
        }
    }
}

impl Site {
    /// Number of planes at right angles in which paths lie: 1 where the file says nothing.
    pub(crate) fn planes(&self) -> u32 {
        self.upstream.as_ref().map_or(1, |own| own.planes.number())
    }

    /// Whether the sensors sit at another distance from the fitting than those of the other site.
    pub(crate) fn straight_run_differs(&self, other: &Site) -> bool {
        let run = |site: &Site| {
            let upstream = site.upstream.as_ref();
            upstream.map(|own| (own.in_diameters, own.straight_run.estimate()))
        };
        run(self) != run(other)
    }
}

const RUN: &str = "installation.straight_run";
const ORIENTATION: &str = "installation.orientation";

impl Builder<'_> {
    /// The fitting that the file states, if it states one.
    pub(super) fn upstream_fitting(&self) -> Result<Option<UpstreamFitting>> {
        let section = &self.sections.installation;
        let Some(name) = &section.fitting else {
            let lone = [&section.straight_run, &section.orientation];
            if let Some(entry) = lone.into_iter().flatten().next() {
                return Err(self.at(fitting_missing(), entry));
            }
            if let Some(planes) = &section.planes {
                return Err(self.at(fitting_missing(), planes));
            }
            return Ok(None);
        };
        let fitting = Fitting::from_name(name.get_ref(), "installation.fitting");
        let fitting = fitting.map_err(|e| self.at(e, name))?;
        if section.entry(Quantity::InstallationFactor).is_some() {
            let both = Error::Conflict {
                field: "installation.fitting".to_owned(),
                found: "a fitting beside a factor".to_owned(),
                allowed: "one of `fitting`, from which the factor is derived, and `factor`"
                    .to_owned(),
            };
            return Err(self.at(both, name));
        }
        let Some(entry) = &section.straight_run else {
            let missing = Error::Missing {
                field: RUN.to_owned(),
                needed:
                    "the straight run downstream of the fitting, such as \"2.4 m\", or \"8 D\" in \
                         inside diameters"
                        .to_owned(),
            };
            return Err(self.at(missing, name));
        };
        let in_diameters = in_diameters(entry.get_ref());
        let dimension = if in_diameters {
            Dimension::Diameters
        } else {
            Dimension::Length
        };
        let read = |entry: &Spanned<Stated>, field: &str, dimension: Dimension| {
            one_input(entry.get_ref(), field, dimension).map_err(|e| self.at(e, entry))
        };
        let straight_run = read(entry, RUN, dimension)?;
        let positive = Error::range(
            straight_run.estimate() > 0.0,
            RUN,
            straight_run.unit().from_si(straight_run.estimate()),
            &straight_run.unit().symbol,
            "above 0",
        );
        positive.map_err(|e| self.at(e, entry))?;
        if in_diameters {
            check_straight_run(straight_run.estimate(), RUN).map_err(|e| self.at(e, entry))?;
        }
        let orientation = section.orientation.as_ref();
        let orientation = orientation.map(|o| read(o, ORIENTATION, Dimension::Angle));
        let planes = match &section.planes {
            Some(number) => Planes::from_number(*number.get_ref(), "installation.planes")
                .map_err(|e| self.at(e, number))?,
            None => Planes::One,
        };
        Ok(Some(UpstreamFitting {
            fitting,
            straight_run,
            in_diameters,
            orientation: orientation.transpose()?,
            planes,
            line: self.line(entry),
        }))
    }
}

fn fitting_missing() -> Error {
    Error::Missing {
        field: "installation.fitting".to_owned(),
        needed: format!(
            "the fitting upstream, one of {}",
            Fitting::ALL.map(Fitting::name).join(", ")
        ),
    }
}

/// Whether a length is stated in inside diameters, such as `8 D`.
fn in_diameters(stated: &Stated) -> bool {
    let text = stated.value.as_deref().unwrap_or_default();
    text.trim_end().ends_with('D')
}

/// A quantity that is stated by one value, alone or with its uncertainty.
fn one_input(stated: &Stated, field: &str, dimension: Dimension) -> Result<Input> {
    let (Some(value), None, None) = (&stated.value, &stated.readings, &stated.instrument) else {
        return Err(Error::Conflict {
            field: field.to_owned(),
            found: "no single value".to_owned(),
            allowed: "`value` with its uncertainty, without `readings` and `instrument`".to_owned(),
        });
    };
    let read = quantity(value, dimension, field).map_err(|e| or_in_diameters(e, dimension))?;
    let input = stated
        .uncertainty
        .around(field, read.si, read.si, dimension)?;
    Ok(input.shown_in(read.unit))
}

/// A length may be stated in inside diameters as well, which the list of its units does not say.
fn or_in_diameters(error: Error, dimension: Dimension) -> Error {
    match error {
        Error::UnknownUnit {
            field,
            found,
            unit,
            allowed,
        } if dimension == Dimension::Length => Error::UnknownUnit {
            field,
            found,
            unit,
            allowed: format!("{allowed}, or D for inside diameters"),
        },
        other => other,
    }
}

/// Straight pipe over which the profile develops.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct InletRun {
    /// In m, or in inside diameters.
    length: f64,
    in_diameters: bool,
}

impl InletRun {
    /// The run in inside diameters of a bore, in m.
    pub(crate) fn diameters(self, inside_diameter: f64) -> f64 {
        if self.in_diameters {
            self.length
        } else {
            self.length / inside_diameter
        }
    }
}

impl Builder<'_> {
    /// The straight pipe upstream that the file states.
    pub(super) fn inlet_run(&self) -> Result<Option<InletRun>> {
        let Some(text) = &self.sections.profile.inlet_run else {
            return Ok(None);
        };
        let in_diameters = text.get_ref().trim_end().ends_with('D');
        let dimension = if in_diameters {
            Dimension::Diameters
        } else {
            Dimension::Length
        };
        let length = self.positive(text, dimension, "profile.inlet_run")?;
        Ok(Some(InletRun {
            length,
            in_diameters,
        }))
    }
}
