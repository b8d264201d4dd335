//! Type A evaluation: statistics of repeated readings, one design of experiment a file.

mod autocorrelated;
mod cosine;
mod damping;
mod one_way;
mod outlier;
mod pooled;
mod random_effects;
mod readings;
mod scatter_about_course;
mod variance_inflation;
mod weighted;

pub use autocorrelated::{Autocorrelated, autocorrelation, autocorrelation_watched};
pub use damping::Damping;
pub use one_way::OneWay;
pub use outlier::{OutlierTest, grubbs_critical_value};
pub use pooled::Pooled;
pub use random_effects::{BetweenSets, RandomEffects};
pub use readings::TypeA;
pub use scatter_about_course::AboutCourse;
pub use variance_inflation::variance_inflation;
pub use weighted::WeightedMean;
