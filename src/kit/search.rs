//! Looks through an inventory for what a site needs.

use super::Demands;
use super::fit::{Misfit, Reason, STRAP, degrees, megahertz, metres, mm, nanoseconds, time};
use super::list::{Item, Status};
use crate::site::{Holding, InstrumentsUsed, Inventory, Mounting, Purpose, Sensors, Thing};

/// Outside diameter in m up to which sensors usually sit on one rail: common practice, no source.
const RAIL: f64 = 0.125;

/// Straps on a pair of sensors: one each. Common practice, no source.
const STRAPS: u32 = 2;

/// Looks for what is needed, and remembers what was taken.
pub(super) struct Search<'a> {
    inventory: &'a Inventory,
    demands: &'a Demands,
    used: &'a InstrumentsUsed,
    sensors: Option<&'a Sensors>,
    taken: Vec<String>,
}

/// A candidate with what speaks against it.
struct Judged<'a> {
    thing: Option<&'a Thing>,
    against: Vec<Reason>,
    /// What was asked for by name and was not taken, with why.
    instead: String,
}

fn is_called(thing: &Thing, name: &str) -> bool {
    thing.name == name || thing.in_words() == name
}

fn words_of(reasons: &[Reason]) -> String {
    let words: Vec<&str> = reasons.iter().map(|reason| reason.words.as_str()).collect();
    words.join("; ")
}

/// The candidate that fits, the wanted one before others; else that against which least speaks.
fn best<'a>(
    candidates: impl Iterator<Item = (&'a Thing, Vec<Reason>)>,
    wanted: Option<&str>,
) -> Judged<'a> {
    let is_wanted = |thing: &Thing| wanted.is_some_and(|name| is_called(thing, name));
    let mut judged: Vec<(&Thing, Vec<Reason>)> = candidates.collect();
    judged.sort_by_key(|(thing, against)| (against.len(), !is_wanted(thing)));
    let left = judged.iter().skip(1).find(|(thing, _)| is_wanted(thing));
    let why = left.map(|(_, against)| format!(" ({})", words_of(against)));
    let taken_wanted = judged.first().is_some_and(|(thing, _)| is_wanted(thing));
    let instead = match wanted {
        Some(name) if !taken_wanted && !judged.is_empty() => {
            format!("in place of {name}{}", why.unwrap_or_default())
        }
        _ => String::new(),
    };
    let mut judged = judged.into_iter();
    let (thing, against) = match judged.next() {
        Some((thing, against)) => (Some(thing), against),
        None => (None, Vec::new()),
    };
    Judged {
        thing,
        against,
        instead,
    }
}

impl<'a> Search<'a> {
    pub(super) fn new(
        inventory: &'a Inventory,
        demands: &'a Demands,
        used: &'a InstrumentsUsed,
    ) -> Search<'a> {
        let wanted = used.sensors.as_deref();
        let all = inventory.sensors.iter();
        let judged = best(all.map(|s| (&s.thing, demands.against_sensors(s))), wanted);
        let is_found = |s: &&Sensors| judged.thing.is_some_and(|t| t.name == s.thing.name);
        Search {
            inventory,
            demands,
            used,
            sensors: inventory.sensors.iter().find(is_found),
            taken: Vec::new(),
        }
    }

    /// The names of what was taken.
    pub(super) fn taken(self) -> Vec<String> {
        self.taken
    }

    /// An item of what was found and what speaks against it.
    fn item(&mut self, what: &str, needed: String, judged: &Judged<'_>) -> Item {
        let status = match (judged.thing, judged.against.first()) {
            (None, _) => Status::Missing,
            (Some(_), None) => Status::Fits,
            (Some(_), Some(reason)) => Status::DoesNotFit(reason.misfit),
        };
        self.taken
            .extend(judged.thing.map(|thing| thing.name.clone()));
        let remarks = [words_of(&judged.against), judged.instead.clone()];
        let remarks: Vec<String> = remarks.into_iter().filter(|r| !r.is_empty()).collect();
        Item {
            what: what.to_owned(),
            needed,
            status,
            found: judged.thing.map(Thing::in_words).unwrap_or_default(),
            remark: remarks.join("; "),
        }
    }

    pub(super) fn on_the_pipe(&mut self) -> Vec<Item> {
        let (inventory, demands, used) = (self.inventory, self.demands, self.used);
        let all = inventory.sensors.iter();
        let judged = all.map(|s| (&s.thing, demands.against_sensors(s)));
        let judged = best(judged, used.sensors.as_deref());
        let mut items = vec![self.item("pair of sensors", demands.of_sensors(), &judged)];
        items.extend(self.holding());
        let all = inventory.couplants.iter();
        let judged = all.map(|c| (&c.thing, demands.against_couplant(c)));
        let judged = best(judged, used.couplant.as_deref());
        items.push(self.item("couplant or dry pads", demands.of_couplant(), &judged));
        items
    }

    /// What holds the sensors: a rail where one fits, else frames with a bar between them; on opposite
    /// sides frames alone. And the straps.
    fn holding(&mut self) -> Vec<Item> {
        let demands = self.demands;
        let apart = demands.in_words_of_spacing();
        let pipe = format!("pipe of {}", mm(demands.outside_diameter));
        let mut items = Vec::new();
        let rail = self.mounting(Holding::Rail);
        let fits = |judged: &Judged<'_>| judged.thing.is_some() && judged.against.is_empty();
        let framed = fits(&self.mounting(Holding::Frames)) && fits(&self.mounting(Holding::Bar));
        let small = demands.outside_diameter <= RAIL;
        let railed = fits(&rail) || (!framed && (small || rail.thing.is_some()));
        if railed && !demands.is_direct() {
            items.push(self.item("rail", format!("{apart}, {pipe}"), &rail));
        } else {
            let frames = self.mounting(Holding::Frames);
            items.push(self.item("pair of frames", pipe, &frames));
            if !demands.is_direct() {
                let bar = self.mounting(Holding::Bar);
                items.push(self.item("spacer bar", apart, &bar));
            }
        }
        items.push(self.straps());
        items
    }

    fn mounting(&self, kind: Holding) -> Judged<'a> {
        let (inventory, demands, used) = (self.inventory, self.demands, self.used);
        let of_kind = inventory.mountings.iter().filter(|m| m.kind == kind);
        let called = |name: &&String| {
            let mut own = inventory.mountings.iter().filter(|m| m.kind == kind);
            own.any(|m| is_called(&m.thing, name))
        };
        let wanted = used.mounting.iter().find(called);
        let judged = of_kind.map(|m| (&m.thing, demands.against_mounting(m)));
        best(judged, wanted.map(String::as_str))
    }

    /// Straps enough of those that go round the pipe.
    fn straps(&mut self) -> Item {
        let demands = self.demands;
        let needed = format!(
            "{STRAPS} of {} or more: circumference {} and a tenth for sensor and buckle (common \
             practice)",
            metres(STRAP * demands.circumference),
            metres(demands.circumference)
        );
        let fits = |m: &&Mounting| demands.against_mounting(m).is_empty();
        let straps = self
            .inventory
            .mountings
            .iter()
            .filter(|m| m.kind == Holding::Strap);
        let fitting: Vec<&Mounting> = straps.filter(fits).collect();
        let number: u32 = fitting.iter().map(|m| m.number).sum();
        let mut judged = self.mounting(Holding::Strap);
        if judged.against.is_empty() && judged.thing.is_some() && number < STRAPS {
            let words = format!("{number} of {STRAPS}");
            judged.against.push(Reason {
                misfit: Misfit::WrongSize,
                words,
            });
        }
        self.item("straps", needed, &judged)
    }

    pub(super) fn electronics_and_cables(&mut self) -> Vec<Item> {
        let (inventory, demands, used) = (self.inventory, self.demands, self.used);
        let frequency = self.sensors.and_then(|s| s.frequency);
        let all = inventory.electronics.iter();
        let judged = all.map(|e| (&e.thing, demands.against_electronics(e, frequency)));
        let judged = best(judged, used.electronics.as_deref());
        let needed = match frequency {
            Some(hertz) => format!(
                "basis {}, sensors of {}",
                demands.basis.in_words(),
                megahertz(hertz)
            ),
            None => format!("basis {}", demands.basis.in_words()),
        };
        let own = inventory.electronics.iter();
        let own = own
            .clone()
            .find(|e| judged.thing.is_some_and(|t| t.name == e.thing.name));
        let mut items = vec![self.item("electronics", needed, &judged)];
        if let Some(electronics) = own {
            if !electronics.supply.is_empty() {
                let words = "on site, near enough, with its plug";
                items.push(to_check("supply", electronics.supply.clone(), words));
            }
            if !electronics.outputs.is_empty() {
                let words = "to what takes the readings, with its cable";
                items.push(to_check("outputs", electronics.outputs.join(", "), words));
            }
        }
        let all = inventory.cables.iter();
        let judged = all.map(|c| {
            let mut against = demands.against_cables(c);
            against.extend(demands.against_delay_of(c));
            (&c.thing, against)
        });
        let judged = best(judged, used.cables.as_deref());
        let needed = match demands.day.cable_run {
            Some(run) => format!("{} to the electronics", metres(run)),
            None => "as long as the way to the electronics".to_owned(),
        };
        let delay = demands.cable_delay.map(|(delay, _)| nanoseconds(delay));
        let delay =
            delay.map(|delay| format!(", delay of both together {delay} as the site states"));
        let needed = needed + &delay.unwrap_or_default();
        items.push(self.item("pair of cables", needed, &judged));
        items
    }

    pub(super) fn tools(&mut self) -> Vec<Item> {
        let demands = self.demands;
        let round = Some(demands.circumference);
        let along = demands.spacing[1];
        let sheet = format!(
            "{} long or more, which goes round once",
            metres(demands.circumference)
        );
        let mut needs = vec![
            (Purpose::CleanSurface, demands.in_words_of_surface(), None),
            (
                Purpose::Circumference,
                format!("{} long or more", metres(demands.circumference)),
                round,
            ),
            (Purpose::WallThickness, demands.in_words_of_wall(), None),
            (Purpose::Temperature, demands.in_words_of_surface(), None),
            (
                Purpose::Distance,
                format!("{} long or more", metres(along)),
                Some(along),
            ),
            (Purpose::Marking, String::new(), None),
        ];
        if demands.is_direct() {
            needs.push((Purpose::WrapSheet, sheet, round));
        }
        needs.push((Purpose::Logging, String::new(), None));
        let mut items = Vec::new();
        for (purpose, needed, length) in needs {
            let tools = self
                .inventory
                .tools
                .iter()
                .filter(|t| t.purpose.contains(&purpose));
            let judged = best(
                tools.map(|t| (&t.thing, demands.against_tool(t, length))),
                None,
            );
            items.push(self.item(purpose.in_words(), needed, &judged));
        }
        items
    }

    /// The certificates of what was taken, and what was taken without one.
    pub(super) fn certificates(&mut self) -> Vec<Item> {
        let demands = self.demands;
        let needed = match demands.day.date {
            Some(day) => format!("in date on {day}"),
            None => "in date on the day".to_owned(),
        };
        let mut items = Vec::new();
        let taken = &self.taken;
        let together = self.on_the_meter();
        // of sensors with electronics, both must have been taken
        let of_taken = |of: &[String]| {
            let mut own = of.iter().filter(|name| together.contains(&name.as_str()));
            own.all(|name| taken.contains(name)) && of.iter().any(|name| taken.contains(name))
        };
        let certificates = self.inventory.certificates.iter();
        for certificate in certificates.filter(|c| of_taken(&c.of)) {
            let against = demands.against_certificate(certificate);
            let status = match (against.first(), certificate.due.zip(demands.day.date)) {
                (Some(reason), _) => Status::DoesNotFit(reason.misfit),
                (None, Some(_)) => Status::Fits,
                (None, None) => Status::ToBeChecked,
            };
            let due = certificate.due.map(|due| format!("due {due}"));
            items.push(Item {
                what: format!("calibration of {}", certificate.of.join(" and ")),
                needed: needed.clone(),
                status,
                found: certificate.in_words(),
                remark: match against.is_empty() {
                    true => due.unwrap_or_else(|| "no day is stated by which it is due".to_owned()),
                    false => words_of(&against),
                },
            });
        }
        let certified = |name: &String| {
            let mut certificates = self.inventory.certificates.iter();
            certificates.any(|c| c.of.contains(name) && of_taken(&c.of))
        };
        let measuring = self.measuring();
        for thing in measuring
            .into_iter()
            .filter(|thing| taken.contains(&thing.name))
        {
            if !certified(&thing.name) {
                let words = "no certificate in the file";
                items.push(to_check(
                    &format!("calibration of {}", thing.name),
                    needed.clone(),
                    words,
                ));
            }
        }
        items
    }

    /// The names of sensors and electronics, which are calibrated together.
    fn on_the_meter(&self) -> Vec<&'a str> {
        let sensors = self.inventory.sensors.iter().map(|s| s.thing.name.as_str());
        let electronics = self.inventory.electronics.iter();
        sensors
            .chain(electronics.map(|e| e.thing.name.as_str()))
            .collect()
    }

    /// What measures, and is calibrated for that.
    fn measuring(&self) -> Vec<&'a Thing> {
        let inventory = self.inventory;
        let gauges = [
            Purpose::Circumference,
            Purpose::WallThickness,
            Purpose::Temperature,
        ];
        let measures = |purpose: &[Purpose]| purpose.iter().any(|p| gauges.contains(p));
        let sensors = inventory.sensors.iter().map(|s| &s.thing);
        let electronics = inventory.electronics.iter().map(|e| &e.thing);
        let tools = inventory.tools.iter().filter(|t| measures(&t.purpose));
        sensors
            .chain(electronics)
            .chain(tools.map(|t| &t.thing))
            .collect()
    }
}

fn to_check(what: &str, needed: String, remark: &str) -> Item {
    Item {
        what: what.to_owned(),
        needed,
        status: Status::ToBeChecked,
        found: String::new(),
        remark: remark.to_owned(),
    }
}

/// Surfaces in K from which on a hand is burnt in time: our choice for a reminder, no limit of safety.
const HOT: f64 = 318.15;
/// Below it water freezes on the surface.
const ICE: f64 = 273.15;

impl Demands {
    fn in_words_of_surface(&self) -> String {
        match self.temperatures {
            Some(range) => format!("surface at {}", degrees(range)),
            None => "surface at the temperature of the pipe, which nobody states".to_owned(),
        }
    }

    fn in_words_of_wall(&self) -> String {
        let of = self.material.as_ref().map(|name| format!(" of {name}"));
        format!("wall of {}{}", mm(self.wall), of.unwrap_or_default())
    }

    fn in_words_of_spacing(&self) -> String {
        let [near, far] = self.spacing.map(mm);
        match near == far {
            true => format!("exit points {near} apart"),
            false => format!("exit points {near} to {far} apart"),
        }
    }

    fn of_sensors(&self) -> String {
        format!(
            "{}, outside diameter {}, {}",
            self.in_words_of_wall(),
            mm(self.outside_diameter),
            self.in_words_of_surface()
        )
    }

    fn of_couplant(&self) -> String {
        let stays = self
            .day
            .duration
            .map(|duration| format!(", for {}", time(duration)));
        format!(
            "{}{}",
            self.in_words_of_surface(),
            stays.unwrap_or_default()
        )
    }

    /// What only a person on site can see to. Local codes, the permit of the site and licensed practice
    /// come before anything said here.
    pub(super) fn permits(&self) -> Vec<Item> {
        let mut items = vec![to_check(
            "permit of the site",
            "for the place, the day and the work".to_owned(),
            "local codes, the permit and licensed practice come before this list",
        )];
        let [cold, hot] = self.temperatures.unwrap_or([f64::NAN; 2]);
        if hot >= HOT {
            let needed = format!("surface at {}", degrees([hot; 2]));
            let words = "gloves and sleeves for it; no couplant or cable that melts or smokes";
            items.push(to_check("hot pipe", needed, words));
        }
        if cold <= ICE {
            let needed = format!("surface at {}", degrees([cold; 2]));
            let words = "ice under a sensor carries no sound and lets it slip";
            items.push(to_check("cold pipe", needed, words));
        }
        let pressure = match self.pressure {
            Some(pascal) => format!("absolute pressure {:.1} bar", 1e-5 * pascal),
            None => "pressure not stated".to_owned(),
        };
        let words = "nothing on it is loosened, ground into or cut";
        items.push(to_check("pressurised pipe", pressure, words));
        let rest = [
            (
                "hazardous area",
                "only what is certified for the zone goes in",
            ),
            (
                "work at height, in pits and on traffic ways",
                "by the rules of the plant",
            ),
            ("mains supply", "connected by those who may"),
        ];
        let rest = rest.into_iter();
        items.extend(rest.map(|(what, words)| to_check(what, String::new(), words)));
        items
    }
}
