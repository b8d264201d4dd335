//! A site that uses some of the instruments.

use super::file::InstrumentsUsed;
use super::inventory::{
    Cables, CalibrationCertificate, Couplant, Electronics, Inventory, Mounting, Sensors, Stating,
};
use crate::error::{Error, Result, nearest};
use crate::model::{AngleFrom, Covered, Quantity};
use crate::site::file::SiteFile;
use crate::site::section::Section;
use std::fmt;
use std::sync::Arc;
use toml::Spanned;

/// What is used of an inventory, by name; `None` leaves to the site what it states.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Selection {
    /// The pair of sensors.
    pub sensors: Option<String>,
    /// The electronics.
    pub electronics: Option<String>,
    /// The pair of cables.
    pub cables: Option<String>,
    /// The couplant.
    pub couplant: Option<String>,
    /// What holds the sensors.
    pub mounting: Vec<String>,
}

/// What is used of an inventory: names of things that are there.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    inventory: Arc<Inventory>,
    sensors: Option<usize>,
    electronics: Option<usize>,
    cables: Option<usize>,
    couplant: Option<usize>,
    mounting: Vec<usize>,
}

/// The place of a name among those of a kind.
fn place<'a>(
    field: &str,
    name: Option<&String>,
    names: impl Iterator<Item = &'a str>,
) -> Result<Option<usize>> {
    let Some(name) = name else { return Ok(None) };
    let names: Vec<&str> = names.collect();
    match names.iter().position(|own| own == name) {
        Some(place) => Ok(Some(place)),
        None => Err(Error::UnknownName {
            field: format!("instruments.{field}"),
            found: name.clone(),
            nearest: nearest(name, names.iter().copied()),
            allowed: names.iter().map(|name| (*name).to_owned()).collect(),
        }),
    }
}

impl Inventory {
    /// Things by their names.
    ///
    /// # Errors
    /// [`Error::UnknownName`] for a name that no thing of that kind has.
    pub fn choose(self: &Arc<Self>, selection: &Selection) -> Result<Chosen> {
        let sensors = self.sensors.iter().map(|s| s.thing.name.as_str());
        let electronics = self.electronics.iter().map(|e| e.thing.name.as_str());
        let cables = self.cables.iter().map(|c| c.thing.name.as_str());
        let couplants = self.couplants.iter().map(|c| c.thing.name.as_str());
        let mountings = || self.mountings.iter().map(|m| m.thing.name.as_str());
        let mounting = selection.mounting.iter();
        let mounting = mounting.map(|name| place("mounting", Some(name), mountings()));
        let mounting: Vec<Option<usize>> = mounting.collect::<Result<_>>()?;
        Ok(Chosen {
            inventory: Arc::clone(self),
            sensors: place("sensors", selection.sensors.as_ref(), sensors)?,
            electronics: place("electronics", selection.electronics.as_ref(), electronics)?,
            cables: place("cables", selection.cables.as_ref(), cables)?,
            couplant: place("couplant", selection.couplant.as_ref(), couplants)?,
            mounting: mounting.into_iter().flatten().collect(),
        })
    }
}

/// The sensors, and the electronics where there is a choice of them: what tells one set from another.
impl fmt::Display for Chosen {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let some = self.inventory.electronics.len() > 1 || self.sensors.is_none();
        let sensors = self.sensors().map(|s| s.thing.name.as_str());
        let electronics = self.electronics().filter(|_| some);
        let names = [sensors, electronics.map(|e| e.thing.name.as_str())];
        let mut names: Vec<&str> = names.into_iter().flatten().collect();
        if names.is_empty() {
            let rest = [
                self.cables().map(|c| c.thing.name.as_str()),
                self.couplant().map(|c| c.thing.name.as_str()),
            ];
            names.extend(rest.into_iter().flatten());
        }
        f.write_str(&names.join(", "))
    }
}

/// What an existing statement of the site is to what an instrument states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Existing {
    /// A contradiction.
    Refused,
    /// That of another instrument, which is not used.
    Replaced,
}

/// What depends on the sensors alone.
const OF_SENSORS: [Quantity; 6] = [
    Quantity::WedgeAngle,
    Quantity::WedgeSoundSpeed,
    Quantity::WedgeSoundSpeedPerKelvin,
    Quantity::WedgeReferenceTemperature,
    Quantity::BeamWidth,
    Quantity::WedgeDelay,
];
const OF_ELECTRONICS: [Quantity; 2] = [Quantity::ElectronicsDelay, Quantity::TimeBase];
const OF_CABLES: [Quantity; 3] = [
    Quantity::CableDelay,
    Quantity::CableLength,
    Quantity::CableDelayPerLength,
];
const OF_COUPLANT: [Quantity; 2] = [Quantity::Couplant, Quantity::CouplantSoundSpeed];

impl Chosen {
    /// The pair of sensors.
    pub fn sensors(&self) -> Option<&Sensors> {
        self.sensors.map(|n| &self.inventory.sensors[n])
    }

    /// The electronics.
    pub fn electronics(&self) -> Option<&Electronics> {
        self.electronics.map(|n| &self.inventory.electronics[n])
    }

    /// The pair of cables.
    pub fn cables(&self) -> Option<&Cables> {
        self.cables.map(|n| &self.inventory.cables[n])
    }

    /// The couplant.
    pub fn couplant(&self) -> Option<&Couplant> {
        self.couplant.map(|n| &self.inventory.couplants[n])
    }

    /// What holds the sensors.
    pub fn mounting(&self) -> impl Iterator<Item = &Mounting> {
        self.mounting.iter().map(|n| &self.inventory.mountings[*n])
    }

    /// Where they are described.
    pub fn inventory(&self) -> &Arc<Inventory> {
        &self.inventory
    }

    /// What a day with all of them costs; `None` where it is not stated of any.
    pub fn cost(&self) -> Option<f64> {
        let things = [
            self.sensors().map(|s| &s.thing),
            self.electronics().map(|e| &e.thing),
            self.cables().map(|c| &c.thing),
            self.couplant().map(|c| &c.thing),
        ];
        let things = things.into_iter().flatten();
        let things = things.chain(self.mounting().map(|m| &m.thing));
        let costs: Vec<f64> = things.filter_map(|thing| thing.cost).collect();
        (!costs.is_empty()).then(|| costs.iter().sum())
    }

    /// The certificate that covers most of what is used and says a calibration factor: of sensors and
    /// electronics together, where there is one. Of several the last one.
    pub fn certificate(&self) -> Option<&CalibrationCertificate> {
        let used = [
            self.sensors().map(|s| s.thing.name.as_str()),
            self.electronics().map(|e| e.thing.name.as_str()),
            self.cables().map(|c| c.thing.name.as_str()),
        ];
        let used: Vec<&str> = used.into_iter().flatten().collect();
        let certificates = self.inventory.certificates.iter();
        certificates
            .filter(|c| c.calibration_factor.is_some())
            .filter(|c| c.of.iter().all(|name| used.contains(&name.as_str())))
            .max_by_key(|c| (c.of.len(), c.date))
    }

    /// The names, as a site file has them.
    fn used(&self) -> InstrumentsUsed {
        let inventory = &self.inventory;
        InstrumentsUsed {
            file: None,
            sensors: self.sensors().map(|s| s.thing.in_words()),
            electronics: self.electronics().map(|e| e.thing.in_words()),
            cables: self.cables().map(|c| c.thing.in_words()),
            couplant: self.couplant().map(|c| c.thing.in_words()),
            mounting: self.mounting().map(|m| m.thing.in_words()).collect(),
            taken_from: Some(format!(
                "{}, SHA-256 {}",
                inventory.file_name(),
                inventory.digest()
            )),
        }
    }

    /// Puts what they state into the sections of a site file.
    ///
    /// # Errors
    /// [`Error::Conflict`] for what the site states of them already, unless that is to be replaced; for
    /// an in-situ calibration, which belongs to the sensors that it was made with; for a spacing that
    /// decides the angle of the ray, which belongs to sensors that are placed.
    pub(crate) fn apply(&self, sections: &mut SiteFile, existing: Existing) -> Result<()> {
        let anew = self.sensors.is_some() || self.electronics.is_some();
        if anew && sections.in_situ_calibration.is_some() {
            return Err(conflict(
                "in_situ_calibration",
                "stated with other sensors and electronics to be used",
                "none: it belongs to the instruments that it was made with",
            ));
        }
        let mut replaced = Vec::new();
        if let Some(sensors) = self.sensors() {
            self.apply_sensors(sensors, sections, existing, &mut replaced)?;
        }
        if let Some(electronics) = self.electronics() {
            let meter = &mut sections.meter;
            make_room(&OF_ELECTRONICS, meter, existing, &mut replaced)?;
            state(meter, &electronics.stating);
            let (damping, resolution) = (&electronics.damping, &electronics.resolution_text);
            put(&mut meter.damping, damping, "meter.damping", existing)?;
            put(
                &mut meter.resolution,
                resolution,
                "meter.resolution",
                existing,
            )?;
        }
        if let Some(cables) = self.cables() {
            let meter = &mut sections.meter;
            make_room(&OF_CABLES, meter, existing, &mut replaced)?;
            state(meter, &cables.stating);
        }
        if let Some(couplant) = self.couplant() {
            let path = sections.path.get_mut();
            make_room(&OF_COUPLANT, path, existing, &mut replaced)?;
            // a delay that was measured with couplant has it already
            let alone = sections.meter.wedge_delay_covers_couplant.as_ref();
            let counted = sections.meter.entry(Quantity::WedgeDelay).is_none()
                || alone.is_some_and(|covers| !*covers.get_ref());
            if counted {
                state(path, &couplant.stating);
            }
        }
        if anew {
            self.apply_certificate(sections, existing, &mut replaced)?;
        }
        // a correlation belongs to the values that it was stated of
        let of = |name: &str, q: &Quantity| {
            let path = q.path();
            name == path || name.starts_with(&format!("{path}."))
        };
        sections.correlation.retain(|c| {
            let between = c.between.get_ref();
            !between
                .iter()
                .any(|name| replaced.iter().any(|q| of(name, q)))
        });
        sections.instruments = Some(Spanned::new(0..0, self.used()));
        Ok(())
    }

    fn apply_sensors(
        &self,
        sensors: &Sensors,
        sections: &mut SiteFile,
        existing: Existing,
        replaced: &mut Vec<Quantity>,
    ) -> Result<()> {
        let path = sections.path.get_mut();
        if existing == Existing::Replaced {
            let from = path.angle_from.as_ref().map(|a| *a.get_ref());
            if from == Some(AngleFrom::Spacing) {
                return Err(conflict(
                    "path.spacing",
                    "a spacing that decides the angle of the ray, with other sensors to be used",
                    "path.angle_from = \"wedge\", since the spacing belongs to sensors that are placed",
                ));
            }
            path.forget(Quantity::Spacing);
        }
        make_room(&OF_SENSORS, path, existing, replaced)?;
        make_room(&OF_SENSORS, &mut sections.meter, existing, replaced)?;
        let of_warmth = [
            Quantity::WedgeSoundSpeedPerKelvin,
            Quantity::WedgeReferenceTemperature,
        ];
        // a wedge whose temperature the site does not state has that of its sound speed
        let warm = path.entry(Quantity::WedgeTemperature).is_some();
        for (q, stated) in &sensors.stating {
            match q {
                q if of_warmth.contains(q) && !warm => {}
                Quantity::WedgeDelay => sections.meter.restate(*q, stated.clone()),
                _ => path.restate(*q, stated.clone()),
            }
        }
        let (length, frequency) = (&sensors.length_text, &sensors.frequency_text);
        put(
            &mut path.sensor_length,
            length,
            "path.sensor_length",
            existing,
        )?;
        put(&mut path.frequency, frequency, "path.frequency", existing)?;
        let covers = &mut sections.meter.wedge_delay_covers_couplant;
        let field = "meter.wedge_delay_covers_couplant";
        put(covers, &sensors.delay_covers_couplant, field, existing)
    }

    /// The calibration of other instruments says nothing of these; theirs does.
    fn apply_certificate(
        &self,
        sections: &mut SiteFile,
        existing: Existing,
        replaced: &mut Vec<Quantity>,
    ) -> Result<()> {
        let factor = [Quantity::CalibrationFactor];
        let certificate = self.certificate();
        let meter = &mut sections.meter;
        if existing == Existing::Replaced {
            make_room(&factor, meter, existing, replaced)?;
            (meter.calibration_covers, meter.calibration_reynolds) = (None, None);
        }
        let Some(certificate) = certificate else {
            return Ok(());
        };
        let Some(mut stated) = certificate.calibration_factor.clone() else {
            return Ok(());
        };
        make_room(&factor, meter, existing, replaced)?;
        let own = std::mem::take(&mut stated.uncertainty.evidence);
        stated.uncertainty.evidence = match own.as_str() {
            "" => certificate.in_words(),
            own => format!("{own}; {}", certificate.in_words()),
        };
        meter.restate(Quantity::CalibrationFactor, stated);
        let with = |name: Option<&str>| name.is_some_and(|n| certificate.of.iter().any(|o| o == n));
        let covers = [
            (
                Covered::Sensors,
                with(self.sensors().map(|s| s.thing.name.as_str())),
            ),
            (
                Covered::Electronics,
                with(self.electronics().map(|e| e.thing.name.as_str())),
            ),
        ];
        let covers = covers
            .into_iter()
            .filter(|(_, with)| *with)
            .map(|(what, _)| what);
        meter.calibration_covers = Some(Spanned::new(0..0, covers.collect()));
        meter.calibration_reynolds = certificate.reynolds.map(|r| Spanned::new(0..0, r));
        Ok(())
    }
}

fn conflict(field: &str, found: &str, allowed: &str) -> Error {
    Error::Conflict {
        field: field.to_owned(),
        found: found.to_owned(),
        allowed: allowed.to_owned(),
    }
}

/// Refuses what the site states beside an instrument that states it too.
fn refuse(stated: bool, field: &str, existing: Existing) -> Result<()> {
    if !stated || existing == Existing::Replaced {
        return Ok(());
    }
    Err(conflict(
        field,
        "stated here, while an instrument under [instruments] stands for it",
        "one of the two",
    ))
}

/// States a key that is no quantity, in place of that of another instrument.
fn put<T: Clone>(
    key: &mut Option<Spanned<T>>,
    own: &Option<T>,
    field: &str,
    existing: Existing,
) -> Result<()> {
    if existing == Existing::Replaced {
        *key = None;
    }
    refuse(own.is_some() && key.is_some(), field, existing)?;
    if let Some(own) = own {
        *key = Some(Spanned::new(0..0, own.clone()));
    }
    Ok(())
}

/// Leaves quantities unsaid, or refuses those that are stated.
fn make_room<K>(
    quantities: &[Quantity],
    section: &mut Section<K>,
    existing: Existing,
    replaced: &mut Vec<Quantity>,
) -> Result<()> {
    for q in quantities {
        refuse(section.entry(*q).is_some(), &q.path(), existing)?;
        if section.entry(*q).is_some() {
            section.forget(*q);
            replaced.push(*q);
        }
    }
    Ok(())
}

fn state<K>(section: &mut Section<K>, stating: &Stating) {
    for (q, stated) in stating {
        section.restate(*q, stated.clone());
    }
}
