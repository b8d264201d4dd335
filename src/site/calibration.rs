//! What a calibration covers must not count a second time.

use super::builder::Builder;
use super::in_situ::without_uncertainty;
use super::{Stated, StatedCorrelation};
use crate::error::{Error, Result};
use crate::message::{Told, message};
use crate::model::{FactorCurve, Quantity};
use crate::uncertainty::Input;
use toml::Spanned;

impl Builder<'_> {
    /// The curve of a calibration factor, where it is stated point by point.
    pub(super) fn curve_of(&self, q: Quantity) -> Result<Option<FactorCurve>> {
        let Some(entry) = self.sections.entry(q) else {
            return Ok(None);
        };
        let curve = entry.get_ref().curve(&q.path());
        curve.map_err(|e| self.at(e, entry))
    }

    /// The correlations between the points of a calibration factor.
    pub(super) fn point_correlations(
        &self,
        q: Quantity,
        entry: Option<&Spanned<Stated>>,
    ) -> Result<Vec<StatedCorrelation>> {
        let Some(entry) = entry else {
            return Ok(Vec::new());
        };
        let pairs = entry.get_ref().correlated_points(&q.path());
        let pairs = pairs.map_err(|e| self.at(e, entry))?;
        let line = self.line(entry);
        let stated = pairs.into_iter();
        Ok(stated
            .map(|pair| StatedCorrelation { pair, line })
            .collect())
    }

    /// Leaves no uncertainty to inputs that the calibration factor covers, and says so.
    pub(super) fn without_covered(
        &self,
        stated: Vec<(Quantity, Input)>,
    ) -> Result<Vec<(Quantity, Input)>> {
        let Some(section) = &self.sections.meter.calibration_covers else {
            return Ok(stated);
        };
        let factor = Quantity::CalibrationFactor;
        if self.sections.entry(factor).is_none() {
            let field = "meter.calibration_covers";
            return Err(self.without_effect(field, &factor.path(), section));
        }
        let covers = section.get_ref();
        let exact = |(q, input): (Quantity, Input)| match q.row().covered {
            Some(by) if covers.contains(&by) => {
                let covered = message!(
                    "evidence.covered",
                    "uncertainty covered by {input}, whose calibration was with these {parts}",
                    input = Told::Input(factor.path().into_owned()),
                    parts = by.in_words()
                );
                Ok((q, without_uncertainty(&input, covered)?))
            }
            _ => Ok((q, input)),
        };
        stated.into_iter().map(exact).collect()
    }

    /// The smallest and the largest Reynolds number of the calibration, where they are stated.
    pub(super) fn calibrated_reynolds(&self) -> Result<Option<[f64; 2]>> {
        let Some(stated) = &self.sections.meter.calibration_reynolds else {
            return Ok(None);
        };
        let field = "meter.calibration_reynolds";
        let factor = Quantity::CalibrationFactor;
        if self.sections.entry(factor).is_none() {
            return Err(self.without_effect(field, &factor.path(), stated));
        }
        let [low, high] = *stated.get_ref();
        let rising = low > 0.0 && high > low && high.is_finite();
        let allowed = "the smallest and the largest, both above 0";
        Error::range(rising, field, low, "", allowed).map_err(|e| self.at(e, stated))?;
        Ok(Some([low, high]))
    }

    /// Refuses a couplant that would count twice: in the delay of the wedges and as a layer.
    pub(super) fn check_couplant(&self) -> Result<()> {
        let (couplant, delay) = (Quantity::Couplant, Quantity::WedgeDelay);
        let flag = self.sections.meter.wedge_delay_covers_couplant.as_ref();
        let entry = self.sections.entry(couplant);
        let both = entry.filter(|_| self.sections.entry(delay).is_some());
        match (both, flag) {
            (Some(entry), None) => Err(self.at(
                Error::Conflict {
                    field: couplant.path().into_owned(),
                    found: format!("stated beside {}, which usually has it", delay.path()),
                    allowed: "one of the two; or meter.wedge_delay_covers_couplant = false, where \
                              the delay is that of the wedges alone"
                        .to_owned(),
                },
                entry,
            )),
            (Some(entry), Some(flag)) if *flag.get_ref() => Err(self.at(
                Error::Conflict {
                    field: couplant.path().into_owned(),
                    found: format!("stated beside {}, which has it", delay.path()),
                    allowed: format!("none, since {} has it", delay.path()),
                },
                entry,
            )),
            _ => Ok(()),
        }
    }
}
