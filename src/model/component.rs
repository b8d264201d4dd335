//! The components of a budget.

/// The components into which a budget is grouped.
///
/// # Source
/// ISO 12242:2012, structure of the uncertainty budget of transit-time meters (contents seen).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Component {
    /// What a calibration of the meter leaves.
    CalibrationFactor,
    /// From path mean to area mean of the velocity.
    VelocityProfile,
    /// The area of the bore.
    CrossSection,
    /// From times to velocity.
    PathGeometry,
    /// Transit time and time difference.
    TimeMeasurement,
    /// Time spent outside the liquid.
    DelayTime,
    /// Disturbed flow at the place of measurement.
    Installation,
    /// Taking the sensors off and putting them on again.
    Remounting,
}

impl Component {
    /// All components, in the order of a budget.
    pub const ALL: [Component; 8] = [
        Component::CalibrationFactor,
        Component::VelocityProfile,
        Component::CrossSection,
        Component::PathGeometry,
        Component::TimeMeasurement,
        Component::DelayTime,
        Component::Installation,
        Component::Remounting,
    ];

    /// The component in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Component::CalibrationFactor => "calibration factor",
            Component::VelocityProfile => "velocity profile",
            Component::CrossSection => "cross-section",
            Component::PathGeometry => "path geometry",
            Component::TimeMeasurement => "time measurement",
            Component::DelayTime => "delay time",
            Component::Installation => "installation",
            Component::Remounting => "re-mounting",
        }
    }
}
