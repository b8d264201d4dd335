//! What the certificate of a reference states point by point over the flow.

use super::builder::Builder;
use super::file::ReferenceKind;
use super::quantity::ReferenceQuantity;
use super::reference_curves::Curves;
use super::required_quantities::Setting;
use crate::error::{Error, Result};
use crate::model::Over;
use crate::site::{Stated, StatedCorrelation};
use toml::Spanned;

impl Builder<'_> {
    /// The curves of the reference over the flow that it indicates.
    pub(super) fn curves(&self) -> Result<Curves> {
        let mut curves = Curves::default();
        for (q, entry) in self.sections.reference.get_ref().stated() {
            if let Some(entry) = entry {
                let path = format!("reference.{}", q.key());
                let curve = entry
                    .get_ref()
                    .curve(&path)
                    .map_err(|e| self.at(e, entry))?;
                curves.set(q, curve);
            }
        }
        Ok(curves)
    }

    /// Refuses points that no flow of this reference can be compared with.
    pub(super) fn check_curve(
        &self,
        q: ReferenceQuantity,
        setting: &Setting,
        entry: &Spanned<Stated>,
        path: &str,
    ) -> Result<()> {
        let Some(curve) = entry.get_ref().curve(path).map_err(|e| self.at(e, entry))? else {
            return Ok(());
        };
        let conflict = |found: &str, allowed: &str| {
            let conflict = Error::Conflict {
                field: format!("{path}.point"),
                found: found.to_owned(),
                allowed: allowed.to_owned(),
            };
            Err(self.at(conflict, entry))
        };
        if setting.kind != ReferenceKind::MasterMeter {
            let found = format!(
                "points over the flow for kind = \"{}\"",
                setting.kind.in_words()
            );
            return conflict(&found, "points with kind = \"master meter\" only");
        }
        if path != format!("reference.{}", q.key()) {
            let found = "points for a flow point or a run";
            return conflict(found, "points in [reference], for all runs");
        }
        if curve.over != Over::VolumeFlow {
            let found = "points over the Reynolds number, which is not known in the reference";
            return conflict(found, "points with flow");
        }
        Ok(())
    }

    /// The correlations between the points of the certificate.
    pub(super) fn correlated_points(&self) -> Result<Vec<StatedCorrelation>> {
        let mut all = Vec::new();
        for (q, entry) in self.sections.reference.get_ref().stated() {
            let Some(entry) = entry else { continue };
            let stated = entry.get_ref();
            let pairs = stated.correlated_points(&format!("reference.{}", q.key()));
            let line = self.lines.at(entry.span().start);
            let pairs = pairs.map_err(|e| self.at(e, entry))?.into_iter();
            all.extend(pairs.map(|pair| StatedCorrelation { pair, line }));
        }
        Ok(all)
    }
}
