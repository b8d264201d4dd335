//! What a site file states, one field at a time: for forms, and for changes that leave the rest of the
//! text, comments included, as it is.

use super::{Instrument, Site, SiteFile, Stated};
use crate::error::{Error, Result};
use crate::liquid::Liquid;
use crate::model::{Basis, Quantity};
use crate::pipe::Material;
use crate::profile::disturbance::Fitting;
use crate::uncertainty::{Shape, plain};
use crate::units::Unit;
use std::borrow::Cow;
use toml_edit::{DocumentMut, InlineTable, Item, TableLike, Value};

/// Something that a site file states, with what can be changed of it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Field {
    /// The section of the file.
    pub section: &'static str,
    /// The path in the file, such as `pipe.wall`.
    pub path: String,
    /// What it is.
    pub words: String,
    /// What can be changed: the estimate, its uncertainty, a choice.
    pub parts: Vec<Part>,
    /// Where it comes from, in words.
    pub evidence: String,
}

/// A part of a field.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Part {
    /// The path in the file, such as `pipe.wall.half_width`.
    pub path: String,
    /// What it is, beside the words of the field; empty for the estimate and for choices.
    pub words: &'static str,
    /// What the file states; empty where it states nothing.
    pub text: String,
    /// Texts from low to high that stand for it on a slider, the stated one among them; empty where
    /// nothing speaks for a range.
    pub rungs: Vec<String>,
    /// What can be chosen; empty where that is no list.
    pub options: Vec<String>,
}

impl Part {
    fn text(path: String, words: &'static str, text: &str) -> Part {
        Part {
            path,
            words,
            text: text.to_owned(),
            rungs: Vec::new(),
            options: Vec::new(),
        }
    }
}

/// Preferred numbers of a decade (ISO 3:1973, series R10).
const PREFERRED: [f64; 10] = [1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0];

/// Steps of an estimate to either side.
const STEPS: i32 = 20;

/// Keys of whole numbers.
const WHOLE: [&str; 2] = ["path.traverses", "installation.planes"];

impl Site {
    /// What the file states of liquid, pipe, path, meter, profile and installation, field by field.
    ///
    /// # Errors
    /// None for a site that was read.
    pub fn fields(&self) -> Result<Vec<Field>> {
        let file = SiteFile::parse(&self.text, &self.file)?;
        let mut fields = self.fields_of_liquid_and_pipe(&file);
        let path = file.path.get_ref();
        let basis = [Basis::Timed, Basis::Geometric, Basis::Indicated];
        let angle_from = path
            .angle_from
            .as_ref()
            .map(|from| from.get_ref().in_words());
        fields.push(choice(
            "path",
            "basis",
            "what is read from the meter",
            path.basis.get_ref().in_words(),
            basis.map(Basis::in_words).into_iter(),
        ));
        fields.push(choice(
            "path",
            "traverses",
            "crossings of the liquid (odd: direct, even: reflected)",
            &path.traverses.get_ref().to_string(),
            ["1", "2", "3", "4"].into_iter(),
        ));
        if let Some(from) = angle_from {
            let words = "angle of the ray from";
            fields.push(choice(
                "path",
                "angle_from",
                words,
                from,
                ["wedge", "spacing"].into_iter(),
            ));
        }
        for (q, entry) in path.stated() {
            fields.push(self.of_quantity(q, entry.get_ref()));
        }
        for (q, entry) in file.meter.stated().chain(file.profile.stated()) {
            fields.push(self.of_quantity(q, entry.get_ref()));
        }
        let place = &file.installation;
        if let Some(fitting) = &place.fitting {
            let names = Fitting::ALL.iter().map(|fitting| fitting.name());
            let words = "fitting nearest upstream";
            fields.push(choice(
                "installation",
                "fitting",
                words,
                fitting.get_ref(),
                names,
            ));
        }
        let run = "straight run, from the fitting to the middle of the path";
        let angle = "angle between the path and the plane of the bend";
        for (key, words, entry) in [
            ("straight_run", run, &place.straight_run),
            ("orientation", angle, &place.orientation),
        ] {
            if let Some(entry) = entry {
                let path = format!("installation.{key}");
                fields.push(self.of_statement("installation", path, words, entry.get_ref(), None));
            }
        }
        for (q, entry) in place.stated() {
            fields.push(self.of_quantity(q, entry.get_ref()));
        }
        if let Some(covers) = &file.meter.calibration_covers {
            let covers = covers.get_ref();
            for field in &mut fields {
                let q = Quantity::ALL.iter().find(|q| q.path() == field.path);
                let by = q.and_then(|q| q.row().covered);
                if by.is_some_and(|by| covers.contains(&by)) {
                    // no slider moves anything: the factor has this uncertainty
                    field.words += " (its uncertainty is in the calibration factor)";
                    for part in field.parts.iter_mut().filter(|part| !part.words.is_empty()) {
                        part.rungs.clear();
                    }
                }
            }
        }
        Ok(fields)
    }

    fn fields_of_liquid_and_pipe(&self, file: &SiteFile) -> Vec<Field> {
        let (liquid, pipe) = (file.liquid.get_ref(), file.pipe.get_ref());
        let kinds = Liquid::NAMES.into_iter().chain(["stated"]);
        let mut fields = vec![choice(
            "liquid",
            "kind",
            "liquid",
            liquid.kind.get_ref(),
            kinds,
        )];
        for (q, entry) in liquid.stated() {
            fields.push(self.of_quantity(q, entry.get_ref()));
        }
        if let Some(thermometer) = &liquid.thermometer {
            let path = "liquid.thermometer".to_owned();
            fields.push(Field {
                section: "liquid",
                parts: uncertainty(&path, thermometer.get_ref())
                    .into_iter()
                    .collect(),
                path,
                words: "thermometer".to_owned(),
                evidence: thermometer.get_ref().evidence.clone(),
            });
        }
        if let Some(material) = &pipe.material {
            let words = "material of the wall";
            let all = Material::all().unwrap_or_default();
            let names: Vec<&str> = all.iter().filter_map(|own| own.names().next()).collect();
            fields.push(choice(
                "pipe",
                "material",
                words,
                material.get_ref(),
                names.into_iter(),
            ));
        }
        for (key, words, text) in [
            ("standard", "standard of the dimensions", &pipe.standard),
            ("size", "nominal size", &pipe.size),
            ("schedule", "schedule, or SDR", &pipe.schedule),
        ] {
            if let Some(text) = text {
                fields.push(choice("pipe", key, words, text.get_ref(), [].into_iter()));
            }
        }
        for (q, entry) in pipe.stated() {
            fields.push(self.of_quantity(q, entry.get_ref()));
        }
        for (n, layer) in (0_u16..).zip(&pipe.layer) {
            let layer = layer.get_ref();
            let named = |what: &str| match layer.name.as_str() {
                "" => format!("{what} of layer {}", n + 1),
                name => format!("{what}, {name}"),
            };
            for (q, words, entry) in [
                (
                    Quantity::LayerThickness(n),
                    "thickness",
                    Some(&layer.thickness),
                ),
                (
                    Quantity::LayerSoundSpeed(n),
                    "sound speed",
                    layer.sound_speed.as_ref(),
                ),
            ] {
                if let Some(entry) = entry {
                    let path = q.path().into_owned();
                    let words = named(words);
                    fields.push(self.of_statement("pipe", path, &words, entry.get_ref(), Some(q)));
                }
            }
        }
        fields
    }

    fn of_quantity(&self, q: Quantity, stated: &Stated) -> Field {
        let words = q.label();
        let section = q.section_and_key().0;
        self.of_statement(section, q.path().into_owned(), words, stated, Some(q))
    }

    fn of_statement(
        &self,
        section: &'static str,
        path: String,
        words: &str,
        stated: &Stated,
        q: Option<Quantity>,
    ) -> Field {
        let mut parts = Vec::new();
        let alone = *stated
            == Stated {
                value: stated.value.clone(),
                ..Stated::default()
            };
        if let Some(text) = &stated.value {
            let own = if alone {
                path.clone()
            } else {
                format!("{path}.value")
            };
            let mut part = Part::text(own, "", text);
            part.rungs = q.map_or_else(Vec::new, |q| self.around(q, &path, text));
            parts.push(part);
        }
        if let Some(readings) = &stated.readings {
            let text = readings.join(", ");
            parts.push(Part::text(format!("{path}.readings"), "readings", &text));
        }
        match (&stated.instrument, &stated.readings, &stated.certificate) {
            (Some(instrument), _, _) => {
                parts.extend(uncertainty(&format!("{path}.instrument"), instrument));
            }
            (None, None, None) => parts.extend(uncertainty(&path, &stated.uncertainty)),
            _ => {}
        }
        // what the file alone can say
        let points = stated.certificate.as_ref().map_or(0, |c| c.point.len());
        let told = match (&stated.grid, points) {
            (Some(_), _) => " (readings on a grid, in the site file)",
            (None, 1..) => " (point by point, in the site file)",
            _ => "",
        };
        Field {
            section,
            path,
            words: format!("{words}{told}"),
            parts,
            evidence: stated.uncertainty.evidence.clone(),
        }
    }

    /// Estimates about the stated one, two to four standard uncertainties to either side in steps of 1, 2
    /// or 5, as far as the quantity can have them.
    fn around(&self, q: Quantity, path: &str, text: &str) -> Vec<String> {
        let input = self.stated.iter().find(|(_, input)| input.name() == path);
        let (Some((number, symbol)), Some((_, input))) = (parted(text), input) else {
            return Vec::new();
        };
        let Ok(unit) = Unit::parse(symbol, q.dimension(), path) else {
            return Vec::new();
        };
        let u = unit.difference_from_si(input.standard_uncertainty());
        if !(u > 0.0 && u.is_finite()) {
            return Vec::new();
        }
        let step = preferred_near(u / 5.0);
        // the places of the step, so that rungs are as short as it is
        let places = plain(step)
            .split_once('.')
            .map_or(0, |(_, decimals)| decimals.len());
        let mut rungs = Vec::new();
        for i in -STEPS..=STEPS {
            let value = number + f64::from(i) * step;
            let possible = q.row().allowed.judge(unit.to_si(value), &unit).0;
            if i == 0 {
                rungs.push(text.to_owned());
            } else if possible {
                let number = format!("{value:.places$}");
                let is_zero = number.bytes().all(|letter| b"-0.".contains(&letter));
                let number = if is_zero { "0" } else { &number };
                rungs.push(format!("{number} {symbol}").trim_end().to_owned());
            }
        }
        rungs
    }

    /// The site with another text at a path of its file, such as `pipe.wall.half_width`; the rest of the
    /// text stays, comments included. Readings are parted by commas. An empty text takes out what is
    /// there, with what belongs to it.
    ///
    /// # Errors
    /// As [`Site::from_toml`]; a path that no file has.
    ///
    /// # Example
    /// ```
    /// # use flowdoubt::site::Site;
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let other = site.with_texts(&[("path.wedge_angle.half_width", "0.5 deg")])?;
    /// assert!(other.to_toml().contains("half_width = \"0.5 deg\""));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn with_texts(&self, texts: &[(&str, &str)]) -> Result<Site> {
        let mut document: DocumentMut =
            self.text
                .parse()
                .map_err(|e: toml_edit::TomlError| Error::Syntax {
                    format: "site file",
                    reason: e.message().to_owned(),
                })?;
        for (path, text) in texts {
            put(document.as_table_mut(), path, text)?;
        }
        Site::from_toml(&document.to_string(), &self.file)
    }
}

fn choice<'a>(
    section: &'static str,
    key: &str,
    words: &str,
    stated: &str,
    options: impl Iterator<Item = &'a str>,
) -> Field {
    let path = format!("{section}.{key}");
    let mut part = Part::text(path.clone(), "", stated);
    part.options = options.map(str::to_owned).collect();
    if !part.options.is_empty() && !part.options.contains(&part.text) {
        part.options.push(part.text.clone());
    }
    Field {
        section,
        path,
        words: words.to_owned(),
        parts: vec![part],
        evidence: String::new(),
    }
}

/// The uncertainty that is stated, or room for a standard one.
fn uncertainty(path: &str, stated: &Instrument) -> Option<Part> {
    let (key, words, text) = match stated {
        Instrument {
            standard_uncertainty: Some(text),
            ..
        } => ("standard_uncertainty", "standard uncertainty", text),
        Instrument {
            expanded_uncertainty: Some(text),
            ..
        } => ("expanded_uncertainty", "expanded uncertainty", text),
        Instrument {
            half_width: Some(text),
            shape,
            ..
        } => {
            let words = match shape {
                Some(Shape::Triangular) => "half-width, triangular",
                Some(Shape::Arcsine) => "half-width, arcsine",
                _ => "half-width, rectangular",
            };
            ("half_width", words, text)
        }
        _ => {
            let path = format!("{path}.standard_uncertainty");
            return Some(Part::text(path, "standard uncertainty", ""));
        }
    };
    let mut part = Part::text(format!("{path}.{key}"), words, text);
    part.rungs = decades_about(text);
    Some(part)
}

/// Text as its number and the symbol of its unit, where the number is a plain decimal.
fn parted(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find([' ', '%']).unwrap_or(text.len());
    let number: f64 = text[..end].parse().ok()?;
    number.is_finite().then(|| (number, text[end..].trim()))
}

/// Preferred numbers over a decade to either side of what is stated.
fn decades_about(text: &str) -> Vec<String> {
    let Some((number, symbol)) = parted(text).filter(|(number, _)| *number > 0.0) else {
        return Vec::new();
    };
    let exponent = decade(number);
    let mut rungs: Vec<(f64, Cow<'_, str>)> = vec![(number, text.into())];
    for decade in exponent - 1..=exponent + 1 {
        for first in PREFERRED {
            let value = scaled(first, decade);
            let near = (value / number - 1.0).abs() < 1e-6;
            if (0.0999..=10.01).contains(&(value / number)) && !near {
                let text = format!("{} {symbol}", plain(value));
                rungs.push((value, text.trim_end().to_owned().into()));
            }
        }
    }
    rungs.sort_by(|a, b| a.0.total_cmp(&b.0));
    rungs
        .into_iter()
        .map(|(_, text)| text.into_owned())
        .collect()
}

/// The power of ten of the first digit.
fn decade(number: f64) -> i32 {
    let text = format!("{number:e}");
    let exponent = text.split_once('e').and_then(|(_, e)| e.parse().ok());
    exponent.unwrap_or(0)
}

/// A number times a power of ten, as a decimal is read.
fn scaled(number: f64, decade: i32) -> f64 {
    format!("{number}e{decade}").parse().unwrap_or(number)
}

/// The 1, 2 or 5 of its decade that is not above the number.
fn preferred_near(number: f64) -> f64 {
    let own = decade(number);
    let first = [5.0, 2.0]
        .into_iter()
        .find(|first| scaled(*first, own) <= number);
    scaled(first.unwrap_or(1.0), own)
}

/// Writes a text at a path below a table.
fn put(root: &mut toml_edit::Table, path: &str, text: &str) -> Result<()> {
    let unknown = || Error::UnknownKey {
        field: path.to_owned(),
        nearest: None,
        advice: None,
        allowed: vec!["paths of a site file, such as pipe.wall.half_width".to_owned()],
    };
    let keys: Vec<&str> = path.split('.').collect();
    let [section, key, rest @ ..] = keys.as_slice() else {
        return Err(unknown());
    };
    let section = match root.entry(section).or_insert_with(toml_edit::table) {
        Item::Table(table) => table as &mut dyn TableLike,
        item => item.as_table_like_mut().ok_or_else(unknown)?,
    };
    let whole = WHOLE.contains(&path);
    if let Some((list, number)) = key.strip_suffix(']').and_then(|key| key.split_once('[')) {
        let place = number.parse::<usize>().ok().and_then(|n| n.checked_sub(1));
        let tables = section.get_mut(list).and_then(Item::as_array_of_tables_mut);
        let table = tables
            .zip(place)
            .and_then(|(tables, place)| tables.get_mut(place));
        let [key, rest @ ..] = rest else {
            return Err(unknown());
        };
        return put_key(table.ok_or_else(unknown)?, key, rest, text, whole, &unknown);
    }
    put_key(section, key, rest, text, whole, &unknown)
}

fn put_key(
    table: &mut dyn TableLike,
    key: &str,
    rest: &[&str],
    text: &str,
    whole: bool,
    unknown: &dyn Fn() -> Error,
) -> Result<()> {
    let Some((next, after)) = rest.split_first() else {
        return put_value(table, key, text, whole, unknown);
    };
    // a statement of a value alone becomes one that has room for more
    if let Some(value) = table.get_mut(key).and_then(Item::as_value_mut)
        && value.is_str()
    {
        let mut statement = InlineTable::new();
        let decor = value.decor().clone();
        let mut alone = value.clone();
        alone.decor_mut().clear();
        statement.insert("value", alone);
        *value = Value::InlineTable(statement);
        *value.decor_mut() = decor;
    }
    if table.get(key).is_none() {
        table.insert(key, toml_edit::value(InlineTable::new()));
    }
    let inner = table.get_mut(key).and_then(Item::as_table_like_mut);
    put_key(
        inner.ok_or_else(unknown)?,
        next,
        after,
        text,
        whole,
        unknown,
    )
}

fn put_value(
    table: &mut dyn TableLike,
    key: &str,
    text: &str,
    whole: bool,
    unknown: &dyn Fn() -> Error,
) -> Result<()> {
    let text = text.trim();
    if text.is_empty() {
        table.remove(key);
        // what says more of an uncertainty says nothing without it
        let with = match key {
            "half_width" => &["shape"][..],
            "expanded_uncertainty" => &["coverage_factor", "dof"],
            "standard_uncertainty" => &["dof"],
            _ => &[],
        };
        with.iter().for_each(|key| drop(table.remove(key)));
        return Ok(());
    }
    let mut value = match (key, text.parse::<i64>()) {
        ("readings", _) => Value::Array(text.split(',').map(str::trim).collect()),
        (_, Ok(number)) if whole => number.into(),
        _ => text.into(),
    };
    match table.get_mut(key) {
        Some(Item::Value(own)) => {
            *value.decor_mut() = own.decor().clone();
            *own = value;
        }
        Some(item) if !item.is_none() => return Err(unknown()),
        _ => {
            table.insert(key, Item::Value(value));
        }
    }
    Ok(())
}
