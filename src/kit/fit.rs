//! Whether a thing fits a site, and why not.

use super::Demands;
use crate::pipe::Material;
use crate::site::{
    Cables, CalibrationCertificate, Couplant, Electronics, Holding, Limits, Mounting, Sensors, Tool,
};
use crate::uncertainty::{plain, rounded};
use crate::units::Unit;

/// Why a thing does not fit, or cannot be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Misfit {
    /// Made for another pipe, wall, sensor or way of reading.
    WrongKind,
    /// Too short, too long or too few.
    WrongSize,
    /// Not made for the temperature.
    OutOfTemperatureRange,
    /// Dries out before the end.
    DoesNotLast,
    /// A calibration whose next one was due before the day.
    Overdue,
}

impl Misfit {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Misfit::WrongKind => "wrong kind",
            Misfit::WrongSize => "wrong size",
            Misfit::OutOfTemperatureRange => "out of temperature range",
            Misfit::DoesNotLast => "does not last",
            Misfit::Overdue => "calibration overdue",
        }
    }
}

/// One reason, with its words.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Reason {
    /// What kind of misfit it is.
    pub misfit: Misfit,
    /// Found and allowed, in words.
    pub words: String,
}

fn reason(misfit: Misfit, words: String) -> Reason {
    Reason { misfit, words }
}

/// Three significant digits at most, without zeros at the end.
fn short(number: f64) -> String {
    let rounded: f64 = rounded(number, 3).parse().unwrap_or(number);
    plain(rounded)
}

/// A value in the unit in which limits are written.
pub(super) fn in_unit(si: f64, unit: &Unit) -> String {
    unit.after(&short(unit.from_si(si)))
}

/// A length in mm.
pub(super) fn mm(si: f64) -> String {
    format!("{} mm", short(1e3 * si))
}

/// A length in m, or in mm where it has no whole metre.
pub(super) fn metres(si: f64) -> String {
    match si < 1.0 {
        true => mm(si),
        false => format!("{} m", short(si)),
    }
}

/// A time in ns.
pub(super) fn nanoseconds(si: f64) -> String {
    format!("{} ns", short(1e9 * si))
}

/// A frequency in MHz.
pub(super) fn megahertz(si: f64) -> String {
    format!("{} MHz", short(1e-6 * si))
}

/// The temperatures of the surface, in degC.
pub(super) fn degrees([low, high]: [f64; 2]) -> String {
    let shown = |kelvin: f64| format!("{:.0}", kelvin - 273.15);
    match (shown(low), shown(high)) {
        (low, high) if low == high => format!("{low} degC"),
        (low, high) => format!("{low} degC to {high} degC"),
    }
}

/// Refuses a value outside limits.
fn outside(
    what: &str,
    made: &str,
    value: f64,
    limits: Option<&Limits>,
    misfit: Misfit,
) -> Option<Reason> {
    let limits = limits.filter(|limits| !limits.contain(value))?;
    let found = in_unit(value, &limits.unit);
    Some(reason(
        misfit,
        format!("{what} {found}; {made} {}", limits.words),
    ))
}

/// Refuses a surface that is colder or hotter than a thing stands.
fn temperature(demands: &Demands, limits: Option<&Limits>) -> Option<Reason> {
    let limits = limits?;
    let range = demands.temperatures?;
    if range.iter().all(|kelvin| limits.contain(*kelvin)) {
        return None;
    }
    let words = format!("surface at {}; it stands {}", degrees(range), limits.words);
    Some(reason(Misfit::OutOfTemperatureRange, words))
}

/// Delays in s that differ by no more are the same: less than half a metre of cable.
const SMALLEST_DELAY: f64 = 2e-9;

/// How much longer than the circumference a strap must be, for sensors and buckle: common practice, no
/// source.
pub(super) const STRAP: f64 = 1.1;

impl Demands {
    /// Why sensors do not fit; empty where they do.
    pub fn against_sensors(&self, sensors: &Sensors) -> Vec<Reason> {
        let kind = Misfit::WrongKind;
        let diameter = self.outside_diameter;
        let pipes = sensors.outside_diameter.as_ref();
        let mut found = vec![
            outside("outside diameter", "made for", diameter, pipes, kind),
            outside("wall", "made for", self.wall, sensors.wall.as_ref(), kind),
            self.against_materials(&sensors.wall_materials),
            temperature(self, sensors.temperature.as_ref()),
        ];
        let width = sensors.width.filter(|width| *width > diameter);
        found.push(width.map(|width| {
            let words = format!("{} wide, on a pipe of {}", mm(width), mm(diameter));
            reason(Misfit::WrongSize, words)
        }));
        let length = sensors.length.or(self.sensor_length);
        found.extend(
            length
                .map(|length| self.against_length(length))
                .unwrap_or_default(),
        );
        found.into_iter().flatten().collect()
    }

    fn against_materials(&self, materials: &[String]) -> Option<Reason> {
        let own = self.material.as_ref()?;
        let own = Material::named(own).ok()?;
        let named = |name: &String| Material::named(name).is_ok_and(|m| m.name == own.name);
        if materials.is_empty() || materials.iter().any(named) {
            return None;
        }
        let words = format!("wall of {}; made for {}", own.name, materials.join(", "));
        Some(reason(Misfit::WrongKind, words))
    }

    /// Whether two sensors have room beside each other and on the free length.
    fn against_length(&self, length: f64) -> Vec<Option<Reason>> {
        let [narrow, wide] = self.spacing;
        let overlap = (!self.is_direct() && narrow < length).then(|| {
            let words = format!(
                "exit points {} apart on one side leave no room for two sensors of {}; more \
                 traverses or a direct path do",
                mm(narrow),
                mm(length)
            );
            reason(Misfit::WrongSize, words)
        });
        let needed = wide + length;
        let free = self
            .day
            .free_length
            .filter(|free| *free < needed)
            .map(|free| {
                let words = format!("needs {} along the pipe; {} are free", mm(needed), mm(free));
                reason(Misfit::WrongSize, words)
            });
        vec![overlap, free]
    }

    /// Why electronics do not fit beside sensors of a frequency; empty where they do.
    pub fn against_electronics(
        &self,
        electronics: &Electronics,
        frequency: Option<f64>,
    ) -> Vec<Reason> {
        let reads = &electronics.reads;
        let basis = (!reads.is_empty() && !reads.contains(&self.basis)).then(|| {
            let can: Vec<&str> = reads.iter().map(|basis| basis.in_words()).collect();
            let words = format!(
                "basis {}; it tells {}",
                self.basis.in_words(),
                can.join(", ")
            );
            reason(Misfit::WrongKind, words)
        });
        let limits = electronics.frequency.as_ref();
        let driven = frequency.and_then(|frequency| {
            outside(
                "sensors of",
                "it drives",
                frequency,
                limits,
                Misfit::WrongKind,
            )
        });
        [basis, driven].into_iter().flatten().collect()
    }

    /// Why cables do not fit; empty where they do.
    pub fn against_cables(&self, cables: &Cables) -> Vec<Reason> {
        let run = self.day.cable_run.filter(|run| *run > cables.length);
        let short = run.map(|run| {
            let words = format!(
                "{} to the electronics; it has {}",
                metres(run),
                metres(cables.length)
            );
            reason(Misfit::WrongSize, words)
        });
        let temperature = temperature(self, cables.temperature.as_ref());
        [short, temperature].into_iter().flatten().collect()
    }

    /// Why the delay of cables is not the one that the site states; empty where it is, or where the site
    /// states none. Cables that a plan tries bring their own delay, so that it is no matter of fit there.
    pub fn against_delay_of(&self, cables: &Cables) -> Vec<Reason> {
        let stated = self
            .cable_delay
            .filter(|(delay, u)| (cables.delay - delay).abs() > (3.0 * u).max(SMALLEST_DELAY));
        let words = |(delay, _)| {
            let [own, stated] = [cables.delay, delay].map(nanoseconds);
            let words = format!("delay of both {own}; the site states {stated}");
            reason(Misfit::WrongSize, words)
        };
        stated.map(words).into_iter().collect()
    }

    /// Why a couplant does not fit; empty where it does.
    pub fn against_couplant(&self, couplant: &Couplant) -> Vec<Reason> {
        let lasts = couplant.lasts.zip(self.day.duration);
        let short = lasts
            .filter(|(lasts, duration)| duration > lasts)
            .map(|(lasts, duration)| {
                let words = format!("needed for {}; it lasts {}", time(duration), time(lasts));
                reason(Misfit::DoesNotLast, words)
            });
        let temperature = temperature(self, couplant.temperature.as_ref());
        [short, temperature].into_iter().flatten().collect()
    }

    /// Why something does not hold the sensors; empty where it does.
    pub fn against_mounting(&self, mounting: &Mounting) -> Vec<Reason> {
        let size = Misfit::WrongSize;
        let (diameter, pipes) = (self.outside_diameter, mounting.outside_diameter.as_ref());
        let across = (self.is_direct() && mounting.kind == Holding::Rail).then(|| {
            let words = "a direct path; a rail holds both sensors on one side".to_owned();
            reason(Misfit::WrongKind, words)
        });
        let across_bar = (self.is_direct() && mounting.kind == Holding::Bar).then(|| {
            let words = "a direct path; a bar holds the distance of sensors on one side".to_owned();
            reason(Misfit::WrongKind, words)
        });
        let spaced = |spacing: f64| {
            outside(
                "spacing",
                "it holds",
                spacing,
                mounting.spacing.as_ref(),
                size,
            )
        };
        let spacing = self.spacing.into_iter().find_map(spaced);
        let needed = STRAP * self.circumference;
        let short = mounting
            .length
            .filter(|length| mounting.kind == Holding::Strap && *length < needed);
        let strap = short.map(|length| {
            let words = format!(
                "round {}, with a tenth for sensor and buckle; it has {}",
                metres(self.circumference),
                metres(length)
            );
            reason(size, words)
        });
        let pipe = outside("outside diameter", "it takes", diameter, pipes, size);
        let temperature = temperature(self, mounting.temperature.as_ref());
        let found = [across, across_bar, spacing, strap, pipe, temperature];
        found.into_iter().flatten().collect()
    }

    /// Why a tool does not do; empty where it does. `length` in m is what must be reached with it.
    pub fn against_tool(&self, tool: &Tool, length: Option<f64>) -> Vec<Reason> {
        let short = tool.length.zip(length).filter(|(own, needed)| own < needed);
        let short = short.map(|(own, needed)| {
            let words = format!("{} to be reached; it has {}", metres(needed), metres(own));
            reason(Misfit::WrongSize, words)
        });
        let temperature = temperature(self, tool.temperature.as_ref());
        [short, temperature].into_iter().flatten().collect()
    }

    /// Why a certificate does not do on the day; empty where it does, or where no day is given.
    pub fn against_certificate(&self, certificate: &CalibrationCertificate) -> Vec<Reason> {
        let dates = self.day.date.zip(certificate.due);
        let late = dates.filter(|(day, due)| day > due);
        let words = |(day, due)| format!("due {due}, before {day}");
        let late = late.map(|dates| reason(Misfit::Overdue, words(dates)));
        late.into_iter().collect()
    }
}

/// A time in the largest unit that has a whole part of it.
pub(super) fn time(seconds: f64) -> String {
    let units = [("days", 86_400.0), ("h", 3600.0), ("min", 60.0)];
    let unit = units.into_iter().find(|(_, size)| seconds >= *size);
    let (symbol, size) = match unit {
        Some((_, size)) if seconds == size && size == 86_400.0 => ("day", size),
        Some(unit) => unit,
        None => ("s", 1.0),
    };
    format!("{} {symbol}", short(seconds / size))
}
