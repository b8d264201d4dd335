//! Scaled and shifted Student's t.

use super::draws::{QuantileFit, StudentDeviates};
use super::law::Law;
use crate::scalar::InstructionSet;
use crate::scalar::math::{NormalQuantile, Split, map};
use crate::scalar::special::StudentT;
use once_cell::race::OnceBox;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

/// JCGM 101:2008, 6.4.9.
#[derive(Debug)]
pub(super) struct ScaledT {
    pub location: f64,
    pub scale: f64,
    pub dof: f64,
    pub standard: StudentT,
    /// Made for the first block.
    pub fits: OnceBox<Arc<Fits>>,
}

/// What takes probabilities and normal deviates to values, fast.
#[derive(Debug)]
pub(super) struct Fits {
    central: QuantileFit,
    /// `None` for infinitely many degrees of freedom.
    deviates: Option<StudentDeviates>,
}

impl Fits {
    /// Most numbers of degrees of freedom whose fits are kept.
    const MOST_KEPT: usize = 256;

    /// The fits for a number of degrees of freedom. They are kept, since a run after the other has
    /// the same inputs, and making them takes as long as a hundred thousand draws.
    fn shared(standard: &StudentT, dof: f64) -> Arc<Fits> {
        static KEPT: Mutex<BTreeMap<u64, Arc<Fits>>> = Mutex::new(BTreeMap::new());
        // nobody waits: in a forked process the thread that holds the lock may be gone
        let kept = || KEPT.try_lock().ok();
        let known = kept().and_then(|kept| kept.get(&dof.to_bits()).map(Arc::clone));
        if let Some(known) = known {
            return known;
        }
        let new = Arc::new(Fits {
            central: QuantileFit::new(|above| -standard.quantile(above)),
            deviates: dof.is_finite().then(|| StudentDeviates::new(dof)),
        });
        if let Some(mut all) = kept() {
            if all.len() >= Self::MOST_KEPT {
                all.clear();
            }
            all.insert(dof.to_bits(), Arc::clone(&new));
        }
        new
    }
}

impl ScaledT {
    fn fits(&self) -> &Fits {
        self.fits
            .get_or_init(|| Box::new(Fits::shared(&self.standard, self.dof)))
    }
}

impl Law for ScaledT {
    fn mean(&self) -> f64 {
        self.location
    }
    fn variance(&self) -> f64 {
        if self.dof <= 2.0 {
            return f64::INFINITY;
        }
        let widened = if self.dof.is_finite() {
            self.dof / (self.dof - 2.0)
        } else {
            1.0
        };
        self.scale * self.scale * widened
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(self.standard.density((x - self.location) / self.scale) / self.scale)
    }
    fn cdf(&self, x: f64) -> f64 {
        self.standard.cdf((x - self.location) / self.scale)
    }
    fn quantile(&self, p: f64) -> f64 {
        self.location + self.scale * self.standard.quantile(p)
    }
    fn quantiles(&self, set: InstructionSet, values: &mut [f64]) {
        let fits = self.fits();
        let outer = |p| {
            fits.deviates.map_or_else(
                || NormalQuantile::rare(p),
                |d| d.at(NormalQuantile::rare(p)),
            )
        };
        fits.central
            .quantiles(set, values, self.location, self.scale, outer);
    }
    fn at_normal_deviates(&self, set: InstructionSet, values: &mut [f64]) {
        let (location, scale) = (self.location, self.scale);
        match &self.fits().deviates {
            Some(deviates) => {
                map(
                    set,
                    values,
                    #[inline(always)]
                    |z| location + scale * deviates.at(z),
                );
            }
            None => {
                map(
                    set,
                    values,
                    #[inline(always)]
                    |z| location + scale * z,
                );
            }
        }
    }
}
