//! A site from values in memory, and back to a file with comments.

use super::Site;
use super::starter::{keys_of, prose_above};
use crate::error::{Error, Result, with_unit};
use crate::model::Quantity;
use crate::units::{Unit, quantity};
use serde::Serialize;
use toml::{Table, Value};

/// What errors call a text that nobody wrote.
const UNWRITTEN: &str = "<site>";

/// Tables of a section that have a heading of their own.
const HEADED: [(&str, &str); 6] = [
    ("liquid", "table"),
    ("meter", "programmed"),
    ("readings", "columns"),
    ("in_situ_calibration", "factor"),
    ("in_situ_calibration", "with"),
    ("in_situ_calibration", "choices"),
];

/// Keys of a statement that have text with a unit, so that a number stands for text without one.
const TEXTS: [&str; 6] = [
    "value",
    "readings",
    "grid",
    "standard_uncertainty",
    "expanded_uncertainty",
    "half_width",
];

/// The order of keys in a statement; others come before the evidence.
const FIRST: [&str; 10] = [
    "flow",
    "reynolds",
    "value",
    "readings",
    "grid",
    "standard_uncertainty",
    "expanded_uncertainty",
    "coverage_factor",
    "half_width",
    "shape",
];

/// Lists and sections that say nothing where they are empty.
const SILENT: [&str; 5] = ["correlation", "layer", "meter", "profile", "installation"];

/// Tables within a statement that are made like one.
const WITHIN: [&str; 4] = ["instrument", "common", "drift_per_year", "point"];

impl Site {
    /// Makes a site of sections in memory: whatever serialises to what a site file says, such as nested
    /// maps or structures of one's own. Its [text](Site::text) is the file that says the same, section by
    /// section and with comments.
    ///
    /// A number stands for text where a quantity has no unit, as a ratio.
    ///
    /// # Errors
    /// As [`Site::from_toml`], without file and line, and what TOML cannot hold.
    ///
    /// # Example
    /// ```
    /// # use flowdoubt::site::Site;
    /// let sections: toml::Table = Site::starter().parse().expect("TOML");
    /// let site = Site::from_sections(&sections)?;
    /// assert!(site.to_toml().contains("# Wall thickness of the pipe"));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn from_sections(sections: &impl Serialize) -> Result<Site> {
        let not_toml = |reason: String| Error::Syntax {
            format: "site",
            reason,
        };
        let mut table = match Value::try_from(sections) {
            Ok(Value::Table(table)) => table,
            Ok(other) => {
                return Err(not_toml(format!(
                    "found {other}; allowed: sections such as `pipe`, with their keys"
                )));
            }
            Err(error) => return Err(not_toml(error.to_string())),
        };
        numbers_as_text(&mut table);
        Site::from_toml(&laid_out(&table), UNWRITTEN).map_err(|error| match error {
            // nobody has seen the lines of this text
            Error::InFile { source, .. } => *source,
            other => other,
        })
    }

    /// The text of a site file that says what the site is made from: that of its own file or, where it
    /// has no comments, such as that of an alternative, laid out by sections and with comments. Read
    /// again, it gives the same site.
    pub fn to_toml(&self) -> String {
        let commented = self
            .text
            .lines()
            .any(|line| line.trim_start().starts_with('#'));
        match self.text.parse::<Table>() {
            Ok(table) if !commented => laid_out(&table),
            _ => self.text.to_string(),
        }
    }
}

/// The error with an example of the text that is missing.
pub(super) fn with_example(error: Error) -> Error {
    match error {
        Error::InFile { file, line, source } => Error::InFile {
            file,
            line,
            source: Box::new(with_example(*source)),
        },
        Error::WrongType {
            field,
            found,
            allowed,
        } if allowed == "text in quotation marks" => Error::WrongType {
            allowed: match example_of(&field) {
                Some(example) => format!("{allowed}, such as {example}"),
                None => allowed,
            },
            field,
            found,
        },
        other => other,
    }
}

/// The text that the file to begin with has for a key, on or off.
fn example_of(path: &str) -> Option<String> {
    let (section, key) = path.rsplit_once('.')?;
    let starter = Site::starter();
    let lines: Vec<String> = starter.lines().map(str::to_owned).collect();
    let (place, _) = keys_of(&lines, section).find(|(_, own)| *own == key)?;
    let (_, value) = lines[place].split_once(" = ")?;
    value.starts_with('"').then(|| value.to_owned())
}

/// Makes text of the numbers that stand where a file has text of a quantity; the reader of quantities
/// says which unit is missing.
fn numbers_as_text(sections: &mut Table) {
    for (section, keys) in sections {
        let Value::Table(keys) = keys else { continue };
        for (key, value) in keys {
            let layers = section == "pipe" && key == "layer";
            let stated = Quantity::of_key(section, key).is_some()
                || (section == "installation" && ["straight_run", "orientation"].contains(&&**key))
                || (section == "liquid" && key == "thermometer")
                || (section == "in_situ_calibration" && key.starts_with("factor"));
            match value {
                Value::Array(tables) if layers => {
                    for layer in tables.iter_mut().filter_map(Value::as_table_mut) {
                        for own in ["thickness", "sound_speed"] {
                            layer.get_mut(own).map(statement_as_text);
                        }
                    }
                }
                value if stated => statement_as_text(value),
                _ => {}
            }
        }
    }
}

fn statement_as_text(value: &mut Value) {
    match value {
        Value::Table(table) => {
            for (key, part) in table {
                if TEXTS.contains(&&**key) {
                    as_text(part);
                } else if WITHIN.contains(&&**key) {
                    statement_as_text(part);
                }
            }
        }
        Value::Array(points) => points.iter_mut().for_each(statement_as_text),
        value => as_text(value),
    }
}

fn as_text(value: &mut Value) {
    match value {
        Value::Array(each) => each.iter_mut().for_each(as_text),
        Value::Integer(whole) => *value = Value::String(whole.to_string()),
        Value::Float(number) => {
            let short = *number == 0.0 || (1e-5..1e12).contains(&number.abs());
            *value = Value::String(if short {
                number.to_string()
            } else {
                format!("{number:e}")
            });
        }
        _ => {}
    }
}

/// The text of a site file: sections and keys in the order of the file to begin with, with its
/// comments; what it has not comes last.
fn laid_out(sections: &Table) -> String {
    let starter = Site::starter();
    let starter: Vec<String> = starter.lines().map(str::to_owned).collect();
    let mut text = head(&starter);
    let is_section = |value: &Value| value.is_table() || is_tables(value);
    let mut named: Vec<(&String, &Value)> = sections.iter().collect();
    named.retain(|(name, value)| !is_silent(name, value));
    for (key, value) in named.iter().filter(|(_, value)| !is_section(value)) {
        text += &line(key, value);
    }
    named.retain(|(_, value)| is_section(value));
    let in_order = |name: &str| {
        let place = |line: &String| {
            let heading = line.trim_start_matches('#');
            heading.starts_with('[') && heading.trim_matches(['[', ']']) == name
        };
        starter.iter().position(place)
    };
    named.sort_by_key(|(name, _)| in_order(name).unwrap_or(usize::MAX));
    let page = Page { starter: &starter };
    for (name, value) in named {
        match value {
            Value::Table(table) => page.section(&mut text, name, &written(name), table),
            value => page.tables(&mut text, name, &written(name), value),
        }
    }
    text
}

/// How a quantity is written, and the cautions, as the file to begin with has them.
fn head(starter: &[String]) -> String {
    let from = starter
        .iter()
        .position(|line| line.starts_with("# A quantity"));
    let lines = starter.iter().skip(from.unwrap_or(0));
    let lines: Vec<&str> = lines
        .map(String::as_str)
        .take_while(|line| !line.is_empty())
        .collect();
    lines.join("\n") + "\n"
}

/// What the file to begin with says of keys.
struct Page<'a> {
    starter: &'a [String],
}

impl Page<'_> {
    /// A section with its keys, then the tables in it that have headings; `heading` is its name as it
    /// is written.
    fn section(&self, text: &mut String, name: &str, heading: &str, table: &Table) {
        *text += &format!("\n[{heading}]\n");
        self.keys(text, name, table, &|key, value| headed(name, key, value));
        for (key, value) in table.iter().filter(|(key, value)| headed(name, key, value)) {
            let (name, heading) = (
                format!("{name}.{key}"),
                format!("{heading}.{}", written(key)),
            );
            match value {
                Value::Table(table) => self.section(text, &name, &heading, table),
                value => self.tables(text, &name, &heading, value),
            }
        }
    }

    /// Tables of one heading, as those of layers.
    fn tables(&self, text: &mut String, name: &str, heading: &str, tables: &Value) {
        for table in tables.as_array().into_iter().flatten() {
            *text += &format!("\n[[{heading}]]\n");
            if let Some(table) = table.as_table() {
                self.keys(text, &format!("[{name}]"), table, &|_, _| false);
            }
        }
    }

    fn keys(
        &self,
        text: &mut String,
        section: &str,
        table: &Table,
        apart: &dyn Fn(&str, &Value) -> bool,
    ) {
        let order: Vec<&str> = keys_of(self.starter, section).map(|(_, key)| key).collect();
        let mut own: Vec<(&String, &Value)> = table.iter().collect();
        own.retain(|(key, value)| !apart(key, value) && !is_silent(key, value));
        own.sort_by_key(|(key, _)| {
            let place = order.iter().position(|known| known == key);
            place.unwrap_or(usize::MAX)
        });
        for (key, value) in own {
            for words in self.comment(section, key, value) {
                *text += &format!("# {words}\n");
            }
            *text += &line(key, value);
        }
    }

    /// What a key is, its unit and what is usual of it.
    fn comment(&self, section: &str, key: &str, value: &Value) -> Vec<String> {
        let layer = match key {
            "thickness" => Some(Quantity::LayerThickness(0)),
            "sound_speed" => Some(Quantity::LayerSoundSpeed(0)),
            _ => None,
        };
        let of_layer = layer.filter(|_| section == "[pipe.layer]");
        if let Some(q) = of_layer.or_else(|| Quantity::of_key(section, key)) {
            return vec![quantity_comment(q, value)];
        }
        prose_above(self.starter, section, key)
    }
}

fn quantity_comment(q: Quantity, value: &Value) -> String {
    let words = q.in_words().trim_end_matches('.');
    let Some([low, high]) = q.row().usual else {
        return words.to_owned();
    };
    let stated = first_text(value).and_then(|text| quantity(text, q.dimension(), "").ok());
    let unit: Unit = stated.map_or_else(|| q.dimension().si_unit(), |read| read.unit);
    // an end of a range is no more exact than this
    let shown = |si: f64| {
        let number = unit.from_si(si);
        let rounded = format!("{number:.3e}").parse().unwrap_or(number);
        with_unit(rounded, &unit.symbol)
    };
    format!("{words}; usually {} to {}", shown(low), shown(high))
}

/// The text with which a statement begins.
fn first_text(value: &Value) -> Option<&str> {
    match value {
        Value::String(text) => Some(text),
        Value::Array(each) => each.first().and_then(first_text),
        Value::Table(table) => {
            let keys = ["value", "readings", "grid"];
            keys.iter()
                .find_map(|key| table.get(*key))
                .and_then(first_text)
        }
        _ => None,
    }
}

fn is_tables(value: &Value) -> bool {
    let tables = |each: &Vec<Value>| !each.is_empty() && each.iter().all(Value::is_table);
    value.as_array().is_some_and(tables)
}

fn headed(section: &str, key: &str, value: &Value) -> bool {
    match value {
        Value::Table(table) => HEADED.contains(&(section, key)) || table.values().any(is_tables),
        value => section == "pipe" && key == "layer" && is_tables(value),
    }
}

/// A key with its value; a list of tables has a line for each.
fn line(key: &str, value: &Value) -> String {
    let value = match value.as_array() {
        Some(tables) if is_tables(value) => {
            let each: String = tables
                .iter()
                .map(|table| format!("    {},\n", inline(table)))
                .collect();
            format!("[\n{each}]")
        }
        _ => inline(value),
    };
    format!("{} = {value}\n", written(key))
}

/// A value on one line, with what it is before its uncertainty and its evidence.
fn inline(value: &Value) -> String {
    match value {
        Value::Table(table) => {
            let place = |key: &str| match FIRST.iter().position(|first| *first == key) {
                Some(place) => place,
                None => FIRST.len() + usize::from(key == "evidence"),
            };
            let mut keys: Vec<(&String, &Value)> = table.iter().collect();
            keys.sort_by_key(|(key, _)| place(key));
            let keys: Vec<String> = keys
                .into_iter()
                .map(|(key, value)| format!("{} = {}", written(key), inline(value)))
                .collect();
            match keys.is_empty() {
                true => "{}".to_owned(),
                false => format!("{{ {} }}", keys.join(", ")),
            }
        }
        Value::Array(each) => {
            let each: Vec<String> = each.iter().map(inline).collect();
            format!("[{}]", each.join(", "))
        }
        value => value.to_string(),
    }
}

fn is_silent(key: &str, value: &Value) -> bool {
    let empty = match value {
        Value::Table(table) => table.is_empty(),
        Value::Array(each) => each.is_empty(),
        _ => false,
    };
    empty && SILENT.contains(&key)
}

/// A key as it is written, in quotation marks where it needs them.
fn written(key: &str) -> String {
    toml_edit::Key::new(key).display_repr().into_owned()
}
