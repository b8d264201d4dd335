//! Between which flows an alternative can measure at all, and without a warning.

use super::{Conditions, Plan, Repeatability};
use crate::error::{Error, Result};
use crate::site::Site;
use crate::watch::{Watch, map_watched, unwatched};

/// The mean velocities, in m/s, between which the window is looked for: slower and faster flow in
/// pipes is rare.
pub const SEARCHED: [f64; 2] = [0.001, 30.0];

/// Velocities tried over [`SEARCHED`], in equal ratios.
const TRIED: usize = 61;
/// Temperatures of the liquid, in K, between which the window is looked for, and their step.
const SEARCHED_TEMPERATURES: [f64; 2] = [250.0, 650.0];
const TEMPERATURE_STEP: f64 = 2.5;

/// Halvings of an edge: to a millionth of the ratio between two velocities tried.
const HALVINGS: usize = 20;

/// One end of a range of flows.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Edge {
    /// Volume flow, in m3/s.
    pub volume_flow: f64,
    /// Mean velocity, in m/s.
    pub velocity: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// What lies beyond it, in words; empty at the end of what was searched.
    pub beyond: String,
}

/// A range of flows.
#[derive(Debug, Clone, PartialEq)]
pub struct Range {
    /// The lowest flow.
    pub lowest: Edge,
    /// The highest flow.
    pub highest: Edge,
    /// What else lies between them, in words, such as the transition; empty where nothing does.
    pub between: String,
}

/// Between which temperatures the site has a sound path and a liquid, whatever the flow.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Temperatures {
    /// The lowest temperature, in K.
    pub lowest: f64,
    /// The highest temperature, in K.
    pub highest: f64,
    /// What lies below it, in words; empty at the end of what was searched.
    pub below: String,
    /// What lies above it, in words.
    pub above: String,
}

/// Between which flows an alternative can measure at one temperature.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Window {
    /// The place of the alternative in [`Plan::alternatives`].
    pub alternative: usize,
    /// Temperature of the liquid, in K; `None` where it is as the site file states.
    pub temperature: Option<f64>,
    /// Where there is a result, or why there is none at any velocity.
    pub feasible: Result<Range>,
    /// Codes of the warnings that go with every result, whatever the flow.
    pub always_warned: Vec<&'static str>,
    /// Where there is a result without a further warning; `None` without any such flow.
    pub without_warning: Option<Range>,
    /// Between which temperatures the alternative has a sound path and a liquid; `None` where the
    /// temperature has no effect, or where there is none such.
    pub temperatures: Option<Temperatures>,
}

/// What a flow comes to, as far as the window is concerned.
#[derive(Clone)]
enum Finding {
    /// A result, with the codes of its warnings.
    Found(Vec<&'static str>),
    Refused(Error),
}

impl Finding {
    fn warnings(&self) -> Option<&[&'static str]> {
        match self {
            Finding::Found(codes) => Some(codes),
            Finding::Refused(_) => None,
        }
    }

    /// What is wrong with it beside the warnings that go with every result.
    fn words(&self, always: &[&str]) -> String {
        match self {
            Finding::Found(codes) => {
                let codes = codes.iter().copied();
                let own: Vec<&str> = codes.filter(|code| !always.contains(code)).collect();
                own.join(", ")
            }
            Finding::Refused(why) => reason(why),
        }
    }
}

/// Why there is no measurement beyond an edge. The value at the edge that was searched for is nobody's,
/// so that it is left out.
fn reason(error: &Error) -> String {
    let context = error.context();
    match (context.field, context.allowed) {
        (Some(field), Some(allowed)) if context.found.is_some() => {
            // degrees, and not the kelvin that stand beside them
            let parts = allowed
                .split_inclusive(" K)")
                .map(|part| match part.rsplit_once(" (") {
                    Some((before, kelvin)) if kelvin.ends_with(" K)") => before,
                    _ => part,
                });
            format!("{field}: allowed: {}", parts.collect::<String>())
        }
        _ => error.to_string(),
    }
}

struct Search<'a> {
    site: &'a Site,
    temperature: Option<f64>,
    repeatability: &'a Repeatability,
    /// Area of the bore in m2, and Reynolds number at 1 m/s.
    area: f64,
    reynolds: f64,
    /// Codes of the warnings that go with every result.
    always: Vec<&'static str>,
}

/// What is found at one alternative and temperature.
struct Found {
    feasible: Result<Range>,
    always_warned: Vec<&'static str>,
    without_warning: Option<Range>,
}

impl Found {
    fn nothing(why: Error) -> Found {
        Found {
            feasible: Err(why),
            always_warned: Vec::new(),
            without_warning: None,
        }
    }
}

impl Plan {
    /// The feasible window of each alternative at each temperature, to a millionth: mean velocities
    /// from 1 mm/s to 30 m/s are tried. Where flows that can be measured lie on both sides of flows
    /// that cannot, the range spans both.
    pub fn windows(&self) -> Vec<Window> {
        // nobody ends it
        self.windows_watched(&mut unwatched).unwrap_or_default()
    }

    /// As [`Plan::windows`], with a watch that is told the number of windows done and may end it.
    ///
    /// # Errors
    /// [`Error::Cancelled`].
    pub fn windows_watched(&self, watch: &mut Watch<'_>) -> Result<Vec<Window>> {
        let mut asked: Vec<(usize, Option<f64>)> = Vec::new();
        for point in &self.points {
            let one = (point.alternative, point.conditions.temperature);
            if asked.last() != Some(&one) {
                asked.push(one);
            }
        }
        // those of an alternative, which the temperature of a window has no part in
        let temperatures = map_watched(self.alternatives.len(), watch, |i| {
            let site = self.alternatives[i].site.as_ref().ok();
            site.and_then(temperatures)
        })?;
        let window = |i: usize| {
            let (alternative, temperature) = asked[i];
            let found = match &self.alternatives[alternative].site {
                Ok(site) => ranges(site, temperature, &self.repeatability),
                Err(why) => Found::nothing(why.clone()),
            };
            Window {
                alternative,
                temperature,
                feasible: found.feasible,
                always_warned: found.always_warned,
                without_warning: found.without_warning,
                temperatures: temperatures[alternative].clone(),
            }
        };
        map_watched(asked.len(), watch, window)
    }
}

fn ranges(site: &Site, temperature: Option<f64>, repeatability: &Repeatability) -> Found {
    // what no flow can change
    let steps = match site.steps_at_rest(temperature) {
        Ok(steps) => steps,
        Err(why) => return Found::nothing(why),
    };
    let mut search = Search {
        site,
        temperature,
        repeatability,
        area: steps.area,
        reynolds: steps.inside_diameter / steps.kinematic_viscosity,
        always: Vec::new(),
    };
    let [slowest, fastest] = SEARCHED;
    let step = libm::log(fastest / slowest) / (TRIED - 1) as f64;
    let velocities: Vec<f64> = (0..TRIED)
        .map(|i| slowest * libm::exp(step * i as f64))
        .collect();
    let findings: Vec<Finding> = velocities.iter().map(|v| search.at(*v)).collect();
    let mut results = findings.iter().filter_map(Finding::warnings);
    let first: Vec<&'static str> = results.next().unwrap_or_default().to_vec();
    let shared = |mut all: Vec<&'static str>, codes: &[&'static str]| {
        all.retain(|code| codes.contains(code));
        all
    };
    search.always = results.fold(first, shared);
    let feasible = search.range(&velocities, &findings, &|f| f.warnings().is_some());
    let feasible = feasible.ok_or_else(|| match &findings[TRIED / 2] {
        Finding::Refused(why) => why.clone(),
        Finding::Found(_) => Error::Missing {
            field: "window".to_owned(),
            needed: "a flow at which the site can measure".to_owned(),
        },
    });
    let quiet = |f: &Finding| f.warnings().is_some() && f.words(&search.always).is_empty();
    Found {
        feasible,
        without_warning: search.range(&velocities, &findings, &quiet),
        always_warned: search.always.clone(),
    }
}

/// From the first to the last temperature at which there is a sound path and a liquid.
fn temperatures(site: &Site) -> Option<Temperatures> {
    site.check_temperature(Some(SEARCHED_TEMPERATURES[0]))
        .ok()?;
    let refused = |t: f64| site.steps_at_rest(Some(t)).err();
    let [coldest, hottest] = SEARCHED_TEMPERATURES;
    let steps = ((hottest - coldest) / TEMPERATURE_STEP) as usize;
    let tried: Vec<f64> = (0..=steps)
        .map(|i| coldest + TEMPERATURE_STEP * i as f64)
        .collect();
    let possible: Vec<bool> = tried.iter().map(|t| refused(*t).is_none()).collect();
    let first = possible.iter().position(|p| *p)?;
    let last = possible.iter().rposition(|p| *p)?;
    let edge = |inside: usize, outside: Option<&f64>| {
        let (mut inside, Some(mut outside)) = (tried[inside], outside.copied()) else {
            return (tried[inside], String::new());
        };
        for _ in 0..HALVINGS {
            let middle = 0.5 * (inside + outside);
            match refused(middle) {
                None => inside = middle,
                Some(_) => outside = middle,
            }
        }
        let why = refused(outside).map(|why| reason(&why));
        (inside, why.unwrap_or_default())
    };
    let (lowest, below) = edge(first, first.checked_sub(1).and_then(|i| tried.get(i)));
    let (highest, above) = edge(last, tried.get(last + 1));
    Some(Temperatures {
        lowest,
        highest,
        below,
        above,
    })
}

impl Search<'_> {
    fn at(&self, velocity: f64) -> Finding {
        let conditions = Conditions {
            volume_flow: self.area * velocity,
            temperature: self.temperature,
        };
        match self.site.expected(&conditions, self.repeatability) {
            Err(why) => Finding::Refused(why),
            Ok(expected) => {
                let warnings = expected.warnings();
                Finding::Found(warnings.iter().map(|w| w.code).collect())
            }
        }
    }

    fn edge(&self, velocity: f64, beyond: String) -> Edge {
        Edge {
            volume_flow: self.area * velocity,
            velocity,
            reynolds: self.reynolds * velocity,
            beyond,
        }
    }

    /// From the first to the last velocity that is accepted.
    fn range(
        &self,
        velocities: &[f64],
        findings: &[Finding],
        accepted: &dyn Fn(&Finding) -> bool,
    ) -> Option<Range> {
        let first = findings.iter().position(accepted)?;
        let last = findings.iter().rposition(accepted)?;
        let edge = |inside: usize, outside: Option<usize>| match outside {
            Some(outside) if outside < findings.len() => self.halved(
                velocities[inside],
                velocities[outside],
                &findings[outside],
                accepted,
            ),
            _ => self.edge(velocities[inside], String::new()),
        };
        let mut between: Vec<String> = Vec::new();
        for finding in findings[first..=last].iter().filter(|f| !accepted(f)) {
            let words = finding.words(&self.always);
            if !between.contains(&words) {
                between.push(words);
            }
        }
        Some(Range {
            lowest: edge(first, first.checked_sub(1)),
            highest: edge(last, Some(last + 1)),
            between: between.join("; "),
        })
    }

    fn halved(
        &self,
        mut inside: f64,
        mut outside: f64,
        beyond: &Finding,
        accepted: &dyn Fn(&Finding) -> bool,
    ) -> Edge {
        let mut words = beyond.words(&self.always);
        for _ in 0..HALVINGS {
            let middle = (inside * outside).sqrt();
            let found = self.at(middle);
            if accepted(&found) {
                inside = middle;
            } else {
                outside = middle;
                words = found.words(&self.always);
            }
        }
        self.edge(inside, words)
    }
}
