//! Warnings of temperatures at which something is not what was stated of it.

use super::{Evaluation, Warning};
use crate::message::{Told, message};
use crate::model::{AngleFrom, Quantity};
use crate::site::WEDGE_SLOPE;

/// Difference in K from which a warning is due. Our choice: it moves the sound speed of a plastic wedge
/// by 2 % and the area of a steel pipe by 0.05 %.
const FAR: f64 = 20.0;

/// Usual temperature of a survey and of stated sound speeds, in K.
const ROOM: f64 = 293.15;

/// Linear thermal expansion of steel, in 1/K.
const EXPANSION_OF_STEEL: f64 = 1.2e-5;

impl Evaluation {
    /// The temperature of the wall in operation, in K, where it is known.
    pub(super) fn wall_temperature(&self) -> Option<f64> {
        let wall = self.estimate_of(Quantity::WallTemperature);
        wall.or(self.liquid_temperature())
    }

    /// The wedge sits on a wall far from the temperature of its stated sound speed.
    pub(super) fn warm_wedge(&self) -> Option<Warning> {
        let by_wedge = self.model.choices().angle_from == AngleFrom::Wedge;
        let known = self.model.has(Quantity::WedgeTemperature);
        if !by_wedge || known || !self.model.has(Quantity::WedgeSoundSpeed) {
            return None;
        }
        let wall = self.wall_temperature()?;
        let stated = self.estimate_of(Quantity::WedgeReferenceTemperature);
        let difference = wall - stated.unwrap_or(ROOM);
        if difference.abs() <= FAR {
            return None;
        }
        let slope = WEDGE_SLOPE.estimate * difference;
        let other = self.flow_with_term(self.model.clone(), Quantity::WedgeSoundSpeed, slope);
        let change = 100.0 * (other.value / self.estimate() - 1.0);
        change.is_finite().then(|| {
            Warning::told(
                "wedge-temperature",
                message!(
                    "warnings.wedge-temperature",
                    "the wall is {difference} from the temperature of the wedge's stated sound \
                     speed: were the wedge as warm as the wall and of a usual plastic, the flow would \
                     be {change} different; state {key}",
                    difference = format!("{difference:+.0} K"),
                    change = format!("{change:+.1} %"),
                    key = Told::Key("path.wedge_temperature"),
                ),
            )
        })
    }

    /// The dimensions are of a pipe that was colder or warmer, and nobody said so.
    pub(super) fn surveyed_at_another_temperature(&self) -> Option<Warning> {
        if self.model.has(Quantity::SurveyTemperature) {
            return None;
        }
        let difference = self.wall_temperature()? - ROOM;
        (difference.abs() > FAR).then(|| {
            Warning::told(
                "survey-temperature",
                message!(
                    "warnings.survey-temperature",
                    "the wall is {difference} from room temperature, and nothing says at which \
                     the dimensions were taken: if at 20 degC, the area of a steel pipe is {change} \
                     different now, that of a plastic one several times as much; state {key}",
                    difference = format!("{difference:+.0} K"),
                    change = format!("{:+.2} %", 200.0 * EXPANSION_OF_STEEL * difference),
                    key = Told::Key("pipe.survey_temperature"),
                ),
            )
        })
    }
}
