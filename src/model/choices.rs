//! What is chosen in a site file rather than measured.

use crate::error::{Error, Result};
use crate::liquid::Liquid;
use crate::pipe::Ends;
use crate::profile::{FrictionLaw, ProfileLaw};
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
pub enum LiquidModel {
    /// Computed from temperature, pressure and content.
    Computed(Liquid),
    /// Stated in the site file.
    Stated,
}

/// From what a meter computes the velocity that it indicates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
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

/// A layer besides couplant, wall and liner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FurtherLayer {
    /// What people call it.
    pub name: String,
    /// `None` for a layer inside wall and liner.
    pub outside: Option<OutsideLayer>,
}

/// How a layer on the outside of the wall takes part in the survey and in the sound path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
}
