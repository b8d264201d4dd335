//! From the sections of a file of instruments to what they describe, with the line of whatever is
//! wrong.

use super::file::{
    CablesSection, CertificateSection, CouplantSection, ElectronicsSection, InstrumentsFile,
    MountingSection, SensorsSection, ToolSection,
};
use super::inventory::{
    Cables, CalibrationCertificate, Couplant, Electronics, Inventory, Mounting, Sensors, Stating,
    Thing, Tool,
};
use super::{Holding, Limits};
use crate::digest::sha256;
use crate::error::{Error, Result, nearest};
use crate::files::{Kind, read_text};
use crate::line_numbers::Lines;
use crate::model::{Basis, Quantity};
use crate::pipe::Material;
use crate::site::stated_quantity::{inputs_named, inputs_of};
use crate::site::{Stated, parse_sections};
use crate::text::shown;
use crate::uncertainty::{Input, plain};
use crate::units::{Dimension, quantity};
use jiff::civil::Date;
use std::path::{Path, PathBuf};
use toml::Spanned;

impl Inventory {
    /// Reads a file of instruments.
    ///
    /// # Errors
    /// The file cannot be read, is no regular one or is larger than 4 MiB, or anything in it is wrong;
    /// the error names file, line, what was found and what is allowed.
    pub fn load(path: impl AsRef<Path>) -> Result<Inventory> {
        let path = path.as_ref();
        Inventory::from_toml(&read_text(path, Kind::Instruments)?, path)
    }

    /// Reads instruments from TOML text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Inventory::load`].
    pub fn from_toml(text: &str, file: impl Into<PathBuf>) -> Result<Inventory> {
        let file = file.into();
        let sections: InstrumentsFile = parse_sections(text, &file, "file of instruments")?;
        let reader = Reader {
            lines: Lines::of(text),
            file: &file,
        };
        let mut inventory = reader.inventory(&sections)?;
        inventory.digest = sha256(text.as_bytes());
        inventory.file = file;
        Ok(inventory)
    }
}

struct Reader<'a> {
    lines: Lines,
    /// The name used in errors.
    file: &'a Path,
}

/// A section with its path in the file, counted from 1.
struct At<'a, T> {
    path: String,
    section: &'a Spanned<T>,
}

fn numbered<'a, T>(kind: &str, sections: &'a [Spanned<T>]) -> impl Iterator<Item = At<'a, T>> {
    let kind = kind.to_owned();
    (1..).zip(sections).map(move |(n, section)| At {
        path: format!("{kind}[{n}]"),
        section,
    })
}

impl<T> At<'_, T> {
    fn key(&self, key: &str) -> String {
        format!("{}.{key}", self.path)
    }
}

type Entry = Option<Spanned<Stated>>;
type Text = Option<Spanned<String>>;
type Between = Option<Spanned<[String; 2]>>;

impl Reader<'_> {
    fn inventory(&self, f: &InstrumentsFile) -> Result<Inventory> {
        let inventory = Inventory {
            name: f.name.clone(),
            note: f.note.clone(),
            sensors: each("sensors", &f.sensors, |at| self.sensors(at))?,
            electronics: each("electronics", &f.electronics, |at| self.electronics(at))?,
            cables: each("cables", &f.cables, |at| self.cables(at))?,
            couplants: each("couplant", &f.couplant, |at| self.couplant(at))?,
            mountings: each("mounting", &f.mounting, |at| self.mounting(at))?,
            tools: each("tool", &f.tool, |at| self.tool(at))?,
            certificates: each("certificate", &f.certificate, |at| self.certificate(at))?,
            ..Inventory::default()
        };
        self.check_names(f, &inventory)?;
        Ok(inventory)
    }

    /// Refuses two things of one name, and certificates of what is not there.
    fn check_names(&self, f: &InstrumentsFile, inventory: &Inventory) -> Result<()> {
        let spans = f.sensors.iter().map(|s| &s.get_ref().name);
        let spans = spans.chain(f.electronics.iter().map(|s| &s.get_ref().name));
        let spans = spans.chain(f.cables.iter().map(|s| &s.get_ref().name));
        let spans = spans.chain(f.couplant.iter().map(|s| &s.get_ref().name));
        let spans = spans.chain(f.mounting.iter().map(|s| &s.get_ref().name));
        let spans = spans.chain(f.tool.iter().map(|s| &s.get_ref().name));
        let mut names: Vec<&str> = Vec::new();
        for ((kind, thing), at) in inventory.things().zip(spans) {
            let conflict = |found: String, allowed: &str| Error::Conflict {
                field: format!("{kind}.name"),
                found,
                allowed: allowed.to_owned(),
            };
            if thing.name.trim().is_empty() {
                let found = "a name without letters or digits".to_owned();
                return Err(self.at(conflict(found, "a name by which a site file uses it"), at));
            }
            if names.contains(&thing.name.as_str()) {
                let found = format!("`{}` a second time", thing.name);
                let allowed = "each name once in a file, since sites and certificates go by it";
                return Err(self.at(conflict(found, allowed), at));
            }
            names.push(&thing.name);
        }
        for at in numbered("certificate", &f.certificate) {
            let of = &at.section.get_ref().of;
            if of.get_ref().is_empty() {
                let missing = Error::Missing {
                    field: at.key("of"),
                    needed: "the name of what was calibrated, or the names".to_owned(),
                };
                return Err(self.at(missing, of));
            }
            for name in of.get_ref() {
                if !names.contains(&shown(name).as_ref()) {
                    let unknown = Error::UnknownName {
                        field: at.key("of"),
                        found: name.clone(),
                        nearest: nearest(name, names.iter().copied()),
                        allowed: names.iter().map(|name| (*name).to_owned()).collect(),
                    };
                    return Err(self.at(unknown, of));
                }
            }
        }
        Ok(())
    }

    fn sensors(&self, at: &At<'_, SensorsSection>) -> Result<Sensors> {
        let s = at.section.get_ref();
        let entries = [
            (Quantity::WedgeAngle, "wedge_angle", &s.wedge_angle),
            (
                Quantity::WedgeSoundSpeed,
                "wedge_sound_speed",
                &s.wedge_sound_speed,
            ),
            (
                Quantity::WedgeSoundSpeedPerKelvin,
                "wedge_sound_speed_per_kelvin",
                &s.wedge_sound_speed_per_kelvin,
            ),
            (
                Quantity::WedgeReferenceTemperature,
                "wedge_reference_temperature",
                &s.wedge_reference_temperature,
            ),
            (Quantity::BeamWidth, "beam_width", &s.beam_width),
            (Quantity::WedgeDelay, "wedge_delay", &s.wedge_delay),
        ];
        let thing = self.thing(at, &s.name, &s.serial_number, &s.note, &s.cost)?;
        for name in &s.wall_materials {
            Material::named(name.get_ref()).map_err(|e| self.at(e, name))?;
        }
        let length = Dimension::Length;
        Ok(Sensors {
            stating: self.stating(at, &thing, &entries)?,
            frequency: self.positive(at, "frequency", &s.frequency, Dimension::Frequency)?,
            length: self.positive(at, "length", &s.length, length)?,
            width: self.positive(at, "width", &s.width, length)?,
            outside_diameter: self.limits(at, "outside_diameter", &s.outside_diameter, length)?,
            wall: self.limits(at, "wall", &s.wall, length)?,
            wall_materials: s
                .wall_materials
                .iter()
                .map(|m| m.get_ref().clone())
                .collect(),
            temperature: self.temperatures(at, &s.temperature)?,
            delay_covers_couplant: s.wedge_delay_covers_couplant.as_ref().map(|c| *c.get_ref()),
            frequency_text: s.frequency.as_ref().map(|text| text.get_ref().clone()),
            length_text: s.length.as_ref().map(|text| text.get_ref().clone()),
            thing,
        })
    }

    fn electronics(&self, at: &At<'_, ElectronicsSection>) -> Result<Electronics> {
        let s = at.section.get_ref();
        let entries = [
            (Quantity::ElectronicsDelay, "delay", &s.delay),
            (Quantity::TimeBase, "time_base", &s.time_base),
        ];
        let thing = self.thing(at, &s.name, &s.serial_number, &s.note, &s.cost)?;
        Ok(Electronics {
            stating: self.stating(at, &thing, &entries)?,
            resolution: self.positive(at, "resolution", &s.resolution, Dimension::Time)?,
            frequency: self.limits(at, "frequency", &s.frequency, Dimension::Frequency)?,
            reads: s.reads.clone(),
            supply: s.supply.clone(),
            outputs: s
                .outputs
                .iter()
                .map(|words| shown(words).into_owned())
                .collect(),
            resolution_text: s.resolution.as_ref().map(|text| text.get_ref().clone()),
            damping: s.damping.as_ref().map(|d| d.get_ref().clone()),
            thing,
        })
    }

    fn cables(&self, at: &At<'_, CablesSection>) -> Result<Cables> {
        let s = at.section.get_ref();
        let thing = self.thing(at, &s.name, &s.serial_number, &s.note, &s.cost)?;
        let text = Some(s.length.clone());
        let length = self
            .positive(at, "length", &text, Dimension::Length)?
            .unwrap_or_default();
        if let (Some(delay), Some(_)) = (&s.delay, &s.delay_per_length) {
            let both = Error::Conflict {
                field: at.key("delay_per_length"),
                found: "stated beside delay".to_owned(),
                allowed: "one of the two".to_owned(),
            };
            return Err(self.at(both, delay));
        }
        let entries = [
            (Quantity::CableDelay, "delay", &s.delay),
            (
                Quantity::CableDelayPerLength,
                "delay_per_length",
                &s.delay_per_length,
            ),
        ];
        let mut stating = self.stating(at, &thing, &entries)?;
        let estimate = |entry: &Entry, q: Quantity| {
            let read = entry
                .as_ref()
                .map(|e| inputs_of(e.get_ref(), q, Basis::Timed));
            let inputs = read.transpose()?;
            Ok::<_, Error>(inputs.map(|all| all.iter().map(Input::estimate).sum::<f64>()))
        };
        let per_length = Quantity::CableDelayPerLength;
        let delay = match estimate(&s.delay, Quantity::CableDelay)? {
            Some(delay) => delay,
            None => {
                let stated = estimate(&s.delay_per_length, per_length)?;
                2.0 * length * stated.unwrap_or(per_length.default_value())
            }
        };
        if s.delay.is_none() {
            let mut both = Stated {
                value: Some(format!("{} m", plain(2.0 * length))),
                ..Stated::default()
            };
            both.uncertainty.evidence = format!("two of {}", thing.in_words());
            stating.push((Quantity::CableLength, both));
        }
        Ok(Cables {
            length,
            delay,
            temperature: self.temperatures(at, &s.temperature)?,
            stating,
            thing,
        })
    }

    fn couplant(&self, at: &At<'_, CouplantSection>) -> Result<Couplant> {
        let s = at.section.get_ref();
        let entries = [
            (Quantity::Couplant, "thickness", &s.thickness),
            (Quantity::CouplantSoundSpeed, "sound_speed", &s.sound_speed),
        ];
        let thing = self.thing(at, &s.name, "", &s.note, &s.cost)?;
        if let (None, Some(speed)) = (&s.thickness, &s.sound_speed) {
            let alone = Error::Conflict {
                field: at.key("sound_speed"),
                found: "stated without thickness, so that it would have no effect".to_owned(),
                allowed: "sound_speed with thickness".to_owned(),
            };
            return Err(self.at(alone, speed));
        }
        Ok(Couplant {
            stating: self.stating(at, &thing, &entries)?,
            dry: s.dry,
            temperature: self.temperatures(at, &s.temperature)?,
            lasts: self.positive(at, "lasts", &s.lasts, Dimension::Time)?,
            thing,
        })
    }

    fn mounting(&self, at: &At<'_, MountingSection>) -> Result<Mounting> {
        let s = at.section.get_ref();
        let length = Dimension::Length;
        let number = s.number.as_ref().map_or(1, |n| *n.get_ref());
        if let Some(stated) = &s.number {
            let some = number > 0 && number <= MOST_OF_ONE;
            let allowed = format!("1 to {MOST_OF_ONE}");
            Error::range(some, at.key("number"), f64::from(number), "", allowed)
                .map_err(|e| self.at(e, stated))?;
        }
        let spaced = matches!(s.kind, Holding::Rail | Holding::Bar);
        if spaced && s.spacing.is_none() {
            return Err(self.missing(
                at,
                "spacing",
                "the spacings at which it holds the sensors, such as [\"80 mm\", \"400 mm\"]",
            ));
        }
        if s.kind == Holding::Strap && s.length.is_none() {
            return Err(self.missing(at, "length", "the length of the strap, such as \"2.5 m\""));
        }
        Ok(Mounting {
            thing: self.thing(at, &s.name, "", &s.note, &s.cost)?,
            kind: s.kind,
            spacing: self.limits(at, "spacing", &s.spacing, length)?,
            length: self.positive(at, "length", &s.length, length)?,
            number,
            outside_diameter: self.limits(at, "outside_diameter", &s.outside_diameter, length)?,
            temperature: self.temperatures(at, &s.temperature)?,
        })
    }

    fn tool(&self, at: &At<'_, ToolSection>) -> Result<Tool> {
        let s = at.section.get_ref();
        if s.purpose.is_empty() {
            return Err(self.missing(at, "purpose", "what it is for, one word or more"));
        }
        Ok(Tool {
            thing: self.thing(at, &s.name, &s.serial_number, &s.note, &s.cost)?,
            purpose: s.purpose.clone(),
            length: self.positive(at, "length", &s.length, Dimension::Length)?,
            temperature: self.temperatures(at, &s.temperature)?,
        })
    }

    fn certificate(&self, at: &At<'_, CertificateSection>) -> Result<CalibrationCertificate> {
        let s = at.section.get_ref();
        let factor = Quantity::CalibrationFactor;
        if let Some(entry) = &s.calibration_factor {
            self.check(entry, factor, &at.key("calibration_factor"))?;
        }
        if let (None, Some(reynolds)) = (&s.calibration_factor, &s.reynolds) {
            let alone = Error::Conflict {
                field: at.key("reynolds"),
                found: "stated without calibration_factor, so that it would have no effect"
                    .to_owned(),
                allowed: "reynolds with calibration_factor".to_owned(),
            };
            return Err(self.at(alone, reynolds));
        }
        let date = self.date(&at.key("date"), &s.date)?;
        let due = s.due.as_ref().map(|text| {
            let due = self.date(&at.key("due"), text)?;
            if due > date {
                return Ok(due);
            }
            let before = Error::Conflict {
                field: at.key("due"),
                found: format!("{due}, which is not after {date}, the date of the calibration"),
                allowed: "a later day".to_owned(),
            };
            Err(self.at(before, text))
        });
        Ok(CalibrationCertificate {
            number: shown(s.number.get_ref()).into_owned(),
            of: s
                .of
                .get_ref()
                .iter()
                .map(|name| shown(name).into_owned())
                .collect(),
            date,
            due: due.transpose()?,
            scope: s.scope.clone(),
            reynolds: s.reynolds.as_ref().map(|r| *r.get_ref()),
            calibration_factor: s.calibration_factor.as_ref().map(|e| e.get_ref().clone()),
        })
    }

    fn thing<T>(
        &self,
        at: &At<'_, T>,
        name: &Spanned<String>,
        serial_number: &str,
        note: &str,
        cost: &Option<Spanned<f64>>,
    ) -> Result<Thing> {
        if let Some(cost) = cost {
            let number = *cost.get_ref();
            let possible = (0.0..=MOST).contains(&number);
            Error::range(
                possible,
                at.key("cost"),
                number,
                "",
                format!("0 or above, to {MOST:e}"),
            )
            .map_err(|e| self.at(e, cost))?;
        }
        Ok(Thing {
            name: shown(name.get_ref()).into_owned(),
            serial_number: serial_number.to_owned(),
            note: note.to_owned(),
            cost: cost.as_ref().map(|cost| *cost.get_ref()),
        })
    }

    /// What a site file says of quantities when it uses the thing, which becomes part of the evidence.
    fn stating<T>(
        &self,
        at: &At<'_, T>,
        thing: &Thing,
        entries: &[(Quantity, &str, &Entry)],
    ) -> Result<Stating> {
        let mut stating = Vec::new();
        for (q, key, entry) in entries {
            let Some(entry) = entry else { continue };
            self.check(entry, *q, &at.key(key))?;
            let mut stated = entry.get_ref().clone();
            let own = std::mem::take(&mut stated.uncertainty.evidence);
            stated.uncertainty.evidence = match own.as_str() {
                "" => thing.in_words(),
                own => format!("{own}; {}", thing.in_words()),
            };
            stating.push((*q, stated));
        }
        Ok(stating)
    }

    /// Refuses what no site could state.
    fn check(&self, entry: &Spanned<Stated>, q: Quantity, field: &str) -> Result<()> {
        let stated = entry.get_ref();
        // the basis decides the component of a budget and nothing else
        let read = inputs_named(stated, q, field, Basis::Timed)
            .and_then(|_| stated.curve(field))
            .and_then(|_| stated.correlated_points(field));
        read.map(|_| ()).map_err(|e| self.at(e, entry))
    }

    fn positive<T>(
        &self,
        at: &At<'_, T>,
        key: &str,
        text: &Text,
        dimension: Dimension,
    ) -> Result<Option<f64>> {
        let Some(text) = text else { return Ok(None) };
        let read = || {
            let read = quantity(text.get_ref(), dimension, &at.key(key))?;
            let shown = read.unit.from_si(read.si);
            Error::range(
                read.si > 0.0 && read.si <= MOST,
                at.key(key),
                shown,
                &read.unit.symbol,
                format!("above 0, to {MOST:e} in SI units"),
            )?;
            Ok(Some(read.si))
        };
        read().map_err(|e| self.at(e, text))
    }

    fn limits<T>(
        &self,
        at: &At<'_, T>,
        key: &str,
        between: &Between,
        dimension: Dimension,
    ) -> Result<Option<Limits>> {
        let Some(texts) = between else {
            return Ok(None);
        };
        let read = Limits::read(texts.get_ref(), dimension, &at.key(key));
        read.map(Some).map_err(|e| self.at(e, texts))
    }

    fn temperatures<T>(&self, at: &At<'_, T>, between: &Between) -> Result<Option<Limits>> {
        self.limits(at, "temperature", between, Dimension::Temperature)
    }

    fn date(&self, field: &str, text: &Spanned<String>) -> Result<Date> {
        let date: std::result::Result<Date, _> = text.get_ref().trim().parse();
        date.map_err(|_| {
            let error = Error::WrongType {
                field: field.to_owned(),
                found: format!("`{}`", text.get_ref()),
                allowed: "a day as year, month and day, such as \"2026-03-31\"".to_owned(),
            };
            self.at(error, text)
        })
    }

    fn missing<T>(&self, at: &At<'_, T>, key: &str, needed: &str) -> Error {
        let missing = Error::Missing {
            field: at.key(key),
            needed: needed.to_owned(),
        };
        self.at(missing, at.section)
    }

    /// Places an error at the line of the value that caused it.
    fn at<T>(&self, error: Error, value: &Spanned<T>) -> Error {
        error.in_file(self.file, self.lines.at(value.span().start))
    }
}

/// Larger than any length, time, frequency and cost, and small enough to be shown in any unit.
const MOST: f64 = 1e12;

/// More of one thing than a box holds.
const MOST_OF_ONE: u32 = 1000;

fn each<T, M>(
    kind: &str,
    sections: &[Spanned<T>],
    read: impl Fn(&At<'_, T>) -> Result<M>,
) -> Result<Vec<M>> {
    numbered(kind, sections).map(|at| read(&at)).collect()
}
