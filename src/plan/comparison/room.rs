//! Whether the sensors of an alternative fit on the pipe.

use crate::error::{Error, Result};
use crate::uncertainty::plain;

/// The room for sensors along the pipe.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Room {
    /// Free length along the pipe in m, between flanges, welds, supports or whatever is in the way.
    pub free_length: Option<f64>,
    /// Smallest and largest spacing of exit points in m that a rail or frame holds.
    pub rail: Option<[f64; 2]>,
}

/// Whether the sensors of an alternative fit.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Fit {
    /// Nobody asked, and they are not in each other's way.
    NotAsked,
    /// They fit.
    Fits {
        /// Length in m that is left of the free length, where one is stated.
        spare: Option<f64>,
    },
    /// They do not fit, or do not suit the pipe, and why.
    DoesNotFit(String),
    /// Nobody can tell, and why.
    NotKnown(String),
}

/// Spacings of an alternative over the conditions asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Smallest and largest axial spacing of the exit points, in m.
    pub spacing: [f64; 2],
    /// Length of one sensor along the pipe in m, if stated. Its exit point is taken to be in its middle.
    pub sensor_length: Option<f64>,
    /// Whether the sensors sit on opposite sides of the pipe.
    pub is_direct: bool,
}

impl Placed {
    /// From the outer end of one sensor to that of the other, in m.
    pub fn length(&self) -> Option<f64> {
        Some(self.spacing[1] + self.sensor_length?)
    }
}

/// Rounding does not decide whether something fits: a micrometre in 1 m.
const ROUNDING: f64 = 1e-6;

fn mm(length: f64) -> String {
    format!("{:.0} mm", 1e3 * length)
}

impl Room {
    /// Refuses lengths that are none.
    pub(super) fn check(&self) -> Result<()> {
        let positive = |field: &str, length: f64, least: f64, allowed: &str| {
            let possible = length >= least && length > 0.0 && length.is_finite();
            Error::range(possible, field, length, "m", allowed)
        };
        if let Some(free) = self.free_length {
            positive("free_length", free, 0.0, "above 0")?;
        }
        if let Some([shortest, longest]) = self.rail {
            positive("rail[0]", shortest, 0.0, "above 0")?;
            let allowed = format!("{} m, the smallest spacing, or above", plain(shortest));
            positive("rail[1]", longest, shortest, &allowed)?;
        }
        Ok(())
    }

    /// Whether sensors fit that are placed so.
    pub fn fit(&self, placed: &Placed) -> Fit {
        let [shortest, longest] = placed.spacing;
        if let Some(length) = placed.sensor_length
            && !placed.is_direct
            && shortest < length
        {
            return Fit::DoesNotFit(format!(
                "sensors of {} overlap at a spacing of {}",
                mm(length),
                mm(shortest)
            ));
        }
        if let Some(held @ [lowest, highest]) = self.rail {
            let beyond = [
                (shortest < lowest - ROUNDING, shortest),
                (longest > highest + ROUNDING, longest),
            ];
            if let Some((_, spacing)) = beyond.into_iter().find(|(beyond, _)| *beyond) {
                let [lowest, highest] = held.map(mm);
                return Fit::DoesNotFit(format!(
                    "the rail holds spacings from {lowest} to {highest}, and {} is needed",
                    mm(spacing)
                ));
            }
        }
        let Some(free) = self.free_length else {
            return match self.rail {
                Some(_) => Fit::Fits { spare: None },
                None => Fit::NotAsked,
            };
        };
        // with sensors of unknown length it is at least the spacing
        let needed = placed.length().unwrap_or(longest);
        if needed > free + ROUNDING {
            let least = if placed.sensor_length.is_none() {
                "more than "
            } else {
                ""
            };
            return Fit::DoesNotFit(format!(
                "{least}{} needed along the pipe, {} free",
                mm(needed),
                mm(free)
            ));
        }
        match placed.sensor_length {
            Some(_) => Fit::Fits {
                spare: Some((free - needed).max(0.0)),
            },
            None => Fit::NotKnown("length of a sensor not stated, path.sensor_length".to_owned()),
        }
    }
}

impl Fit {
    /// What stands in the way: empty where nothing does.
    pub fn reason(&self) -> &str {
        match self {
            Fit::NotAsked | Fit::Fits { .. } => "",
            Fit::DoesNotFit(why) | Fit::NotKnown(why) => why,
        }
    }

    /// Whether they fit; `None` where nobody asked or can tell.
    pub fn fits(&self) -> Option<bool> {
        match self {
            Fit::NotAsked | Fit::NotKnown(_) => None,
            Fit::Fits { .. } => Some(true),
            Fit::DoesNotFit(_) => Some(false),
        }
    }

    /// Length in m that is left, where it fits into a stated one.
    pub fn spare(&self) -> Option<f64> {
        match self {
            Fit::Fits { spare } => *spare,
            _ => None,
        }
    }

    pub(super) fn shown(&self) -> String {
        match self {
            Fit::NotAsked => String::new(),
            Fit::Fits { spare: None } => "yes".to_owned(),
            Fit::Fits { spare: Some(spare) } => format!("yes, {} to spare", mm(*spare)),
            Fit::DoesNotFit(_) => "no".to_owned(),
            Fit::NotKnown(_) => "not known".to_owned(),
        }
    }
}
