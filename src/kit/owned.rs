//! Everything that one owns, tried on a site: what fits, what does not and why.

use super::fit::{Reason, metres};
use super::{DayOnSite, Demands, Misfit};
use crate::error::Result;
use crate::plan::{Plan, PlanRequest, Row, put};
use crate::site::{Change, Chosen, Holding, Inventory, Selection, Site, Thing};
use crate::uncertainty::plain;
use crate::watch::{Watch, unwatched};
use std::sync::Arc;

/// What is tried, and for which flows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OwnedRequest {
    /// Flows, temperatures and scatter as for [`Site::plan`]. What its alternatives change is tried
    /// with all instruments.
    pub plan: PlanRequest,
    /// What else is known of the day on site; temperatures and free length are those of the plan.
    pub day: DayOnSite,
}

/// A set of instruments that does not fit the site.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct NotFitting {
    /// What was tried, in words.
    pub label: String,
    /// What does not fit, by name, with the reason: one at least.
    pub reasons: Vec<(String, Reason)>,
}

/// All that one owns on a site: the plan of what fits, and why the rest does not.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct OwnedPlan {
    /// The plan, an alternative for each set of instruments that fits; empty where none does.
    pub plan: Arc<Plan>,
    /// What fits, as [`Plan::alternatives`] has it.
    pub fitting: Vec<Chosen>,
    /// What does not fit.
    pub not_fitting: Vec<NotFitting>,
}

/// What is told where no set of instruments fits.
pub const NOTHING_FITS: &str = "no set of instruments fits this site";

/// More sets than anybody looks at.
const MOST_SETS: usize = 2000;

impl Site {
    /// Tries every pair of sensors of an inventory with all electronics, on the paths asked for, and
    /// plans with what fits. To each set belong the cables, the couplant and what holds the sensors that
    /// fit first, the cheapest before others.
    ///
    /// # Errors
    /// As [`Site::plan`] and [`Site::demands`]; more than 2000 sets.
    pub fn plan_owned(
        &self,
        inventory: &Arc<Inventory>,
        request: &OwnedRequest,
    ) -> Result<OwnedPlan> {
        self.plan_owned_watched(inventory, request, &mut unwatched)
    }

    /// As [`Site::plan_owned`], with a watch that is told the number of points done and may end it.
    ///
    /// # Errors
    /// As [`Site::plan_owned`], and [`Error::Cancelled`](crate::Error::Cancelled).
    pub fn plan_owned_watched(
        &self,
        inventory: &Arc<Inventory>,
        request: &OwnedRequest,
        watch: &mut Watch<'_>,
    ) -> Result<OwnedPlan> {
        let day = DayOnSite {
            temperatures: request.plan.temperatures.clone(),
            free_length: request.plan.comparison.room.free_length,
            ..request.day.clone()
        };
        let as_stated = [Change::default()];
        let changes = match request.plan.alternatives.as_slice() {
            [] => &as_stated,
            changes => changes,
        };
        let sets = changes.len() * inventory.sensors.len() * inventory.electronics.len().max(1);
        crate::Error::range(
            sets <= MOST_SETS,
            "instruments",
            sets as f64,
            "sets",
            format!("{MOST_SETS} at most: sensors times electronics times paths"),
        )?;
        let (mut alternatives, mut fitting, mut not_fitting) = (Vec::new(), Vec::new(), Vec::new());
        for selection in inventory.pairs() {
            for change in changes {
                match self.tried(inventory, &selection, change, &day)? {
                    Ok((change, chosen)) => {
                        alternatives.push(change);
                        fitting.push(chosen);
                    }
                    Err(not) => not_fitting.push(not),
                }
            }
        }
        let plan = match alternatives.is_empty() {
            // the errors of the request are told all the same
            true => {
                let mut plan = self.plan_watched(&request.plan, watch)?;
                (plan.alternatives, plan.points) = (Vec::new(), Vec::new());
                plan
            }
            false => {
                let request = PlanRequest {
                    alternatives,
                    ..request.plan.clone()
                };
                self.plan_watched(&request, watch)?
            }
        };
        Ok(OwnedPlan {
            plan: Arc::new(plan),
            fitting,
            not_fitting,
        })
    }

    /// The alternative of a pair of sensors with electronics on one path, or why there is none.
    fn tried(
        &self,
        inventory: &Arc<Inventory>,
        selection: &Selection,
        change: &Change,
        day: &DayOnSite,
    ) -> Result<std::result::Result<(Change, Chosen), NotFitting>> {
        let chosen = inventory.choose(selection)?;
        let with = |chosen: &Chosen| Change {
            instruments: Some(chosen.clone()),
            ..change.clone()
        };
        let label = with(&chosen).to_string();
        let refused = |name: &str, words: String| NotFitting {
            label: label.clone(),
            reasons: vec![(
                name.to_owned(),
                Reason {
                    misfit: Misfit::WrongKind,
                    words,
                },
            )],
        };
        let name = selection.sensors.clone().unwrap_or_default();
        let site = match self.with(&with(&chosen)) {
            Ok(site) => site,
            Err(why) => return Ok(Err(refused(&name, why.to_string()))),
        };
        let demands = match site.demands(day) {
            Ok(demands) => demands,
            // what no pair of sensors mends is an error of the question
            Err(why) if is_of_the_question(&why) => return Err(why),
            Err(why) => return Ok(Err(refused(&name, why.to_string()))),
        };
        let mut reasons = Vec::new();
        let against = |thing: &Thing, found: Vec<Reason>| {
            let name = thing.name.clone();
            found.into_iter().map(move |reason| (name.clone(), reason))
        };
        let frequency = chosen.sensors().and_then(|s| s.frequency);
        if let Some(sensors) = chosen.sensors() {
            reasons.extend(against(&sensors.thing, demands.against_sensors(sensors)));
        }
        if let Some(electronics) = chosen.electronics() {
            let found = demands.against_electronics(electronics, frequency);
            reasons.extend(against(&electronics.thing, found));
        }
        let rest = inventory.rest(&demands, &mut reasons);
        if !reasons.is_empty() {
            return Ok(Err(NotFitting { label, reasons }));
        }
        let chosen = inventory.choose(&Selection {
            sensors: selection.sensors.clone(),
            electronics: selection.electronics.clone(),
            ..rest
        })?;
        Ok(Ok((with(&chosen), chosen)))
    }
}

impl OwnedPlan {
    /// The cheapest alternative that fits and reaches the target of the plan at every flow and
    /// temperature, by its place, with its cost; `None` where no target is asked for, none reaches it,
    /// or no cost is stated of any that does.
    ///
    /// # Errors
    /// As [`Plan::comparison`].
    pub fn cheapest_on_target(&self) -> Result<Option<(usize, f64)>> {
        let comparison = self.plan.comparison()?;
        let reaching = comparison.alternatives.iter().enumerate();
        let reaching = reaching.filter(|(_, one)| comparison.is_on_target(one) == Some(true));
        let costs = reaching.filter_map(|(i, _)| Some((i, self.fitting[i].cost()?)));
        Ok(costs.min_by(|a, b| a.1.total_cmp(&b.1)))
    }

    /// What does not fit, as rows: what was tried, the thing, what kind of misfit it is and why.
    pub fn not_fitting_rows(&self) -> Vec<Row> {
        let rows = self.not_fitting.iter().flat_map(|not| {
            not.reasons.iter().map(|(thing, reason)| {
                let mut row = Row::new();
                put(&mut row, "alternative", not.label.as_str());
                put(&mut row, "thing", thing.as_str());
                put(&mut row, "misfit", reason.misfit.in_words());
                put(&mut row, "reason", reason.words.as_str());
                row
            })
        });
        rows.collect()
    }

    /// What is owned besides the table of alternatives: what does not fit and why, each thing once, and
    /// the cheapest that reaches the target.
    ///
    /// # Errors
    /// As [`Plan::comparison`].
    pub fn in_words(&self) -> Result<String> {
        let mut told: Vec<String> = Vec::new();
        for (thing, reason) in self.not_fitting.iter().flat_map(|not| &not.reasons) {
            let line = format!("{thing}: {}: {}", reason.misfit.in_words(), reason.words);
            if !told.contains(&line) {
                told.push(line);
            }
        }
        let mut text = String::new();
        if self.fitting.is_empty() {
            text += NOTHING_FITS;
            text += "\n";
        }
        if !told.is_empty() {
            text += "does not fit\n";
            for line in told {
                text += &format!("  {line}\n");
            }
        }
        if let Some((i, cost)) = self.cheapest_on_target()? {
            let label = &self.plan.alternatives[i].label;
            text += &format!(
                "cheapest that reaches the target: {label} (cost {})\n",
                plain(cost)
            );
        }
        Ok(text)
    }
}

/// Whether an error would be the same with any sensors: temperatures and lengths that were asked for.
fn is_of_the_question(error: &crate::Error) -> bool {
    let asked = [
        "temperature",
        "temperatures",
        "cable_run",
        "free_length",
        "duration",
    ];
    let field = error.context().field;
    field.is_some_and(|field| asked.contains(&field.as_str()))
}

/// The cheapest of those that fit; else why the last one does not.
fn cheapest<'a, T: 'a>(
    of: impl Iterator<Item = &'a T>,
    thing: impl Fn(&T) -> &Thing,
    against: impl Fn(&T) -> Vec<Reason>,
    reasons: &mut Vec<(String, Reason)>,
) -> Option<String> {
    let cost = |one: &T| thing(one).cost.unwrap_or(0.0);
    let mut all: Vec<&T> = of.collect();
    all.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
    if let Some(one) = all.iter().find(|one| against(one).is_empty()) {
        return Some(thing(one).name.clone());
    }
    for one in all {
        let name = &thing(one).name;
        reasons.extend(
            against(one)
                .into_iter()
                .map(|reason| (name.clone(), reason)),
        );
    }
    None
}

impl Inventory {
    /// All pairs of sensors with all electronics.
    fn pairs(&self) -> Vec<Selection> {
        let electronics: Vec<Option<String>> = match self.electronics.as_slice() {
            [] => vec![None],
            some => some.iter().map(|e| Some(e.thing.name.clone())).collect(),
        };
        let sensors = self.sensors.iter().map(|s| s.thing.name.clone());
        let pairs = sensors.flat_map(|sensors| {
            electronics.iter().map(move |electronics| Selection {
                sensors: Some(sensors.clone()),
                electronics: electronics.clone(),
                ..Selection::default()
            })
        });
        pairs.collect()
    }

    /// Cables, couplant and what holds the sensors, where an inventory has any of that kind.
    fn rest(&self, demands: &Demands, reasons: &mut Vec<(String, Reason)>) -> Selection {
        let cables = cheapest(
            self.cables.iter(),
            |c| &c.thing,
            |c| demands.against_cables(c),
            reasons,
        );
        let couplant = cheapest(
            self.couplants.iter(),
            |c| &c.thing,
            |c| demands.against_couplant(c),
            reasons,
        );
        Selection {
            cables,
            couplant,
            mounting: self.holding(demands, reasons),
            ..Selection::default()
        }
    }

    /// A rail, or frames with a bar between them; on opposite sides frames alone. And straps.
    fn holding(&self, demands: &Demands, reasons: &mut Vec<(String, Reason)>) -> Vec<String> {
        let found = |kind: Holding, reasons: &mut Vec<(String, Reason)>| {
            let of_kind = self.mountings.iter().filter(|m| m.kind == kind);
            cheapest(
                of_kind,
                |m| &m.thing,
                |m| demands.against_mounting(m),
                reasons,
            )
        };
        let has = |kind: Holding| self.mountings.iter().any(|m| m.kind == kind);
        let straps = found(Holding::Strap, reasons);
        let mut against = Vec::new();
        let rail = match demands.is_direct() {
            true => None,
            false => found(Holding::Rail, &mut against),
        };
        if rail.is_some() {
            return rail.into_iter().chain(straps).collect();
        }
        let frames = found(Holding::Frames, &mut against);
        let bar = match demands.is_direct() {
            true => None,
            false => found(Holding::Bar, &mut against),
        };
        let bar_needed = !demands.is_direct();
        let listed = has(Holding::Rail) || has(Holding::Frames) || has(Holding::Bar);
        let held = frames.is_some() && (bar.is_some() || !bar_needed);
        if listed && !held {
            if against.is_empty() {
                let apart = metres(demands.spacing[1]);
                let words =
                    format!("no rail, and no frames with a bar, for exit points {apart} apart");
                against.push((
                    "mounting".to_owned(),
                    Reason {
                        misfit: Misfit::WrongKind,
                        words,
                    },
                ));
            }
            reasons.extend(against);
        }
        frames.into_iter().chain(bar).chain(straps).collect()
    }
}
