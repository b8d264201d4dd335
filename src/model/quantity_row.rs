//! What the table of quantities says of one of them.

use super::required_quantities::Stating;
use super::{Basis, Component, Quantity};
use crate::error::with_unit;
use crate::units::{Dimension, Unit};
use serde::{Deserialize, Serialize};

/// Values that a quantity can have at all, in SI units.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Allowed {
    Any,
    Positive,
    Within(f64, f64),
}

impl Allowed {
    /// Whether a value in SI units can be, and in words what can.
    pub(crate) fn judge(self, si: f64, unit: &Unit) -> (bool, String) {
        match self {
            Allowed::Any => (true, String::new()),
            Allowed::Positive => (si > 0.0, "above 0".to_owned()),
            Allowed::Within(low, high) => {
                let symbol = match unit.symbol.as_ref() {
                    "1" => "",
                    symbol => symbol,
                };
                let [from, to] = [low, high].map(|end| with_unit(unit.from_si(end), symbol));
                ((low..=high).contains(&si), format!("{from} to {to}"))
            }
        }
    }
}

/// Where the value of a quantity comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Origin {
    /// The site file, or what it leaves to standards and tables of materials.
    SiteFile,
    /// Readings, or the site file where they have none of it.
    ReadingsOrSiteFile,
    /// Readings.
    Readings,
    /// The package, from everything else.
    Derived,
}

/// When the value of a quantity is another one, in a verification of many runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Renewed {
    /// It stays what it is.
    Never,
    /// Whenever the sensors are put on again.
    ByPlacement,
}

/// What a calibration of the meter can cover, so that its factor holds the rest of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Covered {
    /// The pair of sensors: angle, sound speed and delay of the wedges.
    Sensors,
    /// The electronics: delay and clock.
    Electronics,
}

impl Covered {
    /// In one word.
    pub fn in_words(self) -> &'static str {
        match self {
            Covered::Sensors => "sensors",
            Covered::Electronics => "electronics",
        }
    }
}

/// Why a site must state a quantity.
#[derive(Debug, Clone, Copy)]
pub(super) struct Need {
    /// Whether a site must.
    pub(super) when: fn(&Stating<'_>) -> bool,
    /// What is needed, in words.
    pub(super) what: &'static str,
}

/// A row of the table of quantities; [`row`] begins one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    pub(super) dimension: Dimension,
    pub(super) component: Component,
    pub(super) geometric_component: Option<Component>,
    pub(super) default: f64,
    pub(crate) allowed: Allowed,
    pub(crate) usual: Option<[f64; 2]>,
    pub(crate) origin: Origin,
    pub(crate) renewed: Renewed,
    pub(crate) covered: Option<Covered>,
    /// Whether it goes with meter and sensors to another pipe. Zero and couplant do not: both are
    /// another once the sensors were off.
    pub(crate) of_meter: bool,
    pub(crate) cause: Option<&'static str>,
    pub(crate) example: Option<&'static str>,
    pub(super) beside: Option<Quantity>,
    pub(super) needs: [Option<Need>; 2],
    pub(super) of_liquids: Option<fn(&Stating<'_>) -> bool>,
}

/// A quantity that the site file states, above 0, without default; what differs follows.
pub(super) const fn row(dimension: Dimension, component: Component) -> Row {
    Row {
        dimension,
        component,
        geometric_component: None,
        default: f64::NAN,
        allowed: Allowed::Positive,
        usual: None,
        origin: Origin::SiteFile,
        renewed: Renewed::Never,
        covered: None,
        of_meter: false,
        cause: None,
        example: None,
        beside: None,
        needs: [None; 2],
        of_liquids: None,
    }
}

impl Row {
    /// The value in SI units where nothing is stated.
    pub(super) const fn default(self, si: f64) -> Row {
        Row {
            default: si,
            ..self
        }
    }

    /// What no site can have is refused.
    pub(super) const fn allowed(self, allowed: Allowed) -> Row {
        Row { allowed, ..self }
    }

    /// What is outside is warned of; in SI units. Common practice, without a source.
    pub(super) const fn usual(self, low: f64, high: f64) -> Row {
        Row {
            usual: Some([low, high]),
            ..self
        }
    }

    /// Where the value comes from, if not from the site file alone.
    pub(super) const fn origin(self, origin: Origin) -> Row {
        Row { origin, ..self }
    }

    /// When the value is another one.
    pub(super) const fn renewed(self, renewed: Renewed) -> Row {
        Row { renewed, ..self }
    }

    /// A calibration that covers this leaves no uncertainty of it besides that of its factor.
    pub(super) const fn covered(self, by: Covered) -> Row {
        Row {
            covered: Some(by),
            ..self
        }
    }

    /// Goes with meter and sensors to another pipe.
    pub(super) const fn of_meter(self) -> Row {
        Row {
            of_meter: true,
            ..self
        }
    }

    /// What to look at where the sound speed is not the expected one.
    pub(super) const fn cause(self, words: &'static str) -> Row {
        Row {
            cause: Some(words),
            ..self
        }
    }

    /// What a site file may say, for the file to begin with.
    pub(super) const fn example(self, toml: &'static str) -> Row {
        Row {
            example: Some(toml),
            ..self
        }
    }

    /// Has an effect only beside another quantity.
    pub(super) const fn beside(self, other: Quantity) -> Row {
        Row {
            beside: Some(other),
            ..self
        }
    }

    /// Belongs to another component on the geometric basis.
    pub(super) const fn if_geometric(self, component: Component) -> Row {
        Row {
            geometric_component: Some(component),
            ..self
        }
    }

    /// A site must state it; up to twice, the first that applies counts.
    pub(super) const fn needed(self, when: fn(&Stating<'_>) -> bool, what: &'static str) -> Row {
        let need = Some(Need { when, what });
        let needs = match self.needs {
            [None, _] => [need, None],
            [first, _] => [first, need],
        };
        Row { needs, ..self }
    }

    /// Has a place only with some liquids.
    pub(super) const fn of_liquids(self, when: fn(&Stating<'_>) -> bool) -> Row {
        Row {
            of_liquids: Some(when),
            ..self
        }
    }

    pub(super) fn component_on(&self, basis: Basis) -> Component {
        match (self.geometric_component, basis) {
            (Some(component), Basis::Geometric) => component,
            _ => self.component,
        }
    }
}
