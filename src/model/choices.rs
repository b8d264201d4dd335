//! What is chosen in a site file rather than measured.

use super::{FactorCurve, Quantity};
use crate::error::{Error, Result};
use crate::liquid::Liquid;
use crate::pipe::Ends;
use crate::profile::{FrictionLaw, ProfileLaw};
use crate::units::{Dimension, Unit};
use serde::{Deserialize, Serialize};

/// How the path velocity follows from what is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// From time difference and transit time.
    Timed,
    /// From time difference, diameter and sound speed of the liquid.
    Geometric,
    /// From the volume flow or velocity that the meter indicates, taken back through the
    /// parameters programmed into it.
    Indicated,
}

impl Basis {
    /// The basis of that name.
    ///
    /// # Errors
    /// None of `timed`, `geometric` and `indicated`; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<Basis> {
        let all = [Basis::Timed, Basis::Geometric, Basis::Indicated];
        let found = all.into_iter().find(|basis| basis.in_words() == name);
        found.ok_or_else(|| Error::unknown_name(field, name, &all.map(Basis::in_words)))
    }

    /// The basis in one word.
    pub fn in_words(self) -> &'static str {
        match self {
            Basis::Timed => "timed",
            Basis::Geometric => "geometric",
            Basis::Indicated => "indicated",
        }
    }
}

/// Which outside dimension was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiameterFrom {
    /// The circumference, by tape.
    Circumference,
    /// The diameter, by calliper or from a table.
    Diameter,
}

/// What determines the angle of the ray.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AngleFrom {
    /// The wedge: its beam is wide, and the sensors sit anywhere in it. The default.
    #[default]
    Wedge,
    /// The spacing: the ray goes from exit point to exit point.
    Spacing,
}

impl AngleFrom {
    /// The one of that name.
    ///
    /// # Errors
    /// A name other than `wedge` and `spacing`; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<AngleFrom> {
        let all = [AngleFrom::Wedge, AngleFrom::Spacing];
        let found = all.into_iter().find(|a| a.in_words() == name);
        found.ok_or_else(|| Error::unknown_name(field, name, &all.map(AngleFrom::in_words)))
    }

    /// In one word.
    pub fn in_words(self) -> &'static str {
        match self {
            AngleFrom::Wedge => "wedge",
            AngleFrom::Spacing => "spacing",
        }
    }

    /// The other one.
    pub fn other(self) -> AngleFrom {
        match self {
            AngleFrom::Wedge => AngleFrom::Spacing,
            AngleFrom::Spacing => AngleFrom::Wedge,
        }
    }
}

/// Where the properties of the liquid come from.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum LiquidModel {
    /// Computed from temperature, pressure and content.
    Computed(Liquid),
    /// Stated in the site file.
    Stated,
}

/// From what a meter computes the velocity that it indicates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Principle {
    /// Time difference and transit time: the sound speed of the liquid cancels.
    Timed,
    /// Time difference, diameter and sound speed of the liquid.
    Geometric,
}

impl Principle {
    /// In one word.
    pub fn in_words(self) -> &'static str {
        match self {
            Principle::Timed => "timed",
            Principle::Geometric => "geometric",
        }
    }
}

/// The parameters programmed into a meter, in SI units. They are exact: the meter computed with them.
/// `None` where the meter was told of the site as it is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[non_exhaustive]
pub struct Programmed {
    /// How the meter finds the velocity; `None` where nobody knows.
    pub principle: Option<Principle>,
    /// Inside diameter, in m.
    pub inside_diameter: Option<f64>,
    /// Profile factor that the meter applied; `None` where nobody knows.
    pub profile_factor: Option<f64>,
    /// Axial slowness of the ray, in s/m.
    pub axial_slowness: Option<f64>,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: Option<f64>,
    /// Wall thickness, in m.
    pub wall: Option<f64>,
    /// Sound speed of the wall, in m/s.
    pub wall_sound_speed: Option<f64>,
    /// Liner thickness, in m.
    pub liner: Option<f64>,
    /// Sound speed of the liner, in m/s.
    pub liner_sound_speed: Option<f64>,
    /// Kinematic viscosity from which the meter found its profile factor, in m2/s.
    pub kinematic_viscosity: Option<f64>,
    /// Roughness from which it found it, in m.
    pub roughness: Option<f64>,
    /// Volume flows of a current output at 4 mA and at 20 mA, in m3/s.
    pub current_span: Option<[f64; 2]>,
    /// Volume of one pulse, in m3.
    pub pulse_value: Option<f64>,
    /// Volume of one step of the last digit of the totaliser, in m3.
    pub totaliser_resolution: Option<f64>,
    /// Number of digits of counter or totaliser.
    pub counter_digits: Option<u32>,
}

impl Programmed {
    /// The numbers that are known, by key in the site file, in SI units with their unit.
    pub(crate) fn listed(&self) -> Vec<(&'static str, f64, Unit)> {
        let of = Dimension::si_unit;
        let (length, velocity, ratio) = (Dimension::Length, Dimension::Velocity, Dimension::Ratio);
        let flow = Dimension::VolumeFlow;
        let slowness = Unit {
            symbol: "s/m".into(),
            si_symbol: "s/m".into(),
            ..ratio.si_unit()
        };
        let viscosity = of(Dimension::KinematicViscosity);
        let all = [
            ("inside_diameter", self.inside_diameter, of(length)),
            ("profile_factor", self.profile_factor, of(ratio)),
            ("axial_slowness", self.axial_slowness, slowness),
            ("liquid_sound_speed", self.liquid_sound_speed, of(velocity)),
            ("wall", self.wall, of(length)),
            ("wall_sound_speed", self.wall_sound_speed, of(velocity)),
            ("liner", self.liner, of(length)),
            ("liner_sound_speed", self.liner_sound_speed, of(velocity)),
            ("kinematic_viscosity", self.kinematic_viscosity, viscosity),
            ("roughness", self.roughness, of(length)),
            (
                "flow_at_4_mA",
                self.current_span.map(|[low, _]| low),
                of(flow),
            ),
            (
                "flow_at_20_mA",
                self.current_span.map(|[_, high]| high),
                of(flow),
            ),
            ("pulse_value", self.pulse_value, of(Dimension::Volume)),
        ];
        let known = all.into_iter();
        known
            .filter_map(|(key, value, unit)| Some((key, value?, unit)))
            .collect()
    }
}

/// A layer besides couplant, wall and liner.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct FurtherLayer {
    /// What people call it.
    pub name: String,
    /// `None` for a layer inside wall and liner.
    pub outside: Option<OutsideLayer>,
}

/// How a layer on the outside of the wall takes part in the survey and in the sound path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub struct OutsideLayer {
    /// Whether the outside dimension was measured over it.
    pub in_outside_dimension: bool,
    /// Whether the thickness gauge measured through it.
    pub in_wall_reading: bool,
    /// Whether it stays under the sensors.
    pub under_sensors: bool,
}

/// All choices of a site, from which its measurement model is made.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Choices {
    /// How the path velocity follows from the readings.
    pub basis: Basis,
    /// Number of traverses.
    pub traverses: u32,
    /// Which outside dimension was measured.
    pub diameter_from: DiameterFrom,
    /// What determines the angle of the ray.
    pub angle_from: AngleFrom,
    /// The layers besides couplant, wall and liner, from outside to inside.
    pub layers: Vec<FurtherLayer>,
    /// How the ends of the pipe take the thrust of the pressure.
    pub ends: Ends,
    /// Where the properties of the liquid come from.
    pub liquid: LiquidModel,
    /// The profile law.
    pub law: ProfileLaw,
    /// The friction law.
    pub friction: FrictionLaw,
    /// The parameters programmed into the meter, on the indicated basis.
    pub programmed: Option<Programmed>,
    /// The calibration factor over the flow, where it is known point by point.
    pub calibration_curve: Option<FactorCurve>,
    /// The factor of the in-situ calibration over the flow.
    pub in_situ_curve: Option<FactorCurve>,
}

impl Choices {
    /// The curve of a factor that is known point by point.
    pub(crate) fn curve_of(&self, q: Quantity) -> Option<&FactorCurve> {
        match q {
            Quantity::CalibrationFactor => self.calibration_curve.as_ref(),
            Quantity::InSituFactor => self.in_situ_curve.as_ref(),
            _ => None,
        }
    }

    /// Whether any factor is known point by point.
    pub(crate) fn has_curve(&self) -> bool {
        self.calibration_curve.is_some() || self.in_situ_curve.is_some()
    }
}
